//! Where steps with leeway lie best: in hours that nobody else wants.
//!
//! Washing, finishing and packing have leeway; light has its hours. While searching,
//! every exposure that would have been cheaper but found the hands busy leaves a
//! trace in the hour in which it did: the *rush*. Steps with leeway are then put
//! where there is least rush, as long as no order gets later by it.

use rand::Rng;

use super::At;
use super::draft::{Draft, Sun};
use super::insert::{Others, Whim, find_pack, wash_fits};

/// Moments drawn for finishing and for packing.
const DRAWN: usize = 6;
/// What a slot counts at most, in units of the cost.
const TRACE_MAX: i64 = 5_000;
/// How fast traces fade.
const FADING: f32 = 0.6;

/// How much each slot is in demand.
#[derive(Debug, Clone)]
pub(super) struct Rush {
    slots: Vec<f32>,
    /// Busy slots found in one survey, with what could have been had there.
    found: Vec<(At, i64)>,
}

impl Rush {
    pub(super) fn new(horizon: At) -> Self {
        Self {
            slots: vec![0.0; horizon as usize + 1],
            found: Vec::new(),
        }
    }

    /// Notes that an exposure of this cost found the hands busy at `slot`.
    pub(super) fn note(&mut self, slot: At, cost: i64) {
        self.found.push((slot, cost));
    }

    /// Ends a survey whose answer cost `cost`.
    pub(super) fn trace(&mut self, cost: i64) {
        for (slot, had) in self.found.drain(..) {
            let lost = cost.saturating_sub(had).clamp(0, TRACE_MAX);
            self.slots[slot as usize] += lost as f32;
        }
    }

    /// Lets old traces fade.
    pub(super) fn fade(&mut self) {
        self.slots.iter_mut().for_each(|slot| *slot *= FADING);
    }

    fn over(&self, at: At, length: At) -> f32 {
        self.slots[at as usize..(at + length) as usize].iter().sum()
    }
}

/// Chooses the wash with least rush.
pub(super) fn wash(draft: &Draft, lot: usize, sun: Sun, whim: &Whim) -> At {
    let facts = &draft.ground.lots[lot];
    let last = sun.at + sun.length + draft.ground.unload + draft.ground.wash_gap;
    let mut best = (whim.rush.over(sun.wash, facts.wash), sun.wash);
    let mut from = sun.wash + 1;
    while let Some(at) = draft.hands.find_first(from, last, facts.wash) {
        let rush = whim.rush.over(at, facts.wash);
        if rush < best.0 && wash_fits(draft, facts, at) {
            best = (rush, at);
        }
        from = at + 1;
    }
    best.1
}

/// Chooses a finishing with little rush, after which no order leaves later than its
/// promise and than after `finish`.
pub(super) fn finish(draft: &Draft, lot: usize, finish: At, whim: &mut Whim) -> At {
    let ground = draft.ground;
    let facts = &ground.lots[lot];
    let mut last = ground.horizon - facts.finish;
    for &order in &facts.orders {
        let others = Others::of(draft, order, lot);
        let ready = others.ready.max(finish + facts.finish);
        if let Some(pack) = find_pack(draft, order, ready) {
            last = last.min(ground.last_pack(order, pack) - facts.finish);
        }
    }
    let mut best = (whim.rush.over(finish, facts.finish), finish);
    for _ in 0..DRAWN {
        if last <= finish || best.0 <= 0.0 {
            break;
        }
        let from = whim.rng.random_range(finish..=last);
        let Some(at) = draft.hands.find_first(from, last, facts.finish) else {
            continue;
        };
        let rush = whim.rush.over(at, facts.finish);
        let timely = |&order: &usize| {
            let others = Others::of(draft, order, lot);
            let pack = |done: At| find_pack(draft, order, done.max(others.ready));
            match (pack(finish + facts.finish), pack(at + facts.finish)) {
                (None, _) => true,
                (Some(_), None) => false,
                (Some(soon), Some(late)) => late <= ground.last_pack(order, soon),
            }
        };
        if rush < best.0 && facts.orders.iter().all(timely) {
            best = (rush, at);
        }
    }
    best.1
}

/// Chooses a packing with little rush, no later than the promise and than `pack`.
pub(super) fn pack(draft: &Draft, order: usize, pack: At, whim: &mut Whim) -> At {
    let length = draft.ground.orders[order].pack;
    let last = draft.ground.last_pack(order, pack);
    let mut best = (whim.rush.over(pack, length), pack);
    for _ in 0..DRAWN {
        if last <= pack || best.0 <= 0.0 {
            break;
        }
        let from = whim.rng.random_range(pack..=last);
        if let Some(at) = draft.hands.find_first(from, last, length) {
            let rush = whim.rush.over(at, length);
            if rush < best.0 {
                best = (rush, at);
            }
        }
    }
    best.1
}
