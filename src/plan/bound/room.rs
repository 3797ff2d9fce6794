//! The limits that lots and orders share, as rows of one list.
//!
//! A row sums a limit over a stretch of time: how many slots of hands, or of a frame,
//! there are in it. The rows of sessions have no room of their own; each session that
//! is opened brings some.

use super::STRETCH;
use crate::plan::model::{Instance, Slot, Space};

/// No row.
pub(super) const NONE: u32 = u32::MAX;

/// Which row each slot of a limit belongs to.
#[derive(Debug, Clone)]
pub(super) struct Rows(Vec<u32>);

impl Rows {
    /// Returns the row of a slot, if the slot counts.
    pub(super) fn find(&self, slot: Slot) -> Option<usize> {
        let row = *self.0.get(usize::try_from(slot).ok()?)?;
        (row != NONE).then_some(row as usize)
    }
}

/// All rows with the room that they have.
#[derive(Debug, Clone)]
pub(super) struct Room {
    /// What there is of each row. [slots]
    pub(super) room: Vec<i64>,
    /// Hands.
    pub(super) hands: Rows,
    /// Frames, in the order of the instance.
    pub(super) frames: Vec<Rows>,
    /// First row of coating time in sessions, one a day.
    pub(super) coat: usize,
    /// First rows of dark places in sessions, for sheets and for lines, one a day.
    pub(super) dark: [usize; 2],
    /// First row of what a session is to a lot: a lot is coated on a day only if there
    /// is a session; by lot, then by day.
    pub(super) link: usize,
    /// What one session brings: coating time [slots], places for sheets and on lines.
    pub(super) brings: [i64; 3],
}

impl Room {
    /// Cuts the limits of `instance` into rows; `days` is how many days there are.
    pub(super) fn new(instance: &Instance, days: usize) -> Room {
        let mut room = Vec::new();
        let hands = cut(instance, &at_work(instance), instance.operators, &mut room);
        let frames = instance
            .frames
            .iter()
            .map(|(name, &count)| cut(instance, &lit(instance, name), count, &mut room))
            .collect();
        let coat = room.len();
        let dark = [coat + days, coat + 2 * days];
        let link = coat + 3 * days;
        room.resize(link + instance.lots.len() * days, 0);
        let brings = [
            instance.operators.max(0) * instance.session.mix_life,
            places(instance, Space::Sheet),
            places(instance, Space::Line),
        ];
        Room {
            room,
            hands,
            frames,
            coat,
            dark,
            link,
            brings,
        }
    }

    /// Returns the row of dark places of a kind in the sessions of a day.
    pub(super) fn dark_row(&self, space: Space, day: usize) -> usize {
        match space {
            Space::Sheet => self.dark[0] + day,
            Space::Line => self.dark[1] + day,
        }
    }
}

/// Returns which slots are inside work hours.
fn at_work(instance: &Instance) -> Vec<bool> {
    let mut slots = vec![false; instance.horizon.max(0) as usize];
    for &(from, until) in &instance.work {
        mark(&mut slots, from, until);
    }
    slots
}

/// Returns which slots a lot in the frame might fill.
fn lit(instance: &Instance, frame: &str) -> Vec<bool> {
    let mut slots = vec![false; instance.horizon.max(0) as usize];
    let mut classes: Vec<usize> = instance
        .lots
        .iter()
        .filter(|lot| lot.frame == frame)
        .map(|lot| lot.cls)
        .collect();
    classes.sort_unstable();
    classes.dedup();
    for class in classes {
        let rows = instance.classes.get(class).into_iter();
        for &(first, last, length, _) in rows.flat_map(|class| &class.options) {
            mark(
                &mut slots,
                first - instance.load,
                last + length + instance.unload,
            );
        }
    }
    slots
}

fn mark(slots: &mut [bool], from: Slot, until: Slot) {
    let end = slots.len() as i64;
    for slot in from.clamp(0, end)..until.clamp(0, end) {
        slots[slot as usize] = true;
    }
}

/// Cuts the slots that count into rows: at gaps, at collections, after a stretch.
fn cut(instance: &Instance, slots: &[bool], count: i64, room: &mut Vec<i64>) -> Rows {
    let mut rows = vec![NONE; slots.len()];
    let mut left = 0;
    for (slot, _) in slots.iter().enumerate().filter(|(_, counts)| **counts) {
        let apart = slot == 0 || !slots[slot - 1];
        if apart || left == 0 || instance.collections.contains(&(slot as Slot)) {
            room.push(0);
            left = STRETCH;
        }
        left -= 1;
        rows[slot] = room.len() as u32 - 1;
        *room.last_mut().expect("just pushed") += count.max(0);
    }
    Rows(rows)
}

/// Returns how many dark places the coats of one session can fill, one after another.
///
/// The last coat ends a mix's life after the setup at the latest, the first one no
/// sooner than the shortest coat; a place is free again after the shortest drying.
fn places(instance: &Instance, space: Space) -> i64 {
    let lots = || instance.lots.iter().filter(|lot| lot.space == space);
    let coat = lots().map(|lot| lot.coat).min().unwrap_or(0);
    let dark = lots().map(|lot| lot.dark).min().unwrap_or(0).max(1);
    let places = match space {
        Space::Sheet => instance.capacity.dark_sheet,
        Space::Line => instance.capacity.dark_line,
    };
    let turns = 1 + (instance.session.mix_life - coat).max(0) / dark;
    places.max(0).saturating_mul(turns)
}
