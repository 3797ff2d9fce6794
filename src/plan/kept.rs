//! The plan that the studio goes by, in a form that outlives its setup.
//!
//! Pieces and moments instead of lots and slots: tomorrow's grid begins on another
//! day, and lots are named anew each time. What is kept here can be laid over any
//! later setup of the studio, as far as the pieces still go together.

use chrono::{NaiveDate, NaiveDateTime};
use serde::{Deserialize, Serialize};

use super::course::OrderCourse;
use super::grid::{SLOT_MIN, slots_of_minutes};
use super::model::{LotTiming, OrderTiming, Session, Slot, Timing};
use super::setup::Setup;
use super::starts::Start;
use super::under_way::KeptStep;
use crate::stage::Stage;

/// A plan to go by.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeptPlan {
    /// The moment it was made for.
    pub made: NaiveDateTime,
    /// When coating sessions begin.
    pub sessions: Vec<NaiveDateTime>,
    /// What goes through together.
    pub lots: Vec<KeptLot>,
    /// When orders are packed and leave.
    pub orders: Vec<KeptOrder>,
    /// What went on when it was made.
    #[serde(default)]
    pub under_way: Vec<KeptStep>,
}

/// Pieces that go through together, with their moments.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeptLot {
    /// Order and piece number of each piece, ascending.
    pub pieces: Vec<(String, u32)>,
    /// The frame.
    pub frame: String,
    /// Start of the coating session.
    pub session: Option<NaiveDateTime>,
    /// Start of coating.
    pub coat: Option<NaiveDateTime>,
    /// End of coating.
    #[serde(default)]
    pub coat_until: Option<NaiveDateTime>,
    /// Start of the exposure.
    pub expose: Option<NaiveDateTime>,
    /// When its frame is loaded, and when it is empty again.
    #[serde(default)]
    pub in_frame: Option<(NaiveDateTime, NaiveDateTime)>,
    /// How long the exposure was to take. [min]
    pub minutes: Option<i64>,
    /// Chance that the weather spoils it, as it was known. [per mille]
    pub risk: Option<i64>,
    /// Start of the wash.
    pub wash: Option<NaiveDateTime>,
    /// End of the wash.
    #[serde(default)]
    pub wash_until: Option<NaiveDateTime>,
    /// Start of finishing.
    pub finish: NaiveDateTime,
    /// End of finishing.
    #[serde(default)]
    pub finish_until: Option<NaiveDateTime>,
}

/// An order in a plan to go by.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeptOrder {
    /// Its number.
    pub number: String,
    /// Start of packing; none if the plan left it out.
    pub packs: Option<NaiveDateTime>,
    /// The day it leaves.
    pub leaves_on: Option<NaiveDate>,
}

impl KeptPlan {
    /// Keeps a timing of `setup`.
    pub fn of(setup: &Setup, timing: &Timing, courses: &[OrderCourse]) -> KeptPlan {
        let wall = |slot: Slot| setup.grid.wall(slot);
        let sessions: Vec<NaiveDateTime> = timing.sessions.iter().map(|s| wall(s.start)).collect();
        let lots = (0..setup.lots.len()).filter_map(|lot| {
            let core = &setup.instance.lots[lot];
            let steps = timing.lots.get(&core.id)?;
            let start = steps.expose.and_then(|at| find_start(setup, lot, at));
            Some(KeptLot {
                pieces: pieces(setup, lot),
                frame: core.frame.clone(),
                session: steps.session.map(|index| sessions[index]),
                coat: steps.coat.map(wall),
                coat_until: steps.coat.map(|at| wall(at + core.coat)),
                expose: steps.expose.map(wall),
                in_frame: steps.expose.zip(start).map(|(at, start)| {
                    let length = slots_of_minutes(start.minutes).max(1);
                    let instance = &setup.instance;
                    let gone = at + length + instance.unload;
                    (wall(at - instance.load), wall(gone))
                }),
                minutes: start.map(slot_minutes),
                risk: start.map(|start| start.risk),
                wash: steps.wash.map(wall),
                wash_until: steps.wash.map(|at| wall(at + core.wash)),
                finish: wall(steps.finish),
                finish_until: Some(wall(steps.finish + core.finish)),
            })
        });
        let orders = courses.iter().map(|course| {
            let number = &setup.orders[course.order].number;
            let core = setup
                .planned
                .iter()
                .position(|&order| order == course.order);
            let id = core.map(|core| &setup.instance.orders[core].id);
            let packs = id.and_then(|id| timing.orders.get(id));
            KeptOrder {
                number: number.clone(),
                packs: packs.map(|at| wall(at.pack)),
                leaves_on: course.leaves_on,
            }
        });
        KeptPlan {
            made: setup.now,
            lots: lots.collect(),
            orders: orders.collect(),
            sessions,
            under_way: setup.under_way.kept.clone(),
        }
    }

