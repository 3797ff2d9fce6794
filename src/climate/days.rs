//! Whole days as a place has them, for drawing weathers.
//!
//! A day keeps its hours together: a dull morning stays before its bright afternoon,
//! a wind that rises stays with the cloud that it brought. Light is kept as what
//! cloud leaves of it, so that a day of May can stand in for one of June. Which day
//! follows which is drawn elsewhere.

use chrono::{DateTime, Datelike, NaiveDate, TimeDelta, Timelike, Utc};
use rand::rngs::SmallRng;
use rand::{Rng, SeedableRng};
use rand_distr::StandardNormal;

use super::read::TypicalYear;
use super::usual::rough_share;
use crate::forecast::{Forecast, Hour};
use crate::light::sun::Observer;
use crate::light::{clear_global_over_hour, factor_from_global, sky_of};

/// Days of a year without a leap day.
pub const YEAR_DAYS: u32 = 365;

/// With a clear sky weaker than this the share of it says nothing. [W/m², own choice]
const CLEAR_LEAST: f64 = 50.0;

/// Wind where nothing is known of it; as in the rough climate. [m/s, own assumption]
const WIND_UNSAID: f64 = 3.5;

/// Rain falls in this many times as many dull hours as it has hours at all.
/// [own assumption]
const DULL_FOR_WET: f64 = 2.0;

/// One day, by hours of standard time.
#[derive(Debug, Clone, PartialEq)]
pub struct WholeDay {
    /// Its place in a year without a leap day, from 0.
    pub day_of_year: u32,
    /// What cloud leaves of the light that prints.
    pub factor: [f32; 24],
    /// Mean wind at 10 m. [m/s]
    pub wind_m_s: [f32; 24],
    /// Whether it rains.
    pub wet: [bool; 24],
}

/// The days of a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Days {
    /// Where they come from, in words for a line.
    pub origin: String,
    /// Made up by latitude, not taken from the place.
    pub is_rough: bool,
    /// Standard time less UTC.
    pub offset: TimeDelta,
    /// Ascending by day of the year; days may be missing.
    pub days: Vec<WholeDay>,
}

impl Days {
    /// Takes whole days out of a typical year, for the days of the year that are wanted.
    ///
    /// Such files' rain is not dependable: the share `wet_share` of the hours is made
    /// wet, at random among the dullest. Days without any light in the file are left
    /// out.
    pub fn of_year(year: &TypicalYear, wet_share: f64, wanted: impl Fn(u32) -> bool) -> Days {
        let observer = Observer::new(year.latitude_deg, year.longitude_deg, year.altitude_m);
        let mut drafts: Vec<Draft> = Vec::new();
        for row in &year.rows {
            let Some(start) = year.start(row) else {
                continue;
            };
            let local = start.naive_utc() + year.offset();
            let day = local.ordinal0();
            if !wanted(day) {
                continue;
            }
            let here = draft_of(&mut drafts, day);
            let clear = clear_global_over_hour(&observer, start);
            here.wind[row.hour as usize] = row.wind_m_s;
            if clear >= CLEAR_LEAST {
                let light = row.global_w_m2;
                here.factor[row.hour as usize] = light.map(|w_m2| factor_from_global(w_m2, clear));
            }
        }
        let mut days: Vec<WholeDay> = drafts.iter().filter_map(Draft::whole).collect();
        days.sort_by_key(|day| day.day_of_year);
        wet_the_dull(&mut days, wet_share);
        Days {
            origin: format!("the typical year of {}", year.name),
            is_rough: false,
            offset: year.offset(),
            days,
        }
    }

    /// Takes whole days out of measured hours, such as a past year in the form of a
    /// forecast; rain is as measured where it was.
    pub fn of_hours(
        measured: &Forecast,
        observer: &Observer,
        offset: TimeDelta,
        wet_share: f64,
    ) -> Days {
        let mut drafts: Vec<Draft> = Vec::new();
        for hour in &measured.hours {
            let local = hour.start.naive_utc() + offset;
            let here = draft_of(&mut drafts, day_of_year(local.date()));
            here.take(hour, observer, local.hour() as usize);
        }
        let mut days: Vec<WholeDay> = drafts.iter().filter_map(Draft::whole).collect();
        days.sort_by_key(|day| day.day_of_year);
        if !drafts.iter().any(|draft| draft.knows_rain) {
            wet_the_dull(&mut days, wet_share);
        }
        Days {
            origin: "measured hours".to_owned(),
            is_rough: false,
            offset,
            days,
        }
    }

