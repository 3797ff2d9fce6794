//! From the text of a saved file to a document of a service that is known.
//!
//! Here is caught what people save by mistake: a web page, half a download, the
//! service's own refusal, the answer for several places.

use chrono::{DateTime, Datelike, Utc};
use serde_json::{Map, Value};

use crate::problem::{Problem, Spot};

/// What to do about a file that is broken in itself.
pub const SAVE_AGAIN: &str = "save the forecast again";

/// Entries beyond this are no forecast: more than a year of hours.
pub const ENTRIES_MAX: usize = 10_000;

/// Characters of a line that are worth showing.
const EXCERPT_MAX: usize = 120;

/// The services whose files are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Service {
    /// Locationforecast 2.0 of MET Norway.
    MetNorway,
    /// `/v1/forecast` of Open-Meteo.
    OpenMeteo,
    /// `/weather` of Bright Sky.
    BrightSky,
}

/// Parses the text as JSON.
///
/// # Errors
/// An empty file, a page or other markup, JSON that ends early or is broken,
/// with its line and column.
pub fn parse(text: &str, file: &str) -> Result<Value, Box<Problem>> {
    let start = text.trim_start();
    if start.is_empty() {
        let what = "expected a saved forecast, found an empty file";
        return Err(Box::new(Problem::error(file, what).hint(SAVE_AGAIN)));
    }
    if start.starts_with('<') {
        let what = "expected JSON, found a web page or other markup";
        let hint = "save the answer of the service itself, not the page that shows it";
        return Err(Box::new(Problem::error(file, what).hint(hint)));
    }
    serde_json::from_str(text).map_err(|error| Box::new(broken(text, file, &error)))
}

fn broken(text: &str, file: &str, error: &serde_json::Error) -> Problem {
    let what = match error.classify() {
        serde_json::error::Category::Eof => "the JSON ends before it is complete",
        _ => "expected JSON, found something else",
    };
    Problem::error(file, what)
        .at(spot(text, error.line(), error.column()))
        .hint(SAVE_AGAIN)
}

/// Finds the place that the parser names, counted in characters.
fn spot(text: &str, line: usize, column: usize) -> Option<Spot> {
    let whole = text.lines().nth(line.checked_sub(1)?).unwrap_or_default();
    let before = whole.char_indices().take_while(|(at, _)| *at < column);
    let column = before.count().max(1);
    // Services write everything in one line; a piece of it would point nowhere.
    let shown = whole.chars().count() <= EXCERPT_MAX;
    let excerpt = if shown { whole } else { "" }.to_owned();
    Some(Spot {
        line,
        column,
        length: 1,
        excerpt,
    })
}

/// Tells which service wrote the document.
///
/// # Errors
/// A refusal of the service, a list of places, and anything that is not known.
pub fn recognise(document: &Value, file: &str) -> Result<Service, Box<Problem>> {
    let Some(top) = document.as_object() else {
        return Err(Box::new(no_object(document, file)));
    };
    if document.pointer("/properties/timeseries").is_some() {
        return Ok(Service::MetNorway);
    }
    if top.contains_key("hourly") {
        return Ok(Service::OpenMeteo);
    }
    if top.contains_key("weather") {
        return Ok(Service::BrightSky);
    }
    let problem = match refusal(top) {
        Some(reason) => Problem::error(file, format!("the service refused with `{reason}`"))
            .hint("mend the request, then save the forecast again"),
        None if top.contains_key("daily") || top.contains_key("minutely_15") => {
            Problem::error(file, "expected hourly values, found none")
                .hint("ask the service for `hourly=` with cloud, wind, rain and temperature")
        }
        None => unknown(file),
    };
    Err(Box::new(problem))
}

fn no_object(document: &Value, file: &str) -> Problem {
    match document.as_array() {
        Some(places) if places.iter().all(|p| p.get("hourly").is_some()) && !places.is_empty() => {
            let what = format!("expected the forecast of one place, found {}", places.len());
            Problem::error(file, what).hint("save it again for the studio alone")
        }
        _ => unknown(file),
    }
}

fn unknown(file: &str) -> Problem {
    Problem::error(file, "expected a saved forecast, found other JSON")
        .hint("save an answer of MET Norway (Locationforecast 2.0), Open-Meteo or Bright Sky here")
}

/// Finds the words with which services refuse, cut to a line.
fn refusal(top: &Map<String, Value>) -> Option<String> {
    let words = ["reason", "detail", "description", "message", "error"];
    let said = words.iter().find_map(|word| top.get(*word))?;
    let said = said
        .as_str()
        .map_or_else(|| said.to_string(), str::to_owned);
    let line = said.split_whitespace().collect::<Vec<_>>().join(" ");
    Some(line.replace('`', "'").chars().take(EXCERPT_MAX).collect())
}

/// Returns the entries of a list, if it is one and not absurdly long.
///
/// # Errors
/// No list, an empty one, or more than [`ENTRIES_MAX`] entries.
pub fn entries<'v>(
    list: Option<&'v Value>,
    name: &str,
    file: &str,
) -> Result<&'v [Value], Box<Problem>> {
    let list = list
        .and_then(Value::as_array)
        .map_or(&[][..], Vec::as_slice);
    let what = match list.len() {
        0 => format!("expected a list of entries in `{name}`, found none"),
        count if count > ENTRIES_MAX => {
            format!("expected at most {ENTRIES_MAX} entries in `{name}`, found {count}")
        }
        _ => return Ok(list),
    };
    Err(Box::new(Problem::error(file, what).hint(SAVE_AGAIN)))
}

/// Returns a place on Earth, if both numbers are one. [°]
///
/// # Errors
/// A coordinate that is missing or beyond the poles or the date line.
pub fn place(
    latitude: Option<f64>,
    longitude: Option<f64>,
    file: &str,
) -> Result<(f64, f64), Box<Problem>> {
    let within = |value: &f64, most: f64| value.abs() <= most;
    let latitude = latitude.filter(|value| within(value, 90.0));
    let longitude = longitude.filter(|value| within(value, 180.0));
    latitude.zip(longitude).ok_or_else(|| {
        let what = "the forecast does not say for which place it is";
        Box::new(Problem::error(file, what).hint(SAVE_AGAIN))
    })
}

/// Parses a stamp such as `2026-05-12T09:00:00Z` or with another offset.
pub fn time(value: &Value) -> Option<DateTime<Utc>> {
    let time = DateTime::parse_from_rfc3339(value.as_str()?).ok()?;
    Some(time.to_utc()).filter(is_of_this_age)
}

/// Tells whether somebody could print by the light of that day; far years are slips,
/// such as milliseconds that were taken for seconds.
pub fn is_of_this_age(at: &DateTime<Utc>) -> bool {
    (1970..2200).contains(&at.year())
}
