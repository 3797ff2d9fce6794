//! Intervals between two entries of a forecast, cut into hours.
//!
//! Services speak of moments (temperature at 14:00) and of spans (rain from 14:00
//! to 20:00). An hour of ours is the mean between two moments and its share of a
//! span: amounts are spread evenly, a chance stays the chance of the whole span.

use chrono::{DateTime, TimeDelta, Utc};

use super::air;
use super::{Hour, Origin};

/// The longest stretch between two entries that counts as one block and not as
/// a gap in the file. [h]
pub const BLOCK_MAX_H: i64 = 12;

/// What a service says of one moment, in our units.
#[derive(Debug, Clone, Copy, Default)]
pub struct Moment {
    /// Air temperature. [°C]
    pub temperature_c: Option<f64>,
    /// Relative humidity. [%]
    pub humidity_pct: Option<f64>,
    /// Dew point. [°C]
    pub dew_point_c: Option<f64>,
    /// Total cloud cover. [%]
    pub cloud_pct: Option<f64>,
    /// Low cloud cover. [%]
    pub cloud_low_pct: Option<f64>,
    /// Middle cloud cover. [%]
    pub cloud_mid_pct: Option<f64>,
    /// High cloud cover. [%]
    pub cloud_high_pct: Option<f64>,
    /// UV index with the forecast sky.
    pub uv_index: Option<f64>,
    /// UV index of the clear sky.
    pub uv_index_clear: Option<f64>,
    /// Mean wind at 10 m. [m/s]
    pub wind_m_s: Option<f64>,
    /// Highest gust around the moment, at 10 m. [m/s]
    pub gust_m_s: Option<f64>,
}

impl Moment {
    /// Returns the humidity, from the dew point where it is not given. [%]
    fn humidity(&self) -> Option<f64> {
        let from_dew_point = || Some(air::humidity_pct(self.temperature_c?, self.dew_point_c?));
        self.humidity_pct.or_else(from_dew_point)
    }
}

/// What a service says of a stretch of time, in our units.
#[derive(Debug, Clone, Copy, Default)]
pub struct Span {
    /// Rain and snow in all of it. [mm]
    pub rain_mm: Option<f64>,
    /// Chance of rain somewhere in it, 0 to 1.
    pub rain_chance: Option<f64>,
    /// Global shortwave, its mean. [W/m²]
    pub global_w_m2: Option<f64>,
    /// Wind, its mean. [m/s]
    pub wind_m_s: Option<f64>,
    /// Highest gust in it. [m/s]
    pub gust_m_s: Option<f64>,
}

/// The time from one entry on, for a whole number of hours.
#[derive(Debug, Clone, Copy)]
pub struct Interval {
    /// The time of the entry.
    pub start: DateTime<Utc>,
    /// How far it reaches; zero makes no hour. [h]
    pub length_h: u32,
    /// The moment at its start.
    pub from: Moment,
    /// The moment at its end; none if the file does not go there.
    pub to: Option<Moment>,
    /// What holds for it or for a longer span that begins with it.
    pub over: Span,
    /// How long `over` is. [h]
    pub over_h: u32,
}

impl Interval {
    /// Cuts the interval into hours, in order.
    pub fn cut(&self) -> impl Iterator<Item = Hour> + '_ {
        (0..self.length_h).map(|index| self.hour(index))
    }

    fn hour(&self, index: u32) -> Hour {
        let alone = self.length_h == 1;
        let along = (f64::from(index) + 0.5) / f64::from(self.length_h);
        let mean = |value: fn(&Moment) -> Option<f64>| {
            between(value(&self.from), self.to.as_ref().and_then(value), along)
        };
        let highest = |value: fn(&Moment) -> Option<f64>| {
            let end = self.to.as_ref().and_then(value);
            value(&self.from).into_iter().chain(end).reduce(f64::max)
        };
        let amount = |sum: Option<f64>| sum.map(|sum| sum / f64::from(self.over_h.max(1)));
        Hour {
            start: self.start + TimeDelta::hours(i64::from(index)),
            temperature_c: mean(|m| m.temperature_c),
            humidity_pct: mean(Moment::humidity),
            cloud_pct: mean(|m| m.cloud_pct),
            cloud_low_pct: mean(|m| m.cloud_low_pct),
            cloud_mid_pct: mean(|m| m.cloud_mid_pct),
            cloud_high_pct: mean(|m| m.cloud_high_pct),
            global_w_m2: self.over.global_w_m2.filter(|_| alone),
            // The UV index follows the sun; a straight line over six hours would not.
            uv_index: mean(|m| m.uv_index).filter(|_| alone),
            uv_index_clear: mean(|m| m.uv_index_clear).filter(|_| alone),
            ozone_du: None,
            rain_mm: amount(self.over.rain_mm),
            rain_chance: self.over.rain_chance,
            wind_m_s: self.over.wind_m_s.or_else(|| mean(|m| m.wind_m_s)),
            gust_m_s: self.over.gust_m_s.or_else(|| highest(|m| m.gust_m_s)),
            from_block: !alone || self.over_h > 1,
            origin: Origin::Forecast,
            light_sigma_ln: None,
        }
    }
}

