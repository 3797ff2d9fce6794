//! The calendar: read by other eyes, the same when nothing changed, moved when it did.

use chrono::{DateTime, TimeDelta, Utc};
use fairday::plan::week::week;
use fairday::view::calendar::{CalendarScreen, render_calendar};
use icalendar::{Calendar, Component, Event};

use super::small_studio::{Small, at, order, small};

fn calendar(small: &Small, before: Option<&str>) -> String {
    small.with_plan(|asked| {
        let week = week(asked.setup, &small.studio, asked.timing);
        let screen = CalendarScreen {
            studio: &small.studio,
            orders: &small.orders,
            now: small.now,
            grid: &asked.setup.grid,
            week: &week,
            credit: Some("Invented weather"),
            errands: &[],
        };
        render_calendar(&screen, before)
    })
}

fn events(text: &str) -> Vec<Event> {
    let calendar: Calendar = text.parse().unwrap();
    calendar.events().cloned().collect()
}

fn find(text: &str, uid: &str) -> Event {
    let found = events(text).into_iter().find(|e| e.get_uid() == Some(uid));
    found.unwrap_or_else(|| panic!("no {uid} in {text}"))
}

/// Monday 11 May 2026, 09:00 in Amsterdam is 07:00 UTC (summer time, two hours ahead).
#[test]
fn an_entry_word_for_word() {
    let text = calendar(&small(vec![order("26-1", 1, "2026-05-15")]), None);
    let begin = text.find("BEGIN:VEVENT").unwrap();
    assert!(text[..begin].starts_with("BEGIN:VCALENDAR\r\nVERSION:2.0\r\n"));
    let mix = find(&text, "mix-2026-05-11-1@blue-shed-prints.fairday");
    assert_eq!(mix.get_summary(), Some("Mix 10 ml"));
    assert_eq!(mix.property_value("DTSTAMP"), Some("20260511T070000Z"));
    let promise = find(&text, "promise-26-1@blue-shed-prints.fairday");
    assert_eq!(promise.property_value("DTSTART"), Some("20260515"));
    assert_eq!(promise.property_value("DTEND"), Some("20260516"));
    assert_eq!(
        promise.get_summary(),
        Some("Promised: 26-1 Ines Calder, leaves by today")
    );
}

/// RFC 5545, 3.1: lines of at most 75 octets, ended by CR LF, no character cut in two.
#[test]
fn lines_are_folded_escaped_and_read_back_whatever_stands_in_a_name() {
    let names = [
        "Ann; Bob, Inc.\\ \"x\"",
        "ליאת כהן ".repeat(30).leak(),
        "山田太郎".repeat(40).leak(),
        "a\u{301}".repeat(150).leak(),
        "one\r\nBEGIN:VEVENT\r\nUID:evil",
    ];
    for name in names {
        let mut hostile = order("26-1;x", 1, "2026-05-15");
        hostile.customer.name = name.to_owned();
        let small = small(vec![hostile]);
        let text = calendar(&small, None);
        assert!(text.split("\r\n").all(|line| line.len() <= 75), "{text}");
        assert!(!text.replace("\r\n", "").contains(['\r', '\n']));
        let count = text.matches("\r\nBEGIN:VEVENT").count();
        assert_eq!(events(&text).len(), count);
        let promise = find(&text, "promise-26-1_3b_x@blue-shed-prints.fairday");
        let clean = fairday::letter::one_line(name);
        assert!(promise.get_summary().unwrap().contains(&clean), "{name}");
        assert_eq!(calendar(&small, Some(&text)), text, "{name}");
    }
}

/// An hour later: what is still planned keeps its UID, what is gone is cancelled once.
#[test]
fn a_second_calendar_moves_cancels_and_doubles_nothing() {
    let before = small(vec![
        order("26-1", 1, "2026-05-15"),
        order("26-2", 1, "2026-05-15"),
    ]);
    let first = calendar(&before, None);
    let mut after = small(vec![order("26-1", 1, "2026-05-15")]);
    after.now = at("2026-05-11 09:00") + TimeDelta::minutes(60);
    let second = calendar(&after, Some(&first));
    let pack = "pack-26-2@blue-shed-prints.fairday";
    let gone = find(&second, pack);
    assert_eq!(gone.property_value("STATUS"), Some("CANCELLED"));
    assert_eq!(
        gone.get_sequence(),
        find(&first, pack).get_sequence().map(|n| n + 60)
    );
    // The promise of the other order has not changed, so neither has its stamp.
    let promise = "promise-26-1@blue-shed-prints.fairday";
    let stamp: Option<DateTime<Utc>> = find(&first, promise).get_timestamp();
    assert_eq!(find(&second, promise).get_timestamp(), stamp);
    assert_eq!(calendar(&after, Some(&second)), second);
    let mut uids: Vec<String> = events(&second)
        .iter()
        .filter_map(|event| event.get_uid().map(str::to_owned))
        .collect();
    let count = uids.len();
    uids.sort_unstable();
    uids.dedup();
    assert_eq!(uids.len(), count);
}

/// The session of Monday begins with another order: it is still the first mix of Monday,
/// and the entries of a day hang on no piece.
#[test]
fn another_first_piece_makes_no_other_mix() {
    let first = calendar(&small(vec![order("26-1", 1, "2026-05-15")]), None);
    let mut after = small(vec![order("26-2", 1, "2026-05-15")]);
    after.now = at("2026-05-11 09:05");
    // Another file, as if the phone had been given the first by hand.
    let second = calendar(&after, None);
    let names = |text: &str, kind: &str| -> Vec<String> {
        let events = events(text);
        let uids = events.iter().filter_map(|event| event.get_uid());
        let own = uids.filter(|uid| uid.starts_with(kind));
        own.map(str::to_owned).collect()
    };
    for kind in ["mix-", "coat-", "expose-", "wash-", "finish-"] {
        assert_eq!(names(&first, kind), names(&second, kind), "{second}");
        assert_eq!(names(&first, kind).len(), 1, "{first}");
    }
    for kind in ["mix-", "coat-", "expose-", "wash-"] {
        let uid = &names(&first, kind)[0];
        let sequence = |text: &str| find(text, uid).get_sequence();
        assert!(sequence(&second) > sequence(&first), "{uid}");
    }
    assert_ne!(names(&first, "pack-"), names(&second, "pack-"));
}

/// What is over keeps its name for as long as it is in the file; the next work of the day
/// gets a number of its own. What changes within a minute is the later one all the same.
#[test]
fn work_that_is_over_gives_its_name_to_nothing_else() {
    let before = small(vec![order("26-1", 1, "2026-05-15")]);
    let first = calendar(&before, None);
    let uid = "mix-2026-05-11-1@blue-shed-prints.fairday";
    let mut after = small(vec![order("26-2", 1, "2026-05-15")]);
    after.now = at("2026-05-11 12:00");
    let second = calendar(&after, Some(&first));
    let line = |text: &str, uid: &str, key: &str| {
        find(text, uid)
            .property_value(key)
            .unwrap_or_default()
            .to_owned()
    };
    assert_eq!(line(&second, uid, "DTSTART"), line(&first, uid, "DTSTART"));
    let next = "mix-2026-05-11-2@blue-shed-prints.fairday";
    assert!(line(&second, next, "DTSTART") > line(&second, uid, "DTSTART"));
    let other = calendar(&small(vec![order("26-3", 1, "2026-05-15")]), Some(&first));
    let coat = "coat-2026-05-11-1@blue-shed-prints.fairday";
    let sequence = |text: &str| find(text, coat).get_sequence().unwrap();
    assert_eq!(sequence(&other), sequence(&first) + 1);
}
