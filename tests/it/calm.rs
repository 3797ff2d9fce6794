//! Planning again leaves the day alone: measured on the demonstration, through the
//! program, after small changes to a copy of its folder.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::commands::{fairday, text};

/// A copy of the demonstration with a plan to go by.
pub fn kept_demo() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let studio = folder.path().join("studio");
    copy(Path::new("orders"), &studio);
    let kept = run(&studio, &["plan", "--keep"]);
    assert!(studio.join("kept-plan.json").exists(), "{kept}");
    (folder, studio)
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        match entry.file_type().unwrap().is_dir() {
            true => copy(&entry.path(), &target),
            false => drop(fs::copy(entry.path(), target).unwrap()),
        }
    }
}

pub fn run(studio: &Path, arguments: &[&str]) -> String {
    let dir = studio.to_str().unwrap();
    let answer = fairday(&[arguments, &["--dir", dir]].concat());
    text(&answer.stdout) + &text(&answer.stderr)
}

pub fn since(studio: &Path) -> Value {
    let dir = studio.to_str().unwrap();
    let answer = fairday(&["plan", "--since", "--json", "--dir", dir]);
    serde_json::from_slice(&answer.stdout).unwrap_or_else(|_| panic!("{}", text(&answer.stderr)))
}

/// What makes the sky of the demonstration's forecast.
const SKY: &[&str] = &["cloud", "probability", "shortwave"];

/// Multiplies everything in the forecast whose key holds one of `names`.
fn nudge(studio: &Path, names: &[&str], factor: f64) {
    let path = studio.join("forecast.json");
    let mut forecast: Value = serde_json::from_slice(&fs::read(&path).unwrap()).unwrap();
    fn walk(value: &mut Value, names: &[&str], sky: bool, factor: f64) {
        match value {
            Value::Object(map) => {
                for (key, value) in map.iter_mut().filter(|(key, _)| *key != "hourly_units") {
                    let sky = names.iter().any(|name| key.contains(name));
                    walk(value, names, sky, factor);
                }
            }
            Value::Array(list) => list
                .iter_mut()
                .for_each(|value| walk(value, names, sky, factor)),
            Value::Number(number) if sky => {
                let top = if number.as_f64().unwrap() <= 100.0 {
                    100.0
                } else {
                    1e9
                };
                *value = (number.as_f64().unwrap() * factor).min(top).into();
            }
            _ => {}
        }
    }
    walk(&mut forecast, names, false, factor);
    fs::write(&path, serde_json::to_vec(&forecast).unwrap()).unwrap();
}

#[test]
fn without_a_change_no_near_step_moves() {
    let (_folder, studio) = kept_demo();
    let found = since(&studio);
    // Thinking on may bring an order forward on later days, and never upset the near ones.
    assert_eq!(found["steps"].as_array().unwrap().len(), 0, "{found}");
    assert_eq!(found["stayed"], found["of"], "{found}");
    assert!(found["of"].as_u64().unwrap() >= 10, "{found}");
}

/// Measured over six seeds: 96.0 in 100 steps, 19 to 24 of 23 or 24; with this one 19, 23,
/// 23 and 23 of 23.
#[test]
fn a_forecast_five_percent_off_keeps_most_near_steps() {
    let (mut stayed, mut of) = (0, 0);
    for factor in [0.95, 0.97, 1.03, 1.05] {
        let (_folder, studio) = kept_demo();
        nudge(&studio, SKY, factor);
        let found = since(&studio);
        let count = |key: &str| found[key].as_u64().unwrap();
        assert!(count("stayed") * 4 >= count("of") * 3, "{factor}: {found}");
        stayed += count("stayed");
        of += count("of");
    }
    assert!(stayed * 10 >= of * 9, "{stayed} of {of}");
}

#[test]
fn a_marked_piece_keeps_the_rest_of_the_day() {
    let (_folder, studio) = kept_demo();
    let marked = run(
        &studio,
        &["mark", "2026-020/1,2", "washed", "--at", "2026-05-11 07:10"],
    );
    assert!(marked.contains("2026-020"), "{marked}");
    let found = since(&studio);
    let (stayed, of) = (
        found["stayed"].as_u64().unwrap(),
        found["of"].as_u64().unwrap(),
    );
    assert!(stayed * 20 >= of * 19, "{stayed} of {of}: {found}");
}

#[test]
fn a_storm_moves_what_must_move_and_says_why() {
    let (_folder, studio) = kept_demo();
    nudge(&studio, &["gusts"], 5.0);
    let words = run(&studio, &["plan", "--since", "--width", "200"]);
    assert!(
        words.contains("sky or wind do not allow that start"),
        "{words}"
    );
    assert!(
        words.contains("instead of") || words.contains("no more"),
        "{words}"
    );
}

#[test]
fn what_is_not_kept_cannot_be_compared_and_says_how() {
    let answer = fairday(&["plan", "--since"]);
    assert_eq!(answer.status.code(), Some(2));
    assert!(text(&answer.stderr).contains("fairday plan --keep"));
}

#[test]
fn a_new_order_and_a_lost_day_are_told() {
    let (_folder, studio) = kept_demo();
    let any = fs::read_dir(&studio).unwrap().find_map(|entry| {
        let path = entry.unwrap().path();
        let name = path.file_name()?.to_str()?.to_owned();
        (name.starts_with("2026-") && name.ends_with(".yaml")).then_some(path)
    });
    fs::remove_file(any.unwrap()).unwrap();
    let words = run(&studio, &["plan", "--since"]);
    assert!(words.contains("what changed"), "{words}");
    assert!(
        words.contains("is no longer open") || words.contains("Every order"),
        "{words}"
    );
}

#[test]
fn a_broken_note_is_named_with_what_to_do() {
    let (_folder, studio) = kept_demo();
    fs::write(studio.join("kept-plan.json"), "{}").unwrap();
    let words = run(&studio, &["plan"]);
    assert!(
        words.contains("kept-plan.json") && words.contains("--keep"),
        "{words}"
    );
}
