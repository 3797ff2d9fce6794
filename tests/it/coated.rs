//! What was poured and what was left: into the record, and from it into the next mix.

use std::fs;
use std::path::Path;

use fairday::coverage::coverage;
use fairday::order::{Coated, Done, Event, Order};
use fairday::stage::Stage;
use fairday::studio::Studio;

use crate::desk;
use crate::marks::{demo, run};
use crate::small_studio::at;

fn plan(dir: &Path) -> String {
    let (_, answer, _) = run(dir, "2026-05-11 08:00", &["plan", "--width", "200"]);
    answer
}

/// By hand: 2026-022 are three 8×10 in (0.15484 m²) and 2026-023/4-6 three 5×7 in
/// (0.06774 m²), so 69.6 % and 30.4 % of what was poured; 16 − 2 − 5 in the brush are 9 ml
/// on 0.22258 m², 40.4 ml/m².
#[test]
fn one_pour_over_two_orders_is_dealt_out_by_area() {
    let dir = demo();
    let mark = [
        "mark",
        "coated",
        "2026-022",
        "2026-023/4-6",
        "--poured",
        "16",
        "--left",
        "2",
        "--batch",
        "R-2403",
        "--mix",
        "Monday, first",
    ];
    let (code, _, remarks) = run(dir.path(), "2026-05-11 07:50", &mark);
    assert_eq!(code, 0, "{remarks}");
    assert!(
        remarks.contains("cotton rag, 300 g took 40 ml/m²"),
        "{remarks}"
    );
    assert!(remarks.contains("without the 5 ml"), "{remarks}");
    let line = |file: &str| {
        let text = fs::read_to_string(dir.path().join(file)).unwrap();
        let mut lines = text.lines().filter(|line| line.contains("07:50"));
        lines.next().unwrap().trim().to_owned()
    };
    assert_eq!(
        line("2026-022-mercer.yaml"),
        "- {at: 2026-05-11 07:50, did: coated, poured_ml: 11.13, left_ml: 1.39, \
         batch: R-2403, mix: \"Monday, first\"}"
    );
    assert_eq!(
        line("2026-023-fairbairn.yaml"),
        "- {at: 2026-05-11 07:50, did: coated, copies: [4, 5, 6], poured_ml: 4.87, \
         left_ml: 0.61, batch: R-2403, mix: \"Monday, first\"}"
    );
    let said = "42 ml/m², learned from 1 measured session beside 42 in studio.yaml";
    assert!(plan(dir.path()).contains(said), "{}", plan(dir.path()));
    let (_, card, _) = run(
        dir.path(),
        "2026-05-11 08:00",
        &["card", "2026-022", "--to", "-"],
    );
    assert!(card.contains("<bdi>R-2403</bdi>"), "{card}");
    let mix = "<dt>mix</dt><dd><bdi>Monday, first</bdi></dd>";
    assert!(card.contains(mix), "{card}");
}

/// Stopped between two files, the same command brings both to the same end, at the moment
/// of the first; what is there stays as it is, and a third run is refused.
#[test]
fn a_session_that_was_stopped_half_way_is_completed_by_the_same_command() {
    let line = [
        "mark",
        "coated",
        "2026-022",
        "2026-023/4-6",
        "--poured",
        "16",
        "--left",
        "2",
    ];
    let whole = demo();
    assert_eq!(run(whole.path(), "2026-05-11 07:50", &line).0, 0);
    let half = demo();
    let files = ["2026-022-mercer.yaml", "2026-023-thorne.yaml"];
    let text = |dir: &Path, file: &str| fs::read_to_string(find(dir, &file[..8])).unwrap();
    fs::copy(
        find(whole.path(), "2026-022"),
        find(half.path(), "2026-022"),
    )
    .unwrap();
    let (code, said, told) = run(half.path(), "2026-05-11 08:05", &line);
    assert_eq!(code, 0, "{told}");
    assert!(
        told.contains("2026-022 noted already; only the rest is written"),
        "{told}"
    );
    assert!(
        said.contains("2026-023") && !said.contains("2026-022/"),
        "{said}"
    );
    for file in files {
        assert_eq!(text(half.path(), file), text(whole.path(), file), "{file}");
    }
    assert_eq!(run(half.path(), "2026-05-11 08:10", &line).0, 2);
    // Another measure is another coat.
    fs::copy(
        find(demo().path(), "2026-023"),
        find(half.path(), "2026-023"),
    )
    .unwrap();
    let other = [&line[..5], &["17"], &line[6..]].concat();
    let (code, _, told) = run(half.path(), "2026-05-11 08:10", &other);
    assert_eq!(code, 2, "{told}");
}

