//! Files that nobody would write: whatever stands in them, reading and changing
//! stay on their feet.

use std::fs;
use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use fairday::order::edit::{Change, NotChanged, apply};
use fairday::order::parse::{Against, parse};
use fairday::order::{Done, Event, Exposed, Notified, Order};
use fairday::stage::Stage;
use fairday::view::problem::render;
use fairday::yaml::text::decode;
use proptest::prelude::*;

/// Pieces of YAML that make trouble when they stand where nobody expects them.
const TROUBLE: [&str; 28] = [
    "\t",
    "\n",
    "\r\n",
    "\r",
    " ",
    "  ",
    "- ",
    "-",
    ": ",
    ":",
    "{",
    "}",
    "[",
    "]",
    ", ",
    "#",
    " # ",
    "&a ",
    "*a",
    "!!seq ",
    "|\n",
    ">-\n",
    "\"",
    "'",
    "---\n",
    "...\n",
    "? ",
    "\u{feff}ü藍",
];

fn files() -> Vec<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut folders = vec![root.join("orders")];
    folders.extend(
        entries(&root.join("tests/edits"))
            .into_iter()
            .filter(|path| path.is_dir()),
    );
    let mut texts: Vec<String> = Vec::new();
    for folder in folders {
        let is_yaml = |path: &PathBuf| path.extension().is_some_and(|e| e == "yaml");
        let paths = entries(&folder).into_iter().filter(is_yaml);
        texts.extend(paths.map(|path| fs::read_to_string(path).unwrap()));
    }
    texts
}

fn entries(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).unwrap();
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths
}

/// A slip of the pen: what is put in, or how many characters are lost, and where.
fn slip() -> impl Strategy<Value = (prop::sample::Index, Result<&'static str, usize>)> {
    let put_in = prop::sample::select(&TROUBLE[..]).prop_map(Ok);
    let lost = (1usize..12).prop_map(Err);
    (any::<prop::sample::Index>(), prop_oneof![put_in, lost])
}

fn with_slips(text: &str, slips: &[(prop::sample::Index, Result<&'static str, usize>)]) -> String {
    let mut chars: Vec<char> = text.chars().collect();
    for (place, what) in slips {
        let at = place.index(chars.len() + 1);
        match what {
            Ok(words) => drop(chars.splice(at..at, words.chars())),
            Err(count) => drop(chars.drain(at..(at + count).min(chars.len()))),
        }
    }
    chars.into_iter().collect()
}

fn read_all(text: &str) -> Option<Order> {
    let (order, problems) = parse(text, "a.yaml", &Against::default());
    for problem in &problems {
        assert!(!render(problem, 80, false).is_empty());
        if let Some(spot) = &problem.spot {
            let lines = text.split('\n').count();
            assert!((1..=lines).contains(&spot.line), "{problem:?}");
            assert!(spot.column >= 1 && spot.length >= 1, "{problem:?}");
        }
    }
    assert!(
        order.is_some() || !problems.is_empty(),
        "silently dropped: {text}"
    );
    drop(fairday::studio::parse::parse(text, "studio.yaml"));
    order
}

/// Changes of every kind, for an order that could be read.
fn changes(order: &Order) -> Vec<Change> {
    let on = NaiveDate::from_ymd_opt(2030, 1, 2).unwrap();
    let at = on.and_hms_opt(10, 0, 0).unwrap();
    let mut changes: Vec<Change> = order
        .pieces
        .iter()
        .filter_map(|piece| {
            let stage = piece.progress.stage()?;
            let exposed = (stage == Stage::Exposing).then_some(Exposed::of_minutes(7.0));
            let what = Done::Stage {
                stage,
                exposed,
                coated: None,
            };
            Some(Change::Progress {
                entry: piece.entry,
                copies: vec![piece.copy],
                event: Event { at, what },
            })
        })
        .collect();
    changes.push(Change::Notified(Notified {
        on,
        kind: "delayed".to_owned(),
        date: Some(on),
    }));
    changes
}

/// Asserts that `after` is `before` with characters put in at one place, apart from
/// a word for nothing that they take the place of.
fn only_put_in(before: &str, after: &str) {
    let start = before
        .bytes()
        .zip(after.bytes())
        .take_while(|(a, b)| a == b)
        .count();
    let rest = before.len().min(after.len()) - start;
    let end = before
        .bytes()
        .rev()
        .zip(after.bytes().rev())
        .take(rest)
        .take_while(|(a, b)| a == b)
        .count();
    let lost = &before.as_bytes()[start..before.len() - end];
    let nothing: [&[u8]; 5] = [b"", b"~", b"null", b"Null", b"NULL"];
    assert!(nothing.contains(&lost), "lost {lost:?} of {before}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(cases()))]

    #[test]
    fn slips_of_the_pen_are_told_and_never_fatal(
        file in any::<prop::sample::Index>(),
        slips in prop::collection::vec(slip(), 1..5),
    ) {
        let files = files();
        let text = with_slips(&files[file.index(files.len())], &slips);
        if let Ok(text) = decode(text.as_bytes(), "a.yaml")
            && let Some(order) = read_all(text)
        {
            for change in changes(&order) {
                match apply(text, &change) {
                    Ok(after) => only_put_in(text, &after),
                    Err(NotChanged::HasErrors(problems)) => panic!("{problems:?}"),
                    Err(_) => {}
                }
            }
        }
    }

    #[test]
    fn any_bytes_can_be_read(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        if let Ok(text) = decode(&bytes, "a.yaml") {
            read_all(text);
        }
    }
}

/// A short run each time; `FAIRDAY_CASES` makes it longer.
fn cases() -> u32 {
    let given = std::env::var("FAIRDAY_CASES").ok();
    given.and_then(|words| words.parse().ok()).unwrap_or(256)
}
