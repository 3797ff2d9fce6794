//! A day with the program, on a copy of the demo: marking, remaking, sending.

use std::fs;
use std::path::Path;
use std::process::Output;

use tempfile::TempDir;

use crate::commands::{fairday, text};

fn copy_of_the_demo() -> TempDir {
    let copy = TempDir::new().unwrap();
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("orders");
    for entry in fs::read_dir(demo).unwrap().map(Result::unwrap) {
        if entry.file_type().unwrap().is_file() {
            fs::copy(entry.path(), copy.path().join(entry.file_name())).unwrap();
        }
    }
    copy
}

fn run(folder: &TempDir, arguments: &[&str]) -> Output {
    fairday(&[arguments, &["--dir", folder.path().to_str().unwrap()]].concat())
}

fn read(folder: &TempDir, file: &str) -> String {
    fs::read_to_string(folder.path().join(file)).unwrap()
}

/// Lines that are in `new` and not in `old`, and the other way round.
fn difference(old: &str, new: &str) -> (Vec<String>, Vec<String>) {
    let only = |one: &str, other: &str| {
        let other: Vec<&str> = other.lines().collect();
        one.lines()
            .filter(|line| !other.contains(line))
            .map(str::to_owned)
            .collect()
    };
    (only(new, old), only(old, new))
}

#[test]
fn a_mark_adds_one_line_and_changes_no_other() {
    let folder = copy_of_the_demo();
    let before = read(&folder, "2026-020-dunmore.yaml");
    let answer = run(
        &folder,
        &["mark", "washed", "2026-020/1,2", "--at", "06:50"],
    );
    assert_eq!(answer.status.code(), Some(0), "{}", text(&answer.stderr));
    assert_eq!(
        text(&answer.stdout),
        "2026-020/1,2 washed 06:50, next: finishing (2026-020-dunmore.yaml)\n"
    );
    let (added, gone) = difference(&before, &read(&folder, "2026-020-dunmore.yaml"));
    assert_eq!(
        added,
        ["      - {at: 2026-05-11 06:50, did: washed, copies: [1, 2]}"]
    );
    assert!(gone.is_empty());
}

#[test]
fn a_closed_gate_writes_nothing_and_says_when_it_opens() {
    let folder = copy_of_the_demo();
    let before = read(&folder, "2026-023-fairbairn.yaml");
    let answer = run(&folder, &["mark", "finished", "2026-023/1-3"]);
    assert_eq!(answer.status.code(), Some(2));
    // Washed on Sunday at 13:25; 24 h for the colour.
    assert!(
        text(&answer.stderr).contains("2026-05-11 13:25"),
        "{}",
        text(&answer.stderr)
    );
    assert_eq!(read(&folder, "2026-023-fairbairn.yaml"), before);
}

#[test]
fn nothing_is_exposed_before_it_is_coated_and_dry() {
    let folder = copy_of_the_demo();
    for target in ["2026-029", "2026-016"] {
        let first = run(&folder, &["mark", "washed", target]);
        assert_eq!(first.status.code(), Some(2), "{target}");
    }
    run(&folder, &["mark", "coated", "2026-029", "--at", "06:30"]);
    let answer = run(&folder, &["mark", "exposed", "2026-029"]);
    assert_eq!(answer.status.code(), Some(2), "{}", text(&answer.stdout));
    assert!(
        text(&answer.stderr).contains("12:30"),
        "{}",
        text(&answer.stderr)
    );
}

#[test]
fn a_remake_keeps_the_piece_and_its_story() {
    let folder = copy_of_the_demo();
    let answer = run(&folder, &["remake", "2026-023/1", "--reason", "washed out"]);
    assert_eq!(answer.status.code(), Some(0), "{}", text(&answer.stderr));
    let file = read(&folder, "2026-023-fairbairn.yaml");
    assert!(
        file.contains("did: remake, copies: [1], reason: washed out"),
        "{file}"
    );
    assert!(file.contains("did: washed, copies: [1, 2, 3]"), "{file}");
    let again = run(&folder, &["remake", "2026-023/1", "--reason", "again"]);
    assert_eq!(again.status.code(), Some(2));
}

#[test]
fn shipping_is_told_once_and_the_order_leaves_the_plan() {
    let folder = copy_of_the_demo();
    let answer = run(
        &folder,
        &["mark", "shipped", "2026-013", "--tracking", "PL 77"],
    );
    assert_eq!(answer.status.code(), Some(0), "{}", text(&answer.stderr));
    assert!(!text(&run(&folder, &["plan", "--json"]).stdout).contains("2026-013"));
    let notices = text(&run(&folder, &["notices", "2026-013"]).stdout);
    assert!(notices.contains("PL 77"), "{notices}");
    run(&folder, &["send"]);
    let notices = text(&run(&folder, &["notices", "2026-013"]).stdout);
    assert!(notices.contains("Nobody has to be told"), "{notices}");
}

