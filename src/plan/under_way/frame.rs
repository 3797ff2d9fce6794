//! What lies in the light, and which frame it keeps.

use super::{Scene, StepUnderWay, find_piece, minutes, sizes};
use crate::exposing::{PieceId, Running, frames_taken};
use crate::order::LightSource;
use crate::plan::kept::KeptLot;
use crate::size::Size;
use crate::stage::Stage;
use crate::studio::Frame;
use crate::units::Length;

/// Returns a loaded frame as a step, with the pieces that are not marked yet.
pub(super) fn in_the_light(scene: &Scene, running: &Running) -> Option<StepUnderWay> {
    let waits = |id: &&PieceId| {
        find_piece(scene.orders, id).is_some_and(|(_, piece)| {
            let stage = piece.progress.stage();
            matches!(stage, Some(Stage::Drying | Stage::Exposing))
        })
    };
    let pieces: Vec<PieceId> = running.pieces.iter().filter(waits).cloned().collect();
    let (_, first) = find_piece(scene.orders, pieces.first()?)?;
    let taken_in = scene.wall((scene.taken_in)(running));
    let until = taken_in + minutes(scene.studio.minutes.unload);
    let watched = scene.is_watched(&[(pieces[0].order.clone(), pieces[0].piece)]);
    let now = scene.wall(scene.now);
    Some(StepUnderWay {
        stage: Stage::Exposing,
        frame: scene.frame_of(running, first.light),
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
    /// else the first that takes all pieces at once, or at least each of them.
    fn frame_of(&self, running: &Running, light: LightSource) -> Option<(String, usize)> {
        let margin = Length::from_mm(self.studio.frame_margin_mm);
        let sizes: Vec<Size> = sizes(self.orders, &running.pieces).collect();
        let takes = |frame: &Frame| frames_taken(frame.inside, margin, &sizes).ok();
        let frames = || self.studio.frames_for(light);
        let named = running.frame.clone().or_else(|| self.kept_frame(running));
        let found = match named {
            Some(name) => frames().find(|frame| frame.name == name)?,
            None => frames()
                .find(|frame| takes(frame) == Some(1))
                .or_else(|| frames().find(|frame| takes(frame).is_some()))?,
        };
        Some((found.name.clone(), takes(found).unwrap_or(1)))
    }

    /// Names the frame in which the kept plan has the pieces.
    fn kept_frame(&self, running: &Running) -> Option<String> {
        let mut lots = self.kept?.lots.iter();
        let has = |lot: &KeptLot, id: &PieceId| lot.pieces.contains(&(id.order.clone(), id.piece));
        let lot = lots.find(|lot| running.pieces.iter().all(|id| has(lot, id)))?;
        Some(lot.frame.clone())
    }
}
