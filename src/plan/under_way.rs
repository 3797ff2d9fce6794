//! What goes on at the moment of a plan, and what it keeps until it is done.
//!
//! A plan that is made at ten o'clock begins in the middle of things: a mix stands on
//! the table, a print is in the water, a frame lies in the sun. What has begun is not
//! planned anew. It is as good as done when it will be over, and keeps hands, trays and
//! frames till then.
//!
//! What lies in the light is known, since `fairday expose` was told. Coating, washing and
//! finishing have no such word: there the kept plan is believed as long as nothing that
//! was marked says otherwise.

mod frame;
mod scene;
mod session;

use chrono::{NaiveDateTime, TimeDelta};
use serde::{Deserialize, Serialize};

use self::frame::in_the_light;
pub use self::scene::Scene;
use super::grid::Grid;
use super::kept::KeptPlan;
use super::model::{Begun, Held, Taken};
use super::setup::trays_for;
use super::together::Company;
use super::waiting::Waiting;
use crate::exposing::PieceId;
use crate::order::{Done, Event, Order};
use crate::size::Size;
use crate::stage::Stage;
use crate::studio::Studio;

/// How much later than it was something may be marked. [min]
///
/// Marks come when the hands are clean. Own choice.
const MARKED_LATE_MIN: i64 = 15;
/// How much later than planned a frame may come into the light. [min] Own choice.
const LIT_LATE_MIN: i64 = 5;

/// What goes on.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct UnderWay {
    /// Steps that are not over, by kind, then by their beginning.
    pub steps: Vec<StepUnderWay>,
    /// Coating sessions of this day that have begun, those that are over too.
    pub sessions: Vec<NaiveDateTime>,
    /// Until when somebody mixes.
    pub mixing_until: Option<NaiveDateTime>,
    /// The kept steps of what goes on, those that are marked too: for the next plan.
    pub kept: Vec<KeptStep>,
    /// Pieces that go on together past the frame, since they lay in it together.
    pub together: Vec<Vec<PieceId>>,
}

/// A step that is not over, or should be and is not marked yet.
#[derive(Debug, Clone, PartialEq)]
pub struct StepUnderWay {
    /// What it is.
    pub stage: Stage,
    /// Its pieces, by order and number.
    pub pieces: Vec<PieceId>,
    /// When it began, or will in a session that has begun.
    pub from: NaiveDateTime,
    /// When it takes a person, from now on.
    pub hands: Vec<(NaiveDateTime, NaiveDateTime)>,
    /// When it is over, for the person too.
    pub until: NaiveDateTime,
    /// Start of the coating session.
    pub session: Option<NaiveDateTime>,
    /// The frame in the light, and how many of its kind.
    pub frame: Option<(String, usize)>,
    /// It is covered at present.
    pub covered: bool,
    /// It was told, and not taken from the kept plan.
    pub is_told: bool,
}

/// A step of a kept plan that marks alone do not tell of.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeptStep {
    /// What it is.
    pub stage: Stage,
    /// Order and piece number of each piece, ascending.
    pub pieces: Vec<(String, u32)>,
    /// When it begins.
    pub from: NaiveDateTime,
    /// When it is over.
    pub until: NaiveDateTime,
    /// Start of the coating session.
    pub session: Option<NaiveDateTime>,
    /// When the light is let in.
    #[serde(default)]
    pub lit_from: Option<NaiveDateTime>,
    /// The frame.
    #[serde(default)]
    pub frame: Option<String>,
}

impl UnderWay {
    /// Finds what goes on.
    pub fn find(scene: &Scene) -> UnderWay {
        let mut found = UnderWay::default();
        let steps = scene.kept.map(KeptPlan::steps).unwrap_or_default();
        found.add_sessions(scene, &steps);
        for step in &steps {
            found.add_single(scene, step);
        }
        for running in &scene.light.running {
            let step = in_the_light(scene, running, &found.steps);
            found.steps.extend(step);
        }
        found.together = scene.together();
        found.steps.sort_by_key(|step| (step.stage, step.from));
        found
    }

    /// Tells whether a piece is in the water.
    pub fn washes(&self, order: &str, piece: u32) -> bool {
        let mut washes = self.steps.iter().filter(|s| s.stage == Stage::Washing);
        let is_it = |id: &PieceId| id.order == order && id.piece == piece;
        washes.any(|step| step.pieces.iter().any(is_it))
    }

