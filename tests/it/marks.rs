//! `mark` at the frame and after it: light counted, verdicts kept, nothing else touched.

use std::fs;
use std::path::Path;

use crate::commands::{fairday, text};

/// A copy of the demonstration.
pub fn demo() -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("orders");
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        fs::copy(&path, dir.path().join(path.file_name().unwrap())).unwrap();
    }
    dir
}

/// Runs a command in a folder at a moment; returns exit code, answer, remarks.
pub fn run(dir: &Path, today: &str, arguments: &[&str]) -> (i32, String, String) {
    let folder = dir.to_str().unwrap();
    let all = [arguments, &["--dir", folder, "--today", today]].concat();
    let output = fairday(&all);
    let code = output.status.code().unwrap();
    (code, text(&output.stdout), text(&output.stderr))
}

const FILE: &str = "2026-021-lindqvist.yaml";

fn progress(dir: &Path) -> Vec<String> {
    let text = fs::read_to_string(dir.join(FILE)).unwrap();
    let lines = text.lines().filter(|line| line.contains("did:"));
    lines.map(|line| line.trim().to_owned()).collect()
}

/// By hand: at this place a clear noon in May gives some 52 W/m², so twelve minutes
/// 37 kJ/m², and 29 are there after 9.3.
#[test]
fn minutes_become_a_dose_by_the_sky_of_the_day() {
    let dir = demo();
    let mark = ["mark", "exposed", "2026-021", "--minutes", "12"];
    assert_eq!(run(dir.path(), "2026-05-11 12:53", &mark).0, 0);
    assert_eq!(
        progress(dir.path())[1],
        "- {at: 2026-05-11 12:53, did: exposed, minutes: 12, planned_minutes: 9.3, \
         dose_kj_m2: 37.43, dose_spread: 0.15}"
    );
    let dir = demo();
    let overcast = [&mark[..], &["--sky", "overcast"]].concat();
    assert_eq!(run(dir.path(), "2026-05-11 12:53", &overcast).0, 0);
    let line = progress(dir.path())[1].clone();
    assert!(line.contains("dose_spread: 0.35"), "{line}");
    let dose = line.split("dose_kj_m2: ").nth(1).unwrap();
    let dose: f64 = dose.split(',').next().unwrap().parse().unwrap();
    // 0.31 of the clear light; the forecast had some haze.
    assert!((11.0..13.5).contains(&dose), "{line}");
}

#[test]
fn a_verdict_teaches_the_dose_and_touches_one_line() {
    let dir = demo();
    let path = dir.path();
    let dose = |today: &str| {
        let (_, answer, _) = run(path, today, &["light", "--json"]);
        let json: serde_json::Value = serde_json::from_str(&answer).unwrap();
        (
            json["dose"]["kj_m2"].as_f64().unwrap(),
            json["dose"]["prints"].as_u64().unwrap(),
        )
    };
    assert_eq!(dose("2026-05-11 12:53"), (29.0, 0));
    run(
        path,
        "2026-05-11 12:53",
        &["mark", "exposed", "2026-021", "--minutes", "12"],
    );
    assert_eq!(dose("2026-05-11 12:53"), (29.0, 0));
    let before = fs::read_to_string(path.join(FILE)).unwrap();
    let (code, answer, _) = run(
        path,
        "2026-05-12 09:00",
        &["mark", "judged", "2026-021/1", "--verdict", "good"],
    );
    assert_eq!(code, 0);
    assert!(answer.contains("2026-021/1 judged good"), "{answer}");
    let after = fs::read_to_string(path.join(FILE)).unwrap();
    let line = "      - {at: 2026-05-12 09:00, did: judged, copies: [1], verdict: good}\n";
    assert_eq!(after.replace(line, ""), before);
    let again = ["mark", "judged", "2026-021/1", "--verdict", "good"];
    let (code, _, remarks) = run(path, "2026-05-12 09:05", &again);
    assert_eq!(code, 2);
    assert!(remarks.contains("is judged `good` already"), "{remarks}");
    let (median, prints) = dose("2026-05-12 09:00");
    assert_eq!(prints, 1);
    // Between the 29 of the file and the 37.4 that were good.
    assert!((31.0..37.4).contains(&median), "{median}");
}

