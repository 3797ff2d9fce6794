//! Pieces that no sky of the season prints: the sun is too low, or takes too long.
//!
//! Asked under a clear, still sky, so that cloud, wind and rain are none of it. What is
//! found is a limit of place and season, or one of the studio's own settings.

use std::ops::Range;

use chrono::{DateTime, Days, NaiveDate, Utc};

use crate::light::{ClearLight, CurveRules, LightCurve, Site, Step};
use crate::plan::dark::{Dark, find_dark};
use crate::plan::grid::{Grid, PER_DAY, work_stretches};
use crate::plan::model::Slot;
use crate::plan::setup::Setup;
use crate::plan::starts::{Outdoors, Start, StartTable, start_table};
use crate::studio::Studio;

/// How far beyond today the first day with light enough is looked for. [d, own choice]
const AHEAD_DAYS: u64 = 366;

/// Pieces that cannot be printed by the sun in the days of the plan, whatever the sky.
#[derive(Debug, Clone, PartialEq)]
pub struct NoSun {
    /// Numbers of the pieces of the order.
    pub pieces: Vec<u32>,
    /// The shortest exposure under a clear sky in the hours of work, which is longer
    /// than the studio allows; none if the dose is not reached at all. [min]
    pub shortest: Option<f64>,
    /// Longest exposure that the studio allows. [min]
    pub most: f64,
    /// Why the dose is not reached on the day of the plan with the most light, where
    /// it is not.
    pub dark: Option<Dark>,
    /// The first day after the plan on which a clear sky would do; none within a year.
    pub first_on: Option<NaiveDate>,
}

/// Finds the pieces of an order that no sky prints within the plan; none if all that
/// still need sun can get it.
pub(super) fn find_no_sun(
    order: usize,
    setup: &Setup,
    fair: &Setup,
    studio: &Studio,
    site: &Site,
) -> Option<NoSun> {
    let mut found: Option<(usize, Vec<u32>)> = None;
    for (index, lot) in fair.lots.iter().enumerate() {
        let core = &fair.instance.lots[index];
        let is_past = core.exposed_end.is_some() || core.washed_end.is_some();
        let numbers: Vec<u32> = lot
            .pieces
            .iter()
            .filter(|waiting| waiting.order == order)
            .map(|waiting| waiting.piece.number)
            .collect();
        let table = fair.table(index);
        let needs_sun = lot.frame.is_some() && !is_past && table.key.lamp.is_none();
        if numbers.is_empty() || !needs_sun || starts_at_work(fair, table).any(is_fit) {
            continue;
        }
        found
            .get_or_insert_with(|| (index, Vec::new()))
            .1
            .extend(numbers);
    }
    let (lot, mut pieces) = found?;
    pieces.sort_unstable();
    let table = fair.table(lot);
    let shortest = starts_at_work(fair, table)
        .map(|start| start.minutes)
        .min_by(f64::total_cmp);
    Some(NoSun {
        pieces,
        shortest,
        most: studio.weather.exposure_max_minutes,
        dark: match shortest {
            Some(_) => None,
            None => dark_at_best(setup, lot, studio, site),
        },
        first_on: first_day(fair, table, studio, site),
    })
}

fn is_fit(start: &Start) -> bool {
    start.unfit.is_none()
}

fn starts_at_work<'a>(setup: &'a Setup, table: &'a StartTable) -> impl Iterator<Item = &'a Start> {
    table
        .starts
        .iter()
        .filter(|start| is_inside(&setup.instance.work, start.slot))
}

fn is_inside(work: &[(Slot, Slot)], slot: Slot) -> bool {
    work.iter()
        .any(|(from, until)| (*from..*until).contains(&slot))
}

/// Says why the dose is not reached under a clear sky: by the day that comes nearest to
/// it, one on which the sun sinks too early before one on which it stays too low.
fn dark_at_best(setup: &Setup, lot: usize, studio: &Studio, site: &Site) -> Option<Dark> {
    let grid = setup.grid;
    let clear = ClearLight::over(*site, span(&grid)?, Step::FIVE_MINUTES);
    let light = LightCurve::fair(&clear, &CurveRules::of(&studio.weather));
    let outdoors = under(&light);
    let dose = setup.table(lot).key.dose;
    let days = (0..i64::from(grid.days)).filter_map(|day| {
        let first = day * PER_DAY;
        let work: Vec<(Slot, Slot)> = setup
            .instance
            .work
            .iter()
            .copied()
            .filter(|(from, _)| (first..first + PER_DAY).contains(from))
            .collect();
        find_dark(first, &work, dose, &grid, &outdoors, &studio.weather)
    });
    let rank = |dark: &Dark| match dark {
        Dark::NotInHours => 0,
        Dark::SunLeaves { .. } => 1,
        Dark::SunLow { .. } => 2,
        Dark::ForecastEnds | Dark::DayOff => 3,
    };
    days.filter(|dark| rank(dark) < 3).min_by_key(rank)
}

/// Finds the first day after the plan on which a clear sky gives a start that the studio
/// allows.
fn first_day(setup: &Setup, table: &StartTable, studio: &Studio, site: &Site) -> Option<NaiveDate> {
    let after = setup.grid.first_day + Days::new(u64::from(setup.grid.days));
    (0..AHEAD_DAYS)
        .map(|day| after + Days::new(day))
        .find(|day| {
            let grid = Grid {
                first_day: *day,
                days: 1,
                ..setup.grid
            };
            let midnight = grid.wall(0);
            let work = work_stretches(&grid, studio, midnight);
            let Some(span) = span(&grid).filter(|_| !work.is_empty()) else {
                return false;
            };
            let step = Step::of_minutes(10).expect("ten divides sixty");
            let clear = ClearLight::over(*site, span, step);
            let light = LightCurve::fair(&clear, &CurveRules::of(&studio.weather));
            let limits = &studio.weather;
            let found = start_table(&table.key, &grid, &under(&light), limits, midnight);
            let mut starts = found.starts.iter();
            starts.any(|start| is_fit(start) && is_inside(&work, start.slot))
        })
}

fn under(light: &LightCurve) -> Outdoors<'_> {
    Outdoors {
        light,
        forecast: None,
        dry_factor: 1.0,
    }
}

/// Returns the instants from the first day's noon back to its morning and on to the
/// evening of the last; none where the clock knows neither.
fn span(grid: &Grid) -> Option<Range<DateTime<Utc>>> {
    let noon = grid.find_instant(PER_DAY / 2)?;
    let from = noon - chrono::TimeDelta::hours(12);
    Some(from..from + chrono::TimeDelta::days(i64::from(grid.days)))
}
