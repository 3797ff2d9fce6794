//! Why an order is not on course, found by planning again with one limit lifted.
//!
//! "Blocked by weather" is a fact, not a guess: in fair weather it would be in
//! time. The same is asked of drying places, frames, hands, trays, sessions,
//! material and collections, one by one, then in pairs; what no lifting helps
//! was promised too early. Words for all this are made in `view`.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::Serialize;

use super::course::{Course, OrderCourse, courses};
use super::model::{Instance, Timing};
use super::search::{Effort, solve};
use super::setup::Setup;
use super::starts::{Start, StartTable};
use crate::order::Order;
use crate::studio::Studio;

/// What can stand in an order's way and could be lifted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Limit {
    /// Sun, cloud, wind and rain.
    Weather,
    /// Dark-dry places.
    DarkDry,
    /// Wet-dry places.
    WetDry,
    /// Contact frames.
    Frames,
    /// People in the hours of work.
    Hands,
    /// Wash trays.
    Trays,
    /// Coating sessions in a day.
    Sessions,
    /// Paper or cloth that is not there yet.
    Material,
    /// Days on which the carrier comes.
    Collections,
}

impl Limit {
    /// All limits, in the order in which they are asked.
    pub const ALL: [Limit; 9] = [
        Limit::Weather,
        Limit::Material,
        Limit::DarkDry,
        Limit::WetDry,
        Limit::Frames,
        Limit::Hands,
        Limit::Trays,
        Limit::Sessions,
        Limit::Collections,
    ];
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
    /// Lifting these, and no fewer, would bring it in time.
    Limits {
        /// The limits.
        limits: Vec<Limit>,
        /// The day it would leave then.
        then_on: NaiveDate,
    },
    /// No lifting helps: what is left to do takes longer than the days left.
    TooShort {
        /// The day it could leave with nothing in its way; none if beyond the plan.
        earliest_on: Option<NaiveDate>,
        /// It would have been too short from the day of the order.
        from_start: bool,
    },
}

/// An order that is not on course, with why and what the weather has to offer it.
#[derive(Debug, Clone, PartialEq)]
pub struct Blocked {
    /// How it stands.
    pub course: OrderCourse,
    /// Why.
    pub reasons: Vec<Reason>,
    /// The light that its pieces could get, for those that still need sun.
    pub evidence: Vec<Evidence>,
}

/// What the coming days offer a class of pieces.
#[derive(Debug, Clone, PartialEq)]
pub struct Evidence {
    /// Numbers of the pieces of the order.
    pub pieces: Vec<u32>,
    /// The shortest exposure that is fit.
    pub best: Option<Start>,
    /// The shortest exposure that something stands against.
    pub best_unfit: Option<Start>,
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
}

/// What a plan is compared with.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// The real situation.
    pub setup: &'a Setup<'a>,
    /// The same orders under a clear, still sky.
    pub fair: &'a Setup<'a>,
    /// The studio.
    pub studio: &'a Studio,
    /// The plan made for the real situation.
    pub timing: &'a Timing,
    /// How hard each further plan is thought about.
    pub effort: Effort,
}

/// Finds the reasons for all open orders that are not on course.
pub fn findings(asked: &Asked) -> Findings {
    let all = courses(asked.setup, asked.studio, asked.timing);
    let mut lifted = Lifted {
        asked,
        known: BTreeMap::new(),
    };
    let mut found = Findings::default();
    let fair = lifted.leaves(&[Limit::Weather]);
    for course in all {
        match course.course {
            Course::OnCourse => found.held_up.extend(held_up(&course, &fair)),
            Course::Waiting => found.waiting.push(course),
            Course::Held | Course::TooLarge | Course::Late | Course::LeftOut => {
                let reasons = reasons(&course, &mut lifted);
                let evidence = evidence(asked.setup, course.order);
                found.blocked.push(Blocked {
                    course,
                    reasons,
                    evidence,
                });
            }
        }
    }
    found
}

type Leaves = BTreeMap<usize, NaiveDate>;

fn held_up(course: &OrderCourse, fair: &Leaves) -> Option<HeldUp> {
    let leaves_on = course.leaves_on?;
    let fair_on = *fair.get(&course.order)?;
    (fair_on < leaves_on).then_some(HeldUp {
        order: course.order,
        leaves_on,
        fair_on,
    })
}

fn reasons(course: &OrderCourse, lifted: &mut Lifted) -> Vec<Reason> {
    let setup = lifted.asked.setup;
    match course.course {
        Course::Held => setup
            .waiting
            .held
            .iter()
            .filter(|held| held.order == course.order)
            .map(|held| Reason::Hold {
                piece: held.piece,
                words: held.reason.clone(),
            })
            .collect(),
        Course::TooLarge => setup
            .too_large
            .iter()
            .filter(|waiting| waiting.order == course.order)
            .map(|waiting| Reason::TooLarge {
                piece: waiting.piece.number,
            })
            .collect(),
        Course::OnCourse | Course::Waiting | Course::Late | Course::LeftOut => {
            vec![limits(course, lifted)]
        }
    }
}

