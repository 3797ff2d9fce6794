//! What the coming days have whatever the weather: sun, climate, forecast.
//!
//! For each day: the dose that each half hour gives under each cloud, the days of the
//! climate that may take its place, from the least usable to the most, and what is
//! forecast for it. *Usable* is the share of the clear light of the hours of work
//! that comes through while neither wind nor rain forbids exposing.

use chrono::{DateTime, NaiveDateTime, TimeDelta, Utc};

use super::normal::normal_at;
use crate::climate::days::{YEAR_DAYS, day_of_year, days_apart};
use crate::climate::{Days, WholeDay};
use crate::forecast::{Forecast, Hour};
use crate::light::cloud::CloudMethod;
use crate::light::{Site, Sky, clear_global_over_hour, sky_of};
use crate::plan::grid::{Grid, PER_DAY};
use crate::studio::{Studio, WeatherLimits};

/// Half hours of a day.
pub const HALVES: usize = 48;
/// Values of cloud for which the dose is kept: 0, 0.1 and so on to 1.1.
const CLOUDS: usize = 12;
/// A day of the climate may stand in for one so many days apart. [d, own choice]
pub const NEAR_DAYS: u32 = 30;
/// From the eighth day on a forecast says no more than the climate. [d]
const FORECAST_LEADS: usize = 8;
/// Half hours of the day's usable time that must be forecast for it to count.
const KNOWN_SHARE: f64 = 0.6;

/// What forbids exposing in an hour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Shut {
    /// Rain.
    pub wet: bool,
    /// Wind, for frames under glass.
    pub glass: bool,
    /// Wind, for loose objects.
    pub loose: bool,
}

/// The sky of a day by wall-clock hours.
#[derive(Debug, Clone, PartialEq)]
pub struct SkyDay {
    /// What cloud leaves of the light that prints.
    pub factor: [f32; 24],
    /// What forbids exposing.
    pub shut: [Shut; 24],
}

/// A day of the forecast.
#[derive(Debug, Clone, PartialEq)]
pub struct ForecastDay {
    /// Its sky; rain is not in it.
    pub sky: SkyDay,
    /// Chance of rain by hour.
    pub rain: [f32; 24],
    /// How usable it is among the days of the climate, as a share.
    pub rank: f64,
    /// The same as a value of the standard normal.
    pub score: f64,
    /// Correlation with what comes.
    pub correlation: f64,
}

/// A coming day.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonDay {
    /// Dose of each half hour by cloud; zero while the sun is too low. [J/m²]
    dose: Vec<[f32; CLOUDS]>,
    /// From hours of the wall clock to hours of the climate's.
    shift: i32,
    /// Days of the climate, indices, from the least usable to the most.
    candidates: Vec<u16>,
    /// What is forecast, if anything is.
    pub forecast: Option<ForecastDay>,
}

/// The coming days of a studio.
#[derive(Debug)]
pub struct Season<'a> {
    climate: &'a Days,
    limits: WeatherLimits,
    /// The days from today on.
    pub days: Vec<SeasonDay>,
    /// Correlation of how usable a day is with the day after.
    pub persistence: f64,
}

/// Returns the days of the year that a climate must hold for `days` from `now` on.
pub fn wanted_days(now: NaiveDateTime, days: u32) -> impl Fn(u32) -> bool {
    let first = (day_of_year(now.date()) + YEAR_DAYS - NEAR_DAYS - 1) % YEAR_DAYS;
    let count = (days + 2 * NEAR_DAYS + 2).min(YEAR_DAYS);
    move |day| (day + YEAR_DAYS - first) % YEAR_DAYS < count
}

