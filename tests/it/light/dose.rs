//! Arithmetic of dose, the reference dose, other sensitivities, the UV index.

use fairday::forecast::{Forecast, Hour};
use fairday::light::bands::BAND_COUNT;
use fairday::light::strip::{HALF_STOP, strip_minutes, tablet_density, tablet_factor};
use fairday::light::uv::{UvCategory, clear_index, highest_index};
use fairday::light::{ClearLight, CurveRules, LightCurve, Sensitivity, Site, Step, UnknownSky};
use fairday::units::{Dose, DoseRate};

use super::spectrum::sensitivity;
use super::{Row, Table, Worst, at, at_utc_plus_1, flat_site, relative};
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};

/// Exact arithmetic but for the last bits.
fn assert_near(found: f64, expected: f64) {
    assert!((found - expected).abs() < 1e-9, "{found} for {expected}");
}

/// Bunsen–Roscoe: response follows the product of rate and time. 18 000 J/m² at 30 W/m²
/// are 600 s.
#[test]
fn a_target_dose_at_a_rate_takes_its_minutes() {
    assert_near(DoseRate(30.0).minutes_to(Dose(18.0)), 10.0);
}

/// Six minutes at 30 W/m² are 10.8 kJ/m²; 7.2 are left, at 10 W/m² 720 s.
#[test]
fn a_cloud_at_minute_six_asks_for_twelve_more() {
    let left = Dose(18.0).left_after(DoseRate(30.0).over(6.0));
    assert_near(left.0, 7.2);
    assert_near(DoseRate(10.0).minutes_to(left), 12.0);
}

/// Ordinary clear glass passes some 75 to 85 % of UV-A: 10 min / 0.80.
#[test]
fn glass_lengthens_the_exposure() {
    let outside = Dose(18.0).outside_glass(0.80);
    assert_near(DoseRate(30.0).minutes_to(outside), 12.5);
}

/// A first guess only: 12 min at UV index 5 are 12 · 5/8 at 8 and 12 · 5/2 at 2. Over the
/// seasons the index misleads, which the next test shows.
#[test]
fn minutes_scale_with_the_uv_index_as_a_first_guess() {
    let dose = DoseRate(5.0).over(12.0);
    assert_near(DoseRate(8.0).minutes_to(dose), 7.5);
    assert_near(DoseRate(2.0).minutes_to(dose), 30.0);
}

/// Tied to 8 min at noon in June at 51° N, the index would ask for over two hours at noon in
/// December where the light model asks for forty minutes.
#[test]
fn the_uv_index_is_no_measure_of_printing_light() {
    let site = flat_site(51.0);
    let noon = |date: &str| site.clear_light_at(at(&format!("{date}T11:00:00Z")));
    let (june, december) = (noon("2027-06-21"), noon("2027-12-21"));
    let ratio = june.1.frame() / december.1.frame();
    let index = |(sun, _): (fairday::light::sun::SunPosition, _), day| {
        clear_index(sun.elevation_deg(), site.ozone_on(day))
    };
    let index_ratio = index(june, 172) / index(december, 355);
    assert!((4.5..5.5).contains(&ratio), "{ratio}");
    assert!((15.0..16.5).contains(&index_ratio), "{index_ratio}");
}

/// The oxalate sensitizer needs about an eighth of the classic exposure (leaflets of its
/// author, 2019).
#[test]
fn the_oxalate_sensitizer_takes_an_eighth() {
    let classic = DoseRate(30.0).over(12.0);
    assert_near(DoseRate(30.0).minutes_to(classic.scaled(0.125)), 1.5);
}

#[test]
fn a_strip_grows_by_half_stops() {
    let found: Vec<f64> = strip_minutes(4.0, HALF_STOP, 5)
        .iter()
        .map(|minutes| (minutes * 10.0).round() / 10.0)
        .collect();
    assert_eq!(found, [4.0, 5.7, 8.0, 11.3, 16.0]);
}

/// 21 steps, 0.15 apart, from 0.05 to 3.05; a step is a factor of 10^0.15.
#[test]
fn a_tablet_has_its_densities_and_factors() {
    assert_near(tablet_density(1), 0.05);
    assert_near(tablet_density(21), 3.05);
    for (steps, expected) in (1..).zip([1.413, 1.995, 2.818, 3.981, 5.623]) {
        let off = (tablet_factor(steps) - expected).abs();
        assert!(off < 0.0005, "{steps} steps");
    }
}

/// One day on the table's clock, in one-minute steps, under a clear sky.
fn clear_day(site: Site, date: NaiveDate) -> (ClearLight, LightCurve) {
    let start = at_utc_plus_1(date, "00:00");
    let clear = ClearLight::over(site, start..start + TimeDelta::days(1), Step::ONE_MINUTE);
    let curve = LightCurve::fair(&clear, &CurveRules::default());
    (clear, curve)
}

fn noon(clear: &ClearLight) -> DateTime<Utc> {
    let highest = clear.elevations().max_by(|a, b| a.1.total_cmp(&b.1));
    highest.expect("a day has steps").0
}

fn with_sensitivity(latitude: f64, sensitivity: Sensitivity) -> Site {
    Site {
        sensitivity,
        ..flat_site(latitude)
    }
}

