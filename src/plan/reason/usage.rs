//! What a timing takes of hands, racks, frames, trays and sessions, and how much of
//! each at its fullest.
//!
//! Only counting, for the size of a lift and for words about it. Whether a rule is
//! kept is for the audit.

use std::collections::BTreeMap;

use crate::plan::model::{Instance, Lot, LotTiming, Slot, Space, Timing};

/// A stretch of handwork.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Work {
    /// First slot.
    pub from: Slot,
    /// First slot after it.
    pub until: Slot,
    /// The lot under the brush, if it is coating.
    pub coats: Option<usize>,
    /// Mixing before it; it comes with the coating.
    pub mixes: bool,
}

/// How much is taken of each resource at its fullest.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Peaks {
    /// Dark-dry places by kind.
    pub dark: BTreeMap<Space, i64>,
    /// Wet-dry places by kind.
    pub open: BTreeMap<Space, i64>,
    /// Frames by name.
    pub frames: BTreeMap<String, i64>,
    /// Trays.
    pub trays: i64,
    /// People.
    pub hands: i64,
    /// Sessions that start on one day.
    pub sessions: i64,
}

/// Lists all handwork of a timing by time.
pub fn handwork(instance: &Instance, timing: &Timing) -> Vec<Work> {
    let mut work = Vec::new();
    let mut add = |from: Slot, length: Slot, coats: Option<usize>, mixes: bool| {
        work.push(Work {
            from,
            until: from + length,
            coats,
            mixes,
        });
    };
    for session in &timing.sessions {
        add(session.start, instance.session.setup, None, true);
    }
    for (index, lot, at) in placed(instance, timing) {
        if let Some(coat) = at.coat {
            add(coat, lot.coat, Some(index), false);
        }
        if let Some((load, light_out, gone)) = in_frame(instance, lot, at) {
            if lot.attended {
                add(load, gone - load, None, false);
            } else {
                add(load, instance.load, None, false);
                add(light_out, instance.unload, None, false);
            }
        }
        if let Some(wash) = at.wash {
            add(wash, lot.wash, None, false);
        }
        add(at.finish, lot.finish, None, false);
    }
    for order in &instance.orders {
        if let Some(at) = timing.orders.get(&order.id) {
            add(at.pack, order.pack, None, false);
        }
    }
    work.sort_by_key(|work| (work.from, work.until, work.coats));
    work
}

/// Counts how much a timing takes of everything at its fullest.
pub fn peaks(instance: &Instance, timing: &Timing) -> Peaks {
    let mut dark = Heaps::default();
    let mut open = Heaps::default();
    let mut frames = Heaps::default();
    let mut trays = Heaps::default();
    let mut hands = Heaps::default();
    let mut sessions: BTreeMap<i64, i64> = BTreeMap::new();
    for session in &timing.sessions {
        let day = session.start.div_euclid(instance.per_day);
        *sessions.entry(day).or_default() += 1;
    }
    for work in handwork(instance, timing) {
        hands.add((), work.from, work.until, 1);
    }
    for lot in &instance.lots {
        let at = timing.lots.get(&lot.id);
        let coated = at.and_then(|at| at.coat).map(|coat| coat + lot.coat);
        if let Some(end) = coated.or(lot.coated_end) {
            dark.add(lot.space, end, end + lot.dark, lot.amount);
        }
        let washed = at.and_then(|at| at.wash).map(|wash| wash + lot.wash);
        if let Some(end) = washed.or(lot.washed_end) {
            open.add(lot.space, end, end + lot.open, lot.amount);
        }
        if let Some(wash) = at.and_then(|at| at.wash) {
            trays.add((), wash, wash + lot.wash, lot.tray);
        }
        if let Some((load, _, gone)) = at.and_then(|at| in_frame(instance, lot, at)) {
            frames.add(lot.frame.clone(), load, gone, 1);
        }
    }
    let only = |peaks: BTreeMap<(), i64>| peaks.into_values().next().unwrap_or(0);
    Peaks {
        dark: dark.peaks(),
        open: open.peaks(),
        frames: frames.peaks(),
        trays: only(trays.peaks()),
        hands: only(hands.peaks()),
        sessions: sessions.into_values().max().unwrap_or(0),
    }
}

fn placed<'a>(
    instance: &'a Instance,
    timing: &'a Timing,
) -> impl Iterator<Item = (usize, &'a Lot, &'a LotTiming)> {
    let lots = instance.lots.iter().enumerate();
    lots.filter_map(|(index, lot)| Some((index, lot, timing.lots.get(&lot.id)?)))
}

/// Returns start of loading, end of the light and end of unloading.
fn in_frame(instance: &Instance, lot: &Lot, at: &LotTiming) -> Option<(Slot, Slot, Slot)> {
    let expose = at.expose?;
    let class = instance.classes.get(lot.cls)?;
    let row = class
        .options
        .iter()
        .find(|row| (row.0..=row.1).contains(&expose))?;
    let light_out = expose + row.2;
    Some((
        expose - instance.load,
        light_out,
        light_out + instance.unload,
    ))
}

/// Things that come and go, by place.
struct Heaps<K>(BTreeMap<K, Vec<(Slot, i64)>>);

impl<K> Default for Heaps<K> {
    fn default() -> Self {
        Heaps(BTreeMap::new())
    }
}

impl<K: Ord> Heaps<K> {
    fn add(&mut self, place: K, from: Slot, until: Slot, amount: i64) {
        if from < until {
            let changes = self.0.entry(place).or_default();
            changes.push((from, amount));
            changes.push((until, -amount));
        }
    }

    /// Returns the fullest moment of each place; who leaves makes room for who comes.
    fn peaks(self) -> BTreeMap<K, i64> {
        let peak = |mut changes: Vec<(Slot, i64)>| {
            changes.sort_unstable();
            let (mut now, mut most) = (0, 0);
            for (_, change) in changes {
                now += change;
                most = most.max(now);
            }
            most
        };
        self.0
            .into_iter()
            .map(|(place, changes)| (place, peak(changes)))
            .collect()
    }
}
