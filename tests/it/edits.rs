//! Changes of ugly order files: everything else stays as it was.
//!
//! `tests/edits/*.yaml` are inputs; beside each lies what the changes do to it,
//! as lines taken out and put in. Run with `FAIRDAY_ACCEPT=1` to write them anew,
//! then read them.

use std::fs;
use std::path::{Path, PathBuf};

use chrono::{NaiveDate, NaiveDateTime};
use fairday::order::edit::{Change, apply};
use fairday::order::gates::{Mark, may_mark};
use fairday::order::parse::{Against, parse};
use fairday::order::{Dispatch, Done, Event, Notified};
use fairday::outside::edit::{edit, lock};
use fairday::outside::orders::read_folder;
use fairday::stage::Stage;

fn inputs() -> Vec<PathBuf> {
    let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/edits");
    let entries = fs::read_dir(dir)
        .unwrap()
        .map(|entry| entry.unwrap().path());
    let mut inputs: Vec<PathBuf> = entries
        .filter(|path| path.extension().is_some_and(|e| e == "yaml"))
        .collect();
    inputs.sort();
    inputs
}

/// Every change that a file can take: a mark and a remake for each entry, a letter,
/// a dispatch.
fn changes(text: &str) -> Vec<(String, Change)> {
    let body = text.trim_start_matches('\u{feff}');
    let (order, problems) = parse(body, "", &Against::default());
    let order = order.unwrap_or_else(|| panic!("{problems:?}"));
    let mut changes = Vec::new();
    let entries = order.pieces.last().unwrap().entry + 1;
    for entry in 0..entries {
        let pieces: Vec<_> = order.pieces.iter().filter(|p| p.entry == entry).collect();
        let next = pieces[0].progress.stage().unwrap();
        let first = Change::Progress {
            entry,
            copies: vec![1],
            event: event(Done::Stage {
                stage: next,
                minutes: (next == Stage::Exposing).then_some(12.5),
            }),
        };
        changes.push((format!("mark the first copy of entry {entry}"), first));
        let started = next != Stage::Coating;
        if started {
            let reason = "washed out: all, \"blue\" #1".to_owned();
            let remake = Change::Progress {
                entry,
                copies: pieces.iter().map(|p| p.copy).collect(),
                event: event(Done::Remake { reason }),
            };
            changes.push((format!("remake entry {entry}"), remake));
        }
    }
    let letter = Notified {
        on: day(11),
        kind: "delayed".to_owned(),
        date: None,
    };
    changes.push(("note a letter".to_owned(), Change::Notified(letter)));
    let dispatch = Dispatch {
        on: day(14),
        carrier: Some("the parcel line".to_owned()),
        tracking: Some("PL 1/2".to_owned()),
    };
    changes.push(("dispatch".to_owned(), Change::Dispatch(dispatch)));
    changes
}

fn day(day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 5, day).unwrap()
}

fn event(what: Done) -> Event {
    let at: NaiveDateTime = day(11).and_hms_opt(10, 5, 0).unwrap();
    Event { at, what }
}

#[test]
fn a_change_shows_only_in_the_lines_that_it_needs() {
    let mut checked = 0;
    for path in inputs() {
        let text = fs::read_to_string(&path).unwrap();
        let mut shown = String::new();
        for (name, change) in changes(&text) {
            shown.push_str(&format!("== {name}\n"));
            match apply(&text, &change) {
                Ok(changed) => shown.push_str(&diff(&text, &changed)),
                Err(refusal) => shown.push_str(&format!("refused: {refusal}\n")),
            }
            checked += 1;
        }
        let expected_at = path.with_extension("diff");
        if std::env::var_os("FAIRDAY_ACCEPT").is_some() {
            fs::write(&expected_at, &shown).unwrap();
        }
        let expected = fs::read_to_string(&expected_at).unwrap_or_default();
        assert_eq!(shown, expected, "{}", path.display());
    }
    assert!(checked > 40, "only {checked} changes tried");
}