/// Finds the fewest limits whose lifting brings the order in time.
fn limits(course: &OrderCourse, lifted: &mut Lifted) -> Reason {
    let singles = Limit::ALL.iter().map(|limit| vec![*limit]);
    let pairs = Limit::ALL.iter().enumerate().flat_map(|(index, first)| {
        Limit::ALL[index + 1..]
            .iter()
            .map(move |second| vec![*first, *second])
    });
    let earliest_on = lifted.leaves(&Limit::ALL).get(&course.order).copied();
    if earliest_on.is_none_or(|day| day > course.due_on) {
        return too_short(course, earliest_on, lifted.asked);
    }
    for limits in singles.chain(pairs) {
        let then = lifted.leaves(&limits).get(&course.order).copied();
        if let Some(then_on) = then.filter(|day| *day <= course.due_on) {
            return Reason::Limits { limits, then_on };
        }
    }
    let limits = fewest(course, lifted);
    Reason::Limits {
        limits,
        then_on: earliest_on.unwrap_or(course.due_on),
    }
}

/// Drops limits from all of them for as long as the order stays in time.
fn fewest(course: &OrderCourse, lifted: &mut Lifted) -> Vec<Limit> {
    let mut kept = Limit::ALL.to_vec();
    for limit in Limit::ALL.iter().rev() {
        let without: Vec<Limit> = kept.iter().copied().filter(|kept| kept != limit).collect();
        let then = lifted.leaves(&without).get(&course.order).copied();
        if then.is_some_and(|day| day <= course.due_on) {
            kept = without;
        }
    }
    kept
}

fn too_short(course: &OrderCourse, earliest_on: Option<NaiveDate>, asked: &Asked) -> Reason {
    let order = &asked.setup.orders[course.order];
    let least = shortest_days(order, asked.studio);
    let from_start = (course.due_on - order.ordered_on).num_days() < least;
    Reason::TooShort {
        earliest_on,
        from_start,
    }
}

/// Returns the days that the slowest piece needs from nothing to finished, at the
/// very least: its waits alone, without a night or a cloud. [d]
fn shortest_days(order: &Order, studio: &Studio) -> i64 {
    let materials = order
        .pieces
        .iter()
        .filter_map(|piece| studio.materials.get(&piece.material));
    let hours = materials.map(|material| {
        let dark = material.dark_dry_hours * f64::from(material.coats);
        dark + material.wet_dry_hours.max(material.cure_hours)
    });
    (hours.fold(0.0, f64::max) / 24.0).floor() as i64
}

fn evidence(setup: &Setup, order: usize) -> Vec<Evidence> {
    let mut found = Vec::new();
    for (lot, core) in setup.lots.iter().zip(&setup.instance.lots) {
        let pieces: Vec<u32> = lot
            .pieces
            .iter()
            .filter(|waiting| waiting.order == order)
            .map(|waiting| waiting.piece.number)
            .collect();
        if pieces.is_empty() || lot.frame.is_none() {
            continue;
        }
        let table: &StartTable = &setup.tables[core.cls];
        found.push(Evidence {
            pieces,
            best: table.find_best().copied(),
            best_unfit: table.find_best_unfit().copied(),
        });
    }
    found
}

/// Plans made with limits lifted, each made once.
struct Lifted<'a> {
    asked: &'a Asked<'a>,
    known: BTreeMap<Vec<Limit>, Leaves>,
}

impl Lifted<'_> {
    fn leaves(&mut self, limits: &[Limit]) -> Leaves {
        if let Some(known) = self.known.get(limits) {
            return known.clone();
        }
        let leaves = self.plan(limits);
        self.known.insert(limits.to_vec(), leaves.clone());
        leaves
    }

    fn plan(&self, limits: &[Limit]) -> Leaves {
        let base = if limits.contains(&Limit::Weather) {
            self.asked.fair
        } else {
            self.asked.setup
        };
        let mut instance = base.instance.clone();
        for limit in limits {
            lift(&mut instance, *limit);
        }
        let solved = solve(
            &instance,
            &self.asked.effort,
            &|| true,
            Some(self.asked.timing),
        );
        let setup = Setup {
            instance,
            ..base.clone()
        };
        let open = 0..setup.orders.len();
        open.filter_map(|order| Some((order, setup.leaves_on(order, &solved.timing)?)))
            .collect()
    }
}

/// More than any studio of two people has of anything.
const PLENTY: i64 = 1000;

fn lift(instance: &mut Instance, limit: Limit) {
    let capacity = &mut instance.capacity;
    match limit {
        // The sky comes with the fair setup.
        Limit::Weather => {}
        Limit::DarkDry => {
            capacity.dark_sheet += PLENTY;
            capacity.dark_line += PLENTY * 100;
        }
        Limit::WetDry => {
            capacity.open_sheet += PLENTY;
            capacity.open_line += PLENTY * 100;
        }
        Limit::Frames => instance
            .frames
            .values_mut()
            .for_each(|count| *count += PLENTY),
        Limit::Hands => instance.operators += PLENTY,
        Limit::Trays => capacity.tray += PLENTY,
        Limit::Sessions => instance.session.max_per_day += PLENTY,
        Limit::Material => instance.lots.iter_mut().for_each(|lot| lot.release = 0),
        Limit::Collections => daily(instance),
    }
}

/// Lets the carrier come at the end of every day.
fn daily(instance: &mut Instance) {
    let ends = (1..=instance.horizon / instance.per_day).map(|day| day * instance.per_day - 1);
    instance.collections.extend(ends);
    instance.collections.sort_unstable();
}
