//! Typical years, ours and genuine ones, and forecasts carried on by them.

use std::fmt::Write;

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use fairday::climate::{Beyond, TypicalYear, Usual, extend, parse};
use fairday::forecast::{Forecast, Hour, Origin};
use fairday::light::clear_global_over_hour;
use fairday::light::sun::Observer;
use fairday::studio::parse::parse as parse_studio;
use fairday::studio::{Climate, ClimateSource};

/// A year of hours at 50° N, 8° E, standard time UTC+1: half of the clear light on
/// odd days and a quarter on even ones, 12 °C, 70 %, 3 m/s.
fn hours() -> impl Iterator<Item = (NaiveDate, u32, f64)> {
    let first = NaiveDate::from_ymd_opt(2025, 1, 1).unwrap();
    let observer = Observer::new(50.0, 8.0, 100.0);
    (0..8760).map(move |index| {
        let start = first.and_hms_opt(0, 0, 0).unwrap() + TimeDelta::hours(index);
        let clear = clear_global_over_hour(&observer, (start - TimeDelta::hours(1)).and_utc());
        let share = if index / 24 % 2 == 0 { 0.5 } else { 0.25 };
        (start.date(), (index % 24) as u32, share * clear)
    })
}

pub fn epw() -> String {
    let mut text = "LOCATION,\"Our, Town\",-,XXX,OWN,1,50.0,8.0,1.0,100.0\n".to_owned();
    text.push_str(&"HEADING\n".repeat(7));
    for (date, hour, global) in hours() {
        let stamp = date.format("%Y,%-m,%-d");
        writeln!(
            text,
            "{stamp},{},0,?9,12.0,6.0,70,99500,0,0,0,{global:.1},0,0,0,0,0,0,0,3.0,5,5,9999,99999,\
             9,999999999,10,0.1,0,88,0.2,0.0,1.0",
            hour + 1
        )
        .unwrap();
    }
    text
}

pub fn tmy3() -> String {
    let mut text = "1,\"OUR TOWN\",XX,1.0,50.0,8.0,100\n\
        Date (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),Dry-bulb (C),RHum (%),Wspd (m/s)\n"
        .to_owned();
    for (date, hour, global) in hours() {
        let date = date.format("%m/%d/%Y");
        writeln!(text, "{date},{:02}:00,{global:.1},12.0,70,3.0", hour + 1).unwrap();
    }
    text
}

