//! Clearing the way to a better exposure for one lot.
//!
//! A lot that makes its order late, or that is exposed at a risky hour, is given an
//! aim: one of its better exposures. Whatever keeps hands or the frame on the way
//! there is taken out, and the lot is put in first.

use rand::Rng;
use rand::rngs::SmallRng;
use rand::seq::IndexedRandom;

use super::At;
use super::draft::Draft;
use super::ground::{Come, Start, TRAY};
use super::ruin::{placed, touches};

/// Returns the lots to take out, and those to put in first.
pub(super) fn aim(draft: &Draft, rng: &mut SmallRng) -> (Vec<usize>, Vec<usize>) {
    let aims = choose(draft, rng);
    let mut lots = Vec::new();
    for &lot in &aims {
        let Some(start) = better(draft, lot, rng) else {
            continue;
        };
        lots.extend(in_the_way(draft, lot, &start, rng));
    }
    lots.extend(
        aims.iter()
            .copied()
            .filter(|&lot| draft.lots[lot].is_some()),
    );
    lots.sort_unstable();
    lots.dedup();
    (lots, aims)
}

/// Chooses a late order's lots, or one lot with an exposure worse than it might be.
fn choose(draft: &Draft, rng: &mut SmallRng) -> Vec<usize> {
    let ground = draft.ground;
    if rng.random_bool(0.6)
        && let Some(&order) = draft.needlessly_late().choose(rng)
    {
        return badly_placed(draft, order, rng);
    }
    let lots = placed(draft);
    let regret = |lot: usize| {
        let sun = draft.lots[lot].and_then(|steps| steps.sun);
        let least = ground.lots[lot]
            .starts
            .iter()
            .map(|start| start.price)
            .min();
        sun.zip(least).map_or(0, |(sun, least)| sun.price - least)
    };
    let tries = (0..3).filter_map(|_| lots.choose(rng).copied());
    tries.max_by_key(|&lot| regret(lot)).into_iter().collect()
}

/// Returns the lots of an order that are missing; else the one that it waits for
/// longest, or all that alone would make it late.
fn badly_placed(draft: &Draft, order: usize, rng: &mut SmallRng) -> Vec<usize> {
    let lots = &draft.ground.orders[order].lots;
    let missing: Vec<usize> = lots
        .iter()
        .copied()
        .filter(|&lot| draft.lots[lot].is_none())
        .collect();
    if !missing.is_empty() {
        return missing;
    }
    if rng.random_bool(0.5) {
        let ground = draft.ground;
        let late = |&lot: &usize| {
            let day = draft.done(lot).map(|done| ground.day_at_best(order, done));
            day.is_some_and(|day| ground.order_terms(order, day).0 > 0)
        };
        let late: Vec<usize> = lots.iter().copied().filter(late).collect();
        if !late.is_empty() {
            return late;
        }
    }
    let last = lots.iter().copied().max_by_key(|&lot| draft.done(lot));
    last.into_iter().collect()
}

/// Chooses an exposure that would be better if nothing stood in the way.
fn better(draft: &Draft, lot: usize, rng: &mut SmallRng) -> Option<Start> {
    let facts = &draft.ground.lots[lot];
    let now = draft.lots[lot].and_then(|steps| steps.sun).map(|sun| {
        let done = draft.done(lot).unwrap_or(0);
        sun.price + cost_if(draft, lot, done)
    });
    let tiers: Vec<_> = facts
        .tiers
        .iter()
        .filter(|tier| {
            let start = &facts.starts[tier.starts.start];
            now.is_none_or(|now| start.price + cost_if(draft, lot, start.done) < now)
        })
        .collect();
    let tier = tiers.choose(rng)?;
    let share: f64 = rng.random::<f64>();
    let index = tier.starts.start + (tier.starts.len() as f64 * share * share) as usize;
    Some(facts.starts[index])
}

fn cost_if(draft: &Draft, lot: usize, done: At) -> i64 {
    let orders = draft.ground.lots[lot].orders.iter();
    orders
        .map(|&order| draft.felt_of_order(order, draft.ground.day_at_best(order, done)))
        .sum()
}

