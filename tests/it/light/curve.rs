//! What stops an exposure, how far an answer is to be trusted, and any start in between.

use std::ops::Range;

use chrono::{DateTime, TimeDelta, Utc};
use fairday::forecast::{Forecast, Hour};
use fairday::light::{
    Barrier, ClearLight, CloudMethod, CurveRules, LightCurve, Quality, Step, UnknownSky,
};
use fairday::units::Dose;

use super::{at, flat_site, reference_dose, relative};

fn day() -> Range<DateTime<Utc>> {
    at("2027-06-21T00:00:00Z")..at("2027-06-22T00:00:00Z")
}

fn clear() -> ClearLight {
    ClearLight::over(flat_site(51.0), day(), Step::FIVE_MINUTES)
}

/// A day of hours that all know their cover, changed by `change`.
fn forecast(change: impl Fn(u32, &mut Hour)) -> Forecast {
    let hours = (0..24).map(|index| {
        let mut hour = Hour {
            start: day().start + TimeDelta::hours(i64::from(index)),
            cloud_pct: Some(0.0),
            ..Hour::default()
        };
        change(index, &mut hour);
        hour
    });
    Forecast {
        credit: "invented".to_owned(),
        latitude_deg: 51.0,
        longitude_deg: 15.0,
        issued_at: None,
        hours: hours.collect(),
    }
}

fn curve(change: impl Fn(u32, &mut Hour)) -> LightCurve {
    LightCurve::new(&clear(), Some(&forecast(change)), &CurveRules::default())
}

fn minutes(curve: &LightCurve, start: &str) -> Result<f64, Barrier> {
    let exposure = curve.exposure(at(start), reference_dose());
    exposure.map(|exposure| exposure.minutes)
}

#[test]
fn no_exposure_runs_into_a_rain_hour() {
    let rain_at_12 = curve(|index, hour| {
        if index == 12 {
            hour.rain_mm = Some(0.2);
        }
    });
    assert!(minutes(&rain_at_12, "2027-06-21T11:50:00Z").is_ok_and(|minutes| minutes < 10.0));
    assert_eq!(
        minutes(&rain_at_12, "2027-06-21T11:55:00Z"),
        Err(Barrier::Rain)
    );
    assert_eq!(
        minutes(&rain_at_12, "2027-06-21T12:30:00Z"),
        Err(Barrier::Rain)
    );
    assert!(minutes(&rain_at_12, "2027-06-21T13:00:00Z").is_ok());
}

#[test]
fn a_drizzle_may_be_allowed() {
    let forecast = forecast(|_, hour| hour.rain_mm = Some(0.05));
    let curve = |rain_max_mm: f64| {
        let rules = CurveRules {
            rain_max_mm,
            ..CurveRules::default()
        };
        LightCurve::new(&clear(), Some(&forecast), &rules)
    };
    assert_eq!(
        minutes(&curve(0.0), "2027-06-21T11:00:00Z"),
        Err(Barrier::Rain)
    );
    assert!(minutes(&curve(0.1), "2027-06-21T11:00:00Z").is_ok());
}

#[test]
fn no_exposure_runs_into_a_gap_unless_allowed() {
    let mut gappy = forecast(|index, hour| {
        if index == 14 {
            hour.cloud_pct = None;
        }
    });
    gappy
        .hours
        .retain(|hour| hour.start != at("2027-06-21T12:00:00Z"));
    let stops = LightCurve::new(&clear(), Some(&gappy), &CurveRules::default());
    for unknown in [
        "2027-06-21T11:58:00Z",
        "2027-06-21T12:00:00Z",
        "2027-06-21T14:20:00Z",
    ] {
        assert_eq!(
            minutes(&stops, unknown),
            Err(Barrier::UnknownSky),
            "{unknown}"
        );
    }
    assert!(minutes(&stops, "2027-06-21T13:00:00Z").is_ok());

    let rules = CurveRules {
        unknown_sky: UnknownSky::IsTakenAsClear,
        ..CurveRules::default()
    };
    let goes_on = LightCurve::new(&clear(), Some(&gappy), &rules);
    let quality = |start: &str| {
        let exposure = goes_on.exposure(at(start), reference_dose());
        exposure.expect("nothing stops it").quality
    };
    assert_eq!(quality("2027-06-21T11:58:00Z"), Quality::ClearSkyOnly);
    assert_eq!(quality("2027-06-21T13:00:00Z"), Quality::Rough);
}

