//! `/v1/forecast` of Open-Meteo: hourly columns beside a column of times.
//!
//! Temperature, humidity, cloud, wind and the UV index hold at the label; rain,
//! its chance, gusts and radiation hold for the time that ended there, so they
//! are moved to the label before. Labels without zone are local by one offset
//! for the whole answer, even across a clock change: the offset counts, not the
//! name of the zone.
//!
//! # Sources
//! Published documentation of the service (open-meteo/open-meteo-website, page
//! `docs`); that the UV index holds at the label is our assumption.

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset, NaiveDateTime, Utc};
use serde_json::Value;

use super::interval::{LabelledRow, Moment, Span, between_labels};
use super::quantity::Quantity;
use super::sieve::{Column, Gauge, Sieve};
use super::{Forecast, Read, json};
use crate::problem::Problem;

/// The credit that the licence asks for.
const CREDIT: &str = "Weather data by Open-Meteo.com";

/// Columns that hold at the label.
const AT_LABEL: [Column<Moment>; 10] = [
    Column::new("temperature_2m", Quantity::Temperature, "°C", |m| {
        &mut m.temperature_c
    }),
    Column::new("relative_humidity_2m", Quantity::Percent, "%", |m| {
        &mut m.humidity_pct
    }),
    Column::new("dew_point_2m", Quantity::Temperature, "°C", |m| {
        &mut m.dew_point_c
    }),
    Column::new("cloud_cover", Quantity::Percent, "%", |m| &mut m.cloud_pct),
    Column::new("cloud_cover_low", Quantity::Percent, "%", |m| {
        &mut m.cloud_low_pct
    }),
    Column::new("cloud_cover_mid", Quantity::Percent, "%", |m| {
        &mut m.cloud_mid_pct
    }),
    Column::new("cloud_cover_high", Quantity::Percent, "%", |m| {
        &mut m.cloud_high_pct
    }),
    Column::new("uv_index", Quantity::UvIndex, "", |m| &mut m.uv_index),
    Column::new("uv_index_clear_sky", Quantity::UvIndex, "", |m| {
        &mut m.uv_index_clear
    }),
    Column::new("wind_speed_10m", Quantity::Speed, "km/h", |m| {
        &mut m.wind_m_s
    }),
];

/// Columns that hold for the time before the label.
const BEFORE_LABEL: [Column<Span>; 4] = [
    Column::new("precipitation", Quantity::Depth, "mm", |s| &mut s.rain_mm),
    Column::new("precipitation_probability", Quantity::Chance, "%", |s| {
        &mut s.rain_chance
    }),
    Column::new("wind_gusts_10m", Quantity::Speed, "km/h", |s| {
        &mut s.gust_m_s
    }),
    Column::new("shortwave_radiation", Quantity::Irradiance, "W/m²", |s| {
        &mut s.global_w_m2
    }),
];

/// Reads the document.
///
/// # Errors
/// No place, no times, times that cannot be read, local labels without offset.
pub fn read(document: &Value, file: &str) -> Read {
    let number = |name: &str| document.get(name).and_then(Value::as_f64);
    let (latitude_deg, longitude_deg) = json::place(number("latitude"), number("longitude"), file)?;
    let hourly = &document["hourly"];
    let times = json::entries(hourly.get("time"), "hourly.time", file)?;
    let offset = read_offset(document);
    let labels = read_labels(times, offset, file)?;

    let mut sieve = Sieve::new(file);
    let units = document.get("hourly_units").and_then(Value::as_object);
    let columns = level_columns(hourly, times.len(), &mut sieve);
    let at_label: Vec<Gauge<'_, Moment>> = sieve.gauges(&AT_LABEL, units);
    let before_label: Vec<Gauge<'_, Span>> = sieve.gauges(&BEFORE_LABEL, units);
    let rows = labels.iter().enumerate().map(|(index, &at)| {
        let find = |name: &str| columns.get(name).map(|column| &column[index]);
        LabelledRow {
            at,
            moment: sieve.fill(&at_label, at, find),
            before: sieve.fill(&before_label, at, find),
        }
    });
    let rows: Vec<LabelledRow> = rows.collect();
    let rows = sieve.in_order(rows, |row| row.at);
    let asked_at = document.pointer("/current/time");
    let forecast = Forecast {
        credit: CREDIT.to_owned(),
        latitude_deg,
        longitude_deg,
        issued_at: asked_at.and_then(|time| parse_label(time, offset)),
        hours: between_labels(&rows)
            .iter()
            .flat_map(|interval| interval.cut())
            .collect(),
    };
    Ok((forecast, sieve.problems()))
}

/// Reads the one offset of all labels; none if the file has lost it.
fn read_offset(document: &Value) -> Option<FixedOffset> {
    let seconds = document.get("utc_offset_seconds")?.as_i64()?;
    FixedOffset::east_opt(i32::try_from(seconds).ok()?)
}

fn read_labels(
    times: &[Value],
    offset: Option<FixedOffset>,
    file: &str,
) -> Result<Vec<DateTime<Utc>>, Box<Problem>> {
    let fail = |what: String, hint: &str| Err(Box::new(Problem::error(file, what).hint(hint)));
    if offset.is_none() && times[0].is_string() {
        let what = "the times are local and `utc_offset_seconds` is missing";
        return fail(
            what.to_owned(),
            "save the forecast again with `timezone=GMT`",
        );
    }
    let labels: Option<Vec<_>> = times.iter().map(|t| parse_label(t, offset)).collect();
    match labels {
        Some(labels) => Ok(labels),
        None => {
            let spoilt = times.iter().find(|t| parse_label(t, offset).is_none());
            let spoilt = spoilt.expect("one label was not read");
            let what = format!("expected a time in `hourly.time`, found `{spoilt}`");
            fail(what, json::SAVE_AGAIN)
        }
    }
}

/// Parses `2026-03-08T02:00` at the offset, or seconds since 1970, which are UTC.
fn parse_label(time: &Value, offset: Option<FixedOffset>) -> Option<DateTime<Utc>> {
    let at = match time.as_i64() {
        Some(seconds) => DateTime::from_timestamp(seconds, 0)?,
        None => {
            let local = NaiveDateTime::parse_from_str(time.as_str()?, "%Y-%m-%dT%H:%M").ok()?;
            local.and_local_timezone(offset?).single()?.to_utc()
        }
    };
    Some(at).filter(json::is_of_this_age)
}

/// Returns the columns that can be laid beside `length` times; notes the others.
fn level_columns<'v>(
    hourly: &'v Value,
    length: usize,
    sieve: &mut Sieve<'_>,
) -> BTreeMap<&'static str, &'v [Value]> {
    let wanted = AT_LABEL.iter().map(|column| column.name);
    let wanted = wanted.chain(BEFORE_LABEL.iter().map(|column| column.name));
    let mut columns = BTreeMap::new();
    for name in wanted {
        match hourly.get(name).and_then(Value::as_array) {
            Some(column) if column.len() == length => {
                columns.insert(name, column.as_slice());
            }
            Some(column) => sieve.uneven(name, length, column.len()),
            None => {}
        }
    }
    columns
}
