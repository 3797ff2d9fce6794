//! When one may expose outdoors: wind and rain against the studio's limits.
//!
//! The light itself is `light`; here is only whether a start is fit, what stands
//! against it, and how likely it is to go wrong all the same. Nothing is placed.

use chrono::{DateTime, TimeDelta, Utc};
use serde::Serialize;

use crate::forecast::{Forecast, Hour};
use crate::studio::WeatherLimits;
use crate::studio::defaults::FORECAST_CORRELATION;

/// What stands against starting an exposure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "why")]
pub enum Unfit {
    /// The forecast does not reach there.
    NoForecast,
    /// It would take longer than is worth starting.
    TooLong {
        /// What it would take. [min]
        minutes: f64,
    },
    /// Rain in one of the hours, or too great a chance of it.
    Rain {
        /// Chance, 0 to 1; 1 where an amount is forecast without a chance.
        chance: f64,
    },
    /// Mean wind above the limit.
    Wind {
        /// Forecast. [m/s]
        m_s: f64,
    },
    /// Gusts above the limit.
    Gust {
        /// Forecast. [m/s]
        m_s: f64,
    },
}

/// Spread of the true gust about the forecast one, as a share of it.
/// [own assumption]
const GUST_SPREAD: f64 = 0.2;
/// Chance of rain taken for an hour that the forecast gives no chance for.
/// [own assumption]
const RAIN_CHANCE_UNSAID: f64 = 0.05;
/// Light this much weaker than forecast spoils the round.
/// [own assumption]
const WEAK_LIGHT_FACTOR: f64 = 1.5;

/// Finds what stands against being outdoors from `start` for `minutes`. [min]
///
/// The hour after counts for the chance of rain: a frame must also come in dry.
pub fn find_unfit(
    forecast: &Forecast,
    start: DateTime<Utc>,
    minutes: f64,
    loose: bool,
    limits: &WeatherLimits,
) -> Option<Unfit> {
    let end = start + TimeDelta::seconds((minutes * 60.0).ceil() as i64);
    let mut at = start;
    while at < end {
        let Some(hour) = forecast.find_hour(at) else {
            return Some(Unfit::NoForecast);
        };
        let unfit = hour_unfit(hour, loose, limits);
        if unfit.is_some() {
            return unfit;
        }
        at = hour.start + TimeDelta::hours(1);
    }
    forecast
        .find_hour(at)
        .and_then(|hour| rain_unfit(hour, limits))
}

fn hour_unfit(hour: &Hour, loose: bool, limits: &WeatherLimits) -> Option<Unfit> {
    rain_unfit(hour, limits).or_else(|| wind_unfit(hour, loose, limits))
}

fn rain_unfit(hour: &Hour, limits: &WeatherLimits) -> Option<Unfit> {
    let chance = hour.rain_chance.unwrap_or(0.0);
    let wet = hour
        .rain_mm
        .is_some_and(|mm| mm >= rain_limit_mm(hour, limits));
    if wet {
        return Some(Unfit::Rain {
            chance: hour.rain_chance.map_or(1.0, |chance| chance),
        });
    }
    (chance > limits.rain_chance_max).then_some(Unfit::Rain { chance })
}

/// Returns the amount from which the hour counts as wet. [mm]
///
/// In an hour cut out of a longer block the amount is spread evenly although
/// the shower is not; half the limit is enough there.
fn rain_limit_mm(hour: &Hour, limits: &WeatherLimits) -> f64 {
    if hour.from_block {
        limits.rain_max_mm / 2.0
    } else {
        limits.rain_max_mm
    }
}

fn wind_unfit(hour: &Hour, loose: bool, limits: &WeatherLimits) -> Option<Unfit> {
    let wind = hour.wind_m_s.unwrap_or(0.0);
    if wind > limits.wind_max_m_s {
        return Some(Unfit::Wind { m_s: wind });
    }
    let gust = gust(hour, limits);
    (gust > gust_limit(loose, limits)).then_some(Unfit::Gust { m_s: gust })
}

fn gust_limit(loose: bool, limits: &WeatherLimits) -> f64 {
    if loose {
        limits.loose_gust_max_m_s
    } else {
        limits.gust_max_m_s
    }
}

