//! Answers that are none: each leaves the old forecast as it was.

use fairday::forecast::fetch::Outcome;

use super::server::{Reply, gzip};
use super::{Bench, good_answer, met_answer, now};

/// Asserts that nothing replaces the old forecast, and what is said instead.
#[track_caller]
fn check(case: &str, reply: Reply, expected: &str) {
    let bench = Bench::new(vec![reply]);
    let said = match bench.try_fetch(0) {
        Ok(Outcome::Unusable(problems)) => problems
            .iter()
            .map(|problem| problem.what.as_str())
            .collect::<Vec<_>>()
            .join("; "),
        Ok(other) => panic!("{case}: {other:?}"),
        Err(failure) => format!("{failure:#}"),
    };
    assert!(said.contains(expected), "{case}: {said}");
    bench.assert_old(case);
    // A broken answer earns no rest: the next question goes out at once.
    drop(bench.try_fetch(1));
    assert_eq!(bench.server.seen().len(), 2, "{case}");
}

fn ok(body: impl Into<Vec<u8>>) -> Reply {
    Reply::new(200, body).header("Expires", "Mon, 11 May 2026 09:00:00 GMT")
}

#[test]
fn a_body_that_ends_early_is_a_broken_line() {
    let whole = good_answer();
    let half = whole.len() / 2;
    check("half of it", ok(whole.clone()).cut(half), "the line broke");
    check("none of it", ok(whole.clone()).cut(0), "the line broke");
    check(
        "all but a byte",
        ok(whole.clone()).cut(whole.len() - 1),
        "the line broke",
    );
}

#[test]
fn what_is_no_forecast_is_not_used() {
    let good = String::from_utf8(good_answer()).unwrap();
    let cases: [(&str, Vec<u8>, &str); 9] = [
        ("nothing", Vec::new(), "an empty file"),
        (
            "a page",
            b"<!DOCTYPE html><html>Welcome!".to_vec(),
            "a web page",
        ),
        (
            "half a document",
            good.as_bytes()[..900].to_vec(),
            "ends before it is complete",
        ),
        ("other JSON", b"{\"hello\": [1, 2]}".to_vec(), "other JSON"),
        ("a number", b"42".to_vec(), "other JSON"),
        (
            "no entries",
            good.replace("timeseries\":[", "timeseries\":[],\"x\":[")
                .into(),
            "none",
        ),
        ("other bytes", vec![0xff; 500], "other bytes"),
        ("nested without end", "[".repeat(100_000).into(), "JSON"),
        (
            "a refusal",
            b"{\"error\":true,\"reason\":\"no\"}".to_vec(),
            "refused with `no`",
        ),
    ];
    for (case, body, expected) in cases {
        check(case, ok(body), expected);
    }
}

#[test]
fn a_forecast_that_is_not_the_wanted_one_is_not_used() {
    let place = met_answer(now(), 72, 51.5, -0.1);
    check("another place", ok(place), "for another place, 327 km away");
    let past = met_answer(now() - chrono::TimeDelta::days(9), 72, 53.9, -2.9);
    check("last week's", ok(past), "reaches 0 hours ahead");
    let short = met_answer(now(), 9, 53.9, -2.9);
    check(
        "a short one",
        ok(short),
        "reaches 9 hours ahead, expected at least 24",
    );
    let late = met_answer(now() + chrono::TimeDelta::days(3), 72, 53.9, -2.9);
    check("next week's", ok(late), "begins only after tomorrow");
    let good = String::from_utf8(good_answer()).unwrap();
    for (name, subject) in [
        ("cloud_area_fraction", "cloud or light"),
        ("precipitation_amount", "rain"),
        ("wind_speed", "wind"),
    ] {
        let without = good.replace(name, "something");
        check(name, ok(without), &format!("says nothing of {subject}"));
    }
    let unit = good.replace("\"celsius\"", "\"furlong\"");
    check("a strange unit", ok(unit), "found `furlong`");
}

#[test]
fn a_packed_answer_that_is_broken_or_swells_is_not_used() {
    let packed = |bytes: Vec<u8>| ok(bytes).header("Content-Encoding", "gzip");
    check("no gzip", packed(good_answer()), "packed answer is broken");
    let mut spoilt = gzip(&good_answer());
    let middle = spoilt.len() / 2;
    spoilt[middle] ^= 0x20;
    check("a flipped bit", packed(spoilt), "packed answer is broken");
    let mut early = gzip(&good_answer());
    early.truncate(early.len() / 2);
    check("half of it", packed(early), "packed answer is broken");
    let swelling = gzip(&vec![b' '; 21_000_000]);
    check("21 MB", packed(swelling), "larger than 20 MB");
}

#[test]
fn a_huge_answer_is_not_read_to_its_end() {
    check("21 MB", ok(vec![b' '; 21_000_000]), "larger than 20 MB");
}

#[test]
fn redirections_without_end_are_given_up() {
    let bench = Bench::new(vec![Reply::moved("/round")]);
    let failure = format!("{:#}", bench.try_fetch(0).unwrap_err());
    assert!(
        failure.contains("sent us on more than 5 times"),
        "{failure}"
    );
    assert_eq!(bench.server.seen().len(), 6);
    bench.assert_old("round and round");
}
