//! Every way to lay a few pieces, until one fits or none is left.
//!
//! # Idea
//! Push all pieces of a good layout to the left and up. They can then be named
//! in such an order that no piece has an earlier one to its right-below: each
//! lies in a corner of the staircase around those before it.
//!
//! ```text
//!   ┌──────────┬──┐
//!   │ placed   │··│  o  the corners: the next piece starts at one of them,
//!   │      ┌───o  │     nothing placed lies to the right and below of it
//!   ├──┬───┘······│
//!   │··o··········│
//! ```
//!
//! So it is enough to try, at each corner, each piece that is left, both ways.
//! What lies behind the staircase is lost. A branch ends early when the area
//! that is left is too small, when a piece has no corner, or when the same
//! pieces made the same staircase before. The largest piece without a twin is
//! held in the upper left quarter (by its middle): mirrored layouts are as good.
//!
//! Grows like the factorial; meant for [`super::EXACT_MAX`] pieces.
//!
//! # Sources
//! S. Martello, D. Pisinger, D. Vigo, "The three-dimensional bin packing
//! problem", Operations Research 48 (2000), section 3, for the corners; in two
//! dimensions they miss no layout.

use std::collections::HashSet;

use super::{Place, Rect, Task};

/// A step of the staircase: from `x` on, up to the next step, all down to `depth` is lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
struct Stair {
    x: i64,
    depth: i64,
}

/// Looks for a place for every piece, with at most `tries_max` tries.
///
/// Nothing found with tries to spare means that there is no such layout: 30,000
/// were enough for each of 20,000 random sets of seven.
pub(super) fn find(task: &Task, tries_max: u32) -> Option<Vec<Place>> {
    let order = task.largest_first();
    let pieces: Vec<Rect> = order.iter().map(|&index| task.pieces[index]).collect();
    let mut search = Search {
        frame: task.frame,
        places: vec![Place::default(); pieces.len()],
        left: pieces.iter().fold(0, |left, _| left << 1 | 1),
        held: (0..pieces.len()).find(|&index| is_alone(&pieces, index)),
        pieces,
        seen: HashSet::new(),
        tries_left: tries_max,
    };
    let found = search.place_rest(&[Stair { x: 0, depth: 0 }]);
    found.then(|| task.in_order(&order, &search.places))
}

/// Whether no other piece has this shape.
fn is_alone(pieces: &[Rect], index: usize) -> bool {
    pieces
        .iter()
        .filter(|piece| **piece == pieces[index])
        .count()
        == 1
}

struct Search {
    frame: Rect,
    /// Largest first; equal ones stand together.
    pieces: Vec<Rect>,
    places: Vec<Place>,
    /// One bit for each piece that is still to be laid.
    left: u8,
    /// The piece that stays in the upper left quarter.
    held: Option<usize>,
    /// Pieces and staircases that led nowhere.
    seen: HashSet<(u8, Vec<Stair>)>,
    tries_left: u32,
}

impl Search {
    fn place_rest(&mut self, stairs: &[Stair]) -> bool {
        if self.left == 0 {
            return true;
        }
        if self.tries_left == 0 || !self.may_fit(stairs) {
            return false;
        }
        self.tries_left -= 1;
        if !self.seen.insert((self.left, stairs.to_vec())) {
            return false;
        }
        (0..self.pieces.len()).any(|index| self.is_next(index) && self.place_one(index, stairs))
    }

    fn is_left(&self, index: usize) -> bool {
        self.left & 1 << index != 0
    }

    /// Of equal pieces only the first that is left is tried.
    fn is_next(&self, index: usize) -> bool {
        let twin = index.checked_sub(1).filter(|&before| self.is_left(before));
        let twin_left = twin.is_some_and(|before| self.pieces[before] == self.pieces[index]);
        self.is_left(index) && !twin_left
    }

    fn place_one(&mut self, index: usize, stairs: &[Stair]) -> bool {
        self.left &= !(1 << index);
        for (way, upright) in self.pieces[index].ways() {
            for (number, stair) in stairs.iter().enumerate() {
                if !self.admits(index, way, stair) {
                    continue;
                }
                let Stair { x, depth: y } = *stair;
                self.places[index] = Place { x, y, upright };
                if self.place_rest(&grown(stairs, number, way, self.frame.width)) {
                    return true;
                }
            }
        }
        self.left |= 1 << index;
        false
    }

    fn admits(&self, index: usize, way: Rect, stair: &Stair) -> bool {
        let Rect { width, height } = self.frame;
        let inside = stair.x + way.width <= width && stair.depth + way.height <= height;
        let in_quarter = 2 * stair.x + way.width <= width && 2 * stair.depth + way.height <= height;
        inside && (self.held != Some(index) || in_quarter)
    }

    /// Whether area and corners allow what is left.
    fn may_fit(&self, stairs: &[Stair]) -> bool {
        let rest = || (0..self.pieces.len()).filter(|&index| self.is_left(index));
        let has_corner = |index: usize| {
            let mut ways = Rect::ways(self.pieces[index]);
            ways.any(|(way, _)| stairs.iter().any(|stair| self.admits(index, way, stair)))
        };
        let needed: i64 = rest().map(|index| self.pieces[index].area()).sum();
        let thinnest = rest().map(|index| self.pieces[index].width.min(self.pieces[index].height));
        let thinnest = thinnest.min().unwrap_or(0);
        needed <= self.usable_area(stairs, thinnest) && rest().all(has_corner)
    }

    /// The area outside the staircase, without strips thinner than every piece.
    fn usable_area(&self, stairs: &[Stair], thinnest: i64) -> i64 {
        let Rect { width, height } = self.frame;
        let mut area = 0;
        for (number, stair) in stairs.iter().enumerate() {
            let until = stairs.get(number + 1).map_or(width, |next| next.x);
            let starts = stairs[..=number].iter().rev();
            let depth = starts
                .map(|stair| (width - stair.x, stair.depth))
                .find(|(room, _)| *room >= thinnest)
                .map_or(height, |(_, depth)| depth);
            if height - stair.depth >= thinnest {
                area += (until - stair.x) * (height - depth);
            }
        }
        area
    }
}

/// The staircase with a piece in the corner of stair `number`.
fn grown(stairs: &[Stair], number: usize, piece: Rect, frame_width: i64) -> Vec<Stair> {
    let Stair { x, depth } = stairs[number];
    let (right, bottom) = (x + piece.width, depth + piece.height);
    let mut next: Vec<Stair> = stairs
        .iter()
        .copied()
        .take_while(|stair| stair.depth > bottom)
        .collect();
    let from = stairs[next.len()].x;
    next.push(Stair {
        x: from,
        depth: bottom,
    });
    let behind = stairs.iter().rev().find(|stair| stair.x <= right);
    let behind = behind.expect("the first stair begins at the left edge");
    if right < frame_width {
        next.push(Stair {
            x: right,
            depth: behind.depth,
        });
    }
    next.extend(stairs.iter().filter(|stair| stair.x > right));
    next
}
