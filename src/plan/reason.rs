//! Why an order is not on course, found by planning again with limits lifted.
//!
//! "Blocked by weather" is a fact, not a guess: in fair weather it would be in time
//! and nobody else would pay for it. The same is asked of material, drying places,
//! frames, trays, sessions, collections, hours and hands: one by one, in pairs, then
//! by giving up one after the other of all of them. What no lifting helps was
//! promised too early, and that is proven by a bound without any search. Words for
//! all this are made in `view`.
//!
//! # Bound of work
//! Each plan made again takes at most twice the steps of `Asked::effort`, and at
//! most [`LOOKS_EACH`] plans are made for an order and [`looks_all`] for all, a few
//! more to finish what was begun. No clock is read. On one core of 2024 that is a few
//! seconds at most for fifty orders and a minute or two for a thousand.

mod again;
mod evidence;
mod fewest;
mod lamp;
mod lift;
mod narrow;
mod no_sun;
mod start;
mod usage;

pub use again::{Again, Answer, Owed, Saved, keeps, leaving_day, owed};
pub use evidence::Evidence;
pub use lamp::Lamp;
pub use lift::{Lift, Limit, end_of_work, lift_all, lifted};
pub use narrow::Evening;
pub use no_sun::NoSun;

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::course::{Course, OrderCourse, courses};
use super::model::Timing;
use super::search::Effort;
use super::setup::Setup;
use super::starts::Outdoors;
use crate::light::Site;
use crate::studio::Studio;

/// Plans that are made for one order at most.
pub const LOOKS_EACH: u32 = 40;
/// Plans that are made for all orders together at most, in a studio of [`FEW_LOTS`].
const LOOKS_ALL: u32 = 400;
/// Of more lots a plan takes longer, so fewer are made.
const FEW_LOTS: usize = 100;
/// So many are made of any number of lots.
const LOOKS_LEAST: u32 = 20;

/// Returns how many plans are made for all orders together at most.
pub fn looks_all(lots: usize) -> u32 {
    let share = FEW_LOTS as f64 / lots.max(FEW_LOTS) as f64;
    ((f64::from(LOOKS_ALL) * share) as u32).max(LOOKS_LEAST)
}

/// Why an order is not on course.
#[derive(Debug, Clone, PartialEq)]
pub enum Reason {
    /// It is on hold.
    Hold {
        /// The piece; none for the whole order.
        piece: Option<u32>,
        /// The maker's words.
        words: String,
    },
    /// A piece fits no frame for its light.
    TooLarge {
        /// The piece.
        piece: u32,
    },
    /// No sky of these days prints pieces of it: place, season or the studio's own
    /// limit keep the sun from it.
    NoSun(NoSun),
    /// Lifting these, and no fewer, would bring it in time, or sooner if it cannot be
    /// in time any more.
    Limits(Needed),
    /// Nothing stands in its way: a longer search finds a plan with it in time.
    Overlooked {
        /// The day it would leave.
        then_on: NaiveDate,
    },
    /// No lifting helps: what is left to do takes longer than the days left.
    TooShort {
        /// The day it could leave at the earliest with nothing in its way; none if
        /// beyond the plan.
        earliest_on: Option<NaiveDate>,
        /// It would have been too short from the day of the order.
        from_start: bool,
        /// Whether no plan at all can do it; otherwise none was found.
        proven: bool,
    },
    /// The work allowed was done before this order was looked at.
    NotLookedAt,
}

/// What an order needs that the studio has not.
#[derive(Debug, Clone, PartialEq)]
pub struct Needed {
    /// The limits, in the order of [`Limit::ALL`].
    pub limits: Vec<Limit>,
    /// How much of each is enough.
    pub lifts: Vec<Lift>,
    /// The day it would leave then.
    pub then_on: NaiveDate,
    /// Whether it is proven that fewer limits do not help; otherwise no plan with
    /// fewer was found.
    pub smallest: bool,
    /// What would be done in the longer evenings, if hours are among the limits.
    pub evenings: Vec<Evening>,
    /// Pieces that the lamp would bring in time instead of fair weather.
    pub lamp: Option<Lamp>,
    /// The plan that shows it.
    pub proof: Timing,
}

/// An order that is not on course, with why and what the weather has to offer it.
#[derive(Debug, Clone, PartialEq)]
pub struct Blocked {
    /// How it stands.
    pub course: OrderCourse,
    /// Why; several that stand side by side are alternatives.
    pub reasons: Vec<Reason>,
    /// The light that its pieces could get, for those that still need sun.
    pub evidence: Vec<Evidence>,
}

/// An order that is in time, but that the weather keeps longer than need be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HeldUp {
    /// Index into the orders of the setup.
    pub order: usize,
    /// The day it leaves.
    pub leaves_on: NaiveDate,
    /// The day it would leave in fair weather.
    pub fair_on: NaiveDate,
}

/// Everything that is not as it could be.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Findings {
    /// Orders not on course, in the order given.
    pub blocked: Vec<Blocked>,
    /// Orders in time that fair weather would send off earlier.
    pub held_up: Vec<HeldUp>,
    /// Orders whose day lies beyond the plan.
    pub waiting: Vec<OrderCourse>,
    /// Those of them that no sky of these days prints, by their index.
    pub sunless: BTreeMap<usize, NoSun>,
}

