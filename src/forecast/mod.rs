//! The forecast as one hourly record, whatever service it came from.
//!
//! Shapes of the services' files are each in a file of their own; this one says
//! what they all turn into. All times are UTC; local days belong to the place.
//! Nothing is fetched and nothing is guessed here: what a service does not say
//! stays `None`, and gusts are not made up from the mean wind.

use chrono::{DateTime, TimeDelta, Utc};
use serde::Serialize;

use crate::problem::Problem;

pub mod air;
mod bright_sky;
mod check;
pub mod fetch;
mod interval;
mod json;
mod met_norway;
mod open_meteo;
mod quantity;
mod sieve;

pub use check::{Expectation, check, distance_km};

/// A whole forecast for one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    /// The service, as it wants to be credited.
    pub credit: String,
    /// North positive. [°]
    pub latitude_deg: f64,
    /// East positive. [°]
    pub longitude_deg: f64,
    /// When the service made it or gave it out, where it says so.
    pub issued_at: Option<DateTime<Utc>>,
    /// Intervals of one hour, ascending, apart; there may be gaps.
    pub hours: Vec<Hour>,
}

/// What is forecast for one interval. Means over the interval unless said otherwise.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Hour {
    /// Start of the interval; at half past in zones that are half an hour off.
    pub start: DateTime<Utc>,
    /// Air temperature. [°C]
    pub temperature_c: Option<f64>,
    /// Relative humidity. [%]
    pub humidity_pct: Option<f64>,
    /// Total cloud cover. [%]
    pub cloud_pct: Option<f64>,
    /// Low cloud cover. [%]
    pub cloud_low_pct: Option<f64>,
    /// Middle cloud cover. [%]
    pub cloud_mid_pct: Option<f64>,
    /// High cloud cover. [%]
    pub cloud_high_pct: Option<f64>,
    /// Global shortwave on the horizontal, mean of the hour. [W/m²]
    pub global_w_m2: Option<f64>,
    /// UV index with the forecast sky.
    pub uv_index: Option<f64>,
    /// UV index of the clear sky.
    pub uv_index_clear: Option<f64>,
    /// Total ozone. [DU]
    pub ozone_du: Option<f64>,
    /// Rain and snow in the hour. [mm]
    pub rain_mm: Option<f64>,
    /// Chance of rain, 0 to 1; in a block longer than an hour, the block's own.
    pub rain_chance: Option<f64>,
    /// Mean wind at 10 m. [m/s]
    pub wind_m_s: Option<f64>,
    /// Highest gust at 10 m. [m/s]
    pub gust_m_s: Option<f64>,
    /// Cut out of a block longer than an hour: nothing in it is known to the hour.
    pub from_block: bool,
    /// What it rests on.
    pub origin: Origin,
    /// Standard deviation of the logarithm of light, where it is known better than by
    /// the way light was told.
    pub light_sigma_ln: Option<f64>,
}

/// What an hour rests on.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Origin {
    /// A forecast or a measurement.
    #[default]
    Forecast,
    /// A forecast and what is usual, together.
    Mixed,
    /// What is usual at the place and in the month.
    Typical,
}

impl Forecast {
    /// Finds the hour that `at` lies in.
    pub fn find_hour(&self, at: DateTime<Utc>) -> Option<&Hour> {
        let index = self
            .hours
            .partition_point(|hour| hour.start <= at)
            .checked_sub(1)?;
        let hour = &self.hours[index];
        (at - hour.start < TimeDelta::hours(1)).then_some(hour)
    }

    /// Returns the end of the last hour; `None` without any hour.
    pub fn ends_at(&self) -> Option<DateTime<Utc>> {
        self.hours.last().map(|h| h.start + TimeDelta::hours(1))
    }
}

/// Reads a saved forecast, whichever of the known services it is from.
///
/// The service is recognised by the content, never by the name; `file` only
/// stands in the problems. Without a forecast there is exactly one problem, an
/// error; beside a forecast, problems tell which columns or values were left out
/// and what it does not hold at all.
///
/// Valid for Locationforecast 2.0 of MET Norway (compact and complete),
/// `/v1/forecast` of Open-Meteo with hourly columns in any of its units and
/// `/weather` of Bright Sky in the units of the German weather service.
///
/// # Example
/// ```
/// let text = r#"{"latitude": 51.5, "longitude": -0.1, "utc_offset_seconds": 34200,
///   "hourly_units": {"wind_speed_10m": "km/h", "precipitation": "mm", "cloud_cover": "%"},
///   "hourly": {"time": ["2026-03-28T00:00", "2026-03-28T01:00"],
///     "wind_speed_10m": [18.0, null], "precipitation": [null, 0.3], "cloud_cover": [40, 60]}}"#;
/// let (forecast, problems) = fairday::forecast::parse(text, "forecast.json");
/// let hours = forecast.expect("one hour lies between two labels").hours;
/// assert_eq!(hours.len(), 1);
/// assert_eq!(hours[0].start.to_rfc3339(), "2026-03-27T14:30:00+00:00");
/// assert_eq!(hours[0].wind_m_s, Some(5.0));
/// assert_eq!(hours[0].rain_mm, Some(0.3));
/// assert!(problems.is_empty());
///
/// let (nothing, problems) = fairday::forecast::parse("<html>", "forecast.json");
/// assert!(nothing.is_none() && problems.len() == 1);
/// ```
pub fn parse(text: &str, file: &str) -> (Option<Forecast>, Vec<Problem>) {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    match read(text, file) {
        Ok((forecast, mut problems)) => {
            problems.extend(gaps_in_knowledge(&forecast, file));
            (Some(forecast), problems)
        }
        Err(problem) => (None, vec![*problem]),
    }
}

/// A forecast with the problems found on the way, or the one that forbids it.
type Read = Result<(Forecast, Vec<Problem>), Box<Problem>>;

fn read(text: &str, file: &str) -> Read {
    let document = json::parse(text, file)?;
    let read = match json::recognise(&document, file)? {
        json::Service::MetNorway => met_norway::read(&document, file),
        json::Service::OpenMeteo => open_meteo::read(&document, file),
        json::Service::BrightSky => bright_sky::read(&document, file),
    };
    let (forecast, problems) = read?;
    if forecast.hours.is_empty() {
        let what = "the forecast holds no whole hour that could be used";
        return Err(Box::new(Problem::error(file, what).hint(json::SAVE_AGAIN)));
    }
    Ok((forecast, problems))
}

/// Warns of what planning lives on and no hour of the forecast knows.
fn gaps_in_knowledge(forecast: &Forecast, file: &str) -> Vec<Problem> {
    let none = |knows: fn(&Hour) -> bool| !forecast.hours.iter().any(knows);
    let warn = |what: &str, hint: &str| Problem::warning(file, what).hint(hint);
    let mut problems = Vec::new();
    if none(|h| h.cloud_pct.or(h.cloud_low_pct).or(h.global_w_m2).is_some()) {
        problems.push(warn(
            "the forecast knows neither cloud nor radiation, so the light is a guess",
            "save it again with cloud cover or shortwave radiation",
        ));
    }
    if none(|h| h.rain_mm.or(h.rain_chance).is_some()) {
        problems.push(warn(
            "the forecast knows nothing of rain",
            "save it again with precipitation and its probability",
        ));
    }
    if none(|h| h.wind_m_s.or(h.gust_m_s).is_some()) {
        problems.push(warn(
            "the forecast knows nothing of wind",
            "save it again with wind speed and gusts",
        ));
    }
    problems
}
