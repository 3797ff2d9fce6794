//! What people save by mistake, and forecasts that are the wrong ones.
//!
//! Each row is the smallest file that causes a problem, with all that is said.

use chrono::{DateTime, TimeDelta, Utc};
use fairday::forecast::{Expectation, Forecast, Hour, check, parse};
use fairday::problem::{Problem, Severity};
use fairday::studio::Place;
use proptest::prelude::*;

/// Shows a problem the way these tests compare it.
fn line(problem: &Problem) -> String {
    let severity = match problem.severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
    };
    let spot = problem.spot.as_ref();
    let spot = spot.map_or(String::new(), |s| format!(":{}:{}", s.line, s.column));
    let hint = problem.hint.as_deref().unwrap_or("-");
    format!(
        "{severity}: {}{spot}: {} | {hint}",
        problem.file, problem.what
    )
}

#[track_caller]
fn refused(text: &str, expected: &str) {
    let (forecast, problems) = parse(text, "f.json");
    assert_eq!(forecast, None, "{text}");
    let lines: Vec<String> = problems.iter().map(line).collect();
    assert_eq!(lines, [expected], "{text}");
}

#[test]
fn a_file_that_is_no_forecast_is_refused_with_its_reason() {
    refused(
        " \n",
        "error: f.json: expected a saved forecast, found an empty file | save the forecast again",
    );
    refused(
        "<!DOCTYPE html><html>",
        "error: f.json: expected JSON, found a web page or other markup | \
         save the answer of the service itself, not the page that shows it",
    );
    refused(
        r#"{"error": true, "reason": "Parameter 'latitude' must be of type `number`."}"#,
        "error: f.json: the service refused with \
         `Parameter 'latitude' must be of type 'number'.` | \
         mend the request, then save the forecast again",
    );
    refused(
        r#"{"latitude": 1, "daily": {}}"#,
        "error: f.json: expected hourly values, found none | \
         ask the service for `hourly=` with cloud, wind, rain and temperature",
    );
    refused(
        "[1, 2]",
        "error: f.json: expected a saved forecast, found other JSON | \
         save an answer of MET Norway (Locationforecast 2.0), Open-Meteo or Bright Sky here",
    );
    refused(
        r#"[{"hourly": {}}, {"hourly": {}}]"#,
        "error: f.json: expected the forecast of one place, found 2 | \
         save it again for the studio alone",
    );
}

#[test]
fn broken_json_is_refused_with_its_place() {
    refused(
        "{\n \"hourly\": {\"time\": [\"2026-05-",
        "error: f.json:2:30: the JSON ends before it is complete | save the forecast again",
    );
    refused(
        "{\n  \"grüße\": oops\n}",
        "error: f.json:2:12: expected JSON, found something else | save the forecast again",
    );
    let deep = "[".repeat(100_000);
    let (forecast, problems) = parse(&deep, "f.json");
    assert!(forecast.is_none() && problems.len() == 1);
}

#[test]
fn every_beginning_of_a_file_is_refused_and_none_panics() {
    for name in ["met_norway", "open_meteo", "bright_sky"] {
        let text = std::fs::read_to_string(format!("tests/forecast/{name}.json")).unwrap();
        for end in (0..text.trim_end().len()).filter(|end| text.is_char_boundary(*end)) {
            let (forecast, problems) = parse(&text[..end], name);
            assert!(forecast.is_none() && problems.len() == 1, "{name} {end}");
        }
    }
}

proptest! {
    #[test]
    fn a_file_with_a_slip_in_it_gives_an_ordered_forecast_or_one_error(
        name in prop::sample::select(vec!["met_norway", "open_meteo", "bright_sky"]),
        at in any::<prop::sample::Index>(),
        slip in prop::sample::select(vec!["9", "-", "e9", "null", "[", "}", ",", "\"", "ü", ""]),
    ) {
        let text = std::fs::read_to_string(format!("tests/forecast/{name}.json")).unwrap();
        let places: Vec<usize> = text.char_indices().map(|(at, _)| at).collect();
        let at = places[at.index(places.len())];
        let next = at + text[at..].chars().next().unwrap().len_utf8();
        let spoilt = format!("{}{slip}{}", &text[..at], &text[next..]);
        match parse(&spoilt, name) {
            (Some(forecast), _) => {
                let ascending = |pair: &[Hour]| pair[1].start - pair[0].start >= TimeDelta::hours(1);
                prop_assert!(!forecast.hours.is_empty());
                prop_assert!(forecast.hours.windows(2).all(ascending));
            }
            (None, problems) => {
                prop_assert_eq!(problems.len(), 1);
                prop_assert_eq!(problems[0].severity, Severity::Error);
            }
        }
    }
}

/// Returns an Open-Meteo answer with these columns.
fn columns(times: &str, more: &str) -> String {
    format!(
        r#"{{"latitude": 50.7, "longitude": 7.1, "utc_offset_seconds": 0,
            "hourly_units": {{"wind_speed_10m": "m/s"}},
            "hourly": {{"time": {times}{more}}}}}"#
    )
}

