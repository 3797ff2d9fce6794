//! The plan as an iCalendar file: steps, collections, promised days.
//!
//! Times are written in UTC, so that no rule of a clock change has to travel with them;
//! a phone shows them on its own clock. What is about one order keeps the UID of that
//! order wherever the plan moves it: packing, being ready, the promise. Mixes, coats,
//! rounds, washing and finishing are named by their day and their number on it (the
//! second round of Wednesday), so that a day that is planned anew takes the place of the
//! old one, whichever pieces it holds. What is unchanged keeps its stamp: a phone that
//! reads the file again moves entries and doubles none.
//!
//! # Sources
//! RFC 5545 (form, DTSTAMP, UID, SEQUENCE), RFC 5546 (a greater SEQUENCE takes the place
//! of a lesser one; CANCELLED).

use std::collections::BTreeMap;

use chrono::{DateTime, Days, NaiveDate, NaiveDateTime, TimeDelta, Utc};
use icalendar::{Calendar, Component, Event, EventLike, EventStatus, Property};

use super::coating::grams;
use super::dates::{amount, minutes, time};
use super::page::NO_BREAK;
use super::pieces::{batch_words, parcel_words, pieces_words};
use super::stock::Errand;
use crate::letter::{one_line, verb};
use crate::order::Order;
use crate::plan::grid::Grid;
use crate::plan::week::{Batch, Round, Step, Week, What};
use crate::studio::Studio;

/// Entries that are over are kept this long. [d]
const KEPT_DAYS: i64 = 60;

/// Everything that the calendar tells.
#[derive(Debug, Clone, Copy)]
pub struct CalendarScreen<'a> {
    /// The studio.
    pub studio: &'a Studio,
    /// All orders; indices of the plan point here.
    pub orders: &'a [Order],
    /// The moment the plan is made for.
    pub now: NaiveDateTime,
    /// The grid of the plan.
    pub grid: &'a Grid,
    /// The steps.
    pub week: &'a Week,
    /// How the service of the forecast wants to be credited; none without a forecast.
    pub credit: Option<&'a str>,
    /// What to make and to order.
    pub errands: &'a [Errand],
}

/// Writes the calendar; `before` is the file that it will take the place of.
///
/// Entries of `before` that are still to come and no longer planned are written as
/// cancelled, those that are over stay for a while. A `before` that cannot be read
/// counts as none.
pub fn render_calendar(screen: &CalendarScreen, before: Option<&str>) -> String {
    let before = before.map(read_events).unwrap_or_default();
    let mut events: BTreeMap<String, Event> = entries(screen, &before)
        .into_iter()
        .filter_map(|event| Some((event.get_uid()?.to_owned(), event)))
        .collect();
    let now = instant(screen, screen.now);
    for old in before {
        let Some(uid) = old.get_uid().map(str::to_owned) else {
            continue;
        };
        match events.get_mut(&uid) {
            Some(new) => follow(new, &old),
            None => {
                if let Some(gone) = gone(&old, now) {
                    events.insert(uid, gone);
                }
            }
        }
    }
    let mut calendar = Calendar::empty();
    let name = one_line(&screen.studio.name);
    for (key, value) in [
        ("VERSION", "2.0"),
        ("PRODID", "-//fairday//plan//EN"),
        ("CALSCALE", "GREGORIAN"),
        ("METHOD", "PUBLISH"),
        ("NAME", name.as_str()),
        ("X-WR-CALNAME", name.as_str()),
    ] {
        calendar.append_property(Property::new(key, value));
    }
    let mut events: Vec<Event> = events.into_values().collect();
    events.sort_by_cached_key(|event| (start_text(event), event.get_uid().map(str::to_owned)));
    calendar.extend(events);
    calendar.to_string()
}

fn read_events(text: &str) -> Vec<Event> {
    let calendar: Result<Calendar, _> = text.parse();
    calendar
        .map(|calendar| calendar.events().cloned().collect())
        .unwrap_or_default()
}

