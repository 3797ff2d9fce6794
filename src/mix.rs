//! How much sensitizer to mix for a coating session, and of what.
//!
//! Areas times the studio's own millilitres per area, a margin, what stays in
//! brush and vessel, rounded up to what one can measure. How long a mix lives is
//! the planner's business; the safety of chemicals is nobody's here.

use serde::Serialize;

use crate::size::Size;
use crate::studio::{Material, Sensitizer};

/// Slack below which a volume counts as measured exactly, against the rounding of
/// floating numbers: 30.000000000000004 ml is 30 ml. [share of a step]
const ROUNDING: f64 = 1e-9;

/// An area to be coated, with what the material drinks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coating {
    /// The area. [m²]
    pub area_m2: f64,
    /// Sensitizer per area for the first coat. [ml/m²]
    pub ml_per_m2: f64,
    /// Coats.
    pub coats: u32,
    /// What each later coat takes of the first, as a share.
    pub later_coat_share: f64,
}

/// What to measure out for one session.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Mix {
    /// What the areas take, without margin or rest. [ml]
    pub on_paper_ml: f64,
    /// What to mix. [ml]
    pub volume_ml: f64,
    /// Of stock A. [ml]
    pub a_ml: f64,
    /// Of stock B. [ml]
    pub b_ml: f64,
    /// Citrate in it, if the stock is yet to be made. [g]
    pub a_g: f64,
    /// Ferricyanide in it, if the stock is yet to be made. [g]
    pub b_g: f64,
}

impl Coating {
    /// Returns the whole sheet of a piece, coated as its material asks.
    pub fn sheet(size: Size, material: &Material) -> Coating {
        Coating {
            area_m2: size.area_m2(),
            ml_per_m2: material.coat_ml_per_m2,
            coats: material.coats,
            later_coat_share: material.later_coat_share,
        }
    }

    /// Returns what it takes. [ml]
    pub fn ml(&self) -> f64 {
        let later = f64::from(self.coats.saturating_sub(1)) * self.later_coat_share;
        let first = if self.coats > 0 { 1.0 } else { 0.0 };
        self.area_m2 * self.ml_per_m2 * (first + later)
    }
}

/// Returns what to mix for everything that is coated in one session.
///
/// Nothing at all for nothing to coat: the rest in the brush is only left where
/// there was a brush.
///
/// # Example
/// ```
/// # use fairday::mix::{Coating, mix};
/// # use fairday::size::Size;
/// # use fairday::studio::Sensitizer;
/// let recipe = Sensitizer {
///     a_percent: 25.0, b_percent: 10.0, a_parts: 1.0, b_parts: 1.0,
///     margin: 0.2, dead_ml: 0.0, step_ml: 5.0,
///     // …
/// #   name: String::new(), exposure_factor: 1.0, setup_minutes: 20.0,
/// #   mix_life_hours: 4.0, sessions_per_day: 1,
/// };
/// let a4 = Coating {
///     area_m2: Size::parse("A4").unwrap().area_m2(), ml_per_m2: 64.0, coats: 1,
///     later_coat_share: 0.6,
/// };
/// let six = mix(&[a4; 6], &recipe);
/// assert_eq!((six.volume_ml, six.a_ml, six.b_ml), (30.0, 15.0, 15.0));
/// assert_eq!((six.a_g, six.b_g), (3.75, 1.5));
/// assert_eq!(mix(&[], &recipe).volume_ml, 0.0);
/// ```
pub fn mix(areas: &[Coating], sensitizer: &Sensitizer) -> Mix {
    let on_paper_ml: f64 = areas.iter().map(Coating::ml).sum();
    if on_paper_ml <= 0.0 {
        return Mix::default();
    }
    let wanted_ml = on_paper_ml * (1.0 + sensitizer.margin) + sensitizer.dead_ml;
    let volume_ml = round_up(wanted_ml, sensitizer.step_ml);
    let parts = sensitizer.a_parts + sensitizer.b_parts;
    let a_ml = volume_ml * sensitizer.a_parts / parts;
    let b_ml = volume_ml - a_ml;
    Mix {
        on_paper_ml,
        volume_ml,
        a_ml,
        b_ml,
        a_g: a_ml * sensitizer.a_percent / 100.0,
        b_g: b_ml * sensitizer.b_percent / 100.0,
    }
}

