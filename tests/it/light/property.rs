//! Laws that hold for any place, day and dose.

use chrono::{DateTime, TimeDelta, Utc};
use fairday::light::atmosphere::{distance_factor, pressure_pa};
use fairday::light::spectrum::{Air, Facing, printing_light};
use fairday::light::{
    ClearLight, CloudMethod, CurveRules, LightCurve, Sensitivity, Site, Sky, SkyHour, Step,
};
use fairday::studio::{Place, Stand};
use fairday::units::Dose;
use proptest::prelude::*;

use super::at;

fn any_air() -> impl Strategy<Value = Air> {
    let pressure = 70_000.0..104_000.0;
    (pressure, 200.0..500.0, 0.0..0.6, 0.0..0.8, 1u32..=366).prop_map(
        |(pressure_pa, ozone_du, aerosol, albedo, day_of_year)| Air {
            pressure_pa,
            ozone_du,
            aerosol,
            albedo,
            day_of_year,
        },
    )
}

fn any_site() -> impl Strategy<Value = Site> {
    let place = (-65.0..65.0, -180.0..180.0, 0.0..3000.0).prop_map(
        |(latitude_deg, longitude_deg, altitude_m)| Place {
            latitude_deg,
            longitude_deg,
            altitude_m,
            zone: chrono_tz::UTC,
        },
    );
    let stand = (0.0..60.0, 0.0..360.0, 0.0..0.7, 0.0..0.5).prop_map(
        |(tilt_deg, azimuth_deg, albedo, aerosol)| Stand {
            tilt_deg,
            azimuth_deg,
            albedo,
            aerosol,
        },
    );
    (place, stand).prop_map(|(place, stand)| Site::new(&place, &stand))
}

fn any_day() -> impl Strategy<Value = DateTime<Utc>> {
    (0i64..3650).prop_map(|day| at("2024-01-01T00:00:00Z") + TimeDelta::days(day))
}

fn flat(zenith_deg: f64) -> Facing {
    Facing {
        tilt_deg: 0.0,
        incidence_deg: zenith_deg,
    }
}

fn light(elevation_deg: f64, air: &Air) -> f64 {
    let zenith = 90.0 - elevation_deg;
    printing_light(zenith, flat(zenith), air, &Sensitivity::COATED_SHEET).horizontal()
}

