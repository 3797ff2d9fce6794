//! Coating sessions that have begun.
//!
//! A session is coated whole, and often marked whole when the brush is clean again. So
//! until its planned end what is not marked is taken to go as planned. Who marks coat
//! by coat tells more: then one that should be over and is not marked comes next, and
//! the others behind it, as long as the mix lives.

use chrono::{NaiveDateTime, TimeDelta, Timelike};

use super::{KeptStep, MARKED_LATE_MIN, Scene, StepUnderWay, UnderWay, minutes};
use crate::exposing::PieceId;
use crate::order::{Done, Event};
use crate::plan::grid::SLOT_MIN;
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
        let ready = start + minutes(rule.setup_minutes);
        let is_coat = |event: &Event| {
            let coat = matches!(&event.what, Done::Stage { stage, .. } if *stage == Stage::Coating);
            coat && event.at >= start
        };
        // One that was sent back since was coated all the same.
        let coated_since = |piece: &(String, u32)| {
            let piece = PieceId::of(piece).find(scene.orders);
            piece.is_some_and(|(_, piece)| piece.progress.events.iter().any(is_coat))
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

    /// Until a little after its end without a mark; with one as long as the mix lives.
    fn is_under_way(&self, now: NaiveDateTime) -> bool {
        let until = match self.marked {
            true => self.mix_until,
            false => self.end + TimeDelta::minutes(MARKED_LATE_MIN),
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
        // Who marks coat by coat and has not marked one that should be over is behind.
        let over = |coat: &KeptStep| coat.until + TimeDelta::minutes(MARKED_LATE_MIN) <= now;
        let mut behind: Option<NaiveDateTime> = None;
        for coat in coats {
            let pieces = scene.at_stage(coat);
            if pieces.is_empty() {
                self.kept.push((*coat).clone());
                continue;
            }
            if session.marked && over(coat) && behind.is_none() {
                behind = Some(whole_slot(now));
            }
            let from = behind.map_or(coat.from, |behind| behind.max(coat.from));
            let until = from + (coat.until - coat.from);
            if until > session.mix_until {
                continue;
            }
            behind = behind.map(|_| until);
            self.kept.push(KeptStep {
                from,
                until,
                ..(*coat).clone()
            });
            self.steps.push(StepUnderWay {
                stage: Stage::Coating,
                pieces,
                from,
                hands: vec![(from.max(now), until.max(now))],
                until,
                session: Some(session.start),
                frame: None,
                covered: false,
                is_told: false,
            });
        }
    }
}

/// Returns the next moment at which a slot begins, so that one question a minute later
/// gets the same answer.
fn whole_slot(at: NaiveDateTime) -> NaiveDateTime {
    let past = i64::from(at.minute() % SLOT_MIN) * 60 + i64::from(at.second());
    match past {
        0 => at,
        past => at + TimeDelta::seconds(i64::from(SLOT_MIN) * 60 - past),
    }
}