/// Gives `new` the stamp of `old` if they say the same; else it is the later of the two,
/// also where no minute has gone by.
fn follow(new: &mut Event, old: &Event) {
    let (Some(stamp), Some(sequence)) = (old.get_timestamp(), old.get_sequence()) else {
        return;
    };
    let mut same = new.clone();
    same.timestamp(stamp).sequence(sequence);
    if Component::to_string(&same) == Component::to_string(old) {
        *new = same;
    } else if new.get_sequence().is_none_or(|newer| newer <= sequence) {
        new.sequence(sequence.saturating_add(1));
    }
}

/// Returns what becomes of an entry that the plan no longer has; none if it is forgotten.
fn gone(old: &Event, now: DateTime<Utc>) -> Option<Event> {
    let stamp = |at: DateTime<Utc>| at.format("%Y%m%dT%H%M%SZ").to_string();
    let start = start_text(old);
    // Days and instants are compared as text, which their forms allow.
    if start < stamp(now - TimeDelta::days(KEPT_DAYS)) {
        return None;
    }
    let cancelled = old.property_value("STATUS") == Some("CANCELLED");
    if cancelled || start < stamp(now) {
        return Some(old.clone());
    }
    let mut gone = old.clone();
    let sequence = old.get_sequence().unwrap_or(0).saturating_add(1);
    gone.status(EventStatus::Cancelled)
        .timestamp(now)
        .sequence(sequence.max(sequence_at(now)));
    Some(gone)
}

fn start_text(event: &Event) -> String {
    text_of(event, "DTSTART")
}

fn text_of(event: &Event, key: &str) -> String {
    event.property_value(key).unwrap_or_default().to_owned()
}

/// Numbers the work of each kind within its day.
struct Numbers {
    /// By kind and day, the last number that was given.
    given: BTreeMap<(&'static str, NaiveDate), u32>,
}

impl Numbers {
    /// Begins after the entries of `before` that are in no plan any more and keep their
    /// names: what is over, and what goes on without being a step of the plan.
    fn after(before: &[Event], now: DateTime<Utc>) -> Numbers {
        let now = now.format("%Y%m%dT%H%M%SZ").to_string();
        let mut given = BTreeMap::new();
        for event in before {
            let (start, end) = (start_text(event), text_of(event, "DTEND"));
            let is_cancelled = event.property_value("STATUS") == Some("CANCELLED");
            let Some((kind, day, number)) = event.get_uid().and_then(numbered) else {
                continue;
            };
            let begun = UNTOLD.contains(&kind) && start < now;
            if !is_cancelled && !end.is_empty() && (end <= now || begun) {
                let last: &mut u32 = given.entry((kind, day)).or_default();
                *last = number.max(*last);
            }
        }
        Numbers { given }
    }

