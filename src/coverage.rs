//! How much sensitizer a material drinks, by the studio's own record.
//!
//! Whoever notes what was poured and what was left gets a figure for each session;
//! here they become one for the material. The setting stands in as some sessions of
//! its own, so that a first measurement moves it little, and a session that lies far
//! from the others counts less. What brush and vessel keep is taken off first, since
//! the mix adds it again. Volumes of a mix are `mix`; nothing is planned here.

use std::collections::BTreeMap;

use chrono::NaiveDateTime;

use crate::mix::{Coating, coverage_ml_per_m2};
use crate::order::{Coated, Done, Event, Order, Piece};
use crate::stage::Stage;
use crate::studio::{Material, Studio};

/// What a material drinks, and what that rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coverage {
    /// What is believed now, first coat. [ml/m²]
    pub ml_per_m2: f64,
    /// What the file says. [ml/m²]
    pub before: f64,
    /// Measured sessions that count.
    pub sessions: usize,
    /// Measured sessions that are too old to count.
    pub forgotten: usize,
}

/// A session of one material: what it took, and where.
#[derive(Debug, Clone, Copy, Default)]
struct Measured {
    poured_ml: f64,
    left_ml: f64,
    area_m2: f64,
}

/// Least and most that is taken for a measurement and not for a slip. [ml/m²]
const PLAUSIBLE: std::ops::RangeInclusive<f64> = 1.0..=1000.0;

/// Learns what each material drinks from all orders, closed ones too, as seen at `now`.
pub fn coverage(
    orders: &[Order],
    studio: &Studio,
    now: NaiveDateTime,
) -> BTreeMap<String, Coverage> {
    let measured = measured(orders, studio);
    let of_material = |material: &Material| {
        let mut sessions = Vec::new();
        let mut forgotten = 0;
        for ((_, at), session) in measured.iter().filter(|((key, _), _)| *key == material.key) {
            let age_days = (now - *at).num_minutes() as f64 / 1440.0;
            match session.ml_per_m2(studio.sensitizer.dead_ml) {
                Some(_) if age_days > studio.learning.forget_after_days => forgotten += 1,
                Some(value) => sessions.push(value),
                None => {}
            }
        }
        let start = f64::from(studio.learning.coat_start_sessions);
        Coverage {
            ml_per_m2: robust_mean(material.coat_ml_per_m2, start, &sessions),
            before: material.coat_ml_per_m2,
            sessions: sessions.len(),
            forgotten,
        }
    };
    let materials = studio.materials.values();
    materials
        .map(|material| (material.key.clone(), of_material(material)))
        .collect()
}

impl Measured {
    /// Returns what the first coat took, without what brush and vessel keep. [ml/m²]
    fn ml_per_m2(&self, dead_ml: f64) -> Option<f64> {
        let value = coverage_ml_per_m2(self.poured_ml - dead_ml, self.left_ml, self.area_m2)?;
        PLAUSIBLE.contains(&value).then_some(value)
    }
}

/// Adds up what was measured, by material and moment: entries of several orders that
/// were coated at one moment are one session.
fn measured<'a>(
    orders: &'a [Order],
    studio: &Studio,
) -> BTreeMap<(&'a str, NaiveDateTime), Measured> {
    let mut sessions: BTreeMap<(&str, NaiveDateTime), Measured> = BTreeMap::new();
    for order in orders {
        // An entry's figure is on each of its copies and counts once.
        let mut counted: Vec<(usize, NaiveDateTime, &Coated)> = Vec::new();
        for piece in &order.pieces {
            let Some(material) = studio.materials.get(&piece.material) else {
                continue;
            };
            for (at, coated, poured_ml, left_ml) in poured(piece) {
                let session = sessions.entry((&piece.material, at)).or_default();
                session.area_m2 += first_coats_m2(piece, material);
                let known = (piece.entry, at, coated);
                if !counted.contains(&known) {
                    counted.push(known);
                    session.poured_ml += poured_ml;
                    session.left_ml += left_ml;
                }
            }
        }
    }
    sessions
}

/// Lists the coats of a piece that were measured.
fn poured(piece: &Piece) -> impl Iterator<Item = (NaiveDateTime, &Coated, f64, f64)> {
    let coat = |event: &'_ Event| match &event.what {
        Done::Stage {
            stage: Stage::Coating,
            coated: Some(_),
            ..
        } => true,
        Done::Stage { .. } | Done::Judged { .. } | Done::Remake { .. } => false,
    };
    let coats = piece
        .progress
        .events
        .iter()
        .filter(move |event| coat(event));
    coats.filter_map(|event| match &event.what {
        Done::Stage {
            coated: Some(coated),
            ..
        } => Some((event.at, coated, coated.poured_ml?, coated.left_ml?)),
        Done::Stage { .. } | Done::Judged { .. } | Done::Remake { .. } => None,
    })
}

