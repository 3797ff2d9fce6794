//! What a draft under repair can still come to, at best.
//!
//! A step is taken back if it costs too much in the end. Most are bound to long
//! before their last lot is in: what is placed costs what it costs, and what is
//! still to come costs no less than if nobody else needed hands or places.

use super::draft::Draft;

/// What the lots still to be put in may bring at best.
pub(super) struct Hope {
    /// Orders that may yet be packed, each with what it would save at best.
    orders: Vec<(usize, i64)>,
    /// Least price of the lots still to come.
    prices: i64,
}

impl Hope {
    /// Begins with all of `lots` to come.
    pub(super) fn new(draft: &Draft, lots: &[usize]) -> Self {
        let facts = &draft.ground.lots;
        let mut orders: Vec<usize> = Vec::with_capacity(lots.len());
        for order in lots.iter().flat_map(|&lot| &facts[lot].orders) {
            if !orders.contains(order) {
                orders.push(*order);
            }
        }
        let saved = |order| (order, saved(draft, order, lots));
        Self {
            orders: orders.into_iter().map(saved).collect(),
            prices: lots.iter().map(|&lot| facts[lot].least).sum(),
        }
    }

    /// Looks again after `lot` was tried, with `lots` still to come.
    pub(super) fn look_again(&mut self, draft: &Draft, lot: usize, lots: &[usize]) {
        let facts = &draft.ground.lots[lot];
        self.prices -= facts.least;
        for (order, hoped) in &mut self.orders {
            if facts.orders.contains(order) {
                *hoped = saved(draft, *order, lots);
            }
        }
    }

    /// Returns what `lot` and its orders may cost for the draft to end below `most`.
    pub(super) fn left_for(&self, draft: &Draft, lot: usize, most: i64) -> i64 {
        let facts = &draft.ground.lots[lot];
        let others = self.orders.iter().filter(|o| !facts.orders.contains(&o.0));
        let others: i64 = others.map(|order| order.1).sum();
        let left_out = |&order: &usize| draft.felt_of_order(order, None);
        let own: i64 = facts.orders.iter().map(left_out).sum();
        most.saturating_sub(draft.felt() - others + self.prices - facts.least - own)
    }

    /// Returns what the draft will be felt as at least.
    pub(super) fn least(&self, draft: &Draft) -> i64 {
        let saved: i64 = self.orders.iter().map(|order| order.1).sum();
        draft.felt() - saved + self.prices
    }
}

/// Works out what an order saves at best by being packed, with `lots` still to come.
fn saved(draft: &Draft, order: usize, lots: &[usize]) -> i64 {
    let ground = draft.ground;
    let facts = &ground.orders[order];
    if draft.packs[order].is_some() || !facts.possible {
        return 0;
    }
    let mut ready = 0;
    for &lot in &facts.lots {
        match draft.done(lot) {
            Some(done) => ready = ready.max(done),
            None if lots.contains(&lot) => ready = ready.max(ground.lots[lot].soonest),
            None => return 0,
        }
    }
    let best = ground.day_at_best(order, ready);
    draft.felt_of_order(order, None) - draft.felt_of_order(order, best)
}
