//! A forecast carried on by the climate: as it is to day 5, mixed to day 7, and
//! nothing but the usual weather from there on.

use chrono::{DateTime, TimeDelta, Utc};

use super::usual::{Usual, UsualHour};
use crate::forecast::{Forecast, Hour, Origin};
use crate::light::sun::Observer;
use crate::light::{clear_global_over_hour, factor_from_global, global_of_factor, sky_of};
use crate::window::correlation_of_lead;

/// To here a forecast is believed as it is. [d]
const FORECAST_DAYS: f64 = 5.0;

/// From here on it says no more than the climate. [d]
const CLIMATE_DAYS: f64 = 7.0;

/// What carries a forecast on.
#[derive(Debug, Clone, Copy)]
pub struct Beyond<'a> {
    /// The usual weather.
    pub usual: &'a Usual,
    /// Who looks at the sun, at the studio.
    pub observer: &'a Observer,
    /// Clear-sky global light of the site beside the yardstick's.
    pub global_scale: f64,
    /// Chance of rain in an hour of the day, by the studio's word.
    pub wet_share: f64,
    /// The moment of planning.
    pub now: DateTime<Utc>,
    /// End of the days that are planned.
    pub until: DateTime<Utc>,
}

/// Carries the hours of `forecast` on to the end of the plan.
///
/// Every hour says by its origin what it rests on. Between day 5 and 7 the
/// weight of the forecast is its correlation with the truth at that lead.
pub fn extend(forecast: &mut Forecast, beyond: &Beyond) {
    for hour in &mut forecast.hours {
        beyond.settle(hour);
    }
    let mut at = forecast.ends_at().unwrap_or(beyond.now).max(beyond.now);
    while at < beyond.until {
        forecast.hours.push(beyond.typical(at));
        at += TimeDelta::hours(1);
    }
}

impl Beyond<'_> {
    fn settle(&self, hour: &mut Hour) {
        let lead = (hour.start - self.now).num_minutes() as f64 / 1440.0;
        if lead <= FORECAST_DAYS {
            return;
        }
        if lead > CLIMATE_DAYS {
            *hour = self.typical(hour.start);
        } else {
            self.mix(hour, correlation_of_lead(lead));
        }
    }

    fn clear_w_m2(&self, start: DateTime<Utc>) -> f64 {
        clear_global_over_hour(self.observer, start) * self.global_scale
    }

    fn typical(&self, start: DateTime<Utc>) -> Hour {
        let usual = self.usual.find(start);
        Hour {
            start,
            global_w_m2: usual.map(|usual| usual.clear_share * self.clear_w_m2(start)),
            light_sigma_ln: usual.map(|usual| usual.sigma_ln),
            temperature_c: usual.and_then(|usual| usual.temperature_c),
            humidity_pct: usual.and_then(|usual| usual.humidity_pct),
            wind_m_s: usual.and_then(|usual| usual.wind_m_s),
            rain_chance: Some(self.wet_share),
            origin: Origin::Typical,
            ..Hour::default()
        }
    }

    /// Mixes an hour with the usual one, the forecast's part being `weight`.
    fn mix(&self, hour: &mut Hour, weight: f64) {
        let Some(usual) = self.usual.find(hour.start) else {
            return;
        };
        let blend = |forecast: f64, usual: f64| weight * forecast + (1.0 - weight) * usual;
        let both = |forecast: Option<f64>, usual: Option<f64>| match (forecast, usual) {
            (Some(forecast), Some(usual)) => Some(blend(forecast, usual)),
            (one, other) => one.or(other),
        };
        self.mix_light(hour, usual, weight);
        let wind = both(hour.wind_m_s, usual.wind_m_s);
        let stronger = hour.wind_m_s.zip(wind).map(|(old, new)| new / old.max(0.1));
        hour.gust_m_s = hour.gust_m_s.zip(stronger).map(|(gust, by)| gust * by);
        hour.wind_m_s = wind;
        hour.temperature_c = both(hour.temperature_c, usual.temperature_c);
        hour.humidity_pct = both(hour.humidity_pct, usual.humidity_pct);
        // Rain that is said without a chance is as good as said with a large one.
        let falls = hour.rain_mm.take().is_some_and(|mm| mm > 0.0);
        let chance = hour.rain_chance.unwrap_or(if falls { 1.0 } else { 0.0 });
        hour.rain_chance = Some(blend(chance, self.wet_share));
        hour.origin = Origin::Mixed;
    }

    fn mix_light(&self, hour: &mut Hour, usual: &UsualHour, weight: f64) {
        let clear = self.clear_w_m2(hour.start);
        let forecast = sky_of(hour, clear);
        let usual_factor = factor_from_global(usual.clear_share, 1.0);
        let factor = match &forecast {
            Some(sky) => weight * sky.factor + (1.0 - weight) * usual_factor,
            None => usual_factor,
        };
        // What the forecast leaves open of the difference between days.
        let open = usual.sigma_ln * (1.0 - weight * weight).sqrt();
        let known = forecast.map_or(0.0, |sky| sky.sigma_ln * weight);
        hour.global_w_m2 = Some(global_of_factor(factor, clear));
        hour.light_sigma_ln = Some(open.hypot(known));
        (hour.cloud_low_pct, hour.cloud_mid_pct, hour.cloud_high_pct) = (None, None, None);
        (hour.uv_index, hour.uv_index_clear) = (None, None);
    }
}