/// Returns the least whole number of steps that holds `ml`; `ml` itself for no step. [ml]
fn round_up(ml: f64, step_ml: f64) -> f64 {
    if step_ml > 0.0 {
        (ml / step_ml - ROUNDING).ceil() * step_ml
    } else {
        ml
    }
}

/// Returns how many to start so that `good` of them succeed at a share of failures.
///
/// `None` if everything fails, or the share is none.
///
/// # Example
/// ```
/// use fairday::mix::starts_for;
/// assert_eq!(starts_for(10, 0.10), Some(12));
/// assert_eq!(starts_for(10, 0.0), Some(10));
/// assert_eq!(starts_for(1, 1.0), None);
/// ```
pub fn starts_for(good: u32, failing_share: f64) -> Option<u32> {
    let succeeding = 1.0 - failing_share;
    let possible = (0.0..1.0).contains(&failing_share);
    possible.then(|| (f64::from(good) / succeeding - ROUNDING).ceil() as u32)
}

/// Returns the studio's own figure from a session: poured, left over, coated area. [ml/m²]
///
/// `None` without an area, or if more was left than poured.
pub fn coverage_ml_per_m2(poured_ml: f64, left_ml: f64, area_m2: f64) -> Option<f64> {
    let used = poured_ml - left_ml;
    (area_m2 > 0.0 && used >= 0.0).then(|| used / area_m2)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn recipe(a_parts: f64, b_parts: f64) -> Sensitizer {
        Sensitizer {
            name: "classic".to_owned(),
            a_percent: 20.0,
            b_percent: 8.0,
            a_parts,
            b_parts,
            exposure_factor: 1.0,
            margin: 0.0,
            dead_ml: 0.0,
            step_ml: 1.0,
            setup_minutes: 20.0,
            mix_life_hours: 4.0,
            sessions_per_day: 1,
        }
    }

    fn square_metre(ml: f64) -> Coating {
        Coating {
            area_m2: 1.0,
            ml_per_m2: ml,
            coats: 1,
            later_coat_share: 0.6,
        }
    }

    #[test]
    fn unequal_parts_share_the_volume() {
        let mix = mix(&[square_metre(30.0)], &recipe(2.0, 1.0));
        assert_eq!((mix.a_ml, mix.b_ml), (20.0, 10.0));
        assert!((mix.a_g - 4.0).abs() < 1e-12 && (mix.b_g - 0.8).abs() < 1e-12);
    }

    #[test]
    fn a_volume_that_is_exact_is_not_rounded_to_the_next_step() {
        let three = [square_metre(10.1), square_metre(10.1), square_metre(9.8)];
        assert_eq!(mix(&three, &recipe(1.0, 1.0)).volume_ml, 30.0);
        let more = [square_metre(30.001)];
        assert_eq!(mix(&more, &recipe(1.0, 1.0)).volume_ml, 31.0);
    }

    #[test]
    fn later_coats_take_their_share_of_the_first() {
        // 20 ml, then 12, then 12.
        let coats = |coats| Coating {
            coats,
            ..square_metre(20.0)
        };
        let volume = |count| mix(&[coats(count)], &recipe(1.0, 1.0)).volume_ml;
        assert_eq!([1, 2, 3].map(volume), [20.0, 32.0, 44.0]);
    }

    #[test]
    fn the_own_figure_comes_from_what_was_used() {
        assert_eq!(coverage_ml_per_m2(40.0, 4.0, 0.8), Some(45.0));
        assert_eq!(coverage_ml_per_m2(40.0, 41.0, 0.8), None);
        assert_eq!(coverage_ml_per_m2(40.0, 4.0, 0.0), None);
    }
}
