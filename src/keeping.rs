//! How long a coated sheet may wait in the dark before it is used.
//!
//! Coats fog with age and sooner in damp air; published experience runs from
//! sheets that spoiled within days to sheets that printed after a year. So the
//! thresholds are the studio's settings, and the last of them asks for a test
//! strip instead of condemning the sheet.

use serde::Serialize;

/// From which age on a coated sheet is spoken of. All of it can be set.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct KeepingRules {
    /// Up to here all is well. [d]
    pub aim_days: f64,
    /// From here on it is said. [d]
    pub warn_days: f64,
    /// From here on a strip is printed first. [d]
    pub strip_days: f64,
    /// Air damper than this counts as damp. [%]
    pub damp_above_pct: f64,
    /// What damp air leaves of the days.
    pub damp_share: f64,
}

impl Default for KeepingRules {
    /// Start values, [common practice, no source].
    fn default() -> KeepingRules {
        KeepingRules {
            aim_days: 3.0,
            warn_days: 7.0,
            strip_days: 14.0,
            damp_above_pct: 65.0,
            damp_share: 0.5,
        }
    }
}

/// What the age of a coated sheet asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Keeping {
    /// Nothing.
    Fresh,
    /// Use it before others.
    Ageing,
    /// A warning.
    Old,
    /// A test strip before it is used.
    NeedsStrip,
}

/// Judges the age of a coated sheet; the air it lies in may be unknown.
///
/// `age_days` counts from the coating. [d]
///
/// # Example
/// ```
/// use fairday::keeping::{Keeping, KeepingRules, judge};
/// let rules = KeepingRules::default();
/// assert_eq!(judge(6.0, Some(50.0), &rules), Keeping::Ageing);
/// assert_eq!(judge(6.0, Some(70.0), &rules), Keeping::Old);
/// assert_eq!(judge(6.0, None, &rules), Keeping::Ageing);
/// ```
pub fn judge(age_days: f64, humidity_pct: Option<f64>, rules: &KeepingRules) -> Keeping {
    let damp = humidity_pct.is_some_and(|humidity| humidity > rules.damp_above_pct);
    let share = if damp { rules.damp_share } else { 1.0 };
    if age_days > rules.strip_days * share {
        Keeping::NeedsStrip
    } else if age_days > rules.warn_days * share {
        Keeping::Old
    } else if age_days > rules.aim_days * share {
        Keeping::Ageing
    } else {
        Keeping::Fresh
    }
}
