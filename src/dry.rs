//! How much longer a coat dries in other air: an estimate, to be called one.
//!
//! Two forms. By vapour pressure deficit alone, which is simple and good at one
//! temperature. By evaporation from a wet sheet that has cooled to its wet bulb,
//! which does not overstate the gain from warmth. Both speak of the first, even
//! part of drying in moving air; neither is a measured law of this trade, and
//! the studio's own hours are always the base.

use chrono::{DateTime, TimeDelta, Utc};

use crate::forecast::{Forecast, air};
use crate::studio::{Drying, RoomAir};

/// Air around a sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Temperature. [°C]
    pub temperature_c: f64,
    /// Relative humidity. [%]
    pub humidity_pct: f64,
}

/// The air in which the studio's own drying hours were found, and when to stop believing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Habit {
    /// The usual air.
    pub air: Air,
    /// The longest stretch of the usual hours that is still said.
    pub factor_max: f64,
}

impl Default for Habit {
    /// 20 °C, 50 %, at most four times the hours. [common practice, no source]
    fn default() -> Habit {
        Habit {
            air: Air {
                temperature_c: 20.0,
                humidity_pct: 50.0,
            },
            factor_max: 4.0,
        }
    }
}

/// Returns by how much the usual hours stretch in `air`, from the vapour pressure deficit.
///
/// # Sources
/// Evaporation in proportion to the deficit; saturation by [`air::saturation_hpa`].
///
/// # Example
/// ```
/// use fairday::dry::{Air, Habit, factor_by_deficit};
/// let air = |temperature_c, humidity_pct| Air { temperature_c, humidity_pct };
/// let damp = factor_by_deficit(air(20.0, 80.0), &Habit::default());
/// assert!((damp - 2.5).abs() < 0.005);
/// assert_eq!(factor_by_deficit(air(12.0, 100.0), &Habit::default()), 4.0);
/// ```
pub fn factor_by_deficit(air: Air, habit: &Habit) -> f64 {
    let deficit = |air: Air| air::deficit_hpa(air.temperature_c, air.humidity_pct);
    capped(deficit(habit.air) / deficit(air), habit)
}

/// Returns by how much the usual hours stretch in `air`, from the evaporation of a wet sheet.
///
/// Still air moves a little: 0.2 m/s are taken for both.
pub fn factor_by_evaporation(air: Air, habit: &Habit) -> f64 {
    let rate = |air: Air| evaporation_g_m2_h(air, STILL_M_S);
    capped(rate(habit.air) / rate(air), habit)
}

/// Returns by how much a studio's drying hours stretch from `now` on; none without
/// an estimate, or where nothing is known of the air.
///
/// The air is that of the room where the studio gives it; else the mean of the
/// forecast's next two days, though a room is mostly warmer than the yard.
pub fn estimate(
    drying: &Drying,
    forecast: Option<&Forecast>,
    now: DateTime<Utc>,
) -> Option<Estimate> {
    let room = |air: RoomAir| Air {
        temperature_c: air.temperature_c,
        humidity_pct: air.humidity_pct,
    };
    let air = match drying.now {
        Some(air) => room(air),
        None => mean_air(forecast?, now)?,
    };
    let habit = Habit {
        air: room(drying.usual),
        factor_max: drying.factor_max,
    };
    let factor = factor_by_evaporation(air, &habit).max(drying.factor_min);
    Some(Estimate { factor, air })
}

/// Drying hours in the air of these days, as an estimate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// How many times the usual hours.
    pub factor: f64,
    /// The air it was made for.
    pub air: Air,
}

/// How far ahead the forecast's air counts: coats of today and tomorrow. [h]
const AHEAD_H: i64 = 48;

fn mean_air(forecast: &Forecast, now: DateTime<Utc>) -> Option<Air> {
    let span = now..now + TimeDelta::hours(AHEAD_H);
    let near = forecast
        .hours
        .iter()
        .filter(|hour| span.contains(&hour.start));
    let known: Vec<(f64, f64)> = near
        .filter_map(|hour| hour.temperature_c.zip(hour.humidity_pct))
        .collect();
    let count = known.len() as f64;
    (!known.is_empty()).then(|| Air {
        temperature_c: known.iter().map(|(warmth, _)| warmth).sum::<f64>() / count,
        humidity_pct: known.iter().map(|(_, damp)| damp).sum::<f64>() / count,
    })
}

/// What a fan-less room does to the air over a sheet. [m/s, own choice]
const STILL_M_S: f64 = 0.2;

fn capped(factor: f64, habit: &Habit) -> f64 {
    if factor.is_finite() && factor >= 0.0 {
        factor.min(habit.factor_max)
    } else {
        habit.factor_max
    }
}

/// Psychrometric constant at sea level, 101.3 kPa. [kPa/K]
///
/// # Sources
/// FAO Irrigation and Drainage Paper 56, equation 8: 0.665e-3 times the pressure,
/// from memory.
const PSYCHROMETRIC_KPA_K: f64 = 0.665e-3 * 101.3;

/// Returns the water that leaves one open face of a wet sheet in the shade. [g/(m² h)]
///
/// `wind_m_s` is the air over the sheet. [m/s] Valid for the first part of
/// drying, while the surface is wet, at 0 to 40 °C near sea level.
///
/// # Sources
/// Pool evaporation, W = (95 + 0.425 v)(pw − pa)/Y in lb/(h ft²), inHg, ft/min and
/// Btu/lb, ASHRAE Transactions 104, 1998, abstract; here in SI units: kg/(s m²),
/// kPa, m/s, kJ/kg. pw is that of the wet bulb, to which a thin sheet cools.
pub fn evaporation_g_m2_h(air: Air, wind_m_s: f64) -> f64 {
    let wet_c = wet_bulb_c(air);
    let drive_kpa = saturation_kpa(wet_c) - vapour_kpa(air);
    let latent_kj_kg = 2501.0 - 2.36 * wet_c;
    3.6e6 * (0.0885 + 0.0779 * wind_m_s) * drive_kpa / latent_kj_kg
}

/// Returns the temperature of a wet thing in moving air. [°C]
///
/// Where the heat drawn from the air makes up for the vapour given to it:
/// es(Tw) − e = g (T − Tw), found by halving.
pub fn wet_bulb_c(air: Air) -> f64 {
    let vapour = vapour_kpa(air);
    let surplus =
        |wet: f64| saturation_kpa(wet) - vapour - PSYCHROMETRIC_KPA_K * (air.temperature_c - wet);
    let (mut low, mut high) = (air.temperature_c - 60.0, air.temperature_c);
    // 60 K halved 40 times: closer than a float of this size can tell.
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        if surplus(middle) > 0.0 {
            high = middle;
        } else {
            low = middle;
        }
    }
    (low + high) / 2.0
}

/// Returns the saturation vapour pressure in the form of the FAO papers. [kPa]
///
/// # Sources
/// Tetens form, 0.6108 kPa, 17.27 and 237.3 °C.
fn saturation_kpa(temperature_c: f64) -> f64 {
    0.6108 * (17.27 * temperature_c / (temperature_c + 237.3)).exp()
}

fn vapour_kpa(air: Air) -> f64 {
    saturation_kpa(air.temperature_c) * air.humidity_pct / 100.0
}
