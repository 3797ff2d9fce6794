//! Making room: pushing steps that can wait out of the way of one that cannot.
//!
//! Light has its hours; coating, washing, finishing and packing have some leeway
//! within the chain that they belong to. When such a step keeps the hands that a
//! loading needs, it is moved to another moment of its own leeway. Nothing but
//! that step moves, so nothing gets later or dearer.

use super::At;
use super::draft::{Draft, Steps};
use super::ground::{Come, TRAY};
use super::hands::Task;

/// A stretch of time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Stretch {
    pub(super) at: At,
    pub(super) length: At,
}

impl Stretch {
    fn meets(&self, at: At, length: At) -> bool {
        at < self.at + self.length && self.at < at + length
    }

    fn end(&self) -> At {
        self.at + self.length
    }
}

/// Frees one person for the whole stretch, if moving steps within their leeway can.
///
/// Without success the draft may be changed; the caller undoes to its own mark.
pub(super) fn make_room(draft: &mut Draft, stretch: Stretch) -> bool {
    if !draft.hands.in_work(stretch.at, stretch.length) {
        return false;
    }
    while let Some(slot) = draft.hands.first_full(stretch.at, stretch.length) {
        let people = draft.hands.tasks_at(slot).len();
        let moved = (0..people).any(|lane| {
            let task = draft.hands.tasks_at(slot)[lane];
            let mark = draft.mark();
            let pushed = push(draft, task, stretch);
            if !pushed {
                // A step may have moved before the next one had no place.
                draft.undo_to(mark);
            }
            pushed
        });
        if !moved {
            return false;
        }
    }
    true
}

/// Moves a step to another moment of its leeway, clear of the stretch.
fn push(draft: &mut Draft, task: Task, stretch: Stretch) -> bool {
    match task {
        Task::Nothing | Task::Fixed => false,
        Task::Coat(lot) => push_lot(draft, lot as usize, stretch, coat_moved),
        Task::Wash(lot) => push_lot(draft, lot as usize, stretch, wash_moved),
        Task::Finish(lot) => push_finish(draft, lot as usize, stretch),
        Task::Pack(order) => push_pack(draft, order as usize, stretch),
    }
}

fn push_lot(
    draft: &mut Draft,
    lot: usize,
    stretch: Stretch,
    moved: fn(&Draft, usize, Steps, Stretch) -> Option<Steps>,
) -> bool {
    let Some(old) = draft.lift_lot(lot) else {
        return false;
    };
    let new = moved(draft, lot, old, stretch);
    draft.lay_lot(lot, old);
    if let Some(new) = new {
        draft.move_lot(lot, new);
    }
    new.is_some()
}

fn push_pack(draft: &mut Draft, order: usize, stretch: Stretch) -> bool {
    let (Some(old), Some(ready)) = (draft.packs[order], draft.ready(order)) else {
        return false;
    };
    let last = draft.ground.last_pack(order, old);
    let length = draft.ground.orders[order].pack;
    let new = nearest(draft, (ready, last), length, stretch, |_| true);
    if let Some(new) = new {
        draft.take_order(order);
        draft.put_order(order, new);
    }
    new.is_some()
}

fn push_finish(draft: &mut Draft, lot: usize, stretch: Stretch) -> bool {
    let Some(old) = draft.lots[lot] else {
        return false;
    };
    let ground = draft.ground;
    let facts = &ground.lots[lot];
    let ready = match (facts.come, old.sun) {
        (_, Some(sun)) => sun.wash + facts.wash + facts.rest,
        (Come::Washing { ready, .. } | Come::Washed(ready), None) => ready,
        _ => return false,
    };
    let mut last = ground.horizon;
    for &order in &facts.orders {
        if let Some(pack) = draft.packs[order] {
            last = last.min(ground.last_pack(order, pack));
        }
    }
    draft.lift_lot(lot);
    let range = (ready, last - facts.finish);
    let finish = nearest(draft, range, facts.finish, stretch, |_| true);
    draft.lay_lot(lot, old);
    let Some(finish) = finish else {
        return false;
    };
    draft.move_lot(lot, Steps { finish, ..old });
    for &order in &facts.orders {
        let Some(pack) = draft.packs[order] else {
            continue;
        };
        if pack < finish + facts.finish && !repack(draft, order, pack, stretch) {
            return false;
        }
    }
    true
}

/// Packs an order anew after one of its lots was moved behind its packing.
fn repack(draft: &mut Draft, order: usize, old: At, stretch: Stretch) -> bool {
    let Some(ready) = draft.ready(order) else {
        return false;
    };
    draft.take_order(order);
    let last = draft.ground.last_pack(order, old);
    let length = draft.ground.orders[order].pack;
    let new = nearest(draft, (ready, last), length, stretch, |_| true);
    if let Some(new) = new {
        draft.put_order(order, new);
    }
    new.is_some()
}

fn wash_moved(draft: &Draft, lot: usize, old: Steps, stretch: Stretch) -> Option<Steps> {
    let ground = draft.ground;
    let facts = &ground.lots[lot];
    let sun = old.sun?;
    let gone = sun.at + sun.length + ground.unload;
    let last = (gone + ground.wash_gap).min(old.finish - facts.rest - facts.wash);
    let fits = |wash: At| {
        draft.places[TRAY].fits(wash, facts.wash, facts.trays)
            && draft.places[facts.open_rack].fits(wash + facts.wash, facts.open, facts.amount)
    };
    let wash = nearest(draft, (gone, last), facts.wash, stretch, fits)?;
    let sun = Some(super::draft::Sun { wash, ..sun });
    Some(Steps { sun, ..old })
}

fn coat_moved(draft: &Draft, lot: usize, old: Steps, stretch: Stretch) -> Option<Steps> {
    let ground = draft.ground;
    let facts = &ground.lots[lot];
    let (coat, sun) = (old.coat?, old.sun?);
    let mixed = coat.session + ground.setup;
    let last = sun.at - ground.load - facts.dark - facts.coat;
    let first = facts.release.max(mixed).max(last - facts.keep);
    let last = last.min(mixed + ground.mix_life - facts.coat);
    let rack = &draft.places[facts.dark_rack];
    let fits = |at: At| rack.fits(at + facts.coat, facts.dark, facts.amount);
    let at = nearest(draft, (first, last), facts.coat, stretch, fits)?;
    let coat = Some(super::draft::Coat { at, ..coat });
    Some(Steps { coat, ..old })
}

/// Finds the start nearest to `stretch` at which a step fits without meeting it.
fn nearest(
    draft: &Draft,
    (first, last): (At, At),
    length: At,
    stretch: Stretch,
    fits: impl Fn(At) -> bool,
) -> Option<At> {
    let clear = |at: &At| !stretch.meets(*at, length) && fits(*at);
    let mut later = None;
    let mut from = first.max(stretch.end());
    while let Some(at) = draft.hands.find_first(from, last, length) {
        if clear(&at) {
            later = Some(at);
            break;
        }
        from = at + 1;
    }
    let mut earlier = None;
    let mut until = last.min(stretch.at - length);
    while let Some(at) = draft.hands.find_last(first, until, length) {
        if clear(&at) {
            earlier = Some(at);
            break;
        }
        until = at - 1;
    }
    match (earlier, later) {
        (Some(earlier), Some(later)) => {
            let nearer = later - stretch.at <= stretch.at - earlier;
            Some(if nearer { later } else { earlier })
        }
        (one, other) => one.or(other),
    }
}