#[test]
fn a_second_run_sends_nothing_again() {
    let folder = copy_of_the_demo();
    let mails = |folder: &TempDir| {
        let sent = folder.path().join("outbox/sent");
        let mut names: Vec<String> = fs::read_dir(sent)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    };
    let first = run(&folder, &["send"]);
    assert_eq!(first.status.code(), Some(1), "{}", text(&first.stderr));
    let sent = mails(&folder);
    assert!(sent.len() >= 3, "{sent:?}");
    let second = text(&run(&folder, &["send"]).stdout);
    assert_eq!(mails(&folder), sent);
    assert!(second.contains("0 letters"), "{second}");
    // Should the note in an order file get lost, the outbox still knows.
    let file = read(&folder, "2026-017-okafor.yaml");
    let without: Vec<&str> = file
        .lines()
        .filter(|line| !line.contains("kind: delayed"))
        .collect();
    assert!(without.len() < file.lines().count());
    fs::write(
        folder.path().join("2026-017-okafor.yaml"),
        without.join("\n") + "\n",
    )
    .unwrap();
    run(&folder, &["send"]);
    assert_eq!(mails(&folder), sent);
    assert!(read(&folder, "2026-017-okafor.yaml").contains("kind: delayed"));
}

#[test]
fn addresses_are_masked_on_every_screen() {
    let folder = copy_of_the_demo();
    for arguments in [&["notices"][..], &["notices", "--json"], &["send"]] {
        let answer = run(&folder, arguments);
        assert!(
            !text(&answer.stdout).contains("ben@example.org"),
            "{arguments:?}"
        );
        assert!(
            !text(&answer.stderr).contains("ben@example.org"),
            "{arguments:?}"
        );
    }
}

#[test]
fn a_slip_of_the_pen_is_met_with_what_was_meant() {
    let folder = copy_of_the_demo();
    let say = |arguments: &[&str]| text(&run(&folder, arguments).stderr);
    assert!(say(&["mark", "exposd", "2026-021"]).contains("did you mean `exposed`?"));
    assert!(say(&["mark", "coated", "2026-0299"]).contains("did you mean `2026-029`?"));
    assert!(say(&["mark", "coated", "2026-029/7"]).contains("there is no piece 7"));
    assert!(say(&["mark", "coated", "2026-029/x"]).contains("such as 2026-012/1-3,5"));
    assert!(say(&["mark", "coated", "2026-029", "--at", "23:50"]).contains("later than now"));
    assert!(say(&["mark", "coated", "2026-029", "--minutes", "4"]).contains("goes with `exposed`"));
}

#[test]
fn a_new_studio_reads_without_a_problem_and_is_never_overwritten() {
    let folder = TempDir::new().unwrap();
    let new = folder.path().join("studio");
    let new = new.to_str().unwrap();
    let answer = fairday(&["new", new, "--today", "2026-05-11"]);
    assert_eq!(answer.status.code(), Some(0), "{}", text(&answer.stderr));
    let plan = fairday(&["plan", "--dir", new, "--today", "2026-05-11 07:00"]);
    assert_ne!(plan.status.code(), Some(2), "{}", text(&plan.stderr));
    // All that a new studio lacks is its forecast.
    let problems = text(&plan.stderr);
    assert!(problems.contains("no forecast is named"), "{problems}");
    assert_eq!(problems.matches("hint:").count(), 1, "{problems}");
    assert!(
        !text(&plan.stdout).contains("expose"),
        "{}",
        text(&plan.stdout)
    );
    let before = fs::read_to_string(folder.path().join("studio/studio.yaml")).unwrap();
    let again = fairday(&["new", new]);
    assert_eq!(again.status.code(), Some(2));
    assert!(text(&again.stderr).contains("exists already"));
    assert_eq!(
        fs::read_to_string(folder.path().join("studio/studio.yaml")).unwrap(),
        before
    );
}

#[test]
fn without_a_forecast_nobody_is_told_that_the_weather_is_to_blame() {
    let folder = copy_of_the_demo();
    let studio = read(&folder, "studio.yaml").replace("forecast.json", "gone.json");
    fs::write(folder.path().join("studio.yaml"), studio).unwrap();
    let blocked = text(&run(&folder, &["blocked"]).stdout);
    assert!(
        blocked.contains("Blocked because there is no forecast"),
        "{blocked}"
    );
    assert!(!blocked.contains("Blocked by weather"), "{blocked}");
    let notices = run(&folder, &["notices"]);
    assert!(
        !text(&notices.stdout).contains("delayed"),
        "{}",
        text(&notices.stdout)
    );
    assert!(
        text(&notices.stderr).contains("kept back"),
        "{}",
        text(&notices.stderr)
    );
}

#[test]
fn steps_with_a_pause_between_them_stand_in_rows_of_their_own() {
    let plan = fairday(&["plan", "--json"]);
    let plan: serde_json::Value = serde_json::from_slice(&plan.stdout).unwrap();
    let page = text(&fairday(&["plan", "--days", "30"]).stdout);
    for day in plan["days"].as_array().unwrap() {
        for step in day["steps"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|s| s["step"] == "wash")
        {
            let time = |key: &str| step[key].as_str().unwrap()[11..].to_owned();
            let row = format!("{}–{}  wash", time("from"), time("until"));
            assert!(page.contains(&row), "{row}\n{page}");
        }
    }
}
