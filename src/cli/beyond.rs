//! Carrying the forecast on by the climate that the studio names.

use std::collections::BTreeSet;
use std::path::Path;

use chrono::{DateTime, Datelike, TimeDelta, Utc};

use crate::climate::{Beyond, Usual, extend};
use crate::forecast::{Forecast, distance_km};
use crate::light::sun::Observer;
use crate::outside::climate::read_climate;
use crate::problem::Problem;
use crate::studio::{Climate, ClimateSource, Studio};

/// Farther than this a file is for another climate. [km, own choice]
const FAR_KM: f64 = 250.0;

/// Carries `forecast` on until the end of the plan, if the studio names a climate.
///
/// Without a forecast nothing is carried on: the climate alone is no ground for
/// coating tonight. Returns what the days beyond rest on, in words.
pub fn carry_on(
    folder: &Path,
    studio: &Studio,
    forecast: &mut Option<Forecast>,
    now: DateTime<Utc>,
    until: DateTime<Utc>,
    problems: &mut Vec<Problem>,
) -> Option<String> {
    let (climate, forecast) = (studio.climate.as_ref()?, forecast.as_mut()?);
    let usual = match usual(folder, studio, climate, now, until, problems) {
        Ok(usual) => usual,
        Err(problem) => {
            problems.push(*problem);
            return None;
        }
    };
    let beyond = Beyond {
        usual: &usual,
        observer: &Observer::at_place(&studio.place),
        global_scale: 1.0,
        wet_share: climate.wet_share,
        now,
        until,
    };
    extend(forecast, &beyond);
    Some(usual.origin)
}

fn usual(
    folder: &Path,
    studio: &Studio,
    climate: &Climate,
    now: DateTime<Utc>,
    until: DateTime<Utc>,
    problems: &mut Vec<Problem>,
) -> Result<Usual, Box<Problem>> {
    let place = &studio.place;
    let file = match &climate.source {
        ClimateSource::ByLatitude => {
            return Ok(Usual::by_latitude(place.latitude_deg, place.longitude_deg));
        }
        ClimateSource::File(file) => file,
    };
    let year = read_climate(folder, file)?;
    let km = distance_km(
        (place.latitude_deg, place.longitude_deg),
        (year.latitude_deg, year.longitude_deg),
    );
    if km > FAR_KM {
        let what = format!("the typical year is of a place {km:.0} km from the studio");
        problems.push(Problem::warning(file, what).hint("take one from nearer by"));
    }
    // A day more on either side: standard time may be in another month.
    let days = (until - now).num_days() + 2;
    let months: BTreeSet<u32> = (-1..=days)
        .map(|day| (now + TimeDelta::days(day)).month())
        .collect();
    Ok(Usual::of_year(
        &year,
        &months.into_iter().collect::<Vec<_>>(),
    ))
}