#[test]
fn the_low_sun_and_the_end_of_the_curve_are_told_apart() {
    let curve = curve(|_, _| ());
    let check = |start: &str, expected| assert_eq!(minutes(&curve, start), Err(expected));
    check("2027-06-21T01:00:00Z", Barrier::LowSun);
    check("2027-06-21T18:20:00Z", Barrier::LowSun);
    check("2027-06-20T11:00:00Z", Barrier::OutOfSpan);
    check("2027-06-22T00:00:00Z", Barrier::OutOfSpan);

    let morning = at("2027-06-21T08:00:00Z")..at("2027-06-21T11:05:00Z");
    let clear = ClearLight::over(flat_site(51.0), morning, Step::FIVE_MINUTES);
    let cut = LightCurve::fair(&clear, &CurveRules::default());
    assert_eq!(
        minutes(&cut, "2027-06-21T11:00:00Z"),
        Err(Barrier::OutOfSpan)
    );
    assert!(minutes(&cut, "2027-06-21T10:50:00Z").is_ok());
}

#[test]
fn an_empty_span_answers_that_nothing_is_there() {
    let noon = at("2027-06-21T11:00:00Z");
    let clear = ClearLight::over(flat_site(51.0), noon..noon, Step::FIVE_MINUTES);
    let curve = LightCurve::fair(&clear, &CurveRules::default());
    assert_eq!(curve.exposure(noon, Dose(1.0)), Err(Barrier::OutOfSpan));
    assert!(curve.windows(Dose(1.0), 20.0, day()).is_empty());
    assert_eq!(curve.gathered_between(noon, noon), None);
}

#[test]
fn quality_tells_how_the_sky_is_known() {
    let quality = |curve: &LightCurve, start: &str| {
        let exposure = curve.exposure(at(start), reference_dose());
        exposure.map(|exposure| (exposure.quality, exposure.sigma_ln))
    };
    let noon = "2027-06-21T11:00:00Z";
    let by_global = curve(|_, hour| hour.global_w_m2 = Some(870.0));
    let (found, sigma) = quality(&by_global, noon).expect("noon is open");
    assert_eq!(found, Quality::Good);
    assert!((sigma - 0.12).abs() < 1e-9, "{sigma}");
    let by_cover = curve(|_, _| ());
    assert_eq!(
        quality(&by_cover, noon).map(|(found, _)| found),
        Ok(Quality::Rough)
    );
    // The sun stands at 9° and rises past 10° during the exposure.
    let early = quality(&by_global, "2027-06-21T04:00:00Z");
    assert_eq!(early.map(|(found, _)| found), Ok(Quality::WeakLight));
    let nothing = LightCurve::new(&clear(), None, &CurveRules::default());
    assert_eq!(
        quality(&nothing, noon).map(|(found, _)| found),
        Ok(Quality::ClearSkyOnly)
    );
    assert_eq!(nothing.method_at(at(noon)), Some(CloudMethod::AssumedClear));
}

/// Half under a sky that is surely known, half under one by cover: the spread lies between,
/// weighted by dose.
#[test]
fn spread_is_weighted_by_dose() {
    let curve = curve(|index, hour| {
        if index >= 11 {
            hour.global_w_m2 = Some(870.0);
        }
    });
    let start = at("2027-06-21T10:56:00Z");
    let exposure = curve
        .exposure(start, reference_dose())
        .expect("noon is open");
    let hour = at("2027-06-21T11:00:00Z");
    let before = curve.gathered_between(start, hour).expect("known").dose.0;
    let after = reference_dose().0 - before;
    let expected = (before * 0.50 + after * 0.12) / reference_dose().0;
    assert!((exposure.sigma_ln - expected).abs() < 1e-9, "{exposure:?}");
}

/// At noon light hardly changes over minutes, so that minutes go with dose.
#[test]
fn the_range_of_minutes_follows_the_spread() {
    let curve = curve(|_, hour| hour.global_w_m2 = Some(870.0));
    let start = at("2027-06-21T10:55:00Z");
    let middle = minutes(&curve, "2027-06-21T10:55:00Z").expect("noon is open");
    let range = curve
        .minutes_range(start, reference_dose(), 0.16)
        .expect("noon is open");
    // √(0.12² + 0.16²) = 0.2; exp(1.645 · 0.2) = 1.3896
    assert!(relative(range.least, middle / 1.3896) < 0.005, "{range:?}");
    let most = range.most.expect("far from sunset");
    assert!(relative(most, middle * 1.3896) < 0.005, "{range:?}");

    let late = at("2027-06-21T17:50:00Z");
    let late_range = curve
        .minutes_range(late, Dose(12.0), 0.5)
        .expect("just enough light");
    assert_eq!(late_range.most, None);
}