    /// Makes up days by latitude, when nothing better is known. [°]
    ///
    /// Middle light as in the rough climate, its logarithm spread by 0.6 between days
    /// and 0.25 between hours; a day is like the one before with a correlation of
    /// 0.4; wind 3.5 m/s, spread by 0.4. All of it rough, own assumption.
    pub fn by_latitude(latitude_deg: f64, longitude_deg: f64, wet_share: f64) -> Days {
        let mut rng = SmallRng::seed_from_u64(365);
        let mut normal = || -> f64 { rng.sample(StandardNormal) };
        let (mut light, mut wind) = (0.0, 0.0);
        let mut days: Vec<WholeDay> = (0..YEAR_DAYS)
            .map(|day_of_year| {
                light = 0.4 * light + 0.917 * normal();
                wind = 0.4 * wind + 0.917 * normal();
                let month = date_of(day_of_year).month();
                let middle = rough_share(latitude_deg, month);
                let mut factor = [0.0; 24];
                let mut wind_m_s = [0.0; 24];
                for hour in 0..24 {
                    let spread = 0.6 * light + 0.25 * normal();
                    let share = (middle * f64::exp(spread)).clamp(0.03, 1.0);
                    factor[hour] = factor_from_global(share, 1.0) as f32;
                    let gusty = 0.4 * wind + 0.2 * normal();
                    wind_m_s[hour] = (WIND_UNSAID * f64::exp(gusty)) as f32;
                }
                WholeDay {
                    day_of_year,
                    factor,
                    wind_m_s,
                    wet: [false; 24],
                }
            })
            .collect();
        wet_the_dull(&mut days, wet_share);
        Days {
            origin: "a rough climate by latitude".to_owned(),
            is_rough: true,
            offset: TimeDelta::minutes((longitude_deg * 4.0).round() as i64),
            days,
        }
    }

    /// Returns the days without those from `first` on, `count` of them, over the turn
    /// of the year if need be; for tests that must not see what they are asked.
    pub fn without(&self, first: u32, count: u32) -> Days {
        let is_left_out = |day: &WholeDay| {
            let after = (day.day_of_year + YEAR_DAYS - first % YEAR_DAYS) % YEAR_DAYS;
            after < count
        };
        let days = self.days.iter().filter(|day| !is_left_out(day));
        Days {
            days: days.cloned().collect(),
            ..self.clone()
        }
    }

    /// Returns the hour of standard time that `at` lies in.
    pub fn hour_of(&self, at: DateTime<Utc>) -> usize {
        (at.naive_utc() + self.offset).hour() as usize
    }
}

/// Returns a date's place in a year without a leap day, from 0; 29 February counts as
/// the day after it.
pub fn day_of_year(date: NaiveDate) -> u32 {
    let leap = date.leap_year() && date.ordinal0() >= 60;
    (date.ordinal0() - u32::from(leap)).min(YEAR_DAYS - 1)
}

/// Returns the days between two places in the year, the shorter way round.
pub fn days_apart(one: u32, other: u32) -> u32 {
    let apart = one.abs_diff(other);
    apart.min(YEAR_DAYS - apart)
}

fn date_of(day_of_year: u32) -> NaiveDate {
    NaiveDate::from_yo_opt(2025, day_of_year + 1).expect("a year has 365 days")
}

/// A day while it is read.
#[derive(Debug, Clone)]
struct Draft {
    day_of_year: u32,
    factor: [Option<f64>; 24],
    wind: [Option<f64>; 24],
    wet: [bool; 24],
    knows_rain: bool,
}