/// Returns the value `along` (0 to 1) the way between two; the one that there is if one is missing.
fn between(from: Option<f64>, to: Option<f64>, along: f64) -> Option<f64> {
    match (from, to) {
        (Some(from), Some(to)) => Some(from + (to - from) * along),
        (one, other) => one.or(other),
    }
}

/// A row of a file whose spans are those that *end* at the label.
#[derive(Debug, Clone, Copy)]
pub struct LabelledRow {
    /// The label.
    pub at: DateTime<Utc>,
    /// What holds at the label.
    pub moment: Moment,
    /// What holds for the time up to the label.
    pub before: Span,
}

/// Turns rows, ascending by label, into intervals from each label to the next.
///
/// The step of the file is the shortest distance of two labels; a longer one is
/// a gap and makes no interval. Nothing is made of the time before the first
/// label and after the last: one has no moment at its start, the other no span.
pub fn between_labels(rows: &[LabelledRow]) -> Vec<Interval> {
    let step = rows.windows(2).map(|pair| pair[1].at - pair[0].at).min();
    let Some(step) = step.filter(|step| whole_hours(*step) > 0) else {
        return Vec::new();
    };
    rows.windows(2)
        .filter(|pair| pair[1].at - pair[0].at == step)
        .map(|pair| Interval {
            start: pair[0].at,
            length_h: whole_hours(step),
            from: pair[0].moment,
            to: Some(pair[1].moment),
            over: pair[1].before,
            over_h: whole_hours(step),
        })
        .collect()
}

/// Returns the length in hours if it is a whole number up to [`BLOCK_MAX_H`], else 0. [h]
pub fn whole_hours(length: TimeDelta) -> u32 {
    let hours = length.num_hours();
    let fits = (1..=BLOCK_MAX_H).contains(&hours) && TimeDelta::hours(hours) == length;
    if fits { hours as u32 } else { 0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(hour: i64) -> DateTime<Utc> {
        DateTime::from_timestamp(hour * 3600, 0).unwrap()
    }

    fn block() -> Interval {
        let moment = |temperature_c, gust_m_s| Moment {
            temperature_c: Some(temperature_c),
            uv_index_clear: Some(3.0),
            gust_m_s: Some(gust_m_s),
            ..Moment::default()
        };
        Interval {
            start: at(12),
            length_h: 6,
            from: moment(10.0, 9.0),
            to: Some(moment(16.0, 4.0)),
            over: Span {
                rain_mm: Some(3.0),
                rain_chance: Some(0.4),
                ..Span::default()
            },
            over_h: 6,
        }
    }

    #[test]
    fn a_block_keeps_its_rain_and_its_chance() {
        let hours: Vec<Hour> = block().cut().collect();
        assert_eq!(hours.len(), 6);
        let sum: f64 = hours.iter().filter_map(|h| h.rain_mm).sum();
        assert!((sum - 3.0).abs() < 1e-12);
        assert!(hours.iter().all(|h| h.rain_chance == Some(0.4)));
        assert!(hours.iter().all(|h| h.from_block));
    }

    #[test]
    fn temperature_rises_evenly_through_a_block_and_uv_is_not_invented() {
        let hours: Vec<Hour> = block().cut().collect();
        // 10 °C to 16 °C in 6 h: 10.5 in the middle of the first hour, 15.5 of the last.
        assert!((hours[0].temperature_c.unwrap() - 10.5).abs() < 1e-12);
        assert!((hours[5].temperature_c.unwrap() - 15.5).abs() < 1e-12);
        assert_eq!(hours[2].uv_index_clear, None);
        assert_eq!(hours[5].gust_m_s, Some(9.0));
    }

    #[test]
    fn humidity_comes_from_the_dew_point_at_each_end() {
        let moment = |temperature_c: f64| Moment {
            temperature_c: Some(temperature_c),
            dew_point_c: Some(10.0),
            ..Moment::default()
        };
        let interval = Interval {
            length_h: 1,
            over_h: 1,
            from: moment(10.0),
            to: Some(moment(20.0)),
            ..block()
        };
        let humidity = interval.cut().next().unwrap().humidity_pct.unwrap();
        let expected = (100.0 + air::humidity_pct(20.0, 10.0)) / 2.0;
        assert!((humidity - expected).abs() < 1e-12);
    }

    #[test]
    fn a_missing_label_is_a_gap_and_not_a_long_hour() {
        let row = |hour| LabelledRow {
            at: at(hour),
            moment: Moment::default(),
            before: Span::default(),
        };
        let intervals = between_labels(&[row(0), row(1), row(2), row(5), row(6)]);
        let starts: Vec<_> = intervals.iter().map(|i| (i.start, i.length_h)).collect();
        assert_eq!(starts, [(at(0), 1), (at(1), 1), (at(5), 1)]);
    }

    #[test]
    fn steps_that_are_no_whole_hours_make_none() {
        assert_eq!(whole_hours(TimeDelta::minutes(15)), 0);
        assert_eq!(whole_hours(TimeDelta::minutes(90)), 0);
        assert_eq!(whole_hours(TimeDelta::hours(13)), 0);
        assert_eq!(whole_hours(TimeDelta::hours(-1)), 0);
        assert_eq!(whole_hours(TimeDelta::hours(6)), 6);
    }
}
