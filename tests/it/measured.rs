//! The light model beside measured light of other people.
//!
//! Their data stay where they are: the tests read a folder named by the environment
//! variable `FAIRDAY_WEATHER`, and say by name that they were skipped without it.
//!
//! Only the shape over a day counts, because the level cancels against the studio's own
//! strips: each clear day is scaled so that its light from a sun of 15° and more is the
//! same as ours. What is asserted is the mean of measured over modelled light in steps
//! of 5° of sun elevation; that is also the error of minutes between these elevations.

mod clear;
mod cloud;

use std::collections::BTreeMap;
use std::path::PathBuf;

use chrono::{DateTime, NaiveDate, NaiveDateTime, NaiveTime, Utc};
use fairday::light::bands::{BAND_COUNT, WAVELENGTH_NM};
use fairday::light::spectrum::{Air, Facing, PrintingLight, printing_light};
use fairday::light::sun::Observer;
use fairday::light::{Sensitivity, atmosphere};

/// Opens a file of the folder, or says that the test was skipped.
#[expect(clippy::print_stderr, reason = "a skipped test must say so")]
fn read(test: &str, name: &str) -> Option<Vec<String>> {
    let Ok(folder) = std::env::var("FAIRDAY_WEATHER") else {
        eprintln!("skipped: {test}, FAIRDAY_WEATHER is not set");
        return None;
    };
    let path = PathBuf::from(folder).join("measured").join(name);
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path:?}: {error}"));
    Some(text.lines().skip(1).map(str::to_owned).collect())
}

#[expect(clippy::print_stderr, reason = "figures of a test run are for people")]
fn report(text: &str) {
    eprintln!("{text}");
}

/// A field of a line; none if it is empty, as where an instrument failed.
fn number(line: &str, column: usize) -> Option<f64> {
    let field = line.split(',').nth(column).expect(line);
    (!field.is_empty()).then(|| field.parse().expect(line))
}

fn naive(line: &str, format: &str) -> NaiveDateTime {
    let field = line.split(',').next().expect(line);
    NaiveDateTime::parse_from_str(field, format).expect(line)
}

/// Clear light on the horizontal with usual ozone.
fn clear_light(
    observer: &Observer,
    at: DateTime<Utc>,
    ground: (f64, f64),
    sensitivity: &Sensitivity,
) -> PrintingLight {
    let zenith_deg = observer.sun_at(at).zenith_deg;
    let day_of_year = atmosphere::solar_day_of_year(at, observer.longitude_deg());
    let (latitude, longitude) = (observer.latitude_deg(), observer.longitude_deg());
    let (aerosol, albedo) = ground;
    let air = Air {
        pressure_pa: observer.pressure_pa(),
        ozone_du: atmosphere::usual_ozone_du(latitude, longitude, day_of_year),
        aerosol,
        albedo,
        day_of_year,
    };
    let flat = Facing {
        tilt_deg: 0.0,
        incidence_deg: zenith_deg,
    };
    printing_light(zenith_deg, flat, &air, sensitivity)
}

/// Even weights between two wavelengths. [nm]
fn even(from_nm: f64, to_nm: f64) -> Sensitivity {
    let inside = |nm: f64| f64::from(u8::from((from_nm..=to_nm).contains(&nm)));
    Sensitivity(std::array::from_fn::<_, BAND_COUNT, _>(|band| {
        inside(WAVELENGTH_NM[band])
    }))
}

/// A measured moment beside the model.
#[derive(Debug, Clone, Copy)]
struct Beside {
    elevation_deg: f64,
    measured: f64,
    modelled: f64,
}

/// Measured over modelled light by sun elevation, each day scaled by itself.
#[derive(Default)]
struct Shape {
    /// By the lower edge of a step of 5°. [°]
    ratios: BTreeMap<i64, Vec<f64>>,
    scales: Vec<f64>,
}

impl Shape {
    fn see_day(&mut self, day: &[Beside]) {
        let high = || day.iter().filter(|moment| moment.elevation_deg >= 15.0);
        let measured: f64 = high().map(|moment| moment.measured).sum();
        let modelled: f64 = high().map(|moment| moment.modelled).sum();
        let scale = measured / modelled;
        assert!(
            scale.is_finite() && scale > 0.0,
            "a day without sun: {scale}"
        );
        self.scales.push(scale);
        for moment in day.iter().filter(|moment| moment.elevation_deg >= 5.0) {
            let step = (moment.elevation_deg / 5.0).floor() as i64 * 5;
            let ratio = moment.measured / moment.modelled / scale;
            self.ratios.entry(step).or_default().push(ratio);
        }
    }

    /// Asserts that the mean ratio of each step lies within `allowed` of one.
    fn within(&self, what: &str, allowed: impl Fn(i64) -> f64) {
        let scale = mean(&self.scales);
        report(&format!(
            "{what}: {} days, level {scale:.3}",
            self.scales.len()
        ));
        for (step, ratios) in &self.ratios {
            let (mean, spread) = (mean(ratios), spread(ratios));
            let count = ratios.len();
            report(&format!(
                "{what}: from {step}°, {count} values, {mean:.3} ± {spread:.3}"
            ));
            let off = (mean - 1.0).abs();
            assert!(off <= allowed(*step), "{what} from {step}°: {mean:.3}");
        }
    }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn spread(values: &[f64]) -> f64 {
    let mean = mean(values);
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    (squares / values.len() as f64).sqrt()
}

fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// One day of Golden, Colorado, 1,790 m, snow on the ground, in five minutes: global light
/// and UV-A where both are known.
fn golden(lines: &[String], date: &str) -> BTreeMap<NaiveTime, (f64, f64)> {
    let date: NaiveDate = date.parse().expect(date);
    let moments = lines.iter().filter_map(|line| {
        let local = naive(line, "%m/%d/%Y %H:%M");
        let values = (number(line, 5)?, number(line, 9)?);
        (local.date() == date).then_some((local.time(), values))
    });
    moments.collect()
}

const GOLDEN: &str = "golden_co_5min_2022-01-01_uva_uvb_ghi.csv";

/// UV-A by the hour in Helsinki, computed by others with radiative transfer from observed
/// skies: a clear day, 24 June 2010, and a dull one, two days before.
fn helsinki_hours(test: &str) -> Option<BTreeMap<DateTime<Utc>, (f64, f64)>> {
    let lines = read(test, "helsinki_modelled_uva_hourly_2010-06_2014-08.csv")?;
    let hours = lines.iter().map(|line| {
        let at = naive(line, "%Y-%m-%dT%H:%MZ").and_utc();
        let field = |column| number(line, column).expect(line);
        (at, (field(2), field(4)))
    });
    Some(hours.collect())
}

fn helsinki_observer() -> Observer {
    Observer::new(60.23, 25.02, 20.0)
}