/// Returns the area that takes as much in first coats as the piece does in all. [m²]
pub fn first_coats_m2(piece: &Piece, material: &Material) -> f64 {
    let of_one = Coating {
        ml_per_m2: 1.0,
        ..Coating::sheet(piece.size, material)
    };
    of_one.ml()
}

/// Rounds in which the weights settle.
const ROUNDS: usize = 20;

/// How many spreads a value may lie off before it counts less. Huber 1964.
const HUBER: f64 = 1.345;

/// Least spread that is believed, as a share of the figure, so that three equal
/// sessions do not throw out the fourth. [own choice]
const SPREAD_MIN: f64 = 0.10;

/// Returns the mean of `values` and of the setting, which counts as `start` of them;
/// what lies far off counts less, the further the less.
///
/// # Sources
/// Weights: Huber, "Robust Estimation of a Location Parameter", Ann. Math. Stat. 35,
/// 1964. Spread: 1.4826 times the median distance, from memory.
fn robust_mean(setting: f64, start: f64, values: &[f64]) -> f64 {
    if values.is_empty() {
        return setting;
    }
    let weighed: Vec<(f64, f64)> = std::iter::once((setting, start))
        .chain(values.iter().map(|value| (*value, 1.0)))
        .filter(|(_, weight)| *weight > 0.0)
        .collect();
    let mut center = median(weighed.clone());
    let off = |center: f64| weighed.iter().map(move |(v, w)| ((v - center).abs(), *w));
    let spread = (1.4826 * median(off(center).collect())).max(SPREAD_MIN * center);
    for _ in 0..ROUNDS {
        let (mut sum, mut total) = (0.0, 0.0);
        for (value, weight) in &weighed {
            let far = (value - center).abs() / (HUBER * spread);
            let weight = weight * if far > 1.0 { 1.0 / far } else { 1.0 };
            sum += weight * value;
            total += weight;
        }
        center = sum / total;
    }
    center
}

/// Returns the middle of values that count by their weights.
fn median(mut values: Vec<(f64, f64)>) -> f64 {
    values.sort_by(|a, b| a.0.total_cmp(&b.0));
    let half: f64 = values.iter().map(|(_, weight)| weight).sum::<f64>() / 2.0;
    let mut below = 0.0;
    for (index, (value, weight)) in values.iter().enumerate() {
        below += weight;
        if (below - half).abs() < 1e-9 {
            let next = values.get(index + 1).map_or(*value, |(next, _)| *next);
            return f64::midpoint(*value, next);
        }
        if below > half {
            return *value;
        }
    }
    values.last().map_or(0.0, |(value, _)| *value)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(value: f64, expected: f64) {
        assert!((value - expected).abs() < 0.05, "{value}, not {expected}");
    }

    #[test]
    fn without_a_measurement_the_setting_holds() {
        assert_eq!(robust_mean(45.0, 3.0, &[]), 45.0);
    }

    /// (3 × 45 + 41) / 4 = 44; thirty sessions of 37: (3 × 45 + 30 × 37) / 33 = 37.7, and
    /// somewhat less since the setting then lies 8 off, and 8 / (1.345 × 3.7) counts 0.6.
    #[test]
    fn one_session_moves_little_and_many_move_all() {
        near(robust_mean(45.0, 3.0, &[41.0]), 44.0);
        near(robust_mean(45.0, 3.0, &[37.0; 30]), 37.47);
        assert_eq!(robust_mean(45.0, 0.0, &[37.0]), 37.0);
    }

    #[test]
    fn a_spilt_beaker_moves_little() {
        let calm = robust_mean(45.0, 3.0, &[40.0, 42.0, 41.0, 43.0]);
        let spilt = robust_mean(45.0, 3.0, &[40.0, 42.0, 41.0, 43.0, 200.0]);
        assert!(spilt > calm && spilt - calm < 2.0, "{calm} {spilt}");
        // A plain mean would have gone to 62.6.
    }

    #[test]
    fn the_middle_goes_by_weight() {
        assert_eq!(median(vec![(1.0, 1.0), (3.0, 1.0)]), 2.0);
        assert_eq!(median(vec![(5.0, 3.0), (1.0, 1.0)]), 5.0);
        assert_eq!(median(vec![(9.0, 1.0), (1.0, 1.0), (2.0, 1.0)]), 2.0);
    }
}