fn reference_doses() -> Vec<(String, Dose)> {
    let table = Table::read("reference_dose.csv", 5);
    let dose = |row: Row| Dose(row.number("dose_8min_june_noon_51N_j_m2") / 1000.0);
    table
        .rows()
        .map(|row| (row.text("action_spectrum").to_owned(), dose(row)))
        .collect()
}

/// Four decimals of a J/m²: 1e-6 relative is far above.
#[test]
fn the_reference_dose_agrees_for_each_sensitivity() {
    let spectra = Table::read("action_spectra.csv", BAND_COUNT);
    let date = NaiveDate::from_ymd_opt(2027, 6, 21).expect("a date");
    for (name, expected) in reference_doses() {
        let site = with_sensitivity(51.0, sensitivity(&spectra, &name));
        let (clear, curve) = clear_day(site, date);
        let noon = noon(&clear);
        let around = TimeDelta::minutes(4);
        let found = curve.gathered_between(noon - around, noon + around);
        let found = found.expect("the sky is known").dose;
        assert!(relative(found.0, expected.0) < 1e-6, "{name}: {found:?}");
    }
}

/// Two decimals of a minute, on the same grid: 0.01 min.
#[test]
fn minutes_for_other_sensitivities_agree() {
    let spectra = Table::read("action_spectra.csv", BAND_COUNT);
    let doses = reference_doses();
    let mut worst = Worst::default();
    for (name, dose) in &doses {
        let column = format!("minutes_{name}");
        let sensitivity = sensitivity(&spectra, name);
        let table = Table::read("action_sensitivity.csv", 48);
        let rows: Vec<Row> = table.rows().collect();
        for day in rows.chunks(4) {
            let site = with_sensitivity(day[0].number("lat_deg"), sensitivity);
            let (clear, curve) = clear_day(site, day[0].date("date"));
            for row in day {
                let start = noon(&clear) + offset(row.text("start"));
                match (curve.exposure(start, *dose).ok(), row.find_number(&column)) {
                    (Some(found), Some(expected)) => worst.see(found.minutes - expected, row),
                    (None, None) => (),
                    (found, _) => panic!("{row} {name}: {found:?}"),
                }
            }
        }
    }
    worst.within(0.01, "minutes for five sensitivities [min]");
}

fn offset(start: &str) -> TimeDelta {
    TimeDelta::hours(match start {
        "solar_noon" => 0,
        "noon_minus_2h" => -2,
        "noon_minus_4h" => -4,
        "noon_plus_4h" => 4,
        other => panic!("{other}"),
    })
}

/// Madronich 2007; three decimals, and an elevation with three decimals going in.
#[test]
fn the_clear_uv_index_agrees() {
    for row in Table::read("uv_index_noon.csv", 48).rows() {
        let found = clear_index(row.number("noon_elevation_deg"), row.number("ozone_du"));
        let off = (found - row.number("uvi_clear")).abs();
        assert!(off < 0.001, "{row}: {found}");
    }
}

#[test]
fn a_day_has_its_highest_uv_index() {
    for row in Table::read("uv_index_noon.csv", 48).rows() {
        let start = at_utc_plus_1(row.date("date"), "00:00");
        let day = start..start + TimeDelta::days(1);
        let site = flat_site(row.number("lat_deg"));
        let clear = ClearLight::over(site, day.clone(), Step::FIVE_MINUTES);
        let found = highest_index(&clear, None, day);
        // The sun is up to 2.5 min from its noon at the nearest step.
        let off = (found - row.number("uvi_clear")).abs();
        assert!(off < 0.005, "{row}: {found}");
    }
}

/// The forecast's own index goes before ours, in the hours that have one.
#[test]
fn a_forecast_uv_index_goes_before_ours() {
    let day = at("2027-06-21T00:00:00Z")..at("2027-06-22T00:00:00Z");
    let clear = ClearLight::over(flat_site(51.0), day.clone(), Step::FIVE_MINUTES);
    let hours = (0..24).map(|hour| Hour {
        start: day.start + TimeDelta::hours(hour),
        uv_index: Some(if hour == 11 { 2.4 } else { 1.0 }),
        uv_index_clear: Some(6.5),
        ..Hour::default()
    });
    let forecast = Forecast {
        credit: String::new(),
        latitude_deg: 51.0,
        longitude_deg: 15.0,
        issued_at: None,
        hours: hours.collect(),
    };
    let dull = highest_index(&clear, Some(&forecast), day.clone());
    assert_eq!(dull, 2.4);
    assert!(!UvCategory::of(dull).asks_for_cover());
    let clear_sky = highest_index(&clear, None, day);
    assert_eq!(UvCategory::of(clear_sky), UvCategory::High);
    assert!(UvCategory::of(clear_sky).asks_for_cover());
    // UV alone, at one or more and below its clear value, is enough to know the sky by.
    let rules = CurveRules {
        unknown_sky: UnknownSky::Stops,
        ..CurveRules::default()
    };
    let curve = LightCurve::new(&clear, Some(&forecast), &rules);
    assert!(
        curve
            .exposure(at("2027-06-21T11:00:00Z"), Dose(5.0))
            .is_ok()
    );
}
