//! Genuine forecast files against a second reading of the same JSON.
//!
//! The files are other people's data and stay outside the project: without
//! `FAIRDAY_WEATHER`, the folder that holds `forecast/`, these tests say by name
//! that they were skipped. What is expected is taken from the JSON here by plain
//! pointers and sums, with none of the program's own steps.

use chrono::{DateTime, NaiveDateTime, TimeDelta, Utc};
use fairday::forecast::{Forecast, Hour, parse};
use fairday::problem::Severity;
use serde_json::Value;

const MET: [&str; 4] = [
    "metno_complete_51.5N_0.1W_2020-07-20.json",
    "metno_compact_40.7N_74.0W_2020-07-20.json",
    "metno_compact_39.9N_116.4E_2020-07-20.json",
    "metno_complete_59.0N_10.0E_2022-05-18.json",
];
const OPEN_UTC: [&str; 2] = [
    "openmeteo_37.75S_144.88E_2025-05-09_7d_utc.json",
    "openmeteo_40.63N_74.43W_2025-12-28_14d_utc.json",
];
const OPEN_DST: &str = "openmeteo_43.70N_79.40W_2026-03-04_8d_local_imperial_dst.json";
const OPEN_HALF_HOUR: &str = "openmeteo_34.76S_138.65E_2026-07-16_3d_halfhour_offset.json";
const BRIGHT_SKY: &str = "brightsky_52.5N_13.4E_2025-09-18.json";

/// A genuine file: the plain JSON and our reading of it; none if there is no folder.
fn genuine(test: &str, name: &str) -> Option<(Value, Forecast)> {
    let Ok(folder) = std::env::var("FAIRDAY_WEATHER") else {
        #[expect(clippy::print_stderr, reason = "a skipped test must say so")]
        {
            eprintln!("skipped: {test}, FAIRDAY_WEATHER is not set");
        }
        return None;
    };
    let text = std::fs::read_to_string(format!("{folder}/forecast/{name}")).unwrap();
    let (forecast, problems) = parse(&text, name);
    let errors = problems.iter().filter(|p| p.severity == Severity::Error);
    assert_eq!(errors.count(), 0, "{name}: {problems:?}");
    let forecast = forecast.unwrap();
    let pairs = forecast.hours.windows(2);
    let ascending = |pair: &[Hour]| pair[1].start - pair[0].start >= TimeDelta::hours(1);
    assert!(pairs.into_iter().all(ascending), "{name}");
    Some((serde_json::from_str(&text).unwrap(), forecast))
}

fn utc(value: &Value) -> DateTime<Utc> {
    let time = DateTime::parse_from_rfc3339(value.as_str().unwrap());
    time.unwrap().to_utc()
}

#[track_caller]
fn near(found: Option<f64>, expected: f64) {
    let found = found.expect("a value");
    assert!((found - expected).abs() < 1e-6, "{found}, not {expected}");
}

fn rain(hours: &[Hour]) -> f64 {
    hours.iter().filter_map(|hour| hour.rain_mm).sum()
}

fn column(document: &Value, name: &str) -> Vec<f64> {
    let values = document["hourly"][name].as_array().unwrap();
    values.iter().map(|value| value.as_f64().unwrap()).collect()
}

#[test]
fn met_norway_reaches_from_the_first_entry_to_the_last() {
    for name in MET {
        let Some((document, forecast)) = genuine("met_norway_reaches", name) else {
            return;
        };
        let series = document["properties"]["timeseries"].as_array().unwrap();
        let time = |entry: &Value| utc(&entry["time"]);
        let (first, last) = (time(&series[0]), time(&series[series.len() - 1]));
        assert_eq!(
            forecast.hours.len() as i64,
            (last - first).num_hours(),
            "{name}"
        );
        assert_eq!(forecast.hours[0].start, first, "{name}");
        assert_eq!(forecast.ends_at(), Some(last), "{name}");
    }
}

#[test]
fn met_norway_loses_no_rain_in_its_blocks() {
    for name in MET {
        let Some((document, forecast)) = genuine("met_norway_loses_no_rain", name) else {
            return;
        };
        let series = document["properties"]["timeseries"].as_array().unwrap();
        let (mut fell, mut blocks) = (0.0, 0);
        for entry in series {
            let data = &entry["data"];
            let hour = &data["next_1_hours"]["details"]["precipitation_amount"];
            let six = &data["next_6_hours"]["details"]["precipitation_amount"];
            fell += hour.as_f64().or(six.as_f64()).unwrap_or(0.0);
            blocks += usize::from(hour.is_null() && six.is_number());
        }
        assert!((rain(&forecast.hours) - fell).abs() < 1e-9, "{name}");
        let cut = forecast.hours.iter().filter(|h| h.from_block).count();
        assert_eq!(cut, 6 * blocks, "{name}");
    }
}

#[test]
fn met_norway_gives_means_between_neighbours_in_the_hourly_part() {
    for name in MET {
        let Some((document, forecast)) = genuine("met_norway_gives_means", name) else {
            return;
        };
        let series = document["properties"]["timeseries"].as_array().unwrap();
        let detail = |index: usize, what: &str| -> Option<f64> {
            series[index]["data"]["instant"]["details"][what].as_f64()
        };
        for (index, hour) in forecast.hours.iter().enumerate().take(40) {
            let mean = |what: &str| {
                (detail(index, what).unwrap() + detail(index + 1, what).unwrap()) / 2.0
            };
            near(hour.temperature_c, mean("air_temperature"));
            near(hour.cloud_pct, mean("cloud_area_fraction"));
            near(hour.humidity_pct, mean("relative_humidity"));
            near(hour.wind_m_s, mean("wind_speed"));
            let gusts = [index, index + 1].map(|i| detail(i, "wind_speed_of_gust"));
            let highest = gusts.into_iter().flatten().reduce(f64::max);
            assert_eq!(hour.gust_m_s, highest, "{name}");
        }
    }
}

