//! Planning again for one order: is it in time if something in the studio is lifted?
//!
//! An order is *saved* by a plan in which it leaves in time and nobody pays for it:
//! each other order leaves in time as well, or at least not later than it does now.
//! Without the second half any limit would seem to help, since an order can always
//! push in front of others.
//!
//! Three answers are told apart. *Saved* carries the plan, which the audit has
//! judged. *Never* is proven by a bound that no search enters. *Not found* means that
//! the work allowed for one look was done without finding such a plan.

use std::collections::BTreeMap;

use crate::plan::audit::{Start, audit_from};
use crate::plan::earliest::earliest_day;
use crate::plan::model::{Instance, Order, Timing};
use crate::plan::search::{Effort, solve};

/// Steps in which an order alone finds its place.
const STEPS_ALONE: u64 = 400;
/// Parts in which the steps of a look are made; between them the plan is judged.
const PARTS: u64 = 6;
/// How much more an order counts that is placed before all others.
const FIRST: i64 = 100;
/// Plans kept because they may answer a later question too.
const KEPT: usize = 64;

/// What came of planning again.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// The order is in time, and nobody pays for it.
    Saved(Saved),
    /// No plan can bring it in time.
    Never,
    /// None was found.
    NotFound,
}

/// A plan in which an order is in time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Saved {
    /// The plan, for the lifted instance.
    pub timing: Timing,
    /// The day of the grid on which the order leaves.
    pub day: i64,
}

/// The last day of the grid on which each order may leave without being worse off,
/// by its id.
pub type Owed = BTreeMap<String, i64>;

/// Plans again and again around one plan, and counts how often.
#[derive(Debug, Clone)]
pub struct Again<'a> {
    /// The plan that is shown.
    base: &'a Timing,
    /// What the others are owed.
    owed: Owed,
    effort: Effort,
    /// Plans found so far; one may answer several questions.
    kept: Vec<Timing>,
    /// Looks that needed a search.
    pub looks: u32,
}