/// A start between two steps lies between their exposures, and time adds up: what is
/// gathered over the minutes is the dose.
#[test]
fn a_start_at_any_second_gathers_its_dose() {
    let curve = curve(|index, hour| hour.cloud_pct = Some(if index == 8 { 90.0 } else { 10.0 }));
    for second in (0..3600).step_by(97) {
        let start = at("2027-06-21T08:20:00Z") + TimeDelta::seconds(second);
        let exposure = curve.exposure(start, reference_dose()).expect("by day");
        let millis = (exposure.minutes * 60_000.0).round() as i64;
        let end = start + TimeDelta::milliseconds(millis);
        let gathered = curve
            .gathered_between(start, end)
            .expect("the sky is known");
        // Half a millisecond of the rate.
        assert!(
            relative(gathered.dose.0, reference_dose().0) < 1e-5,
            "{start}"
        );
    }
}

/// The whole day under cover lies between its dullest and its brightest hour, and a
/// curve ends with its last instant.
#[test]
fn a_day_gathers_up_to_its_very_end() {
    let even = curve(|_, _| ());
    let whole = even
        .gathered_between(day().start, day().end)
        .expect("known");
    let two = [
        even.gathered_between(day().start, at("2027-06-21T11:03:20Z")),
        even.gathered_between(at("2027-06-21T11:03:20Z"), day().end),
    ];
    let sum: f64 = two.map(|half| half.expect("known").dose.0).iter().sum();
    assert!(relative(sum, whole.dose.0) < 1e-12);
    assert_eq!(
        even.gathered_between(day().start, day().end + TimeDelta::seconds(1)),
        None
    );
}

#[test]
fn many_starts_are_answered_in_their_order() {
    let curve = curve(|_, _| ());
    let starts = [
        "2027-06-21T11:00:00Z",
        "2027-06-21T01:00:00Z",
        "2027-06-21T09:00:00Z",
    ];
    let answers = curve.exposures(starts.map(at), reference_dose());
    for (answer, start) in answers.iter().zip(starts) {
        assert_eq!(
            *answer,
            curve.exposure(at(start), reference_dose()),
            "{start}"
        );
    }
    assert_eq!(answers[1], Err(Barrier::LowSun));
}

#[test]
fn the_shortest_exposure_is_at_noon_on_a_clear_day() {
    let curve = curve(|_, _| ());
    let (start, shortest) = curve.find_shortest(reference_dose(), day()).expect("a day");
    // Solar noon is at 11:01:47; half an exposure earlier, to the nearest steps.
    let off = (start - at("2027-06-21T10:57:47Z")).abs();
    assert!(off < TimeDelta::minutes(3), "{start}");
    assert!((shortest.minutes - 8.0).abs() < 0.02, "{shortest:?}");
    let none = curve.find_shortest(Dose(1e6), day());
    assert_eq!(none, None);
}

/// Hours that begin at half past, as zones with a half-hour offset give them.
#[test]
fn hours_may_begin_at_half_past() {
    let mut shifted = forecast(|index, hour| {
        if index == 11 {
            hour.rain_mm = Some(1.0);
        }
    });
    for hour in &mut shifted.hours {
        hour.start += TimeDelta::minutes(30);
    }
    let curve = LightCurve::new(&clear(), Some(&shifted), &CurveRules::default());
    assert!(minutes(&curve, "2027-06-21T11:15:00Z").is_ok());
    assert_eq!(minutes(&curve, "2027-06-21T11:30:00Z"), Err(Barrier::Rain));
    assert!(minutes(&curve, "2027-06-21T12:30:00Z").is_ok());
}

#[test]
fn the_scale_of_a_site_moves_the_yardstick() {
    let forecast = forecast(|_, hour| hour.global_w_m2 = Some(800.0));
    let at_noon = |global_scale: f64| {
        let rules = CurveRules {
            global_scale,
            ..CurveRules::default()
        };
        let curve = LightCurve::new(&clear(), Some(&forecast), &rules);
        minutes(&curve, "2027-06-21T11:00:00Z").expect("noon is open")
    };
    // A smaller yardstick makes the same forecast a clearer sky: (1/0.9)^0.85 = 1.0937.
    let ratio = at_noon(1.0) / at_noon(0.9);
    assert!((ratio - 1.0937).abs() < 0.001, "{ratio}");
}

#[test]
fn a_step_divides_the_hour() {
    assert_eq!(Step::of_minutes(5), Some(Step::FIVE_MINUTES));
    assert_eq!(Step::of_minutes(7), None);
    assert_eq!(Step::of_minutes(0), None);
    assert_eq!(Step::of_minutes(120), None);
}
