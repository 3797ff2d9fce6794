//! Hands, frames, trays and racks of a rollout: who is busy when.

use super::work::{At, Work};
use crate::plan::grid::PER_DAY;

/// Slots of a day.
const DAY: usize = PER_DAY as usize;
/// Nobody is there.
const AWAY: u8 = u8::MAX;

/// What is taken on one day, and on the racks beyond it.
#[derive(Debug)]
pub struct Desk {
    first: At,
    hands_most: u8,
    frames_most: Vec<u8>,
    trays_most: i64,
    hands: [u8; DAY],
    frames: Vec<[u8; DAY]>,
    trays: [u8; DAY],
    racks: [Rack; 4],
}

/// A rack with what hangs on it.
#[derive(Debug, Clone, Default)]
struct Rack {
    places: i64,
    /// Until when, and how many.
    taken: Vec<(At, i64)>,
}

/// Which rack, with sheets 0 and line 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RackKind {
    /// Dark-dry.
    Dark(usize),
    /// Wet-dry.
    Open(usize),
}

impl RackKind {
    fn index(self) -> usize {
        match self {
            RackKind::Dark(space) => space,
            RackKind::Open(space) => 2 + space,
        }
    }
}

impl Desk {
    /// Sets an empty desk for the studio.
    pub fn new(work: &Work) -> Desk {
        let rack = |places| Rack {
            places,
            taken: Vec::new(),
        };
        Desk {
            first: 0,
            hands_most: work.hands,
            frames_most: work.frames.clone(),
            trays_most: work.trays,
            hands: [AWAY; DAY],
            frames: vec![[0; DAY]; work.frames.len()],
            trays: [0; DAY],
            racks: [
                rack(work.dark[0]),
                rack(work.dark[1]),
                rack(work.open[0]),
                rack(work.open[1]),
            ],
        }
    }

    /// Clears the desk for the day that begins at `first`, with its hours of work.
    pub fn begin_day(&mut self, first: At, stretches: &[(At, At)]) {
        self.first = first;
        self.hands = [AWAY; DAY];
        for (from, until) in stretches {
            let day = 0..DAY as At;
            let (from, until) = (from - first, until - first);
            if day.contains(&from) {
                self.hands[from as usize..(until as usize).min(DAY)].fill(0);
            }
        }
        self.frames.iter_mut().for_each(|frame| *frame = [0; DAY]);
        self.trays = [0; DAY];
        for rack in &mut self.racks {
            rack.taken.retain(|(until, _)| *until > first);
        }
    }

    /// Tells whether a person is free from `from` for `length`.
    pub fn is_free(&self, from: At, length: At) -> bool {
        let Some(range) = self.range(from, length) else {
            return false;
        };
        self.hands[range].iter().all(|busy| *busy < self.hands_most)
    }

    /// Takes a person.
    pub fn take(&mut self, from: At, length: At) {
        if let Some(range) = self.range(from, length) {
            self.hands[range].iter_mut().for_each(|busy| *busy += 1);
        }
    }

    /// Gives a person back who was taken.
    pub fn give_back(&mut self, from: At, length: At) {
        if let Some(range) = self.range(from, length) {
            self.hands[range].iter_mut().for_each(|busy| *busy -= 1);
        }
    }

    /// Tells whether a frame of a kind is free.
    pub fn has_frame(&self, frame: usize, from: At, length: At) -> bool {
        let (Some(range), Some(most)) = (self.range(from, length), self.frames_most.get(frame))
        else {
            return false;
        };
        self.frames[frame][range].iter().all(|busy| busy < most)
    }

    /// Takes a frame.
    pub fn take_frame(&mut self, frame: usize, from: At, length: At) {
        if let Some(range) = self.range(from, length) {
            self.frames[frame][range]
                .iter_mut()
                .for_each(|busy| *busy += 1);
        }
    }

    /// Tells whether trays are free.
    pub fn has_trays(&self, count: i64, from: At, length: At) -> bool {
        let Some(range) = self.range(from, length) else {
            return false;
        };
        let most = self.trays_most - count;
        self.trays[range]
            .iter()
            .all(|busy| i64::from(*busy) <= most)
    }

    /// Takes trays.
    pub fn take_trays(&mut self, count: i64, from: At, length: At) {
        if let Some(range) = self.range(from, length) {
            let count = count.min(100) as u8;
            self.trays[range].iter_mut().for_each(|busy| *busy += count);
        }
    }

    /// Tells whether a rack has places from `from` on.
    ///
    /// What is on it now or comes sooner counts until it goes.
    pub fn has_places(&self, rack: RackKind, count: i64, from: At) -> bool {
        let rack = &self.racks[rack.index()];
        let taken: i64 = rack
            .taken
            .iter()
            .filter(|(until, _)| *until > from)
            .map(|(_, count)| count)
            .sum();
        taken + count <= rack.places
    }

    /// Takes places of a rack until `until`.
    pub fn take_places(&mut self, rack: RackKind, count: i64, until: At) {
        self.racks[rack.index()].taken.push((until, count));
    }

    fn range(&self, from: At, length: At) -> Option<std::ops::Range<usize>> {
        let from = from - self.first;
        let until = from + length;
        (from >= 0 && until <= DAY as At).then_some(from as usize..until as usize)
    }
}
