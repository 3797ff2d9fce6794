//! Skies that nobody forecast, and the sun at a strip that lies out long, or at night.

use std::fs;
use std::path::Path;

use chrono::{NaiveDateTime, TimeDelta};
use serde_json::Value;

use crate::marks::{demo, run};

const CLEAR_TAKEN: &str = "The forecast does not cover that time, so a clear sky is taken.";

fn said(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn strip(dir: &Path, arguments: &[&str]) -> (Value, String) {
    let all = [&["strip"], arguments].concat();
    let (_, page, remarks) = run(dir, "2026-05-11 07:00", &all);
    let (_, answer, _) = run(dir, "2026-05-11 07:00", &[&all[..], &["--json"]].concat());
    let answer = serde_json::from_str(&answer).unwrap_or_else(|_| panic!("{remarks}"));
    (answer, said(&page))
}

/// Leaves the first day of the forecast out, as a fresh one would.
fn forecast_from_tomorrow(dir: &Path) {
    let file = dir.join("forecast.json");
    let mut forecast: Value = serde_json::from_str(&fs::read_to_string(&file).unwrap()).unwrap();
    for column in forecast["hourly"].as_object_mut().unwrap().values_mut() {
        column.as_array_mut().unwrap().drain(..24);
    }
    fs::write(&file, forecast.to_string()).unwrap();
}

#[test]
fn a_strip_noted_later_says_that_a_clear_sky_was_taken() {
    let read = [
        "strip",
        "rag-300",
        "--at",
        "2026-05-11 12:40",
        "--minutes",
        "4,5.5,8,11.5,16",
        "--best",
        "3",
    ];
    let answer = |fresh: bool, more: &[&str]| {
        let dir = demo();
        if fresh {
            forecast_from_tomorrow(dir.path());
        }
        let all = [&read[..], more].concat();
        let (code, answer, remarks) = run(dir.path(), "2026-05-12 09:00", &all);
        assert!(code <= 1, "{remarks}");
        (code, said(&answer))
    };
    let (code, guessed) = answer(true, &[]);
    assert!(guessed.contains(CLEAR_TAKEN), "{guessed}");
    assert!(guessed.contains("again with --sky"), "{guessed}");
    assert_eq!(code, 1);
    for (fresh, more) in [(true, &["--sky", "clear"][..]), (false, &[])] {
        let (code, known) = answer(fresh, more);
        assert!(!known.contains("clear sky is taken"), "{known}");
        assert_eq!(code, 0);
    }
}

#[test]
fn an_exposure_noted_later_says_that_a_clear_sky_was_taken() {
    let remarks = |fresh: bool, done: &[&str]| {
        let dir = demo();
        if fresh {
            forecast_from_tomorrow(dir.path());
        }
        let mark = ["mark", "exposed", "2026-021", "--at", "2026-05-11 12:53"];
        let all = [&mark[..], &["--minutes", "12"], done].concat();
        let (code, _, remarks) = run(dir.path(), "2026-05-12 09:00", &all);
        assert_eq!(code, 0, "{remarks}");
        said(&remarks)
    };
    let guessed = remarks(true, &[]);
    assert!(
        guessed.contains(&format!("2026-021/1,2: {CLEAR_TAKEN}")),
        "{guessed}"
    );
    let again = "fairday mark exposed 2026-021/1,2 --at \"2026-05-11 12:53\" --minutes 12 --sky";
    assert!(guessed.contains(again), "{guessed}");
    for (fresh, done) in [(true, &["--sky", "overcast"][..]), (false, &[])] {
        let known = remarks(fresh, done);
        assert!(!known.contains("clear sky"), "{known}");
    }
}

#[test]
fn a_strip_planned_beyond_the_forecast_says_that_a_clear_sky_is_taken() {
    let dir = demo();
    let (beyond, page) = strip(dir.path(), &["rag-300", "--at", "2026-05-26 12:00"]);
    assert_eq!(beyond["clear_sky_taken"], true);
    assert!(
        page.contains(CLEAR_TAKEN) && page.contains("--sky"),
        "{page}"
    );
    let (within, page) = strip(dir.path(), &["rag-300", "--at", "12:40"]);
    assert_eq!(within["clear_sky_taken"], false);
    assert!(!page.contains("clear sky"), "{page}");
}

/// Early the index is below three; the cloth lies out for hours and meets it, the paper
/// does not.
#[test]
fn uv_is_minded_over_the_whole_strip() {
    let dir = demo();
    let of = |material: &str| strip(dir.path(), &[material, "--at", "08:15"]);
    let (short, page) = of("rag-300");
    assert!(short["uv_index"].as_f64().unwrap() < 3.0, "{short}");
    assert!(!page.contains("WHO"), "{page}");
    let (long, page) = of("linen-170");
    assert!(long["uv_index"].as_f64().unwrap() >= 3.0, "{long}");
    assert!(
        page.contains("from 3 on the WHO asks for protection"),
        "{page}"
    );
}

/// By hand, sin h = sin φ sin δ + cos φ cos δ cos t: at 53.9° N with a declination of
/// 18.1° on 12 May (almanac, from memory) the sun stands 5° high 7 h 8 min from its noon,
/// which at 2.9° W is at 13:08 summer time; with refraction a minute or two more.
#[test]
fn at_night_a_strip_says_when_the_sun_is_high_enough() {
    let dir = demo();
    let (night, page) = strip(dir.path(), &["rag-300", "--at", "23:00"]);
    assert_eq!(night["steps"].as_array().unwrap().len(), 0);
    assert!(page.contains("the sun is down"), "{page}");
    assert!(!page.contains("begin earlier"), "{page}");
    for (key, expected) in [("from", "2026-05-12T06:00"), ("until", "2026-05-12T20:16")] {
        let told = night["sun_high_enough"][key].as_str().unwrap();
        let parse = |text: &str| NaiveDateTime::parse_from_str(text, "%Y-%m-%dT%H:%M").unwrap();
        let off = parse(&told[..16]) - parse(expected);
        assert!(off.abs() <= TimeDelta::minutes(5), "{key}: {told}");
    }
    let typed = page
        .split("--at \"")
        .nth(1)
        .and_then(|rest| rest.split('"').next());
    let (day, page) = strip(dir.path(), &["rag-300", "--at", typed.unwrap()]);
    assert!(!day["steps"].as_array().unwrap().is_empty(), "{page}");
    assert!(day["sun_high_enough"].is_null(), "{day}");
    let (_, page) = strip(dir.path(), &["rag-300", "--at", "05:30"]);
    assert!(page.contains("the sun is too low"), "{page}");
}