#[test]
fn a_failed_try_is_judged_with_its_remake() {
    let dir = demo();
    let path = dir.path();
    run(
        path,
        "2026-05-11 12:53",
        &["mark", "exposed", "2026-021", "--minutes", "5"],
    );
    let remake = [
        "remake",
        "2026-021/2",
        "--reason",
        "too short",
        "--verdict",
        "pale",
    ];
    let (code, _, remarks) = run(path, "2026-05-12 09:00", &remake);
    assert_eq!((code, remarks.as_str()), (0, ""));
    assert_eq!(
        progress(path)[2..],
        [
            "- {at: 2026-05-12 09:00, did: judged, copies: [2], verdict: pale}",
            "- {at: 2026-05-12 09:00, did: remake, copies: [2], reason: too short}",
        ]
    );
    let (_, _, remarks) = run(path, "2026-05-12 09:00", &["light"]);
    assert_eq!(remarks, "");
    // A second verdict has nothing to speak of any more.
    let again = ["mark", "judged", "2026-021/2", "--verdict", "pale"];
    let (code, _, remarks) = run(path, "2026-05-12 09:01", &again);
    assert_eq!(code, 2);
    assert!(remarks.contains("is not exposed"), "{remarks}");
}

#[test]
fn wrong_words_say_which_are_known() {
    let dir = demo();
    for (arguments, wanted) in [
        (&["mark", "judged", "2026-021"][..], "--verdict pale"),
        (
            &["mark", "judged", "2026-021", "--verdict", "dark"],
            "did you mean `deep`",
        ),
        (&["mark", "jugded", "2026-021"], "did you mean `judged`"),
        (
            &["mark", "exposed", "2026-021", "--sky", "overcats"],
            "did you mean `overcast`",
        ),
        (
            &["mark", "coated", "2026-021", "--verdict", "good"],
            "`--verdict` goes with",
        ),
    ] {
        let (code, _, remarks) = run(dir.path(), "2026-05-11 12:53", arguments);
        assert_eq!(code, 2, "{arguments:?}");
        assert!(remarks.contains(wanted), "{arguments:?}: {remarks}");
    }
    assert_eq!(progress(dir.path()).len(), 1);
}

#[test]
fn a_wash_hours_after_the_light_is_remarked_and_one_in_time_is_not() {
    let dir = demo();
    let exposed = ["mark", "exposed", "2026-021", "--minutes", "12"];
    assert_eq!(run(dir.path(), "2026-05-11 12:53", &exposed).0, 0);
    let washed = ["mark", "washed", "2026-021"];
    let (code, answer, remark) = run(dir.path(), "2026-05-11 18:15", &washed);
    assert_eq!(code, 0, "{remark}");
    assert!(answer.contains("washed"), "{answer}");
    let remark = remark.split_whitespace().collect::<Vec<_>>().join(" ");
    let said = "2026-021/1,2 lay 5 h 10 min between the light and the wash; you mean to wash \
                within 45 min (`minutes: {wash_within: 45}`). If it was washed sooner, correct \
                `at` in `2026-021-lindqvist.yaml`; if not, look for stains in the whites before \
                it is finished.";
    assert_eq!(remark, said);
    let dir = demo();
    assert_eq!(run(dir.path(), "2026-05-11 12:53", &exposed).0, 0);
    let (code, _, remark) = run(dir.path(), "2026-05-11 13:10", &washed);
    assert_eq!((code, remark.as_str()), (0, ""));
}

#[test]
fn minutes_beyond_a_day_are_refused_in_a_line() {
    let dir = demo();
    for typed in ["1e308", "1441", "0"] {
        let mark = ["mark", "exposed", "2026-021", "--minutes", typed];
        let (code, _, remark) = run(dir.path(), "2026-05-11 12:53", &mark);
        assert_eq!(code, 2, "{remark}");
        let said = format!("error: `--minutes {typed}`: expected minutes in the light");
        assert!(remark.starts_with(&said) && remark.len() < 140, "{remark}");
    }
    let mark = ["mark", "exposed", "2026-021", "--minutes", "nan"];
    let (code, _, remark) = run(dir.path(), "2026-05-11 12:53", &mark);
    assert_eq!(code, 2);
    assert!(remark.contains("expected a number"), "{remark}");
}

/// The present has parts of a second, and what is noted of it must read back.
#[test]
fn what_is_marked_without_a_time_is_marked_now() {
    let dir = tempfile::tempdir().unwrap();
    let folder = dir.path().join("studio");
    let folder = folder.to_str().unwrap();
    assert_eq!(fairday(&["new", folder]).status.code(), Some(0));
    let marked = fairday(&["mark", "coated", "2026-001", "--dir", folder]);
    assert_eq!(marked.status.code(), Some(0), "{}", text(&marked.stderr));
    let order = Path::new(folder).join("2026-001-lindqvist.yaml");
    let order = fs::read_to_string(order).unwrap();
    assert_eq!(order.matches("did: coated").count(), 1, "{order}");
}
