//! What the sky offers on each day of a plan, for the kind of piece that waits most.

use chrono::{NaiveDate, NaiveDateTime};
use serde::Serialize;

use super::dark::{Dark, find_dark};
use super::grid::PER_DAY;
use super::model::Slot;
use super::setup::Setup;
use super::starts::{Outdoors, Start, StartTable};
use crate::forecast::Origin;
use crate::light::Quality;
use crate::studio::WeatherLimits;
use crate::window::Unfit;

/// Light and weather of one day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DayLight {
    /// The day.
    pub date: NaiveDate,
    /// First and last fit start of each run of them, while hands are there.
    pub windows: Vec<(NaiveDateTime, NaiveDateTime)>,
    /// The shortest fit exposure while hands are there: when, and how long. [min]
    pub best: Option<(NaiveDateTime, f64)>,
    /// What that exposure rests on.
    pub origin: Origin,
    /// How far its minutes are to be trusted.
    pub quality: Quality,
    /// What stands against most starts of a day without any.
    pub against: Option<Unfit>,
    /// Why there is no start at all on a day without any.
    pub dark: Option<Dark>,
    /// Highest UV index of the clear sky.
    pub uv_index: Option<f64>,
}

/// Describes each day of the plan; `uv_index` gives the highest index of a day.
pub fn daylight(
    setup: &Setup,
    outdoors: &Outdoors,
    limits: &WeatherLimits,
    uv_index: impl Fn(NaiveDate) -> Option<f64>,
) -> Vec<DayLight> {
    let table = usual_table(setup);
    let dark = |first: Slot| {
        let work = setup.instance.work.iter();
        let work: Vec<(Slot, Slot)> = work
            .copied()
            .filter(|(from, _)| (first..first + PER_DAY).contains(from))
            .collect();
        let dose = table?.key.dose;
        find_dark(first, &work, dose, &setup.grid, outdoors, limits)
    };
    (0..i64::from(setup.grid.days))
        .map(|index| {
            let first = index * PER_DAY;
            let date = setup.grid.day(first);
            let starts: Vec<&Start> = table
                .iter()
                .flat_map(|table| &table.starts)
                .filter(|start| (first..first + PER_DAY).contains(&start.slot))
                .filter(|start| hands_are_there(setup, start.slot))
                .collect();
            let dark = starts.is_empty().then(|| dark(first)).flatten();
            describe(setup, date, &starts, dark, uv_index(date))
        })
        .collect()
}

/// Finds the sun table that most waiting pieces go by, loose objects last.
pub(super) fn usual_table<'a>(setup: &'a Setup) -> Option<&'a StartTable> {
    let pieces = |index: usize| -> usize {
        let lots = setup.lots.iter().zip(&setup.table_of);
        let of_class = lots.filter(|(lot, table)| **table == index && lot.frame.is_some());
        of_class.map(|(lot, _)| lot.pieces.len()).sum()
    };
    let sun = setup
        .tables
        .iter()
        .enumerate()
        .filter(|(_, table)| table.key.lamp.is_none());
    let usual = sun
        .max_by_key(|(index, table)| (!table.key.loose, pieces(*index), std::cmp::Reverse(*index)));
    usual.map(|(_, table)| table)
}

fn hands_are_there(setup: &Setup, slot: Slot) -> bool {
    setup
        .instance
        .work
        .iter()
        .any(|(from, until)| (*from..*until).contains(&slot))
}

fn describe(
    setup: &Setup,
    date: NaiveDate,
    starts: &[&Start],
    dark: Option<Dark>,
    uv_index: Option<f64>,
) -> DayLight {
    let mut windows: Vec<(Slot, Slot)> = Vec::new();
    for start in starts.iter().filter(|start| start.unfit.is_none()) {
        match windows.last_mut() {
            Some((_, last)) if *last + 1 == start.slot => *last = start.slot,
            _ => windows.push((start.slot, start.slot)),
        }
    }
    let fit = starts.iter().filter(|start| start.unfit.is_none());
    let best = fit.min_by(|a, b| a.minutes.total_cmp(&b.minutes));
    let wall = |slot| setup.grid.wall(slot);
    DayLight {
        date,
        windows: windows
            .into_iter()
            .map(|(from, until)| (wall(from), wall(until)))
            .collect(),
        best: best.map(|start| (wall(start.slot), start.minutes)),
        origin: best.map_or(Origin::Forecast, |start| start.origin),
        quality: best.map_or(Quality::Good, |start| start.quality),
        against: most_frequent(starts),
        dark,
        uv_index,
    }
}

/// Finds what stands against most of the unfit starts; its example with the best light.
fn most_frequent(starts: &[&Start]) -> Option<Unfit> {
    let kind = |unfit: &Unfit| std::mem::discriminant(unfit);
    let all: Vec<Unfit> = starts.iter().filter_map(|start| start.unfit).collect();
    let count = |unfit: &Unfit| {
        all.iter()
            .filter(|other| kind(other) == kind(unfit))
            .count()
    };
    let most = all.iter().max_by_key(|unfit| count(unfit)).map(kind)?;
    let alike = starts
        .iter()
        .filter(|start| start.unfit.as_ref().map(kind) == Some(most));
    alike
        .min_by(|a, b| a.minutes.total_cmp(&b.minutes))
        .and_then(|start| start.unfit)
}
