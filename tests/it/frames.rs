//! `expose --frame`: what a frame takes, and what a word about one frame touches.

use std::path::Path;

use serde_json::Value;

use crate::marks::{demo, run};

const NOON: &str = "2026-05-11 12:41";

fn refused(dir: &Path, arguments: &[&str]) -> String {
    let before = std::fs::read(dir.join("exposing.json")).ok();
    let (code, _, remarks) = run(dir, NOON, arguments);
    assert_eq!(code, 2, "{arguments:?}: {remarks}");
    let after = std::fs::read(dir.join("exposing.json")).ok();
    assert_eq!(after, before, "{arguments:?}");
    remarks.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn begin(dir: &Path, pieces: &str, frame: &str) {
    let (code, _, remarks) = run(dir, NOON, &["expose", pieces, "--frame", frame]);
    assert!(code <= 1, "{pieces} in {frame}: {remarks}");
}

#[test]
fn a_frame_takes_only_pieces_for_its_light() {
    let dir = demo();
    let path = dir.path();
    let sun = refused(path, &["expose", "2026-021", "--frame", "lamp"]);
    assert!(
        sun.contains("2026-021/1 is to be exposed in the sun"),
        "{sun}"
    );
    assert!(sun.contains("`--frame small` or `--frame large`"), "{sun}");
    let lamp = refused(path, &["expose", "2026-020/3", "--frame", "small"]);
    assert!(
        lamp.contains("2026-020/3 is promised under the lamp"),
        "{lamp}"
    );
    assert!(lamp.contains("`--frame lamp`"), "{lamp}");
    begin(path, "2026-020/3", "lamp");
    begin(path, "2026-021", "small");
}

/// By hand from the demonstration: a cloth of 508 × 610 mm, frames of 310 × 435 and of
/// 540 × 640 mm.
#[test]
fn a_frame_takes_only_pieces_that_fit_inside() {
    let dir = demo();
    let path = dir.path();
    let remarks = refused(path, &["expose", "2026-018", "--frame", "small"]);
    assert!(remarks.contains("does not fit into `small`"), "{remarks}");
    assert!(
        remarks.contains("it goes into `--frame large`"),
        "{remarks}"
    );
    begin(path, "2026-018", "large");
}

/// By hand from the demonstration: two small frames of 310 × 435 mm, each for two A4
/// side by side with 5 mm between them (425 × 297 mm) or one A3; one large frame.
#[test]
fn no_more_goes_into_frames_than_there_are() {
    let dir = demo();
    let path = dir.path();
    begin(path, "2026-018", "large");
    let remarks = refused(path, &["expose", "2026-021", "--frame", "large"]);
    assert!(remarks.contains("no frame `large` is free"), "{remarks}");
    assert!(
        remarks.contains("fairday mark exposed 2026-018/1"),
        "{remarks}"
    );
    begin(path, "2026-021", "small");
    begin(path, "2026-011/1", "small");
    let remarks = refused(path, &["expose", "2026-011/2", "--frame", "small"]);
    assert!(
        remarks.contains("no frame `small` is free for 2026-011/2"),
        "{remarks}"
    );
    let (code, _, remarks) = run(path, "2026-05-11 12:52", &["mark", "exposed", "2026-021"]);
    assert_eq!(code, 0, "{remarks}");
    begin(path, "2026-011/2", "small");
}

#[test]
fn a_word_about_one_frame_leaves_the_others_alone() {
    let dir = demo();
    let path = dir.path();
    begin(path, "2026-018", "large");
    begin(path, "2026-021", "small");
    let paused = |arguments: &[&str]| -> Vec<(String, bool)> {
        let all = [&["expose", "--json"], arguments].concat();
        let (code, answer, remarks) = run(path, "2026-05-11 12:44", &all);
        assert!(code <= 1, "{arguments:?}: {remarks}");
        let answer: Value = serde_json::from_str(&answer).unwrap();
        let frames = answer["frames"].as_array().unwrap().iter();
        let of = |frame: &Value| {
            let name = frame["frame"].as_str().unwrap().to_owned();
            (name, frame["paused"].as_bool().unwrap())
        };
        frames.map(of).collect()
    };
    let both = |large, small| vec![("large".to_owned(), large), ("small".to_owned(), small)];
    assert_eq!(paused(&["--pause", "--frame", "small"]), both(false, true));
    assert_eq!(paused(&["--frame", "small"]), [("small".to_owned(), true)]);
    assert_eq!(paused(&["--pause"]), both(true, true));
    assert_eq!(paused(&["--resume", "--frame", "large"]), both(false, true));
    for arguments in [&["--pause"][..], &["--resume"], &["--forget"], &[]] {
        let unknown = refused(path, &[&["expose", "--frame", "foo"], arguments].concat());
        assert!(
            unknown.contains("there are: small, large, lamp"),
            "{unknown}"
        );
        let slip = refused(path, &[&["expose", "--frame", "smal"], arguments].concat());
        assert!(slip.contains("did you mean `small`?"), "{slip}");
    }
    let empty = refused(path, &["expose", "--pause", "--frame", "lamp"]);
    assert!(empty.contains("lies in `lamp`"), "{empty}");
    assert_eq!(
        paused(&["--forget", "--frame", "small"]),
        [("large".to_owned(), false)]
    );
}