impl<'a> Season<'a> {
    /// Looks at the days of `grid`, under the site's sun.
    pub fn new(
        studio: &Studio,
        site: &Site,
        climate: &'a Days,
        forecast: Option<&Forecast>,
        grid: &Grid,
    ) -> Season<'a> {
        let hours = work_hours(studio);
        let mut season = Season {
            climate,
            limits: studio.weather,
            days: Vec::new(),
            persistence: 0.0,
        };
        for index in 0..grid.days {
            let day = season.look_at(site, grid, i64::from(index), hours);
            season.days.push(day);
        }
        season.persistence = season.measured_persistence(hours);
        if let Some(forecast) = forecast {
            let table = &studio.promises.forecast_correlation;
            for (lead, correlation) in table.iter().enumerate().take(FORECAST_LEADS) {
                if lead < season.days.len() && *correlation > 0.0 {
                    let day = season.forecast_day(site, forecast, grid, lead, *correlation, hours);
                    season.days[lead].forecast = day;
                }
            }
        }
        season
    }

    fn look_at(&self, site: &Site, grid: &Grid, index: i64, hours: (usize, usize)) -> SeasonDay {
        let first = index * PER_DAY;
        let noon = grid.find_instant(first + PER_DAY / 2);
        let noon = noon.expect("no clock change skips noon");
        let shift = self.climate.hour_of(noon + TimeDelta::minutes(30)) as i32 - 12;
        let dose = (0..HALVES)
            .map(
                |half| match grid.find_instant(first + 6 * half as i64 + 3) {
                    Some(middle) => doses(site, middle, self.limits.elevation_min_deg),
                    None => [0.0; CLOUDS],
                },
            )
            .collect();
        let mut day = SeasonDay {
            dose,
            shift,
            candidates: Vec::new(),
            forecast: None,
        };
        let date = day_of_year(grid.day(first));
        let usable = |index: usize| {
            let sky = self.sky(&day, index);
            day.usable(&sky, hours)
        };
        let days = self.climate.days.iter().enumerate();
        let near = days.filter(|(_, other)| days_apart(other.day_of_year, date) <= NEAR_DAYS);
        let mut ranked: Vec<(f64, u16)> = near
            .map(|(index, _)| (usable(index), index as u16))
            .collect();
        ranked.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.1.cmp(&other.1)));
        day.candidates = ranked.into_iter().map(|(_, index)| index).collect();
        day
    }

    /// Returns a day of the climate under the clock and limits of `day`.
    fn sky(&self, day: &SeasonDay, index: usize) -> SkyDay {
        let whole: &WholeDay = &self.climate.days[index];
        let at = |hour: usize| (hour as i32 + day.shift).rem_euclid(24) as usize;
        let shut = |hour: usize| {
            let wind = f64::from(whole.wind_m_s[at(hour)]);
            let mut shut = blown(wind, wind * self.limits.gust_ratio, &self.limits);
            shut.wet = whole.wet[at(hour)];
            shut
        };
        SkyDay {
            factor: std::array::from_fn(|hour| whole.factor[at(hour)]),
            shut: std::array::from_fn(shut),
        }
    }

    /// Returns the sky of the climate day at a rank from 0 to 1 among those of day
    /// `index`; none if the climate has none near.
    pub fn sky_at_rank(&self, index: usize, rank: f64) -> Option<SkyDay> {
        let day = &self.days[index];
        let last = day.candidates.len().checked_sub(1)?;
        let at = (rank * day.candidates.len() as f64) as usize;
        Some(self.sky(day, usize::from(day.candidates[at.min(last)])))
    }

    /// Returns the sky of the very date of day `index`; none if the climate lacks it.
    pub fn sky_on_date(&self, index: usize, date: u32) -> Option<SkyDay> {
        let days = &self.climate.days;
        let found = days
            .binary_search_by_key(&date, |day| day.day_of_year)
            .ok()?;
        Some(self.sky(&self.days[index], found))
    }

    fn forecast_day(
        &self,
        site: &Site,
        forecast: &Forecast,
        grid: &Grid,
        lead: usize,
        correlation: f64,
        hours: (usize, usize),
    ) -> Option<ForecastDay> {
        let first = lead as i64 * PER_DAY;
        let found: Vec<Option<&Hour>> = (0..24)
            .map(|hour| forecast.find_hour(grid.find_instant(first + 12 * hour + 6)?))
            .collect();
        let factor = |hour: &Hour| {
            let clear = clear_global_over_hour(&site.observer, hour.start);
            sky_of(hour, clear).map(|sky| sky.factor)
        };
        let factors: Vec<Option<f64>> = found.iter().map(|hour| factor((*hour)?)).collect();
        let day = &self.days[lead];
        if day.known_share(&factors, hours) < KNOWN_SHARE {
            return None;
        }
        let nearest = |at: usize, known: &dyn Fn(usize) -> bool| {
            let known = (0..24).filter(|hour| known(*hour));
            known.min_by_key(|hour: &usize| hour.abs_diff(at))
        };
        let of = |at: usize| found[nearest(at, &|hour| found[hour].is_some())?];
        let light = |at: usize| factors[nearest(at, &|hour| factors[hour].is_some())?];
        let sky = SkyDay {
            factor: std::array::from_fn(|hour| light(hour).unwrap_or(1.0) as f32),
            shut: std::array::from_fn(|hour| of(hour).map_or(Shut::default(), |h| self.wind(h))),
        };
        let rain: [f32; 24] =
            std::array::from_fn(|hour| of(hour).map_or(0.0, |h| self.rain_chance(h)));
        let rank = self.rank_of(day, &sky, &rain, hours);
        Some(ForecastDay {
            sky,
            rain,
            rank,
            score: normal_at(rank),
            correlation,
        })
    }

    /// Returns how usable a forecast day is among those of the climate, as a share.
    ///
    /// Those came with rain or without; so does this one, one way or the other, and the
    /// mean of its places counts. Of days that are as usable half count as worse.
    fn rank_of(
        &self,
        day: &SeasonDay,
        sky: &SkyDay,
        rain: &[f32; 24],
        hours: (usize, usize),
    ) -> f64 {
        let usables = day.candidates.iter().map(|index| {
            let other = self.sky(day, usize::from(*index));
            day.usable(&other, hours)
        });
        let usables: Vec<f64> = usables.collect();
        let mut chances: Vec<f32> = rain.to_vec();
        chances.push(1.0);
        chances.sort_by(f32::total_cmp);
        let (mut rank, mut below) = (0.0, 0.0);
        for chance in chances {
            if chance > below {
                let usable = day.usable(&with_rain(sky, rain, below), hours);
                rank += f64::from(chance - below) * share_below(&usables, usable);
                below = chance;
            }
        }
        rank
    }

    fn wind(&self, hour: &Hour) -> Shut {
        let wind = hour.wind_m_s.unwrap_or(0.0);
        let gust = hour.gust_m_s.unwrap_or(wind * self.limits.gust_ratio);
        blown(wind, gust, &self.limits)
    }

    fn rain_chance(&self, hour: &Hour) -> f32 {
        let falls = hour
            .rain_mm
            .is_some_and(|mm| mm >= self.limits.rain_max_mm.max(0.05));
        let unsaid = if falls { 1.0 } else { 0.0 };
        hour.rain_chance.unwrap_or(unsaid) as f32
    }

    /// Measures the correlation of neighbouring days of the climate, each ranked among
    /// the days near it.
    fn measured_persistence(&self, hours: (usize, usize)) -> f64 {
        let Some(today) = self.days.first() else {
            return 0.0;
        };
        let mut ranked: Vec<(f64, u32)> = today
            .candidates
            .iter()
            .map(|index| {
                let sky = self.sky(today, usize::from(*index));
                let date = self.climate.days[usize::from(*index)].day_of_year;
                (today.usable(&sky, hours), date)
            })
            .collect();
        ranked.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.1.cmp(&other.1)));
        let count = ranked.len() as f64;
        let mut scores = [None; YEAR_DAYS as usize];
        for (rank, (_, date)) in ranked.iter().enumerate() {
            scores[*date as usize] = Some(normal_at((rank as f64 + 0.5) / count));
        }
        let next = |date: u32| scores[((date + 1) % YEAR_DAYS) as usize];
        let pairs = (0..YEAR_DAYS).filter_map(|date| Some((scores[date as usize]?, next(date)?)));
        let (mut sum, mut pairs_count) = (0.0, 0.0);
        for (one, other) in pairs {
            sum += one * other;
            pairs_count += 1.0;
        }
        if pairs_count < 10.0 {
            return 0.0;
        }
        (sum / pairs_count).clamp(0.0, 0.9)
    }
}

