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
