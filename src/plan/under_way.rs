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
mod session;

use chrono::{DateTime, NaiveDateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};

use self::frame::in_the_light;
use super::grid::Grid;
use super::kept::KeptPlan;
use super::model::{Begun, Held, Taken};
use super::setup::trays_for;
use crate::exposing::{InTheLight, PieceId};
use crate::order::{Done, Event, Order, Piece};
use crate::size::Size;
use crate::stage::Stage;
use crate::studio::Studio;

/// Between the mark of an exposure and a wash that was planned before it. [min]
///
/// Who marks with wet hands does it a little later. Own choice.
const MARKED_LATE_MIN: i64 = 5;

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
}

/// A step that is not over.
#[derive(Debug, Clone, PartialEq)]
pub struct StepUnderWay {
    /// What it is.
    pub stage: Stage,
    /// Its pieces, by order and number.
    pub pieces: Vec<PieceId>,
    /// When it began, or will in a session that has begun.
    pub from: NaiveDateTime,
    /// From when on it takes a person.
    pub hands_from: NaiveDateTime,
    /// When it is over, for the person too.
    pub until: NaiveDateTime,
    /// Start of the coating session.
    pub session: Option<NaiveDateTime>,
    /// The frame in the light, and how many of its kind.
    pub frame: Option<(String, usize)>,
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
}

/// What there is to look at.
#[derive(Debug, Clone, Copy)]
pub struct Scene<'a> {
    /// All orders.
    pub orders: &'a [Order],
    /// The studio.
    pub studio: &'a Studio,
    /// What `fairday expose` was told.
    pub light: &'a InTheLight,
    /// The plan to go by, if there is one that is gone by.
    pub kept: Option<&'a KeptPlan>,
    /// The moment.
    pub now: DateTime<Utc>,
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
        let running = scene.light.running.iter();
        found
            .steps
            .extend(running.filter_map(|running| in_the_light(scene, running)));
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
            all.push(taken(Held::Hands, 1, step.hands_from, step.until));
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

    /// Finds when the finishing is over that an order still waits for.
    pub fn finished_at(&self, number: &str) -> Option<NaiveDateTime> {
        let finishing = self.steps.iter().filter(|s| s.stage == Stage::Finishing);
        let of_order = finishing.filter(|step| step.pieces.iter().any(|id| id.order == number));
        of_order.map(|step| step.until).max()
    }

    /// Adds a wash or a finishing that goes on now.
    fn add_single(&mut self, scene: &Scene, step: &KeptStep) {
        let now = scene.wall(scene.now);
        let before = match step.stage {
            Stage::Washing => Stage::Exposing,
            Stage::Finishing => Stage::Washing,
            _ => return,
        };
        if !(step.from..step.until).contains(&now) || step.from == now {
            return;
        }
        let latest = step.from + TimeDelta::minutes(MARKED_LATE_MIN);
        let mut pieces = scene.at_stage(step);
        pieces.retain(|id| {
            let piece = find_piece(scene.orders, id);
            let at = piece.and_then(|(_, piece)| piece.progress.done_at(before));
            at.is_some_and(|at| at <= latest)
        });
        if pieces.is_empty() {
            return;
        }
        self.kept.push(step.clone());
        self.steps.push(StepUnderWay {
            stage: step.stage,
            pieces,
            from: step.from,
            hands_from: now,
            until: step.until,
            session: None,
            frame: None,
        });
    }
}

impl Scene<'_> {
    fn wall(&self, at: DateTime<Utc>) -> NaiveDateTime {
        at.with_timezone(&self.studio.place.zone).naive_local()
    }

    /// Returns the pieces of a kept step for which it is the next, and which may go on.
    fn at_stage(&self, step: &KeptStep) -> Vec<PieceId> {
        let ids = step.pieces.iter().map(|(order, piece)| PieceId {
            order: order.clone(),
            piece: *piece,
        });
        let waits = |id: &PieceId| {
            find_piece(self.orders, id).is_some_and(|(order, piece)| {
                let held = order.hold.is_some() || piece.hold.is_some();
                piece.progress.stage() == Some(step.stage)
                    && !order.is_closed()
                    && !(held && step.stage == Stage::Coating)
            })
        };
        ids.filter(waits).collect()
    }
}

fn find_piece<'a>(orders: &'a [Order], id: &PieceId) -> Option<(&'a Order, &'a Piece)> {
    let order = orders.iter().find(|order| order.number == id.order)?;
    let piece = order.pieces.iter().find(|piece| piece.number == id.piece)?;
    Some((order, piece))
}

fn sizes<'a>(orders: &'a [Order], pieces: &'a [PieceId]) -> impl Iterator<Item = Size> + 'a {
    pieces
        .iter()
        .filter_map(|id| Some(find_piece(orders, id)?.1.size))
}
