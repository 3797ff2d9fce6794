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
use super::refill;

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
    /// Lots that dry on racks of the same kind or lie in the same frame, close in time.
    Alike,
    /// What stands between a badly placed lot and a better exposure.
    Aim,
    /// All lots of an order that is later than it need be, and those of others that
    /// want the same racks and frames.
    Rivals,
    /// All lots of a coating session, which is opened at another moment.
    Reopen,
    /// All lots of two coating sessions, one of which is opened anew when a lot of the
    /// other leaves the rack.
    Refill,
}

/// The ways that are drawn from; opening sessions is drawn apart.
pub(super) const RUINS: [Ruin; 9] = [
    Ruin::Scattered,
    Ruin::Near,
    Ruin::Session,
    Ruin::Late,
    Ruin::Stretch,
    Ruin::Alike,
    Ruin::Aim,
    Ruin::Aim,
    Ruin::Rivals,
];

/// What was taken out, and what is to become of it.
#[derive(Debug, Default)]
pub(super) struct Ruined {
    /// Lots that were taken out.
    pub(super) taken: Vec<usize>,
    /// Lots to put in before all others.
    pub(super) first: Vec<usize>,
    /// Which session is to be opened before lots are put in.
    pub(super) reopening: Reopening,
}

/// Which session is held open while lots are put in, for them to join.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) enum Reopening {
    /// Now and then one anywhere.
    #[default]
    Seldom,
    /// The one that started at this moment, at another.
    Elsewhere(At),
    /// The one that starts at this moment, and after the lot is in, one behind the lot.
    Behind(usize, At),
}

/// Takes out about `count` lots.
pub(super) fn ruin(draft: &mut Draft, way: Ruin, count: usize, rng: &mut SmallRng) -> Ruined {
    let first = |(taken, first): (Vec<usize>, Vec<usize>)| Ruined {
        taken,
        first,
        ..Ruined::default()
    };
    let taken = |taken: Vec<usize>| first((taken, Vec::new()));
    let ruined = match way {
        Ruin::Aim => first(aim::aim(draft, rng)),
        Ruin::Rivals => first(rivals(draft, count, rng)),
        Ruin::Scattered => taken(scattered(draft, count, rng)),
        Ruin::Near => taken(near(draft, count, rng)),
        Ruin::Alike => taken(alike(draft, count, rng)),
        Ruin::Session => taken(session(draft, count, rng)),
        Ruin::Late => taken(late(draft, count, rng)),
        Ruin::Stretch => taken(stretch(draft, count, rng)),
        Ruin::Reopen => reopen(draft, rng),
        Ruin::Refill => refill::refill(draft, rng),
    };
    for &lot in &ruined.taken {
        draft.take_lot(lot);
    }
    ruined
}

pub(super) fn placed(draft: &Draft) -> Vec<usize> {
    (0..draft.lots.len())
        .filter(|&lot| draft.lots[lot].is_some())
        .collect()
}

/// Returns the lots that are coated in sessions with such a start.
pub(super) fn coated_in(draft: &Draft, meant: impl Fn(At) -> bool) -> Vec<usize> {
    let coat = |lot: usize| draft.lots[lot].and_then(|steps| steps.coat);
    (0..draft.lots.len())
        .filter(|&lot| coat(lot).is_some_and(|coat| meant(coat.session)))
        .collect()
}

fn scattered(draft: &Draft, count: usize, rng: &mut SmallRng) -> Vec<usize> {
    let mut lots = placed(draft);
    lots.partial_shuffle(rng, count);
    let keep = lots.len().saturating_sub(count);
    lots.split_off(keep)
}

/// Takes out the lots of a session, and now and then of a small one beside it.
fn reopen(draft: &Draft, rng: &mut SmallRng) -> Ruined {
    let Some(&(one, _)) = draft.sessions.choose(rng) else {
        return Ruined::default();
    };
    let tries = if rng.random_bool(0.5) { 2 } else { 0 };
    let drawn = (0..tries).filter_map(|_| draft.sessions.choose(rng));
    let two = drawn
        .min_by_key(|session| session.1)
        .map_or(one, |session| session.0);
    Ruined {
        taken: coated_in(draft, |session| session == one || session == two),
        reopening: Reopening::Elsewhere(one),
        ..Ruined::default()
    }
}

