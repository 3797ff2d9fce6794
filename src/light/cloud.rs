//! What clouds leave of the light that prints, from whatever the forecast says.
//!
//! Four ways, the surest first: the forecast's own global shortwave, its UV index
//! beside that of the clear sky, cover by layer, total cover. The answer says which
//! one was used and how far it may be off. Broken cloud swings by a factor of three
//! within minutes; an hourly mean knows nothing of that. Not here: rain as a
//! reason to stop (`curve`).

use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};

use super::atmosphere;
use super::spectrum::PrintingLight;
use super::sun::Observer;
use crate::forecast::Hour;
use crate::studio::Stand;
use crate::units::DoseRate;

/// A clear-sky global below this is too small to divide by. [W/m²] [own choice]
const CLEAR_GLOBAL_LEAST: f64 = 50.0;
/// Most that broken cloud may add by reflection, over an hour. [own choice]
const RATIO_MOST: f64 = 1.1;
/// Cloud takes less of UV than of global light: factor = ratio^this. [own choice]
///
/// Between 1.0 (Thiel et al. 1997: no difference) and about 0.8 (shares of UV in
/// global light measured at Valencia and Córdoba).
const UV_EXPONENT: f64 = 0.85;
/// A clear UV index below this is mostly rounding. [own choice]
const CLEAR_INDEX_LEAST: f64 = 1.0;
/// What a full layer takes. High: Thiel et al. 1997; low and middle: own choice,
/// so that full low cover leaves 0.30, near the 0.31 of the US weather service.
const LAYER_LOSS: [f64; 3] = [0.70, 0.65, 0.40];
/// What full cover leaves, where beam light has gone altogether. [own choice]
const BEAM_GONE: f64 = 0.31;
/// From this factor on an hour counts as clear. [own choice]
///
/// Not 1: the yardstick of clear global light is often 5 to 10 % too bright.
const CLEAR_FROM: f64 = 0.90;

/// What the cloud factor was taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CloudMethod {
    /// Global shortwave of the forecast beside that of a clear sky.
    GlobalLight,
    /// UV index of the forecast beside its clear-sky one.
    UvIndex,
    /// Low, middle and high cover.
    CloudLayers,
    /// Total cover only.
    CloudCover,
    /// Somebody looked up.
    Seen,
    /// Nothing is known; a clear sky is assumed, the light is the most there can be.
    AssumedClear,
}

/// The sky over an hour, as far as light goes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Sky {
    /// Light on the horizontal beside that of a clear sky.
    pub factor: f64,
    /// Share of the beam that comes through.
    pub beam_share: f64,
    /// Standard deviation of the logarithm of light.
    pub sigma_ln: f64,
    /// Where the factor comes from.
    pub method: CloudMethod,
}

impl Sky {
    /// A clear sky that nobody forecast. Its spread is a guess. [own choice]
    pub const ASSUMED_CLEAR: Sky = Sky {
        factor: 1.0,
        beam_share: 1.0,
        sigma_ln: 0.50,
        method: CloudMethod::AssumedClear,
    };

    /// Takes a factor found by a method; the beam goes first as the factor falls.
    pub fn with_factor(factor: f64, method: CloudMethod) -> Sky {
        Sky {
            factor,
            beam_share: ((factor - BEAM_GONE) / (1.0 - BEAM_GONE)).clamp(0.0, 1.0),
            sigma_ln: sigma_ln(factor, method),
            method,
        }
    }

    /// Returns whether the hour counts as clear.
    pub fn is_clear(&self) -> bool {
        self.factor >= CLEAR_FROM
    }

