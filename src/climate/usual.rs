//! What is usual at an hour of a month: the middle of its days, and their spread.
//!
//! Light is kept as the share of the clear sky that comes through, so that days
//! early and late in a month are alike and a neighbour's file can be used.

use chrono::{DateTime, Datelike, TimeDelta, Timelike, Utc};

use super::read::TypicalYear;
use crate::light::clear_global_over_hour;
use crate::light::sun::Observer;

/// With a clear sky weaker than this the share of it says nothing. [W/m², own choice]
const CLEAR_LEAST: f64 = 50.0;

/// Limits of the spread of light between days, as its logarithm. [own choice]
const SIGMA: (f64, f64) = (0.2, 1.2);

/// The usual weather of an hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UsualHour {
    /// Share of the clear sky's global light: half of the days have more.
    pub clear_share: f64,
    /// Standard deviation of the logarithm of light between days.
    pub sigma_ln: f64,
    /// Middle air temperature. [°C]
    pub temperature_c: Option<f64>,
    /// Middle relative humidity. [%]
    pub humidity_pct: Option<f64>,
    /// Middle wind at 10 m: half of the days have more. [m/s]
    pub wind_m_s: Option<f64>,
}

/// The usual weather of a place, by month and hour of standard time.
#[derive(Debug, Clone, PartialEq)]
pub struct Usual {
    /// Where it comes from, in words for a line: "the typical year of Chicago".
    pub origin: String,
    offset: TimeDelta,
    /// By month and hour; none where a file says nothing of light there.
    hours: Vec<Option<UsualHour>>,
}

impl Usual {
    /// Takes the usual weather out of a typical year, for the months that are asked.
    ///
    /// Other months stay empty; the sun is placed for every row that counts.
    pub fn of_year(year: &TypicalYear, months: &[u32]) -> Usual {
        let observer = Observer::new(year.latitude_deg, year.longitude_deg, year.altitude_m);
        let mut samples: Vec<Samples> = vec![Samples::default(); 12 * 24];
        for row in year.rows.iter().filter(|row| months.contains(&row.month)) {
            let here = &mut samples[slot(row.month, row.hour)];
            here.temperature_c.extend(row.temperature_c);
            here.humidity_pct.extend(row.humidity_pct);
            here.wind_m_s.extend(row.wind_m_s);
            let Some((start, global)) = year.start(row).zip(row.global_w_m2) else {
                continue;
            };
            let clear = clear_global_over_hour(&observer, start);
            if clear >= CLEAR_LEAST {
                here.clear_share.push((global / clear).clamp(0.01, 1.1));
            }
        }
        Usual {
            origin: format!("the typical year of {}", year.name),
            offset: year.offset(),
            hours: samples.into_iter().map(Samples::middle).collect(),
        }
    }

    /// Takes what is roughly usual at a latitude, when nothing better is known. [°]
    ///
    /// Light: half of the clear sky's in winter and 0.7 in summer at 50°, more
    /// towards the tropics. Spread 0.6, wind 3.5 m/s, neither warmth nor damp.
    /// All of it rough, own assumption, fit only for a first idea of dates.
    pub fn by_latitude(latitude_deg: f64, longitude_deg: f64) -> Usual {
        let hour = |month: u32| UsualHour {
            clear_share: rough_share(latitude_deg, month),
            sigma_ln: 0.6,
            temperature_c: None,
            humidity_pct: None,
            wind_m_s: Some(3.5),
        };
        let months = (1..=12).flat_map(|month| std::iter::repeat_n(Some(hour(month)), 24));
        Usual {
            origin: "a rough climate by latitude".to_owned(),
            offset: TimeDelta::minutes((longitude_deg * 4.0).round() as i64),
            hours: months.collect(),
        }
    }

    /// Finds what is usual in the hour that `at` lies in; none without light.
    pub fn find(&self, at: DateTime<Utc>) -> Option<&UsualHour> {
        let local = at.naive_utc() + self.offset;
        self.hours[slot(local.month(), local.hour())].as_ref()
    }
}

fn slot(month: u32, hour: u32) -> usize {
    (month as usize - 1) * 24 + hour as usize
}

/// Share of the clear sky's light by latitude and month. [own assumption]
pub(super) fn rough_share(latitude_deg: f64, month: u32) -> f64 {
    let distance = latitude_deg.abs();
    let year = match distance {
        d if d < 20.0 => 0.75,
        d if d < 35.0 => 0.80,
        d => (0.80 - 0.013 * (d - 35.0)).max(0.45),
    };
    // Cloud of the cold season: strongest in the middle latitudes.
    let swing = (distance / 50.0).min(1.0) * 0.10;
    let turn = (f64::from(month) - 6.5) / 6.0 * std::f64::consts::PI;
    let summer = if latitude_deg < 0.0 {
        -turn.cos()
    } else {
        turn.cos()
    };
    year + swing * summer
}

/// What the days of a month say of one hour.
#[derive(Debug, Clone, Default)]
struct Samples {
    clear_share: Vec<f64>,
    temperature_c: Vec<f64>,
    humidity_pct: Vec<f64>,
    wind_m_s: Vec<f64>,
}

impl Samples {
    fn middle(mut self) -> Option<UsualHour> {
        let share = quantile(&mut self.clear_share, 0.5)?;
        // One standard deviation below the middle of a normal lie 15.9 %.
        let dull = quantile(&mut self.clear_share, 0.159)?;
        Some(UsualHour {
            clear_share: share,
            sigma_ln: (share / dull).ln().clamp(SIGMA.0, SIGMA.1),
            temperature_c: quantile(&mut self.temperature_c, 0.5),
            humidity_pct: quantile(&mut self.humidity_pct, 0.5),
            wind_m_s: quantile(&mut self.wind_m_s, 0.5),
        })
    }
}

/// Returns the value below which a share of the values lies, linear between two.
fn quantile(values: &mut [f64], share: f64) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let at = share * values.len().checked_sub(1)? as f64;
    let (low, high) = (values[at.floor() as usize], values[at.ceil() as usize]);
    Some(low + (high - low) * at.fract())
}
