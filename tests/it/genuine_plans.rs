//! Plans from genuine forecasts: every sample gives one, and it is sensible.
//!
//! The samples are other people's data and lie outside this project; their
//! folder comes in `FAIRDAY_WEATHER`.

#![expect(clippy::print_stderr, reason = "a skipped test says so by name")]

use std::fs;
use std::path::{Path, PathBuf};

use chrono::{DateTime, NaiveDateTime, TimeDelta, Utc};
use fairday::forecast::parse;
use serde_json::Value;
use tempfile::TempDir;

use crate::commands::text;

/// Zones of the samples, by what their names hold; the zone is not in the files.
const ZONES: &[(&str, &str)] = &[
    ("51.5N_0.1W", "Europe/London"),
    ("40.7N_74.0W", "America/New_York"),
    ("39.9N_116.4E", "Asia/Shanghai"),
    ("59.0N_10.0E", "Europe/Oslo"),
    ("37.75S_144.88E", "Australia/Melbourne"),
    ("40.63N_74.43W", "America/New_York"),
    ("43.70N_79.40W", "America/Toronto"),
    ("34.76S_138.65E", "Australia/Adelaide"),
    ("52.5N_13.4E", "Europe/Berlin"),
];

fn samples() -> Option<Vec<PathBuf>> {
    let folder = std::env::var_os("FAIRDAY_WEATHER")?;
    let entries = fs::read_dir(Path::new(&folder).join("forecast")).unwrap();
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.unwrap().path()).collect();
    paths.retain(|path| !path.to_string_lossy().contains("headers"));
    paths.sort();
    Some(paths)
}

/// A small studio at the place of the forecast, and the moment it is asked.
fn write_studio(folder: &Path, sample: &Path) -> NaiveDateTime {
    let name = sample.file_name().unwrap().to_string_lossy().into_owned();
    let zone = ZONES
        .iter()
        .find(|(place, _)| name.contains(place))
        .unwrap()
        .1;
    let forecast = fs::read_to_string(sample).unwrap();
    let (parsed, _) = parse(&forecast, &name);
    let parsed = parsed.unwrap();
    let first: DateTime<Utc> = parsed.hours[0].start;
    let tz: chrono_tz::Tz = zone.parse().unwrap();
    let now = (first.with_timezone(&tz) + TimeDelta::hours(1)).naive_local();
    let studio = format!(
        "studio: Blue Shed\n\
         place: {{latitude_deg: {}, longitude_deg: {}, altitude_m: 20, zone: {zone}}}\n\
         today: {}\n\
         hands: 1\n\
         work:\n  - {{days: [mon, tue, wed, thu, fri, sat, sun], from: 7:00, until: 19:00}}\n\
         frames:\n  - {{name: board, inside: 45x60 cm, count: 2}}\n\
         racks: {{dark_dry_sheets: 12, wet_dry_sheets: 16}}\n\
         trays: {{inside: 45x60 cm, count: 2}}\n\
         materials:\n  rag: {{name: rag paper, kind: paper, target_dose_kj_m2: 29}}\n\
         letters: {{from: studio@example.org, person: Ina, folder: outbox}}\n\
         forecast: forecast.json\n",
        parsed.latitude_deg,
        parsed.longitude_deg,
        now.format("%Y-%m-%d %H:%M"),
    );
    fs::write(folder.join("studio.yaml"), studio).unwrap();
    fs::write(folder.join("forecast.json"), forecast).unwrap();
    for number in 1..=4 {
        let date = now.date() + TimeDelta::days(8);
        let order = format!(
            "order: {number}\ncustomer: {{name: Ada Quist, email: ada@example.org}}\n\
             ordered_on: {}\npromise: {{kind: ship_by, date: {date}}}\njurisdiction: eu\n\
             delivery: pickup\npieces:\n  - {{title: Wall, material: rag, size: A4, copies: 2, \
             negative: wall}}\n",
            now.date() - TimeDelta::days(2),
        );
        fs::write(folder.join(format!("{number}.yaml")), order).unwrap();
    }
    now
}

fn plan(folder: &Path) -> Value {
    let folder = folder.to_str().unwrap();
    let answer = crate::commands::fairday(&["plan", "--json", "--dir", folder]);
    assert_ne!(
        answer.status.code(),
        Some(2),
        "{folder}: {}",
        text(&answer.stderr)
    );
    serde_json::from_slice(&answer.stdout).unwrap()
}

#[test]
fn every_genuine_forecast_gives_a_plan_inside_its_daylight() {
    let Some(samples) = samples() else {
        eprintln!(
            "skipped: every_genuine_forecast_gives_a_plan_inside_its_daylight (FAIRDAY_WEATHER)"
        );
        return;
    };
    assert_eq!(samples.len(), 9);
    for sample in samples {
        let folder = TempDir::new().unwrap();
        let now = write_studio(folder.path(), &sample);
        let plan = plan(folder.path());
        let days = plan["days"].as_array().unwrap();
        let steps: Vec<&Value> = days
            .iter()
            .flat_map(|day| day["steps"].as_array().unwrap())
            .collect();
        let rounds: Vec<&&Value> = steps.iter().filter(|s| s["step"] == "expose").collect();
        let windows: Vec<(&str, &str)> = days
            .iter()
            .flat_map(|day| day["windows"].as_array().unwrap())
            .map(|span| {
                (
                    span["from"].as_str().unwrap(),
                    span["until"].as_str().unwrap(),
                )
            })
            .collect();
        eprintln!(
            "{}: {} rounds, {} windows",
            sample.display(),
            rounds.len(),
            windows.len()
        );
        for step in &steps {
            assert!(step["from"].as_str() >= Some(&*now.format("%Y-%m-%dT%H:%M").to_string()));
        }
        for round in &rounds {
            let at = round["light_from"].as_str().unwrap();
            assert!(
                windows
                    .iter()
                    .any(|(from, until)| (from..=until).contains(&&at)),
                "{at}"
            );
        }
        // Eight A4 sheets need rounds wherever the coming days have any window after
        // the first night of drying.
        let later = windows.iter().filter(|(_, until)| {
            *until
                > &*(now + TimeDelta::hours(24))
                    .format("%Y-%m-%dT%H:%M")
                    .to_string()
        });
        assert!(
            rounds.len() >= 2 || later.count() == 0,
            "{}",
            sample.display()
        );
    }
}
