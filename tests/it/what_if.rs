//! `fairday plan --if`: the difference of two plans, and no file touched.

use std::path::Path;
use std::process::{Command, Output};

use serde_json::Value;

fn ask(questions: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fairday"));
    command
        .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")))
        .env_clear()
        .args(["plan", "--json"]);
    for question in questions {
        command.args(["--if", question]);
    }
    command.output().unwrap()
}

fn answer(questions: &[&str]) -> Value {
    let output = ask(questions);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    serde_json::from_slice(&output.stdout).expect(&said)
}

/// The demonstration has one pair of hands and the plan ends before July.
#[test]
fn a_question_that_changes_nothing_is_answered_with_nothing() {
    let found = answer(&["hands 1", "hands 1", "frame large +0"]);
    assert_eq!(found["format"], "fairday-what-if/1");
    assert_eq!(found["moved"].as_array().unwrap().len(), 0);
    assert_eq!(found["steps_today_otherwise"], 0);
    assert!(found["steps_today"].as_u64().unwrap() > 0);
}

/// Today is the Monday on which the week is coated: without it nothing is done today,
/// and what was to leave today leaves later or not in time.
#[test]
fn a_day_off_today_takes_all_steps_of_today() {
    let found = answer(&["off 2026-05-11"]);
    assert_eq!(found["steps_today"], found["steps_today_otherwise"]);
    let moved = found["moved"].as_array().unwrap();
    assert!(!moved.is_empty());
    assert!(moved.iter().all(|moved| {
        let day = |side: &str| moved[side]["leaves_on"].as_str().unwrap_or("").to_owned();
        day("after") != "2026-05-11" && !moved["words"].as_str().unwrap().is_empty()
    }));
}

/// Uncoated today, it leaves on Wednesday or later: the colour takes a day.
#[test]
fn an_order_that_is_asked_about_is_told_when_it_would_leave() {
    let found = answer(&["order rag-300 A4 x1 by 2026-05-20"]);
    let moved = found["moved"].as_array().unwrap();
    let asked = moved
        .iter()
        .find(|moved| moved["before"].is_null())
        .unwrap();
    assert_eq!(asked["after"]["course"], "on_course");
    assert!(asked["after"]["leaves_on"].as_str().unwrap() >= "2026-05-13");
}

#[test]
fn wrong_questions_say_which_there_are() {
    for (question, said) in [
        ("sunshine", "expected one of"),
        ("frame huge +1", "there are: small, large, lamp"),
        ("off 2020-01-01", "2020-01-01 is none of them"),
        ("rain 2026-12-24", "2026-12-24 is none of them"),
        ("order felt A4 x1 by 2026-05-20", "there are:"),
        ("hands 0", "expected one of"),
    ] {
        let output = ask(&[question]);
        assert_eq!(output.status.code(), Some(2), "{question}");
        let text = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(text.contains(said), "{question}: {text}");
    }
}
