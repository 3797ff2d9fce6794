//! How the studio learns from its prints, and its test strips, from `studio.yaml`.

use super::file::{MaterialFile, StripFile, StudioFile};
use super::section::Section;
use super::{Learning, Strip, defaults};
use crate::units::Dose;
use crate::yaml::trail::Trail;

/// Reads how much weight prints, strips and time have.
pub fn learning(shape: &StudioFile, top: &mut Section) -> Learning {
    let d = defaults::learning();
    let Some(shape) = &shape.learning else {
        return d;
    };
    let at = &mut top.below("learning");
    Learning {
        first_spread: at.number(
            &shape.first_spread,
            "first_spread",
            d.first_spread,
            1.05..=10.0,
        ),
        good_band: at.number(&shape.good_band, "good_band", d.good_band, 1.01..=3.0),
        drift_pct_per_month: at.number(
            &shape.drift_pct_per_month,
            "drift_pct_per_month",
            d.drift_pct_per_month,
            0.0..=100.0,
        ),
        forget_after_days: at.number(
            &shape.forget_after_days,
            "forget_after_days",
            d.forget_after_days,
            1.0..=36_500.0,
        ),
        coat_start_sessions: at.count(
            &shape.coat_start_sessions,
            "coat_start_sessions",
            d.coat_start_sessions,
            0..=1000,
        ),
    }
}

/// Reads the test strips of a material, oldest first.
pub fn strips(shape: &MaterialFile, at: &mut Section) -> Vec<Strip> {
    let Some(entries) = &shape.strips else {
        return Vec::new();
    };
    let list = at.trail.key("strips");
    let mut strips: Vec<Strip> = Vec::new();
    for (index, entry) in entries.iter().enumerate() {
        let trail: Trail = list.index(index);
        strips.extend(strip(entry, &mut Section::new(trail, at.reader)));
    }
    strips.sort_by_key(|strip| strip.at);
    strips
}

fn strip(shape: &StripFile, at: &mut Section) -> Option<Strip> {
    let when = at.need(&shape.at, "at", "2026-05-11 12:40");
    let best = at.need_within(&shape.best_kj_m2, "best_kj_m2", "29", 0.01..=100_000.0);
    let step = at.number(&shape.step, "step", std::f64::consts::SQRT_2, 1.01..=10.0);
    let spread = at.number(&shape.spread, "spread", defaults::STRIP_SPREAD, 0.01..=5.0);
    Some(Strip {
        at: when?,
        best: Dose(best?),
        step,
        spread,
    })
}
