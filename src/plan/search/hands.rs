//! Which slots still have a free pair of hands.
//!
//! Every manual step takes one person for its whole length, inside one stretch of
//! work hours. Because steps are intervals, counting heads slot by slot is exact
//! for any number of people. A bit per slot says "somebody is free", so that the
//! next fitting start is found by counting bits rather than slots.

use super::At;

/// More people than a plan ever keeps busy.
const OPERATORS_MAX: i64 = 32;

/// Steps from this length on are looked at one start at a time.
const LONG: At = 48;

/// What a person does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Task {
    /// Nothing.
    Nothing,
    /// What may not be moved: setup, loading, unloading, watching, settled washes.
    Fixed,
    /// Coating a lot.
    Coat(u32),
    /// Washing a lot.
    Wash(u32),
    /// Finishing a lot.
    Finish(u32),
    /// Packing an order.
    Pack(u32),
}

/// The people's time: who is taken, and where a step of a given length fits.
#[derive(Debug, Clone)]
pub(super) struct Hands {
    /// Slots of the same stretch of work from here on; negative outside of work.
    reach: Vec<At>,
    /// Heads taken per slot.
    busy: Vec<u16>,
    /// Who keeps them: as many entries per slot as there are people.
    tasks: Vec<Task>,
    /// One bit a slot, set while a head is free inside work hours.
    free: Vec<u64>,
    operators: u16,
}

impl Hands {
    /// Makes the free calendar of `operators` people over `horizon` slots.
    pub(super) fn new(work: &[(At, At)], operators: i64, horizon: At) -> Self {
        let slots = horizon as usize;
        let operators = operators.clamp(0, OPERATORS_MAX) as u16;
        let mut hands = Self {
            reach: vec![-1; slots + 1],
            busy: vec![0; slots],
            tasks: vec![Task::Nothing; slots * usize::from(operators)],
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

    /// Whether a head is free for `length` slots from `at` on, which are known to lie
    /// in one stretch of work.
    pub(super) fn free(&self, at: At, length: At) -> bool {
        if length == 1 {
            self.free[at as usize / 64] >> (at as usize % 64) & 1 == 1
        } else {
            self.run(at, length) >= length
        }
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
            let (mut starts, span) = self.starts(at, length);
            while starts != 0 {
                let found = at + starts.trailing_zeros() as At;
                if found > until {
                    return None;
                }
                if self.reach[found as usize] >= length {
                    return Some(found);
                }
                starts &= starts - 1;
            }
            at += span;
        }
        None
    }

    /// Finds the last fitting start in `[from, until]`.
    pub(super) fn find_last(&self, from: At, until: At, length: At) -> Option<At> {
        let from = from.max(0);
        let mut until = until.min(self.busy.len() as At - length);
        while from <= until {
            let span = span(length);
            let at = (until - span + 1).max(from);
            let (starts, _) = self.starts(at, length);
            let mut starts = starts & ones(until - at + 1);
            while starts != 0 {
                let bit = 63 - starts.leading_zeros();
                let found = at + bit as At;
                if self.reach[found as usize] >= length {
                    return Some(found);
                }
                starts &= !(1 << bit);
            }
            until = at - 1;
        }
        None
    }

    /// Returns from which of the next slots on a head is free for `length` slots, a
    /// bit a slot, and for how many slots this could be told.
    fn starts(&self, at: At, length: At) -> (u64, At) {
        match length {
            0 => (u64::MAX, 64),
            1..LONG => {
                let mut starts = self.bits(at);
                let mut known = 1;
                while known < length {
                    let step = known.min(length - known);
                    starts &= starts >> step;
                    known += step;
                }
                (starts & ones(span(length)), span(length))
            }
            _ => (u64::from(self.run(at, length) >= length), 1),
        }
    }

    /// Takes one person for `length` slots.
    pub(super) fn take(&mut self, at: At, length: At, task: Task) {
        for slot in at..at + length {
            let lanes = self.lanes(slot);
            let free = self.tasks[lanes.clone()]
                .iter()
                .position(|&task| task == Task::Nothing);
            self.tasks[lanes.start + free.expect("a head is free")] = task;
            let busy = &mut self.busy[slot as usize];
            *busy += 1;
            if *busy == self.operators {
                self.set(slot, false);
            }
        }
    }

    /// Takes one person over the part of `[at, at + length)` in which somebody is free.
    pub(super) fn block(&mut self, at: At, length: At) {
        for slot in at..at + length {
            if self.busy[slot as usize] < self.operators {
                self.take(slot, 1, Task::Fixed);
            }
        }
    }

    /// Gives the person back that `take` took.
    pub(super) fn give(&mut self, at: At, length: At, task: Task) {
        for slot in at..at + length {
            let lanes = self.lanes(slot);
            let held = self.tasks[lanes.clone()]
                .iter()
                .position(|&held| held == task);
            self.tasks[lanes.start + held.expect("the task was there")] = Task::Nothing;
            let busy = &mut self.busy[slot as usize];
            *busy -= 1;
            if *busy + 1 == self.operators {
                self.set(slot, true);
            }
        }
    }

    /// Returns the first slot of `[at, at + length)` in which nobody is free.
    pub(super) fn first_full(&self, at: At, length: At) -> Option<At> {
        let run = self.run(at, length);
        (run < length).then_some(at + run)
    }

    /// Returns what people do in a slot.
    pub(super) fn tasks_at(&self, slot: At) -> &[Task] {
        &self.tasks[self.lanes(slot)]
    }

    fn lanes(&self, slot: At) -> std::ops::Range<usize> {
        let people = usize::from(self.operators);
        slot as usize * people..(slot as usize + 1) * people
    }
}

/// Returns how many starts one look at 64 slots can tell about.
fn span(length: At) -> At {
    match length {
        0 => 64,
        1..LONG => 65 - length,
        _ => 1,
    }
}

/// Returns a word with its lowest `count` bits set.
fn ones(count: At) -> u64 {
    match count {
        64.. => u64::MAX,
        _ => (1 << count.max(0)) - 1,
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
        assert_eq!(hands.find_last(0, 30, 5), Some(15));
        assert_eq!(hands.find_last(0, 9, 5), Some(5));
        assert_eq!(hands.find_last(6, 9, 5), None);
    }

    #[test]
    fn two_people_can_do_two_things_at_once() {
        let mut hands = Hands::new(&[(0, 100)], 2, 100);
        hands.take(10, 80, Task::Fixed);
        assert!(hands.fits(0, 100));
        hands.take(20, 70, Task::Wash(3));
        assert_eq!(hands.find_first(15, 100, 6), Some(90));
        hands.give(20, 70, Task::Wash(3));
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
        hands.take(200, 1, Task::Fixed);
        assert!(!hands.fits(5, 250));
        assert_eq!(hands.find_first(5, 300, 99), Some(5));
        assert_eq!(hands.find_first(102, 300, 99), Some(201));
        assert_eq!(hands.find_last(0, 300, 99), Some(201));
        assert_eq!(hands.find_last(0, 190, 99), Some(101));
        assert_eq!(hands.find_last(0, 190, 9), Some(190));
        assert_eq!(hands.find_last(0, 200, 9), Some(191));
    }
}
