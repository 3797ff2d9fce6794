//! What there is to look at for what goes on, and what it says of a kept step.

use chrono::{DateTime, NaiveDateTime, TimeDelta, Utc};

use super::{KeptStep, minutes};
use crate::exposing::{InTheLight, PieceId, Running};
use crate::order::{Done, Event, Order, Piece};
use crate::plan::kept::KeptPlan;
use crate::plan::together::{is_watched, rack_places};
use crate::stage::Stage;
use crate::studio::Studio;

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

impl Scene<'_> {
    /// Tells whether what comes before a step was done when it was to begin, more or less.
    pub(super) fn may_have_begun(&self, id: &PieceId, step: &KeptStep, late: TimeDelta) -> bool {
        let before = match step.stage {
            Stage::Exposing => return self.light.find(id).is_none(),
            Stage::Washing => Stage::Exposing,
            _ => Stage::Washing,
        };
        let piece = id.find(self.orders);
        let at = piece.and_then(|(_, piece)| piece.progress.done_at(before));
        at.is_some_and(|at| at <= step.from + late)
    }

    /// Returns when a kept step that goes on takes a person.
    pub(super) fn hands(
        &self,
        step: &KeptStep,
        now: NaiveDateTime,
    ) -> Vec<(NaiveDateTime, NaiveDateTime)> {
        match step.lit_from {
            Some(lit) if !self.is_watched(&step.pieces) => {
                let unload = minutes(self.studio.minutes.unload);
                vec![(now, lit.max(now)), (step.until - unload, step.until)]
            }
            Some(_) | None => vec![(now, step.until.max(now))],
        }
    }

    /// Tells whether somebody stays with these pieces in the light.
    pub(super) fn is_watched(&self, pieces: &[(String, u32)]) -> bool {
        let first = pieces.first().map(PieceId::of);
        let first = first.and_then(|id| id.find(self.orders));
        first.is_some_and(|(_, piece)| is_watched(piece, self.studio))
    }

    /// Returns the pieces of each loading, in the light or of the kept plan.
    pub(super) fn together(&self) -> Vec<Vec<PieceId>> {
        let running = self.light.running.iter().map(|running| &running.pieces);
        let running = running.filter(|ids| self.has_wet_room(ids)).cloned();
        let kept = self.kept.into_iter().flat_map(|kept| &kept.lots);
        let kept = kept.map(|lot| lot.pieces.iter().map(PieceId::of).collect());
        // What is marked leaves the loading, and stays in the plan.
        kept.chain(running).collect()
    }

    /// Tells whether the wet-dry racks hold pieces at once; a loading may be of several
    /// frames.
    fn has_wet_room(&self, ids: &[PieceId]) -> bool {
        let kind_of = |id: &PieceId| {
            let (_, piece) = id.find(self.orders)?;
            let material = self.studio.materials.get(&piece.material)?;
            Some((piece.size, material.kind))
        };
        let (sheets, line_cm) = rack_places(ids.iter().filter_map(kind_of), self.studio);
        let racks = &self.studio.racks;
        sheets <= i64::from(racks.wet_dry_sheets) && line_cm <= i64::from(racks.wet_dry_line_cm)
    }

    pub(super) fn wall(&self, at: DateTime<Utc>) -> NaiveDateTime {
        at.with_timezone(&self.studio.place.zone).naive_local()
    }

    /// Returns the pieces of a kept step for which it is the next, and which may go on.
    pub(super) fn at_stage(&self, step: &KeptStep) -> Vec<PieceId> {
        let ids = step.pieces.iter().map(PieceId::of);
        let begun = step.session.unwrap_or(step.from);
        let waits = |id: &PieceId| {
            id.find(self.orders).is_some_and(|(order, piece)| {
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

/// Tells whether a piece was sent back since: then the step is of the try before.
fn was_sent_back(piece: &Piece, since: NaiveDateTime) -> bool {
    let back = |event: &Event| matches!(event.what, Done::Remake { .. }) && event.at >= since;
    piece.progress.events.iter().any(back)
}
