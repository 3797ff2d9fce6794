//! What goes on at the moment of the plan, as steps of its first day.
//!
//! A session that has begun is told as it was planned, the wash in the water too. What
//! lies in the light is told where its dose is counted, and a finishing is over before
//! anybody asks.

use std::collections::BTreeMap;

use chrono::{NaiveDateTime, TimeDelta};

use super::{Batch, Coat, OrderPieces, Step, What, session_step};
use crate::exposing::PieceId;
use crate::order::Order;
use crate::plan::grid::SLOT_MIN;
use crate::plan::model::Slot;
use crate::plan::setup::Setup;
use crate::plan::under_way::StepUnderWay;
use crate::stage::Stage;
use crate::studio::Studio;

pub(super) fn going_on(setup: &Setup, studio: &Studio) -> Vec<Step> {
    let after =
        |at: NaiveDateTime, slots: Slot| at + TimeDelta::minutes(slots * i64::from(SLOT_MIN));
    let mut sessions: BTreeMap<NaiveDateTime, Vec<Coat>> = BTreeMap::new();
    let mut steps = Vec::new();
    for step in &setup.under_way.steps {
        let Some(batch) = batch(setup, step) else {
            continue;
        };
        let lot = &setup.instance.lots[batch.lot];
        match (step.stage, step.session) {
            (Stage::Coating, Some(session)) => sessions.entry(session).or_default().push(Coat {
                from: step.from,
                until: step.until,
                dry: after(step.until, lot.dark),
                batch,
            }),
            (Stage::Washing, _) => steps.push(Step {
                from: step.from,
                until: step.until,
                what: What::Wash(Batch {
                    free: Some(after(step.until, lot.open)),
                    ..batch
                }),
            }),
            _ => {}
        }
    }
    let sessions = sessions.into_iter().map(|(start, coats)| {
        let start = setup.grid.slot_until(start);
        told_today(setup, session_step(setup, studio, start, coats))
    });
    steps.extend(sessions);
    steps
}

/// Tells a session of the day before, whose coats are of today, with the first of them.
fn told_today(setup: &Setup, mut step: Step) -> Step {
    if let What::Coat(session) = &mut step.what
        && step.from.date() < setup.now.date()
        && let Some(first) = session.coats.iter().map(|coat| coat.from).min()
    {
        step.from = first.max(setup.grid.wall(0));
        session.ready = step.from;
    }
    step
}

/// Puts pieces together by order.
pub fn by_order(orders: &[Order], ids: &[PieceId]) -> Vec<OrderPieces> {
    let mut pieces: Vec<OrderPieces> = Vec::new();
    for id in ids {
        let Some(order) = orders.iter().position(|order| order.number == id.order) else {
            continue;
        };
        match pieces.iter_mut().find(|of| of.order == order) {
            Some(known) => known.numbers.push(id.piece),
            None => pieces.push(OrderPieces {
                order,
                numbers: vec![id.piece],
            }),
        }
    }
    pieces
}

/// Makes a batch of the pieces of a step; none if no lot has them.
fn batch(setup: &Setup, step: &StepUnderWay) -> Option<Batch> {
    let mut batch = Batch {
        lot: 0,
        material: String::new(),
        pieces: by_order(setup.orders, &step.pieces),
        free: None,
    };
    let mut lots = setup.lots.iter();
    batch.lot = lots.position(|lot| lot.pieces.iter().any(|waiting| batch.has(waiting)))?;
    batch.material = setup.lots[batch.lot].pieces[0].material.key.clone();
    Some(batch)
}
