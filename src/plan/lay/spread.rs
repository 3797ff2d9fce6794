//! Pieces one after the other into the free rectangle that suits best.
//!
//! The free part of the frame is kept as all largest rectangles in it; they may
//! overlap. A piece goes to a corner of the one where it leaves least, judged in
//! three ways, with the pieces in four orders. The first way and order that
//! places everything is the answer.

use std::cmp::Reverse;

use super::{Place, Rect, Task};

/// A free rectangle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Free {
    x: i64,
    y: i64,
    room: Rect,
}

/// What makes a free rectangle suit; smaller is better.
type Suits = fn(&Free, Rect) -> (i64, i64);

const SUITS: [Suits; 3] = [
    |free, piece| {
        let (dx, dy) = left_over(free, piece);
        (dx.min(dy), dx.max(dy))
    },
    |free, piece| (free.room.area() - piece.area(), left_over(free, piece).0),
    |free, piece| (free.y + piece.height, free.x),
];

/// What makes a piece come early; smaller is earlier.
type Early = fn(Rect) -> Reverse<(i64, i64)>;

const EARLY: [Early; 4] = [
    |piece| Reverse((piece.area(), piece.width.max(piece.height))),
    |piece| Reverse((piece.width.max(piece.height), piece.area())),
    |piece| Reverse((piece.width.min(piece.height), piece.area())),
    |piece| Reverse((piece.width + piece.height, piece.area())),
];

fn left_over(free: &Free, piece: Rect) -> (i64, i64) {
    let Rect { width, height } = free.room;
    (width - piece.width, height - piece.height)
}

/// Finds a place for every piece, or nothing; nothing proves nothing.
pub(super) fn find(task: &Task) -> Option<Vec<Place>> {
    let mut order: Vec<usize> = (0..task.pieces.len()).collect();
    for early in EARLY {
        order.sort_by_key(|&index| (early(task.pieces[index]), index));
        let found = SUITS
            .iter()
            .find_map(|suits| place_all(task, &order, suits));
        if found.is_some() {
            return found;
        }
    }
    None
}

fn place_all(task: &Task, order: &[usize], suits: &Suits) -> Option<Vec<Place>> {
    let mut places = vec![Place::default(); task.pieces.len()];
    let mut free = vec![Free {
        x: 0,
        y: 0,
        room: task.frame,
    }];
    for &index in order {
        let (place, taken) = best_place(&free, task.pieces[index], suits)?;
        places[index] = place;
        free = without(&free, taken);
    }
    Some(places)
}

fn best_place(free: &[Free], piece: Rect, suits: &Suits) -> Option<(Place, Free)> {
    let fitting = free.iter().flat_map(|free| {
        let ways = piece.ways().filter(|(way, _)| free.room.holds(*way));
        ways.map(move |(way, upright)| (*free, way, upright))
    });
    fitting
        .min_by_key(|(free, way, upright)| (suits(free, *way), free.y, free.x, *upright))
        .map(|(free, room, upright)| {
            let Free { x, y, .. } = free;
            (Place { x, y, upright }, Free { x, y, room })
        })
}

/// The free rectangles once `taken` is not free any more.
fn without(free: &[Free], taken: Free) -> Vec<Free> {
    let mut parts: Vec<Free> = Vec::with_capacity(free.len() + 4);
    for free in free {
        match overlap(free, &taken) {
            true => parts.extend(rims(free, &taken)),
            false => parts.push(*free),
        }
    }
    parts.sort_by_key(|part| (Reverse(part.room.area()), part.y, part.x));
    let mut largest: Vec<Free> = Vec::with_capacity(parts.len());
    for part in parts {
        if !largest.iter().any(|kept| covers(kept, &part)) {
            largest.push(part);
        }
    }
    largest
}

fn overlap(a: &Free, b: &Free) -> bool {
    a.x < b.x + b.room.width
        && b.x < a.x + a.room.width
        && a.y < b.y + b.room.height
        && b.y < a.y + a.room.height
}

fn covers(a: &Free, b: &Free) -> bool {
    a.x <= b.x
        && a.y <= b.y
        && b.x + b.room.width <= a.x + a.room.width
        && b.y + b.room.height <= a.y + a.room.height
}

/// What is left of `free` to the left, right, top and bottom of `taken`.
fn rims(free: &Free, taken: &Free) -> impl Iterator<Item = Free> {
    let (right, bottom) = (free.x + free.room.width, free.y + free.room.height);
    let (taken_right, taken_bottom) = (taken.x + taken.room.width, taken.y + taken.room.height);
    let part = |x: i64, y: i64, right: i64, bottom: i64| Free {
        x,
        y,
        room: Rect {
            width: right - x,
            height: bottom - y,
        },
    };
    [
        part(free.x, free.y, taken.x, bottom),
        part(taken_right, free.y, right, bottom),
        part(free.x, free.y, right, taken.y),
        part(free.x, taken_bottom, right, bottom),
    ]
    .into_iter()
    .filter(|part| part.room.width > 0 && part.room.height > 0)
}