#[test]
fn only_the_nordic_file_knows_gusts_and_chances() {
    for name in MET {
        let Some((_, forecast)) = genuine("only_the_nordic_file", name) else {
            return;
        };
        let nordic = name.contains("59.0N");
        assert_eq!(forecast.hours[3].gust_m_s.is_some(), nordic, "{name}");
        assert_eq!(forecast.hours[3].rain_chance.is_some(), nordic, "{name}");
    }
}

#[test]
fn open_meteo_shifts_what_ended_at_the_label() {
    for name in OPEN_UTC {
        let Some((document, forecast)) = genuine("open_meteo_shifts", name) else {
            return;
        };
        let labels = document["hourly"]["time"].as_array().unwrap().len();
        assert_eq!(forecast.hours.len(), labels - 1, "{name}");
        let rained = column(&document, "precipitation");
        let chance = column(&document, "precipitation_probability");
        let (wind, gust) = (
            column(&document, "wind_speed_10m"),
            column(&document, "wind_gusts_10m"),
        );
        for (index, hour) in forecast.hours.iter().enumerate() {
            near(hour.rain_mm, rained[index + 1]);
            near(hour.rain_chance, chance[index + 1] / 100.0);
            near(hour.gust_m_s, gust[index + 1] / 3.6);
            near(hour.wind_m_s, (wind[index] + wind[index + 1]) / 7.2);
        }
        let all: f64 = rained.iter().sum();
        assert!((rain(&forecast.hours) - (all - rained[0])).abs() < 1e-9);
    }
}

#[test]
fn local_labels_go_straight_through_the_clock_change() {
    let Some((document, forecast)) = genuine("local_labels_go_straight", OPEN_DST) else {
        return;
    };
    assert_eq!(forecast.hours.len(), 191);
    // 2026-03-08T02:00 does not exist in Toronto; at the file's −5 h it is 07:00 UTC.
    let labels = document["hourly"]["time"].as_array().unwrap();
    let at = labels.iter().position(|l| l == "2026-03-08T02:00").unwrap();
    let hour = &forecast.hours[at];
    assert_eq!(hour.start.to_rfc3339(), "2026-03-08T07:00:00+00:00");
    let steps = forecast.hours.windows(2).map(|p| p[1].start - p[0].start);
    assert!(steps.into_iter().all(|step| step == TimeDelta::hours(1)));

    let fahrenheit = column(&document, "temperature_2m");
    let mean = (fahrenheit[at] + fahrenheit[at + 1]) / 2.0;
    near(hour.temperature_c, (mean - 32.0) / 1.8);
    near(
        hour.gust_m_s,
        column(&document, "wind_gusts_10m")[at + 1] * 0.44704,
    );
    let inches: f64 = column(&document, "precipitation")[1..].iter().sum();
    assert!((rain(&forecast.hours) - inches * 25.4).abs() < 1e-9);
}

#[test]
fn half_hour_zones_keep_their_half_hours() {
    let Some((document, forecast)) = genuine("half_hour_zones", OPEN_HALF_HOUR) else {
        return;
    };
    let label = document["hourly"]["time"][10].as_str().unwrap();
    let local = NaiveDateTime::parse_from_str(label, "%Y-%m-%dT%H:%M").unwrap();
    let start = (local - TimeDelta::seconds(34_200)).and_utc();
    assert_eq!(start.format("%M").to_string(), "30");
    let hour = &forecast.hours[10];
    assert_eq!(hour.start, start);
    for minutes in [0, 29, 30, 59] {
        let found = forecast.find_hour(start + TimeDelta::minutes(minutes));
        assert_eq!(found, Some(hour));
    }
    let wind = column(&document, "wind_speed_10m");
    near(hour.wind_m_s, (wind[10] + wind[11]) / 2.0);
}

#[test]
fn bright_sky_is_in_metres_per_second_and_watts_and_has_humidity_everywhere() {
    let Some((document, forecast)) = genuine("bright_sky_is", BRIGHT_SKY) else {
        return;
    };
    let rows = document["weather"].as_array().unwrap();
    assert_eq!(forecast.hours.len(), rows.len() - 1);
    for (index, hour) in forecast.hours.iter().enumerate() {
        let next = |name: &str| rows[index + 1][name].as_f64();
        assert_eq!(hour.start, utc(&rows[index]["timestamp"]));
        assert!(hour.humidity_pct.is_some(), "{}", hour.start);
        near(hour.wind_m_s, next("wind_speed").unwrap() / 3.6);
        match next("solar") {
            Some(solar) => near(hour.global_w_m2, solar * 1000.0),
            None => assert_eq!(hour.global_w_m2, None),
        }
    }
    let fell: f64 = rows[1..]
        .iter()
        .filter_map(|r| r["precipitation"].as_f64())
        .sum();
    assert!((rain(&forecast.hours) - fell).abs() < 1e-9);
}
