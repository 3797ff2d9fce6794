//! What lies in the light, and which frame it keeps.

use chrono::{NaiveDateTime, TimeDelta};

use super::{Scene, StepUnderWay, minutes, sizes};
use crate::exposing::{PieceId, Running, frames_taken};
use crate::order::LightSource;
use crate::plan::calm::ROUNDING;
use crate::plan::grid::SLOT_MIN;
use crate::plan::kept::KeptLot;
use crate::size::Size;
use crate::stage::Stage;
use crate::studio::Frame;
use crate::units::Length;

/// Returns a loaded frame as a step, with the pieces that are not marked yet.
pub(super) fn in_the_light(
    scene: &Scene,
    running: &Running,
    before: &[StepUnderWay],
) -> Option<StepUnderWay> {
    let waits = |id: &&PieceId| {
        id.find(scene.orders).is_some_and(|(_, piece)| {
            let stage = piece.progress.stage();
            matches!(stage, Some(Stage::Drying | Stage::Exposing))
        })
    };
    let pieces: Vec<PieceId> = running.pieces.iter().filter(waits).cloned().collect();
    let (_, first) = pieces.first()?.find(scene.orders)?;
    let taken_in = scene.wall((scene.taken_in)(running));
    let unload = minutes(scene.studio.minutes.unload);
    let until = scene.as_planned(running, taken_in + unload);
    let taken_in = until - unload;
    let watched = scene.is_watched(&[(pieces[0].order.clone(), pieces[0].piece)]);
    let now = scene.wall(scene.now);
    Some(StepUnderWay {
        stage: Stage::Exposing,
        frame: scene.frame_of(running, first.light, before),
        pieces,
        from: running.started_at().map_or(now, |at| scene.wall(at)),
        hands: vec![(if watched { now } else { taken_in }, until)],
        until,
        session: None,
        covered: running.is_paused(),
        is_told: true,
    })
}

impl Scene<'_> {
    /// Finds the frame of a loading: the one that was told, else the one of the kept plan,
    /// else the first that takes all pieces at once, or at least each of them; of those
    /// that nobody told, one that is free beside `before`.
    fn frame_of(
        &self,
        running: &Running,
        light: LightSource,
        before: &[StepUnderWay],
    ) -> Option<(String, usize)> {
        let margin = Length::from_mm(self.studio.frame_margin_mm);
        let sizes: Vec<Size> = sizes(self.orders, &running.pieces).collect();
        let takes = |frame: &Frame| frames_taken(frame.inside, margin, &sizes).ok();
        let is_free = |frame: &Frame| {
            let held = before.iter().filter_map(|step| step.frame.as_ref());
            let held: usize = held.filter(|f| f.0 == frame.name).map(|f| f.1).sum();
            takes(frame).is_some_and(|needed| held + needed <= frame.count as usize)
        };
        let frames = || self.studio.frames_for(light);
        let named = |name: &String| frames().find(|frame| frame.name == *name);
        let kept = || self.kept_lot(running).and_then(|lot| named(&lot.frame));
        let found = match &running.frame {
            Some(name) => named(name),
            None => kept()
                .filter(|frame| is_free(frame))
                .or_else(|| frames().find(|frame| takes(frame) == Some(1) && is_free(frame)))
                .or_else(|| frames().find(|frame| is_free(frame)))
                .or_else(|| frames().find(|frame| takes(frame).is_some())),
        }?;
        Some((found.name.clone(), takes(found).unwrap_or(1)))
    }

    /// Returns when a frame is empty that would be so at `until`: when the kept plan says,
    /// if that is hardly later. A plan counts in whole slots, a dose does not.
    fn as_planned(&self, running: &Running, until: NaiveDateTime) -> NaiveDateTime {
        let kept = self.kept_lot(running).and_then(|lot| lot.in_frame);
        let hardly = until..=until + TimeDelta::minutes(ROUNDING * i64::from(SLOT_MIN));
        kept.map(|(_, gone)| gone)
            .filter(|gone| hardly.contains(gone))
            .unwrap_or(until)
    }

    /// Finds the lot of the kept plan that has the pieces.
    fn kept_lot(&self, running: &Running) -> Option<&KeptLot> {
        let mut lots = self.kept?.lots.iter();
        let has = |lot: &KeptLot, id: &PieceId| lot.pieces.contains(&(id.order.clone(), id.piece));
        lots.find(|lot| running.pieces.iter().all(|id| has(lot, id)))
    }
}
