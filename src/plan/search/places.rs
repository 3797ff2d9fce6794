//! How full a rack, the trays or the frames of one size are, slot by slot.

use super::At;

/// A counted resource: places in a rack, trays, frames.
#[derive(Debug, Clone)]
pub(super) struct Places {
    used: Vec<i32>,
    capacity: i32,
}

/// More places than anybody has; keeps sums far from overflow.
pub(super) const PLACES_MAX: i64 = 1 << 24;

impl Places {
    /// Makes an empty resource.
    pub(super) fn new(capacity: i64, horizon: At) -> Self {
        Self {
            used: vec![0; horizon as usize],
            capacity: capacity.clamp(0, PLACES_MAX) as i32,
        }
    }

    /// Whether `amount` more fits over `[at, at + length)`.
    ///
    /// Nothing fits where the place is overfull already, except nothing.
    pub(super) fn fits(&self, at: At, length: At, amount: i32) -> bool {
        if amount <= 0 || length <= 0 {
            return true;
        }
        let most = self.used[self.range(at, length)]
            .iter()
            .fold(0, |most, &used| most.max(used));
        most + amount <= self.capacity
    }

    /// Returns a slot of `[at, at + length)` in which `amount` more does not fit.
    pub(super) fn overfull(&self, at: At, length: At, amount: i32) -> Option<At> {
        if amount <= 0 {
            return None;
        }
        let range = self.range(at, length);
        let full = |&used: &i32| used.max(0) + amount > self.capacity;
        let index = self.used[range.clone()].iter().rposition(full)?;
        Some((range.start + index) as At)
    }

    /// Fills `amount` places over the part of `[at, at + length)` inside the horizon.
    pub(super) fn take(&mut self, at: At, length: At, amount: i32) {
        let range = self.range(at, length);
        self.used[range].iter_mut().for_each(|used| *used += amount);
    }

    /// Empties what `take` filled.
    pub(super) fn give(&mut self, at: At, length: At, amount: i32) {
        self.take(at, length, -amount);
    }

    fn range(&self, at: At, length: At) -> std::ops::Range<usize> {
        let end = (at + length.max(0)).clamp(0, self.used.len() as At);
        at.clamp(0, end) as usize..end as usize
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_full_rack_takes_nothing_more_until_a_place_is_free() {
        let mut rack = Places::new(5, 100);
        rack.take(-20, 30, 4);
        assert!(!rack.fits(9, 5, 2));
        assert!(rack.fits(10, 5, 2));
        rack.give(-20, 30, 4);
        assert!(rack.fits(0, 100, 5));
    }

    #[test]
    fn an_overfull_rack_stays_as_it_is() {
        let mut rack = Places::new(2, 10);
        rack.take(0, 4, 9);
        assert!(!rack.fits(3, 2, 1));
        assert!(rack.fits(3, 2, 0));
        assert!(rack.fits(4, 2, 2));
    }
}