impl SeasonDay {
    /// Returns the dose of a half hour under a cloud factor. [J/m²]
    pub fn dose(&self, half: usize, factor: f32) -> f32 {
        let at = (factor * 10.0).clamp(0.0, (CLOUDS - 1) as f32);
        let below = (at as usize).min(CLOUDS - 2);
        let part = at - below as f32;
        let table = &self.dose[half];
        table[below] * (1.0 - part) + table[below + 1] * part
    }

    /// Returns the share of the clear light that can be used, a little more where more
    /// light comes through than can be.
    fn usable(&self, sky: &SkyDay, hours: (usize, usize)) -> f64 {
        let (mut clear, mut bright, mut usable) = (1e-6, 0.0, 0.0);
        for half in 2 * hours.0..2 * hours.1 {
            let hour = half / 2;
            let dose = f64::from(self.dose(half, sky.factor[hour]));
            let is_open = !sky.shut[hour].wet && !sky.shut[hour].glass;
            clear += f64::from(self.dose(half, 1.0));
            bright += dose;
            if is_open {
                usable += dose;
            }
        }
        (usable + 0.001 * bright) / clear
    }

    fn known_share(&self, factors: &[Option<f64>], hours: (usize, usize)) -> f64 {
        let weight = |half: usize| f64::from(self.dose(half, 1.0));
        let all: f64 = (2 * hours.0..2 * hours.1).map(weight).sum();
        let known = (2 * hours.0..2 * hours.1).filter(|half| factors[half / 2].is_some());
        known.map(weight).sum::<f64>() / all.max(1e-9)
    }
}

