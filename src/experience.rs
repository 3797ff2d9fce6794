//! What the studio's own prints and strips say about the doses of its materials.
//!
//! Orders keep exposures and verdicts, `studio.yaml` keeps test strips; here they
//! become observations, and the observations a dose. Pieces that lay in the light
//! together shared one sky and count once for each verdict. Prints under the lamp say
//! nothing of the sun and are left out.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDateTime, TimeDelta, Utc};
use chrono_tz::Tz;

use crate::light::learn::{Entry, Learned, Observation, Prior, learn_drifting};
use crate::light::{ClearLight, CurveRules, LightCurve, Site, Step};
use crate::order::{Exposed, LightSource, Order, Piece, Verdict};
use crate::studio::{Material, Strip, Studio};
use crate::units::Dose;

/// Days of a mean month.
const MONTH_DAYS: f64 = 30.44;

/// The dose of a material, and what it was learned from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Taught {
    /// Dose of the file, before any print.
    pub before: Dose,
    /// What is believed now, for the classic sensitizer as in the file.
    pub learned: Learned,
    /// Exposures with a verdict that count.
    pub prints: usize,
    /// Test strips that count.
    pub strips: usize,
    /// Those too old to count.
    pub forgotten: usize,
}

impl Taught {
    /// Tells whether anything was seen that counts.
    pub fn has_evidence(&self) -> bool {
        self.prints + self.strips > 0
    }
}

/// A verdict on an exposure, as an observation at a time.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Seen {
    at: NaiveDateTime,
    observation: Observation,
}

/// Learns the dose of each material from all orders, closed ones too, and from its
/// strips, as seen at `now`.
pub fn taught(orders: &[Order], studio: &Studio, now: NaiveDateTime) -> BTreeMap<String, Taught> {
    let prints = prints(orders, studio);
    let materials = studio.materials.values();
    let taught = materials.map(|material| {
        let prints = prints.get(material.key.as_str());
        let prints = prints.map_or(&[][..], Vec::as_slice);
        (
            material.key.clone(),
            of_material(material, prints, studio, now),
        )
    });
    taught.collect()
}

fn of_material(
    material: &Material,
    prints: &[Seen],
    studio: &Studio,
    now: NaiveDateTime,
) -> Taught {
    let rules = &studio.learning;
    let strip = |strip: &Strip| Seen {
        at: strip.at,
        observation: Observation::of_strip(strip.best, strip.spread, strip.step, rules.good_band),
    };
    let strips: Vec<Seen> = material.strips.iter().map(strip).collect();
    let mut forgotten = 0;
    let mut entries = Vec::new();
    let mut count = |seen: &[Seen]| {
        let before = entries.len();
        for seen in seen {
            let age_days = (now - seen.at).num_minutes() as f64 / 1440.0;
            if age_days > rules.forget_after_days {
                forgotten += 1;
                continue;
            }
            let classic = seen
                .observation
                .dose
                .scaled(1.0 / studio.sensitizer.exposure_factor);
            let seen = Observation {
                dose: classic,
                ..seen.observation
            };
            let age_days = age_days.max(0.0);
            entries.push(Entry { seen, age_days });
        }
        entries.len() - before
    };
    let (prints, strips) = (count(prints), count(&strips));
    let prior = Prior {
        median: material.target_dose,
        sigma_ln: rules.first_spread.ln(),
    };
    let drift_ln = (rules.drift_pct_per_month / 100.0) / MONTH_DAYS.sqrt();
    Taught {
        before: material.target_dose,
        learned: learn_drifting(prior, &entries, drift_ln),
        prints,
        strips,
        forgotten,
    }
}

/// Lists the verdicts by material; pieces of one exposure and one verdict once.
fn prints<'a>(orders: &'a [Order], studio: &Studio) -> BTreeMap<&'a str, Vec<Seen>> {
    type Key<'a> = (&'a str, NaiveDateTime, u64, Verdict);
    let mut together: BTreeMap<Key, Exposed> = BTreeMap::new();
    for piece in orders.iter().flat_map(|order| &order.pieces) {
        if piece.light == LightSource::Lamp {
            continue;
        }
        for (at, exposed, verdict) in judged(piece) {
            let key = (
                piece.material.as_str(),
                at,
                exposed.minutes.to_bits(),
                verdict,
            );
            together.entry(key).or_insert(exposed);
        }
    }
    let mut prints: BTreeMap<&str, Vec<Seen>> = BTreeMap::new();
    for ((material, at, _, verdict), exposed) in together {
        let Some((dose, spread)) = dose_of(at, &exposed, studio) else {
            continue;
        };
        let observation = Observation {
            good_band: studio.learning.good_band,
            ..Observation::new(dose, spread, verdict)
        };
        prints
            .entry(material)
            .or_default()
            .push(Seen { at, observation });
    }
    prints
}

/// Lists the exposures of a piece that were judged, with the last verdict on each.
fn judged(piece: &Piece) -> impl Iterator<Item = (NaiveDateTime, Exposed, Verdict)> {
    piece.progress.tries().into_iter().filter_map(|of| {
        let ((at, exposed), (_, verdict)) = of.exposed.zip(of.verdict)?;
        Some((at, exposed, verdict))
    })
}

/// Returns the dose of an exposure and its spread: as noted, or for one that was noted
/// by its minutes alone a guess under a clear sky.
fn dose_of(until: NaiveDateTime, exposed: &Exposed, studio: &Studio) -> Option<(Dose, f64)> {
    if let Some(dose) = exposed.dose {
        return Some((dose, exposed.dose_spread.unwrap_or(GUESSED_SPREAD)));
    }
    let until = instant(until, studio.place.zone)?;
    let from = until - TimeDelta::seconds((exposed.minutes * 60.0).round() as i64);
    let site = Site::new(&studio.place, &studio.stand);
    let clear = ClearLight::over(site, from..until + TimeDelta::minutes(1), Step::ONE_MINUTE);
    let gathered =
        LightCurve::fair(&clear, &CurveRules::default()).gathered_between(from, until)?;
    (gathered.dose.0 > 0.0).then_some((gathered.dose, GUESSED_SPREAD))
}

/// Spread of a dose of which nobody noted the sky. [own choice]
const GUESSED_SPREAD: f64 = 0.50;

fn instant(wall: NaiveDateTime, zone: Tz) -> Option<DateTime<Utc>> {
    let local = wall.and_local_timezone(zone).earliest()?;
    Some(local.with_timezone(&Utc))
}