const TIMES: &str = r#"["2026-05-12T09:00", "2026-05-12T10:00", "2026-05-12T11:00"]"#;
const WHOLE: &str = r#", "cloud_cover": [0, 0, 0], "precipitation": [0, 0, 0]"#;

#[test]
fn a_forecast_without_hours_is_refused() {
    refused(
        &columns("[]", ""),
        "error: f.json: expected a list of entries in `hourly.time`, found none | \
         save the forecast again",
    );
    refused(
        &columns(r#"["2026-05-12T09:00"]"#, WHOLE),
        "error: f.json: the forecast holds no whole hour that could be used | \
         save the forecast again",
    );
    refused(
        &columns(r#"["2026-05-12T09:00", "noon"]"#, WHOLE),
        "error: f.json: expected a time in `hourly.time`, found `\"noon\"` | \
         save the forecast again",
    );
    // Milliseconds since 1970 would be the year 58331.
    refused(
        &columns("[1778576400000, 1778580000000]", WHOLE),
        "error: f.json: expected a time in `hourly.time`, found `1778576400000` | \
         save the forecast again",
    );
    refused(
        &columns(&format!("[{}0]", "0,".repeat(10_000)), ""),
        "error: f.json: expected at most 10000 entries in `hourly.time`, found 10001 | \
         save the forecast again",
    );
    refused(
        r#"{"type": "Feature", "properties": {"timeseries": [{"time": "2026-05-12T09:00:00Z"}]}}"#,
        "error: f.json: the forecast does not say for which place it is | \
         save the forecast again",
    );
    refused(
        &columns(TIMES, WHOLE).replace(r#""utc_offset_seconds": 0,"#, ""),
        "error: f.json: the times are local and `utc_offset_seconds` is missing | \
         save the forecast again with `timezone=GMT`",
    );
}

#[track_caller]
fn kept(text: &str, expected: &[&str]) -> Forecast {
    let (forecast, problems) = parse(text, "f.json");
    let lines: Vec<String> = problems.iter().map(line).collect();
    assert_eq!(lines, expected, "{text}");
    forecast.unwrap()
}

#[test]
fn a_column_that_makes_no_sense_is_left_out_and_the_others_stay() {
    let uneven = format!(r#"{WHOLE}, "wind_speed_10m": [1, 2]"#);
    let forecast = kept(
        &columns(TIMES, &uneven),
        &[
            "error: f.json: expected 3 values in `wind_speed_10m`, found 2; \
             the column is left out | save the forecast again",
            "warning: f.json: the forecast knows nothing of wind | \
             save it again with wind speed and gusts",
        ],
    );
    assert_eq!(forecast.hours[0].cloud_pct, Some(0.0));

    let wind = format!(r#"{WHOLE}, "wind_speed_10m": [1, 2, 3]"#);
    kept(
        &columns(TIMES, &wind).replace("m/s", "furlong/h"),
        &[
            "error: f.json: expected m/s, km/h, mph or kn for `wind_speed_10m`, \
             found `furlong/h`; the column is left out | \
             save the forecast again without a unit setting",
            "warning: f.json: the forecast knows nothing of wind | \
             save it again with wind speed and gusts",
        ],
    );
}

#[test]
fn values_that_cannot_be_are_left_out_with_one_warning_a_column() {
    let more = format!(
        r#"{WHOLE}, "wind_speed_10m": [900, "calm", 3], "temperature_2m": [null, 21, 451]"#
    );
    let forecast = kept(
        &columns(TIMES, &more),
        &[
            "warning: f.json: 2 values of `wind_speed_10m` cannot be and are left out, \
             the first is `900` at 2026-05-12 09:00 UTC | save the forecast again",
            "warning: f.json: 1 value of `temperature_2m` cannot be and is left out, \
             the first is `451` at 2026-05-12 11:00 UTC | save the forecast again",
        ],
    );
    assert_eq!(forecast.hours[0].wind_m_s, None);
    assert_eq!(forecast.hours[1].wind_m_s, Some(3.0));
    assert_eq!(forecast.hours[1].temperature_c, Some(21.0));
}

#[test]
fn times_in_disorder_are_sorted_with_a_warning() {
    let times = r#"["2026-05-12T11:00", "2026-05-12T09:00", "2026-05-12T10:00"]"#;
    let more = r#", "cloud_cover": [30, 10, 20], "precipitation": [0.3, 0.1, 0.2],
                  "wind_speed_10m": [3, 1, 2]"#;
    let forecast = kept(
        &columns(times, more),
        &[
            "warning: f.json: the times are not ascending in 1 places and were put in order | \
           save the forecast again",
        ],
    );
    assert_eq!(forecast.hours[0].rain_mm, Some(0.2));
    assert_eq!(forecast.hours[1].cloud_pct, Some(25.0));
}

#[test]
fn unix_times_are_utc_whatever_the_offset() {
    let more = format!(r#"{WHOLE}, "wind_speed_10m": [1, 2, 3]"#);
    let text = columns("[1778576400, 1778580000, 1778583600]", &more).replace(
        r#""utc_offset_seconds": 0"#,
        r#""utc_offset_seconds": 7200"#,
    );
    let forecast = kept(&text, &[]);
    // `date -u -d @1778576400` is 2026-05-12 09:00.
    assert_eq!(
        forecast.hours[0].start.to_rfc3339(),
        "2026-05-12T09:00:00+00:00"
    );
}

#[test]
fn bright_sky_in_kelvin_is_refused() {
    let text = std::fs::read_to_string("tests/forecast/bright_sky.json").unwrap();
    refused(
        &text.replace("\"temperature\": 15.0", "\"temperature\": 288.2"),
        "error: f.json: expected temperatures in °C, found `288.2` | \
         save the forecast again without `units=si`",
    );
}

// ------------------------------------------------------- the wrong forecast

fn at(day: u32, hour: i64) -> DateTime<Utc> {
    let midnight = chrono::NaiveDate::from_ymd_opt(2026, 5, day).unwrap();
    midnight.and_hms_opt(0, 0, 0).unwrap().and_utc() + TimeDelta::hours(hour)
}

/// Returns a forecast for Bonn, made on the 12th at 6, from then on for `hours`.
fn forecast(hours: i64) -> Forecast {
    let hour = |index| Hour {
        start: at(12, 6 + index),
        ..Hour::default()
    };
    Forecast {
        credit: String::new(),
        latitude_deg: 50.7,
        longitude_deg: 7.1,
        issued_at: Some(at(12, 6)),
        hours: (0..hours).map(hour).collect(),
    }
}

fn said(forecast: &Forecast, latitude_deg: f64, now: DateTime<Utc>) -> Vec<String> {
    said_fetched(forecast, latitude_deg, now, None)
}

fn said_fetched(
    forecast: &Forecast,
    latitude_deg: f64,
    now: DateTime<Utc>,
    fetched_at: Option<DateTime<Utc>>,
) -> Vec<String> {
    let place = Place {
        latitude_deg,
        longitude_deg: 7.1,
        altitude_m: 60.0,
        zone: chrono_tz::Europe::Berlin,
    };
    let expected = Expectation {
        file: "f.json",
        place: &place,
        now,
        fetched_at,
        until: at(18, 0),
        stale_hours: 24.0,
    };
    check(forecast, &expected).iter().map(line).collect()
}

const NOTHING: [&str; 0] = [];

#[test]
fn a_fresh_forecast_for_the_place_is_not_spoken_of() {
    assert_eq!(said(&forecast(240), 50.7, at(12, 8)), NOTHING);
    // The nearest grid point may be 20 km away.
    assert_eq!(said(&forecast(240), 50.88, at(12, 8)), NOTHING);
}

#[test]
fn the_forecast_of_another_place_is_named_with_its_distance() {
    // A degree of latitude is 111 km.
    assert_eq!(
        said(&forecast(240), 51.2, at(12, 8)),
        [
            "warning: f.json: the forecast is for another place, 56 km from the studio \
          (50.70° N, 7.10° E) | save the forecast for 51.20° N, 7.10° E"
        ]
    );
    assert_eq!(
        said(&forecast(240), -50.7, at(12, 8)),
        [
            "error: f.json: the forecast is for another place, 11275 km from the studio \
          (50.70° N, 7.10° E), and is not used | save the forecast for 50.70° S, 7.10° E"
        ]
    );
}

#[test]
fn an_old_forecast_is_stale_and_a_past_one_is_not_used() {
    assert_eq!(
        said(&forecast(240), 50.7, at(13, 16)),
        [
            "warning: f.json: the forecast is 34 hours old, made 2026-05-12 08:00 | \
          get a new one with `fairday fetch`, or save one"
        ]
    );
    assert_eq!(
        said(&forecast(48), 50.7, at(15, 8)),
        [
            "error: f.json: the forecast is over since 2026-05-14 08:00 and is not used | \
          get a new one with `fairday fetch`, or save one"
        ]
    );
}

#[test]
fn a_forecast_that_does_not_tell_its_age_is_as_old_as_its_fetching() {
    let silent = Forecast {
        issued_at: None,
        ..forecast(240)
    };
    assert_eq!(said(&silent, 50.7, at(15, 8)), NOTHING);
    assert_eq!(
        said_fetched(&silent, 50.7, at(15, 8), Some(at(12, 7))),
        [
            "warning: f.json: the forecast is 3 days old, fetched 2026-05-12 09:00 | \
          get a new one with `fairday fetch`, or save one"
        ]
    );
}

#[test]
fn a_short_or_late_forecast_says_from_when_to_when_it_reaches() {
    assert_eq!(
        said(&forecast(48), 50.7, at(12, 8)),
        ["warning: f.json: the forecast ends on 2026-05-14 08:00, \
          before the days that are planned | -"]
    );
    assert_eq!(
        said(&forecast(240), 50.7, at(10, 8)),
        [
            "warning: f.json: the forecast begins only on 2026-05-12 08:00 | \
          save the present forecast"
        ]
    );
}
