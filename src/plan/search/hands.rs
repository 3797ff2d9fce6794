//! Which slots still have a free pair of hands.
//!
//! Every manual step takes one person for its whole length, inside one stretch of
//! work hours. Because steps are intervals, counting heads slot by slot is exact
//! for any number of people. A bit per slot says "somebody is free", so that the
//! next fitting start is found by counting bits rather than slots.

use super::At;

/// The people's time: who is taken, and where a step of a given length fits.
#[derive(Debug, Clone)]
pub(super) struct Hands {
    /// Slots of the same stretch of work from here on; negative outside of work.
    reach: Vec<At>,
    /// Heads taken per slot.
    busy: Vec<u16>,
    /// One bit a slot, set while a head is free inside work hours.
    free: Vec<u64>,
    operators: u16,
}

impl Hands {
    /// Makes the free calendar of `operators` people over `horizon` slots.
    pub(super) fn new(work: &[(At, At)], operators: i64, horizon: At) -> Self {
        let slots = horizon as usize;
        let operators = operators.clamp(0, i64::from(u16::MAX)) as u16;
        let mut hands = Self {
            reach: vec![-1; slots + 1],
            busy: vec![0; slots],
            free: vec![0; slots / 64 + 2],
            operators,
        };
        for &(begin, end) in work {
            for at in begin..=end {
                let reach = &mut hands.reach[at as usize];
                *reach = (*reach).max(end - at);
            }
            if operators > 0 {
                (begin..end).for_each(|at| hands.set(at, true));
            }
        }
        hands
    }

    fn set(&mut self, at: At, free: bool) {
        let (word, bit) = (at as usize / 64, at as usize % 64);
        if free {
            self.free[word] |= 1 << bit;
        } else {
            self.free[word] &= !(1 << bit);
        }
    }

    /// Returns 64 free-bits from `at` on.
    fn bits(&self, at: At) -> u64 {
        let (word, bit) = (at as usize / 64, at as usize % 64);
        let low = self.free[word] >> bit;
        if bit == 0 {
            low
        } else {
            low | self.free[word + 1] << (64 - bit)
        }
    }

    /// Returns how many slots from `at` on are free without a gap, counted up to `most`.
    fn run(&self, at: At, most: At) -> At {
        let mut length = 0;
        while length < most {
            let ones = self.bits(at + length).trailing_ones() as At;
            length += ones;
            if ones < 64 || (at + length) as usize >= self.busy.len() {
                break;
            }
        }
        length.min(most)
    }

    /// Whether one person can work for `length` slots from `at` on.
    pub(super) fn fits(&self, at: At, length: At) -> bool {
        self.in_work(at, length) && self.run(at, length) >= length
    }

    /// Whether `[at, at + length)` lies inside one stretch of work.
    pub(super) fn in_work(&self, at: At, length: At) -> bool {
        at >= 0 && (at as usize) < self.reach.len() && self.reach[at as usize] >= length
    }

    /// Finds the first fitting start in `[from, until]`.
    pub(super) fn find_first(&self, from: At, until: At, length: At) -> Option<At> {
        let until = until.min(self.busy.len() as At - length);
        let mut at = from.max(0);
        while at <= until {
            let run = self.run(at, length);
            if run >= length && self.reach[at as usize] >= length {
                return Some(at);
            }
            at += run.min(length - 1).max(0) + 1;
            if length > 0 {
                at = self.next_free(at, until);
            }
        }
        None
    }

    /// Returns the first free slot at or after `at`, or a slot after `until`.
    fn next_free(&self, mut at: At, until: At) -> At {
        while at <= until {
            let zeros = self.bits(at).trailing_zeros() as At;
            at += zeros;
            if zeros < 64 {
                break;
            }
        }
        at
    }

    /// Takes one person for `length` slots.
    pub(super) fn take(&mut self, at: At, length: At) {
        for slot in at..at + length {
            let busy = &mut self.busy[slot as usize];
            *busy += 1;
            if *busy == self.operators {
                self.set(slot, false);
            }
        }
    }

    /// Gives the person back that `take` took.
    pub(super) fn give(&mut self, at: At, length: At) {
        for slot in at..at + length {
            let busy = &mut self.busy[slot as usize];
            *busy -= 1;
            if *busy + 1 == self.operators {
                self.set(slot, true);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_never_spans_two_stretches_that_touch() {
        let hands = Hands::new(&[(0, 10), (10, 20)], 1, 30);
        assert!(hands.fits(7, 3));
        assert!(!hands.fits(8, 3));
        assert_eq!(hands.find_first(8, 30, 3), Some(10));
    }

    #[test]
    fn two_people_can_do_two_things_at_once() {
        let mut hands = Hands::new(&[(0, 100)], 2, 100);
        hands.take(10, 80);
        assert!(hands.fits(0, 100));
        hands.take(20, 70);
        assert_eq!(hands.find_first(15, 100, 6), Some(90));
        hands.give(20, 70);
        assert_eq!(hands.find_first(15, 100, 6), Some(15));
    }

    #[test]
    fn nobody_there_means_no_start_at_all() {
        let hands = Hands::new(&[(0, 100)], 0, 100);
        assert_eq!(hands.find_first(0, 100, 1), None);
        assert_eq!(Hands::new(&[], 1, 0).find_first(0, 0, 0), None);
    }

    #[test]
    fn a_long_step_is_measured_beyond_one_word() {
        let mut hands = Hands::new(&[(0, 300)], 1, 300);
        assert!(hands.fits(5, 250));
        hands.take(200, 1);
        assert!(!hands.fits(5, 250));
        assert_eq!(hands.find_first(5, 300, 99), Some(5));
        assert_eq!(hands.find_first(102, 300, 99), Some(201));
    }
}
