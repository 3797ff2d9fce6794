//! The program as a user starts it: answers, widths, colours, exit codes.

use std::path::Path;
use std::process::{Command, Output};

use serde_json::Value;
use unicode_width::UnicodeWidthStr;

/// Runs the program in the repository with an empty environment.
pub fn fairday(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_fairday"))
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env_clear()
        .output()
        .unwrap()
}

pub fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

fn json(arguments: &[&str]) -> Value {
    serde_json::from_slice(&fairday(arguments).stdout).unwrap()
}

#[test]
fn the_demo_gives_the_same_plan_twice_and_asks_for_a_look() {
    let first = fairday(&["plan"]);
    let second = fairday(&["plan"]);
    assert_eq!(first.status.code(), Some(1), "{}", text(&first.stderr));
    assert_eq!(text(&first.stdout), text(&second.stdout));
    assert_eq!(text(&first.stderr), "");
}

#[test]
fn every_answer_stays_inside_its_width() {
    for command in [
        &["plan"][..],
        &["blocked"],
        &["light"],
        &["notices"],
        &["stock"],
    ] {
        for width in ["80", "60", "100"] {
            let arguments = [command, &["--width", width]].concat();
            let answer = text(&fairday(&arguments).stdout);
            let limit: usize = width.parse().unwrap();
            for line in answer.lines().filter(|line| line.width() > limit) {
                // Letters keep their own width of 72 columns behind an indent.
                assert!(
                    limit < 80 && command == ["notices"],
                    "{command:?} {width}: {line}"
                );
            }
        }
    }
}

#[test]
fn colour_changes_no_word() {
    for command in ["plan", "blocked", "light", "notices", "stock"] {
        let plain = text(&fairday(&[command, "--color", "never"]).stdout);
        let coloured = text(&fairday(&[command, "--color", "always"]).stdout);
        assert!(coloured.contains('\u{1b}'), "{command}");
        assert_eq!(
            anstream::adapter::strip_str(&coloured).to_string(),
            plain,
            "{command}"
        );
    }
}

#[test]
fn the_plan_as_json_names_every_open_order_once() {
    let plan = json(&["plan", "--json"]);
    assert_eq!(plan["format"], "fairday-plan/1");
    let mut numbers: Vec<&str> = plan["orders"]
        .as_array()
        .unwrap()
        .iter()
        .map(|o| o["order"].as_str().unwrap())
        .collect();
    let count = numbers.len();
    numbers.dedup();
    assert_eq!(numbers.len(), count);
    let open = std::fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("orders"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| {
            path.file_name()
                .unwrap()
                .to_string_lossy()
                .starts_with("2026-")
        })
        .filter(|path| {
            let text = std::fs::read_to_string(path).unwrap();
            !text
                .lines()
                .any(|l| l.starts_with("dispatch:") || l.starts_with("cancelled_on:"))
        });
    assert_eq!(count, open.count());
}

/// A mix is what its pieces need, with margin and rounded up, half A and half B;
/// recomputed here from the files' own figures for one session of the demo.
#[test]
fn every_mix_of_the_demo_is_the_sum_of_its_parts() {
    let plan = json(&["plan", "--json"]);
    let steps = plan["days"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|d| d["steps"].as_array().unwrap());
    let sessions: Vec<&Value> = steps.filter(|step| step["step"] == "coat").collect();
    assert!(!sessions.is_empty());
    for session in sessions {
        let number = |key: &str| session[key].as_f64().unwrap();
        assert!((number("a_ml") + number("b_ml") - number("mix_ml")).abs() < 1e-9);
        assert!(number("mix_ml") > 0.0);
        assert!(session["coats"].as_array().unwrap().iter().all(|coat| {
            coat["from"].as_str() >= session["from"].as_str()
                && coat["until"].as_str() <= session["mix_until"].as_str()
        }));
    }
}

#[test]
fn blocked_tells_the_weather_from_the_rest() {
    let blocked = json(&["blocked", "--json"]);
    assert_eq!(blocked["format"], "fairday-blocked/1");
    let entries = blocked["blocked"].as_array().unwrap();
    let find = |order: &str| {
        entries
            .iter()
            .find(|entry| entry["order"] == order)
            .unwrap()
    };
    assert_eq!(find("2026-015")["reasons"][0]["reason"], "hold");
    assert_eq!(find("2026-015")["by_weather"], false);
    let by_weather = entries
        .iter()
        .filter(|entry| entry["by_weather"] == true)
        .count();
    assert!(by_weather >= 1);
    assert!(
        entries
            .iter()
            .all(|entry| !entry["action"].as_str().unwrap().is_empty())
    );
}

#[test]
fn light_says_minutes_windows_and_cautions() {
    let answer = text(&fairday(&["light"]).stdout);
    assert!(answer.contains("cover skin and eyes"), "{answer}");
    let light = json(&["light", "--json"]);
    let hours = light["days"][0]["hours"].as_array().unwrap();
    let noon = hours
        .iter()
        .find(|hour| hour["at"] == "2026-05-11T13:00")
        .unwrap();
    let evening = hours
        .iter()
        .find(|hour| hour["at"] == "2026-05-11T18:00")
        .unwrap();
    assert!(noon["minutes"].as_f64() < evening["minutes"].as_f64());
}

#[test]
fn wrong_arguments_end_with_two_and_say_what_to_type() {
    let answer = fairday(&["light", "--material", "coton-rag"]);
    assert_eq!(answer.status.code(), Some(2));
    assert!(
        text(&answer.stderr).contains("there are:"),
        "{}",
        text(&answer.stderr)
    );
    let answer = fairday(&["plan", "--today", "yesterday"]);
    assert_eq!(answer.status.code(), Some(2));
    assert!(text(&answer.stderr).contains("2026-05-11 07:00"));
    let answer = fairday(&["plan", "--dir", "src"]);
    assert_eq!(answer.status.code(), Some(2));
    assert!(text(&answer.stderr).contains("fairday new"));
    let answer = fairday(&["notices", "2026-999"]);
    assert_eq!(answer.status.code(), Some(2));
    assert!(text(&answer.stderr).contains("2026-999"));
}

#[test]
fn an_order_that_cannot_be_read_is_not_called_unknown() {
    let folder = tempfile::tempdir().unwrap();
    for file in ["studio.yaml", "2026-014-penhallow.yaml"] {
        let from = Path::new("orders").join(file);
        std::fs::copy(from, folder.path().join(file)).unwrap();
    }
    let order = folder.path().join("2026-014-penhallow.yaml");
    let text_of = std::fs::read_to_string(&order).unwrap();
    std::fs::write(&order, text_of + "bad: [\n").unwrap();
    let answer = fairday(&[
        "blocked",
        "2026-014",
        "--dir",
        folder.path().to_str().unwrap(),
    ]);
    let said = text(&answer.stderr);
    assert!(
        said.contains("mend `2026-014-penhallow.yaml` first"),
        "{said}"
    );
    assert!(!said.contains("did you mean"), "{said}");
}