    /// Returns the dose rate on the frame under this sky.
    ///
    /// `clear` is the light of the clear sky. Cloud takes the beam first and makes
    /// the rest of the sky even; with factor and beam share 1 the clear value
    /// comes back.
    pub fn rate_on(&self, clear: &PrintingLight, stand: &Stand) -> DoseRate {
        if clear.horizontal() <= 0.0 {
            return DoseRate(0.0);
        }
        let horizontal = self.factor * clear.horizontal();
        let beam_share = if clear.beam_horizontal > 0.0 {
            self.beam_share.min(horizontal / clear.beam_horizontal)
        } else {
            0.0
        };
        let tilt = stand.tilt_deg.to_radians().cos();
        let (sky_view, ground_view) = ((1.0 + tilt) / 2.0, (1.0 - tilt) / 2.0);
        let sky_horizontal = horizontal - beam_share * clear.beam_horizontal;
        let clear_view = if clear.sky_horizontal > 0.0 {
            clear.sky_frame / clear.sky_horizontal
        } else {
            sky_view
        };
        let view = beam_share * clear_view + (1.0 - beam_share) * sky_view;
        let ground = horizontal * stand.albedo * ground_view;
        DoseRate(beam_share * clear.beam_frame + sky_horizontal * view + ground)
    }
}

/// Returns the sky of a forecast hour, by the surest way that its fields allow;
/// none if it says nothing of light or cloud.
///
/// `clear_global_w_m2` is the clear-sky global light over the same hour
/// ([`clear_global_over_hour`]) times the scale of the site. [W/m²]
pub fn sky_of(hour: &Hour, clear_global_w_m2: f64) -> Option<Sky> {
    let layers = cloud_layers(hour);
    let (factor, method) = by_global(hour, clear_global_w_m2)
        .or_else(|| by_uv_index(hour))
        .or_else(|| by_layers(hour, layers))
        .or_else(|| by_cover(hour))?;
    let mut sky = Sky::with_factor(factor, method);
    if let Some([low, middle, high]) = layers {
        sky.beam_share = (1.0 - low) * (1.0 - middle) * (1.0 - 0.5 * high);
    }
    if hour.from_block {
        // A six-hour mean says little about any one hour in it. [own choice]
        sky.sigma_ln = sky.sigma_ln.max(0.50);
    }
    if let Some(sigma_ln) = known(hour.light_sigma_ln) {
        sky.sigma_ln = sigma_ln;
    }
    Some(sky)
}

/// With the sun so low in the middle of an hour it is below the horizon throughout: it
/// moves by 6.25° in 25 minutes at most, and the air lifts it by less than a degree. [°]
const NIGHT_DEG: f64 = -8.0;

/// Returns the clear-sky global light over the hour that begins at `start`, as the
/// mean of six mid-points of ten minutes. [W/m²]
///
/// A forecast's global light is a mean over its hour; the yardstick must be averaged
/// alike. Values checked against `tests/reference/light/ghi_hourly.csv`.
pub fn clear_global_over_hour(observer: &Observer, start: DateTime<Utc>) -> f64 {
    let middle = observer.sun_at(start + TimeDelta::minutes(30));
    if middle.elevation_deg() < NIGHT_DEG {
        return 0.0;
    }
    let at = |tenth: i64| start + TimeDelta::minutes(5 + 10 * tenth);
    let sum: f64 = (0..6)
        .map(|tenth| atmosphere::clear_global_w_m2(observer.sun_at(at(tenth)).zenith_deg))
        .sum();
    sum / 6.0
}

/// Returns what cloud leaves of printing light, from global light and its
/// clear-sky value. [both W/m²]
pub fn factor_from_global(global_w_m2: f64, clear_w_m2: f64) -> f64 {
    (global_w_m2 / clear_w_m2)
        .clamp(0.0, RATIO_MOST)
        .powf(UV_EXPONENT)
}

/// Returns the global light that [`factor_from_global`] turns into this factor. [W/m²]
pub fn global_of_factor(factor: f64, clear_w_m2: f64) -> f64 {
    clear_w_m2 * factor.max(0.0).powf(1.0 / UV_EXPONENT)
}

/// Returns what cloud leaves, from a UV index and its clear-sky value.
pub fn factor_from_uv_index(index: f64, clear_index: f64) -> f64 {
    (index / clear_index).clamp(0.0, RATIO_MOST)
}