/// Returns the sky with rain in the hours whose chance is above `falls`.
pub fn with_rain(sky: &SkyDay, rain: &[f32; 24], falls: f32) -> SkyDay {
    let mut sky = sky.clone();
    for (shut, chance) in sky.shut.iter_mut().zip(rain) {
        shut.wet = falls < *chance;
    }
    sky
}

/// Returns the share of values below one, half of those that equal it included, as far
/// from 0 and 1 as half a value.
fn share_below(values: &[f64], value: f64) -> f64 {
    let count = values.len().max(1) as f64;
    let below = |other: &f64| match other.total_cmp(&value) {
        std::cmp::Ordering::Less => 1.0,
        std::cmp::Ordering::Equal => 0.5,
        std::cmp::Ordering::Greater => 0.0,
    };
    let below: f64 = values.iter().map(below).sum();
    below.clamp(0.5, (count - 0.5).max(0.5)) / count
}

/// Returns the hours from the earliest begin of work to the latest end.
fn work_hours(studio: &Studio) -> (usize, usize) {
    let hour = |time: chrono::NaiveTime| chrono::Timelike::hour(&time) as usize;
    let from = studio.work.iter().map(|work| hour(work.from)).min();
    let until = studio.work.iter().map(|work| hour(work.until) + 1).max();
    (from.unwrap_or(0), until.unwrap_or(24).min(24))
}

/// Returns the dose of half an hour around `middle` by cloud. [J/m²]
fn doses(site: &Site, middle: DateTime<Utc>, elevation_min_deg: f64) -> [f32; CLOUDS] {
    let (sun, light) = site.clear_light_at(middle);
    if sun.elevation_deg() < elevation_min_deg {
        return [0.0; CLOUDS];
    }
    std::array::from_fn(|cloud| {
        let sky = Sky::with_factor(cloud as f64 / 10.0, CloudMethod::GlobalLight);
        (sky.rate_on(&light, &site.stand).0 * 1800.0) as f32
    })
}

fn blown(wind: f64, gust: f64, limits: &WeatherLimits) -> Shut {
    let windy = wind > limits.wind_max_m_s;
    Shut {
        wet: false,
        glass: windy || gust > limits.gust_max_m_s,
        loose: windy || gust > limits.loose_gust_max_m_s,
    }
}