impl<'a> Again<'a> {
    /// Begins with the plan that is shown, for the instance that it was made for.
    pub fn new(instance: &Instance, base: &'a Timing, effort: Effort) -> Again<'a> {
        Again::owing(owed(instance, base), base, effort)
    }

    /// Begins with a plan for another instance, owing the orders what is given.
    pub fn owing(owed: Owed, base: &'a Timing, effort: Effort) -> Again<'a> {
        Again {
            base,
            owed,
            effort,
            kept: Vec::new(),
            looks: 0,
        }
    }

    /// Returns what each order is owed.
    pub fn owed(&self) -> &Owed {
        &self.owed
    }

    /// Looks for a plan of `instance` in which the order leaves by `due`, as a day of
    /// the grid, and nobody pays for it.
    pub fn save(&mut self, instance: &Instance, order: &str, due: i64) -> Answer {
        let Some(index) = find_order(instance, order) else {
            return Answer::Never;
        };
        if earliest_day(instance, index).is_none_or(|day| day > due) {
            return Answer::Never;
        }
        let mut owed = self.owed.clone();
        owed.insert(order.to_owned(), due);
        let known = self
            .kept
            .iter()
            .find(|timing| keeps(instance, timing, &owed))
            .cloned();
        let found = known.or_else(|| {
            self.looks += 1;
            self.look(instance, index, &owed)
        });
        let Some(timing) = found else {
            return Answer::NotFound;
        };
        if !self.kept.contains(&timing) && self.kept.len() < KEPT {
            self.kept.push(timing.clone());
        }
        let day = leaving_day(instance, &instance.orders[index], &timing).unwrap_or(due);
        Answer::Saved(Saved { timing, day })
    }

    /// Searches from the plan that is shown, then with the order placed first.
    fn look(&self, instance: &Instance, index: usize, owed: &Owed) -> Option<Timing> {
        let alone = self.alone(instance, index, owed)?;
        let eased = eased(instance, owed);
        let found = self.search(instance, &eased, self.base.clone(), owed);
        found.or_else(|| {
            let first = served_first(&eased, index);
            let start = joined(&alone, self.base, &instance.orders[index]);
            self.search(instance, &first, start, owed)
        })
    }

    /// Places the order as if no other were there; none if even that is too late.
    fn alone(&self, instance: &Instance, index: usize, owed: &Owed) -> Option<Timing> {
        let order = instance.orders[index].clone();
        let due = owed.get(&order.id).copied().unwrap_or(i64::MAX);
        let alone = Instance {
            orders: vec![order.clone()],
            ..instance.clone()
        };
        let effort = Effort {
            iterations: Some(STEPS_ALONE),
            threads: 1,
            ..self.effort
        };
        let timing = solve(&alone, &effort, &|| 0.0, None).timing;
        let day = leaving_day(instance, &order, &timing);
        day.is_some_and(|day| day <= due).then_some(timing)
    }

    fn search(
        &self,
        instance: &Instance,
        eased: &Instance,
        start: Timing,
        owed: &Owed,
    ) -> Option<Timing> {
        let mut timing = start;
        let steps = self.effort.iterations.unwrap_or(0).div_ceil(PARTS).max(1);
        for part in 0..PARTS {
            let effort = Effort {
                iterations: Some(steps),
                seed: self.effort.seed.wrapping_add(part),
                threads: self.effort.threads,
            };
            timing = solve(eased, &effort, &|| 0.0, Some(&timing)).timing;
            if keeps(instance, &timing, owed) {
                return Some(timing);
            }
        }
        None
    }
}

/// Returns until when each order may leave so that it is no worse off than now.
///
/// Left out counts as the day that is charged for it.
pub fn owed(instance: &Instance, base: &Timing) -> Owed {
    let last = |order: &Order| {
        let due = order.promise.div_euclid(instance.per_day);
        let now = leaving_day(instance, order, base).unwrap_or(instance.unserved_day);
        (order.id.clone(), due.max(now))
    };
    instance.orders.iter().map(last).collect()
}

/// Returns the day of the grid on which an order leaves; none if it is left out.
pub fn leaving_day(instance: &Instance, order: &Order, timing: &Timing) -> Option<i64> {
    let end = timing.orders.get(&order.id)?.pack + order.pack;
    let leaves = match order.handover {
        true => Some((end - 1).max(0)),
        false => instance
            .collections
            .iter()
            .copied()
            .find(|slot| *slot >= end),
    };
    leaves.map(|slot| slot.div_euclid(instance.per_day))
}

/// Finds the index of an order in the instance.
pub fn find_order(instance: &Instance, id: &str) -> Option<usize> {
    instance.orders.iter().position(|order| order.id == id)
}

/// Tells whether the timing holds, and every order leaves within what it is owed.
pub fn keeps(instance: &Instance, timing: &Timing, owed: &Owed) -> bool {
    let within = |order: &Order| {
        let day = leaving_day(instance, order, timing).unwrap_or(instance.unserved_day);
        owed.get(&order.id).is_none_or(|last| day <= *last)
    };
    instance.orders.iter().all(within) && audit_from(instance, timing, Start::Given).is_kept()
}

/// Moves promises to what is owed, so that lateness is what somebody would pay.
fn eased(instance: &Instance, owed: &Owed) -> Instance {
    let mut eased = instance.clone();
    for order in &mut eased.orders {
        if let Some(last) = owed.get(&order.id) {
            order.promise = last.saturating_mul(instance.per_day);
        }
    }
    eased
}

/// Puts the order and its lots before all others, with more weight.
fn served_first(eased: &Instance, index: usize) -> Instance {
    let mut first = eased.clone();
    let mut order = first.orders.remove(index);
    order.weight = order.weight.saturating_mul(FIRST);
    let (own, others): (Vec<_>, Vec<_>) = first
        .lots
        .into_iter()
        .partition(|lot| order.lots.contains(&lot.id));
    first.lots = own.into_iter().chain(others).collect();
    first.orders.insert(0, order);
    first
}

/// Joins the order's own steps with those that the others have in the plan.
fn joined(alone: &Timing, base: &Timing, order: &Order) -> Timing {
    let own = |id: &String| order.lots.contains(id);
    let behind = alone.sessions.len();
    let mut joined = Timing {
        sessions: alone
            .sessions
            .iter()
            .chain(&base.sessions)
            .copied()
            .collect(),
        ..Timing::default()
    };
    for (id, steps) in base.lots.iter().filter(|(id, _)| !own(id)) {
        let mut steps = *steps;
        steps.session = steps.session.map(|session| session + behind);
        joined.lots.insert(id.clone(), steps);
    }
    let of_order = alone.lots.iter().filter(|(id, _)| own(id));
    joined
        .lots
        .extend(of_order.map(|(id, steps)| (id.clone(), *steps)));
    joined.orders = base.orders.clone();
    joined.orders.extend(alone.orders.clone());
    joined
}
