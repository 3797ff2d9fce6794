//! Coating sessions that have begun.
//!
//! A session is coated whole, and often marked whole when the brush is clean again. So
//! until its planned end what is not marked is taken to go as planned. Who marks coat
//! by coat tells more: then one that should be over and is not marked comes next, and
//! the others behind it, as long as the mix lives.

use chrono::{NaiveDateTime, TimeDelta};

use super::{KeptStep, Scene, StepUnderWay, UnderWay, find_piece};
use crate::exposing::PieceId;
use crate::stage::Stage;

/// A coating session of a kept plan.
struct Session {
    start: NaiveDateTime,
    ready: NaiveDateTime,
    mix_until: NaiveDateTime,
    /// When its last coat was to be done.
    end: NaiveDateTime,
    /// Something of it is marked as coated.
    marked: bool,
    /// Something of it is not.
    open: bool,
}

impl Session {
    fn of(scene: &Scene, start: NaiveDateTime, coats: &[&KeptStep]) -> Session {
        let rule = &scene.studio.sensitizer;
        let minutes = |minutes: f64| TimeDelta::seconds((minutes * 60.0).round() as i64);
        let ready = start + minutes(rule.setup_minutes);
        let coated_since = |(order, number): &(String, u32)| {
            let id = PieceId {
                order: order.clone(),
                piece: *number,
            };
            let piece = find_piece(scene.orders, &id);
            let at = piece.and_then(|(_, piece)| piece.progress.done_at(Stage::Coating));
            at.is_some_and(|at| at >= start)
        };
        Session {
            start,
            ready,
            mix_until: ready + minutes(rule.mix_life_hours * 60.0),
            end: coats.iter().map(|coat| coat.until).max().unwrap_or(start),
            marked: coats
                .iter()
                .any(|coat| coat.pieces.iter().any(coated_since)),
            open: coats.iter().any(|coat| !scene.at_stage(coat).is_empty()),
        }
    }

    /// Until its end without a mark; with one as long as the mix lives.
    fn is_under_way(&self, now: NaiveDateTime) -> bool {
        let until = match self.marked {
            true => self.mix_until,
            false => self.end.min(self.mix_until),
        };
        self.open && now < until
    }
}

impl UnderWay {
    pub(super) fn add_sessions(&mut self, scene: &Scene, steps: &[KeptStep]) {
        let now = scene.wall(scene.now);
        let mut starts: Vec<NaiveDateTime> = steps.iter().filter_map(|step| step.session).collect();
        starts.sort_unstable();
        starts.dedup();
        for start in starts.into_iter().filter(|start| *start < now) {
            let of_session = |step: &&KeptStep| step.session == Some(start);
            let mut coats: Vec<&KeptStep> = steps.iter().filter(of_session).collect();
            coats.sort_by_key(|coat| coat.from);
            let session = Session::of(scene, start, &coats);
            if session.is_under_way(now) {
                self.add_session(scene, &session, &coats);
            }
            if start.date() == now.date() && (session.is_under_way(now) || session.marked) {
                self.sessions.push(start);
            }
        }
    }

    fn add_session(&mut self, scene: &Scene, session: &Session, coats: &[&KeptStep]) {
        let now = scene.wall(scene.now);
        self.mixing_until = self
            .mixing_until
            .max(Some(session.ready).filter(|ready| *ready > now));
        self.kept.extend(coats.iter().copied().cloned());
        // Who marks coat by coat and has not marked one that should be over is behind.
        let mut behind: Option<NaiveDateTime> = None;
        for coat in coats {
            let pieces = scene.at_stage(coat);
            if pieces.is_empty() {
                continue;
            }
            if session.marked && coat.until <= now && behind.is_none() {
                behind = Some(now);
            }
            let from = behind.map_or(coat.from, |behind| behind.max(coat.from));
            let until = from + (coat.until - coat.from);
            if until > session.mix_until {
                continue;
            }
            behind = behind.map(|_| until);
            self.steps.push(StepUnderWay {
                stage: Stage::Coating,
                pieces,
                from,
                hands_from: from.max(now),
                until,
                session: Some(session.start),
                frame: None,
            });
        }
    }
}
