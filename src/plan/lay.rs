//! Do these pieces fit into that frame side by side, and where do they lie?
//!
//! A piece may be turned by 90°. Between two pieces stays a margin, so that
//! coats do not touch and a sheet can be taken out alone; to the edge there is
//! none: a frame that is called A4 takes an A4 sheet. Who keeps a border free
//! passes the frame [`without_border`].
//!
//! ```text
//!   frame, inside           x to the right, y down, from the corner at the top left
//!   ┌────────┬─┬─────┐
//!   │        │ │     │      a piece that grows by the margin to the right and
//!   │   1    │m│  2  │      downwards, in a frame that grows likewise, must only
//!   │        │ │     │      not overlap: the margin is gone from the problem
//!   ├────────┘ └─────┤
//! ```
//!
//! # How
//! 1. `spread` puts pieces one after the other into free rectangles, in several
//!    orders; most sets that fit are found there.
//! 2. `gaps` fills the highest gap first and steps back where that leads nowhere;
//!    it finds tight layouts of many pieces, and ends after a number of tries.
//! 3. Up to [`EXACT_MAX`] pieces `corners` tries everything: the answer is exact.
//!
//! Lengths are whole tenths of a millimetre, so nothing is lost by rounding, and
//! the same pieces in the same order always lie the same way.

mod corners;
mod gaps;
mod spread;

use crate::size::Size;
use crate::units::Length;

/// The number of pieces up to which [`lay`] is never wrong.
pub const EXACT_MAX: usize = 7;

/// Tries of `gaps`, enough for 21 squares that fill a frame without a gap.
const GAP_TRIES_MAX: u32 = 240_000;

/// Tries of `gaps` where `corners` follows.
const GAP_TRIES_FEW: u32 = 1_500;

/// A frame's side is read as at most this, so that areas can be added up. [0.1 mm]
const SIDE_MAX: i64 = 10_000_000;

/// Where a piece lies in its frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Laid {
    /// From the left edge of the frame. [0.1 mm]
    pub x: Length,
    /// From the upper edge of the frame. [0.1 mm]
    pub y: Length,
    /// Whether its width lies along the frame's height.
    pub turned: bool,
}

/// Lays `pieces` into `frame` with `margin` between them; one place for each.
///
/// `None` if they do not fit. For more than [`EXACT_MAX`] pieces a tight fit may
/// be missed; a place that is given is always good.
///
/// # Example
/// ```
/// use fairday::plan::lay::lay;
/// use fairday::size::Size;
/// use fairday::units::Length;
///
/// let frame = Size::from_mm(210.0, 297.0);
/// let sheet = Size::from_mm(148.0, 210.0);
/// assert!(lay(frame, Length(0), &[sheet; 2]).is_some()); // both turned
/// assert!(lay(frame, Length(20), &[sheet; 2]).is_none()); // 2 mm are too much
/// ```
pub fn lay(frame: Size, margin: Length, pieces: &[Size]) -> Option<Vec<Laid>> {
    lay_within(frame, margin, pieces, u32::MAX)
}

/// Lays as [`lay`] does, and gives up after about `tries_max` tries.
///
/// A hundred thousand tries take some ten milliseconds; `None` may be wrong for
/// any number of pieces.
pub fn lay_within(
    frame: Size,
    margin: Length,
    pieces: &[Size],
    tries_max: u32,
) -> Option<Vec<Laid>> {
    let task = Task::new(frame, margin, pieces)?;
    let places = spread::find(&task).or_else(|| match pieces.len() {
        ..=EXACT_MAX => gaps::find(&task, tries_max.min(GAP_TRIES_FEW))
            .or_else(|| corners::find(&task, tries_max)),
        _ => gaps::find(&task, tries_max.min(GAP_TRIES_MAX)),
    })?;
    let sizes = pieces.iter().zip(&places);
    Some(sizes.map(|(size, place)| place.laid(*size)).collect())
}

/// Returns the part of a frame that is left when `border` stays free all round.
pub fn without_border(frame: Size, border: Length) -> Size {
    let side = |length: Length| Length(length.0.saturating_sub(border.0.saturating_mul(2)));
    Size {
        width: side(frame.width),
        height: side(frame.height),
    }
}

/// A rectangle that already carries the margin. [0.1 mm]
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
struct Rect {
    width: i64,
    height: i64,
}

impl Rect {
    /// A size with the margin to its right and below.
    fn grown(size: Size, margin: Length) -> Rect {
        let side = |length: Length| i64::from(length.0).max(1) + i64::from(margin.0);
        Rect {
            width: side(size.width),
            height: side(size.height),
        }
    }

    fn area(self) -> i64 {
        self.width * self.height
    }

    /// The same rectangle with its long side along the frame's width.
    fn lying(self) -> Rect {
        Rect {
            width: self.width.max(self.height),
            height: self.width.min(self.height),
        }
    }

    /// The ways in which a lying rectangle can be put, and whether it is upright
    /// then: one way for a square, else two.
    fn ways(self) -> impl Iterator<Item = (Rect, bool)> {
        let upright = Rect {
            width: self.height,
            height: self.width,
        };
        let upright = (upright != self).then_some((upright, true));
        std::iter::once((self, false)).chain(upright)
    }

    fn holds(self, other: Rect) -> bool {
        other.width <= self.width && other.height <= self.height
    }
}

/// Where a rectangle lies. [0.1 mm]
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
struct Place {
    x: i64,
    y: i64,
    /// Whether its long side lies along the frame's height.
    upright: bool,
}

impl Place {
    fn laid(&self, size: Size) -> Laid {
        let length = |value| Length(u32::try_from(value).expect("places lie inside the frame"));
        Laid {
            x: length(self.x),
            y: length(self.y),
            turned: self.upright != (size.height > size.width),
        }
    }
}

/// What has to be laid, the margin taken out of it.
#[derive(Debug)]
struct Task {
    frame: Rect,
    /// All lying.
    pieces: Vec<Rect>,
}

impl Task {
    /// `None` if a piece alone, or the sum of their areas, is too large.
    fn new(frame: Size, margin: Length, pieces: &[Size]) -> Option<Task> {
        let frame = Rect::grown(frame, margin);
        let frame = Rect {
            width: frame.width.min(SIDE_MAX),
            height: frame.height.min(SIDE_MAX),
        };
        let mut room = frame.area();
        let mut grown = Vec::with_capacity(pieces.len());
        for piece in pieces {
            let piece = Rect::grown(*piece, margin).lying();
            let fits = piece.ways().any(|(way, _)| frame.holds(way));
            room -= if fits { piece.area() } else { room + 1 };
            if room < 0 {
                return None;
            }
            grown.push(piece);
        }
        Some(Task {
            frame,
            pieces: grown,
        })
    }

    /// Numbers of the pieces, largest first; equal ones stand together.
    fn largest_first(&self) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.pieces.len()).collect();
        order.sort_by_key(|&index| {
            let piece = self.pieces[index];
            (std::cmp::Reverse(piece.area()), piece, index)
        });
        order
    }

    /// Places of the pieces, which were laid in `order`, in their own order.
    fn in_order(&self, order: &[usize], places: &[Place]) -> Vec<Place> {
        let mut own = vec![Place::default(); self.pieces.len()];
        for (&index, place) in order.iter().zip(places) {
            own[index] = *place;
        }
        own
    }
}