    /// Returns its coats, washes and finishings, those that went on when it was made too.
    pub fn steps(&self) -> Vec<KeptStep> {
        let of_lot = |lot: &KeptLot| {
            let (loaded, gone) = lot.in_frame.unzip();
            let all = [
                (Stage::Coating, lot.coat, lot.coat_until),
                (Stage::Exposing, loaded, gone),
                (Stage::Washing, lot.wash, lot.wash_until),
                (Stage::Finishing, Some(lot.finish), lot.finish_until),
            ];
            let step = |(stage, from, until): (Stage, Option<_>, Option<_>)| {
                let is_lit = stage == Stage::Exposing;
                Some(KeptStep {
                    stage,
                    pieces: lot.pieces.clone(),
                    from: from?,
                    until: until?,
                    session: lot.session.filter(|_| stage == Stage::Coating),
                    lit_from: lot.expose.filter(|_| is_lit),
                    frame: is_lit.then(|| lot.frame.clone()),
                })
            };
            all.into_iter().filter_map(step).collect::<Vec<_>>()
        };
        let planned = self.lots.iter().flat_map(of_lot);
        planned.chain(self.under_way.iter().cloned()).collect()
    }

    /// Lays it over a later setup: what still goes together and is not yet over.
    pub fn timing(&self, setup: &Setup) -> Timing {
        let now = setup.now_slot();
        let slot = |at: NaiveDateTime| setup.grid.slot_from(at);
        let begun: Vec<Slot> = self
            .sessions
            .iter()
            .map(|at| slot(*at))
            .filter(|start| *start >= now)
            .collect();
        let lots = (0..setup.lots.len()).filter_map(|lot| {
            let kept = self.find_lot(setup, lot)?;
            let core = &setup.instance.lots[lot];
            let past_frame = core.exposed_end.is_some() || core.washed_end.is_some();
            let fresh = core.coated_end.is_none() && !past_frame;
            let session = kept.session.map(slot);
            let steps = LotTiming {
                coat: kept.coat.filter(|_| fresh).map(slot),
                session: session
                    .filter(|_| fresh)
                    .and_then(|start| begun.iter().position(|at| *at == start)),
                expose: kept.expose.filter(|_| !past_frame).map(slot),
                wash: kept.wash.filter(|_| core.washed_end.is_none()).map(slot),
                finish: slot(kept.finish),
            };
            let first = [steps.coat, steps.expose, steps.wash, Some(steps.finish)];
            let over = first
                .into_iter()
                .flatten()
                .next()
                .is_some_and(|at| at < now);
            let torn = fresh && (steps.coat.is_none() || steps.session.is_none());
            (!over && !torn).then(|| (core.id.clone(), steps))
        });
        let orders = self.orders.iter().filter_map(|kept| {
            let number = |order: &usize| setup.orders[*order].number == kept.number;
            let core = setup.planned.iter().position(number)?;
            let pack = slot(kept.packs?);
            let id = setup.instance.orders[core].id.clone();
            (pack >= now).then_some((id, OrderTiming { pack }))
        });
        Timing {
            lots: lots.collect(),
            orders: orders.collect(),
            sessions: begun.iter().map(|&start| Session { start }).collect(),
        }
    }

    /// Finds what a lot of `setup` was in this plan; none if its pieces go together
    /// differently now. Past the frame those of each order go on by themselves.
    pub fn find_lot(&self, setup: &Setup, lot: usize) -> Option<&KeptLot> {
        let now = pieces(setup, lot);
        let frame = &setup.instance.lots[lot].frame;
        let mut lots = self.lots.iter();
        match setup.lots[lot].frame {
            Some(_) => lots.find(|kept| kept.pieces == now && kept.frame == *frame),
            None => lots.find(|kept| now.iter().all(|piece| kept.pieces.contains(piece))),
        }
    }

    /// Finds an order by its number.
    pub fn find_order(&self, number: &str) -> Option<&KeptOrder> {
        self.orders.iter().find(|order| order.number == number)
    }
}

/// Finds the admissible start of a lot at a slot.
pub(super) fn find_start<'a>(setup: &'a Setup, lot: usize, at: Slot) -> Option<&'a Start> {
    let start = setup.table(lot).find(at)?;
    start.unfit.is_none().then_some(start)
}

/// Returns how long an exposure takes in a plan: whole slots. [min]
pub(super) fn slot_minutes(start: &Start) -> i64 {
    slots_of_minutes(start.minutes).max(1) * i64::from(SLOT_MIN)
}

fn pieces(setup: &Setup, lot: usize) -> Vec<(String, u32)> {
    let number = |order: usize| setup.orders[order].number.clone();
    let mut pieces: Vec<(String, u32)> = setup.lots[lot]
        .pieces
        .iter()
        .map(|waiting| (number(waiting.order), waiting.piece.number))
        .collect();
    pieces.sort_unstable();
    pieces
}
