//! Prices of what is shared.

use super::answer::Answer;
use super::facts::Facts;

/// A unit of cost in the counting of prices, so that whole numbers are fine enough.
pub(super) const SCALE: i64 = 1 << 20;
/// No price is higher, so that sums stay far from the end of the numbers.
const DEAREST: f64 = 1e15;

/// A price for each row of `room`, never below nothing.
#[derive(Debug, Clone)]
pub(super) struct Prices(pub(super) Vec<i64>);

impl Prices {
    /// Everything is free.
    pub(super) fn free(facts: &Facts) -> Prices {
        Prices(vec![0; facts.room.room.len()])
    }

    /// Raises the prices of what is asked for too much and lowers the others, so far
    /// that the answer's value would rise by `rise` if all went straight.
    pub(super) fn mend(&mut self, answer: &Answer, rise: f64) {
        let moves = |price: i64, over: f64| price > 0 || over > 0.0;
        let pairs = || self.0.iter().zip(&answer.over);
        let length: f64 = pairs()
            .filter(|&(&price, &over)| moves(price, over))
            .map(|(_, over)| over * over)
            .sum();
        if length <= 0.0 {
            return;
        }
        let step = rise / length;
        for (price, over) in self.0.iter_mut().zip(&answer.over) {
            *price = (*price as f64 + step * over).clamp(0.0, DEAREST) as i64;
        }
    }
}
