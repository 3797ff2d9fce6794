//! R0: does it make sense at all?
//!
//! Faults found by [`faults_that_end_it`] end the judgement; without them the
//! other files may index, divide and add without care. Faults of the timing are
//! noted, and what can still be judged is.

use std::collections::{BTreeMap, BTreeSet};

use super::chain::{Begun, begun};
use super::verdict::{Fault, Step};
use crate::plan::model::{Instance, Lot, LotTiming, Slot, Timing};

/// The largest size taken for a slot, a length, a count or a weight.
const LARGEST: i64 = 1 << 31;

/// The lots of an instance by name.
pub(super) fn lots_by_name(instance: &Instance) -> BTreeMap<&str, &Lot> {
    let lots = instance.lots.iter();
    lots.map(|lot| (lot.id.as_str(), lot)).collect()
}

/// Finds what makes any further judgement impossible.
pub(super) fn faults_that_end_it(instance: &Instance, timing: &Timing) -> Vec<Fault> {
    let mut numbers = Numbers::default();
    numbers.of_studio(instance);
    numbers.of_classes(instance);
    instance.lots.iter().for_each(|lot| numbers.of_lot(lot));
    numbers.of_orders(instance);
    numbers.of_begun(instance);
    numbers.of_timing(timing);
    let mut faults = numbers.faults;
    if instance.per_day == 0 {
        faults.push(Fault::NoSlotsInADay);
    }
    faults.extend(rows_backwards(instance));
    faults.extend(names_twice(instance));
    faults.extend(unknown_references(instance));
    faults
}

/// Numbers that are too large, or negative where they may not be.
#[derive(Default)]
struct Numbers {
    faults: Vec<Fault>,
}

impl Numbers {
    /// Takes any number of a sensible size.
    fn any(&mut self, of: &str, value: i64) {
        if !(-LARGEST..=LARGEST).contains(&value) {
            let of = of.to_owned();
            self.faults.push(Fault::NumberOutOfRange { of, value });
        }
    }

    /// Takes a length, a count or a weight.
    fn count(&mut self, of: &str, value: i64) {
        self.any(of, value);
        if value < 0 {
            let of = of.to_owned();
            self.faults.push(Fault::Negative { of, value });
        }
    }

    fn of_studio(&mut self, instance: &Instance) {
        let (capacity, session) = (&instance.capacity, &instance.session);
        for (of, value) in [
            ("per_day", instance.per_day),
            ("horizon", instance.horizon),
            ("operators", instance.operators),
            ("capacity.dark_sheet", capacity.dark_sheet),
            ("capacity.dark_line", capacity.dark_line),
            ("capacity.open_sheet", capacity.open_sheet),
            ("capacity.open_line", capacity.open_line),
            ("capacity.tray", capacity.tray),
            ("session.setup", session.setup),
            ("session.mix_life", session.mix_life),
            ("session.max_per_day", session.max_per_day),
            ("load", instance.load),
            ("unload", instance.unload),
            ("wash_gap", instance.wash_gap),
        ] {
            self.count(of, value);
        }
        for (frame, count) in &instance.frames {
            self.count(frame, *count);
        }
        let stretches = instance.work.iter().flat_map(|&(begin, end)| [begin, end]);
        stretches.for_each(|slot| self.any("work", slot));
        let collections = instance.collections.iter();
        collections.for_each(|slot| self.any("collections", *slot));
        let weights = &instance.weights;
        for (of, value) in [
            ("unserved_day", instance.unserved_day),
            ("weights.late", weights.late),
            ("weights.risk", weights.risk),
            ("weights.session", weights.session),
            ("weights.ship", weights.ship),
        ] {
            self.any(of, value);
        }
    }

    fn of_classes(&mut self, instance: &Instance) {
        for class in &instance.classes {
            for &(first, last, duration, risk) in &class.options {
                self.any(&class.name, first);
                self.any(&class.name, last);
                self.count(&class.name, duration);
                self.count(&class.name, risk);
            }
        }
    }

    fn of_lot(&mut self, lot: &Lot) {
        let counts = [
            lot.amount, lot.coat, lot.dark, lot.keep, lot.wash, lot.tray, lot.open, lot.cure,
            lot.finish,
        ];
        counts.iter().for_each(|value| self.count(&lot.id, *value));
        let slots = [
            lot.coated_end,
            lot.exposed_end,
            lot.washed_end,
            Some(lot.release),
        ];
        let slots = slots.iter().flatten();
        slots.for_each(|slot| self.any(&lot.id, *slot));
    }

    fn of_orders(&mut self, instance: &Instance) {
        for order in &instance.orders {
            self.count(&order.id, order.pack);
            self.count(&order.id, order.weight);
            self.any(&order.id, order.promise);
            self.any(&order.id, order.release);
        }
    }

    fn of_begun(&mut self, instance: &Instance) {
        self.count("begun.sessions", instance.begun.sessions);
        for taken in &instance.begun.taken {
            self.count("begun.taken", taken.amount);
            self.any("begun.taken", taken.from);
            self.any("begun.taken", taken.until);
        }
    }