/// What a plan is compared with.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// The real situation.
    pub setup: &'a Setup<'a>,
    /// The same orders under a clear, still sky.
    pub fair: &'a Setup<'a>,
    /// The light and weather that `setup` was made with.
    pub outdoors: Outdoors<'a>,
    /// The studio.
    pub studio: &'a Studio,
    /// Its light.
    pub site: Site,
    /// The plan made for the real situation.
    pub timing: &'a Timing,
    /// How hard each further plan is thought about.
    pub effort: Effort,
    /// Numbers of the orders that are asked about; none for all.
    pub only: &'a [String],
}

/// Finds the reasons for all open orders that are not on course.
pub fn findings(asked: &Asked) -> Findings {
    let all = courses(asked.setup, asked.studio, asked.timing);
    let mut desk = Desk::new(asked);
    let mut found = Findings::default();
    let fair = fair_days(asked);
    for course in all {
        let number = &asked.setup.orders[course.order].number;
        if !asked.only.is_empty() && !asked.only.contains(number) {
            continue;
        }
        match course.course {
            Course::OnCourse => found.held_up.extend(held_up(&course, &fair)),
            Course::Waiting => {
                let no_sun = no_sun(asked, course.order);
                found
                    .sunless
                    .extend(no_sun.map(|no_sun| (course.order, no_sun)));
                found.waiting.push(course);
            }
            Course::Held | Course::TooLarge | Course::Late | Course::LeftOut => {
                found.blocked.push(blocked(course, &mut desk));
            }
        }
    }
    found
}

/// A plan with everything that is needed to ask about it.
pub(crate) struct Desk<'a> {
    asked: &'a Asked<'a>,
    again: Again<'a>,
}

impl<'a> Desk<'a> {
    fn new(asked: &'a Asked<'a>) -> Desk<'a> {
        Desk {
            asked,
            again: Again::new(&asked.setup.instance, asked.timing, asked.effort),
        }
    }

    /// Lifts limits altogether.
    fn all_of(&self, limits: &[Limit]) -> Vec<Lift> {
        let lift = |limit: &Limit| lift_all(*limit, self.asked.setup, self.asked.studio);
        limits.iter().flat_map(lift).collect()
    }

    /// Plans again with lifts for an order (an index of `orders`) that is to leave by
    /// `due`, a day of the grid.
    fn save(&mut self, order: usize, lifts: &[Lift], due: i64) -> Answer {
        let instance = lifted(self.asked.setup, self.asked.fair, lifts);
        let id = &self.asked.setup.orders[order].number;
        self.again.save(&instance, id, due)
    }

    fn day(&self, index: i64) -> NaiveDate {
        self.asked.setup.grid.first_day + chrono::TimeDelta::days(index)
    }
}

fn blocked(course: OrderCourse, desk: &mut Desk) -> Blocked {
    let setup = desk.asked.setup;
    let mut by = course.due_on;
    let reasons = match course.course {
        Course::Held => holds(setup, course.order),
        Course::TooLarge => too_large(setup, course.order),
        Course::OnCourse | Course::Waiting | Course::Late | Course::LeftOut => {
            if let Some(no_sun) = left_out_by_the_sun(&course, desk) {
                return Blocked {
                    course,
                    reasons: vec![Reason::NoSun(no_sun)],
                    evidence: Vec::new(),
                };
            }
            let found = fewest::reasons(&course, desk);
            by = found.by.unwrap_or(by);
            found.reasons
        }
    };
    Blocked {
        evidence: evidence::evidence(setup, course.order, by),
        course,
        reasons,
    }
}

/// Returns what keeps the sun from an order for which no day was found.
fn left_out_by_the_sun(course: &OrderCourse, desk: &Desk) -> Option<NoSun> {
    match course.course {
        Course::LeftOut => no_sun(desk.asked, course.order),
        _ => None,
    }
}

fn no_sun(asked: &Asked, order: usize) -> Option<NoSun> {
    no_sun::find_no_sun(order, asked.setup, asked.fair, asked.studio, &asked.site)
}

fn holds(setup: &Setup, order: usize) -> Vec<Reason> {
    let held = setup.waiting.held.iter();
    held.filter(|held| held.order == order)
        .map(|held| Reason::Hold {
            piece: held.piece,
            words: held.reason.clone(),
        })
        .collect()
}

fn too_large(setup: &Setup, order: usize) -> Vec<Reason> {
    let pieces = setup.too_large.iter();
    pieces
        .filter(|waiting| waiting.order == order)
        .map(|waiting| Reason::TooLarge {
            piece: waiting.piece.number,
        })
        .collect()
}

/// Returns when each order leaves in fair weather, by its index.
fn fair_days(asked: &Asked) -> BTreeMap<usize, NaiveDate> {
    let instance = lifted(asked.setup, asked.fair, &[Lift::FairSky]);
    let used = || 0.0;
    let solved = super::search::solve(&instance, &asked.effort, &used, Some(asked.timing));
    let orders = asked.setup.planned.iter().enumerate();
    orders
        .filter(|(core, _)| asked.setup.can_leave(*core))
        .filter_map(|(core, order)| {
            let day = leaving_day(&instance, &instance.orders[core], &solved.timing)?;
            Some((*order, asked.setup.grid.day(day * instance.per_day)))
        })
        .collect()
}

fn held_up(course: &OrderCourse, fair: &BTreeMap<usize, NaiveDate>) -> Option<HeldUp> {
    let leaves_on = course.leaves_on?;
    let fair_on = *fair.get(&course.order)?;
    (fair_on < leaves_on).then_some(HeldUp {
        order: course.order,
        leaves_on,
        fair_on,
    })
}
