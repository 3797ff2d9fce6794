//! The light model beside measured light of other people.
//!
//! Their data stay where they are: the tests read a folder named by the environment
//! variable `FAIRDAY_WEATHER`, and say by name that they were skipped without it.
//!
//! Only the shape over a day counts, because the level cancels against the studio's own
//! strips: each clear day is scaled so that its light from a sun of 15° and more is the
//! same as ours. What is asserted is the mean of measured over modelled light in steps
//! of 5° of sun elevation; that is also the error of minutes between these elevations.

use std::collections::BTreeMap;
use std::path::PathBuf;

use chrono::{DateTime, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, Utc};
use fairday::light::bands::{BAND_COUNT, WAVELENGTH_NM};
use fairday::light::cloud::{CloudMethod, Sky, factor_from_global};
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

/// UV at 340 nm on 28 clear days at 3,314 m, 12° S, a filter radiometer.
///
/// Allowed: 5 % from 15°, 6 % from 10°, 10 % below. The model agrees with radiative
/// transfer to some 6 % over these elevations; haze differs from day to day (a spread of
/// 6 %, of which the mean over 28 days keeps about 1 %).
#[test]
fn uv_on_clear_days_in_the_andes_has_our_shape() {
    let name = "huancayo_uv340_clear_10min_2018-2019.csv";
    let Some(lines) = read("uv_on_clear_days_in_the_andes_has_our_shape", name) else {
        return;
    };
    let observer = Observer::new(-12.04, -75.30, 3314.0);
    let narrow = even(340.0, 340.0);
    let mut days: BTreeMap<NaiveDate, Vec<Beside>> = BTreeMap::new();
    for line in &lines {
        let local = naive(line, "%Y-%m-%dT%H:%M");
        let at = local.and_utc() + TimeDelta::hours(5);
        let elevation_deg = observer.sun_at(at).elevation_deg();
        // Their own zenith angle has no refraction in it, which is under 0.09° from 10° on.
        let theirs = 90.0 - number(line, 2).expect(line);
        assert!(
            theirs < 10.0 || (elevation_deg - theirs).abs() < 0.12,
            "{line}"
        );
        days.entry(local.date()).or_default().push(Beside {
            elevation_deg,
            measured: number(line, 1).expect(line),
            // The weighted band is a triangle with a foot of 10 nm.
            modelled: clear_light(&observer, at, (0.15, 0.05), &narrow).horizontal() / 5.0,
        });
    }
    assert_eq!(days.len(), 28);
    let mut shape = Shape::default();
    days.values().for_each(|day| shape.see_day(day));
    shape.within("340 nm, Huancayo", |step| match step {
        15.. => 0.05,
        10 => 0.06,
        _ => 0.10,
    });
}