    fn of_timing(&mut self, timing: &Timing) {
        for (of, _, at) in starts(timing) {
            self.any(&of, at);
        }
    }
}

fn rows_backwards(instance: &Instance) -> impl Iterator<Item = Fault> {
    let backwards = |&(first, last, ..): &(Slot, Slot, Slot, i64)| last < first;
    let classes = instance.classes.iter();
    classes
        .filter(move |class| class.options.iter().any(backwards))
        .map(|class| Fault::RowBackwards {
            class: class.name.clone(),
        })
}

fn names_twice(instance: &Instance) -> Vec<Fault> {
    let (mut lots, mut orders) = (BTreeSet::new(), BTreeSet::new());
    let lots_twice = instance.lots.iter().filter(|lot| !lots.insert(&lot.id));
    let mut faults: Vec<Fault> = lots_twice
        .map(|lot| Fault::LotTwice {
            lot: lot.id.clone(),
        })
        .collect();
    let orders_twice = instance.orders.iter();
    let orders_twice = orders_twice.filter(|order| !orders.insert(&order.id));
    faults.extend(orders_twice.map(|order| Fault::OrderTwice {
        order: order.id.clone(),
    }));
    faults
}

fn unknown_references(instance: &Instance) -> Vec<Fault> {
    let known = lots_by_name(instance);
    let mut faults = Vec::new();
    let to_expose = |lot: &&Lot| matches!(begun(lot), Begun::Not | Begun::Coated(_));
    for lot in instance.lots.iter().filter(to_expose) {
        if !instance.frames.contains_key(&lot.frame) {
            faults.push(Fault::UnknownFrame {
                lot: lot.id.clone(),
                frame: lot.frame.clone(),
            });
        }
        if lot.cls >= instance.classes.len() {
            faults.push(Fault::UnknownClass {
                lot: lot.id.clone(),
                class: lot.cls,
            });
        }
    }
    for order in &instance.orders {
        let unknown = order.lots.iter();
        let unknown = unknown.filter(|lot| !known.contains_key(lot.as_str()));
        faults.extend(unknown.map(|lot| Fault::OrderOfUnknownLot {
            order: order.id.clone(),
            lot: lot.clone(),
        }));
    }
    faults
}

/// Finds unknown names, steps too few or too many, and starts before day 0.
pub(super) fn faults_of_timing(instance: &Instance, timing: &Timing) -> Vec<Fault> {
    let known = lots_by_name(instance);
    let mut faults = Vec::new();
    for (id, steps) in &timing.lots {
        match known.get(id.as_str()) {
            Some(lot) => faults.extend(steps_unlike_need(lot, steps)),
            None => faults.push(Fault::UnknownLot { lot: id.clone() }),
        }
    }
    let orders: BTreeSet<&String> = instance.orders.iter().map(|order| &order.id).collect();
    let unknown = timing.orders.keys().filter(|id| !orders.contains(id));
    faults.extend(unknown.map(|id| Fault::UnknownOrder { order: id.clone() }));
    let early = starts(timing).filter(|(_, _, at)| *at < 0);
    faults.extend(early.map(|(of, step, at)| Fault::NegativeStart { of, step, at }));
    faults
}

/// Steps that a lot needs and has not, or has and needs not.
fn steps_unlike_need(lot: &Lot, steps: &LotTiming) -> Vec<Fault> {
    let (coat, expose, wash) = match begun(lot) {
        Begun::Not => (true, true, true),
        Begun::Coated(_) => (false, true, true),
        Begun::Exposed(_) => (false, false, true),
        Begun::Washed(_) => (false, false, false),
    };
    let fault = |(step, there, needed)| {
        let lot = lot.id.clone();
        match (there, needed) {
            (false, true) => Some(Fault::MissingStep { lot, step }),
            (true, false) => Some(Fault::NeedlessStep { lot, step }),
            (true, true) | (false, false) => None,
        }
    };
    let all = [
        (Step::Coat, steps.coat.is_some(), coat),
        (Step::Session, steps.session.is_some(), coat),
        (Step::Expose, steps.expose.is_some(), expose),
        (Step::Wash, steps.wash.is_some(), wash),
    ];
    all.into_iter().filter_map(fault).collect()
}

/// Every start in a timing, with its owner.
fn starts(timing: &Timing) -> impl Iterator<Item = (String, Step, Slot)> {
    let sessions = timing.sessions.iter().enumerate();
    let sessions = sessions.map(|(index, made)| (index.to_string(), Step::Setup, made.start));
    let lots = timing.lots.iter().flat_map(|(id, steps)| {
        let all = [
            (Step::Coat, steps.coat),
            (Step::Expose, steps.expose),
            (Step::Wash, steps.wash),
            (Step::Finish, Some(steps.finish)),
        ];
        all.into_iter()
            .filter_map(move |(step, at)| Some((id.clone(), step, at?)))
    });
    let orders = timing.orders.iter();
    let orders = orders.map(|(id, packing)| (id.clone(), Step::Pack, packing.pack));
    sessions.chain(lots).chain(orders)
}
