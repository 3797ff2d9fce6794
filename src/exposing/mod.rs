//! At the frame: what lies in the light, what it has got, when to take it in.
//!
//! What is known of it is told by instants, not by a running clock: a machine that
//! slept, or a program that was started again, comes to the same answer. The skies
//! of the time gone by are kept as they were believed then or seen; a new forecast
//! changes only what is still to come. Not here: the disk (`outside/exposing`) and
//! the words (`view/exposing`).

mod count;
mod room;
mod skies;

use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};

use crate::light::Sky;
use crate::order::{Order, Piece};
use crate::units::{Dose, DoseRate};

pub use count::{Counted, ToGo, count, curve_over};
pub use room::{NoRoom, find_no_room, frames_taken};
pub use skies::{SkyFrom, look_up, refresh};

/// Everything that lies in the light.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct InTheLight {
    /// Loaded frames, in the order in which they went out.
    pub running: Vec<Running>,
    /// The sky over them, ascending.
    pub skies: Vec<SkyFrom>,
}

/// A loaded frame, from when it goes into the light until it is marked as exposed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Running {
    /// What lies in it.
    pub pieces: Vec<PieceId>,
    /// Which frame, if the maker said it.
    pub frame: Option<String>,
    /// Key of the material.
    pub material: String,
    /// What it is to get.
    pub target: Dose,
    /// Standard deviation of the logarithm of that.
    pub target_spread: f64,
    /// Its lamp; none for the sun.
    pub lamp: Option<DoseRate>,
    /// How long it was to take when it went out; none if nobody could say. [min]
    pub planned_minutes: Option<f64>,
    /// When it lay in the light, ascending; the last may still be open.
    pub spans: Vec<Span>,
}

/// A piece of an order.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct PieceId {
    /// Number of the order.
    pub order: String,
    /// Number of the piece in it.
    pub piece: u32,
}

/// A time in the light.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Span {
    /// Uncovered.
    pub from: DateTime<Utc>,
    /// Covered again; none while it lies there.
    pub until: Option<DateTime<Utc>>,
}

impl PieceId {
    /// Names a piece by order and number.
    pub fn of((order, piece): &(String, u32)) -> PieceId {
        PieceId {
            order: order.clone(),
            piece: *piece,
        }
    }

    /// Finds the piece and its order.
    pub fn find<'a>(&self, orders: &'a [Order]) -> Option<(&'a Order, &'a Piece)> {
        let order = orders.iter().find(|order| order.number == self.order)?;
        let mut pieces = order.pieces.iter();
        let piece = pieces.find(|piece| piece.number == self.piece)?;
        Some((order, piece))
    }
}

impl Running {
    /// Returns when it first went into the light.
    pub fn started_at(&self) -> Option<DateTime<Utc>> {
        self.spans.first().map(|span| span.from)
    }

    /// Tells whether it lies in a frame of that name.
    pub fn is_in(&self, frame: &str) -> bool {
        self.frame.as_deref() == Some(frame)
    }

    /// Tells whether it is covered at present.
    pub fn is_paused(&self) -> bool {
        self.spans.last().is_some_and(|span| span.until.is_some())
    }

    /// Returns when it is to be taken in if it lies in the light from `now` on; at once
    /// if nobody knows how long it is to lie there.
    pub fn taken_in_at(&self, now: DateTime<Utc>) -> DateTime<Utc> {
        let lain = self.spans.iter().map(|span| {
            let until = span.until.unwrap_or(now).min(now);
            (until - span.from).max(TimeDelta::zero())
        });
        let lain: TimeDelta = lain.sum();
        let planned = self.planned_minutes.unwrap_or(0.0);
        let planned = TimeDelta::milliseconds((planned * 60_000.0).round() as i64);
        now + (planned - lain).max(TimeDelta::zero())
    }

    /// Covers it. Returns whether it was open, and since before `at`.
    pub fn pause(&mut self, at: DateTime<Utc>) -> bool {
        match self.spans.last_mut() {
            Some(span) if span.until.is_none() && span.from <= at => {
                span.until = Some(at);
                true
            }
            Some(_) | None => false,
        }
    }

    /// Uncovers it. Returns whether it was covered, and since before `at`.
    pub fn resume(&mut self, at: DateTime<Utc>) -> bool {
        let covered = self.spans.last().and_then(|span| span.until);
        let may = covered.is_some_and(|since| since <= at);
        if may {
            self.spans.push(Span {
                from: at,
                until: None,
            });
        }
        may
    }
}

impl InTheLight {
    /// Finds the frame that a piece lies in.
    pub fn find(&self, piece: &PieceId) -> Option<&Running> {
        self.running
            .iter()
            .find(|running| running.pieces.contains(piece))
    }

    /// Takes pieces out; frames without any are gone, and with the last the skies.
    pub fn take_out(&mut self, gone: impl Fn(&PieceId) -> bool) {
        for running in &mut self.running {
            running.pieces.retain(|piece| !gone(piece));
        }
        self.running.retain(|running| !running.pieces.is_empty());
        if self.running.is_empty() {
            self.skies.clear();
        }
    }

    /// Returns the sky at a moment, if anything is known of it.
    pub fn sky_at(&self, at: DateTime<Utc>) -> Option<Sky> {
        skies::sky_at(&self.skies, at)
    }

    /// Returns when the first of all went out.
    pub fn started_at(&self) -> Option<DateTime<Utc>> {
        self.running.iter().filter_map(Running::started_at).min()
    }
}
