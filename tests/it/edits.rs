//! Changes of ugly order files: everything else stays as it was.
//!
//! `tests/edits` holds the inputs, a folder for each kind of ugliness. Beside each
//! folder lies what the changes do to its files, as lines taken out and put in. Run
//! with `FAIRDAY_ACCEPT=1` to write that anew, then read it. With
//! `FAIRDAY_EDITS_OUT=DIR` the texts before and after go into that folder, where
//! `.ci/edits.py` has two other YAML readers judge them.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use chrono::{NaiveDate, NaiveDateTime};
use fairday::order::edit::{Change, NotChanged, apply};
use fairday::order::gates::{Mark, may_mark};
use fairday::order::parse::{Against, parse};
use fairday::order::{Coated, Dispatch, Done, Event, Exposed, Notified, Order, Piece};
use fairday::outside::edit::{edit, lock};
use fairday::outside::orders::read_folder;
use fairday::stage::Stage;
use serde_json::{Value, json};

/// A file that is hard to change.
struct Ugly {
    /// Its folder and name.
    name: String,
    text: String,
}

fn home() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/edits")
}

/// All inputs, by kind.
fn inputs() -> BTreeMap<String, Vec<Ugly>> {
    let sorted = |dir: &Path| -> Vec<PathBuf> {
        let entries = fs::read_dir(dir).unwrap();
        let mut paths: Vec<PathBuf> = entries.map(|entry| entry.unwrap().path()).collect();
        paths.sort();
        paths
    };
    let stem = |path: &Path| path.file_stem().unwrap().to_str().unwrap().to_owned();
    let mut kinds = BTreeMap::new();
    for dir in sorted(&home()).into_iter().filter(|path| path.is_dir()) {
        let kind = stem(&dir);
        let ugly = |path: PathBuf| Ugly {
            name: format!("{kind}/{}", stem(&path)),
            text: fs::read_to_string(&path).unwrap(),
        };
        kinds.insert(kind.clone(), sorted(&dir).into_iter().map(ugly).collect());
    }
    kinds
}

fn read(text: &str) -> Result<Order, String> {
    let body = text.trim_start_matches('\u{feff}');
    let (order, problems) = parse(body, "", &Against::default());
    order.ok_or_else(|| problems[0].what.clone())
}

