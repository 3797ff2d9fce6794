//! How full each drying rack is through the days of a plan.
//!
//! What hangs there from before counts like what the plan hangs up. Whether that is
//! too much is for the audit to say; here it is only counted, for a picture.

use super::model::{Capacity, Slot, Space, Timing};
use super::setup::Setup;

/// A drying rack, or a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Rack {
    /// Whether coats dry on it in the dark, or washed prints in the open.
    pub dark: bool,
    /// Sheets or cloth.
    pub space: Space,
}

/// What is on a rack over time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RackFill {
    /// Which rack.
    pub rack: Rack,
    /// How much it holds. [places, or cm of line]
    pub places: i64,
    /// From when, until when and how much of it is taken, ascending.
    uses: Vec<(Slot, Slot, i64)>,
}

impl Rack {
    /// All racks, in the order in which pieces come to them.
    pub const ALL: [Rack; 4] = [
        Rack::new(true, Space::Sheet),
        Rack::new(true, Space::Line),
        Rack::new(false, Space::Sheet),
        Rack::new(false, Space::Line),
    ];

    const fn new(dark: bool, space: Space) -> Rack {
        Rack { dark, space }
    }

    fn places(self, capacity: &Capacity) -> i64 {
        match (self.dark, self.space) {
            (true, Space::Sheet) => capacity.dark_sheet,
            (true, Space::Line) => capacity.dark_line,
            (false, Space::Sheet) => capacity.open_sheet,
            (false, Space::Line) => capacity.open_line,
        }
    }
}

impl RackFill {
    /// Returns the most that is on the rack at one time from `from` to before `until`.
    pub fn most_between(&self, from: Slot, until: Slot) -> i64 {
        let begins = self.uses.iter().map(|(begin, ..)| *begin);
        let moments = begins.filter(|begin| (from..until).contains(begin));
        let taken = |at: Slot| -> i64 {
            let there = self.uses.iter().filter(|(a, b, _)| (*a..*b).contains(&at));
            there.map(|(.., amount)| amount).sum()
        };
        moments.chain([from]).map(taken).max().unwrap_or(0)
    }
}

/// Counts what is on each rack, by a timing and by what was there before it.
pub fn rack_fills(setup: &Setup, timing: &Timing) -> Vec<RackFill> {
    let mut fills: Vec<RackFill> = Rack::ALL
        .into_iter()
        .map(|rack| RackFill {
            rack,
            places: rack.places(&setup.instance.capacity),
            uses: Vec::new(),
        })
        .collect();
    for lot in &setup.instance.lots {
        let steps = timing.lots.get(&lot.id);
        let coated = steps.and_then(|steps| steps.coat).map(|at| at + lot.coat);
        let washed = steps.and_then(|steps| steps.wash).map(|at| at + lot.wash);
        let in_dark = coated.or(lot.coated_end).map(|from| (from, lot.dark));
        let in_open = washed.or(lot.washed_end).map(|from| (from, lot.open));
        for (dark, stay) in [(true, in_dark), (false, in_open)] {
            let Some((from, length)) = stay else { continue };
            let rack = Rack::new(dark, lot.space);
            let fill = fills.iter_mut().find(|fill| fill.rack == rack);
            let fill = fill.expect("every rack has its count");
            fill.uses.push((from, from + length, lot.amount));
        }
    }
    for fill in &mut fills {
        fill.uses.sort_unstable();
    }
    fills
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_most_at_one_time_is_not_the_sum_of_the_hour() {
        let fill = RackFill {
            rack: Rack::ALL[0],
            places: 12,
            uses: vec![(0, 6, 3), (6, 20, 4), (8, 9, 2)],
        };
        assert_eq!(fill.most_between(0, 12), 6);
        assert_eq!(fill.most_between(12, 24), 4);
        assert_eq!(fill.most_between(24, 36), 0);
    }
}
