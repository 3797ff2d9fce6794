//! How long light takes: one sun, two weeks, many questions.

use std::hint::black_box;

use chrono::{DateTime, TimeDelta, Utc};
use divan::Bencher;
use fairday::forecast::{Forecast, Hour};
use fairday::light::learn::{Observation, Prior, Verdict, learn};
use fairday::light::{ClearLight, CurveRules, LightCurve, Site, Step};
use fairday::studio::{Place, Stand};
use fairday::units::Dose;

fn main() {
    divan::main();
}

fn site() -> Site {
    let place = Place {
        latitude_deg: 51.0,
        longitude_deg: 15.0,
        altitude_m: 100.0,
        zone: chrono_tz::Europe::Prague,
    };
    let stand = Stand {
        tilt_deg: 30.0,
        azimuth_deg: 180.0,
        albedo: 0.05,
        aerosol: 0.15,
    };
    Site::new(&place, &stand)
}

fn start() -> DateTime<Utc> {
    DateTime::UNIX_EPOCH + TimeDelta::days(20_624)
}

/// Two weeks of hours that know their global light, the dearest kind.
fn forecast() -> Forecast {
    let hours = (0..14 * 24).map(|hour| Hour {
        start: start() + TimeDelta::hours(hour),
        global_w_m2: Some(300.0),
        ..Hour::default()
    });
    Forecast {
        credit: String::new(),
        latitude_deg: 51.0,
        longitude_deg: 15.0,
        issued_at: None,
        hours: hours.collect(),
    }
}

fn clear_two_weeks() -> ClearLight {
    let span = start()..start() + TimeDelta::days(14);
    ClearLight::over(site(), span, Step::FIVE_MINUTES)
}

/// One position of the sun and its light on a tilted frame, at noon in June.
#[divan::bench]
fn sun_and_light_once(bencher: Bencher) {
    let (site, noon) = (site(), start() + TimeDelta::hours(11));
    bencher.bench_local(|| black_box(&site).clear_light_at(black_box(noon)));
}

/// Clear light for 14 days at 5 min: 4,033 suns.
#[divan::bench]
fn clear_light_14_days() -> ClearLight {
    clear_two_weeks()
}

/// The same with a forecast's global light laid over it.
#[divan::bench]
fn light_curve_14_days(bencher: Bencher) {
    let forecast = forecast();
    bencher.bench_local(|| {
        let clear = clear_two_weeks();
        LightCurve::new(&clear, Some(&forecast), &CurveRules::default())
    });
}

/// One exposure for each of 4,032 starts.
#[divan::bench]
fn exposures_from_every_step(bencher: Bencher) {
    let clear = clear_two_weeks();
    let curve = LightCurve::new(&clear, Some(&forecast()), &CurveRules::default());
    let span = start()..start() + TimeDelta::days(14);
    bencher.bench_local(|| {
        let starts = curve.starts_in(span.clone());
        curve.exposures(starts, black_box(Dose(20.0)))
    });
}

/// A log of 200 verdicts.
#[divan::bench]
fn learn_from_200_verdicts(bencher: Bencher) {
    let log: Vec<Observation> = (0..200u32)
        .map(|index| {
            let dose = Dose(14.0 + f64::from(index % 20));
            let verdict = match dose.0 {
                dose if dose < 18.0 => Verdict::Pale,
                dose if dose > 28.0 => Verdict::Deep,
                _ => Verdict::Good,
            };
            Observation::new(dose, 0.35, verdict)
        })
        .collect();
    let prior = Prior {
        median: Dose(20.0),
        sigma_ln: 2f64.ln(),
    };
    bencher.bench_local(|| learn(black_box(prior), black_box(&log)));
}
