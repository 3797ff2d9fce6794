//! Filling a rack twice on one day.
//!
//! What is coated in the morning can be dry before the evening and leave its places
//! for the night. That takes two sessions at just the right moments, and the lots of
//! both in the right places; no change to one session or one lot leads there. So a
//! lot is put first into a session of its own choice, and another session is opened
//! when it leaves the rack.

use rand::Rng;
use rand::rngs::SmallRng;
use rand::seq::IndexedRandom;

use super::At;
use super::draft::Draft;
use super::ground::Come;
use super::ruin::{Reopening, Ruined, coated_in};

/// Share of times that those go first which want the same rack.
const SAME_RACK_FIRST: f64 = 0.8;
/// Lots tried until one dries within work hours.
const TRIES: usize = 4;

/// Chooses a lot that dries within work hours, and a session for it; takes out all
/// lots of that session and of another one on the day on which the lot is dry.
pub(super) fn refill(draft: &Draft, rng: &mut SmallRng) -> Ruined {
    let late = draft.needlessly_late();
    let late = late.choose(rng).filter(|_| rng.random_bool(0.7));
    let chosen = (0..TRIES).find_map(|_| choose(draft, late.copied(), rng));
    let Some((first, one)) = chosen else {
        return Ruined::default();
    };
    let day = |at: At| at / draft.ground.per_day;
    let dry = dry_at(draft, first, one);
    let starts = draft.sessions.iter().map(|session| session.0);
    let others: Vec<At> = starts
        .filter(|&start| start != one && day(start) == day(dry))
        .collect();
    let two = others.choose(rng).copied().unwrap_or(one);
    let mut taken = coated_in(draft, |session| session == one || session == two);
    if draft.lots[first].is_some() && !taken.contains(&first) {
        taken.push(first);
        taken.sort_unstable();
    }
    Ruined {
        taken,
        first: vec![first],
        reopening: Reopening::Behind(first, one),
    }
}

/// Chooses a lot of `late`, or any, and a session after which it dries within work
/// hours.
fn choose(draft: &Draft, late: Option<usize>, rng: &mut SmallRng) -> Option<(usize, At)> {
    let ground = draft.ground;
    let lot = match late {
        Some(order) => *ground.orders[order].lots.choose(rng)?,
        None => rng.random_range(0..ground.lots.len().max(1)),
    };
    if ground.lots.get(lot)?.come != Come::Fresh {
        return None;
    }
    let starts = draft.sessions.iter().map(|session| session.0);
    let fitting: Vec<At> = starts.filter(|&at| refills(draft, lot, at)).collect();
    fitting.choose(rng).map(|&session| (lot, session))
}

/// Whether a session can begin just as the lot is dry that is coated first in this one.
fn refills(draft: &Draft, lot: usize, session: At) -> bool {
    let ground = draft.ground;
    let last = dry_at(draft, lot, session) - ground.setup;
    let first = last - ground.mix_life;
    let manned = ground.hands.find_first(first, last, ground.setup);
    ground.lots[lot].release <= session + ground.setup && manned.is_some()
}

/// Returns when a lot is dry that is the first to be coated in a session.
fn dry_at(draft: &Draft, lot: usize, session: At) -> At {
    let facts = &draft.ground.lots[lot];
    session + draft.ground.setup + facts.coat + facts.dark
}

/// Now and then lets those go first that want the same dark rack as `lot`.
pub(super) fn same_rack_first(draft: &Draft, lot: usize, lots: &mut [usize], rng: &mut SmallRng) {
    let facts = &draft.ground.lots;
    if rng.random_bool(SAME_RACK_FIRST) {
        lots.sort_by_key(|&other| facts[other].dark_rack != facts[lot].dark_rack);
    }
}

/// Holds the session open that starts at `start`, if it may start then.
pub(super) fn hold(draft: &mut Draft, start: At) -> Option<At> {
    let setup = draft.ground.setup;
    let admitted = draft.hands.fits(start, setup) && draft.admits_session(start);
    admitted.then(|| draft.open_session(start))?;
    Some(start)
}

/// Holds a session open whose mix still serves when `lot` leaves the dark rack.
pub(super) fn hold_behind(draft: &mut Draft, lot: usize, rng: &mut SmallRng) -> Option<At> {
    let ground = draft.ground;
    let facts = &ground.lots[lot];
    let dry = draft.lots[lot]?.coat?.at + facts.coat + facts.dark;
    let wait = rng.random_range(0..=ground.mix_life);
    let from = dry - ground.setup - wait;
    let start = draft.hands.find_first(from, dry, ground.setup)?;
    hold(draft, start)
}