/// Finds the file of an order by the begin of its name.
fn find(dir: &Path, number: &str) -> std::path::PathBuf {
    let files = fs::read_dir(dir)
        .unwrap()
        .map(|entry| entry.unwrap().path());
    let is_it = |path: &std::path::PathBuf| {
        path.file_name()
            .unwrap()
            .to_string_lossy()
            .starts_with(number)
    };
    files.into_iter().find(is_it).unwrap()
}

#[test]
fn what_cannot_be_measured_is_refused_and_nothing_is_written() {
    let dir = demo();
    let before = fs::read_to_string(dir.path().join("2026-022-mercer.yaml")).unwrap();
    let refused = |arguments: &[&str]| {
        let (code, _, remarks) = run(dir.path(), "2026-05-11 07:50", arguments);
        assert_eq!(code, 2, "{arguments:?}");
        remarks
    };
    let mark = ["mark", "coated", "2026-022"];
    let two = refused(&[&mark[..], &["2026-030", "--poured", "40"]].concat());
    assert!(
        two.contains("one material at a time, these are lawn-80 and rag-300"),
        "{two}"
    );
    let more = refused(&[&mark[..], &["--poured", "4", "--left", "5"]].concat());
    assert!(more.contains("expected 0 to the 4 ml"), "{more}");
    let none = refused(&[&mark[..], &["--poured=-3"]].concat());
    assert!(none.contains("poured"), "{none}");
    let alone = refused(&[&mark[..], &["--left", "3"]].concat());
    assert!(alone.contains("--poured"), "{alone}");
    let other = refused(&["mark", "washed", "2026-020/1", "--batch", "R"]);
    assert!(other.contains("go with `coated`"), "{other}");
    assert_eq!(
        fs::read_to_string(dir.path().join("2026-022-mercer.yaml")).unwrap(),
        before
    );
}

/// An order of the desk whose pieces came under the brush at a moment, as one entry.
fn coated(number: &str, when: &str, poured_ml: f64, left_ml: Option<f64>) -> Order {
    let mut order = desk::order(number);
    for piece in &mut order.pieces {
        piece.entry = 0;
        let coated = Coated {
            poured_ml: Some(poured_ml),
            left_ml,
            ..Coated::default()
        };
        piece.progress.events = vec![Event {
            at: at(when),
            what: Done::Stage {
                stage: Stage::Coating,
                exposed: None,
                coated: Some(coated),
            },
        }];
    }
    order
}

fn rag(orders: &[Order], studio: &Studio) -> (f64, usize, usize) {
    let known = coverage(orders, studio, at("2026-05-20 12:00"))["rag"];
    (known.ml_per_m2, known.sessions, known.forgotten)
}

/// An entry's figure stands on each of its copies and is counted once; two orders at one
/// moment are one session; what was not measured to the end, or cannot be, is none.
#[test]
fn a_session_counts_once() {
    let studio = desk::studio();
    let setting = studio.materials["rag"].coat_ml_per_m2;
    let pieces = &desk::order("1").pieces;
    let area: f64 = pieces.iter().map(|piece| piece.size.area_m2()).sum();
    let at_once = [
        coated("1", "2026-05-10 18:00", 50.0 * area + 3.0, Some(3.0)),
        coated("2", "2026-05-10 18:00", 70.0 * area + 3.0, Some(3.0)),
    ];
    let (learned, sessions, _) = rag(&at_once, &studio);
    assert_eq!(sessions, 1);
    // 60 ml/m² beside three sessions of the setting.
    let expected = (3.0 * setting + 60.0) / 4.0;
    assert!(
        (learned - expected).abs() < 2.0,
        "{learned}, not {expected}"
    );
    let unknown = [
        coated("1", "2026-05-10 18:00", 40.0, None),
        coated("2", "2026-05-09 18:00", 4.0, Some(4.0)),
        coated("3", "2020-05-09 18:00", 50.0 * area, Some(0.0)),
    ];
    assert_eq!(rag(&unknown, &studio), (setting, 0, 1));
}

#[test]
fn the_setting_is_forgotten_when_it_counts_for_no_session() {
    let mut studio = desk::studio();
    studio.learning.coat_start_sessions = 0;
    let pieces = &desk::order("1").pieces;
    let area: f64 = pieces.iter().map(|piece| piece.size.area_m2()).sum();
    let one = [coated("1", "2026-05-10 18:00", 61.0 * area, Some(0.0))];
    let (learned, _, _) = rag(&one, &studio);
    assert!((learned - 61.0).abs() < 1e-9, "{learned}");
}
