//! Up to seven rectangles against every layout on a grid.
//!
//! Whole-numbered rectangles in a whole-numbered frame need only whole-numbered
//! places: pushed left and up, every side lies at a sum of sides.

use fairday::plan::lay::{EXACT_MAX, lay};
use fairday::units::Length;
use rand::rngs::SmallRng;
use rand::{Rng, SeedableRng};

use super::{assert_good, size};

/// A frame of up to 8×8 cells, one bit a cell, row by row.
struct Grid {
    width: u32,
    height: u32,
}

impl Grid {
    /// The cells of a rectangle, if it lies inside.
    fn cells(&self, x: u32, y: u32, (width, height): (u32, u32)) -> Option<u64> {
        let inside = x + width <= self.width && y + height <= self.height;
        let row = ((1_u64 << width) - 1) << x;
        inside.then(|| (y..y + height).fold(0, |cells, line| cells | row << (8 * line)))
    }

    /// Whether the pieces left fit into the cells that are not taken: for each
    /// cell in turn, a piece begins there, or none does.
    fn fits(&self, cell: u32, taken: u64, left: &mut Vec<(u32, u32)>) -> bool {
        if left.is_empty() {
            return true;
        }
        if cell == self.width * self.height {
            return false;
        }
        let (x, y) = (cell % self.width, cell / self.width);
        for index in 0..left.len() {
            let (width, height) = left.remove(index);
            for way in [(width, height), (height, width)] {
                let Some(cells) = self.cells(x, y, way) else {
                    continue;
                };
                if cells & taken == 0 && self.fits(cell + 1, taken | cells, left) {
                    return true;
                }
            }
            left.insert(index, (width, height));
        }
        let free = !taken & self.rest_after(cell);
        let needed: u32 = left.iter().map(|(width, height)| width * height).sum();
        needed <= free.count_ones() && self.fits(cell + 1, taken, left)
    }

    /// All cells after `cell`.
    fn rest_after(&self, cell: u32) -> u64 {
        (cell + 1..self.width * self.height).fold(0, |cells, cell| {
            cells | 1 << (8 * (cell / self.width) + cell % self.width)
        })
    }
}

/// Draws frames and pieces whose area is near to that of the frame.
fn draw(rng: &mut SmallRng) -> (Grid, Vec<(u32, u32)>) {
    let grid = Grid {
        width: rng.random_range(3..=8),
        height: rng.random_range(3..=8),
    };
    let count = rng.random_range(2..=EXACT_MAX);
    let mut room = grid.width * grid.height + 2;
    let mut pieces = Vec::new();
    for _ in 0..count {
        let piece = (rng.random_range(1..=5), rng.random_range(1..=4));
        if piece.0 * piece.1 <= room {
            room -= piece.0 * piece.1;
            pieces.push(piece);
        }
    }
    (grid, pieces)
}

/// The margin is tried by scaling the grid: a piece of n cells that are 10 wide
/// has a side of 10n − 3, a frame likewise, and 3 lie between pieces.
#[test]
fn up_to_seven_pieces_fit_exactly_when_trying_everything_says_so() {
    let mut rng = SmallRng::seed_from_u64(7);
    let (mut fitting, mut tried) = (0, 0);
    for _ in 0..3_000 {
        let (grid, mut pieces) = draw(&mut rng);
        let expected = grid.fits(0, 0, &mut pieces.clone());
        pieces.sort_unstable();
        for (cell, margin) in [(1, 0), (10, 3)] {
            let side = |cells: u32| cells * cell - margin;
            let frame = size(side(grid.width), side(grid.height));
            let sizes: Vec<_> = pieces
                .iter()
                .map(|&(width, height)| size(side(width), side(height)))
                .collect();
            let found = lay(frame, Length(margin), &sizes);
            assert_eq!(found.is_some(), expected, "{frame:?} {pieces:?}");
            if let Some(places) = found {
                assert_good(frame, Length(margin), &sizes, &places);
            }
        }
        tried += 1;
        fitting += u32::from(expected);
    }
    // A test in which everything fits, or nothing, would say little.
    assert!(
        (tried / 5..tried * 4 / 5).contains(&fitting),
        "{fitting} of {tried}"
    );
}