/// All that was there is still there, in its order and with its line ends; what is
/// new is in one place.
#[test]
fn a_change_puts_in_and_takes_nothing_away() {
    for path in inputs() {
        let text = fs::read_to_string(&path).unwrap();
        for (name, change) in changes(&text) {
            let Ok(changed) = apply(&text, &change) else {
                continue;
            };
            let same_start = common(text.chars(), changed.chars());
            let rest = &text[same_start..];
            let same_end = common(rest.chars().rev(), changed[same_start..].chars().rev());
            let lost = &rest[..rest.len() - same_end];
            let is_nothing = ["", "~", "null"].contains(&lost);
            assert!(is_nothing, "{}: {name}: lost `{lost}`", path.display());
            let has_crlf = text.contains("\r\n");
            let bare = changed.replace("\r\n", "").contains('\n');
            assert!(!has_crlf || !bare, "{}: {name}: line ends", path.display());
        }
    }
}

/// From the file to the file: one line more, and the order one stage on.
#[test]
fn a_mark_in_a_folder_is_read_back() {
    let dir = tempfile::tempdir().unwrap();
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("orders");
    for name in ["studio.yaml", "2026-021-lindqvist.yaml"] {
        fs::copy(demo.join(name), dir.path().join(name)).unwrap();
    }
    let read = || read_folder(dir.path(), |studio| studio.pinned_now.unwrap()).unwrap();
    let folder = read();
    let (order, studio) = (&folder.orders[0], folder.studio.as_ref().unwrap());
    let piece = &order.pieces[1];
    let at = day(11).and_hms_opt(7, 0, 0).unwrap();
    let stage = Stage::Exposing;
    assert_eq!(may_mark(order, piece, Mark { stage, at }, studio), Ok(()));
    let minutes = Some(14.0);
    let change = Change::Progress {
        entry: piece.entry,
        copies: vec![piece.copy],
        event: Event {
            at,
            what: Done::Stage { stage, minutes },
        },
    };
    let path = dir.path().join(&order.file);
    let held = lock(dir.path()).unwrap();
    assert!(edit(&held, &path, |text| apply(text, &change)).unwrap());
    let again = read();
    assert_eq!(again.problems, []);
    let stages = again.orders[0]
        .pieces
        .iter()
        .map(|p| p.progress.stage().unwrap());
    assert_eq!(stages.collect::<Vec<_>>(), [Stage::Drying, Stage::Washing]);
    let line = "      - {at: 2026-05-11 07:00, did: exposed, copies: [2], minutes: 14}\n";
    assert!(fs::read_to_string(path).unwrap().contains(line));
}

fn common(a: impl Iterator<Item = char>, b: impl Iterator<Item = char>) -> usize {
    a.zip(b)
        .take_while(|(a, b)| a == b)
        .map(|(a, _)| a.len_utf8())
        .sum()
}

/// Lines taken out and put in, with line ends made visible.
fn diff(before: &str, after: &str) -> String {
    let visible = |text: &str| -> Vec<String> {
        let lines = text.split_inclusive('\n');
        lines
            .map(|line| line.replace("\r\n", "␍\n").replace('\u{feff}', "<bom>"))
            .map(|line| match line.strip_suffix('\n') {
                Some(line) => line.to_owned(),
                None => format!("{line}<end>"),
            })
            .collect()
    };
    let (old, new) = (visible(before), visible(after));
    let start = old.iter().zip(&new).take_while(|(a, b)| a == b).count();
    let end = old[start..]
        .iter()
        .rev()
        .zip(new[start..].iter().rev())
        .take_while(|(a, b)| a == b)
        .count();
    let mut shown = String::new();
    let above = start.checked_sub(1).map(|i| &old[i]);
    shown.extend(above.map(|line| format!("  {line}\n")));
    for line in &old[start..old.len() - end] {
        shown.push_str(&format!("- {line}\n"));
    }
    for line in &new[start..new.len() - end] {
        shown.push_str(&format!("+ {line}\n"));
    }
    shown
}