fn draft_of(drafts: &mut Vec<Draft>, day_of_year: u32) -> &mut Draft {
    // Hours of a day come together, so the last one is the first to ask.
    let found = drafts.iter().rposition(|d| d.day_of_year == day_of_year);
    let index = found.unwrap_or_else(|| {
        drafts.push(Draft {
            day_of_year,
            factor: [None; 24],
            wind: [None; 24],
            wet: [false; 24],
            knows_rain: false,
        });
        drafts.len() - 1
    });
    &mut drafts[index]
}

impl Draft {
    fn take(&mut self, hour: &Hour, observer: &Observer, at: usize) {
        let clear = clear_global_over_hour(observer, hour.start);
        if clear >= CLEAR_LEAST {
            self.factor[at] = sky_of(hour, clear).map(|sky| sky.factor);
        }
        self.wind[at] = hour.wind_m_s;
        self.wet[at] = hour.rain_mm.is_some_and(|mm| mm >= 0.1);
        self.knows_rain |= hour.rain_mm.is_some_and(|mm| mm > 0.0);
    }

    /// Fills what is missing from the nearest hour; none without light at all.
    fn whole(&self) -> Option<WholeDay> {
        let factor = filled(&self.factor)?;
        let wind = filled(&self.wind).unwrap_or([WIND_UNSAID; 24]);
        Some(WholeDay {
            day_of_year: self.day_of_year,
            factor: factor.map(|value| value as f32),
            wind_m_s: wind.map(|value| value as f32),
            wet: self.wet,
        })
    }
}

fn filled(hours: &[Option<f64>; 24]) -> Option<[f64; 24]> {
    let mut out = [0.0; 24];
    for (at, value) in out.iter_mut().enumerate() {
        let known = (0..24).filter(|hour| hours[*hour].is_some());
        let nearest = known.min_by_key(|hour| hour.abs_diff(at))?;
        *value = hours[nearest]?;
    }
    Some(out)
}

/// Makes a share of the hours wet: at random among the dullest, two in a row.
fn wet_the_dull(days: &mut [WholeDay], wet_share: f64) {
    let mut factors: Vec<f32> = days.iter().flat_map(|day| day.factor).collect();
    if factors.is_empty() || wet_share <= 0.0 {
        return;
    }
    factors.sort_by(f32::total_cmp);
    let dull = (wet_share * DULL_FOR_WET).min(1.0);
    let limit = factors[((factors.len() - 1) as f64 * dull) as usize];
    let chance = (wet_share / dull).min(1.0);
    let mut rng = SmallRng::seed_from_u64(24);
    for day in days {
        for pair in 0..12 {
            let falls = rng.random_bool(chance);
            for hour in [2 * pair, 2 * pair + 1] {
                day.wet[hour] = falls && day.factor[hour] <= limit;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_leap_day_moves_no_other_day() {
        let of = |text: &str| day_of_year(text.parse().unwrap());
        assert_eq!((of("2025-02-28"), of("2025-03-01")), (58, 59));
        assert_eq!((of("2028-02-29"), of("2028-03-01")), (59, 59));
        assert_eq!((of("2028-12-31"), of("2027-12-31")), (364, 364));
        assert_eq!((days_apart(2, 363), days_apart(100, 90)), (4, 10));
    }

    #[test]
    fn rough_days_are_wet_as_often_as_asked_and_dull_then() {
        let days = Days::by_latitude(52.0, 5.0, 0.1).days;
        assert_eq!(days.len(), 365);
        let hours = days.iter().flat_map(|day| day.wet.iter().zip(day.factor));
        let wet: Vec<f32> = hours.filter(|(wet, _)| **wet).map(|(_, f)| f).collect();
        let share = wet.len() as f64 / (365.0 * 24.0);
        assert!((0.08..0.12).contains(&share), "{share}");
        assert!(wet.iter().all(|factor| *factor < 0.6));
    }

    #[test]
    fn days_left_out_are_gone_over_the_turn_of_the_year() {
        let days = Days::by_latitude(52.0, 5.0, 0.1).without(360, 10);
        let left: Vec<u32> = days.days.iter().map(|day| day.day_of_year).collect();
        assert_eq!((left[0], left[left.len() - 1], left.len()), (5, 359, 355));
    }
}
