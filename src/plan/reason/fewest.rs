//! The fewest limits whose lifting saves an order.

use chrono::NaiveDate;

use super::again::{Answer, Saved, keeps};
use super::lift::{Limit, lifted};
use super::narrow::{evenings, narrow};
use super::{Desk, LOOKS_EACH, Needed, Reason, lamp, looks_all, start};
use crate::plan::course::OrderCourse;
use crate::plan::earliest::earliest_day;

/// Pairs of limits that are named at most.
const PAIRS: usize = 3;

/// Why one order is late or left out.
#[derive(Debug)]
pub(super) struct Found {
    pub(super) reasons: Vec<Reason>,
    /// The day by which it was asked to leave, if not by the promised one.
    pub(super) by: Option<NaiveDate>,
}

/// Finds why an order that is late or left out is so.
pub(super) fn reasons(course: &OrderCourse, desk: &mut Desk) -> Found {
    if desk.again.looks >= looks_all(desk.asked.setup.instance.lots.len()) {
        return Found {
            reasons: vec![Reason::NotLookedAt],
            by: None,
        };
    }
    let due = desk.asked.setup.grid.day_index(course.due_on);
    let everything = desk.all_of(&Limit::ALL);
    let proven = match desk.save(course.order, &everything, due) {
        Answer::Saved(saved) => {
            return Found {
                reasons: needed(course, desk, due, saved),
                by: None,
            };
        }
        Answer::Never => true,
        Answer::NotFound => false,
    };
    too_short(course, desk, proven)
}

/// The promise cannot be kept; what keeps the order beyond its earliest day is asked
/// all the same.
fn too_short(course: &OrderCourse, desk: &mut Desk, proven: bool) -> Found {
    let asked = desk.asked;
    let setup = asked.setup;
    let everything = desk.all_of(&Limit::ALL);
    let instance = lifted(setup, asked.fair, &everything);
    let core = setup.planned.iter().position(|o| *o == course.order);
    let earliest = core.and_then(|core| earliest_day(&instance, core));
    let earliest_on = earliest.map(|day| desk.day(day));
    let mut reasons = vec![Reason::TooShort {
        earliest_on,
        from_start: start::is_too_short(&setup.orders[course.order], asked, course.due_on),
        proven,
    }];
    let sooner = earliest_on.filter(|day| course.leaves_on.is_none_or(|leaves| *day < leaves));
    if let (Some(day), Some(_)) = (earliest, sooner)
        && let Answer::Saved(saved) = desk.save(course.order, &everything, day)
    {
        reasons.extend(needed(course, desk, day, saved));
    }
    Found {
        reasons,
        by: earliest_on,
    }
}

/// Finds what the order needs to leave by `due`, given a plan with everything lifted.
///
/// All single limits that help are named, since each is a way out of its own; of
/// pairs a few.
fn needed(course: &OrderCourse, desk: &mut Desk, due: i64, all: Saved) -> Vec<Reason> {
    let order = course.order;
    let mut asking = Asking::new(order, due, desk);
    if let Some(saved) = asking.ask(desk, &[]) {
        let then_on = desk.day(saved.day);
        return vec![Reason::Overlooked { then_on }];
    }
    let smallest = asking.refuted;
    let likely = likely_first(desk, &all);
    let mut singles: Vec<(Limit, Saved)> = Vec::new();
    for limit in &likely {
        let saved = asking.ask(desk, &[*limit]);
        singles.extend(saved.map(|saved| (*limit, saved)));
    }
    singles.sort_by_key(|(limit, _)| *limit);
    let singles = singles.into_iter();
    let mut reasons: Vec<Reason> = singles
        .map(|(limit, saved)| asking.concrete(desk, vec![limit], saved, smallest))
        .collect();
    if reasons.is_empty() {
        let smallest = asking.refuted;
        for (limits, saved) in asking.pairs(desk, &likely) {
            reasons.push(asking.concrete(desk, limits, saved, smallest));
        }
    }
    if reasons.is_empty() {
        let smallest = asking.refuted;
        let (limits, saved) = asking.give_up(desk, all);
        let smallest = smallest && limits.len() == 3;
        reasons.push(asking.concrete(desk, limits, saved, smallest));
    }
    reasons
}

