//! In which order to put lots in, and tidying up after it.

use rand::Rng;
use rand::rngs::SmallRng;
use rand::seq::SliceRandom;

use super::At;
use super::draft::Draft;
use super::ground::Come;
use super::hope::Hope;
use super::insert::{Whim, find_pack, insert, pack};
use super::refill::{hold, hold_behind, same_rack_first};
use super::ruin::{Reopening, Ruined};

/// Lots tried at most in one step beside those that were taken out.
const OTHERS_MAX: usize = 40;

/// Puts every lot in that is wanted and not placed, in an order drawn by chance,
/// and takes out what turned out to serve no order.
///
/// Gives up, and says no, once the draft is bound to be felt as more than `most`.
pub(super) fn recreate(draft: &mut Draft, ruined: &Ruined, most: i64, whim: &mut Whim) -> bool {
    let mut lots = wanted(draft, ruined, whim.rng);
    arrange(draft, &mut lots, whim.rng);
    if let Reopening::Behind(lot, _) = ruined.reopening {
        same_rack_first(draft, lot, &mut lots, whim.rng);
    }
    lots.sort_by_key(|lot| !ruined.first.contains(lot));
    let mut spare = match ruined.reopening {
        Reopening::Behind(_, start) => hold(draft, start),
        other => spare_session(draft, other, whim.rng),
    };
    let mut hope = Hope::new(draft, &lots);
    for (index, &lot) in lots.iter().enumerate() {
        let left = hope.left_for(draft, lot, most);
        let placed = insert(draft, lot, left, whim);
        hope.look_again(draft, lot, &lots[index + 1..]);
        let given_up = hope.least(draft) > most;
        if given_up || !placed && left < i64::MAX && insert(draft, lot, i64::MAX, whim) {
            return false;
        }
        // Leaving out is for what has no place, not for what is cheaper left out; a
        // session that is only held open does not take a place.
        if !placed && spare.is_some() {
            release(draft, spare.take());
            if insert(draft, lot, i64::MAX, whim) && left < i64::MAX {
                return false;
            }
        }
        if matches!(ruined.reopening, Reopening::Behind(first, _) if first == lot) {
            release(draft, spare);
            spare = hold_behind(draft, lot, whim.rng);
        }
    }
    release(draft, spare);
    for order in 0..draft.packs.len() {
        pack_sooner(draft, order, whim);
    }
    drop_idle(draft);
    true
}

/// Returns the lots to put in: those that were taken out, those that go first, and now
/// and then others that are not placed although an order could use them.
fn wanted(draft: &Draft, ruined: &Ruined, rng: &mut SmallRng) -> Vec<usize> {
    let own = |lot: &usize| ruined.taken.contains(lot) || ruined.first.contains(lot);
    let (mut lots, mut others): (Vec<usize>, Vec<usize>) = (0..draft.lots.len())
        .filter(|&lot| !draft.is_settled(lot) && is_of_use(draft, lot))
        .partition(own);
    if rng.random_bool(0.25) {
        lots.extend_from_slice(others.partial_shuffle(rng, OTHERS_MAX).0);
    }
    lots
}

/// Whether an order could be packed with a lot, or it is under way anyhow.
fn is_of_use(draft: &Draft, lot: usize) -> bool {
    let facts = &draft.ground.lots[lot];
    let orders = &draft.ground.orders;
    matches!(facts.come, Come::Washing { .. } | Come::Washed(_))
        || facts.orders.iter().any(|&order| orders[order].possible)
}

fn arrange(draft: &Draft, lots: &mut [usize], rng: &mut SmallRng) {
    let ground = draft.ground;
    lots.shuffle(rng);
    let promise = |&lot: &usize| ground.first_promise(lot);
    let last_start = |lot: usize| -> At {
        let starts = &ground.lots[lot].starts;
        starts.iter().map(|start| start.at).max().unwrap_or(0)
    };
    match rng.random_range(0..6) {
        0 | 1 => {}
        2 => lots.sort_by_key(promise),
        3 => lots.sort_by_key(|&lot| ground.lots[lot].starts.len()),
        4 => lots.sort_by_key(|&lot| (promise(&lot), last_start(lot))),
        _ => lots
            .sort_by_key(|&lot| std::cmp::Reverse(ground.lots[lot].rest + ground.lots[lot].dark)),
    }
}

/// Now and then, and whenever a session was ruined to be reopened, holds a session
/// open at a moment drawn by chance.
///
/// Lots then see a session that costs them nothing; if none joins, it is gone again.
fn spare_session(draft: &mut Draft, reopening: Reopening, rng: &mut SmallRng) -> Option<At> {
    let ground = draft.ground;
    let seldom = reopening == Reopening::Seldom;
    if ground.horizon == 0 || seldom && !rng.random_bool(0.2) {
        return None;
    }
    let from = match reopening {
        Reopening::Elsewhere(start) if rng.random_bool(0.7) => {
            start + rng.random_range(-ground.per_day / 3..=ground.per_day / 3)
        }
        _ => rng.random_range(0..ground.horizon),
    };
    let start = draft.hands.find_first(from, ground.horizon, ground.setup)?;
    hold(draft, start)
}

/// Ends what was held open.
fn release(draft: &mut Draft, spare: Option<At>) {
    if let Some(start) = spare {
        draft.close_session(start);
    }
}

/// Packs an order that could be packed, or leave on an earlier day.
fn pack_sooner(draft: &mut Draft, order: usize, whim: &mut Whim) {
    let Some(old) = draft.packs[order] else {
        return pack(draft, order, whim);
    };
    if whim.quiet {
        return;
    }
    let Some(ready) = draft.ready(order) else {
        return;
    };
    let ground = draft.ground;
    if ground.day_at_best(order, ready) >= ground.day_of_pack(order, old) {
        return;
    }
    let Some(new) = find_pack(draft, order, ready) else {
        return;
    };
    if ground.day_of_pack(order, new) < ground.day_of_pack(order, old) {
        draft.take_order(order);
        draft.put_order(order, new);
    }
}

/// Takes out lots still to be exposed whose orders are all left out.
fn drop_idle(draft: &mut Draft) {
    if draft.packs.iter().all(|pack| pack.is_some()) {
        return;
    }
    for lot in 0..draft.lots.len() {
        let facts = &draft.ground.lots[lot];
        let open = matches!(facts.come, Come::Fresh | Come::Coated(_));
        let idle = facts
            .orders
            .iter()
            .all(|&order| draft.packs[order].is_none());
        if open && idle {
            draft.take_lot(lot);
        }
    }
}
