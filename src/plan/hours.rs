//! Minutes of exposure by day and hour for one kind of piece: the light as a table.

use chrono::{NaiveDate, NaiveDateTime, TimeDelta};
use serde::Serialize;

use super::dark::{Dark, find_dark};
use super::grid::{Grid, PER_DAY};
use super::model::Slot;
use super::starts::{ClassKey, Outdoors, StartTable, start_table};
use crate::light::{Barrier, CloudMethod, Quality};
use crate::studio::WeatherLimits;
use crate::window::Unfit;

/// The light of one day for one kind of piece.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LightDay {
    /// The day.
    pub date: NaiveDate,
    /// Starts on the full hour with light enough, ascending.
    pub hours: Vec<LightHour>,
    /// Full hours of which the forecast says nothing, with the sun up.
    pub unknown: Vec<NaiveDateTime>,
    /// Runs of fit starts in the hours of work.
    pub windows: Vec<LightSpan>,
    /// Why there is no start at all in the hours of work; none if there is one.
    pub dark: Option<Dark>,
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

/// What is asked of the light.
#[derive(Debug, Clone, Copy)]
pub struct LightAsked<'a> {
    /// The kind of piece.
    pub key: ClassKey,
    /// Spread of the logarithm of its dose.
    pub dose_spread: f64,
    /// The days.
    pub grid: &'a Grid,
    /// The light and the weather.
    pub outdoors: &'a Outdoors<'a>,
    /// What they must keep.
    pub limits: &'a WeatherLimits,
    /// Hours of work, ascending.
    pub work: &'a [(Slot, Slot)],
}

/// Tells the light of each day of the grid, from `now` on.
pub fn light_days(asked: &LightAsked, now: NaiveDateTime) -> Vec<LightDay> {
    let LightAsked { key, grid, .. } = asked;
    let table = start_table(key, grid, asked.outdoors, asked.limits, now);
    (0..i64::from(grid.days))
        .map(|index| index * PER_DAY)
        .map(|first| {
            let work: Vec<(Slot, Slot)> = asked
                .work
                .iter()
                .copied()
                .filter(|(from, _)| (first..first + PER_DAY).contains(from))
                .collect();
            LightDay {
                date: grid.day(first),
                hours: hours(asked, &table, first),
                unknown: unknown(asked, first),
                windows: spans(&table, &work, grid),
                dark: find_dark(first, &work, key.dose, grid, asked.outdoors, asked.limits),
            }
        })
        .collect()
}

fn unknown(asked: &LightAsked, first: Slot) -> Vec<NaiveDateTime> {
    let full_hours = (first..first + PER_DAY).step_by(12);
    let is_unknown = |slot: &Slot| {
        let at = asked.grid.find_instant(*slot);
        let barrier = at.and_then(|at| asked.outdoors.light.find_barrier(at));
        barrier == Some(Barrier::UnknownSky)
    };
    full_hours
        .filter(is_unknown)
        .map(|slot| asked.grid.wall(slot))
        .collect()
}

fn hours(asked: &LightAsked, table: &StartTable, first: Slot) -> Vec<LightHour> {
    let LightAsked {
        key,
        grid,
        outdoors,
        ..
    } = asked;
    let full_hours = (first..first + PER_DAY).step_by(12);
    let hour = |slot| {
        let start = table.find(slot)?;
        let at = grid.find_instant(slot)?;
        let exposure = outdoors.light.exposure(at, key.dose).ok()?;
        let range = outdoors
            .light
            .minutes_range(at, key.dose, asked.dose_spread)
            .ok();
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

fn spans(table: &StartTable, work: &[(Slot, Slot)], grid: &Grid) -> Vec<LightSpan> {
    let mut spans: Vec<LightSpan> = Vec::new();
    let mut last = Slot::MIN;
    let fit = table.starts.iter().filter(|start| start.unfit.is_none());
    let at_work = |slot: Slot| {
        work.iter()
            .any(|(from, until)| (*from..*until).contains(&slot))
    };
    for start in fit.filter(|start| at_work(start.slot)) {
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