/// Every change that a file can take: a mark and a remake for each entry, a letter,
/// a dispatch.
fn changes(order: &Order) -> Vec<(String, Change)> {
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
                exposed: (next == Stage::Exposing).then_some(Exposed::of_minutes(12.5)),
                coated: (next == Stage::Coating).then(|| Coated {
                    poured_ml: Some(40.5),
                    left_ml: Some(6.0),
                    batch: Some("R-2403: thick, #2".to_owned()),
                    mix: Some("\u{2116} 7".to_owned()),
                }),
            }),
        };
        changes.push((format!("mark the first copy of entry {entry}"), first));
        let started = |p: &&&Piece| p.progress.stage() != Some(Stage::Coating);
        let begun: Vec<u32> = pieces.iter().filter(started).map(|p| p.copy).collect();
        if !begun.is_empty() {
            let reason = "washed out: all, \"blue\" #1".to_owned();
            let remake = Change::Progress {
                entry,
                copies: begun,
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
    let (mut files, mut made, mut refused) = (0, 0, 0);
    for (kind, inputs) in inputs() {
        let mut shown = String::new();
        for ugly in inputs {
            files += 1;
            shown.push_str(&format!("==== {}\n", ugly.name));
            let order = match read(&ugly.text) {
                Ok(order) => order,
                Err(what) => {
                    shown.push_str(&format!("not read: {what}\n"));
                    continue;
                }
            };
            for (name, change) in changes(&order) {
                shown.push_str(&format!("== {name}\n"));
                match apply(&ugly.text, &change) {
                    Ok(changed) => {
                        made += 1;
                        shown.push_str(&diff(&ugly.text, &changed));
                    }
                    Err(refusal) => {
                        refused += 1;
                        shown.push_str(&format!("refused: {refusal}\n"));
                    }
                }
            }
        }
        let expected_at = home().join(format!("{kind}.diff"));
        if std::env::var_os("FAIRDAY_ACCEPT").is_some() {
            fs::write(&expected_at, &shown).unwrap();
        }
        let expected = fs::read_to_string(&expected_at).unwrap_or_default();
        assert!(
            shown == expected,
            "{kind}: {}",
            first_difference(&expected, &shown)
        );
    }
    assert!(
        files >= 200 && made > 700,
        "{files} files, {made} made, {refused} refused"
    );
}

fn first_difference(expected: &str, shown: &str) -> String {
    let mut about = "";
    for (old, new) in expected.lines().chain([""]).zip(shown.lines().chain([""])) {
        if new.starts_with("====") {
            about = new;
        }
        if old != new {
            return format!("{about}\nexpected {old}\n   found {new}");
        }
    }
    format!("{about}\none goes on where the other ends")
}

/// All that was there is still there, in its order and with its line ends; what is
/// new is in one place, and every line but that one is the same to the byte.
#[test]
fn a_change_puts_in_and_takes_nothing_away() {
    for ugly in inputs().into_values().flatten() {
        let Ok(order) = read(&ugly.text) else {
            continue;
        };
        for (name, change) in changes(&order) {
            for text in variants(&ugly.text) {
                if let Ok(changed) = apply(&text, &change) {
                    only_put_in(&text, &changed, &format!("{}: {name}", ugly.name));
                }
            }
        }
    }
}

/// The text as it is, with the line ends of the other world, with a byte order mark,
/// without its last line end; all of them as far as they still mean the same.
fn variants(text: &str) -> Vec<String> {
    let unix = text.replace("\r\n", "\n");
    let variants = [
        text.to_owned(),
        unix.replace('\n', "\r\n"),
        format!("\u{feff}{}", text.trim_start_matches('\u{feff}')),
        text.trim_end_matches(['\r', '\n']).to_owned(),
        unix,
    ];
    let same = |variant: &String| read(variant) == read(text);
    variants.into_iter().filter(same).collect()
}

fn only_put_in(text: &str, changed: &str, name: &str) {
    let same_start = common(text.chars(), changed.chars());
    let rest = &text[same_start..];
    let same_end = common(rest.chars().rev(), changed[same_start..].chars().rev());
    let lost = &rest[..rest.len() - same_end];
    let is_nothing = ["", "~", "null", "NULL"].contains(&lost);
    assert!(is_nothing, "{name}: lost `{lost}`");
    let (old, new): (Vec<&str>, Vec<&str>) = (
        text.split_inclusive('\n').collect(),
        changed.split_inclusive('\n').collect(),
    );
    let above = old.iter().zip(&new).take_while(|(a, b)| a == b).count();
    let below = old[above..].iter().rev().zip(new[above..].iter().rev());
    let below = below.take_while(|(a, b)| a == b).count();
    let touched = old.len() - above - below;
    assert!(touched <= 1, "{name}: {touched} lines touched");
    assert!(
        new.len() - above - below <= touched + 7,
        "{name}: more lines than any entry has"
    );
    for line in &new[above..new.len() - below] {
        let neighbours = old[above.saturating_sub(1)..(above + 1).min(old.len())].concat();
        let same_end = line.ends_with("\r\n") == neighbours.contains("\r\n");
        let last = !line.ends_with('\n') || !neighbours.contains('\n');
        let mixed = neighbours.matches('\n').count() != neighbours.matches("\r\n").count()
            && neighbours.contains("\r\n");
        assert!(
            same_end || last || mixed,
            "{name}: another line end: {line:?}"
        );
    }
}

/// A refusal says what to type, and where.
#[test]
fn what_is_not_changed_can_be_typed_by_hand() {
    let mut refused = 0;
    for ugly in inputs().into_values().flatten() {
        let Ok(order) = read(&ugly.text) else {
            continue;
        };
        for (_, change) in changes(&order) {
            match apply(&ugly.text, &change) {
                Ok(_) | Err(NotChanged::Dispatched) => {}
                Err(NotChanged::ByHand { at_line, words, .. }) => {
                    refused += 1;
                    let lines = ugly.text.lines().count();
                    assert!(at_line.is_none_or(|line| (1..=lines).contains(&line)));
                    let typed = typed(&words);
                    assert!(typed.is_array() || typed["dispatch"].is_object(), "{words}");
                }
                Err(other) => panic!("{}: {other}", ugly.name),
            }
        }
    }
    assert!(refused < 40, "{refused} changes are left to the maker");
}

fn typed(words: &str) -> Value {
    serde_yaml::from_str(words).unwrap()
}

/// Writes down each change with the texts before and after, for other readers.
#[test]
fn changes_are_written_out_for_other_readers() {
    let Some(out) = std::env::var_os("FAIRDAY_EDITS_OUT").map(PathBuf::from) else {
        return;
    };
    let mut index = Vec::new();
    for ugly in inputs().into_values().flatten() {
        let Ok(order) = read(&ugly.text) else {
            continue;
        };
        for (name, change) in changes(&order) {
            if let Ok(after) = apply(&ugly.text, &change) {
                let number = index.len();
                fs::write(out.join(format!("{number}.before")), &ugly.text).unwrap();
                fs::write(out.join(format!("{number}.after")), after).unwrap();
                let name = format!("{}: {name}", ugly.name);
                index.push(json!({"name": name, "change": described(&change, &order)}));
            }
        }
    }
    fs::write(out.join("index.json"), json!(index).to_string()).unwrap();
}

/// The change in words that know nothing of how it is written.
fn described(change: &Change, order: &Order) -> Value {
    match change {
        Change::Progress {
            entry,
            copies,
            event,
        } => {
            let mut item = json!({"at": event.at.format("%Y-%m-%d %H:%M").to_string()});
            match &event.what {
                Done::Stage {
                    stage,
                    exposed,
                    coated,
                } => {
                    item["did"] = json!(stage.done());
                    if let Some(coated) = coated {
                        let ml = |ml: Option<f64>| json!(ml.map(|ml| ml.to_string()));
                        item["poured_ml"] = ml(coated.poured_ml);
                        item["left_ml"] = ml(coated.left_ml);
                        item["batch"] = json!(coated.batch);
                        item["mix"] = json!(coated.mix);
                    }
                    if let Some(Exposed { minutes, .. }) = exposed {
                        item["minutes"] = json!(minutes.to_string());
                    }
                }
                Done::Judged { verdict } => {
                    item["did"] = json!("judged");
                    item["verdict"] = json!(verdict.name());
                }
                Done::Remake { reason } => {
                    item["did"] = json!("remake");
                    item["reason"] = json!(reason);
                }
            }
            let all = order.pieces.iter().filter(|p| p.entry == *entry).count();
            if copies.len() < all {
                let numbers: Vec<String> = copies.iter().map(u32::to_string).collect();
                item["copies"] = json!(numbers);
            }
            json!({"append_to": ["pieces", entry, "progress"], "item": item})
        }
        Change::Notified(told) => {
            let date = told
                .date
                .map_or("unknown".to_owned(), |date| date.to_string());
            let item = json!({"on": told.on.to_string(), "kind": told.kind, "date": date});
            json!({"append_to": ["notified"], "item": item})
        }
        Change::Dispatch(left) => {
            let item = json!({"on": left.on.to_string(), "carrier": left.carrier,
                "tracking": left.tracking});
            json!({"set": "dispatch", "item": item})
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
    let exposed = Some(Exposed::of_minutes(14.0));
    let change = Change::Progress {
        entry: piece.entry,
        copies: vec![piece.copy],
        event: Event {
            at,
            what: Done::Stage {
                stage,
                exposed,
                coated: None,
            },
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
