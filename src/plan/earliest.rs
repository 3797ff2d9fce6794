//! The earliest day on which an order can leave, whatever else the studio does.
//!
//! A bound and not a plan: every lot of the order is looked at alone, as if the
//! racks, frames, trays, sessions and hands were there for it only. A plan may be
//! later than this day and is never earlier; what is impossible here is impossible.
//! Nothing is searched, so the answer can be relied on: it costs one pass over the
//! table of starts.
//!
//! # What is kept of the rules
//! Hours of work, release, drying, admissible starts, the life of mix and coat, the
//! wait before the wash, the colour's day, packing, collections, and that a lot
//! alone fits racks, trays and frames. What lots take from each other is left out.

use super::model::{Instance, Lot, Order, Slot, Space};

/// Returns the day on which the order (an index of `instance.orders`) leaves at the
/// earliest; none if it cannot leave inside the horizon at all.
pub fn earliest_day(instance: &Instance, order: usize) -> Option<i64> {
    let order = &instance.orders[order];
    let mut done = 0;
    for id in &order.lots {
        let lot = instance.lots.iter().find(|lot| lot.id == *id)?;
        done = done.max(earliest_done(instance, lot)?);
    }
    day_after(instance, order, done)
}

/// Returns the day on which an order leaves at the earliest if its lots are finished
/// by `done`.
pub fn day_after(instance: &Instance, order: &Order, done: Slot) -> Option<i64> {
    let end = find_work(instance, done.max(0), order.pack)? + order.pack;
    let leaves = match order.handover {
        true => Some((end - 1).max(0)).filter(|_| end <= instance.horizon),
        false => instance
            .collections
            .iter()
            .copied()
            .find(|slot| *slot >= end),
    };
    leaves.map(|slot| slot.div_euclid(instance.per_day))
}

/// Returns when the lot is finished if it goes into the light at `expose`, stays for
/// `duration` and nothing else is to be done; none if hands are missing on the way.
pub fn done_after(instance: &Instance, lot: &Lot, expose: Slot, duration: Slot) -> Option<Slot> {
    let (load, gone) = (expose - instance.load, expose + duration + instance.unload);
    let at_hand = |from: Slot, length: Slot| find_work(instance, from, length) == Some(from);
    let manned = if lot.attended {
        at_hand(load, gone - load)
    } else {
        at_hand(load, instance.load) && at_hand(expose + duration, instance.unload)
    };
    let wash = find_work(instance, gone, lot.wash)?;
    if !manned || wash > gone + instance.wash_gap {
        return None;
    }
    done_after_wash(instance, lot, wash + lot.wash)
}

/// Returns the slots from which and until which the lot may be loaded, as far as its
/// coat is concerned; none once it is past the frame, and none if it cannot be coated.
pub fn dry_between(instance: &Instance, lot: &Lot) -> Option<(Slot, Slot)> {
    if lot.washed_end.is_some() || lot.exposed_end.is_some() {
        return None;
    }
    if let Some(coated) = lot.coated_end {
        let dry = coated + lot.dark;
        return Some((dry, dry.saturating_add(lot.keep)));
    }
    let rule = &instance.session;
    if rule.max_per_day < 1 || lot.coat > rule.mix_life {
        return None;
    }
    let mixed = find_work(instance, 0, rule.setup)? + rule.setup;
    let coat = find_work(instance, mixed.max(lot.release), lot.coat)?;
    Some((coat + lot.coat + lot.dark, instance.horizon))
}

fn earliest_done(instance: &Instance, lot: &Lot) -> Option<Slot> {
    if !fits_alone(instance, lot) {
        return None;
    }
    if let Some(washed) = lot.washed_end {
        return done_after_wash(instance, lot, washed);
    }
    if let Some(exposed) = lot.exposed_end {
        let wash = find_work(instance, exposed.max(0), lot.wash)?;
        return done_after_wash(instance, lot, wash + lot.wash);
    }
    let (first, last) = dry_between(instance, lot)?;
    let rest = lot.wash + lot.open.max(lot.cure) + lot.finish;
    let mut best: Option<Slot> = None;
    for &(from, until, duration, _) in &instance.classes[lot.cls].options {
        let from = from.max(first + instance.load);
        let until = until.min(last.saturating_add(instance.load));
        for expose in from..=until {
            let least = expose + duration + instance.unload + rest;
            if best.is_some_and(|best| least >= best) {
                break;
            }
            let done = done_after(instance, lot, expose, duration);
            best = best.into_iter().chain(done).min();
        }
    }
    best
}

fn done_after_wash(instance: &Instance, lot: &Lot, washed: Slot) -> Option<Slot> {
    let ready = washed + lot.open.max(lot.cure);
    Some(find_work(instance, ready.max(0), lot.finish)? + lot.finish)
}

