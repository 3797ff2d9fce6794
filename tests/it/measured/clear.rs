//! Clear days: the shape of the light over the day.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, NaiveTime, TimeDelta, Utc};
use fairday::light::atmosphere;
use fairday::light::cloud::{CloudMethod, Sky, factor_from_global};
use fairday::light::spectrum::{Air, Facing, printing_light};
use fairday::light::sun::Observer;

use super::{
    Beside, GOLDEN, Shape, clear_light, even, golden, helsinki_hours, helsinki_observer, mean,
    naive, number, read, report,
};

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
