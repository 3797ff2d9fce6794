//! Curves from genuine forecasts of three services, read from `FAIRDAY_WEATHER`.

use std::path::PathBuf;

use chrono::TimeDelta;
use fairday::forecast::{self, Forecast, Hour};
use fairday::light::{Barrier, ClearLight, CurveRules, LightCurve, Quality, Site, Step};
use fairday::studio::Place;
use fairday::units::Dose;

use super::{FLAT, report};

/// Every genuine sample, with its name; none without the folder.
fn samples(test: &str) -> Vec<(String, Forecast)> {
    let Ok(folder) = std::env::var("FAIRDAY_WEATHER") else {
        report(&format!("skipped: {test}, FAIRDAY_WEATHER is not set"));
        return Vec::new();
    };
    let folder = PathBuf::from(folder).join("forecast");
    let entries = std::fs::read_dir(&folder).expect("a folder of forecasts");
    let names = entries.map(|entry| entry.expect("an entry").file_name());
    let mut names: Vec<String> = names
        .map(|name| name.into_string().expect("a name"))
        .collect();
    names.retain(|name| name.ends_with(".json") && !name.ends_with(".headers.json"));
    names.sort();
    assert!(names.len() >= 9, "{names:?}");
    let read = |name: String| {
        let text = std::fs::read_to_string(folder.join(&name)).expect("a text");
        let (forecast, problems) = forecast::parse(&text, &name);
        let forecast = forecast.unwrap_or_else(|| panic!("{name}: {problems:?}"));
        (name, forecast)
    };
    names.into_iter().map(read).collect()
}

fn clear_light(forecast: &Forecast) -> ClearLight {
    let place = Place {
        latitude_deg: forecast.latitude_deg,
        longitude_deg: forecast.longitude_deg,
        altitude_m: 50.0,
        zone: chrono_tz::UTC,
    };
    let first = forecast.hours.first().expect("an hour").start;
    let last = forecast.hours.last().expect("an hour").start;
    let site = Site::new(&place, &FLAT).with_ozone_of(forecast);
    ClearLight::over(site, first..last + TimeDelta::hours(1), Step::FIVE_MINUTES)
}

/// A UV index alone tells nothing: it takes that of the same service's clear sky.
fn knows_the_sky(hour: &Hour) -> bool {
    let by_index = hour.uv_index.is_some() && hour.uv_index_clear.is_some();
    by_index || hour.cloud_pct.is_some() || hour.global_w_m2.is_some()
}

/// No answer is brighter than broken cloud can make it (1.1^0.85 = 1.084), none is called
/// clear-sky only, and an unknown sky is one of which the forecast says nothing.
#[test]
fn genuine_forecasts_give_answers_that_hold_together() {
    for (name, forecast) in samples("genuine_forecasts_give_answers_that_hold_together") {
        let clear = clear_light(&forecast);
        let curve = LightCurve::new(&clear, Some(&forecast), &CurveRules::default());
        let fair = LightCurve::fair(&clear, &CurveRules::default());
        let (mut answers, mut unknown) = (0, 0);
        for (start, _) in clear.elevations() {
            let found = curve.exposure(start, Dose(20.0));
            if let Ok(exposure) = found {
                let least = fair.exposure(start, Dose(20.0)).expect("fair is brighter");
                assert!(exposure.minutes > least.minutes / 1.085, "{name} {start}");
                assert!(exposure.quality < Quality::ClearSkyOnly, "{name} {start}");
                assert!(
                    (0.119..0.501).contains(&exposure.sigma_ln),
                    "{name} {start}"
                );
                answers += 1;
            }
            if curve.find_barrier(start) == Some(Barrier::UnknownSky) {
                let hour = forecast.find_hour(start);
                assert!(!hour.is_some_and(knows_the_sky), "{name} {start}: {hour:?}");
                unknown += 1;
            }
        }
        report(&format!(
            "{name}: {answers} answers, {unknown} steps without a word of the sky"
        ));
        let says_anything = forecast.hours.iter().any(knows_the_sky);
        assert_eq!(answers > 0, says_anything, "{name}");
    }
}
