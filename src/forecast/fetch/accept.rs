//! Whether an answer is good enough to take the place of the forecast that is kept.
//!
//! Stricter than reading a file that somebody put there on purpose: an answer
//! that lacks what planning lives on must not replace one that has it.

use chrono::{DateTime, TimeDelta, Utc};

use crate::forecast::{Forecast, Hour, distance_km, parse};
use crate::problem::{Problem, Severity};
use crate::studio::Place;

/// Farther than this the answer is for another place. Grids lie up to 30 km off,
/// stations of Bright Sky up to 50. [km, own choice]
const FAR_KM: f64 = 60.0;

/// An answer that reaches less far ahead is a broken one. [own choice]
const AHEAD_LEAST: TimeDelta = TimeDelta::hours(24);

/// Reads an answer; the problems beside it are warnings.
///
/// # Errors
/// The problems that speak against using it, at least one of them an error.
pub fn accept(
    body: &[u8],
    from: &str,
    place: &Place,
    now: DateTime<Utc>,
) -> Result<(Forecast, Vec<Problem>), Vec<Problem>> {
    let Ok(text) = std::str::from_utf8(body) else {
        let what = "expected text in UTF-8, found other bytes";
        return Err(vec![Problem::error(from, what)]);
    };
    let (forecast, mut problems) = parse(text, from);
    for problem in &mut problems {
        // The hints of a saved file say what to save; nobody saved this one.
        problem.hint = None;
    }
    let Some(forecast) = forecast else {
        return Err(problems);
    };
    problems.extend(objections(&forecast, from, place, now));
    let (errors, warnings): (Vec<Problem>, Vec<Problem>) = problems
        .into_iter()
        .partition(|problem| problem.severity == Severity::Error);
    if errors.is_empty() {
        Ok((forecast, warnings))
    } else {
        Err(errors)
    }
}

fn objections(forecast: &Forecast, from: &str, place: &Place, now: DateTime<Utc>) -> Vec<Problem> {
    let mut found = Vec::new();
    let mut object = |what: String| found.push(Problem::error(from, what));
    let km = distance_km(
        (place.latitude_deg, place.longitude_deg),
        (forecast.latitude_deg, forecast.longitude_deg),
    );
    if km > FAR_KM {
        object(format!("the answer is for another place, {km:.0} km away"));
    }
    let ahead = forecast
        .ends_at()
        .map_or(TimeDelta::zero(), |end| end - now);
    if ahead < AHEAD_LEAST {
        object(format!(
            "the answer reaches {} hours ahead, expected at least {}",
            ahead.num_hours().max(0),
            AHEAD_LEAST.num_hours()
        ));
    }
    if forecast
        .hours
        .first()
        .is_some_and(|hour| hour.start > now + AHEAD_LEAST)
    {
        object("the answer begins only after tomorrow".to_owned());
    }
    for (subject, knows) in NEEDED {
        if !forecast.hours.iter().any(knows) {
            object(format!("the answer says nothing of {subject}"));
        }
    }
    found
}

/// Tells whether an hour knows something.
type Knows = fn(&Hour) -> bool;

/// What planning lives on.
const NEEDED: [(&str, Knows); 3] = [
    ("cloud or light", |hour| {
        hour.cloud_pct
            .or(hour.cloud_low_pct)
            .or(hour.global_w_m2)
            .is_some()
    }),
    ("rain", |hour| hour.rain_mm.or(hour.rain_chance).is_some()),
    ("wind", |hour| hour.wind_m_s.or(hour.gust_m_s).is_some()),
];
