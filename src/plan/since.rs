//! What became of a plan that was kept, and why.

use chrono::{NaiveDate, NaiveDateTime, TimeDelta};

use super::calm::{NEAR, Stayed, near_until};
use super::course::{Course, OrderCourse};
use super::kept::{KeptLot, KeptOrder, KeptPlan, find_start, slot_minutes};
use super::model::Timing;
use super::setup::Setup;
use crate::order::Done;
use crate::stage::Stage;

/// Percentage points of risk below which nobody calls a start riskier. [per mille]
const RISKIER: i64 = 30;

/// What differs between a kept plan and the one now.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Since {
    /// Orders that leave on another day, are new or are gone.
    pub orders: Vec<OrderChange>,
    /// Steps of today and tomorrow morning that moved.
    pub steps: Vec<StepChange>,
    /// How many of those steps stayed.
    pub stayed: Stayed,
}

/// An order that stands otherwise.
#[derive(Debug, Clone, PartialEq)]
pub struct OrderChange {
    /// Its number.
    pub number: String,
    /// How it stood and stands.
    pub change: Leaving,
}

/// How an order's leaving changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Leaving {
    /// It was not known to the kept plan.
    New {
        /// The day it leaves now.
        now: Option<NaiveDate>,
    },
    /// It is closed otherwise than by leaving when it was to, or its file is gone.
    Gone,
    /// It is on hold now.
    Held {
        /// The day it was to leave.
        was: Option<NaiveDate>,
    },
    /// It leaves on another day.
    Moved {
        /// The day it was to leave.
        was: Option<NaiveDate>,
        /// The day it leaves now.
        now: Option<NaiveDate>,
        /// Its last good day.
        due_on: NaiveDate,
    },
}

/// A near step that moved.
#[derive(Debug, Clone, PartialEq)]
pub struct StepChange {
    /// The pieces, by order and number.
    pub pieces: Vec<(String, u32)>,
    /// What is done.
    pub stage: Stage,
    /// When it was to begin.
    pub was: NaiveDateTime,
    /// When it begins now; none if the plan has it no more.
    pub now: Option<NaiveDateTime>,
    /// Why.
    pub cause: Why,
}

/// Why a step moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// Its moment passed and nothing was marked.
    Missed,
    /// A piece of it was sent back.
    SentBack,
    /// It is dry only after that.
    NotDry,
    /// Its pieces go together differently now.
    Regrouped,
    /// Sky or wind do not allow the kept start any more.
    NotFit,
    /// The kept start became more of a risk. [per mille]
    Riskier {
        /// As it was known.
        was: i64,
        /// As it is known.
        now: i64,
    },
    /// It would take longer now. [min]
    Longer {
        /// As it was known.
        was: i64,
        /// As it is known.
        now: i64,
    },
    /// An earlier step of the same pieces moved.
    Follows,
    /// The plan has these pieces no more.
    LeftOut,
    /// To make room for something that gains more.
    Room,
}

/// Compares a kept plan with the plan now.
pub fn since(kept: &KeptPlan, setup: &Setup, timing: &Timing, courses: &[OrderCourse]) -> Since {
    let (steps, all) = step_changes(kept, setup, timing);
    Since {
        orders: order_changes(kept, setup, courses),
        stayed: Stayed {
            same: all - steps.len(),
            all,
        },
        steps,
    }
}

fn order_changes(kept: &KeptPlan, setup: &Setup, courses: &[OrderCourse]) -> Vec<OrderChange> {
    let open = |number: &str| {
        courses
            .iter()
            .any(|c| setup.orders[c.order].number == number)
    };
    let changed = courses.iter().filter_map(|course| {
        let number = setup.orders[course.order].number.clone();
        let now = course.leaves_on;
        let change = match kept.find_order(&number) {
            None => Leaving::New { now },
            Some(was) if was.leaves_on == now => return None,
            Some(was) if course.course == Course::Held => Leaving::Held { was: was.leaves_on },
            Some(was) => Leaving::Moved {
                was: was.leaves_on,
                now,
                due_on: course.due_on,
            },
        };
        Some(OrderChange { number, change })
    });
    let left = |kept: &&KeptOrder| {
        let mut orders = setup.orders.iter();
        let order = orders.find(|order| order.number == kept.number);
        let left_on = order.and_then(|order| Some(order.dispatch.as_ref()?.on));
        left_on.is_some() && left_on == kept.leaves_on
    };
    let gone = kept.orders.iter();
    let gone = gone.filter(|order| !open(&order.number) && !left(order));
    let gone = gone.map(|order| OrderChange {
        number: order.number.clone(),
        change: Leaving::Gone,
    });
    changed.chain(gone).collect()
}

/// Returns the steps that moved, and how many were to be done until tomorrow noon.
fn step_changes(kept: &KeptPlan, setup: &Setup, timing: &Timing) -> (Vec<StepChange>, usize) {
    let until = near_until(setup.now);
    let mut changes = Vec::new();
    let mut stayed = 0;
    for was in &kept.lots {
        let lot = (0..setup.lots.len()).find(|&lot| {
            kept.find_lot(setup, lot)
                .is_some_and(|found| std::ptr::eq(found, was))
        });
        match lot {
            Some(lot) => {
                stayed += moved_steps((kept, was), setup, timing, lot, until, &mut changes)
            }
            None => regrouped(was, setup, until, &mut changes),
        }
    }
    changes.sort_by_key(|change| change.was);
    let all = stayed + changes.len();
    (changes, all)
}