/// Returns the moment that stands for a lot in time.
fn moment(draft: &Draft, lot: usize) -> At {
    draft.lots[lot].map_or(0, |steps| steps.sun.map_or(steps.finish, |sun| sun.at))
}

fn nearest(draft: &Draft, moment_of_seed: At, count: usize) -> Vec<usize> {
    nearest_of(draft, placed(draft), moment_of_seed, count)
}

fn nearest_of(draft: &Draft, mut lots: Vec<usize>, moment_of_seed: At, count: usize) -> Vec<usize> {
    let away = |&lot: &usize| (moment(draft, lot) - moment_of_seed).abs();
    if count < lots.len() {
        lots.select_nth_unstable_by_key(count, |lot| (away(lot), *lot));
        lots.truncate(count);
    }
    lots
}

fn near(draft: &Draft, count: usize, rng: &mut SmallRng) -> Vec<usize> {
    match placed(draft).choose(rng) {
        Some(&seed) => nearest(draft, moment(draft, seed), count),
        None => Vec::new(),
    }
}

fn alike(draft: &Draft, count: usize, rng: &mut SmallRng) -> Vec<usize> {
    let mut lots = placed(draft);
    let Some(&seed) = lots.choose(rng) else {
        return Vec::new();
    };
    let facts = &draft.ground.lots;
    if rng.random_bool(0.5) {
        lots.retain(|&lot| facts[lot].frame == facts[seed].frame);
    } else {
        lots.retain(|&lot| facts[lot].open_rack == facts[seed].open_rack);
    }
    nearest_of(draft, lots, moment(draft, seed), count)
}

fn session(draft: &Draft, count: usize, rng: &mut SmallRng) -> Vec<usize> {
    let Some(&(start, _)) = draft.sessions.choose(rng) else {
        return scattered(draft, count, rng);
    };
    let mut lots = coated_in(draft, |session| session == start);
    for lot in scattered(draft, count / 2, rng) {
        if !lots.contains(&lot) {
            lots.push(lot);
        }
    }
    lots
}

fn late(draft: &Draft, count: usize, rng: &mut SmallRng) -> Vec<usize> {
    let ground = draft.ground;
    let Some(&order) = draft.needlessly_late().choose(rng) else {
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

/// Returns the lots to take out, and those to put in first.
fn rivals(draft: &Draft, count: usize, rng: &mut SmallRng) -> (Vec<usize>, Vec<usize>) {
    let orders = &draft.ground.orders;
    let late = draft.needlessly_late();
    let any = rng.random_range(0..orders.len().max(1));
    let one = late.choose(rng).copied().unwrap_or(any);
    let Some(own) = orders.get(one).map(|order| order.lots.clone()) else {
        return (Vec::new(), Vec::new());
    };
    let mut others: Vec<usize> = (0..orders.len())
        .filter(|&other| other != one && draft.packs[other].is_some())
        .filter(|&other| vie(draft, &own, &orders[other].lots))
        .collect();
    others.shuffle(rng);
    let mut lots = own.clone();
    for lot in others.into_iter().flat_map(|other| &orders[other].lots) {
        if lots.len() >= own.len() + count {
            break;
        }
        if !lots.contains(lot) {
            lots.push(*lot);
        }
    }
    let first = rng.random_bool(0.5);
    (lots, if first { own } else { Vec::new() })
}

/// Whether one of these lots wants a rack or a frame of one of those.
fn vie(draft: &Draft, these: &[usize], those: &[usize]) -> bool {
    let lots = &draft.ground.lots;
    these.iter().any(|&this| {
        those.iter().any(|&that| {
            lots[this].dark_rack == lots[that].dark_rack || lots[this].frame == lots[that].frame
        })
    })
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
