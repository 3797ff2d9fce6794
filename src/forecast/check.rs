//! Whether a forecast is the right one: for this place, for these days, fresh.

use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;

use super::Forecast;
use crate::problem::Problem;
use crate::studio::Place;

/// Farther than this it is the forecast of another place. Grids have points up to
/// about 25 km apart, so the nearest one is nearer than that. [km, own choice]
const FAR_KM: f64 = 25.0;

/// Farther than this its weather is not used at all. [km, own choice]
const ELSEWHERE_KM: f64 = 250.0;

/// Mean radius of the Earth. [km]
///
/// # Sources
/// International Union of Geodesy and Geophysics, mean radius of GRS 80, from memory.
const EARTH_KM: f64 = 6371.0;

/// What a forecast is held against.
#[derive(Debug, Clone, Copy)]
pub struct Expectation<'a> {
    /// The file it came from, for the problems.
    pub file: &'a str,
    /// Where the studio is.
    pub place: &'a Place,
    /// The moment that the plan is made for.
    pub now: DateTime<Utc>,
    /// End of the days that are planned.
    pub until: DateTime<Utc>,
    /// When it was fetched, where that is remembered: stands in for the time of its
    /// making in a forecast that does not tell.
    pub fetched_at: Option<DateTime<Utc>>,
    /// Older than this it is called stale. [h]
    pub stale_hours: f64,
}

/// Returns what speaks against using `forecast`.
///
/// A warning leaves it in use. An error means that it must not be used: all of it
/// is over, or it is for a place so far away that its weather says nothing.
pub fn check(forecast: &Forecast, expected: &Expectation<'_>) -> Vec<Problem> {
    [
        find_distance(forecast, expected),
        find_age(forecast, expected),
        find_reach(forecast, expected),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn find_distance(forecast: &Forecast, expected: &Expectation<'_>) -> Option<Problem> {
    let studio = (expected.place.latitude_deg, expected.place.longitude_deg);
    let there = (forecast.latitude_deg, forecast.longitude_deg);
    let km = distance_km(studio, there);
    if km <= FAR_KM {
        return None;
    }
    let what = format!(
        "the forecast is for another place, {km:.0} km from the studio ({})",
        coordinates(there)
    );
    let problem = match km > ELSEWHERE_KM {
        true => Problem::error(expected.file, what + ", and is not used"),
        false => Problem::warning(expected.file, what),
    };
    Some(problem.hint(format!("save the forecast for {}", coordinates(studio))))
}

fn find_age(forecast: &Forecast, expected: &Expectation<'_>) -> Option<Problem> {
    let zone = expected.place.zone;
    let hint = "get a new one with `fairday fetch`, or save one";
    let ends_at = forecast.ends_at()?;
    if ends_at <= expected.now {
        let what = format!(
            "the forecast is over since {} and is not used",
            moment(ends_at, zone)
        );
        return Some(Problem::error(expected.file, what).hint(hint));
    }
    let (verb, of) = match (forecast.issued_at, expected.fetched_at) {
        (Some(issued_at), _) => ("made", issued_at),
        (None, Some(fetched_at)) => ("fetched", fetched_at),
        (None, None) => return None,
    };
    let age_h = (expected.now - of).num_minutes() as f64 / 60.0;
    if age_h > expected.stale_hours {
        let what = format!(
            "the forecast is {} old, {verb} {}",
            spoken_age(age_h),
            moment(of, zone)
        );
        return Some(Problem::warning(expected.file, what).hint(hint));
    }
    None
}

fn find_reach(forecast: &Forecast, expected: &Expectation<'_>) -> Option<Problem> {
    let zone = expected.place.zone;
    let begins_at = forecast.hours.first()?.start;
    let ends_at = forecast.ends_at().filter(|end| *end > expected.now)?;
    if begins_at >= expected.until {
        let what = format!(
            "the forecast begins on {}, after the days that are planned",
            moment(begins_at, zone)
        );
        return Some(Problem::error(expected.file, what).hint("save the present forecast"));
    }
    if begins_at > expected.now + TimeDelta::hours(24) {
        let what = format!("the forecast begins only on {}", moment(begins_at, zone));
        return Some(Problem::warning(expected.file, what).hint("save the present forecast"));
    }
    (ends_at < expected.until).then(|| {
        let what = format!(
            "the forecast ends on {}, before the days that are planned",
            moment(ends_at, zone)
        );
        Problem::warning(expected.file, what)
    })
}

/// Returns the distance of two places (latitude, longitude in degrees) on a sphere. [km]
///
/// # Sources
/// Haversine form of the great-circle distance, any textbook of navigation.
///
/// # Example
/// ```
/// use fairday::forecast::distance_km;
/// // A degree of a meridian is 111.2 km on the mean sphere.
/// assert!((distance_km((51.0, 7.0), (52.0, 7.0)) - 111.2).abs() < 0.1);
/// // The date line is no wall.
/// assert!(distance_km((-18.0, 179.9), (-18.0, -179.9)) < 25.0);
/// ```
pub fn distance_km(one: (f64, f64), other: (f64, f64)) -> f64 {
    let half = |a: f64, b: f64| ((b - a).to_radians() / 2.0).sin().powi(2);
    let cosines = one.0.to_radians().cos() * other.0.to_radians().cos();
    let chord = half(one.0, other.0) + cosines * half(one.1, other.1);
    2.0 * EARTH_KM * chord.clamp(0.0, 1.0).sqrt().asin()
}

fn coordinates((latitude, longitude): (f64, f64)) -> String {
    let north = if latitude < 0.0 { 'S' } else { 'N' };
    let east = if longitude < 0.0 { 'W' } else { 'E' };
    format!(
        "{:.2}° {north}, {:.2}° {east}",
        latitude.abs(),
        longitude.abs()
    )
}

fn moment(at: DateTime<Utc>, zone: Tz) -> String {
    at.with_timezone(&zone).format("%Y-%m-%d %H:%M").to_string()
}

fn spoken_age(hours: f64) -> String {
    if hours < 48.0 {
        format!("{hours:.0} hours")
    } else {
        format!("{:.0} days", (hours / 24.0).floor())
    }
}