    /// Returns the name of the next work of a kind on a day.
    fn next(&mut self, kind: &'static str, day: NaiveDate) -> String {
        let last = self.given.entry((kind, day)).or_default();
        *last += 1;
        format!("{day}-{last}")
    }
}

/// Kinds that a plan does not tell any more once they have begun.
const UNTOLD: [&str; 2] = ["expose", "finish"];
/// Kinds of work that are numbered within their day.
const NUMBERED: [&str; 5] = ["mix", "coat", "expose", "wash", "finish"];

/// Reads kind, day and number out of a UID that has them.
fn numbered(uid: &str) -> Option<(&'static str, NaiveDate, u32)> {
    let (name, _) = uid.split_once('@')?;
    let (kind, rest) = name.split_once('-')?;
    let kind = NUMBERED.into_iter().find(|known| *known == kind)?;
    let (day, number) = rest.rsplit_once('-')?;
    Some((kind, day.parse().ok()?, number.parse().ok()?))
}

/// Returns a number that is greater whenever the plan is newer: minutes since 2020.
fn sequence_at(at: DateTime<Utc>) -> u32 {
    const YEAR_2020: i64 = 1_577_836_800;
    u32::try_from((at.timestamp() - YEAR_2020) / 60).unwrap_or(0)
}

fn entries(screen: &CalendarScreen, before: &[Event]) -> Vec<Event> {
    let mut numbers = Numbers::after(before, instant(screen, screen.now));
    let steps = screen.week.days.iter().flat_map(|day| &day.steps);
    let mut events: Vec<Event> = steps
        .flat_map(|step| step_events(screen, step, &mut numbers))
        .collect();
    events.extend(
        screen
            .errands
            .iter()
            .map(|errand| errand_event(screen, errand)),
    );
    let open = screen.orders.iter().filter(|order| !order.is_closed());
    events.extend(open.filter_map(|order| promise_event(screen, order)));
    events
}

fn step_events(screen: &CalendarScreen, step: &Step, numbers: &mut Numbers) -> Vec<Event> {
    let span = (step.from, step.until);
    let day = step.from.date();
    let named = |batch: &Batch| batch_words(screen.orders, screen.studio, batch);
    match &step.what {
        What::Coat(session) => {
            let mix = &session.mix;
            let summary = format!("Mix {} ml", amount(mix.volume_ml));
            let about = format!(
                "{} ml A ({} g) + {} ml B ({} g), use by {}",
                amount(mix.a_ml),
                grams(mix.a_g),
                amount(mix.b_ml),
                grams(mix.b_g),
                time(session.mix_until)
            );
            // What is over of a session under way stays as the file before has it.
            let mixing = (session.ready > screen.now).then(|| {
                let key = numbers.next("mix", day);
                let span = (step.from, session.ready);
                event(screen, ("mix", &key), span, &summary, &about)
            });
            let to_come = session.coats.iter().filter(|coat| coat.until > screen.now);
            let coats = to_come.map(|coat| {
                let summary = format!("Coat {}", pieces_words(screen.orders, &coat.batch.pieces));
                let about = format!(
                    "{}; dry {}",
                    named(&coat.batch),
                    coat.dry.format("%a %H:%M")
                );
                let key = numbers.next("coat", day);
                event(
                    screen,
                    ("coat", &key),
                    (coat.from, coat.until),
                    &summary,
                    &about,
                )
            });
            coats
                .collect::<Vec<_>>()
                .into_iter()
                .chain(mixing)
                .collect()
        }
        What::Expose(round) => {
            let key = numbers.next("expose", day);
            vec![round_event(screen, round, &key, span)]
        }
        What::Wash(batch) => {
            let summary = format!("Wash {}", pieces_words(screen.orders, &batch.pieces));
            let key = numbers.next("wash", day);
            vec![event(screen, ("wash", &key), span, &summary, &named(batch))]
        }
        What::Finish(batch) => {
            let summary = format!("Finish {}", pieces_words(screen.orders, &batch.pieces));
            let key = numbers.next("finish", day);
            vec![event(
                screen,
                ("finish", &key),
                span,
                &summary,
                &named(batch),
            )]
        }
        What::Pack(parcel) => {
            let summary = format!("Pack {}", parcel_words(screen.orders, parcel));
            let key = slug(&screen.orders[parcel.order].number);
            vec![event(screen, ("pack", &key), span, &summary, "")]
        }
        What::Leave(parcels) => {
            let (door, carried): (Vec<_>, Vec<_>) = parcels.iter().partition(|p| p.pickup);
            let mut events: Vec<Event> = door
                .into_iter()
                .map(|parcel| {
                    let summary = format!("Ready: {}", parcel_words(screen.orders, parcel));
                    let key = slug(&screen.orders[parcel.order].number);
                    event(screen, ("ready", &key), span, &summary, "")
                })
                .collect();
            if !carried.is_empty() {
                let words = carried
                    .iter()
                    .map(|parcel| parcel_words(screen.orders, parcel));
                let about: Vec<String> = words.collect();
                let carrier = screen.studio.shipping.carrier.as_deref();
                let summary = format!("Collection by {}", carrier.unwrap_or("the carrier"));
                let key = step.from.format("%Y-%m-%d").to_string();
                let key = ("collection", key.as_str());
                events.push(event(screen, key, span, &summary, &about.join("\n")));
            }
            events
        }
    }
}

fn round_event(
    screen: &CalendarScreen,
    round: &Round,
    key: &str,
    span: (NaiveDateTime, NaiveDateTime),
) -> Event {
    let summary = format!(
        "Expose {}: {}",
        round.frame,
        pieces_words(screen.orders, &round.batch.pieces)
    );
    let stay = if round.watch { "; stay with it" } else { "" };
    let credit = screen.credit.filter(|_| !round.lamp);
    let credit = credit.map_or_else(String::new, |credit| format!("\n{credit}"));
    let about = format!(
        "{} from {}, {}{stay}{credit}",
        minutes(round.minutes),
        time(round.light_from),
        batch_words(screen.orders, screen.studio, &round.batch)
    );
    event(screen, ("expose", key), span, &summary, &about)
}

/// Something to make or to order, as a quarter of an hour before its time.
fn errand_event(screen: &CalendarScreen, errand: &Errand) -> Event {
    let mut summary = errand.what.clone();
    if let Some(first) = summary.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    let span = (errand.by - TimeDelta::minutes(15), errand.by);
    let key = slug(&errand.key);
    event(screen, ("errand", &key), span, &summary, &errand.why)
}

/// The promised day as a whole day.
fn promise_event(screen: &CalendarScreen, order: &Order) -> Option<Event> {
    let promise = order.promise?;
    let what = format!("{} today", verb(&order.delivery, promise.kind));
    let summary = format!("Promised: {} {}, {what}", order.number, order.customer.name);
    let key = slug(&order.number);
    let span = (screen.now, screen.now);
    let mut event = event(screen, ("promise", &key), span, &summary, "");
    // The end of a whole day is the day after (RFC 5545, 3.6.1).
    event
        .starts(promise.date)
        .ends(promise.date + Days::new(1))
        .add_property("TRANSP", "TRANSPARENT");
    Some(event.done())
}

/// Makes an entry; `key` is its kind and what it is about.
fn event(
    screen: &CalendarScreen,
    key: (&str, &str),
    span: (NaiveDateTime, NaiveDateTime),
    summary: &str,
    about: &str,
) -> Event {
    let mut event = Event::new();
    let now = instant(screen, screen.now);
    let uid = format!("{}-{}@{}.fairday", key.0, key.1, slug(&screen.studio.name));
    event
        .uid(&uid)
        .timestamp(now)
        .sequence(sequence_at(now))
        .summary(&one_line(&summary.replace(NO_BREAK, " ")))
        .starts(instant(screen, span.0));
    if span.1 > span.0 {
        event.ends(instant(screen, span.1));
    }
    if !about.is_empty() {
        event.description(&clean(about));
    }
    event.done()
}

/// Makes every line of a text one that no reader trips over.
fn clean(text: &str) -> String {
    let lines = text
        .lines()
        .map(|line| one_line(&line.replace(NO_BREAK, " ")));
    lines.collect::<Vec<_>>().join("\n")
}

/// Writes a name in lower-case letters, digits and hyphens; other signs by their number,
/// so that two names stay two.
fn slug(name: &str) -> String {
    let sign = |c: char| match c {
        'a'..='z' | '0'..='9' | '-' => c.to_string(),
        'A'..='Z' => c.to_ascii_lowercase().to_string(),
        ' ' => "-".to_owned(),
        other => format!("_{:x}_", u32::from(other)),
    };
    name.chars().map(sign).collect()
}

/// Returns the instant of a wall time of the plan.
fn instant(screen: &CalendarScreen, wall: NaiveDateTime) -> DateTime<Utc> {
    let slot = screen.grid.slot_until(wall);
    let found = screen.grid.find_instant(slot);
    // The hour that a clock change skips has none; the next one stands for it.
    let found = found.or_else(|| screen.grid.find_instant(slot + 12));
    found.unwrap_or_else(|| wall.and_utc())
}