/// Returns the lots that keep what an exposure at `start` would need.
fn in_the_way(draft: &Draft, lot: usize, start: &Start, rng: &mut SmallRng) -> Vec<usize> {
    let ground = draft.ground;
    let facts = &ground.lots[lot];
    let load = start.at - ground.load;
    let gone = start.at + start.length + ground.unload;
    let ready = start.done - facts.finish;
    let mixing = match facts.come {
        Come::Fresh => {
            let latest = load - facts.dark - facts.coat;
            let before = draft.sessions.iter().filter(|session| session.0 < latest);
            let before: Vec<At> = before.map(|session| session.0).collect();
            let session = before.choose(rng).copied();
            session
                .filter(|_| rng.random_bool(0.7))
                .unwrap_or_else(|| rng.random_range(latest.min(0)..=latest.max(0)))
        }
        _ => -1,
    };
    let coat = facts.coat + ground.setup;
    let mut lots = Vec::new();
    for other in placed(draft) {
        let shares_frame = ground.lots[other].frame == facts.frame
            && draft.lots[other].is_some_and(|steps| {
                steps.sun.is_some_and(|sun| {
                    sun.at - ground.load < gone && load < sun.at + sun.length + ground.unload
                })
            });
        let busy = if facts.attended {
            touches(draft, other, load - 3, gone + facts.wash)
        } else {
            touches(draft, other, load - 2, load + ground.load)
                || touches(draft, other, start.at + start.length - 2, gone + facts.wash)
        };
        if shares_frame
            || busy
            || touches(draft, other, ready - 2, start.done)
            || (mixing >= 0 && touches(draft, other, mixing, mixing + coat))
        {
            lots.push(other);
        }
    }
    let wash = Stay {
        resource: TRAY,
        at: gone,
        length: facts.wash,
        amount: facts.trays,
    };
    let open = Stay {
        resource: facts.open_rack,
        at: gone + facts.wash,
        length: facts.open,
        amount: facts.amount,
    };
    let dark = Stay {
        resource: facts.dark_rack,
        at: mixing + coat,
        length: facts.dark,
        amount: facts.amount,
    };
    relieve(draft, lot, &wash, &mut lots, rng);
    relieve(draft, lot, &open, &mut lots, rng);
    if mixing >= 0 {
        relieve(draft, lot, &dark, &mut lots, rng);
    }
    lots
}

/// Places of a rack or of the trays that are taken for some time.
struct Stay {
    resource: usize,
    at: At,
    length: At,
    amount: i32,
}

/// Adds lots to `lots` until those that are left leave room for the stay of `lot`.
fn relieve(draft: &Draft, lot: usize, stay: &Stay, lots: &mut Vec<usize>, rng: &mut SmallRng) {
    let mut room = draft.places[stay.resource].clone();
    for &other in lots.iter().chain([&lot]) {
        for (at, length, amount) in stays(draft, other, stay.resource).into_iter().flatten() {
            room.give(at, length, amount);
        }
    }
    while let Some(slot) = room.overfull(stay.at, stay.length, stay.amount) {
        let there = |&(at, length, _): &(At, At, i32)| (at..at + length).contains(&slot);
        let others: Vec<usize> = placed(draft)
            .into_iter()
            .filter(|other| *other != lot && !lots.contains(other))
            .filter(|&other| {
                stays(draft, other, stay.resource)
                    .iter()
                    .flatten()
                    .any(there)
            })
            .collect();
        let Some(&other) = others.choose(rng) else {
            return;
        };
        for (at, length, amount) in stays(draft, other, stay.resource).into_iter().flatten() {
            room.give(at, length, amount);
        }
        lots.push(other);
    }
}

/// Returns when a lot keeps places of `resource`, and how many: in the dark rack, in
/// the trays and in the open rack.
fn stays(draft: &Draft, lot: usize, resource: usize) -> [Option<(At, At, i32)>; 3] {
    let facts = &draft.ground.lots[lot];
    let steps = draft.lots[lot];
    let coat = steps.and_then(|steps| steps.coat);
    let sun = steps.and_then(|steps| steps.sun);
    let dark = coat.map(|coat| (coat.at + facts.coat, facts.dark, facts.amount));
    let wash = sun.map(|sun| (sun.wash, facts.wash, facts.trays));
    let open = sun.map(|sun| (sun.wash + facts.wash, facts.open, facts.amount));
    [
        dark.filter(|_| resource == facts.dark_rack),
        wash.filter(|_| resource == TRAY),
        open.filter(|_| resource == facts.open_rack),
    ]
}
