//! The sky in the words of somebody who looks up.
//!
//! A word stands for an hour's mean, not for the minute in which a cloud passes.

use super::cloud::{CloudMethod, Sky};

/// How the sky looks.
///
/// # Sources
/// What is left of ultraviolet light by the sky classes of the US weather service, as
/// printed on public pages: clear 100, scattered 89, broken 73, overcast 31 %. Thin
/// high cloud all over: 60 %, Thiel et al. 1997.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SeenSky {
    /// No cloud to speak of.
    Clear,
    /// Some clouds, less than half.
    Scattered,
    /// More cloud than blue.
    Broken,
    /// A thin high veil all over, with shadows.
    Thin,
    /// Grey all over, no shadows.
    Overcast,
}

impl SeenSky {
    /// All of them, the brightest first.
    pub const ALL: [SeenSky; 5] = [
        SeenSky::Clear,
        SeenSky::Scattered,
        SeenSky::Broken,
        SeenSky::Thin,
        SeenSky::Overcast,
    ];

    /// Returns the word for it.
    pub fn name(self) -> &'static str {
        match self {
            SeenSky::Clear => "clear",
            SeenSky::Scattered => "scattered",
            SeenSky::Broken => "broken",
            SeenSky::Thin => "thin",
            SeenSky::Overcast => "overcast",
        }
    }

    /// Finds the sky of a word.
    pub fn find(word: &str) -> Option<SeenSky> {
        SeenSky::ALL.into_iter().find(|sky| sky.name() == word)
    }

    /// Returns the light it leaves.
    ///
    /// # Example
    /// ```
    /// use fairday::light::SeenSky;
    /// assert_eq!(SeenSky::Overcast.sky().factor, 0.31);
    /// assert_eq!(SeenSky::Overcast.sky().beam_share, 0.0);
    /// assert_eq!(SeenSky::Clear.sky().beam_share, 1.0);
    /// ```
    pub fn sky(self) -> Sky {
        let factor = match self {
            SeenSky::Clear => 1.0,
            SeenSky::Scattered => 0.89,
            SeenSky::Broken => 0.73,
            SeenSky::Thin => 0.60,
            SeenSky::Overcast => 0.31,
        };
        Sky::with_factor(factor, CloudMethod::Seen)
    }
}
