//! The six stages of a piece, in their order, and the word for each one done.
//!
//! A piece *is at* the stage that comes next for it; `fairday mark` says what
//! has been *done*. Waiting times between the stages are gates (`order`), not
//! stages of their own.

use serde::{Deserialize, Serialize};

/// What comes next for a piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Stage {
    /// The sensitizer is to be brushed on.
    Coating,
    /// The coat dries in the dark.
    Drying,
    /// Dry; it waits for its frame and the light.
    Exposing,
    /// Printed out; it waits for the water.
    Washing,
    /// Washed; it dries, the colour comes, then press or iron.
    Finishing,
    /// Finished; it waits for its sister pieces, packing and collection.
    Shipping,
}

impl Stage {
    /// All stages in their order.
    pub const ALL: [Stage; 6] = [
        Stage::Coating,
        Stage::Drying,
        Stage::Exposing,
        Stage::Washing,
        Stage::Finishing,
        Stage::Shipping,
    ];

    /// Returns the name of the stage.
    pub fn name(self) -> &'static str {
        match self {
            Stage::Coating => "coating",
            Stage::Drying => "drying",
            Stage::Exposing => "exposing",
            Stage::Washing => "washing",
            Stage::Finishing => "finishing",
            Stage::Shipping => "shipping",
        }
    }

    /// Returns the word that says the stage is behind the piece.
    pub fn done(self) -> &'static str {
        match self {
            Stage::Coating => "coated",
            Stage::Drying => "dried",
            Stage::Exposing => "exposed",
            Stage::Washing => "washed",
            Stage::Finishing => "finished",
            Stage::Shipping => "shipped",
        }
    }

    /// Finds the stage that the word for its end belongs to.
    ///
    /// # Example
    /// ```
    /// use fairday::stage::Stage;
    /// assert_eq!(Stage::find_done("washed"), Some(Stage::Washing));
    /// assert_eq!(Stage::find_done("washing"), None);
    /// ```
    pub fn find_done(word: &str) -> Option<Stage> {
        Stage::ALL.into_iter().find(|stage| stage.done() == word)
    }

    /// Returns the stage after this one; none after shipping.
    pub fn next(self) -> Option<Stage> {
        Stage::ALL.get(self as usize + 1).copied()
    }
}
