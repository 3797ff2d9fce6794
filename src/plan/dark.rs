//! Why a day has no light for an exposure: the sun, the hours of work, the forecast.
//!
//! Wind, rain and the studio's limit of minutes are not darkness; they stand against
//! starts that there are (`starts`).

use serde::Serialize;

use super::grid::Grid;
use super::model::Slot;
use super::starts::Outdoors;
use crate::light::Barrier;
use crate::studio::WeatherLimits;
use crate::units::Dose;

/// Why no exposure can be begun on a day.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "why")]
pub enum Dark {
    /// Nobody works that day.
    DayOff,
    /// The forecast says nothing of it.
    ForecastEnds,
    /// There is light, but not in the hours of work that are left.
    NotInHours,
    /// The sun rises, but sinks again before the dose is reached.
    SunLeaves {
        /// Where the sun counts as gone. [°]
        limit_deg: f64,
    },
    /// The sun stays too low all day.
    SunLow {
        /// Where the sun counts as gone. [°]
        limit_deg: f64,
    },
}

/// Returns why no exposure to `dose` can be begun in the slots `work`, which are all on
/// the day that begins with slot `first`; none if one can.
pub fn find_dark(
    first: Slot,
    work: &[(Slot, Slot)],
    dose: Dose,
    grid: &Grid,
    outdoors: &Outdoors,
    limits: &WeatherLimits,
) -> Option<Dark> {
    if work.is_empty() {
        return Some(Dark::DayOff);
    }
    let day: Vec<(Slot, Result<(), Barrier>)> = (first..first + super::grid::PER_DAY)
        .filter_map(|slot| Some((slot, grid.find_instant(slot)?)))
        .map(|(slot, at)| (slot, outdoors.light.exposure(at, dose).map(|_| ())))
        .collect();
    let at_work = |slot: Slot| {
        work.iter()
            .any(|(from, until)| (*from..*until).contains(&slot))
    };
    if day
        .iter()
        .any(|(slot, start)| start.is_ok() && at_work(*slot))
    {
        return None;
    }
    let is = |barrier| day.iter().any(|(_, start)| *start == Err(barrier));
    let is_up = |slot: Slot| {
        let at = grid.find_instant(slot);
        at.is_some_and(|at| outdoors.light.find_barrier(at).is_none())
    };
    let limit_deg = limits.elevation_min_deg;
    Some(if day.iter().any(|(_, start)| start.is_ok()) {
        Dark::NotInHours
    } else if is(Barrier::UnknownSky) {
        Dark::ForecastEnds
    } else if day.iter().any(|(slot, _)| is_up(*slot)) {
        Dark::SunLeaves { limit_deg }
    } else {
        Dark::SunLow { limit_deg }
    })
}
