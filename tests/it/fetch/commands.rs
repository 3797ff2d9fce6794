//! `fairday fetch` as a user starts it: words, exit codes, and the plan after it.

use std::path::Path;
use std::process::{Command, Output};

use chrono::{DateTime, TimeDelta, Utc};

use super::server::{Reply, Server};
use super::{OLD, met_answer};
use crate::commands::text;

/// The present hour of the machine: the program has no other clock for fetching.
#[expect(
    clippy::disallowed_methods,
    reason = "the program goes by the real clock"
)]
fn now() -> DateTime<Utc> {
    Utc::now()
}

fn studio(host: &str, fetch: &str) -> String {
    format!(
        "studio: The Blue Shed
place: {{latitude_deg: 53.9, longitude_deg: -2.9, zone: Europe/London}}
frames: [{{name: large, inside: 42x52 cm}}]
racks: {{dark_dry_sheets: 4, wet_dry_sheets: 4}}
trays: {{inside: 45x60 cm}}
materials: {{rag: {{kind: paper, target_dose_kj_m2: 29}}}}
letters: {{from: studio@example.org}}
forecast: forecast.json
fetch: {{contact: maren@example.org, host: '{host}'{fetch}}}
"
    )
}

fn folder(server: &Server, fetch: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str| folder.path().join(name);
    std::fs::write(file("studio.yaml"), studio(&server.address(), fetch)).unwrap();
    std::fs::write(file("forecast.json"), OLD).unwrap();
    folder
}

fn fairday(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_fairday"))
        .args(arguments)
        .current_dir(folder)
        .env_clear()
        .output()
        .unwrap()
}

#[track_caller]
fn check(output: &Output, code: i32, said: &str) {
    let words = text(&output.stdout) + &text(&output.stderr);
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(output.status.code(), Some(code), "{words}");
    assert!(words.contains(said), "{words}");
}

fn forecast(folder: &Path) -> Vec<u8> {
    std::fs::read(folder.join("forecast.json")).unwrap()
}

#[test]
fn a_fetched_forecast_is_credited_and_used_by_the_plan() {
    let good = met_answer(now(), 72, 53.9, -2.9);
    let server = Server::start(vec![Reply::new(200, good.clone())]);
    let folder = folder(&server, "");
    let first = fairday(folder.path(), &["fetch"]);
    check(&first, 0, "A new forecast is in forecast.json, made ");
    check(&first, 0, "72 hours, to ");
    check(&first, 0, "Data from MET Norway.");
    assert_eq!(forecast(folder.path()), good);

    let second = fairday(folder.path(), &["fetch"]);
    check(
        &second,
        0,
        "The forecast in forecast.json is the newest: 127.0.0.1:",
    );
    assert_eq!(server.seen().len(), 1);

    let light = fairday(folder.path(), &["light"]);
    check(&light, 0, "Data from MET Norway, made today ");
    check(&light, 0, ", fetched today ");
}

#[test]
fn a_deprecated_service_asks_for_a_look() {
    let good = met_answer(now(), 72, 53.9, -2.9);
    let server = Server::start(vec![Reply::new(203, good)]);
    let folder = folder(&server, "");
    check(
        &fairday(folder.path(), &["fetch"]),
        1,
        "is about to go (203)",
    );
}

#[test]
fn a_refusal_says_what_to_do_and_what_stays() {
    for (status, said) in [
        (
            403,
            "does not let this caller in (403) hint: check that `contact` below `fetch`",
        ),
        (404, "knows nothing of this place or address (404)"),
        (429, "was asked too often (429) and is left in peace until "),
        (500, "is out of order (500) hint: try again later"),
    ] {
        let server = Server::start(vec![Reply::new(status, "")]);
        let folder = folder(&server, "");
        let answer = fairday(folder.path(), &["fetch"]);
        check(&answer, 2, said);
        check(
            &answer,
            2,
            "There is no forecast in forecast.json to go on with.",
        );
        assert_eq!(text(&answer.stdout), "");
        assert_eq!(forecast(folder.path()), OLD);
    }
}

