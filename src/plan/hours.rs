//! Minutes of exposure by day and hour for one kind of piece: the light as a table.

use chrono::{NaiveDate, NaiveDateTime, TimeDelta};
use serde::Serialize;

use super::grid::{Grid, PER_DAY};
use super::model::Slot;
use super::starts::{ClassKey, Outdoors, StartTable, start_table};
use crate::light::{CloudMethod, Quality};
use crate::studio::WeatherLimits;
use crate::window::Unfit;

/// The light of one day for one kind of piece.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LightDay {
    /// The day.
    pub date: NaiveDate,
    /// Starts on the full hour with light enough, ascending.
    pub hours: Vec<LightHour>,
    /// Runs of fit starts.
    pub windows: Vec<LightSpan>,
}

/// An exposure that starts on the full hour.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LightHour {
    /// When it starts, on the studio's clock.
    pub at: NaiveDateTime,
    /// How long it takes. [min]
    pub minutes: f64,
    /// Between which minutes it ends in nine of ten cases. [min]
    pub between: Option<(f64, Option<f64>)>,
    /// How far to trust it.
    pub quality: Quality,
    /// What told of the cloud, if anything did.
    pub cloud: Option<CloudMethod>,
    /// What stands against it.
    pub unfit: Option<Unfit>,
}

/// A run of fit starts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LightSpan {
    /// First start.
    pub from: NaiveDateTime,
    /// Last start.
    pub until: NaiveDateTime,
    /// The start with the shortest exposure.
    pub best_at: NaiveDateTime,
    /// That exposure. [min]
    pub best_minutes: f64,
}

/// Tells the light of each day of the grid, from `now` on.
pub fn light_days(
    key: &ClassKey,
    grid: &Grid,
    outdoors: &Outdoors,
    limits: &WeatherLimits,
    now: NaiveDateTime,
) -> Vec<LightDay> {
    let table = start_table(key, grid, outdoors, limits, now);
    (0..i64::from(grid.days))
        .map(|index| index * PER_DAY)
        .map(|first| LightDay {
            date: grid.day(first),
            hours: hours(key, &table, first, grid, outdoors),
            windows: spans(&table, first, grid),
        })
        .collect()
}

fn hours(
    key: &ClassKey,
    table: &StartTable,
    first: Slot,
    grid: &Grid,
    outdoors: &Outdoors,
) -> Vec<LightHour> {
    let full_hours = (first..first + PER_DAY).step_by(12);
    let hour = |slot| {
        let start = table.find(slot)?;
        let at = grid.find_instant(slot)?;
        let exposure = outdoors.light.exposure(at, key.dose).ok()?;
        let range = outdoors.light.minutes_range(at, key.dose, 0.0).ok();
        Some(LightHour {
            at: grid.wall(slot),
            minutes: start.minutes,
            between: range.map(|range| (range.least, range.most)),
            quality: exposure.quality,
            cloud: outdoors.light.method_at(at + TimeDelta::minutes(1)),
            unfit: start.unfit,
        })
    };
    full_hours.filter_map(hour).collect()
}

fn spans(table: &StartTable, first: Slot, grid: &Grid) -> Vec<LightSpan> {
    let mut spans: Vec<LightSpan> = Vec::new();
    let mut last = Slot::MIN;
    let fit = table.starts.iter().filter(|start| start.unfit.is_none());
    for start in fit.filter(|start| (first..first + PER_DAY).contains(&start.slot)) {
        let at = grid.wall(start.slot);
        match spans.last_mut() {
            Some(span) if last + 1 == start.slot => {
                span.until = at;
                if start.minutes < span.best_minutes {
                    (span.best_at, span.best_minutes) = (at, start.minutes);
                }
            }
            _ => spans.push(LightSpan {
                from: at,
                until: at,
                best_at: at,
                best_minutes: start.minutes,
            }),
        }
        last = start.slot;
    }
    spans
}
