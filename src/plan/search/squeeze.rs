//! Putting a lot in where others must make room first.
//!
//! Tries the exposures that would be cheaper than the best free one. Steps of other
//! lots that keep the hands busy just then are pushed aside within their leeway;
//! if the whole chain can be laid that way, it is.

use super::At;
use super::coating;
use super::draft::{Draft, Steps, Sun};
use super::ground::{Come, Start};
use super::hands::Task;
use super::insert::{Others, Survey, Whim, find_pack, wash_fits};
use super::room::{Stretch, make_room};

/// Puts `lot` in at one of the blocked exposures, if pushing makes it cheaper than
/// the free place of the survey.
pub(super) fn squeeze_in(draft: &mut Draft, lot: usize, survey: &Survey, whim: &mut Whim) -> bool {
    let limit = survey.limit();
    survey.blocked.iter().any(|&(index, extra)| {
        let start = &draft.ground.lots[lot].starts[index];
        try_start(draft, lot, start, limit.saturating_sub(extra), whim)
    })
}

/// Hands kept for a lot while the rest of its chain is being looked for.
struct Kept(Vec<Stretch>);

impl Kept {
    /// Frees a stretch and keeps it.
    fn claim(&mut self, draft: &mut Draft, at: At, length: At) -> bool {
        let stretch = Stretch { at, length };
        let free = make_room(draft, stretch);
        if free {
            draft.hands.take(at, length, Task::Fixed);
            self.0.push(stretch);
        }
        free
    }

    fn release(&mut self, draft: &mut Draft) {
        for stretch in self.0.drain(..) {
            draft.hands.give(stretch.at, stretch.length, Task::Fixed);
        }
    }
}

fn try_start(draft: &mut Draft, lot: usize, start: &Start, limit: i64, whim: &mut Whim) -> bool {
    let mark = draft.mark();
    let mut kept = Kept(Vec::with_capacity(6));
    let steps = chain(draft, lot, start, limit, &mut kept, whim);
    kept.release(draft);
    let Some((steps, packs)) = steps else {
        draft.undo_to(mark);
        return false;
    };
    draft.put_lot(lot, steps);
    for (order, pack) in packs {
        draft.put_order(order, pack);
    }
    true
}

type Packs = Vec<(usize, At)>;

/// Finds every step of the lot around `start`, pushing others aside.
fn chain(
    draft: &mut Draft,
    lot: usize,
    start: &Start,
    limit: i64,
    kept: &mut Kept,
    whim: &mut Whim,
) -> Option<(Steps, Packs)> {
    let ground = draft.ground;
    let facts = &ground.lots[lot];
    let (load, taken) = (start.at - ground.load, start.at + start.length);
    let gone = taken + ground.unload;
    let manned = if facts.attended {
        kept.claim(draft, load, gone - load)
    } else {
        kept.claim(draft, load, ground.load) && kept.claim(draft, taken, ground.unload)
    };
    if !manned {
        return None;
    }
    let wash = wash(draft, lot, gone, kept)?;
    let ready = wash + facts.wash + facts.rest;
    let finish = finish(draft, lot, ready, kept)?;
    let done = finish + facts.finish;
    let mut cost = start.price;
    let mut packs = Vec::new();
    for &order in &facts.orders {
        let others = Others::of(draft, order, lot);
        let ready = done.max(others.ready);
        let day = if others.all_placed {
            let pack = pack(draft, order, ready, kept);
            packs.extend(pack.map(|pack| (order, pack)));
            pack.and_then(|pack| ground.day_of_pack(order, pack))
        } else {
            ground.day_at_best(order, ready)
        };
        cost += draft.felt_of_order(order, day);
        if cost >= limit {
            return None;
        }
    }
    let in_time = |&(order, pack): &(usize, At)| Others::of(draft, order, lot).ready <= pack;
    if !packs.iter().all(in_time) {
        return None;
    }
    let coat = match facts.come {
        Come::Fresh => Some(coating::choose(draft, facts, load, whim.rng)?),
        _ => None,
    };
    let (at, length, price) = (start.at, start.length, start.price);
    let steps = Steps {
        coat,
        sun: Some(Sun {
            at,
            length,
            price,
            wash,
        }),
        finish,
    };
    Some((steps, packs))
}

fn wash(draft: &mut Draft, lot: usize, gone: At, kept: &mut Kept) -> Option<At> {
    let ground = draft.ground;
    let facts = &ground.lots[lot];
    let last = gone + ground.wash_gap;
    let mut from = gone;
    while let Some(at) = draft.hands.find_first(from, last, facts.wash) {
        if wash_fits(draft, facts, at) {
            return kept.claim(draft, at, facts.wash).then_some(at);
        }
        from = at + 1;
    }
    let fitting = (gone..=last)
        .filter(|&at| draft.hands.in_work(at, facts.wash) && wash_fits(draft, facts, at))
        .take(3);
    let fitting: Vec<At> = fitting.collect();
    fitting
        .into_iter()
        .find(|&at| kept.claim(draft, at, facts.wash))
}

fn finish(draft: &mut Draft, lot: usize, ready: At, kept: &mut Kept) -> Option<At> {
    let ground = draft.ground;
    let facts = &ground.lots[lot];
    let free = draft.hands.find_first(ready, ground.horizon, facts.finish);
    let best = ground
        .hands
        .find_first(ready, ground.horizon, facts.finish)?;
    let later = |free: At| {
        facts.orders.iter().any(|&order| {
            ground.day_at_best(order, free + facts.finish)
                > ground.day_at_best(order, best + facts.finish)
        })
    };
    if free.is_none_or(later) && kept.claim(draft, best, facts.finish) {
        return Some(best);
    }
    let free = free.filter(|&free| draft.hands.fits(free, facts.finish));
    let free = free.or_else(|| draft.hands.find_first(ready, ground.horizon, facts.finish))?;
    kept.claim(draft, free, facts.finish).then_some(free)
}

fn pack(draft: &mut Draft, order: usize, ready: At, kept: &mut Kept) -> Option<At> {
    let ground = draft.ground;
    let length = ground.orders[order].pack;
    let best = ground.hands.find_first(ready, ground.horizon, length)?;
    let day = ground.day_of_pack(order, best)?;
    let free = find_pack(draft, order, ready);
    let timely = free.filter(|&free| ground.day_of_pack(order, free) == Some(day));
    let at = match timely {
        Some(free) => free,
        None if kept.claim(draft, best, length) => return Some(best),
        None => find_pack(draft, order, ready)?,
    };
    kept.claim(draft, at, length).then_some(at)
}