/// Returns all limits, first those without which the plan with everything lifted
/// would not hold.
fn likely_first(desk: &Desk, all: &Saved) -> Vec<Limit> {
    let asked = desk.asked;
    let idle = |limit: &Limit| {
        let others: Vec<Limit> = Limit::ALL.into_iter().filter(|l| l != limit).collect();
        let instance = lifted(asked.setup, asked.fair, &desk.all_of(&others));
        keeps(&instance, &all.timing, desk.again.owed())
    };
    let mut likely = Limit::ALL.to_vec();
    likely.sort_by_cached_key(idle);
    likely
}

/// Asking about one order, set by set.
#[derive(Debug)]
struct Asking {
    order: usize,
    due: i64,
    /// Whether every set asked so far is proven not to help.
    refuted: bool,
    looks_until: u32,
}

impl Asking {
    fn new(order: usize, due: i64, desk: &Desk) -> Asking {
        Asking {
            order,
            due,
            refuted: true,
            looks_until: desk.again.looks + LOOKS_EACH,
        }
    }

    /// Plans again with the limits lifted.
    fn ask(&mut self, desk: &mut Desk, limits: &[Limit]) -> Option<Saved> {
        let lifts = desk.all_of(limits);
        if lifts.is_empty() && !limits.is_empty() {
            return None;
        }
        match desk.save(self.order, &lifts, self.due) {
            Answer::Saved(saved) => Some(saved),
            Answer::Never => None,
            Answer::NotFound => {
                self.refuted = false;
                None
            }
        }
    }

    /// Asks about pairs as long as there are looks left, for a few that help.
    fn pairs(&mut self, desk: &mut Desk, likely: &[Limit]) -> Vec<(Vec<Limit>, Saved)> {
        let mut found = Vec::new();
        for (index, second) in likely.iter().enumerate() {
            for first in &likely[..index] {
                if desk.again.looks >= self.looks_until {
                    self.refuted = false;
                    return found;
                }
                let saved = self.ask(desk, &[*first, *second]);
                found.extend(saved.map(|saved| (vec![*first, *second], saved)));
                if found.len() == PAIRS {
                    return found;
                }
            }
        }
        found
    }

    /// Gives up one limit after the other for as long as the order stays saved.
    fn give_up(&self, desk: &mut Desk, all: Saved) -> (Vec<Limit>, Saved) {
        let mut kept = Limit::ALL.to_vec();
        let mut best = all;
        for limit in Limit::ALL.iter().rev() {
            let without: Vec<Limit> = kept.iter().copied().filter(|kept| kept != limit).collect();
            let lifts = desk.all_of(&without);
            if let Answer::Saved(saved) = desk.save(self.order, &lifts, self.due) {
                kept = without;
                best = saved;
            }
        }
        (kept, best)
    }

    /// Says how much of each limit is enough, and what else there is to it.
    fn concrete(
        &self,
        desk: &mut Desk,
        mut limits: Vec<Limit>,
        saved: Saved,
        smallest: bool,
    ) -> Reason {
        limits.sort_unstable();
        let (lifts, saved) = narrow(desk, self.order, self.due, &limits, saved);
        let lamp = limits
            .contains(&Limit::Weather)
            .then(|| lamp::lamp(desk, self.order, self.due, &lifts))
            .flatten();
        Reason::Limits(Needed {
            evenings: evenings(desk, &lifts, &saved.timing),
            limits,
            lifts,
            then_on: desk.day(saved.day),
            smallest,
            lamp,
            proof: saved.timing,
        })
    }
}