    /// Returns the orders as they stand once all of it is over.
    pub fn done(&self, orders: &[Order]) -> Vec<Order> {
        let mut orders = orders.to_vec();
        for step in &self.steps {
            for id in &step.pieces {
                let order = orders.iter_mut().find(|order| order.number == id.order);
                let mut pieces = order.into_iter().flat_map(|order| &mut order.pieces);
                if let Some(piece) = pieces.find(|piece| piece.number == id.piece) {
                    piece.progress.events.push(Event {
                        at: step.until,
                        what: Done::stage(step.stage),
                    });
                }
            }
        }
        orders
    }

    /// Returns what it keeps, in slots.
    pub fn begun(&self, orders: &[Order], studio: &Studio, grid: &Grid) -> Begun {
        let taken = |what: Held, amount: i64, from: NaiveDateTime, until: NaiveDateTime| Taken {
            what,
            amount,
            from: grid.slot_until(from).max(0),
            until: grid.slot_from(until).max(0),
        };
        let midnight = grid.wall(0);
        let mut all: Vec<Taken> = self
            .mixing_until
            .map(|until| taken(Held::Hands, 1, midnight, until))
            .into_iter()
            .collect();
        for step in &self.steps {
            let hands = step.hands.iter();
            all.extend(hands.map(|&(from, until)| taken(Held::Hands, 1, from, until)));
            if let Some((frame, count)) = &step.frame {
                let what = Held::Frame(frame.clone());
                all.push(taken(what, *count as i64, midnight, step.until));
            }
            if step.stage == Stage::Washing {
                let (_, trays) = trays_for(sizes(orders, &step.pieces), studio);
                all.push(taken(Held::Trays, trays, step.from, step.until));
            }
        }
        all.retain(|taken| taken.from < taken.until);
        Begun {
            sessions: self.sessions.len() as i64,
            taken: all,
        }
    }

    /// Returns whom a piece that is past the frame goes on with.
    pub fn company(&self, orders: &[Order], waiting: &Waiting) -> Company {
        let number = &orders[waiting.order].number;
        let is_it = |id: &PieceId| id.piece == waiting.piece.number && id.order == *number;
        let loading = self.together.iter().position(|ids| ids.iter().any(is_it));
        loading.map_or(Company::Order(waiting.order), Company::Loading)
    }

    /// Finds when the finishing is over that an order still waits for.
    pub fn finished_at(&self, number: &str) -> Option<NaiveDateTime> {
        let finishing = self.steps.iter().filter(|s| s.stage == Stage::Finishing);
        let of_order = finishing.filter(|step| step.pieces.iter().any(|id| id.order == number));
        of_order.map(|step| step.until).max()
    }

    /// Adds a loading, a wash or a finishing that goes on now.
    fn add_single(&mut self, scene: &Scene, step: &KeptStep) {
        let now = scene.wall(scene.now);
        let late = TimeDelta::minutes(MARKED_LATE_MIN);
        let until = match (step.stage, step.lit_from) {
            (Stage::Exposing, Some(lit)) => lit + TimeDelta::minutes(LIT_LATE_MIN),
            (Stage::Washing | Stage::Finishing, _) => step.until + late,
            _ => return,
        };
        if step.from >= now || until <= now {
            return;
        }
        let mut pieces = scene.at_stage(step);
        pieces.retain(|id| scene.may_have_begun(id, step, late));
        if pieces.is_empty() {
            return;
        }
        self.kept.push(step.clone());
        self.steps.push(StepUnderWay {
            stage: step.stage,
            pieces,
            from: step.from,
            hands: scene.hands(step, now),
            until: step.until,
            session: None,
            frame: step.frame.clone().map(|frame| (frame, 1)),
            covered: false,
            is_told: false,
        });
    }
}

fn minutes(minutes: f64) -> TimeDelta {
    TimeDelta::seconds((minutes * 60.0).round() as i64)
}

fn sizes<'a>(orders: &'a [Order], pieces: &'a [PieceId]) -> impl Iterator<Item = Size> + 'a {
    pieces.iter().filter_map(|id| Some(id.find(orders)?.1.size))
}