/// Tells whether racks, trays and frames hold the lot if they hold nothing else.
fn fits_alone(instance: &Instance, lot: &Lot) -> bool {
    let capacity = &instance.capacity;
    let (dark, open) = match lot.space {
        Space::Sheet => (capacity.dark_sheet, capacity.open_sheet),
        Space::Line => (capacity.dark_line, capacity.open_line),
    };
    let to_coat = lot.coated_end.is_none() && lot.exposed_end.is_none();
    let to_frame = lot.exposed_end.is_none() && lot.washed_end.is_none();
    let to_wash = lot.washed_end.is_none();
    let frames = instance.frames.get(&lot.frame).copied().unwrap_or(0);
    instance.operators > 0
        && (!(to_coat && to_frame) || lot.amount <= dark)
        && (!to_frame || frames > 0)
        && (!to_wash || (lot.tray <= capacity.tray && lot.amount <= open))
}

/// Finds the first slot from `from` on at which hands are there for `length` in one go.
fn find_work(instance: &Instance, from: Slot, length: Slot) -> Option<Slot> {
    let first = instance
        .work
        .partition_point(|(_, until)| *until < from.saturating_add(length));
    instance.work[first..]
        .iter()
        .map(|(begin, until)| ((*begin).max(from), *until))
        .find(|(start, until)| start + length <= *until)
        .map(|(start, _)| start)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::model::{Begun, Capacity, Class, SessionRule, Weights};

    /// Work from 09:00 to 17:00 on three days, a collection at 16:00 of each.
    fn instance() -> Instance {
        let day = |day: Slot| day * 288;
        Instance {
            format: "studio-plan-instance/1".to_owned(),
            name: "test".to_owned(),
            slot_min: 5,
            per_day: 288,
            horizon: day(3),
            work: (0..3).map(|d| (day(d) + 108, day(d) + 204)).collect(),
            operators: 1,
            collections: (0..3).map(|d| day(d) + 192).collect(),
            unserved_day: 6,
            capacity: Capacity {
                dark_sheet: 2,
                dark_line: 0,
                open_sheet: 2,
                open_line: 0,
                tray: 1,
            },
            frames: [("small".to_owned(), 1)].into(),
            session: SessionRule {
                setup: 3,
                mix_life: 48,
                max_per_day: 1,
            },
            load: 1,
            unload: 1,
            wash_gap: 12,
            weights: Weights {
                late: 1,
                risk: 1,
                session: 1,
                ship: 1,
            },
            classes: vec![Class {
                name: "sun".to_owned(),
                options: vec![(144, 190, 3, 0), (288 + 120, 288 + 190, 2, 0)],
            }],
            lots: vec![lot()],
            orders: vec![Order {
                id: "A".to_owned(),
                lots: vec!["L0".to_owned()],
                pack: 2,
                weight: 1,
                promise: 600,
                handover: false,
                release: 0,
            }],
            begun: Begun::default(),
        }
    }

    fn lot() -> Lot {
        Lot {
            id: "L0".to_owned(),
            cls: 0,
            frame: "small".to_owned(),
            space: Space::Sheet,
            amount: 1,
            coat: 1,
            dark: 48,
            keep: 864,
            attended: false,
            wash: 2,
            tray: 1,
            open: 96,
            cure: 288,
            finish: 2,
            release: 0,
            coated_end: None,
            exposed_end: None,
            washed_end: None,
        }
    }

    /// By hand: mixed 108–111, coated 111–112, dry 160, loaded 160, light 161–164,
    /// out 165, washed 165–167, finished 455–457, packed 457–459, collected 480: day 1.
    #[test]
    fn one_lot_goes_through_as_fast_as_its_waits_allow() {
        let instance = instance();
        assert_eq!(dry_between(&instance, &lot()), Some((160, 864)));
        assert_eq!(done_after(&instance, &lot(), 161, 3), Some(457));
        assert_eq!(earliest_day(&instance, 0), Some(1));
    }

    #[test]
    fn a_later_release_or_a_day_without_light_moves_it_on() {
        let mut late = instance();
        late.lots[0].release = 150;
        assert_eq!(earliest_day(&late, 0), Some(2));
        let mut dull = instance();
        dull.classes[0].options.remove(0);
        assert_eq!(earliest_day(&dull, 0), Some(2));
    }

    #[test]
    fn what_fits_no_rack_or_sees_no_light_never_leaves() {
        let mut wide = instance();
        wide.lots[0].amount = 3;
        assert_eq!(earliest_day(&wide, 0), None);
        let mut dark = instance();
        dark.classes[0].options.clear();
        assert_eq!(earliest_day(&dark, 0), None);
        let mut alone = instance();
        alone.collections.clear();
        assert_eq!(earliest_day(&alone, 0), None);
        alone.orders[0].handover = true;
        assert_eq!(earliest_day(&alone, 0), Some(1));
    }
}