/// Returns the gust of the hour, from the mean wind where the feed has none. [m/s]
fn gust(hour: &Hour, limits: &WeatherLimits) -> f64 {
    hour.gust_m_s
        .unwrap_or_else(|| hour.wind_m_s.unwrap_or(0.0) * limits.gust_ratio)
}

/// Returns the chance that an exposure fails for the weather. [‰]
///
/// Rain, gusts and light weaker than forecast are taken as independent. `sigma`
/// is the standard deviation of the logarithm of the light.
pub fn risk_per_mille(
    forecast: &Forecast,
    start: DateTime<Utc>,
    minutes: f64,
    loose: bool,
    sigma: f64,
    limits: &WeatherLimits,
) -> i64 {
    let end = start + TimeDelta::seconds((minutes * 60.0).ceil() as i64);
    let mut rain: f64 = 0.0;
    let mut blown: f64 = 0.0;
    let mut at = start;
    while at < end + TimeDelta::hours(1) {
        let Some(hour) = forecast.find_hour(at) else {
            break;
        };
        rain = rain.max(hour.rain_chance.unwrap_or(RAIN_CHANCE_UNSAID));
        if at < end {
            let limit = gust_limit(loose, limits);
            let spread = (GUST_SPREAD * gust(hour, limits)).max(0.1);
            blown = blown.max(normal_share((gust(hour, limits) - limit) / spread));
        }
        at = hour.start + TimeDelta::hours(1);
    }
    let weak = normal_share(-WEAK_LIGHT_FACTOR.ln() / sigma.max(1e-6));
    let well = (1.0 - rain) * (1.0 - blown) * (1.0 - weak);
    (1000.0 * (1.0 - well)).round() as i64
}

/// Returns the spread of the logarithm of the light from the forecast's age alone.
///
/// From the correlation of a light forecast with the truth, by lead day, taken
/// to vary by half its own spread.
///
/// # Sources
/// Correlations: own assumption between published anchors ("How good is the
/// cloud cover forecast?", Mon. Not. R. Astron. Soc. 428, 2013, abstract; ECMWF
/// forecast user guide, section 6.4).
pub fn sigma_of_lead(days: f64) -> f64 {
    let correlation = correlation_of_lead(days);
    0.5 * (1.0 - correlation * correlation).sqrt()
}

/// Returns the correlation of a light forecast with the truth, by lead. [d]
///
/// # Sources
/// As for [`sigma_of_lead`]; the figures are a start value of the studio's settings.
pub fn correlation_of_lead(days: f64) -> f64 {
    between(&FORECAST_CORRELATION, days)
}

/// Returns the value at `days` between two of a table by whole days; at its end the
/// last one.
pub fn between(table: &[f64], days: f64) -> f64 {
    let last = table.len() - 1;
    let below = (days.max(0.0).floor() as usize).min(last);
    let above = (below + 1).min(last);
    let part = (days.max(0.0) - below as f64).clamp(0.0, 1.0);
    table[below] * (1.0 - part) + table[above] * part
}

