//! Locationforecast 2.0 of MET Norway, `compact` and `complete`.
//!
//! An entry holds what is at its time (`instant`) and what falls in the 1, 6 or
//! 12 hours that follow. The near days come hour by hour, the rest in blocks of
//! six hours; the last entry only closes the one before. Any field may be absent.
//!
//! # Sources
//! Published documentation of the service: data model and description of the
//! JSON format (metno/weatherapi-docs, `datamodel.md`, `ForecastJSON.md`).

use chrono::{DateTime, Utc};
use serde_json::Value;

use super::interval::{Interval, Moment, Span, whole_hours};
use super::quantity::Quantity;
use super::sieve::{Column, Gauge, Sieve};
use super::{Forecast, Read, json};

/// The credit that the service asks for.
const CREDIT: &str = "Data from MET Norway";

/// What an entry says of its own time. The gust is the highest "of the period";
/// which period is left open, so the higher of both ends counts.
const AT_TIME: [Column<Moment>; 10] = [
    Column::new("air_temperature", Quantity::Temperature, "celsius", |m| {
        &mut m.temperature_c
    }),
    Column::new("relative_humidity", Quantity::Percent, "%", |m| {
        &mut m.humidity_pct
    }),
    Column::new(
        "dew_point_temperature",
        Quantity::Temperature,
        "celsius",
        |m| &mut m.dew_point_c,
    ),
    Column::new("cloud_area_fraction", Quantity::Percent, "%", |m| {
        &mut m.cloud_pct
    }),
    Column::new("cloud_area_fraction_low", Quantity::Percent, "%", |m| {
        &mut m.cloud_low_pct
    }),
    Column::new("cloud_area_fraction_medium", Quantity::Percent, "%", |m| {
        &mut m.cloud_mid_pct
    }),
    Column::new("cloud_area_fraction_high", Quantity::Percent, "%", |m| {
        &mut m.cloud_high_pct
    }),
    Column::new("ultraviolet_index_clear_sky", Quantity::UvIndex, "1", |m| {
        &mut m.uv_index_clear
    }),
    Column::new("wind_speed", Quantity::Speed, "m/s", |m| &mut m.wind_m_s),
    Column::new("wind_speed_of_gust", Quantity::Speed, "m/s", |m| {
        &mut m.gust_m_s
    }),
];

/// What an entry says of the hours that follow.
const AFTER_TIME: [Column<Span>; 2] = [
    Column::new("precipitation_amount", Quantity::Depth, "mm", |s| {
        &mut s.rain_mm
    }),
    Column::new("probability_of_precipitation", Quantity::Chance, "%", |s| {
        &mut s.rain_chance
    }),
];

/// The spans that an entry may carry, with their lengths. [h]
const SPANS: [(&str, u32); 3] = [
    ("next_1_hours", 1),
    ("next_6_hours", 6),
    ("next_12_hours", 12),
];

/// An entry of the time series, in our units.
struct Entry {
    at: DateTime<Utc>,
    moment: Moment,
    /// Spans that begin at `at`, with their lengths, ascending. [h]
    spans: Vec<(u32, Span)>,
}

/// Reads the document.
///
/// # Errors
/// No entries, no entry with a time, no place.
pub fn read(document: &Value, file: &str) -> Read {
    let at = |pointer: &str| document.pointer(pointer);
    let coordinate = |index: usize| {
        at("/geometry/coordinates")
            .and_then(|c| c.get(index))
            .and_then(Value::as_f64)
    };
    let (latitude_deg, longitude_deg) = json::place(coordinate(1), coordinate(0), file)?;
    let list = json::entries(at("/properties/timeseries"), "properties.timeseries", file)?;

    let mut sieve = Sieve::new(file);
    let units = at("/properties/meta/units").and_then(Value::as_object);
    let at_time = sieve.gauges(&AT_TIME, units);
    let after_time = sieve.gauges(&AFTER_TIME, units);
    let entries: Vec<Entry> = list
        .iter()
        .filter_map(|entry| read_entry(entry, &at_time, &after_time, &mut sieve))
        .collect();
    sieve.without_time(list.len() - entries.len());
    let entries = sieve.in_order(entries, |entry| entry.at);
    let intervals = (0..entries.len()).map(|i| interval(&entries[i], entries.get(i + 1)));
    let forecast = Forecast {
        credit: CREDIT.to_owned(),
        latitude_deg,
        longitude_deg,
        issued_at: at("/properties/meta/updated_at").and_then(json::time),
        hours: intervals
            .flat_map(|i| i.cut().collect::<Vec<_>>())
            .collect(),
    };
    Ok((forecast, sieve.problems()))
}

fn read_entry(
    entry: &Value,
    at_time: &[Gauge<'_, Moment>],
    after_time: &[Gauge<'_, Span>],
    sieve: &mut Sieve<'_>,
) -> Option<Entry> {
    let at = json::time(entry.get("time")?)?;
    let details = |part: &str| entry.get("data")?.get(part)?.get("details");
    let now = details("instant");
    let moment = sieve.fill(at_time, at, |name| now?.get(name));
    let mut spans = Vec::new();
    for (part, length_h) in SPANS {
        if let Some(later) = details(part) {
            spans.push((length_h, sieve.fill(after_time, at, |name| later.get(name))));
        }
    }
    Some(Entry { at, moment, spans })
}

/// Makes the interval from an entry to the next.
///
/// After a gap in the file, and for a last entry that still has a span, the
/// shortest span decides how far the entry reaches.
fn interval(entry: &Entry, next: Option<&Entry>) -> Interval {
    let to_next = next.map_or(0, |next| whole_hours(next.at - entry.at));
    let length_h = match to_next {
        0 => reach(entry, next),
        step => step,
    };
    let span = entry.spans.iter().find(|(hours, _)| *hours >= length_h);
    let (over_h, over) = span.copied().unwrap_or((length_h, Span::default()));
    Interval {
        start: entry.at,
        length_h,
        from: entry.moment,
        to: next.filter(|_| to_next > 0).map(|next| next.moment),
        over,
        over_h,
    }
}

/// Returns how far an entry reaches that no next one follows on the hour. [h]
fn reach(entry: &Entry, next: Option<&Entry>) -> u32 {
    let shortest = entry.spans.first().map_or(0, |(hours, _)| *hours);
    let room = next.map_or(i64::MAX, |next| (next.at - entry.at).num_hours());
    if i64::from(shortest) <= room {
        shortest
    } else {
        0
    }
}
