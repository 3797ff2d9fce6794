//! Putting one lot where it costs least, and packing the orders that it completes.
//!
//! Exposures are tried in ascending order of what they cost at best: the risk, and
//! the days on which the orders would leave if nobody else needed hands. The first
//! that fits is nearly always the answer; the search goes on only as long as a
//! later one could still be cheaper, since hands may be busy and a coating session
//! may have to be opened.

use rand::Rng;
use rand::rngs::SmallRng;

use super::At;
use super::coating;
use super::draft::{Draft, Steps, Sun};
use super::ground::{Come, LotFacts, Start};

/// The tray's place among the resources.
const TRAY: usize = 4;

/// What an insertion leaves to chance.
pub(super) struct Whim<'a> {
    pub(super) rng: &'a mut SmallRng,
    /// How often a fitting place is passed over, so that searches do not repeat.
    /// [1 in 2³²]
    pub(super) blink: u32,
}

impl Whim<'_> {
    fn blinks(&mut self) -> bool {
        self.blink > 0 && self.rng.random::<u32>() < self.blink
    }
}

/// Places for the steps after coating, and what they cost.
#[derive(Debug, Clone, Copy)]
struct Offer {
    cost: i64,
    sun: Sun,
    finish: At,
}

/// Puts `lot` in where it costs least and packs the orders that it completes.
///
/// Returns whether it is in; without a place the draft stays as it was.
pub(super) fn insert(draft: &mut Draft, lot: usize, whim: &mut Whim) -> bool {
    let steps = match draft.ground.lots[lot].come {
        Come::Never => None,
        Come::Washing { ready, .. } | Come::Washed(ready) => rest_of(draft, lot, ready),
        Come::Fresh | Come::Coated(_) => whole(draft, lot, whim),
    };
    let Some(steps) = steps else {
        return false;
    };
    draft.put_lot(lot, steps);
    for index in 0..draft.ground.lots[lot].orders.len() {
        pack(draft, draft.ground.lots[lot].orders[index]);
    }
    true
}

/// Packs an order as early as hands allow, if all its lots are placed.
pub(super) fn pack(draft: &mut Draft, order: usize) {
    let Some(ready) = draft.ready(order) else {
        return;
    };
    if let Some(at) = find_pack(draft, order, ready) {
        draft.put_order(order, at);
    }
}

fn find_pack(draft: &Draft, order: usize, ready: At) -> Option<At> {
    let length = draft.ground.orders[order].pack;
    let at = draft
        .hands
        .find_first(ready, draft.ground.horizon, length)?;
    draft.ground.day_of_pack(order, at).map(|_| at)
}

/// Finds the finishing of a lot that has nothing else before it.
fn rest_of(draft: &Draft, lot: usize, ready: At) -> Option<Steps> {
    let facts = &draft.ground.lots[lot];
    let finish = draft
        .hands
        .find_first(ready, draft.ground.horizon, facts.finish)?;
    Some(Steps {
        coat: None,
        sun: None,
        finish,
    })
}

/// Finds all steps of a lot that is still to be exposed.
fn whole(draft: &Draft, lot: usize, whim: &mut Whim) -> Option<Steps> {
    let facts = &draft.ground.lots[lot];
    let outlook = match facts.come {
        Come::Fresh => Some(coating::outlook(draft, facts)),
        _ => None,
    };
    let session_price = draft.ground.instance.weights.session;
    let mut best: Option<Offer> = None;
    let mut tiers = Tiers::new(draft, lot);
    while let Some((index, at_best)) = tiers.next() {
        if best.is_some_and(|best| best.cost <= at_best) {
            break;
        }
        let start = &facts.starts[index];
        let load = start.at - draft.ground.load;
        let Some(opening) = outlook
            .as_ref()
            .map_or(Some(false), |outlook| outlook.opening(draft, facts, load))
        else {
            continue;
        };
        let extra = if opening { session_price } else { 0 };
        if best.is_some_and(|best| best.cost <= at_best + extra) {
            continue;
        }
        let Some((wash, finish)) = after(draft, facts, start) else {
            continue;
        };
        if whim.blinks() {
            continue;
        }
        let cost = start.price + extra + cost_of_orders(draft, lot, finish + facts.finish);
        if best.is_none_or(|best| cost < best.cost) {
            let (at, length, price) = (start.at, start.length, start.price);
            best = Some(Offer {
                cost,
                sun: Sun {
                    at,
                    length,
                    price,
                    wash,
                },
                finish,
            });
        }
    }
    let best = best?;
    let coat = match &outlook {
        Some(outlook) => {
            Some(outlook.choose(draft, facts, best.sun.at - draft.ground.load, whim.rng)?)
        }
        None => None,
    };
    Some(Steps {
        coat,
        sun: Some(best.sun),
        finish: best.finish,
    })
}

