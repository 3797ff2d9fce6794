//! Settings of a curve: length of a step, what bars it, what is done about an unknown
//! sky.
//!
//! Words only; `curve` lays them over the light.

use crate::studio::WeatherLimits;

/// Length of a step, a whole number of minutes that divides the hour.
///
/// Steps are aligned to UTC, so that the hours of a forecast begin with a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Step(u32);

impl Step {
    /// For planning: minutes come out within 0.1 min or 0.5 % of one-minute steps.
    pub const FIVE_MINUTES: Step = Step(5);
    /// For checking.
    pub const ONE_MINUTE: Step = Step(1);

    /// Takes a length that divides the hour; none for another. [min]
    pub fn of_minutes(minutes: u32) -> Option<Step> {
        (minutes > 0 && 60 % minutes == 0).then_some(Step(minutes))
    }

    /// Returns the length. [min]
    pub fn minutes(self) -> f64 {
        f64::from(self.0)
    }

    pub(super) fn seconds(self) -> i64 {
        i64::from(self.0) * 60
    }
}

/// What is done where the forecast says nothing of the sky.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnknownSky {
    /// No exposure goes into such an hour.
    Stops,
    /// A clear sky is assumed; the answer is marked as the least time there can be.
    IsTakenAsClear,
}

/// What makes a step unfit for exposing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurveRules {
    /// Below this the sun counts as gone. [°]
    pub elevation_min_deg: f64,
    /// Below this light is called weak, its figures rough. [°]
    pub elevation_weak_deg: f64,
    /// An hour with more rain than this stops an exposure. [mm]
    pub rain_max_mm: f64,
    /// Hours without a word about the sky.
    pub unknown_sky: UnknownSky,
    /// Clear-sky global light at the site beside our yardstick, learned from clear
    /// days; 1 if not known.
    pub global_scale: f64,
}

impl CurveRules {
    /// Takes the studio's least elevation; dry hours only, unknown sky stops.
    pub fn of(limits: &WeatherLimits) -> CurveRules {
        CurveRules {
            elevation_min_deg: limits.elevation_min_deg,
            ..CurveRules::default()
        }
    }
}

impl Default for CurveRules {
    /// 5° at least, weak below 10°, no rain at all, unknown sky stops. [own choice:
    /// the clear-sky model has no support in its source below]
    fn default() -> CurveRules {
        CurveRules {
            elevation_min_deg: 5.0,
            elevation_weak_deg: 10.0,
            rain_max_mm: 0.0,
            unknown_sky: UnknownSky::Stops,
            global_scale: 1.0,
        }
    }
}

/// Why an exposure cannot start at a moment, or cannot go on beyond one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Barrier {
    /// The sun is too low.
    LowSun,
    /// Rain or snow in the hour.
    Rain,
    /// Nothing is known of the sky.
    UnknownSky,
    /// The curve does not reach there.
    OutOfSpan,
}
