//! Whether the lamp would bring in time what waits for the sun.
//!
//! Found by planning again with those pieces under the lamp. Whether the customer
//! agrees is asked of the customer: a print promised in sunlight is promised so.

use chrono::NaiveDate;

use super::Desk;
use super::again::{Again, Answer};
use super::lift::{Lift, lifted};
use crate::order::{LightSource, Order, Piece};
use crate::plan::carry::carry;
use crate::plan::setup::setup;
use crate::stage::Stage;

/// Pieces that the lamp would bring in time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lamp {
    /// Their numbers, ascending; no fewer were found to be enough.
    pub pieces: Vec<u32>,
    /// The day on which the order would leave then.
    pub then_on: NaiveDate,
}

/// Finds the pieces that have to go under the lamp so that the order leaves by `due`
/// with the other lifts but without fair weather.
pub(super) fn lamp(desk: &mut Desk, order: usize, due: i64, lifts: &[Lift]) -> Option<Lamp> {
    let lamps = desk.asked.studio.frames_for(LightSource::Lamp);
    if lamps.map(|frame| frame.count).sum::<u32>() == 0 {
        return None;
    }
    let lifts: Vec<Lift> = lifts
        .iter()
        .filter(|lift| **lift != Lift::FairSky)
        .cloned()
        .collect();
    let pieces = desk.asked.setup.orders[order].pieces.iter();
    let mut pieces: Vec<u32> = pieces
        .filter(|piece| waits_for_sun(piece))
        .map(|piece| piece.number)
        .collect();
    let mut day = under_lamp(desk, order, due, &lifts, &pieces)?;
    for piece in pieces.clone() {
        let fewer: Vec<u32> = pieces.iter().copied().filter(|p| *p != piece).collect();
        if !fewer.is_empty()
            && let Some(then) = under_lamp(desk, order, due, &lifts, &fewer)
        {
            (pieces, day) = (fewer, then);
        }
    }
    Some(Lamp {
        pieces,
        then_on: desk.day(day),
    })
}

fn waits_for_sun(piece: &Piece) -> bool {
    let stage = piece.progress.stage();
    let unexposed = stage.is_some_and(|stage| stage <= Stage::Exposing);
    piece.light == LightSource::Sun && unexposed
}

/// Plans again with these pieces under the lamp; returns the day on which the order
/// leaves then.
fn under_lamp(
    desk: &mut Desk,
    order: usize,
    due: i64,
    lifts: &[Lift],
    pieces: &[u32],
) -> Option<i64> {
    let asked = desk.asked;
    let mut orders: Vec<Order> = asked.setup.orders.to_vec();
    for piece in &mut orders[order].pieces {
        if pieces.contains(&piece.number) {
            piece.light = LightSource::Lamp;
        }
    }
    let changed = setup(
        &orders,
        asked.studio,
        &asked.outdoors,
        asked.setup.now,
        &asked.setup.under_way,
    );
    if pieces.is_empty() || changed.too_large.iter().any(|large| large.order == order) {
        return None;
    }
    let base = carry(asked.setup, asked.timing, &changed);
    let instance = lifted(&changed, &changed, lifts);
    let mut again = Again::owing(desk.again.owed().clone(), &base, asked.effort);
    let answer = again.save(&instance, &orders[order].number, due);
    desk.again.looks += again.looks;
    match answer {
        Answer::Saved(saved) => Some(saved.day),
        Answer::Never | Answer::NotFound => None,
    }
}