#[test]
fn a_broken_answer_leaves_yesterdays_forecast_in_use_and_says_its_age() {
    let server = Server::start(vec![Reply::new(200, "<html>Please log in</html>")]);
    let folder = folder(&server, "");
    let yesterday = met_answer(now() - TimeDelta::hours(20), 96, 53.9, -2.9);
    std::fs::write(folder.path().join("forecast.json"), &yesterday).unwrap();
    let answer = fairday(folder.path(), &["fetch"]);
    check(
        &answer,
        2,
        "expected JSON, found a web page or other markup",
    );
    check(
        &answer,
        2,
        "The forecast in forecast.json stays as it was: of ",
    );
    check(&answer, 2, "20 hours old");
    assert_eq!(forecast(folder.path()), yesterday);
    // Used, and said to be old.
    let light = fairday(folder.path(), &["light"]);
    check(&light, 0, "hours old, made ");
    check(&light, 0, "Data from MET Norway, made ");
}

fn json(folder: &Path) -> (Option<i32>, serde_json::Value) {
    let output = fairday(folder, &["fetch", "--json"]);
    let answer = serde_json::from_slice(&output.stdout).unwrap();
    (output.status.code(), answer)
}

#[test]
fn programs_are_told_how_it_ended_and_what_there_is_with_its_credit() {
    let good = met_answer(now(), 72, 53.9, -2.9);
    let replies = vec![
        Reply::new(200, good.clone()).header("Last-Modified", "Mon, 11 May 2026 05:41:13 GMT"),
        Reply::new(304, ""),
        Reply::new(429, ""),
    ];
    let server = Server::start(replies);
    let folder = folder(&server, "");
    let (code, first) = json(folder.path());
    assert_eq!(
        (code, &first["format"]),
        (Some(0), &"fairday-fetch/1".into())
    );
    assert_eq!(
        (&first["outcome"], &first["status"]),
        (&"new".into(), &200.into())
    );
    assert_eq!(first["forecast"]["credit"], "Data from MET Norway");
    assert_eq!(first["forecast"]["hours"], 72);
    assert!(first["ask_again_from"].is_string() && first["why"].is_null());
    let (code, second) = json(folder.path());
    assert_eq!((code, &second["outcome"]), (Some(0), &"still_holds".into()));
    assert_eq!(second["forecast"], first["forecast"]);

    // What is remembered of the answer says that it holds no more.
    let record = folder.path().join("forecast.fetch.json");
    let text = std::fs::read_to_string(&record).unwrap();
    let mut kept: serde_json::Value = serde_json::from_str(&text).unwrap();
    kept["ask_from"] = kept["answered_at"].clone();
    std::fs::write(&record, kept.to_string()).unwrap();
    let (code, third) = json(folder.path());
    assert_eq!(
        (code, &third["outcome"]),
        (Some(0), &"unchanged".into()),
        "{third}"
    );
    std::fs::write(&record, kept.to_string()).unwrap();
    let (code, fourth) = json(folder.path());
    assert_eq!((code, &fourth["outcome"]), (Some(2), &"refused".into()));
    assert_eq!(fourth["status"], 429);
    assert!(fourth["why"].as_str().unwrap().contains("asked too often"));
    assert_eq!(forecast(folder.path()), good);
}

#[test]
fn programs_are_told_of_answers_that_were_none() {
    let server = Server::start(vec![Reply::new(200, "<html>Please log in</html>")]);
    let bench = folder(&server, "");
    let (code, broken) = json(bench.path());
    assert_eq!((code, &broken["outcome"]), (Some(2), &"unusable".into()));
    let what = broken["problems"][0]["what"].as_str().unwrap();
    assert!(what.contains("expected JSON"), "{broken}");
    assert_eq!(broken["forecast"], serde_json::Value::Null);
    assert_eq!(forecast(bench.path()), OLD);

    let server = Server::start(vec![Reply::moved("/round")]);
    let bench = folder(&server, "");
    let (code, lost) = json(bench.path());
    assert_eq!((code, &lost["outcome"]), (Some(2), &"no_answer".into()));
    assert!(
        lost["why"].as_str().unwrap().contains("sent us on"),
        "{lost}"
    );
    assert_eq!(forecast(bench.path()), OLD);
}

