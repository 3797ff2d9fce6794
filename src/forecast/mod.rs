//! The forecast as one hourly record, whatever service it came from.
//!
//! Shapes of the services' files are each in a file of their own; this one says
//! what they all turn into. All times are UTC; local days belong to the place.

use chrono::{DateTime, Utc};
use serde::Serialize;

/// A whole forecast for one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    /// The service, as it wants to be credited.
    pub credit: String,
    /// North positive. [°]
    pub latitude_deg: f64,
    /// East positive. [°]
    pub longitude_deg: f64,
    /// When the service made it, where it says so.
    pub issued_at: Option<DateTime<Utc>>,
    /// Intervals, ascending, apart; there may be gaps.
    pub hours: Vec<Hour>,
}

/// What is forecast for one interval. Means over the interval unless said otherwise.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Hour {
    /// Start of the interval.
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
}

impl Forecast {
    /// Finds the hour that `at` lies in.
    pub fn find_hour(&self, at: DateTime<Utc>) -> Option<&Hour> {
        let index = self
            .hours
            .partition_point(|hour| hour.start <= at)
            .checked_sub(1)?;
        let hour = &self.hours[index];
        (at - hour.start < chrono::TimeDelta::hours(1)).then_some(hour)
    }
}
