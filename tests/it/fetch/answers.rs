//! What a service that is well may answer, and when it is not asked at all.

use fairday::forecast::fetch::{Outcome, Record, Refusal, record_file};
use fairday::outside::fetch::find_fetched_at;

use super::server::{Reply, gzip};
use super::{Bench, OLD, good_answer, met_answer, now};

const MODIFIED: &str = "Mon, 11 May 2026 05:41:13 GMT";

/// A good answer that holds for half an hour.
fn good() -> Reply {
    Reply::new(200, good_answer())
        .header("Date", "Mon, 11 May 2026 06:00:00 GMT")
        .header("Expires", "Mon, 11 May 2026 06:30:00 GMT")
        .header("Last-Modified", MODIFIED)
}

fn header(head: &str, name: &str) -> Option<String> {
    let start = format!("{}:", name.to_ascii_lowercase());
    let line = head
        .lines()
        .find(|line| line.to_ascii_lowercase().starts_with(&start))?;
    Some(line[start.len()..].trim().to_owned())
}

#[test]
fn a_good_answer_is_kept_and_the_question_keeps_the_terms() {
    let bench = Bench::new(vec![good()]);
    let Outcome::New {
        forecast,
        problems,
        deprecated,
        until,
    } = bench.fetch(0)
    else {
        panic!("a good answer is new");
    };
    assert_eq!(forecast.hours.len(), 72);
    assert_eq!((problems.len(), deprecated), (0, false));
    assert_eq!((until - now()).num_minutes(), 30);
    assert_eq!(bench.forecast(), good_answer());

    let seen = bench.server.seen();
    assert_eq!(seen.len(), 1);
    let path = "/weatherapi/locationforecast/2.0/complete?lat=53.90&lon=-2.90&altitude=15";
    assert_eq!(
        seen[0].lines().next(),
        Some(format!("GET {path} HTTP/1.1").as_str())
    );
    let agent = format!("fairday/{} maren@example.org", env!("CARGO_PKG_VERSION"));
    assert_eq!(header(&seen[0], "User-Agent"), Some(agent));
    assert_eq!(header(&seen[0], "Accept-Encoding").as_deref(), Some("gzip"));
    assert_eq!(header(&seen[0], "If-Modified-Since"), None);

    let fetched_at = find_fetched_at(bench.path(), "forecast.json");
    assert_eq!(fetched_at, Some(now()));
}

#[test]
fn nobody_is_asked_before_the_answer_expires_and_then_only_for_something_newer() {
    let unchanged = Reply::new(304, "")
        .header("Date", "Mon, 11 May 2026 06:31:00 GMT")
        .header("Expires", "Mon, 11 May 2026 07:00:00 GMT");
    let bench = Bench::new(vec![good(), unchanged]);
    bench.fetch(0);
    assert!(matches!(bench.fetch(29), Outcome::StillHolds { .. }));
    assert_eq!(bench.server.seen().len(), 1);

    let Outcome::Unchanged { until } = bench.fetch(31) else {
        panic!("304 keeps what there is");
    };
    assert_eq!((until - now()).num_minutes(), 60);
    let seen = bench.server.seen();
    // Letter for letter what the service said, and no time of our own.
    assert_eq!(
        header(&seen[1], "If-Modified-Since").as_deref(),
        Some(MODIFIED)
    );
    assert_eq!(bench.forecast(), good_answer());
    assert_eq!(find_fetched_at(bench.path(), "forecast.json"), Some(now()));
    assert!(matches!(bench.fetch(59), Outcome::StillHolds { .. }));
    assert_eq!(bench.server.seen().len(), 2);
}

#[test]
fn a_forecast_put_there_by_hand_is_not_taken_for_the_fetched_one() {
    let bench = Bench::new(vec![good()]);
    bench.fetch(0);
    std::fs::write(bench.path().join("forecast.json"), OLD).unwrap();
    assert_eq!(find_fetched_at(bench.path(), "forecast.json"), None);
    assert!(matches!(bench.fetch(5), Outcome::New { .. }));
    assert_eq!(header(&bench.server.seen()[1], "If-Modified-Since"), None);
}

#[test]
fn another_place_is_asked_for_at_once() {
    let mut bench = Bench::new(vec![good()]);
    bench.fetch(0);
    bench.place.latitude_deg += 0.02;
    assert!(matches!(bench.fetch(5), Outcome::New { .. }));
    let seen = bench.server.seen();
    assert!(seen[1].contains("lat=53.92&"), "{}", seen[1]);
    assert_eq!(header(&seen[1], "If-Modified-Since"), None);
}

