//! One weather, day by day: the forecast with its error, then the climate.
//!
//! Each day has a *score*, how usable it is among the days of its season, as a value
//! of the standard normal:
//!
//! ```text
//! score = ρ · forecast's score + √(1 − ρ²) · rest      ρ by lead, 0 without forecast
//! rest  = √(1 − s²) · day + s · season                 season drawn once
//! day   = φ · day before + √(1 − φ²) · new             φ measured in the climate
//! ```
//!
//! and the sky of the climate's day at that place among its neighbours, whole; or,
//! where it comes near the forecast's own, the forecast's hours as they are, with rain in
//! those whose chance of it is above Φ(rest): a day with rain has come worse than foretold.

use rand::rngs::SmallRng;
use rand::{Rng, SeedableRng};
use rand_distr::StandardNormal;

use super::normal::mixed;
use super::season::{ForecastDay, HALVES, Season, SeasonDay, SkyDay, with_rain};
use crate::window::normal_share;

/// So near in rank to the forecast a day comes as forecast, hour by hour. [own choice]
const AS_FORECAST: f64 = 0.1;
/// Slots of five minutes in half an hour.
const SLOTS: f32 = 6.0;

/// A weather that is drawn as far as it is asked for.
#[derive(Debug)]
pub struct Weather<'a> {
    season: &'a Season<'a>,
    year_spread: f64,
    rng: SmallRng,
    of_season: f64,
    of_day: Option<f64>,
    next: usize,
}

/// The light of a day and what forbids using it.
#[derive(Debug, Clone, PartialEq)]
pub struct DayLight {
    /// Dose gathered from midnight to each half hour. [J/m²]
    gathered: [f32; HALVES + 1],
    /// For each half hour the first one from it on in which nothing goes out: under
    /// glass, and loose.
    shut_from: [[u8; HALVES]; 2],
    wet: [bool; 24],
}

impl<'a> Weather<'a> {
    /// Begins the weather of a number.
    pub fn new(season: &'a Season<'a>, year_spread: f64, seed: u64, number: u64) -> Weather<'a> {
        let mut rng = SmallRng::seed_from_u64(mixed(&[seed, number]));
        let of_season = rng.sample(StandardNormal);
        Weather {
            season,
            year_spread,
            rng,
            of_season,
            of_day: None,
            next: 0,
        }
    }

    /// Draws the next day.
    ///
    /// Beyond the season's days the last one is drawn again and again.
    pub fn next_day(&mut self) -> DayLight {
        let index = self.next.min(self.season.days.len() - 1);
        self.next += 1;
        let rest = self.rest();
        let day = &self.season.days[index];
        let rank = normal_share(score(day, rest));
        // A day that comes worse than foretold is the one on which it rains.
        let falls = normal_share(rest) as f32;
        let as_forecast = |forecast: &&ForecastDay| (forecast.rank - rank).abs() < AS_FORECAST;
        let sky = match day.forecast.as_ref().filter(as_forecast) {
            Some(forecast) => with_rain(&forecast.sky, &forecast.rain, falls),
            None => match self.season.sky_at_rank(index, rank) {
                Some(sky) => sky,
                None => return DayLight::dark(),
            },
        };
        DayLight::new(self.season, index, &sky)
    }

    /// Draws what makes the next day other than foretold, as a value of the standard
    /// normal.
    fn rest(&mut self) -> f64 {
        let new: f64 = self.rng.sample(StandardNormal);
        let persistence = self.season.persistence;
        let of_day = match self.of_day {
            None => new,
            Some(before) => persistence * before + (1.0 - persistence * persistence).sqrt() * new,
        };
        self.of_day = Some(of_day);
        let spread = self.year_spread;
        (1.0 - spread * spread).sqrt() * of_day + spread * self.of_season
    }
}

/// Returns the score of a day with its `rest`.
fn score(day: &SeasonDay, rest: f64) -> f64 {
    match &day.forecast {
        Some(forecast) => {
            let rho = forecast.correlation;
            rho * forecast.score + (1.0 - rho * rho).sqrt() * rest
        }
        None => rest,
    }
}

impl DayLight {
    /// Returns the light of day `index` of the season under a sky.
    pub fn new(season: &Season, index: usize, sky: &SkyDay) -> DayLight {
        let day = &season.days[index];
        let mut light = DayLight::dark();
        for half in 0..HALVES {
            let dose = day.dose(half, sky.factor[half / 2]);
            light.gathered[half + 1] = light.gathered[half] + dose;
        }
        let end = HALVES as u8;
        let mut open = [end; 2];
        for half in (0..HALVES).rev() {
            let shut = sky.shut[half / 2];
            let dark = light.gathered[half + 1] <= light.gathered[half] || shut.wet;
            for (kind, blown) in [shut.glass, shut.loose].into_iter().enumerate() {
                if dark || blown {
                    open[kind] = half as u8;
                }
                light.shut_from[kind][half] = open[kind];
            }
        }
        light.wet = sky.shut.map(|shut| shut.wet);
        light
    }

    /// A day without light.
    pub fn dark() -> DayLight {
        DayLight {
            gathered: [0.0; HALVES + 1],
            shut_from: [std::array::from_fn(|half| half as u8); 2],
            wet: [false; 24],
        }
    }

    /// Returns how long an exposure takes that starts `at` slots after midnight; none
    /// if nothing goes out then or it would be too long. [slots of 5 min]
    ///
    /// `dose` in J/m², `most` in slots; the hour after must be dry.
    pub fn find_duration(&self, dose: f32, loose: bool, at: u16, most: f32) -> Option<u16> {
        let from = f32::from(at) / SLOTS;
        let half = from as usize;
        let until = usize::from(*self.shut_from[usize::from(loose)].get(half)?);
        if until == half {
            return None;
        }
        let inside = self.gathered[half + 1] - self.gathered[half];
        let target = self.gathered[half] + (from - half as f32) * inside + dose;
        let end = (half..until).find(|end| self.gathered[end + 1] >= target)?;
        let inside = self.gathered[end + 1] - self.gathered[end];
        let share = (target - self.gathered[end]) / inside.max(1e-6);
        let slots = (end as f32 + share - from) * SLOTS;
        let after = end / 2 + 1;
        let is_dry = !self.wet.get(after).copied().unwrap_or(false);
        // A hair below the next slot is rounding.
        (slots <= most && is_dry).then(|| ((slots - 1e-3).ceil() as u16).max(1))
    }
}
