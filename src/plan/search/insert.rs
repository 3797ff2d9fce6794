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
use super::draft::{Draft, Steps, Sun};
use super::ground::{Come, LotFacts, Start, TRAY};
use super::leeway::Rush;
use super::{coating, home, leeway, squeeze};

/// What an insertion leaves to chance.
pub(super) struct Whim<'a> {
    pub(super) rng: &'a mut SmallRng,
    /// How often a fitting place is passed over, so that searches do not repeat.
    /// [1 in 2³²]
    pub(super) blink: u32,
    /// How many exposures may be tried by pushing other steps aside.
    pub(super) pushes: usize,
    /// Which hours are in demand.
    pub(super) rush: &'a mut Rush,
    /// Whether steps with leeway keep out of the rush.
    pub(super) quiet: bool,
}

impl Whim<'_> {
    pub(super) fn blinks(&mut self) -> bool {
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

/// Puts `lot` in where it costs least, and less than `cap`, and packs the orders that
/// it completes.
///
/// Returns whether it is in; without a place the draft stays as it was.
pub(super) fn insert(draft: &mut Draft, lot: usize, cap: i64, whim: &mut Whim) -> bool {
    let steps = match draft.ground.lots[lot].come {
        Come::Never => None,
        Come::Washing { ready, .. } | Come::Washed(ready) => rest_of(draft, lot, ready)
            .map(|rest| home::steps(draft, lot, rest_cost(draft, lot, &rest)).unwrap_or(rest)),
        Come::Fresh | Come::Coated(_) => {
            let survey = survey(draft, lot, cap, whim);
            if squeeze::squeeze_in(draft, lot, &survey, whim) {
                return true;
            }
            let home = home::steps(draft, lot, survey.limit());
            home.or_else(|| complete(draft, lot, survey.offer?, whim))
        }
    };
    let Some(steps) = steps else {
        return false;
    };
    draft.put_lot(lot, steps);
    for index in 0..draft.ground.lots[lot].orders.len() {
        pack(draft, draft.ground.lots[lot].orders[index], whim);
    }
    true
}

/// Packs an order as early as hands allow, if all its lots are placed.
pub(super) fn pack(draft: &mut Draft, order: usize, whim: &mut Whim) {
    let Some(ready) = draft.ready(order) else {
        return;
    };
    if let Some(at) = find_pack(draft, order, ready) {
        let at = match home::pack(draft, order, at) {
            Some(home) => home,
            None if whim.quiet => leeway::pack(draft, order, at, whim),
            None => at,
        };
        draft.put_order(order, at);
    }
}

pub(super) fn find_pack(draft: &Draft, order: usize, ready: At) -> Option<At> {
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

fn rest_cost(draft: &Draft, lot: usize, rest: &Steps) -> i64 {
    cost_of_orders(draft, lot, rest.finish + draft.ground.lots[lot].finish)
}

/// What there is for a lot that is still to be exposed.
pub(super) struct Survey {
    /// What a place may cost at most.
    cap: i64,
    /// The cheapest that is free.
    offer: Option<Offer>,
    /// Cheaper exposures, for which hands would have to be freed, with what they cost
    /// at best beside the risk and the orders: a new session or nothing.
    pub(super) blocked: Vec<(usize, i64)>,
}

impl Survey {
    /// Returns below what another place is worth having.
    pub(super) fn limit(&self) -> i64 {
        self.offer.map_or(self.cap, |offer| offer.cost)
    }
}

/// Looks for the cheapest free place below `cap`, and for cheaper ones that are
/// blocked by hands.
fn survey(draft: &Draft, lot: usize, cap: i64, whim: &mut Whim) -> Survey {
    let ground = draft.ground;
    let facts = &ground.lots[lot];
    let mut outlook = match facts.come {
        Come::Fresh => Some(coating::Outlook::new(draft, facts)),
        _ => None,
    };
    let session_price = ground.instance.weights.session;
    let mut survey = Survey {
        cap,
        offer: None,
        blocked: Vec::new(),
    };
    let soonest = outlook.as_mut().map_or(0, |outlook| outlook.soonest_load());
    let mut limit = cap;
    let mut tiers = Tiers::new(draft, lot, cap);
    while let Some((base, run)) = tiers.next_run() {
        for index in run {
            let start = &facts.starts[index];
            let least = base + start.price;
            if least >= limit {
                whim.rush.trace(limit);
                return survey;
            }
            let load = start.at - ground.load;
            if load < soonest {
                continue;
            }
            let unmanned = unmanned(draft, facts, start);
            if let Some(slot) = unmanned
                && survey.blocked.len() >= whim.pushes
            {
                whim.rush.note(slot, least);
                continue;
            }
            let extra = match &mut outlook {
                None => 0,
                Some(outlook) => match outlook.opening(load) {
                    None => continue,
                    Some(opening) => i64::from(opening) * session_price,
                },
            };
            if least + extra >= limit {
                continue;
            }
            let rest = match unmanned {
                None => after(draft, facts, start),
                Some(slot) => {
                    whim.rush.note(slot, least + extra);
                    None
                }
            };
            let Some((wash, finish)) = rest else {
                if survey.blocked.len() < whim.pushes && !whim.blinks() {
                    let whole = start.length + ground.load + ground.unload;
                    if draft.places[facts.frame].fits(load, whole, 1) {
                        survey.blocked.push((index, extra));
                    }
                }
                continue;
            };
            if whim.blinks() {
                continue;
            }
            let cost = start.price + extra + cost_of_orders(draft, lot, finish + facts.finish);
            if cost < limit {
                limit = cost;
                let (at, length, price) = (start.at, start.length, start.price);
                let sun = Sun {
                    at,
                    length,
                    price,
                    wash,
                };
                survey.offer = Some(Offer { cost, sun, finish });
            }
        }
    }
    whim.rush.trace(limit);
    survey
}

/// Adds the coating to what was found for the steps after it.
fn complete(draft: &Draft, lot: usize, offer: Offer, whim: &mut Whim) -> Option<Steps> {
    let facts = &draft.ground.lots[lot];
    let load = offer.sun.at - draft.ground.load;
    let coat = match facts.come {
        Come::Fresh => Some(coating::choose(draft, facts, load, whim.rng)?),
        _ => None,
    };
    let mut steps = Steps {
        coat,
        sun: Some(offer.sun),
        finish: offer.finish,
    };
    if whim.quiet {
        keep_out_of_rush(draft, lot, &mut steps, whim);
    }
    Some(steps)
}

fn keep_out_of_rush(draft: &Draft, lot: usize, steps: &mut Steps, whim: &mut Whim) {
    let facts = &draft.ground.lots[lot];
    steps.finish = leeway::finish(draft, lot, steps.finish, whim);
    if let Some(sun) = steps.sun {
        let wash = leeway::wash(draft, lot, sun, whim);
        if wash + facts.wash + facts.rest <= steps.finish {
            steps.sun = Some(Sun { wash, ..sun });
        }
    }
}

/// Finds the step of an exposure for which nobody is free.
fn unmanned(draft: &Draft, facts: &LotFacts, start: &Start) -> Option<At> {
    let ground = draft.ground;
    let (load, taken) = (start.at - ground.load, start.at + start.length);
    let hands = &draft.hands;
    if facts.attended {
        let whole = ground.load + start.length + ground.unload;
        (!hands.free(load, whole)).then_some(load)
    } else if !hands.free(load, ground.load) {
        Some(load)
    } else {
        (!hands.free(taken, ground.unload)).then_some(taken)
    }
}

/// Finds wash and finishing after an exposure, if the frame is free for it.
fn after(draft: &Draft, facts: &LotFacts, start: &Start) -> Option<(At, At)> {
    let ground = draft.ground;
    let (load, taken) = (start.at - ground.load, start.at + start.length);
    let gone = taken + ground.unload;
    let hands = &draft.hands;
    if !draft.places[facts.frame].fits(load, gone - load, 1) {
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

pub(super) fn wash_fits(draft: &Draft, facts: &LotFacts, wash: At) -> bool {
    draft.places[TRAY].fits(wash, facts.wash, facts.trays)
        && draft.places[facts.open_rack].fits(wash + facts.wash, facts.open, facts.amount)
}

/// Returns what the orders of `lot` cost when it is done at `done`.
///
/// Lots that are not placed yet are taken to be no later than this one.
pub(super) fn cost_of_orders(draft: &Draft, lot: usize, done: At) -> i64 {
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
        cost += draft.felt_of_order(order, day);
    }
    cost
}

/// What the other lots of an order say about when it can be packed.
pub(super) struct Others {
    pub(super) ready: At,
    pub(super) all_placed: bool,
}

impl Others {
    pub(super) fn of(draft: &Draft, order: usize, lot: usize) -> Self {
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
pub(super) struct Tiers<'d> {
    starts: &'d [Start],
    /// What the orders cost in a tier, and its exposures that are still to come.
    heads: Vec<(i64, std::ops::Range<usize>)>,
}

impl<'d> Tiers<'d> {
    /// Begins with the exposures that may cost less than `cap`.
    pub(super) fn new(draft: &Draft<'d>, lot: usize, cap: i64) -> Self {
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
            .filter_map(|tier| {
                let days = tier.days.iter().zip(&least).zip(&facts.orders);
                let cost = days
                    .map(|((&own, least), &order)| {
                        let day = least.map(|least| least.max(own));
                        draft.felt_of_order(order, day.filter(|&day| day < i64::MAX))
                    })
                    .sum::<i64>();
                let least = cost + facts.starts[tier.starts.start].price;
                (least < cap).then(|| (cost, tier.starts.clone()))
            })
            .collect();
        Self {
            starts: &facts.starts,
            heads,
        }
    }

    /// Returns what the orders cost in the tier in turn, and a run of its exposures,
    /// none of which costs more than any that comes later.
    pub(super) fn next_run(&mut self) -> Option<(i64, std::ops::Range<usize>)> {
        let (mut least, mut next) = (None, i64::MAX);
        for (tier, (base, rest)) in self.heads.iter().enumerate() {
            if rest.is_empty() {
                continue;
            }
            let cost = base + self.starts[rest.start].price;
            match least {
                Some((_, best)) if best <= cost => next = next.min(cost),
                _ => {
                    next = least.map_or(i64::MAX, |(_, best)| best);
                    least = Some((tier, cost));
                }
            }
        }
        let (tier, _) = least?;
        let (base, rest) = &mut self.heads[tier];
        let cheap = |start: &&Start| start.price <= next.saturating_sub(*base);
        let count = self.starts[rest.clone()].iter().take_while(cheap).count();
        let count = count.max(1);
        let run = rest.start..rest.start + count;
        rest.start = run.end;
        Some((*base, run))
    }
}
