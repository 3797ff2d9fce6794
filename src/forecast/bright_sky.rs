//! `/weather` of Bright Sky: rows of the German weather service, one an hour.
//!
//! Temperature, dew point, humidity and cloud hold at the stamp; rain, its
//! chance, wind, gusts and radiation hold for the hour that ended there. Rows
//! begin with what was measured and go on with the forecast; forecast rows have
//! no humidity, it comes from the dew point. The file does not name its units:
//! those of the weather service are assumed, and kelvin are refused.
//!
//! # Sources
//! The service's own description of its records (jdemaeyer/brightsky,
//! `brightsky/web/models.py`).

use chrono::{DateTime, TimeDelta, Utc};
use serde_json::Value;

use super::interval::{LabelledRow, Moment, Span, between_labels};
use super::quantity::Quantity;
use super::sieve::{Column, Sieve};
use super::{Forecast, Read, json};
use crate::problem::Problem;

/// Whom the terms ask to be named.
const CREDIT: &str = "Weather data by Deutscher Wetterdienst, through Bright Sky";

/// Columns that hold at the stamp.
const AT_STAMP: [Column<Moment>; 4] = [
    Column::new("temperature", Quantity::Temperature, "°C", |m| {
        &mut m.temperature_c
    }),
    Column::new("dew_point", Quantity::Temperature, "°C", |m| {
        &mut m.dew_point_c
    }),
    Column::new("relative_humidity", Quantity::Percent, "%", |m| {
        &mut m.humidity_pct
    }),
    Column::new("cloud_cover", Quantity::Percent, "%", |m| &mut m.cloud_pct),
];

/// Columns that hold for the hour before the stamp.
const BEFORE_STAMP: [Column<Span>; 5] = [
    Column::new("precipitation", Quantity::Depth, "mm", |s| &mut s.rain_mm),
    Column::new("precipitation_probability", Quantity::Chance, "%", |s| {
        &mut s.rain_chance
    }),
    Column::new("solar", Quantity::Irradiance, "kWh/m²", |s| {
        &mut s.global_w_m2
    }),
    Column::new("wind_speed", Quantity::Speed, "km/h", |s| &mut s.wind_m_s),
    Column::new("wind_gust_speed", Quantity::Speed, "km/h", |s| {
        &mut s.gust_m_s
    }),
];

/// The chance of rain in the six hours before the stamp, given at some stamps.
#[derive(Debug, Clone, Copy, Default)]
struct SixHours {
    rain_chance: Option<f64>,
}

const BEFORE_STAMP_6H: [Column<SixHours>; 1] = [Column::new(
    "precipitation_probability_6h",
    Quantity::Chance,
    "%",
    |s| &mut s.rain_chance,
)];

/// Degrees that no thermometer shows in °C and every one does in kelvin.
const KELVIN_FROM: f64 = 150.0;

/// Reads the document.
///
/// # Errors
/// No rows, no row with a time, no place, temperatures in kelvin.
pub fn read(document: &Value, file: &str) -> Read {
    let list = json::entries(document.get("weather"), "weather", file)?;
    let source = find_source(document);
    let coordinate = |name: &str| source?.get(name)?.as_f64();
    let (latitude_deg, longitude_deg) = json::place(coordinate("lat"), coordinate("lon"), file)?;
    refuse_kelvin(list, file)?;

    let mut sieve = Sieve::new(file);
    let at_stamp = sieve.gauges(&AT_STAMP, None);
    let before_stamp = sieve.gauges(&BEFORE_STAMP, None);
    let before_stamp_6h = sieve.gauges(&BEFORE_STAMP_6H, None);
    let mut rows = Vec::new();
    for row in list {
        let Some(at) = row.get("timestamp").and_then(json::time) else {
            continue;
        };
        let find = |name: &str| row.get(name);
        let labelled = LabelledRow {
            at,
            moment: sieve.fill(&at_stamp, at, find),
            before: sieve.fill(&before_stamp, at, find),
        };
        rows.push((labelled, sieve.fill(&before_stamp_6h, at, find)));
    }
    sieve.without_time(list.len() - rows.len());
    let rows = sieve.in_order(rows, |(row, _)| row.at);
    let rows = fill_chances(rows);
    let forecast = Forecast {
        credit: CREDIT.to_owned(),
        latitude_deg,
        longitude_deg,
        issued_at: source.and_then(|s| json::time(s.get("first_record")?)),
        hours: between_labels(&rows)
            .iter()
            .flat_map(|interval| interval.cut())
            .collect(),
    };
    Ok((forecast, sieve.problems()))
}

/// Finds the source that forecasts, or the first one.
///
/// Its first record lies within an hour or so of when the forecast was made,
/// which is as near as the file tells.
fn find_source(document: &Value) -> Option<&Value> {
    let sources = document.get("sources")?.as_array()?;
    let forecasts = |source: &&Value| source["observation_type"] == "forecast";
    sources.iter().find(forecasts).or_else(|| sources.first())
}

fn refuse_kelvin(list: &[Value], file: &str) -> Result<(), Box<Problem>> {
    let warmth = |row: &Value| row.get("temperature").and_then(Value::as_f64);
    let Some(kelvin) = list.iter().filter_map(warmth).find(|t| *t > KELVIN_FROM) else {
        return Ok(());
    };
    let what = format!("expected temperatures in °C, found `{kelvin}`");
    Err(Box::new(
        Problem::error(file, what).hint("save the forecast again without `units=si`"),
    ))
}

/// Gives hours without a chance of their own that of the six hours they lie in.
fn fill_chances(rows: Vec<(LabelledRow, SixHours)>) -> Vec<LabelledRow> {
    let blocks: Vec<(DateTime<Utc>, f64)> = rows
        .iter()
        .filter_map(|(row, block)| Some((row.at, block.rain_chance?)))
        .collect();
    let chance_at = |at: DateTime<Utc>| {
        let (end, chance) = blocks.get(blocks.partition_point(|(end, _)| *end < at))?;
        (*end - at < TimeDelta::hours(6)).then_some(*chance)
    };
    rows.into_iter()
        .map(|(mut row, _)| {
            row.before.rain_chance = row.before.rain_chance.or_else(|| chance_at(row.at));
            row
        })
        .collect()
}