/// Two days in quarter hours under one sky.
fn even_curve(site: Site, day: DateTime<Utc>, factor: f64) -> LightCurve {
    let span = day..day + TimeDelta::days(2);
    let step = Step::of_minutes(15).expect("it divides the hour");
    let clear = ClearLight::over(site, span, step);
    let skies: Vec<SkyHour> = (0..48)
        .map(|hour| SkyHour {
            start: day + TimeDelta::hours(hour),
            sky: Some(Sky::with_factor(factor, CloudMethod::CloudCover)),
            barrier: None,
        })
        .collect();
    LightCurve::under(&clear, &skies, &CurveRules::default())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn there_is_no_light_from_below_the_horizon(elevation in -90.0..1.0, air in any_air()) {
        prop_assert_eq!(light(elevation, &air), 0.0);
    }

    #[test]
    fn light_grows_with_the_sun(elevation in 5.0..79.0, rise in 0.1..1.0, air in any_air()) {
        let (low, high) = (light(elevation, &air), light(elevation + rise, &air));
        prop_assert!(low < high, "{low} at {elevation}, {high} above");
    }

    /// An independent closed form, fitted to the model over these ranges; its own error is
    /// 4.0 % at most, so 5 %.
    #[test]
    fn a_closed_form_agrees(
        elevation in 5.0..80.0f64, km in 0.0..2.0, ozone_du in 250.0..450.0, day in 1u32..=366,
    ) {
        let air = Air {
            pressure_pa: pressure_pa(km * 1000.0),
            ozone_du,
            aerosol: 0.15,
            albedo: 0.05,
            day_of_year: day,
        };
        let sine = elevation.to_radians().sin();
        let by_sun = 5.534_22 + 0.474_24 * sine.ln() - 1.817_91 / (sine + 0.471_11);
        let by_air: f64 = 0.024_57 * km - 0.010_42 * (ozone_du - 330.0) / 100.0;
        let closed = distance_factor(day) * (by_sun + by_air).exp();
        let ratio = light(elevation, &air) / closed;
        prop_assert!((0.95..1.05).contains(&ratio), "{ratio}");
    }

    /// The model under a factor of one is the clear sky itself, tilted or not.
    #[test]
    fn no_cloud_leaves_the_clear_value(site in any_site(), day in any_day(), hour in 0i64..24) {
        let (_, clear) = site.clear_light_at(day + TimeDelta::hours(hour));
        let under = Sky::with_factor(1.0, CloudMethod::GlobalLight).rate_on(&clear, &site.stand);
        prop_assert!((under.0 - clear.frame()).abs() <= 1e-9 * clear.frame(), "{under:?}");
    }

    /// On the horizontal; a tilted frame that looks away from the sun may gain by cloud.
    #[test]
    fn more_light_is_never_slower(
        site in any_site(), day in any_day(), minute in 0i64..1440,
        factor in 0.2..1.0, more in 0.01..0.1, dose in 1.0..60.0,
    ) {
        let site = Site { stand: Stand { tilt_deg: 0.0, ..site.stand }, ..site };
        let start = day + TimeDelta::minutes(minute);
        let dull = even_curve(site, day, factor).exposure(start, Dose(dose));
        let bright = even_curve(site, day, factor + more).exposure(start, Dose(dose));
        if let Ok(dull) = dull {
            let bright = bright.expect("more light reaches what less light reaches");
            prop_assert!(bright.minutes < dull.minutes, "{bright:?} {dull:?}");
        }
    }

    #[test]
    fn a_double_dose_is_never_shorter(
        site in any_site(), day in any_day(), minute in 0i64..1440, dose in 0.5..40.0,
    ) {
        let curve = even_curve(site, day, 0.8);
        let start = day + TimeDelta::minutes(minute);
        let once = curve.exposure(start, Dose(dose));
        match curve.exposure(start, Dose(2.0 * dose)) {
            Ok(twice) => prop_assert!(twice.minutes > once.expect("half of it").minutes),
            Err(barrier) => prop_assert!(once.is_ok() || once == Err(barrier)),
        }
    }

    /// Taking a print out and putting it back at once changes nothing.
    #[test]
    fn two_halves_take_as_long_as_the_whole(
        site in any_site(), day in any_day(), minute in 0i64..1440,
        dose in 1.0..60.0, share in 0.1..0.9,
    ) {
        let curve = even_curve(site, day, 0.7);
        let start = day + TimeDelta::minutes(minute);
        if let Ok(whole) = curve.exposure(start, Dose(dose)) {
            let first = curve.exposure(start, Dose(dose * share)).expect("less dose");
            let pause = start + TimeDelta::milliseconds((first.minutes * 60_000.0).round() as i64);
            let rest = curve.exposure(pause, Dose(dose * (1.0 - share)));
            // Rounding the pause to a millisecond may lose the very last of the light.
            if let Ok(rest) = rest {
                let off = (first.minutes + rest.minutes - whole.minutes).abs();
                prop_assert!(off < 1e-3, "{off} min");
            }
        }
    }

    #[test]
    fn every_start_in_a_window_is_short_enough(
        site in any_site(), day in any_day(), limit in 5.0..90.0, dose in 5.0..40.0,
    ) {
        let curve = even_curve(site, day, 0.9);
        let span = day..day + TimeDelta::days(2);
        let windows = curve.windows(Dose(dose), limit, span.clone());
        let inside = |start: &DateTime<Utc>| {
            windows.iter().any(|w| w.first_start <= *start && *start <= w.last_start)
        };
        for start in curve.starts_in(span) {
            let short = curve.exposure(start, Dose(dose)).is_ok_and(|e| e.minutes <= limit);
            prop_assert_eq!(short, inside(&start), "{}", start);
        }
    }
}
