//! Which lots to take out of a draft before putting them in again.
//!
//! Taking out lots that stand in each other's way – close in time, of one session,
//! of one order – frees a stretch in which something better may fit.

use rand::Rng;
use rand::rngs::SmallRng;
use rand::seq::{IndexedRandom, SliceRandom};

use super::At;
use super::aim;
use super::draft::Draft;

/// The ways of choosing lots to take out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ruin {
    /// Lots anywhere.
    Scattered,
    /// Lots exposed close to each other.
    Near,
    /// All lots of a coating session, and some more.
    Session,
    /// The lots of an order that is late, and those exposed close to them.
    Late,
    /// All lots with a step in a stretch of time.
    Stretch,
    /// What stands between a badly placed lot and a better exposure.
    Aim,
}

/// All ways.
pub(super) const RUINS: [Ruin; 7] = [
    Ruin::Scattered,
    Ruin::Near,
    Ruin::Session,
    Ruin::Late,
    Ruin::Stretch,
    Ruin::Aim,
    Ruin::Aim,
];

/// Takes out about `count` lots; returns those that should be put in first.
pub(super) fn ruin(
    draft: &mut Draft,
    way: Ruin,
    count: usize,
    rng: &mut SmallRng,
) -> (Vec<usize>, Vec<usize>) {
    let mut first = Vec::new();
    let chosen = match way {
        Ruin::Aim => {
            let (lots, aims) = aim::aim(draft, rng);
            first = aims;
            lots
        }
        Ruin::Scattered => scattered(draft, count, rng),
        Ruin::Near => near(draft, count, rng),
        Ruin::Session => session(draft, count, rng),
        Ruin::Late => late(draft, count, rng),
        Ruin::Stretch => stretch(draft, count, rng),
    };
    for &lot in &chosen {
        draft.take_lot(lot);
    }
    (chosen, first)
}

pub(super) fn placed(draft: &Draft) -> Vec<usize> {
    (0..draft.lots.len())
        .filter(|&lot| draft.lots[lot].is_some())
        .collect()
}

fn scattered(draft: &Draft, count: usize, rng: &mut SmallRng) -> Vec<usize> {
    let mut lots = placed(draft);
    lots.partial_shuffle(rng, count);
    let keep = lots.len().saturating_sub(count);
    lots.split_off(keep)
}

/// Returns the moment that stands for a lot in time.
fn moment(draft: &Draft, lot: usize) -> At {
    draft.lots[lot].map_or(0, |steps| steps.sun.map_or(steps.finish, |sun| sun.at))
}

fn nearest(draft: &Draft, moment_of_seed: At, count: usize) -> Vec<usize> {
    let mut lots = placed(draft);
    lots.sort_by_key(|&lot| (moment(draft, lot) - moment_of_seed).abs());
    lots.truncate(count);
    lots
}

fn near(draft: &Draft, count: usize, rng: &mut SmallRng) -> Vec<usize> {
    match placed(draft).choose(rng) {
        Some(&seed) => nearest(draft, moment(draft, seed), count),
        None => Vec::new(),
    }
}

fn session(draft: &Draft, count: usize, rng: &mut SmallRng) -> Vec<usize> {
    let Some(&(start, _)) = draft.sessions.choose(rng) else {
        return scattered(draft, count, rng);
    };
    let of_session = |&lot: &usize| {
        draft.lots[lot].is_some_and(|steps| steps.coat.is_some_and(|coat| coat.session == start))
    };
    let mut lots: Vec<usize> = placed(draft).into_iter().filter(of_session).collect();
    for lot in scattered(draft, count / 2, rng) {
        if !lots.contains(&lot) {
            lots.push(lot);
        }
    }
    lots
}

fn late(draft: &Draft, count: usize, rng: &mut SmallRng) -> Vec<usize> {
    let ground = draft.ground;
    let late: Vec<usize> = (0..ground.orders.len())
        .filter(|&order| ground.is_late(order, draft.packs[order]))
        .collect();
    let Some(&order) = late.choose(rng) else {
        return near(draft, count, rng);
    };
    let mut lots = ground.orders[order].lots.clone();
    let Some(&lot) = lots.choose(rng) else {
        return lots;
    };
    let start = ground.lots[lot].starts.choose(rng);
    let moment = start.map_or(0, |start| start.at);
    for lot in nearest(draft, moment, count) {
        if !lots.contains(&lot) {
            lots.push(lot);
        }
    }
    lots
}

fn stretch(draft: &Draft, count: usize, rng: &mut SmallRng) -> Vec<usize> {
    let Some(&seed) = placed(draft).choose(rng) else {
        return Vec::new();
    };
    let from = moment(draft, seed) - rng.random_range(0..24);
    let until = from + rng.random_range(6..60);
    let mut lots: Vec<usize> = placed(draft)
        .into_iter()
        .filter(|&lot| touches(draft, lot, from, until))
        .collect();
    lots.shuffle(rng);
    lots.truncate(count);
    lots
}

/// Whether a step of the lot that needs hands starts in `[from, until)`.
pub(super) fn touches(draft: &Draft, lot: usize, from: At, until: At) -> bool {
    let Some(steps) = draft.lots[lot] else {
        return false;
    };
    let within = |at: At| (from..until).contains(&at);
    within(steps.finish)
        || steps.coat.is_some_and(|coat| within(coat.at))
        || steps
            .sun
            .is_some_and(|sun| within(sun.at) || within(sun.at + sun.length) || within(sun.wash))
}
