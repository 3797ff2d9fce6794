//! How long a coated sheet may wait in the dark, and which ones have waited long.
//!
//! Coats fog with age and sooner in damp air; how soon differs from paper to paper.
//! So the limits are the studio's settings, and the last of them asks for a test
//! strip instead of condemning the sheet.

use chrono::{NaiveDateTime, TimeDelta};
use serde::Serialize;

use crate::order::Order;
use crate::stage::Stage;
use crate::studio::{KeepingLimits, Studio};

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

/// A coat in the dark.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coat {
    /// Since it was coated. [h]
    pub age_hours: f64,
    /// How long its material keeps without a thought. [h]
    pub keep_hours: f64,
    /// The air it lies in, if known. [%]
    pub humidity_pct: Option<f64>,
}

/// A coated piece that has waited longer than its material likes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Aged {
    /// Number of its order.
    pub order: String,
    /// Number of the piece in the order.
    pub piece: u32,
    /// Since it was coated. [h]
    pub age_hours: f64,
    /// What that asks for.
    pub keeping: Keeping,
}

/// Judges the age of a coat.
///
/// # Example
/// ```
/// use fairday::keeping::{Coat, Keeping, judge};
/// let limits = fairday::studio::defaults::keeping();
/// let coat = Coat { age_hours: 96.0, keep_hours: 72.0, humidity_pct: Some(50.0) };
/// assert_eq!(judge(&coat, &limits), Keeping::Ageing);
/// let damp = Coat { humidity_pct: Some(70.0), ..coat };
/// assert_eq!(judge(&damp, &limits), Keeping::Old);
/// let unknown = Coat { humidity_pct: None, ..coat };
/// assert_eq!(judge(&unknown, &limits), Keeping::Ageing);
/// ```
pub fn judge(coat: &Coat, limits: &KeepingLimits) -> Keeping {
    let damp = coat.humidity_pct.is_some_and(|h| h > limits.damp_above_pct);
    let share = if damp { limits.damp_share } else { 1.0 };
    let older_than = |hours: f64| coat.age_hours > hours * share;
    if older_than(limits.strip_days * 24.0) {
        Keeping::NeedsStrip
    } else if older_than(limits.warn_days * 24.0) {
        Keeping::Old
    } else if older_than(coat.keep_hours) {
        Keeping::Ageing
    } else {
        Keeping::Fresh
    }
}

/// A coated piece in the dark.
#[derive(Debug, Clone, PartialEq)]
pub struct Coated {
    /// Number of its order.
    pub order: String,
    /// Number of the piece in the order.
    pub piece: u32,
    /// When it was coated.
    pub coated_at: NaiveDateTime,
    /// Until when its material keeps without a thought.
    pub best_until: NaiveDateTime,
    /// Since it was coated. [h]
    pub age_hours: f64,
    /// What that asks for.
    pub keeping: Keeping,
}

/// Lists the coated pieces of open orders that are not yet exposed, the oldest first.
///
/// `humidity_pct` is that of the dark, if known. A piece of a material that the
/// studio does not have is left out; that is a problem of its order.
pub fn find_coated(
    orders: &[Order],
    studio: &Studio,
    now: NaiveDateTime,
    humidity_pct: Option<f64>,
) -> Vec<Coated> {
    let mut found = Vec::new();
    for order in orders.iter().filter(|order| !order.is_closed()) {
        for piece in &order.pieces {
            let waits = matches!(
                piece.progress.stage(),
                Some(Stage::Drying | Stage::Exposing)
            );
            let coated_at = piece.progress.done_at(Stage::Coating).filter(|_| waits);
            let material = studio.materials.get(&piece.material);
            let Some((coated_at, material)) = coated_at.zip(material) else {
                continue;
            };
            let coat = Coat {
                age_hours: (now - coated_at).num_minutes() as f64 / 60.0,
                keep_hours: material.keep_hours,
                humidity_pct,
            };
            let keep_minutes = (material.keep_hours * 60.0).round() as i64;
            found.push(Coated {
                order: order.number.clone(),
                piece: piece.number,
                coated_at,
                best_until: coated_at + TimeDelta::minutes(keep_minutes),
                age_hours: coat.age_hours,
                keeping: judge(&coat, &studio.keeping),
            });
        }
    }
    found.sort_by(|a, b| {
        let age = b.age_hours.total_cmp(&a.age_hours);
        age.then_with(|| (&a.order, a.piece).cmp(&(&b.order, b.piece)))
    });
    found
}

/// Returns the coated pieces of open orders that are no longer fresh, the oldest first.
pub fn find_aged(
    orders: &[Order],
    studio: &Studio,
    now: NaiveDateTime,
    humidity_pct: Option<f64>,
) -> Vec<Aged> {
    let coated = find_coated(orders, studio, now, humidity_pct).into_iter();
    let aged = coated.filter(|coat| coat.keeping > Keeping::Fresh);
    aged.map(|coat| Aged {
        order: coat.order,
        piece: coat.piece,
        age_hours: coat.age_hours,
        keeping: coat.keeping,
    })
    .collect()
}
