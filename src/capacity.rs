//! How many pieces go through a day, and which one thing stops more of them.
//!
//! A sum over a whole day, for a first answer; when what happens is the plan's.

use serde::Serialize;

/// What a day offers, for pieces that are all alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offer {
    /// Minutes of usable light. [min]
    pub light_minutes: f64,
    /// One exposure. [min]
    pub exposure_minutes: f64,
    /// From one exposure to the next. [min]
    pub changeover_minutes: f64,
    /// Pieces that all frames hold in one round.
    pub pieces_per_round: u32,
    /// Free places for coated sheets.
    pub dark_dry_places: u32,
    /// Pieces that can be washed after each round; none if the wash never waits.
    pub washed_per_round: Option<u32>,
    /// Free places for washed sheets.
    pub wet_dry_places: u32,
    /// Minutes that hands are there. [min]
    pub hands_minutes: f64,
    /// Minutes of hands for each piece. [min]
    pub attention_minutes: f64,
}

/// What stops more pieces from going through a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Limit {
    /// The frames, or the light for another round in them.
    Frames,
    /// Places for coated sheets.
    DarkDry,
    /// Trays.
    Wash,
    /// Places for washed sheets.
    WetDry,
    /// Minutes of people.
    Hands,
}

impl Limit {
    /// Returns the trade's word for it.
    pub fn name(self) -> &'static str {
        match self {
            Limit::Frames => "frames and light",
            Limit::DarkDry => "dark-dry places",
            Limit::Wash => "wash",
            Limit::WetDry => "wet-dry places",
            Limit::Hands => "hands",
        }
    }
}

/// How many pieces a day takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Capacity {
    /// Loadings of the frames.
    pub rounds: u32,
    /// Pieces in all.
    pub pieces: u32,
    /// What stops more; the first in the order of work if several do.
    pub limit: Limit,
}

/// Returns how many pieces go through a day like this.
///
/// # Example
/// ```
/// use fairday::capacity::{Limit, Offer, capacity};
/// let day = Offer {
///     light_minutes: 360.0, exposure_minutes: 12.0, changeover_minutes: 6.0,
///     pieces_per_round: 2, dark_dry_places: 24, washed_per_round: None,
///     wet_dry_places: 30, hands_minutes: 300.0, attention_minutes: 12.0,
/// };
/// let fair = capacity(&day);
/// assert_eq!((fair.rounds, fair.pieces, fair.limit), (20, 24, Limit::DarkDry));
/// let dull = capacity(&Offer { light_minutes: 15.0, ..day });
/// assert_eq!((dull.pieces, dull.limit), (0, Limit::Frames));
/// ```
pub fn capacity(day: &Offer) -> Capacity {
    let rounds = times(
        day.light_minutes,
        day.exposure_minutes + day.changeover_minutes,
    );
    let washed = day.washed_per_round.unwrap_or(u32::MAX);
    let offers = [
        (day.dark_dry_places, Limit::DarkDry),
        (day.pieces_per_round.saturating_mul(rounds), Limit::Frames),
        (washed.saturating_mul(rounds), Limit::Wash),
        (day.wet_dry_places, Limit::WetDry),
        (
            times(day.hands_minutes, day.attention_minutes),
            Limit::Hands,
        ),
    ];
    let (pieces, limit) = offers
        .into_iter()
        .min_by_key(|(pieces, _)| *pieces)
        .expect("there are five offers");
    Capacity {
        rounds,
        pieces,
        limit,
    }
}

/// Returns how often `each` goes into `all`; without end for something that takes no time.
fn times(all: f64, each: f64) -> u32 {
    // A cast of a float saturates: infinity becomes the largest number, NaN zero.
    (all.max(0.0) / each.max(0.0) + 1e-9).floor() as u32
}