fn at(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

#[test]
fn both_formats_say_the_same() {
    let (epw, tmy3) = (
        parse(&epw(), "a.epw").unwrap(),
        parse(&tmy3(), "a.csv").unwrap(),
    );
    assert_eq!(epw.name, "Our, Town");
    assert_eq!((epw.latitude_deg, epw.longitude_deg), (50.0, 8.0));
    assert_eq!(epw.rows.len(), 8760);
    assert_eq!(epw.rows, tmy3.rows);
    // The row of hour 13 is the hour from 12 to 13 standard time, 11 to 12 UTC.
    let noon = epw.rows[12];
    assert_eq!(noon.hour, 12);
    assert_eq!(epw.start(&noon), Some(at("2025-01-01T11:00:00Z")));
    assert_eq!(noon.wind_m_s, Some(3.0));
}

#[test]
fn codes_for_missing_values_are_none() {
    let missing = epw()
        .replace(",12.0,6.0,70,", ",99.9,99.9,999,")
        .replace(",3.0,5,5,", ",999,99,99,");
    let row = parse(&missing, "a.epw").unwrap().rows[12];
    assert_eq!(
        (row.temperature_c, row.humidity_pct, row.wind_m_s),
        (None, None, None)
    );
    let missing = tmy3().replace(",12.0,70,3.0", ",-9900,-9900,-9900");
    let row = parse(&missing, "a.csv").unwrap().rows[12];
    assert_eq!(
        (row.temperature_c, row.humidity_pct, row.wind_m_s),
        (None, None, None)
    );
}

#[test]
fn what_is_no_typical_year_is_refused_with_its_reason() {
    let check = |text: &str, expected: &str| {
        let problem = parse(text, "a.epw").unwrap_err();
        assert!(problem.what.contains(expected), "{}", problem.what);
    };
    check("", "expected a typical year as EPW or TMY3");
    check("<html>", "expected a typical year as EPW or TMY3");
    let whole = epw();
    check(
        &whole.replace("50.0,8.0,1.0", "50.0,east,1.0"),
        "does not say place",
    );
    let half: Vec<&str> = whole.lines().take(4000).collect();
    check(
        &half.join("\n"),
        "expected 8760 hours of a year, found 3992",
    );
    check(
        &whole[..whole.len() - 80],
        "expected an hour of a typical year",
    );
}

/// Between half and a quarter of the clear sky's light, day by day, the middle lies
/// at one of them or between; the spread is at most their ratio.
#[test]
fn the_usual_light_is_the_middle_of_the_days() {
    let year = parse(&epw(), "a.epw").unwrap();
    let usual = Usual::of_year(&year, &[6]);
    let noon = usual.find(at("2026-06-15T11:30:00Z")).unwrap();
    assert!((0.25..=0.5).contains(&noon.clear_share), "{noon:?}");
    assert!(
        (0.2..=2f64.ln() + 0.01).contains(&noon.sigma_ln),
        "{noon:?}"
    );
    assert_eq!((noon.temperature_c, noon.wind_m_s), (Some(12.0), Some(3.0)));
    assert_eq!(usual.find(at("2026-06-15T23:30:00Z")), None);
    assert_eq!(usual.find(at("2026-07-15T11:30:00Z")), None);
}

#[test]
fn the_rough_climate_is_duller_in_winter_on_both_halves_of_the_earth() {
    for latitude in [55.0, 40.0, -35.0, -50.0] {
        let usual = Usual::by_latitude(latitude, 0.0);
        let share = |month: &str| {
            let noon = at(&format!("2026-{month}-15T12:00:00Z"));
            usual.find(noon).unwrap().clear_share
        };
        let (january, july) = (share("01"), share("07"));
        assert_eq!(latitude > 0.0, january < july, "{latitude}");
        assert!((0.3..0.95).contains(&january) && (0.3..0.95).contains(&july));
    }
}

#[test]
fn a_forecast_is_believed_to_day_five_mixed_to_seven_and_left_from_there() {
    let now = at("2026-06-10T06:00:00Z");
    let hour = |index: i64| Hour {
        start: now + TimeDelta::hours(index),
        cloud_pct: Some(0.0),
        wind_m_s: Some(9.0),
        rain_mm: Some(0.0),
        rain_chance: Some(0.5),
        ..Hour::default()
    };
    let mut forecast = Forecast {
        credit: String::new(),
        latitude_deg: 50.0,
        longitude_deg: 8.0,
        issued_at: None,
        hours: (0..9 * 24).map(hour).collect(),
    };
    let before = forecast.clone();
    let year = parse(&epw(), "a.epw").unwrap();
    let usual = Usual::of_year(&year, &[6]);
    let beyond = Beyond {
        usual: &usual,
        observer: &Observer::new(50.0, 8.0, 100.0),
        global_scale: 1.0,
        wet_share: 0.1,
        now,
        until: now + TimeDelta::days(14),
    };
    extend(&mut forecast, &beyond);
    assert_eq!(forecast.hours.len(), 14 * 24);
    assert_eq!(forecast.hours[..=5 * 24], before.hours[..=5 * 24]);
    for (index, hour) in forecast.hours.iter().enumerate() {
        let expected = match index {
            0..=120 => Origin::Forecast,
            // Nothing is usual of the light at night; nothing to mix.
            121..=168 if usual.find(hour.start).is_none() => Origin::Forecast,
            121..=168 => Origin::Mixed,
            _ => Origin::Typical,
        };
        assert_eq!(hour.origin, expected, "{index}");
    }
    // Day 6, 12:00: half believed (0.45 at six whole days), wind 0.45·9 + 0.55·3.
    let mixed = forecast.find_hour(now + TimeDelta::hours(144)).unwrap();
    assert_eq!(mixed.start, at("2026-06-16T06:00:00Z"));
    assert!((mixed.wind_m_s.unwrap() - (0.45 * 9.0 + 0.55 * 3.0)).abs() < 1e-9);
    assert!((mixed.rain_chance.unwrap() - (0.45 * 0.5 + 0.55 * 0.1)).abs() < 1e-9);
    let typical = forecast.find_hour(at("2026-06-20T11:00:00Z")).unwrap();
    assert_eq!(
        (typical.wind_m_s, typical.rain_chance),
        (Some(3.0), Some(0.1))
    );
    assert!(typical.light_sigma_ln.unwrap() > 0.2);
    let observer = Observer::new(50.0, 8.0, 100.0);
    let share = typical.global_w_m2.unwrap() / clear_global_over_hour(&observer, typical.start);
    assert!((0.25..=0.5).contains(&share), "{share}");
}

#[test]
fn the_setting_names_a_file_or_says_that_rough_will_do() {
    let read = |line: &str| {
        let text = format!(
            "studio: The Blue Shed
place: {{latitude_deg: 53.9, longitude_deg: -2.9, zone: Europe/London}}
frames: [{{name: large, inside: 42x52 cm}}]
racks: {{dark_dry_sheets: 4, wet_dry_sheets: 4}}
trays: {{inside: 45x60 cm}}
materials: {{rag: {{kind: paper, target_dose_kj_m2: 29}}}}
letters: {{from: studio@example.org}}
climate: {{{line}}}
"
        );
        let (studio, problems) = parse_studio(&text, "studio.yaml");
        let words: Vec<String> = problems.into_iter().map(|problem| problem.what).collect();
        (studio.and_then(|studio| studio.climate), words.join("; "))
    };
    let file = Climate {
        source: ClimateSource::File("here.epw".to_owned()),
        wet_share: 0.1,
    };
    assert_eq!(read("file: here.epw"), (Some(file), String::new()));
    let rough = Climate {
        source: ClimateSource::ByLatitude,
        wet_share: 0.2,
    };
    assert_eq!(
        read("rough: yes, wet_share: 0.2"),
        (Some(rough), String::new())
    );
    assert!(
        read("wet_share: 0.2")
            .1
            .contains("the climate names no file")
    );
    assert!(
        read("rough: yes, file: a.epw")
            .1
            .contains("both a file and rough")
    );
}

fn genuine(test: &str, name: &str) -> Option<TypicalYear> {
    let Ok(folder) = std::env::var("FAIRDAY_WEATHER") else {
        #[expect(clippy::print_stderr, reason = "a skipped test must say so")]
        {
            eprintln!("skipped: {test}, FAIRDAY_WEATHER is not set");
        }
        return None;
    };
    let packed = std::fs::File::open(format!("{folder}/epw/{name}.gz")).unwrap();
    let mut bytes = Vec::new();
    std::io::Read::read_to_end(&mut flate2::read::GzDecoder::new(packed), &mut bytes).unwrap();
    Some(parse(&String::from_utf8_lossy(&bytes), name).unwrap())
}

/// Yearly sums of global light as counted from the files by other means. [kWh/m²]
#[test]
fn genuine_years_have_their_light() {
    let test = "genuine_years_have_their_light";
    for (name, sum, offset, latitude) in [
        ("USA_Chicago_TMY3_41.98N.epw", 1407.0, -6.0, 41.98),
        ("USA_LongBeach_TMYx_33.81N.epw", 2056.0, -8.0, 33.81),
        ("DEU_Mannheim_TRY_49.52N.epw", 1183.0, 1.0, 49.52),
        ("PVGIS_TMY_45.00N_8.00E.epw", 1436.0, 1.0, 45.0),
        ("TMY3_703165_SandPoint_AK_55.3N.csv", 829.0, -9.0, 55.32),
        ("TMY3_723170_Greensboro_NC_36.1N.csv", 1566.0, -5.0, 36.1),
    ] {
        let Some(year) = genuine(test, name) else {
            return;
        };
        assert_eq!(year.rows.len(), 8760, "{name}");
        let global: f64 = year.rows.iter().filter_map(|row| row.global_w_m2).sum();
        assert!((global / 1000.0 - sum).abs() < 0.6, "{name}: {global}");
        assert_eq!(year.offset_h, offset, "{name}");
        assert!((year.latitude_deg - latitude).abs() < 0.006, "{name}");
        // The rough climate is no further off at noon than a factor of 1.7; it was
        // 1.67 at most, at Sand Point in April.
        let usual = Usual::of_year(&year, &[1, 4, 7, 10]);
        let rough = Usual::by_latitude(year.latitude_deg, year.longitude_deg);
        for month in [1, 4, 7, 10] {
            let noon = NaiveDate::from_ymd_opt(2026, month, 15).unwrap();
            let noon = (noon.and_hms_opt(12, 30, 0).unwrap() - year.offset()).and_utc();
            let (seen, guess) = (usual.find(noon), rough.find(noon).unwrap());
            let ratio = seen.unwrap().clear_share / guess.clear_share;
            assert!(
                (1.0 / 1.7..=1.7).contains(&ratio),
                "{name} {month}: {ratio}"
            );
        }
    }
}

/// The demo, with its forecast and a rough climate behind it: the second week gets
/// light, and says what it rests on.
#[test]
fn a_plan_says_which_days_rest_on_the_climate() {
    use crate::commands::text;
    let demo = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("orders");
    let folder = tempfile::tempdir().unwrap();
    for entry in std::fs::read_dir(demo).unwrap() {
        let path = entry.unwrap().path();
        let target = folder.path().join(path.file_name().unwrap());
        if path.is_file() {
            std::fs::copy(&path, target).unwrap();
        }
    }
    let studio = folder.path().join("studio.yaml");
    let whole = std::fs::read_to_string(&studio).unwrap();
    // With time for a second go everything is exposed before the forecast ends.
    let late = "climate: {rough: yes}\nplanning: {second_go: 0}\n";
    std::fs::write(&studio, whole + late).unwrap();
    let run = |arguments: &[&str]| {
        let dir = folder.path().to_str().unwrap();
        let arguments = [arguments, &["--dir", dir]].concat();
        text(&crate::commands::fairday(&arguments).stdout)
    };
    let plan: serde_json::Value = serde_json::from_str(&run(&["plan", "--json"])).unwrap();
    let days = plan["days"].as_array().unwrap();
    let rests: Vec<&str> = days
        .iter()
        .map(|day| day["rests_on"].as_str().unwrap())
        .collect();
    assert!(
        rests[..5].iter().all(|rests| *rests == "forecast"),
        "{rests:?}"
    );
    assert!(rests[8..].contains(&"typical"), "{rests:?}");
    let screen = run(&["plan", "--days", "14"]);
    let words = screen.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains("From the sixth day on by a rough climate by latitude"),
        "{words}"
    );
    assert!(
        words.contains("by the climate, not by a forecast"),
        "{words}"
    );
}