/// Whatever speaks of the forecast names its service, as the licences ask.
#[test]
fn every_output_that_uses_the_forecast_names_its_service() {
    let demo = crate::marks::demo();
    let path = demo.path();
    let ask = |arguments: &[&str]| {
        let today = ["--today", "2026-05-11 07:00", "--width", "300"];
        let output = fairday(path, &[arguments, &today].concat());
        text(&output.stdout)
    };
    ask(&["plan", "--keep"]);
    ask(&["expose", "2026-021"]);
    let promise = [
        "promise",
        "--material",
        "rag-300",
        "--size",
        "A4",
        "--weathers",
        "20",
    ];
    let outputs: [&[&str]; 13] = [
        &["plan"],
        &["plan", "--since"],
        &["plan", "--if", "hands 2"],
        &["blocked"],
        &["light"],
        &promise,
        &["promise", "--weathers", "20"],
        &["expose"],
        &["strip", "rag-300"],
        &["notices"],
        &["about"],
        &["sheet", "--to", "-"],
        &["calendar", "--to", "-"],
    ];
    for arguments in outputs {
        let page = ask(arguments);
        assert!(page.contains("Open-Meteo"), "{arguments:?}: {page}");
        let has_json = !["about", "sheet", "calendar"].contains(&arguments[0]);
        if has_json {
            let page = ask(&[arguments, &["--json"]].concat());
            assert!(
                page.contains("Weather data by Open-Meteo.com"),
                "{arguments:?}: {page}"
            );
        }
    }
}

#[test]
fn without_a_contact_nobody_is_asked() {
    let server = Server::start(vec![Reply::new(200, "")]);
    let folder = folder(&server, "");
    let path = folder.path().join("studio.yaml");
    let whole = std::fs::read_to_string(&path).unwrap();
    let without = whole.replace("contact: maren@example.org, ", "");
    std::fs::write(&path, without).unwrap();
    check(
        &fairday(folder.path(), &["fetch"]),
        2,
        "the key `contact` is missing",
    );
    let lines: Vec<&str> = whole
        .lines()
        .filter(|line| !line.starts_with("fetch"))
        .collect();
    std::fs::write(&path, lines.join("\n")).unwrap();
    check(
        &fairday(folder.path(), &["fetch"]),
        2,
        "add `fetch: {contact: ADDRESS}`",
    );
    assert_eq!(server.seen().len(), 0);
}

#[test]
fn a_key_comes_from_the_environment_alone() {
    let good = met_answer(now(), 72, 53.9, -2.9);
    let server = Server::start(vec![Reply::new(200, good)]);
    let folder = folder(&server, ", service: open_meteo, key_env: OPEN_METEO_KEY");
    let answer = fairday(folder.path(), &["fetch"]);
    check(
        &answer,
        2,
        "the environment variable `OPEN_METEO_KEY`, which holds your key, is not",
    );
    assert_eq!(server.seen().len(), 0);
    let answer = Command::new(env!("CARGO_BIN_EXE_fairday"))
        .arg("fetch")
        .current_dir(folder.path())
        .env_clear()
        .env("OPEN_METEO_KEY", "s3cret")
        .output()
        .unwrap();
    check(&answer, 0, "A new forecast");
    assert!(server.seen()[0].contains("&apikey=s3cret "));
    assert!(!text(&answer.stdout).contains("s3cret"));
}

#[test]
fn declared_use_of_open_meteo_is_said_each_time() {
    let good = met_answer(now(), 72, 53.9, -2.9);
    let server = Server::start(vec![Reply::new(200, good)]);
    let folder = folder(&server, ", service: open_meteo, non_commercial: yes");
    check(
        &fairday(folder.path(), &["fetch"]),
        0,
        "You have declared that you sell nothing",
    );
}

/// Permissions stop nobody who may do everything, so the program is started as
/// somebody who may not.
#[cfg(unix)]
#[test]
fn a_folder_that_takes_no_file_keeps_its_forecast() {
    use std::os::unix::fs::{MetadataExt, PermissionsExt};
    use std::os::unix::process::CommandExt;
    const NOBODY: u32 = 65_534;
    let good = met_answer(now(), 72, 53.9, -2.9);
    let server = Server::start(vec![Reply::new(200, good)]);
    let folder = folder(&server, "");
    let modes = |mode| std::fs::Permissions::from_mode(mode);
    std::fs::set_permissions(folder.path(), modes(0o555)).unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_fairday"));
    command.arg("fetch").current_dir(folder.path()).env_clear();
    if std::fs::metadata(folder.path()).unwrap().uid() == 0 {
        command.uid(NOBODY).gid(NOBODY);
    }
    let answer = command.output();
    std::fs::set_permissions(folder.path(), modes(0o755)).unwrap();
    match answer {
        Ok(answer) => check(&answer, 2, "error: writing `./forecast.json`"),
        Err(refused) => {
            #[expect(clippy::print_stderr, reason = "a skipped test must say so")]
            {
                eprintln!("skipped: a_folder_that_takes_no_file_keeps_its_forecast, {refused}");
            }
        }
    }
    assert_eq!(forecast(folder.path()), OLD);
}
