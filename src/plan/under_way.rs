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
use super::together::{Company, places_of_piece};
use super::waiting::Waiting;
use crate::exposing::{InTheLight, PieceId, Running};
use crate::order::{Cover, Done, Event, LightSource, Order, Piece};
use crate::size::Size;
use crate::stage::Stage;
use crate::studio::{MaterialKind, Studio};

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

/// What there is to look at.
#[derive(Clone, Copy)]
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
    /// When a frame in the light is to be taken in, as it is known.
    pub taken_in: &'a dyn Fn(&Running) -> DateTime<Utc>,
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

impl Scene<'_> {
    /// Tells whether what comes before a step was done when it was to begin, more or less.
    fn may_have_begun(&self, id: &PieceId, step: &KeptStep, late: TimeDelta) -> bool {
        let before = match step.stage {
            Stage::Exposing => return self.light.find(id).is_none(),
            Stage::Washing => Stage::Exposing,
            _ => Stage::Washing,
        };
        let piece = find_piece(self.orders, id);
        let at = piece.and_then(|(_, piece)| piece.progress.done_at(before));
        at.is_some_and(|at| at <= step.from + late)
    }

    /// Returns when a kept step that goes on takes a person.
    fn hands(&self, step: &KeptStep, now: NaiveDateTime) -> Vec<(NaiveDateTime, NaiveDateTime)> {
        match step.lit_from {
            Some(lit) if !self.is_watched(&step.pieces) => {
                let unload = minutes(self.studio.minutes.unload);
                vec![(now, lit.max(now)), (step.until - unload, step.until)]
            }
            Some(_) | None => vec![(now, step.until.max(now))],
        }
    }

    /// Tells whether somebody stays with these pieces in the light.
    fn is_watched(&self, pieces: &[(String, u32)]) -> bool {
        let first = pieces.first().map(PieceId::of);
        let first = first.and_then(|id| find_piece(self.orders, &id));
        first.is_some_and(|(_, piece)| {
            let loose = piece.cover == Cover::None && piece.light == LightSource::Sun;
            loose && self.studio.weather.watch_loose
        })
    }

    /// Returns the pieces of each loading, in the light or of the kept plan.
    fn together(&self) -> Vec<Vec<PieceId>> {
        let running = self.light.running.iter().map(|running| &running.pieces);
        let running = running.filter(|ids| self.has_wet_room(ids)).cloned();
        let kept = self.kept.into_iter().flat_map(|kept| &kept.lots);
        let kept = kept.map(|lot| lot.pieces.iter().map(PieceId::of).collect());
        running.chain(kept).collect()
    }

    /// Tells whether the wet-dry racks hold pieces at once; a loading may be of several
    /// frames.
    fn has_wet_room(&self, ids: &[PieceId]) -> bool {
        let (mut sheets, mut line_cm) = (0, 0);
        for (_, piece) in ids.iter().filter_map(|id| find_piece(self.orders, id)) {
            let Some(material) = self.studio.materials.get(&piece.material) else {
                return false;
            };
            let places = places_of_piece(piece.size, material.kind, self.studio);
            match material.kind {
                MaterialKind::Paper => sheets += places,
                MaterialKind::Cloth => line_cm += places,
            }
        }
        let racks = &self.studio.racks;
        sheets <= i64::from(racks.wet_dry_sheets) && line_cm <= i64::from(racks.wet_dry_line_cm)
    }

    fn wall(&self, at: DateTime<Utc>) -> NaiveDateTime {
        at.with_timezone(&self.studio.place.zone).naive_local()
    }

    /// Returns the pieces of a kept step for which it is the next, and which may go on.
    fn at_stage(&self, step: &KeptStep) -> Vec<PieceId> {
        let ids = step.pieces.iter().map(PieceId::of);
        let begun = step.session.unwrap_or(step.from);
        let waits = |id: &PieceId| {
            find_piece(self.orders, id).is_some_and(|(order, piece)| {
                let held = order.hold.is_some() || piece.hold.is_some();
                let stops = held && step.stage <= Stage::Exposing;
                let stage = piece.progress.stage();
                // A frame is loaded with what nobody marked as dry, too.
                let is_next = stage == Some(step.stage)
                    || step.stage == Stage::Exposing && stage == Some(Stage::Drying);
                is_next && !order.is_closed() && !stops && !was_sent_back(piece, begun)
            })
        };
        ids.filter(waits).collect()
    }
}

fn minutes(minutes: f64) -> TimeDelta {
    TimeDelta::seconds((minutes * 60.0).round() as i64)
}

/// Tells whether a piece was sent back since: then the step is of the try before.
fn was_sent_back(piece: &Piece, since: NaiveDateTime) -> bool {
    let back = |event: &Event| matches!(event.what, Done::Remake { .. }) && event.at >= since;
    piece.progress.events.iter().any(back)
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