/// A climate alone is no ground for coating tonight, and the plan says so.
#[test]
fn a_climate_without_a_forecast_is_said_to_plan_nothing() {
    use crate::commands::{fairday, text};
    let demo = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("orders");
    let folder = tempfile::tempdir().unwrap();
    std::fs::copy(
        demo.join("2026-013-hale.yaml"),
        folder.path().join("2026-013-hale.yaml"),
    )
    .unwrap();
    let studio = std::fs::read_to_string(demo.join("studio.yaml")).unwrap();
    let studio = studio.replace("forecast: forecast.json", "climate: {rough: yes}");
    std::fs::write(folder.path().join("studio.yaml"), studio).unwrap();
    let dir = folder.path().display().to_string();
    let answer = fairday(&["plan", "--dir", &dir]);
    let words = |bytes: &[u8]| text(bytes).split_whitespace().collect::<Vec<_>>().join(" ");
    let told = "nothing can be exposed in the sun; `climate` stands in only beyond the end of a \
                forecast";
    assert!(
        words(&answer.stderr).contains(told),
        "{}",
        text(&answer.stderr)
    );
    let said = "No forecast: nothing that needs sun can be planned. The climate stands in only";
    assert!(
        words(&answer.stdout).contains(said),
        "{}",
        text(&answer.stdout)
    );
}