/// Finds wash and finishing after an exposure, if frame and hands are free for it.
fn after(draft: &Draft, facts: &LotFacts, start: &Start) -> Option<(At, At)> {
    let ground = draft.ground;
    let (load, taken) = (start.at - ground.load, start.at + start.length);
    let gone = taken + ground.unload;
    let hands = &draft.hands;
    let manned = if facts.attended {
        hands.fits(load, gone - load)
    } else {
        hands.fits(load, ground.load) && hands.fits(taken, ground.unload)
    };
    if !manned || !draft.places[facts.frame].fits(load, gone - load, 1) {
        return None;
    }
    let until = gone + ground.wash_gap;
    let mut wash = hands.find_first(gone, until, facts.wash)?;
    while !wash_fits(draft, facts, wash) {
        wash = hands.find_first(wash + 1, until, facts.wash)?;
    }
    let ready = wash + facts.wash + facts.rest;
    let finish = hands.find_first(ready, ground.horizon, facts.finish)?;
    Some((wash, finish))
}

fn wash_fits(draft: &Draft, facts: &LotFacts, wash: At) -> bool {
    draft.places[TRAY].fits(wash, facts.wash, facts.trays)
        && draft.places[facts.open_rack].fits(wash + facts.wash, facts.open, facts.amount)
}

/// Returns what the orders of `lot` cost when it is done at `done`.
///
/// Lots that are not placed yet are taken to be no later than this one.
fn cost_of_orders(draft: &Draft, lot: usize, done: At) -> i64 {
    let ground = draft.ground;
    let mut cost = 0;
    for &order in &ground.lots[lot].orders {
        let others = Others::of(draft, order, lot);
        let ready = done.max(others.ready);
        let day = if others.all_placed {
            find_pack(draft, order, ready).and_then(|pack| ground.day_of_pack(order, pack))
        } else {
            ground.day_at_best(order, ready)
        };
        cost += ground.order_cost(order, day);
    }
    cost
}

/// What the other lots of an order say about when it can be packed.
struct Others {
    ready: At,
    all_placed: bool,
}

impl Others {
    fn of(draft: &Draft, order: usize, lot: usize) -> Self {
        let mut others = Self {
            ready: 0,
            all_placed: draft.ground.orders[order].possible,
        };
        for &other in &draft.ground.orders[order].lots {
            match draft.done(other) {
                _ if other == lot => {}
                Some(done) => others.ready = others.ready.max(done),
                None => others.all_placed = false,
            }
        }
        others
    }
}

/// The exposures of a lot in ascending order of what they cost at best.
struct Tiers<'d> {
    starts: &'d [Start],
    /// What the orders cost in a tier, and its exposures that are still to come.
    heads: Vec<(i64, std::ops::Range<usize>)>,
    /// The tier in turn, and up to which cost it stays in turn.
    turn: usize,
    until: i64,
}

impl<'d> Tiers<'d> {
    fn new(draft: &Draft<'d>, lot: usize) -> Self {
        let ground = draft.ground;
        let facts = &ground.lots[lot];
        let least: Vec<Option<i64>> = facts
            .orders
            .iter()
            .map(|&order| ground.day_at_best(order, Others::of(draft, order, lot).ready))
            .collect();
        let heads = facts
            .tiers
            .iter()
            .map(|tier| {
                let days = tier.days.iter().zip(&least).zip(&facts.orders);
                let cost = days
                    .map(|((&own, least), &order)| {
                        let day = least.map(|least| least.max(own));
                        ground.order_cost(order, day.filter(|&day| day < i64::MAX))
                    })
                    .sum();
                (cost, tier.starts.clone())
            })
            .collect();
        Self {
            starts: &facts.starts,
            heads,
            turn: 0,
            until: i64::MIN,
        }
    }

    /// Returns the next exposure and what it costs at best.
    fn next(&mut self) -> Option<(usize, i64)> {
        let cost = match self.cost_of(self.turn) {
            Some(cost) if cost <= self.until => cost,
            Some(_) | None => self.change_turn()?,
        };
        let start = self.heads[self.turn].1.next()?;
        Some((start, cost))
    }

    fn cost_of(&self, tier: usize) -> Option<i64> {
        let (base, rest) = self.heads.get(tier)?;
        (!rest.is_empty()).then(|| base + self.starts[rest.start].price)
    }

    fn change_turn(&mut self) -> Option<i64> {
        let (mut first, mut second) = (None, i64::MAX);
        for tier in 0..self.heads.len() {
            let Some(cost) = self.cost_of(tier) else {
                continue;
            };
            match first {
                Some((least, _)) if least <= cost => second = second.min(cost),
                _ => {
                    second = first.map_or(i64::MAX, |(least, _)| least);
                    first = Some((cost, tier));
                }
            }
        }
        let (cost, tier) = first?;
        self.turn = tier;
        self.until = second;
        Some(cost)
    }
}