/// Tells of a lot whose pieces go together differently now, unless they are done.
fn regrouped(was: &KeptLot, setup: &Setup, until: NaiveDateTime, changes: &mut Vec<StepChange>) {
    let waits = |(number, piece): &(String, u32)| {
        let mut waiting = setup.waiting.pieces.iter();
        waiting.any(|w| setup.orders[w.order].number == *number && w.piece.number == *piece)
    };
    let first = [(was.coat, Stage::Coating), (was.expose, Stage::Exposing)];
    let first = first.into_iter().find_map(|(at, stage)| Some((at?, stage)));
    if let Some((at, stage)) = first.filter(|(at, _)| *at >= setup.now && *at < until)
        && was.pieces.iter().any(waits)
    {
        changes.push(StepChange {
            pieces: was.pieces.clone(),
            stage,
            was: at,
            now: None,
            cause: Why::Regrouped,
        });
    }
}

/// Tells of the steps of a lot that moved; returns how many stayed.
fn moved_steps(
    (kept, was): (&KeptPlan, &KeptLot),
    setup: &Setup,
    timing: &Timing,
    lot: usize,
    until: NaiveDateTime,
    changes: &mut Vec<StepChange>,
) -> usize {
    let core = &setup.instance.lots[lot];
    let is = timing.lots.get(&core.id);
    let past_frame = core.exposed_end.is_some() || core.washed_end.is_some();
    let coated = core.coated_end.is_some() || past_frame;
    let steps = [
        (
            Stage::Coating,
            was.coat.filter(|_| !coated),
            is.and_then(|is| is.coat),
        ),
        (
            Stage::Exposing,
            was.expose.filter(|_| !past_frame),
            is.and_then(|is| is.expose),
        ),
        (
            Stage::Washing,
            was.wash.filter(|_| core.washed_end.is_none()),
            is.and_then(|is| is.wash),
        ),
        (Stage::Finishing, Some(was.finish), is.map(|is| is.finish)),
    ];
    let near = TimeDelta::minutes(NEAR * i64::from(setup.instance.slot_min));
    let sent_back = setup.lots[lot].pieces.iter().any(|waiting| {
        let mut events = waiting.piece.progress.events.iter();
        events.any(|event| matches!(event.what, Done::Remake { .. }) && event.at >= kept.made)
    });
    let mut moved = false;
    let mut stayed = 0;
    for (stage, at, now) in steps {
        let now = now.map(|slot| setup.grid.wall(slot));
        let stays = |at: NaiveDateTime| now.is_some_and(|now| (now - at).abs() <= near);
        let Some(at) = at.filter(|at| *at < until) else {
            continue;
        };
        if stays(at) {
            stayed += 1;
            continue;
        }
        // Work on an exposure begins with its loading.
        let begins = match stage {
            Stage::Exposing => {
                at - TimeDelta::minutes(setup.instance.load * i64::from(setup.instance.slot_min))
            }
            _ => at,
        };
        let cause = match (moved, begins < setup.now, stage) {
            (true, _, _) => Why::Follows,
            _ if sent_back => Why::SentBack,
            (_, true, _) => Why::Missed,
            _ if now.is_none() && !is_lit(setup, lot) => Why::NotFit,
            _ if now.is_none() && stage != Stage::Exposing => Why::LeftOut,
            (_, _, Stage::Exposing) if is_wet(setup, lot, was, begins) => Why::NotDry,
            (_, _, Stage::Exposing) => why_exposed_otherwise(was, at, setup, lot),
            _ => Why::Room,
        };
        moved = true;
        changes.push(StepChange {
            pieces: was.pieces.clone(),
            stage,
            was: at,
            now,
            cause,
        });
    }
    stayed
}

fn why_exposed_otherwise(was: &KeptLot, at: NaiveDateTime, setup: &Setup, lot: usize) -> Why {
    let Some(start) = find_start(setup, lot, setup.grid.slot_from(at)) else {
        return Why::NotFit;
    };
    let minutes = slot_minutes(start);
    match (was.risk, was.minutes) {
        (Some(risk), _) if start.risk >= risk + RISKIER => Why::Riskier {
            was: risk,
            now: start.risk,
        },
        (_, Some(before)) if minutes > before => Why::Longer {
            was: before,
            now: minutes,
        },
        _ => Why::Room,
    }
}

/// Tells whether a coat that was on the paper, or was to be, is not dry by then.
fn is_wet(setup: &Setup, lot: usize, was: &KeptLot, at: NaiveDateTime) -> bool {
    let core = &setup.instance.lots[lot];
    match core.coated_end {
        Some(end) => setup.grid.slot_from(at) < end + core.dark,
        None => was.coat.is_none(),
    }
}

/// Tells whether there is any start for a lot at all.
fn is_lit(setup: &Setup, lot: usize) -> bool {
    let starts = &setup.table(lot).starts;
    starts.iter().any(|start| start.unfit.is_none())
}