/// Returns what cloud leaves, from low, middle and high cover, each 0 to 1, and
/// total cover where it is known.
///
/// Each layer counts by the share of it that is seen from below.
///
/// # Sources
/// Thiel, Steiner & Seidlitz, "Modification of global erythemally effective
/// irradiance by clouds", Photochem. Photobiol. 65 (1997): 1 − c·N³ with c by kind
/// of cloud.
pub fn factor_from_layers([low, middle, high]: [f64; 3], total: Option<f64>) -> f64 {
    let seen = [
        low,
        middle * (1.0 - low),
        high * (1.0 - low) * (1.0 - middle),
    ];
    let all: f64 = seen.iter().sum();
    if all <= 0.0 {
        return 1.0;
    }
    let loss: f64 = seen.iter().zip(LAYER_LOSS).map(|(s, c)| s * c).sum::<f64>() / all;
    let largest = low.max(middle).max(high);
    let cover = total.map_or(all, |total| total.max(largest)).min(1.0);
    1.0 - loss * cover.powi(3)
}

/// Returns what cloud leaves, from total cover, 0 to 1.
///
/// # Sources
/// Kasten & Czeplak, "Solar and terrestrial radiation dependent on the amount and
/// type of cloud", Solar Energy 24 (1980) 177–189, for global light; exponent as
/// for global light of a forecast.
pub fn factor_from_cover(cover: f64) -> f64 {
    (1.0 - 0.75 * cover.powf(3.4)).powf(UV_EXPONENT)
}

fn by_global(hour: &Hour, clear: f64) -> Option<(f64, CloudMethod)> {
    let global = known(hour.global_w_m2)?;
    (clear >= CLEAR_GLOBAL_LEAST)
        .then(|| (factor_from_global(global, clear), CloudMethod::GlobalLight))
}

fn by_uv_index(hour: &Hour) -> Option<(f64, CloudMethod)> {
    let (index, clear) = (known(hour.uv_index)?, known(hour.uv_index_clear)?);
    // Some services fill both fields with the clear-sky value.
    let copied = index == clear && share(hour.cloud_pct).is_some_and(|cover| cover > 0.5);
    (clear >= CLEAR_INDEX_LEAST && !copied)
        .then(|| (factor_from_uv_index(index, clear), CloudMethod::UvIndex))
}

fn by_layers(hour: &Hour, layers: Option<[f64; 3]>) -> Option<(f64, CloudMethod)> {
    let factor = factor_from_layers(layers?, share(hour.cloud_pct));
    Some((factor, CloudMethod::CloudLayers))
}

fn by_cover(hour: &Hour) -> Option<(f64, CloudMethod)> {
    let cover = share(hour.cloud_pct)?;
    Some((factor_from_cover(cover), CloudMethod::CloudCover))
}

fn cloud_layers(hour: &Hour) -> Option<[f64; 3]> {
    Some([
        share(hour.cloud_low_pct)?,
        share(hour.cloud_mid_pct)?,
        share(hour.cloud_high_pct)?,
    ])
}

/// How far light may be off, as a standard deviation of its logarithm. [own choice]
///
/// Informed by published errors: about 15 % where a broadband light is known, 50 %
/// and more from cover alone; it is a forecast on top.
fn sigma_ln(factor: f64, method: CloudMethod) -> f64 {
    let clear = factor >= CLEAR_FROM;
    match method {
        CloudMethod::GlobalLight | CloudMethod::UvIndex if clear => 0.12,
        CloudMethod::GlobalLight => 0.20,
        CloudMethod::UvIndex => 0.22,
        CloudMethod::Seen if clear => 0.15,
        CloudMethod::CloudLayers | CloudMethod::Seen => 0.35,
        CloudMethod::CloudCover | CloudMethod::AssumedClear => 0.50,
    }
}

fn share(percent: Option<f64>) -> Option<f64> {
    known(percent).map(|percent| (percent / 100.0).clamp(0.0, 1.0))
}

fn known(value: Option<f64>) -> Option<f64> {
    value.filter(|value| value.is_finite())
}
