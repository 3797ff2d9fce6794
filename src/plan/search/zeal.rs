//! Which orders the search cares for most.
//!
//! An order that stays late counts more and more, until its lateness is dearer than
//! that of others: then it comes in, others must make way, and they count more in
//! their turn. So the search tries one after the other who could wait, where with even
//! counts it would keep to its first choice.

use super::draft::Draft;

/// What one part of lateness counts in the common run. [1 in 16]
const PLAIN: i64 = 16;
/// What it counts at most, and by how much that changes at a time. [1 in 16]
const MOST: i64 = 32;
const STRIDE: i64 = 2;

/// How much the lateness of each order counts, and what all of it comes to.
#[derive(Debug, Clone)]
pub(super) struct Zeal {
    /// [1 in 16]
    orders: Vec<i64>,
    /// Weighted lateness, each order's as much as it counts. [1 in 16]
    total: i64,
}

impl Zeal {
    /// Begins with no order before the others, and `late` weighted order-days.
    pub(super) fn new(orders: usize, late: i64) -> Self {
        Self {
            orders: vec![PLAIN; orders],
            total: PLAIN * late,
        }
    }

    /// Notes that an order is so much later.
    pub(super) fn charge(&mut self, order: usize, late: i64) {
        self.total += self.orders[order] * late;
    }

    /// Returns what all lateness counts, at so much for each order-day.
    pub(super) fn total(&self, pressure: i64) -> i64 {
        self.total * pressure / PLAIN
    }

    /// Returns what an order counts that is so late.
    pub(super) fn of(&self, order: usize, late: i64, pressure: i64) -> i64 {
        late * self.orders[order] * pressure / PLAIN
    }
}

impl Draft<'_> {
    /// Lets those count more that are later than they need be, the others less.
    pub(super) fn press(&mut self) {
        self.reckon(|needless, zeal| match needless {
            true => (zeal + STRIDE).min(MOST),
            false => (zeal - STRIDE).max(PLAIN),
        });
    }

    /// Lets all count alike.
    pub(super) fn relax(&mut self) {
        self.reckon(|_, _| PLAIN);
    }

    fn reckon(&mut self, next: impl Fn(bool, i64) -> i64) {
        self.zeal.total = 0;
        for order in 0..self.packs.len() {
            let zeal = next(self.is_needlessly_late(order), self.zeal.orders[order]);
            self.zeal.orders[order] = zeal;
            self.zeal.charge(order, self.late_of(order));
        }
    }
}