#[test]
fn a_deprecated_answer_is_used_and_said_to_be_one() {
    let bench = Bench::new(vec![Reply::new(203, good_answer())]);
    let outcome = bench.fetch(0);
    assert!(matches!(
        outcome,
        Outcome::New {
            deprecated: true,
            ..
        }
    ));
    assert_eq!(bench.forecast(), good_answer());
}

#[test]
fn a_packed_answer_is_unpacked_before_it_is_kept() {
    let packed = Reply::new(200, gzip(&good_answer())).header("Content-Encoding", "gzip");
    let bench = Bench::new(vec![packed]);
    assert!(matches!(bench.fetch(0), Outcome::New { .. }));
    assert_eq!(bench.forecast(), good_answer());
}

#[test]
fn a_redirection_is_followed() {
    let bench = Bench::new(vec![Reply::moved("/elsewhere"), good()]);
    assert!(matches!(bench.fetch(0), Outcome::New { .. }));
    let seen = bench.server.seen();
    assert!(
        seen[1].starts_with("GET /elsewhere HTTP/1.1"),
        "{}",
        seen[1]
    );
    // The same question at the same address, not at the one it was sent to.
    assert!(matches!(bench.fetch(5), Outcome::StillHolds { .. }));
}

#[test]
fn a_clock_set_back_or_forward_asks_for_something_newer_and_loses_nothing() {
    let replies = vec![good(), Reply::new(304, ""), Reply::new(304, "")];
    let bench = Bench::new(replies);
    bench.fetch(0);
    // A year back: what expires in a year would never be asked for again.
    assert!(matches!(bench.fetch(-525_600), Outcome::Unchanged { .. }));
    assert_eq!(bench.forecast(), good_answer());
    // And forward again.
    assert!(matches!(bench.fetch(0), Outcome::Unchanged { .. }));
    let seen = bench.server.seen();
    assert_eq!(
        header(&seen[1], "If-Modified-Since").as_deref(),
        Some(MODIFIED)
    );
    assert_eq!(
        header(&seen[2], "If-Modified-Since").as_deref(),
        Some(MODIFIED)
    );
    assert_eq!(bench.forecast(), good_answer());
}

#[test]
fn a_better_answer_replaces_a_fetched_one() {
    let better = met_answer(now(), 96, 53.9, -2.9);
    let bench = Bench::new(vec![good(), Reply::new(200, better.clone())]);
    bench.fetch(0);
    assert!(matches!(bench.fetch(31), Outcome::New { .. }));
    assert_eq!(bench.forecast(), better);
}

#[test]
fn too_many_questions_are_followed_by_the_rest_that_was_asked_for() {
    let enough = Reply::new(429, "slow down").header("Retry-After", "1800");
    let bench = Bench::new(vec![good(), enough, good()]);
    bench.fetch(0);
    let refused = |outcome: Outcome| match outcome {
        Outcome::Refused(refusal) => refusal,
        other => panic!("{other:?}"),
    };
    let until = now() + chrono::TimeDelta::minutes(61);
    assert_eq!(refused(bench.fetch(31)), Refusal::TooMany { until });
    assert_eq!(refused(bench.fetch(60)), Refusal::Resting { until });
    assert_eq!(bench.server.seen().len(), 2);
    assert_eq!(bench.forecast(), good_answer());
    // What was fetched is not forgotten over it.
    assert_eq!(find_fetched_at(bench.path(), "forecast.json"), Some(now()));
    assert!(matches!(bench.fetch(61), Outcome::New { .. }));
    assert!(bench.server.seen()[2].contains(MODIFIED));
}

#[test]
fn the_record_holds_times_and_no_more() {
    let bench = Bench::new(vec![good()]);
    bench.fetch(0);
    let path = bench.path().join(record_file("forecast.json"));
    let record = Record::parse(&std::fs::read_to_string(path).unwrap()).unwrap();
    assert_eq!(record.answered_at, now());
    assert_eq!(record.ask_from, now() + chrono::TimeDelta::minutes(30));
    let kept = record.kept.unwrap();
    assert_eq!(kept.last_modified.as_deref(), Some(MODIFIED));
}