/// Returns the share of a standard normal below `x`.
///
/// # Sources
/// Abramowitz & Stegun, "Handbook of Mathematical Functions", 1964, 7.1.26
/// (error below 1.5e-7) [from memory].
pub fn normal_share(x: f64) -> f64 {
    let z = x.abs() / std::f64::consts::SQRT_2;
    let t = 1.0 / (1.0 + 0.327_591_1 * z);
    let poly = t
        * (0.254_829_592
            + t * (-0.284_496_736
                + t * (1.421_413_741 + t * (-1.453_152_027 + t * 1.061_405_429))));
    let upper = 0.5 * poly * (-z * z).exp();
    if x < 0.0 { upper } else { 1.0 - upper }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIMITS: WeatherLimits = WeatherLimits {
        wind_max_m_s: 8.0,
        gust_max_m_s: 10.8,
        gust_ratio: 1.8,
        loose_gust_max_m_s: 5.6,
        rain_chance_max: 0.35,
        rain_max_mm: 0.1,
        elevation_min_deg: 5.0,
        exposure_max_minutes: 45.0,
        watch_loose: true,
        forecast_stale_hours: 12.0,
    };

    fn at(minute: i64) -> DateTime<Utc> {
        DateTime::UNIX_EPOCH + TimeDelta::minutes(minute)
    }

    fn forecast(hours: Vec<Hour>) -> Forecast {
        let hours = hours
            .into_iter()
            .enumerate()
            .map(|(index, hour)| Hour {
                start: at(60 * index as i64),
                ..hour
            })
            .collect();
        Forecast {
            credit: String::new(),
            latitude_deg: 0.0,
            longitude_deg: 0.0,
            issued_at: None,
            hours,
        }
    }

    fn calm() -> Hour {
        Hour {
            wind_m_s: Some(2.0),
            gust_m_s: Some(4.0),
            rain_mm: Some(0.0),
            ..Hour::default()
        }
    }

    #[test]
    fn a_calm_dry_hour_is_fit_and_the_end_of_the_forecast_is_not() {
        let forecast = forecast(vec![calm(), calm()]);
        assert_eq!(find_unfit(&forecast, at(10), 12.0, false, &LIMITS), None);
        assert_eq!(
            find_unfit(&forecast, at(115), 12.0, false, &LIMITS),
            Some(Unfit::NoForecast)
        );
    }

    #[test]
    fn loose_objects_stay_in_at_a_gust_that_glass_bears() {
        let forecast = forecast(vec![Hour {
            gust_m_s: Some(7.0),
            ..calm()
        }]);
        assert_eq!(find_unfit(&forecast, at(0), 12.0, false, &LIMITS), None);
        let loose = find_unfit(&forecast, at(0), 12.0, true, &LIMITS);
        assert_eq!(loose, Some(Unfit::Gust { m_s: 7.0 }));
    }

    #[test]
    fn without_gusts_the_mean_wind_stands_for_them() {
        let forecast = forecast(vec![Hour {
            gust_m_s: None,
            wind_m_s: Some(7.0),
            ..calm()
        }]);
        let unfit = find_unfit(&forecast, at(0), 12.0, false, &LIMITS);
        assert_eq!(unfit, Some(Unfit::Gust { m_s: 7.0 * 1.8 }));
    }

    #[test]
    fn rain_in_the_hour_after_keeps_the_frame_in() {
        let wet = Hour {
            rain_chance: Some(0.6),
            ..calm()
        };
        let forecast = forecast(vec![calm(), wet]);
        let unfit = find_unfit(&forecast, at(10), 12.0, false, &LIMITS);
        assert_eq!(unfit, Some(Unfit::Rain { chance: 0.6 }));
    }

    #[test]
    fn risk_grows_with_rain_chance_and_with_gusts_near_the_limit() {
        let risk = |hour: Hour, loose| {
            risk_per_mille(&forecast(vec![hour]), at(0), 12.0, loose, 0.2, &LIMITS)
        };
        let dry = Hour {
            rain_chance: Some(0.0),
            ..calm()
        };
        let damp = Hour {
            rain_chance: Some(0.3),
            ..calm()
        };
        assert!(risk(dry.clone(), false) < 30);
        assert!(risk(damp.clone(), false) >= 300);
        assert!(risk(damp, true) >= 300);
        let gusty = Hour {
            gust_m_s: Some(5.5),
            ..dry
        };
        assert!(risk(gusty.clone(), true) > 400);
        assert!(risk(gusty, false) < 30);
    }

    /// Shares of the standard normal, from any handbook table.
    #[test]
    fn normal_shares_are_the_tables() {
        for (x, share) in [
            (0.0, 0.5),
            (1.0, 0.841_345),
            (-1.96, 0.024_998),
            (2.5, 0.993_790),
        ] {
            assert!((normal_share(x) - share).abs() < 1e-6, "{x}");
        }
    }

    #[test]
    fn the_light_is_less_sure_the_further_ahead() {
        assert!(sigma_of_lead(0.0) < sigma_of_lead(3.0));
        assert!(sigma_of_lead(3.0) < sigma_of_lead(20.0));
        assert_eq!(sigma_of_lead(20.0), sigma_of_lead(10.0));
    }
}
