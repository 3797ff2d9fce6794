//! What comes, and forecasts of it that err the more the further they look.

use std::cell::RefCell;
use std::collections::HashMap;

use chrono::{DateTime, NaiveDate, NaiveTime, TimeDelta, Utc};
use fairday::climate::days::{day_of_year, days_apart};
use fairday::climate::{Days, WholeDay};
use fairday::forecast::{Forecast, Hour};
use fairday::light::sun::Observer;
use fairday::light::{clear_global_over_hour, global_of_factor};
use fairday::odds::normal_at;
use fairday::window::normal_share;
use rand::rngs::SmallRng;
use rand::{Rng, SeedableRng};
use rand_distr::StandardNormal;

/// Days that a forecast reaches.
const REACH: u32 = 9;
/// Another day of the season lies so near.
const NEAR: u32 = 30;
/// How much an error of the forecast is like that of the day before. [own assumption]
const ERROR_PERSISTENCE: f64 = 0.3;

/// How forecasts err.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Forecaster {
    /// In how usable the day is, as a correlated normal value.
    Ranks,
    /// The day as it comes, or any other one of the season.
    Days,
}

/// The days as they come from `first` on, and the errors of those who foretell them.
pub struct Truth<'a> {
    pub days: &'a Days,
    pub observer: Observer,
    first: NaiveDate,
    errors: Vec<(f64, f64, usize)>,
    /// Clear-sky light of the hours that were asked for.
    clear: RefCell<HashMap<DateTime<Utc>, f64>>,
}

impl<'a> Truth<'a> {
    pub fn new(days: &'a Days, observer: Observer, first: NaiveDate, seed: u64) -> Truth<'a> {
        let mut rng = SmallRng::seed_from_u64(seed);
        let mut error: f64 = rng.sample(StandardNormal);
        let errors = (0..90)
            .map(|_| {
                let keep = ERROR_PERSISTENCE;
                let new: f64 = rng.sample(StandardNormal);
                error = keep * error + (1.0 - keep * keep).sqrt() * new;
                (error, rng.random::<f64>(), rng.random_range(0..1000))
            })
            .collect();
        Truth {
            days,
            observer,
            first,
            errors,
            clear: RefCell::default(),
        }
    }

    fn day(&self, date: NaiveDate) -> &'a WholeDay {
        let day = day_of_year(date);
        let at = self
            .days
            .days
            .partition_point(|other| other.day_of_year < day);
        &self.days.days[at.min(self.days.days.len() - 1)]
    }

    /// The forecast of a morning, by `way`, with errors by lead.
    pub fn foretold(&self, today: NaiveDate, way: Forecaster, correlation: &[f64]) -> Forecast {
        let mut hours = Vec::new();
        for lead in 0..REACH {
            let date = today + TimeDelta::days(i64::from(lead));
            let rho = correlation.get(lead as usize).copied().unwrap_or(0.0);
            let day = self.seen(date, way, rho);
            hours.extend((0..24).map(|hour| self.hour(date, hour, day)));
        }
        forecast(hours)
    }

    /// The days from `today` on as they come.
    pub fn certain(&self, today: NaiveDate, days: i64) -> Forecast {
        let dates = (0..days).map(|day| today + TimeDelta::days(day));
        let hours = dates.flat_map(|date| {
            let day = self.day(date);
            (0..24).map(move |hour| {
                let at = self.hour(date, hour, day);
                let wet = day.wet[hour as usize];
                Hour {
                    rain_chance: Some(if wet { 1.0 } else { 0.0 }),
                    ..at
                }
            })
        });
        forecast(hours.collect())
    }

    /// Which day of the season stands in the forecast for `date`.
    fn seen(&self, date: NaiveDate, way: Forecaster, rho: f64) -> &'a WholeDay {
        let truth = self.day(date);
        let (error, luck, other) = self.errors[(date - self.first).num_days().max(0) as usize % 90];
        let near = near(self.days, day_of_year(date));
        match way {
            Forecaster::Days if luck < rho => truth,
            Forecaster::Days => near[other % near.len()],
            Forecaster::Ranks => {
                let worse = near
                    .iter()
                    .filter(|day| usable(day) < usable(truth))
                    .count();
                let rank = (worse as f64 + 0.5) / near.len() as f64;
                let score = rho * normal_at(rank) + (1.0 - rho * rho).sqrt() * error;
                let seen = normal_share(score);
                if (seen - rank).abs() < 0.1 {
                    return truth;
                }
                let at = (seen * near.len() as f64) as usize;
                near[at.min(near.len() - 1)]
            }
        }
    }

    fn hour(&self, date: NaiveDate, hour: u32, day: &WholeDay) -> Hour {
        let local = date.and_time(NaiveTime::MIN) + TimeDelta::hours(i64::from(hour));
        let start: DateTime<Utc> = (local - self.days.offset).and_utc();
        let mut known = self.clear.borrow_mut();
        let clear = *known
            .entry(start)
            .or_insert_with(|| clear_global_over_hour(&self.observer, start));
        let at = hour as usize;
        Hour {
            start,
            global_w_m2: Some(global_of_factor(f64::from(day.factor[at]), clear)),
            wind_m_s: Some(f64::from(day.wind_m_s[at])),
            rain_chance: Some(if day.wet[at] { 0.6 } else { 0.05 }),
            ..Hour::default()
        }
    }
}

/// Returns the days with each in the place of one that is less usable, by a share of
/// what days differ; none for no change.
pub fn duller(days: &Days, by: f64) -> Option<Days> {
    if by == 0.0 {
        return None;
    }
    let worse = days.days.iter().map(|day| {
        let near = near(days, day.day_of_year);
        let below = near
            .iter()
            .filter(|other| usable(other) < usable(day))
            .count();
        let rank = (below as f64 + 0.5) / near.len() as f64;
        let rank = normal_share(normal_at(rank) - by);
        let at = (rank * near.len() as f64) as usize;
        WholeDay {
            day_of_year: day.day_of_year,
            ..near[at.min(near.len() - 1)].clone()
        }
    });
    Some(Days {
        days: worse.collect(),
        ..days.clone()
    })
}

/// The days of the season, from the least usable to the most.
fn near(days: &Days, date: u32) -> Vec<&WholeDay> {
    let near = days
        .days
        .iter()
        .filter(|day| days_apart(day.day_of_year, date) <= NEAR);
    let mut near: Vec<&WholeDay> = near.collect();
    near.sort_by(|one, other| usable(one).total_cmp(&usable(other)));
    near
}

fn forecast(hours: Vec<Hour>) -> Forecast {
    Forecast {
        credit: "back-test".to_owned(),
        latitude_deg: 0.0,
        longitude_deg: 0.0,
        issued_at: None,
        hours,
    }
}

/// How much light of the working day comes through while wind and rain allow.
fn usable(day: &WholeDay) -> f64 {
    let hours = (9..17).map(|hour| {
        let open = day.wind_m_s[hour] < 6.0 && !day.wet[hour];
        f64::from(day.factor[hour]) * if open { 1.0 } else { 0.01 }
    });
    hours.sum()
}
