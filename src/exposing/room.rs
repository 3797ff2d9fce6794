//! Whether pieces can go into a frame: by its light, its inside, and what lies in the
//! others of its kind.

use crate::order::{LightSource, Piece};
use crate::plan::lay::lay_within;
use crate::plan::lots::{LotRules, ToLay, lots};
use crate::size::Size;
use crate::studio::{Frame, LotPrices};
use crate::units::Length;

/// Tries whether all pieces fit into one frame; more rarely changes the answer.
const TRIES_MAX: u32 = 20_000;

/// As few frames as can be, whatever else lots cost in a plan.
const FEWEST: LotPrices = LotPrices {
    lot: 1,
    frame_dm2: 0,
    mixed: 0,
    share: 0,
    day_apart: 0,
};

/// Why pieces cannot go into a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoRoom {
    /// This piece, by its place in the list, wants other light.
    OtherLight(usize),
    /// This piece, by its place in the list, is larger than the frame is inside.
    TooLarge(usize),
    /// Not so many frames of the name are free.
    Full {
        /// So many the pieces take.
        needed: usize,
        /// So many are free.
        free: usize,
    },
}

/// Finds why `pieces` cannot go into frames like this one, with `margin` between them.
///
/// `lying` has the sizes in each loading that lies in such frames already. A frame in
/// the light stays closed, so nothing is added to it. Pieces that one frame does not
/// hold take several.
pub fn find_no_room(
    frame: &Frame,
    margin: Length,
    pieces: &[&Piece],
    lying: &[Vec<Size>],
) -> Option<NoRoom> {
    let light = match frame.lamp {
        Some(_) => LightSource::Lamp,
        None => LightSource::Sun,
    };
    if let Some(other) = pieces.iter().position(|piece| piece.light != light) {
        return Some(NoRoom::OtherLight(other));
    }
    let sizes: Vec<Size> = pieces.iter().map(|piece| piece.size).collect();
    let needed = match frames_taken(frame.inside, margin, &sizes) {
        Ok(needed) => needed,
        Err(too_large) => return Some(NoRoom::TooLarge(too_large)),
    };
    // What does not fit was put in before it was asked: it takes one all the same.
    let taken = |sizes: &Vec<Size>| frames_taken(frame.inside, margin, sizes).unwrap_or(1);
    let taken: usize = lying.iter().map(|sizes| taken(sizes).max(1)).sum();
    let free = (frame.count as usize).saturating_sub(taken);
    (needed > free).then_some(NoRoom::Full { needed, free })
}

/// Returns how many frames of an inside the pieces take.
///
/// # Errors
/// A piece, by its place in the list, that does not fit even alone.
pub fn frames_taken(inside: Size, margin: Length, sizes: &[Size]) -> Result<usize, usize> {
    if lay_within(inside, margin, sizes, TRIES_MAX).is_some() {
        return Ok(1);
    }
    let to_lay: Vec<ToLay<()>> = sizes
        .iter()
        .map(|size| ToLay {
            size: *size,
            key: (),
            order: 0,
            due: None,
        })
        .collect();
    let rules = LotRules {
        frames: &[inside],
        margin,
        prices: FEWEST,
        together: &|_| true,
    };
    let (lots, too_large) = lots(&to_lay, &rules);
    match too_large.first() {
        Some(piece) => Err(*piece),
        None => Ok(lots.len()),
    }
}
