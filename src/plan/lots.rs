//! Which pieces share a frame: like with like, few lots, orders kept together.
//!
//! A *lot* is what goes through the studio as one frame's load. Pieces share a
//! lot only if their key is equal (what the key holds is the caller's business:
//! material, dose, cover, sun or lamp), if they lie side by side in a frame
//! ([`super::lay`]), and if the caller's `together` allows it (rack places,
//! trays, time). Each lot gets the smallest frame that holds it.
//!
//! # Price
//! Every lot costs hands: a load, a wash, a round in the sun. But a lot ties the
//! orders in it together: whoever is earliest sets the pace, and one failed
//! exposure hurts them all. So a division into lots has a price, the sum over
//! its lots of
//!
//! `lot + frame_dm2 · area + mixed · (orders − 1) + share · orders + day_apart · days`
//!
//! with the orders that have a piece in the lot and the days between the first
//! and the last promise among them. With the usual prices two orders share a
//! frame when that saves a lot and their promises are less than a week apart.
//!
//! # How
//! Classes of up to [`EXACT_MAX`] pieces are divided in the cheapest way there is
//! (over all subsets, `divide`; what fits is looked for with limited effort, so
//! a very tight lot may be missed). Larger ones are filled piece by piece, in three
//! orders, each piece where it costs least; then two or three lots at a time are
//! divided anew, and lots are emptied into the others, until nothing gets cheaper
//! or a fixed amount of work is done. Same pieces, same lots.

mod divide;
mod fill;
mod yard;

use crate::plan::lay::Laid;
use crate::size::Size;
use crate::studio::LotPrices;
use crate::units::Length;

use self::yard::Yard;

/// The number of like pieces up to which the division is the cheapest.
pub const EXACT_MAX: usize = 10;

/// A piece that waits for a frame.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToLay<K> {
    /// Its size.
    pub size: Size,
    /// What it must have in common with others in its frame.
    pub key: K,
    /// Its order, by a number of the caller's.
    pub order: usize,
    /// The day its order was promised for; none if any day will do.
    pub due: Option<i64>,
}

/// What lots are made with.
#[derive(Clone, Copy)]
pub struct LotRules<'a> {
    /// Insides of the frames that may be used.
    pub frames: &'a [Size],
    /// Gap between pieces. [0.1 mm]
    pub margin: Length,
    /// What counts how much.
    pub prices: LotPrices,
    /// Whether these pieces, by their place in the list, may be one lot.
    ///
    /// Not asked for single pieces. Fewer pieces must not be refused where more
    /// are allowed.
    pub together: &'a dyn Fn(&[usize]) -> bool,
}

/// A lot and how it lies.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotLay {
    /// Its frame, by its place in the list of frames.
    pub frame: usize,
    /// Its pieces, by their place in the list, ascending, and where they lie.
    pub pieces: Vec<(usize, Laid)>,
}

/// Divides pieces into lots; also names the pieces that no frame holds.
///
/// Lots come by key, within a key by earliest promise.
pub fn lots<K: Ord>(pieces: &[ToLay<K>], rules: &LotRules) -> (Vec<LotLay>, Vec<usize>) {
    let mut yard = Yard::new(pieces, rules);
    let (waiting, mut no_frame): (Vec<usize>, Vec<usize>) =
        (0..pieces.len()).partition(|&piece| yard.lot(&[piece]).is_some());
    let key = |piece: usize| &pieces[yard.listed(piece)].key;
    let classes: Vec<&[usize]> = waiting.chunk_by(|&a, &b| key(a) == key(b)).collect();
    let mut made = Vec::new();
    for alike in classes {
        let mut divided = match alike.len() {
            ..=EXACT_MAX => divide::cheapest(&mut yard, alike),
            _ => fill::divide(&mut yard, alike),
        };
        divided.sort_by_key(|lot| lot.pieces.iter().min().copied());
        made.extend(divided.iter().map(|lot| yard.lay(lot)));
    }
    no_frame = no_frame.iter().map(|&piece| yard.listed(piece)).collect();
    no_frame.sort_unstable();
    (made, no_frame)
}
