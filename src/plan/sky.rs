//! The light and the weather of one day, five minutes by five, for a picture.

use chrono::{NaiveDate, NaiveDateTime, TimeDelta};

use super::grid::{Grid, PER_DAY};
use super::setup::Setup;
use super::starts::Outdoors;
use crate::forecast::Origin;
use crate::light::LightCurve;
use crate::units::{Dose, DoseRate};

/// What the sky gives on one day.
#[derive(Debug, Clone, PartialEq)]
pub struct DaySky {
    /// The day.
    pub date: NaiveDate,
    /// The printing light, every five minutes of the day that the clock knows.
    pub light: Vec<LightAt>,
    /// The weather, hour by hour as far as the forecast reaches.
    pub hours: Vec<HourSky>,
}

/// The printing light at a moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LightAt {
    /// When, on the studio's clock.
    pub at: NaiveDateTime,
    /// With the forecast's clouds; none where they are not known.
    pub rate: Option<DoseRate>,
    /// Under a clear sky.
    pub clear: DoseRate,
}

/// The weather of an hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HourSky {
    /// When it begins, on the studio's clock.
    pub at: NaiveDateTime,
    /// Chance of rain, 0 to 1.
    pub rain_chance: Option<f64>,
    /// Rain. [mm]
    pub rain_mm: Option<f64>,
    /// Mean wind. [m/s]
    pub wind_m_s: Option<f64>,
    /// Gusts. [m/s]
    pub gust_m_s: Option<f64>,
    /// What it rests on.
    pub origin: Origin,
}

/// Describes a day of the grid; `fair` is the light under a clear sky.
pub fn day_sky(grid: &Grid, date: NaiveDate, outdoors: &Outdoors, fair: &LightCurve) -> DaySky {
    let first = grid.day_index(date) * PER_DAY;
    let light = (first..first + PER_DAY).filter_map(|slot| {
        let at = grid.find_instant(slot)?;
        Some(LightAt {
            at: grid.wall(slot),
            rate: outdoors.light.rate_at(at),
            clear: fair.rate_at(at).unwrap_or(DoseRate(0.0)),
        })
    });
    let hours = (first..first + PER_DAY).step_by(12).filter_map(|slot| {
        // The middle of the hour belongs to it also where hours begin at half past.
        let middle = grid.find_instant(slot)? + TimeDelta::minutes(29);
        let hour = outdoors.forecast?.find_hour(middle)?;
        Some(HourSky {
            at: grid.wall(slot),
            rain_chance: hour.rain_chance,
            rain_mm: hour.rain_mm,
            wind_m_s: hour.wind_m_s,
            gust_m_s: hour.gust_m_s,
            origin: hour.origin,
        })
    });
    DaySky {
        date,
        light: light.collect(),
        hours: hours.collect(),
    }
}

/// Returns the dose that most pieces waiting for the sun need, with the names of its
/// materials; none if nothing waits for the sun.
pub fn usual_dose(setup: &Setup) -> Option<(Dose, Vec<String>)> {
    let table = super::daylight::usual_table(setup)?;
    let index = setup.tables.iter().position(|other| other == table)?;
    let lots = setup.lots.iter().zip(&setup.table_of);
    let mut names: Vec<String> = lots
        .filter(|(_, table)| **table == index)
        .map(|(lot, _)| lot.pieces[0].material.name.clone())
        .collect();
    names.sort();
    names.dedup();
    Some((table.key.dose, names))
}