/// UV-A of a clear-sky table computed by radiative transfer (TUV), sea level.
///
/// Allowed: 8 % in level and shape for a sun of 10° and more, at the model's own 0.15 of
/// haze; diffuse share within 0.04. The table's haze is not stated more closely, and 0.05
/// of optical depth more or less is another 2 % at noon and 5 % at 20°.
#[test]
fn uv_a_agrees_with_radiative_transfer() {
    let name = "tuv_clear_sky_uva_by_zenith.csv";
    let Some(lines) = read("uv_a_agrees_with_radiative_transfer", name) else {
        return;
    };
    let uv_a = even(320.0, 400.0);
    let mut seen = 0;
    for line in &lines {
        let field = |column| number(line, column).expect(line);
        let (zenith, beam, sky) = (field(0), field(3), field(4));
        if zenith > 80.0 {
            continue;
        }
        let air = Air {
            pressure_pa: 101_325.0,
            ozone_du: 300.0,
            aerosol: 0.15,
            albedo: 0.10,
            day_of_year: 93,
        };
        let flat = Facing {
            tilt_deg: 0.0,
            incidence_deg: zenith,
        };
        let ours = printing_light(zenith, flat, &air, &uv_a);
        let ratio = ours.horizontal() / (beam + sky);
        let share = ours.sky_horizontal / ours.horizontal();
        let their_share = sky / (beam + sky);
        report(&format!(
            "UV-A, TUV: zenith {zenith}°, ours over theirs {ratio:.3}, diffuse {share:.3} for {their_share:.3}"
        ));
        assert!((ratio - 1.0).abs() < 0.08, "{line}: {ratio}");
        assert!((share - their_share).abs() < 0.04, "{line}: {share}");
        seen += 1;
    }
    assert_eq!(seen, 22);
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

fn golden_observer() -> Observer {
    Observer::new(39.74, -105.18, 1790.0)
}

fn golden_at(time: NaiveTime) -> DateTime<Utc> {
    let date = NaiveDate::from_ymd_opt(2022, 1, 2).expect("a date");
    date.and_time(time).and_utc() + TimeDelta::hours(7)
}

/// A winter day, clear all day; the channel's level is known to be half too high.
///
/// Allowed: 5 % from 20°, 12 % from 15°, 25 % from 10°, 40 % below. Most of it is the
/// channel: between 20° and 10° it falls a fifth faster than the table of radiative
/// transfer, with which the model agrees to 7 %, and faster than the global light beside
/// it, as an instrument does that takes slanting light badly.
#[test]
fn uv_a_on_a_clear_winter_day_has_our_shape() {
    let Some(lines) = read("uv_a_on_a_clear_winter_day_has_our_shape", GOLDEN) else {
        return;
    };
    let (observer, uv_a) = (golden_observer(), even(320.0, 400.0));
    let day: Vec<Beside> = golden(&lines, "2022-01-02")
        .iter()
        .map(|(time, (_, measured))| Beside {
            elevation_deg: observer.sun_at(golden_at(*time)).elevation_deg(),
            measured: *measured,
            modelled: clear_light(&observer, golden_at(*time), (0.05, 0.6), &uv_a).horizontal(),
        })
        .collect();
    let mut shape = Shape::default();
    shape.see_day(&day);
    shape.within("UV-A, Golden", |step| match step {
        20.. => 0.05,
        15 => 0.12,
        10 => 0.25,
        _ => 0.40,
    });
}

/// Global light of two clear days beside our yardstick for it.
///
/// Allowed: 8 % from 15°, 12 % below: the formula is 2 % low to 12 % high against better
/// ones. The level is the altitude's and the snow's: 1.15 at 1,790 m, 0.99 at the sea.
#[test]
fn global_light_on_clear_days_has_the_shape_of_the_yardstick() {
    let test = "global_light_on_clear_days_has_the_shape_of_the_yardstick";
    let Some(golden_lines) = read(test, GOLDEN) else {
        return;
    };
    let observer = golden_observer();
    let mountain: Vec<Beside> = golden(&golden_lines, "2022-01-02")
        .iter()
        .map(|(time, (global, _))| global_beside(&observer, golden_at(*time), *global))
        .collect();
    let sea: Vec<Beside> = clear_day_at_helsinki(test)
        .iter()
        .map(|(at, global)| global_beside(&helsinki_observer(), *at, *global))
        .collect();
    for (what, day) in [("global, Golden", mountain), ("global, Helsinki", sea)] {
        let mut shape = Shape::default();
        shape.see_day(&day);
        shape.within(what, |step| if step >= 15 { 0.08 } else { 0.12 });
        check_counts_as_clear(what, &day);
    }
}

/// What a clear forecast hour must be for us, with the sun at 20° and more.
fn check_counts_as_clear(what: &str, day: &[Beside]) {
    let high = day.iter().filter(|moment| moment.elevation_deg >= 20.0);
    let factors: Vec<f64> = high
        .map(|moment| factor_from_global(moment.measured, moment.modelled))
        .collect();
    let clear = factors
        .iter()
        .filter(|factor| Sky::with_factor(**factor, CloudMethod::GlobalLight).is_clear());
    let (clear, all) = (clear.count(), factors.len());
    report(&format!(
        "{what}: {clear} of {all} moments count as clear, factor {:.3}",
        mean(&factors)
    ));
    // Two single minutes of the Finnish day have a cloud before the sun.
    assert!(clear + 5 >= all, "{what}: {clear} of {all}");
}

fn global_beside(observer: &Observer, at: DateTime<Utc>, measured: f64) -> Beside {
    let sun = observer.sun_at(at);
    Beside {
        elevation_deg: sun.elevation_deg(),
        measured,
        modelled: atmosphere::clear_global_w_m2(sun.zenith_deg),
    }
}

fn helsinki_observer() -> Observer {
    Observer::new(60.23, 25.02, 20.0)
}

/// 23 August 2015 by the minute, from a sun of 8° on: before, trees stand in its way.
fn clear_day_at_helsinki(test: &str) -> Vec<(DateTime<Utc>, f64)> {
    let lines = read(test, "helsinki_1min_2015_ghi_par_4days.csv").unwrap_or_default();
    let moments = lines.iter().filter_map(|line| {
        let at = naive(line, "%Y-%m-%dT%H:%M").and_utc() - TimeDelta::hours(3);
        let high = helsinki_observer().sun_at(at).elevation_deg() >= 8.0;
        let wanted = high && line.starts_with("2015-08-23");
        wanted.then(|| number(line, 1).map(|global| (at, global)))?
    });
    moments.collect()
}

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

/// Allowed: 6 % from 15°, which is what the model claims for its shape, and 8 % below.
#[test]
fn uv_a_of_a_clear_day_in_finland_has_our_shape() {
    let Some(hours) = helsinki_hours("uv_a_of_a_clear_day_in_finland_has_our_shape") else {
        return;
    };
    let (observer, uv_a) = (helsinki_observer(), even(320.0, 400.0));
    let day = NaiveDate::from_ymd_opt(2010, 6, 24).expect("a date");
    let day: Vec<Beside> = hours
        .iter()
        .filter(|(at, _)| at.date_naive() == day)
        .map(|(at, (measured, _))| Beside {
            elevation_deg: observer.sun_at(*at).elevation_deg(),
            measured: *measured,
            modelled: clear_light(&observer, *at, (0.15, 0.05), &uv_a).horizontal(),
        })
        .filter(|moment| moment.elevation_deg >= 9.0)
        .collect();
    assert_eq!(day.len(), 16);
    let mut shape = Shape::default();
    shape.see_day(&day);
    shape.within(
        "UV-A, Helsinki",
        |step| if step >= 15 { 0.06 } else { 0.08 },
    );
}

/// How much of UV-A is left where `factor` is left of global light, beside ours: the
/// ratio of the two, and the exponent that would have been right.
fn beside_exponent(uv_factor: f64, factor: f64) -> (f64, f64) {
    let ours = factor_from_global(factor, 1.0);
    (uv_factor / ours, uv_factor.ln() / factor.ln())
}

/// A dull summer day over the clear one at the same hours, without snow. Visible light
/// stands in for global light.
///
/// Allowed: 10 % of the factor by the hour, with the sun at 20° and more. Two days apart the sun is the same to 0.1 %;
/// cloud takes a little less of visible than of global light, which the rest pays for.
#[test]
fn cloud_takes_of_uv_a_what_we_say_in_a_dull_summer() {
    let Some(hours) = helsinki_hours("cloud_takes_of_uv_a_what_we_say_in_a_dull_summer") else {
        return;
    };
    let low = |at| helsinki_observer().sun_at(at).elevation_deg() < 20.0;
    let mut exponents = Vec::new();
    for (at, (uv_a, visible)) in &hours {
        // The clear day's stamps are a minute later in the hour.
        let clear = [2 * 24 * 60, 2 * 24 * 60 + 1]
            .iter()
            .find_map(|minutes| hours.get(&(*at + TimeDelta::minutes(*minutes))));
        let Some((clear_uv_a, clear_visible)) = clear else {
            continue;
        };
        let factor = visible / clear_visible;
        if at.date_naive() != dull_day() || factor > 0.85 || low(*at) {
            continue;
        }
        let (ratio, exponent) = beside_exponent(uv_a / clear_uv_a, factor);
        assert!((ratio - 1.0).abs() < 0.10, "{at}: {ratio}");
        exponents.push(exponent);
    }
    assert!(exponents.len() >= 10, "{} dull hours", exponents.len());
    let median = median(&mut exponents);
    let count = exponents.len();
    report(&format!(
        "cloud, Helsinki: {count} hours, exponent {median:.2}"
    ));
}

fn dull_day() -> NaiveDate {
    NaiveDate::from_ymd_opt(2010, 6, 22).expect("a date")
}

/// A winter day under thick cloud over snow, beside the clear day after it.
///
/// Much more of UV-A is left than we say: an exponent near 0.5 instead of 0.85, up to 2.3
/// times our light. Snow and cloud throw UV-A to and fro, and the channel reads slanting
/// light too low, so that its clear day makes the dull one look bright; the two cannot be
/// told apart here. What must hold is the side of the error: cloud takes less of UV-A than
/// of global light, and never more than we say.
#[test]
fn cloud_over_snow_leaves_more_than_we_say() {
    let Some(lines) = read("cloud_over_snow_leaves_more_than_we_say", GOLDEN) else {
        return;
    };
    let clear = golden(&lines, "2022-01-02");
    let (mut ratios, mut exponents) = (Vec::new(), Vec::new());
    for (time, (global, uv_a)) in golden(&lines, "2022-01-01") {
        let Some((clear_global, clear_uv_a)) = clear.get(&time) else {
            continue;
        };
        if *clear_global < 150.0 {
            continue;
        }
        let factor = global / clear_global;
        let (ratio, exponent) = beside_exponent(uv_a / clear_uv_a, factor);
        assert!(factor < 0.5, "{time} is not overcast: {factor}");
        assert!(exponent < 1.0, "{time}: {exponent}");
        assert!((1.0..2.4).contains(&ratio), "{time}: {ratio}");
        ratios.push(ratio);
        exponents.push(exponent);
    }
    assert!(ratios.len() >= 80, "{} moments", ratios.len());
    let (ratio, exponent) = (median(&mut ratios), median(&mut exponents));
    let count = ratios.len();
    report(&format!(
        "cloud, Golden: {count} moments, exponent {exponent:.2}, UV-A {ratio:.2} times ours"
    ));
}
