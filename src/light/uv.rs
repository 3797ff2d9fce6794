//! The UV index, for the sake of the person at the frames.
//!
//! A caution, not a measure of printing light: the index falls far faster towards
//! winter than the light that prints, so nothing in `exposure` uses it.

use std::ops::Range;

use chrono::{DateTime, Utc};

use super::atmosphere;
use super::curve::ClearLight;
use crate::forecast::{Forecast, Hour};

/// From this index on skin and eyes want cover.
///
/// # Sources
/// World Health Organization and others, "Global Solar UV Index: A Practical Guide",
/// 2002 (WHO/SDE/OEH/02.2), as public health services print its categories: 3 to 5 is moderate, and from
/// 3 on protection is asked for.
pub const CAUTION_FROM: f64 = 3.0;

/// How strong the UV is for people.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum UvCategory {
    /// Below 3.
    Low,
    /// From 3.
    Moderate,
    /// From 6.
    High,
    /// From 8.
    VeryHigh,
    /// From 11.
    Extreme,
}

impl UvCategory {
    /// Returns the category of an index.
    pub fn of(index: f64) -> UvCategory {
        match index {
            index if index >= 11.0 => UvCategory::Extreme,
            index if index >= 8.0 => UvCategory::VeryHigh,
            index if index >= 6.0 => UvCategory::High,
            index if index >= CAUTION_FROM => UvCategory::Moderate,
            _ => UvCategory::Low,
        }
    }

    /// Returns whether people at the frames should cover skin and eyes.
    pub fn asks_for_cover(self) -> bool {
        self > UvCategory::Low
    }
}

/// Returns the UV index of a clear sky for a sun elevation [°] and ozone [DU].
///
/// Low ground without snow; real values are a little higher in the mountains.
///
/// # Sources
/// Madronich, "Analytic formula for the clear-sky UV index", Photochem. Photobiol.
/// 83 (2007) 1537–1538. Values checked against
/// `tests/reference/light/uv_index_noon.csv`.
pub fn clear_index(elevation_deg: f64, ozone_du: f64) -> f64 {
    let sine = elevation_deg.to_radians().sin().max(0.0);
    12.5 * sine.powf(2.42) * (ozone_du / 300.0).powf(-1.23)
}

/// Returns the highest UV index inside `span`: the forecast's where it tells one,
/// our clear-sky estimate elsewhere.
pub fn highest_index(
    clear: &ClearLight,
    forecast: Option<&Forecast>,
    span: Range<DateTime<Utc>>,
) -> f64 {
    let site = clear.site();
    let longitude = site.observer.longitude_deg();
    clear
        .elevations()
        .filter(|(at, elevation)| span.contains(at) && *elevation > 0.0)
        .map(|(at, elevation)| {
            let hour = forecast.and_then(|forecast| forecast.find_hour(at));
            hour.and_then(told_index).unwrap_or_else(|| {
                let day = atmosphere::solar_day_of_year(at, longitude);
                clear_index(elevation, site.ozone_on(day))
            })
        })
        .fold(0.0, f64::max)
}

fn told_index(hour: &Hour) -> Option<f64> {
    hour.uv_index.or(hour.uv_index_clear)
}
