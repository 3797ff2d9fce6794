//! How dates are found that hold, from its part of `studio.yaml`.

use super::file::{PromisesFile, StudioFile};
use super::section::Section;
use super::{LEAD_DAYS, Promises, defaults};

/// Reads the settings of dates that hold.
pub fn promises(shape: &StudioFile, top: &mut Section) -> Promises {
    let d = defaults::promises();
    let Some(shape) = &shape.promises else {
        return d;
    };
    let at = &mut top.below("promises");
    Promises {
        weathers: at.count(&shape.weathers, "weathers", d.weathers, 20..=100_000),
        seed: at.count(&shape.seed, "seed", d.seed, 0..=u32::MAX),
        days: at.count(&shape.days, "days", d.days, 7..=120),
        forecast_correlation: correlations(shape, at).unwrap_or(d.forecast_correlation),
        year_spread: at.number(&shape.year_spread, "year_spread", d.year_spread, 0.0..=0.9),
    }
}

/// Reads the correlations, today first; days that are not listed have none.
fn correlations(shape: &PromisesFile, at: &mut Section) -> Option<[f64; LEAD_DAYS]> {
    const KEY: &str = "forecast_correlation";
    shape.forecast_correlation.as_ref()?;
    let list = at.list(&shape.forecast_correlation, KEY);
    let fits = list.len() <= LEAD_DAYS && list.iter().all(|value| (0.0..=1.0).contains(value));
    if !fits || list.is_empty() {
        let what = format!("expected 1 to {LEAD_DAYS} numbers from 0 to 1, found otherwise");
        let hint = "write one for today and each day after, such as `[0.85, 0.85, 0.8]`";
        at.wrong_key(KEY, &what, hint);
        return None;
    }
    let mut table = [0.0; LEAD_DAYS];
    table[..list.len()].copy_from_slice(&list);
    Some(table)
}
