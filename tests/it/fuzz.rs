//! Every reader with files that went wrong, as many as there is time for.
//!
//! A sample is changed by slips: words put in or lost, pieces said twice or moved,
//! numbers that nobody expects. Whatever comes out, a reader gives values or problems
//! that can be shown, and what it gives holds what its readers count on. `cargo test`
//! tries some hundred; `FAIRDAY_FUZZ=forecast=600` looks for ten minutes at one reader,
//! and prints how many it tried. A fault is shown with the smallest file that proptest
//! finds.
#![expect(clippy::print_stderr, reason = "counts are for people")]

mod context;
mod readers;

use std::cell::Cell;
use std::time::{Duration, Instant};

use proptest::prelude::*;
use proptest::sample::Index;
use proptest::test_runner::{Config, RngAlgorithm, TestCaseError, TestRng, TestRunner};

/// Files of each reader in a plain `cargo test`.
const CASES: u32 = 150;

/// Files between two looks at the clock.
const ROUND: u32 = 100;

/// Words that make trouble where nobody expects them.
const TROUBLE: [&str; 40] = [
    "",
    "\t",
    "\n",
    "\r\n",
    "\r",
    " ",
    "\0",
    "\u{feff}",
    "\u{202e}",
    "藍\u{301}",
    ",",
    ";",
    "\"",
    "\"\"",
    "'",
    "{",
    "}",
    "[",
    "]",
    "{}",
    "[]",
    ":",
    "null",
    "true",
    "-",
    "- ",
    "#",
    "&a ",
    "*a",
    "{{",
    "}}",
    "{{{",
    "{{#each",
    "{{/if}}",
    "<script>",
    "&lt;",
    "\\",
    "\\u0000",
    "T00:00:00Z",
    "9999-12-31",
];

/// Numbers that make trouble where another stood.
const NUMBERS: [&str; 16] = [
    "0",
    "-0",
    "-1",
    "1e308",
    "-1e308",
    "1e-308",
    "9999",
    "999999999999999999999",
    "NaN",
    "inf",
    "0.1.2",
    "1e999",
    "2147483648",
    "-2147483649",
    "18446744073709551616",
    "1,5",
];

/// What goes wrong at a place of a file.
#[derive(Debug, Clone)]
enum Slip {
    PutIn(Index, &'static str),
    Lost(Index, usize),
    Twice(Index, usize),
    Moved(Index, Index, usize),
    Number(Index, &'static str),
}

fn slip() -> impl Strategy<Value = Slip> {
    let place = any::<Index>;
    let length = || prop_oneof![1usize..8, 8usize..400];
    prop_oneof![
        (place(), prop::sample::select(&TROUBLE[..])).prop_map(|(at, w)| Slip::PutIn(at, w)),
        (place(), length()).prop_map(|(at, length)| Slip::Lost(at, length)),
        (place(), length()).prop_map(|(at, length)| Slip::Twice(at, length)),
        (place(), place(), length()).prop_map(|(from, to, length)| Slip::Moved(from, to, length)),
        (place(), prop::sample::select(&NUMBERS[..])).prop_map(|(at, w)| Slip::Number(at, w)),
    ]
}

impl Slip {
    fn apply(&self, text: &mut Vec<char>) {
        let all = text.len();
        let span = |at: &Index, length: usize| {
            let from = at.index(all + 1);
            from..(from + length).min(all)
        };
        match self {
            Slip::PutIn(at, words) => {
                let at = at.index(all + 1);
                text.splice(at..at, words.chars());
            }
            Slip::Lost(at, length) => drop(text.drain(span(at, *length))),
            Slip::Twice(at, length) => {
                let again: Vec<char> = text[span(at, *length)].to_vec();
                let at = at.index(all + 1);
                text.splice(at..at, again);
            }
            Slip::Moved(from, to, length) => {
                let moved: Vec<char> = text.drain(span(from, *length)).collect();
                let at = to.index(text.len() + 1);
                text.splice(at..at, moved);
            }
            Slip::Number(at, words) => {
                let from = at.index(all + 1);
                let is_number = |c: &char| c.is_ascii_digit();
                let Some(start) = text[from..].iter().position(is_number) else {
                    return;
                };
                let start = from + start;
                let part = |c: &&char| c.is_ascii_digit() || **c == '.';
                let length = text[start..].iter().take_while(part).count();
                text.splice(start..start + length, words.chars());
            }
        }
    }
}

/// Changes a sample; samples of many lines lose and double whole lines as well.
fn spoilt(sample: &str, slips: &[Slip]) -> String {
    let mut text: Vec<char> = sample.chars().collect();
    for slip in slips {
        slip.apply(&mut text);
    }
    text.into_iter().collect()
}

/// Tries one reader with spoilt samples; fails with the smallest file that it cannot bear.
fn try_reader(name: &str, samples: &[String], bears: impl Fn(&str)) {
    let case = (any::<Index>(), prop::collection::vec(slip(), 0..6));
    try_with(name, case, |(which, slips)| {
        bears(&spoilt(&samples[which.index(samples.len())], slips));
    });
}

/// Tries cases for as long as is wanted of `name`.
fn try_with<S: Strategy>(name: &str, cases: S, bears: impl Fn(&S::Value)) {
    let seconds = seconds(name);
    let until = now_really() + Duration::from_secs(seconds);
    let tried = Cell::new(0u64);
    let mut round: u64 = 0;
    loop {
        let mut seed = [0; 32];
        seed[..8].copy_from_slice(&round.to_le_bytes());
        let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &seed);
        let config = Config {
            cases: if seconds == 0 { CASES } else { ROUND },
            failure_persistence: None,
            ..Config::default()
        };
        let mut runner = TestRunner::new_with_rng(config, rng);
        let result = runner.run(&cases, |case| {
            tried.set(tried.get() + 1);
            bears(&case);
            Ok::<(), TestCaseError>(())
        });
        if let Err(fault) = result {
            panic!(
                "{name}, round {round}, after {} files: {fault}",
                tried.get()
            );
        }
        round += 1;
        if now_really() >= until {
            break;
        }
    }
    if seconds > 0 {
        eprintln!(
            "fuzz: {name}: {} files in {seconds} s, no fault",
            tried.get()
        );
    }
}

/// Reads `FAIRDAY_FUZZ=forecast=600,table=60`; no time of its own for any other reader.
fn seconds(name: &str) -> u64 {
    let wanted = std::env::var("FAIRDAY_FUZZ").unwrap_or_default();
    let own = wanted.split(',').filter_map(|part| part.split_once('='));
    own.filter(|(reader, _)| *reader == name)
        .find_map(|(_, seconds)| seconds.parse().ok())
        .unwrap_or(0)
}

#[expect(
    clippy::disallowed_methods,
    reason = "asked to go on for some real seconds"
)]
fn now_really() -> Instant {
    Instant::now()
}
