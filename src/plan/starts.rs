//! Admissible starts of a class of lots: all that the planner sees of the weather.
//!
//! For every slot: how long an exposure takes that starts there, how likely it
//! fails, or what stands against it. The rejected starts are kept, since they are
//! the evidence when an order is blocked by weather.

use chrono::NaiveDateTime;

use super::grid::{Grid, PER_DAY, slots_of_minutes};
use super::model::{Class, Slot};
use crate::forecast::{Forecast, Origin};
use crate::light::{LightCurve, Quality};
use crate::studio::WeatherLimits;
use crate::units::{Dose, DoseRate};
use crate::window::{Unfit, find_unfit, risk_per_mille, sigma_of_lead};

/// The light outdoors, and the weather that comes with it.
#[derive(Debug, Clone, Copy)]
pub struct Outdoors<'a> {
    /// Dose over time. It must not stop at rain by itself: rain is a limit of the
    /// studio, and the minutes behind it are evidence.
    pub light: &'a LightCurve,
    /// Wind and rain; none for a still, dry sky throughout.
    pub forecast: Option<&'a Forecast>,
    /// How many times their usual hours coats and washed pieces take to dry.
    pub dry_factor: f64,
}

/// What the exposure of a lot depends on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClassKey {
    /// Dose that prints it.
    pub dose: Dose,
    /// Wind can take what lies on it.
    pub loose: bool,
    /// Its lamp; none for the sun.
    pub lamp: Option<DoseRate>,
}

/// One start of an exposure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Start {
    /// When it goes into the light.
    pub slot: Slot,
    /// How long it takes. [min]
    pub minutes: f64,
    /// Chance that the weather spoils it. [‰]
    pub risk: i64,
    /// What stands against it; none for an admissible start.
    pub unfit: Option<Unfit>,
    /// What the weather in it rests on.
    pub origin: Origin,
    /// How far its minutes are to be trusted.
    pub quality: Quality,
}

/// The starts of a class with light enough, admissible or not.
#[derive(Debug, Clone, PartialEq)]
pub struct StartTable {
    /// What it is for.
    pub key: ClassKey,
    /// Ascending by slot; slots without light are left out.
    pub starts: Vec<Start>,
}

/// Makes the table of a class for the slots of `grid` from `now` on.
pub fn start_table(
    key: &ClassKey,
    grid: &Grid,
    outdoors: &Outdoors,
    limits: &WeatherLimits,
    now: NaiveDateTime,
) -> StartTable {
    let first = grid.slot_from(now).max(0);
    let starts = match key.lamp {
        Some(rate) => lamp_starts(rate.minutes_to(key.dose), first, grid),
        None => (first..grid.horizon())
            .filter_map(|slot| sun_start(key, slot, first, grid, outdoors, limits))
            .collect(),
    };
    StartTable { key: *key, starts }
}

fn lamp_starts(minutes: f64, first: Slot, grid: &Grid) -> Vec<Start> {
    if !minutes.is_finite() {
        return Vec::new();
    }
    (first..grid.horizon())
        .map(|slot| Start {
            slot,
            minutes,
            risk: 0,
            unfit: None,
            origin: Origin::Forecast,
            quality: Quality::Good,
        })
        .collect()
}

fn sun_start(
    key: &ClassKey,
    slot: Slot,
    first: Slot,
    grid: &Grid,
    outdoors: &Outdoors,
    limits: &WeatherLimits,
) -> Option<Start> {
    let start = grid.find_instant(slot)?;
    let exposure = outdoors.light.exposure(start, key.dose).ok()?;
    let minutes = exposure.minutes;
    let too_long = minutes > limits.exposure_max_minutes;
    let too_long = too_long.then_some(Unfit::TooLong { minutes });
    let Some(forecast) = outdoors.forecast else {
        return Some(Start {
            slot,
            minutes,
            risk: 0,
            unfit: too_long,
            origin: Origin::Forecast,
            quality: exposure.quality,
        });
    };
    let unfit = too_long.or_else(|| find_unfit(forecast, start, minutes, key.loose, limits));
    let lead_days = (slot - first) as f64 / PER_DAY as f64;
    let hour = forecast.find_hour(start);
    let origin = hour.map_or(Origin::Forecast, |hour| hour.origin);
    let sigma = match origin {
        Origin::Forecast => exposure.sigma_ln.hypot(sigma_of_lead(lead_days)),
        // The spread between days is in the climate already.
        Origin::Mixed | Origin::Typical => exposure.sigma_ln,
    };
    let risk = risk_per_mille(forecast, start, minutes, key.loose, sigma, limits);
    Some(Start {
        slot,
        minutes,
        risk,
        unfit,
        origin,
        quality: exposure.quality,
    })
}

impl StartTable {
    /// Returns the table as the core's class: runs of admissible starts that are alike.
    pub fn class(&self) -> Class {
        let mut options: Vec<(Slot, Slot, Slot, i64)> = Vec::new();
        for start in self.starts.iter().filter(|start| start.unfit.is_none()) {
            let duration = slots_of_minutes(start.minutes).max(1);
            match options.last_mut() {
                Some((_, last, length, risk))
                    if *last + 1 == start.slot && *length == duration && *risk == start.risk =>
                {
                    *last = start.slot;
                }
                _ => options.push((start.slot, start.slot, duration, start.risk)),
            }
        }
        Class {
            name: self.key.name(),
            options,
        }
    }

    /// Finds the start at `slot`.
    pub fn find(&self, slot: Slot) -> Option<&Start> {
        let index = self
            .starts
            .binary_search_by_key(&slot, |start| start.slot)
            .ok()?;
        Some(&self.starts[index])
    }

    /// Finds the shortest admissible exposure.
    pub fn find_best(&self) -> Option<&Start> {
        self.shortest(|start| start.unfit.is_none())
    }

    /// Finds the shortest exposure that something stands against.
    pub fn find_best_unfit(&self) -> Option<&Start> {
        self.shortest(|start| start.unfit.is_some())
    }

    /// Returns the slots that an exposure from `slot` takes; none for no start.
    pub fn duration(&self, slot: Slot) -> Slot {
        self.find(slot)
            .map_or(0, |start| slots_of_minutes(start.minutes).max(1))
    }

    fn shortest(&self, which: impl Fn(&Start) -> bool) -> Option<&Start> {
        let fitting = self.starts.iter().filter(|start| which(start));
        fitting.min_by(|a, b| a.minutes.total_cmp(&b.minutes))
    }
}

impl ClassKey {
    fn name(&self) -> String {
        let light = if self.lamp.is_some() { "lamp" } else { "sun" };
        let loose = if self.loose { ", loose" } else { "" };
        format!("{:.1} kJ/m², {light}{loose}", self.dose.0)
    }
}
