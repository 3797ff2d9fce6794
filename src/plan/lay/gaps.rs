//! Many pieces: fill the lowest gap, step back where it does not work out.
//!
//! What is placed has a lower outline of level stretches, the *ledges*. The ledge
//! that lies highest in the frame (the one nearest to the upper edge, the left
//! one of several) is the gap to fill: with a piece at its left end, or with
//! nothing, in which case it sinks to its higher neighbour and the area is lost.
//! The search goes deep first, wide pieces that close the gap before others, and
//! ends after a fixed number of tries. It misses layouts in which a piece lies
//! only under the overhang of another, so finding nothing proves nothing.

use super::{Place, Rect, Task};

/// A level stretch of the outline.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Ledge {
    x: i64,
    width: i64,
    depth: i64,
}

/// Which of the pieces that close the gap, or leave it open, comes first.
type First = fn(Rect) -> i64;

/// The larger one, the wider one, the taller one. No preference is best: each
/// finds layouts quickly on which the others spend a hundred times the tries.
const FIRST: [First; 3] = [|way| -way.area(), |way| -way.width, |way| -way.height];

/// Finds a place for every piece, or nothing after `tries_max` tries.
pub(super) fn find(task: &Task, tries_max: u32) -> Option<Vec<Place>> {
    FIRST
        .into_iter()
        .find_map(|first| find_with(task, first, tries_max / FIRST.len() as u32))
}

fn find_with(task: &Task, first: First, tries_max: u32) -> Option<Vec<Place>> {
    let order = task.largest_first();
    let pieces: Vec<Rect> = order.iter().map(|&index| task.pieces[index]).collect();
    let spare = task.frame.area() - pieces.iter().map(|piece| piece.area()).sum::<i64>();
    let mut search = Search {
        frame: task.frame,
        first,
        places: vec![Place::default(); pieces.len()],
        left: vec![true; pieces.len()],
        left_count: pieces.len(),
        pieces,
        tries_left: tries_max,
    };
    let ledges = [Ledge {
        x: 0,
        width: task.frame.width,
        depth: 0,
    }];
    search
        .fill(&ledges, spare)
        .then(|| task.in_order(&order, &search.places))
}

struct Search {
    frame: Rect,
    first: First,
    /// Largest first; equal ones stand together.
    pieces: Vec<Rect>,
    places: Vec<Place>,
    left: Vec<bool>,
    left_count: usize,
    tries_left: u32,
}

impl Search {
    /// Fills the gap of `ledges`; `spare` is the area that may still be lost.
    fn fill(&mut self, ledges: &[Ledge], spare: i64) -> bool {
        if self.left_count == 0 {
            return true;
        }
        if self.tries_left == 0 || self.lost_below(ledges) > spare {
            return false;
        }
        self.tries_left -= 1;
        let gap = highest(ledges);
        for (index, way, upright) in self.candidates(ledges[gap]) {
            let Ledge { x, depth: y, .. } = ledges[gap];
            self.places[index] = Place { x, y, upright };
            self.left[index] = false;
            self.left_count -= 1;
            if self.fill(&with_piece(ledges, gap, way), spare) {
                return true;
            }
            self.left[index] = true;
            self.left_count += 1;
        }
        let (sunk, lost) = sunk(ledges, gap, self.frame.height);
        lost <= spare && !sunk.is_empty() && self.fill(&sunk, spare - lost)
    }

    /// The area under ledges below which no piece that is left has room.
    fn lost_below(&self, ledges: &[Ledge]) -> i64 {
        let rest = (0..self.pieces.len()).filter(|&index| self.left[index]);
        let thinnest = rest.map(|index| self.pieces[index].height).min();
        let thinnest = thinnest.unwrap_or(0);
        let room = |ledge: &Ledge| self.frame.height - ledge.depth;
        let lost = ledges.iter().filter(|ledge| room(ledge) < thinnest);
        lost.map(|ledge| room(ledge) * ledge.width).sum()
    }

    /// Pieces that go into the gap: those that close it first, then by size.
    fn candidates(&self, gap: Ledge) -> Vec<(usize, Rect, bool)> {
        let room = Rect {
            width: gap.width,
            height: self.frame.height - gap.depth,
        };
        let mut found: Vec<(usize, Rect, bool)> = (0..self.pieces.len())
            .filter(|&index| self.is_next(index))
            .flat_map(|index| {
                let ways = self.pieces[index].ways();
                let fitting = ways.filter(|(way, _)| room.holds(*way));
                fitting.map(move |(way, upright)| (index, way, upright))
            })
            .collect();
        let first = self.first;
        found.sort_by_key(|&(index, way, upright)| {
            (way.width != gap.width, first(way), index, upright)
        });
        found
    }

    /// Of equal pieces only the first that is left is tried.
    fn is_next(&self, index: usize) -> bool {
        let twin = index.checked_sub(1).filter(|&before| self.left[before]);
        let twin_left = twin.is_some_and(|before| self.pieces[before] == self.pieces[index]);
        self.left[index] && !twin_left
    }
}

/// The number of the ledge nearest to the upper edge.
fn highest(ledges: &[Ledge]) -> usize {
    let all = ledges.iter().enumerate();
    all.min_by_key(|(_, ledge)| (ledge.depth, ledge.x))
        .map_or(0, |(number, _)| number)
}

/// The outline with a piece at the left end of ledge `gap`.
fn with_piece(ledges: &[Ledge], gap: usize, piece: Rect) -> Vec<Ledge> {
    let Ledge { x, width, depth } = ledges[gap];
    let mut next = ledges[..gap].to_vec();
    push_joined(
        &mut next,
        Ledge {
            x,
            width: piece.width,
            depth: depth + piece.height,
        },
    );
    if piece.width < width {
        next.push(Ledge {
            x: x + piece.width,
            width: width - piece.width,
            depth,
        });
    }
    for ledge in &ledges[gap + 1..] {
        push_joined(&mut next, *ledge);
    }
    next
}

/// The outline with ledge `gap` sunk to its higher neighbour, and the area lost.
///
/// A gap without neighbours is the whole width: all below is lost then, and
/// the outline is empty.
fn sunk(ledges: &[Ledge], gap: usize, frame_height: i64) -> (Vec<Ledge>, i64) {
    let before = gap.checked_sub(1).map(|number| ledges[number].depth);
    let after = ledges.get(gap + 1).map(|ledge| ledge.depth);
    let Some(depth) = before.into_iter().chain(after).min() else {
        return (
            Vec::new(),
            (frame_height - ledges[gap].depth) * ledges[gap].width,
        );
    };
    let lost = (depth - ledges[gap].depth) * ledges[gap].width;
    let mut next = Vec::with_capacity(ledges.len());
    for (number, ledge) in ledges.iter().enumerate() {
        let depth = if number == gap { depth } else { ledge.depth };
        push_joined(&mut next, Ledge { depth, ..*ledge });
    }
    (next, lost)
}

/// Adds a ledge at the right; one at the same depth becomes longer instead.
fn push_joined(ledges: &mut Vec<Ledge>, ledge: Ledge) {
    match ledges.last_mut() {
        Some(last) if last.depth == ledge.depth => last.width += ledge.width,
        Some(_) | None => ledges.push(ledge),
    }
}
