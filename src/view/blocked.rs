//! Every order that is not on course: why, on what evidence, and the one thing to do.

use chrono::{NaiveDate, NaiveDateTime};

use super::course::{COURSE, NUMBER, course_line};
use super::dates::{day, full_day, minutes, near_day, ranges, time};
use super::page::{Page, Setting, Tone};
use super::weather::{limit_words, unfit_words};
use crate::order::Order;
use crate::plan::course::Course;
use crate::plan::grid::Grid;
use crate::plan::reason::{Blocked, Evidence, Findings, Limit, Reason};
use crate::plan::starts::Start;

/// Everything that the screen shows.
#[derive(Debug, Clone, Copy)]
pub struct BlockedScreen<'a> {
    /// Name of the studio.
    pub studio: &'a str,
    /// All orders; indices of the findings point here.
    pub orders: &'a [Order],
    /// The moment it is asked.
    pub now: NaiveDateTime,
    /// The grid of the starts in the evidence.
    pub grid: &'a Grid,
    /// What the plan rests on, in one line.
    pub forecast_note: &'a str,
    /// What was found.
    pub findings: &'a Findings,
}

/// Writes the list.
pub fn render_blocked(screen: &BlockedScreen, setting: Setting) -> String {
    let mut page = Page::new(setting);
    let today = screen.now.date();
    page.heading(
        &format!("{} · not on course, {}", screen.studio, full_day(today)),
        "",
    );
    page.text(Tone::Quiet, 2, screen.forecast_note);
    let found = screen.findings;
    if found.blocked.is_empty() {
        page.gap();
        page.text(Tone::Good, 2, "Every order of this plan leaves in time.");
    }
    let (weather, other): (Vec<&Blocked>, Vec<&Blocked>) = found
        .blocked
        .iter()
        .partition(|blocked| is_weather(blocked));
    section(screen, "Blocked by weather", &weather, &mut page);
    section(screen, "Blocked by something else", &other, &mut page);
    held_up(screen, &mut page);
    waiting(screen, &mut page);
    page.into_text()
}

/// Tells whether fair weather alone, or with others, would bring the order in time.
pub fn is_weather(blocked: &Blocked) -> bool {
    blocked.reasons.iter().any(|reason| match reason {
        Reason::Limits { limits, .. } => limits.contains(&Limit::Weather),
        Reason::Hold { .. } | Reason::TooLarge { .. } | Reason::TooShort { .. } => false,
    })
}

fn section(screen: &BlockedScreen, name: &str, blocked: &[&Blocked], page: &mut Page) {
    if blocked.is_empty() {
        return;
    }
    page.gap();
    page.heading(name, "");
    for blocked in blocked {
        let today = screen.now.date();
        course_line(screen.orders, &blocked.course, today, page);
        for reason in &blocked.reasons {
            detail(
                "why",
                Tone::Plain,
                &reason_words(screen, blocked, reason),
                page,
            );
        }
        if is_weather(blocked) {
            for evidence in &blocked.evidence {
                if let Some(words) = evidence_words(screen, evidence) {
                    detail("light", Tone::Plain, &words, page);
                }
            }
        }
        detail("do", Tone::Strong, &action_words(screen, blocked), page);
    }
}

fn detail(label: &str, tone: Tone, text: &str, page: &mut Page) {
    page.row(
        &[(NUMBER, Tone::Plain, ""), (COURSE, Tone::Quiet, label)],
        tone,
        text,
    );
}

/// Says why an order is not on course.
pub fn reason_words(screen: &BlockedScreen, blocked: &Blocked, reason: &Reason) -> String {
    let today = screen.now.date();
    match reason {
        Reason::Hold { piece: None, words } => format!("on hold: {words}"),
        Reason::Hold {
            piece: Some(piece),
            words,
        } => format!("piece {piece} on hold: {words}"),
        Reason::TooLarge { piece } => {
            format!("piece {piece} is larger than every frame for its light")
        }
        Reason::Limits { limits, then_on } => {
            let names: Vec<&str> = limits.iter().map(|limit| limit_words(*limit)).collect();
            let lifted = if limits.contains(&Limit::Weather) && limits.len() == 1 {
                "in fair weather".to_owned()
            } else {
                format!(
                    "with more of {}",
                    if names.len() == 1 { "it" } else { "both" }
                )
            };
            format!(
                "{}: {lifted} it would leave {}",
                names.join(" and "),
                day(*then_on, today)
            )
        }
        Reason::TooShort {
            earliest_on: Some(earliest),
            from_start,
        } => {
            let when = if *from_start {
                "from the start"
            } else {
                "by now"
            };
            format!(
                "the promise is too short {when}: with nothing in its way it leaves {}",
                day(*earliest, today)
            )
        }
        Reason::TooShort {
            earliest_on: None, ..
        } => {
            let end = screen.grid.day(screen.grid.horizon() - 1);
            let due = day(blocked.course.due_on, today);
            format!(
                "what is left to do does not fit before {}; it was due {due}",
                day(end, today)
            )
        }
    }
}

fn evidence_words(screen: &BlockedScreen, evidence: &Evidence) -> Option<String> {
    let pieces = format!("piece {}", ranges(&evidence.pieces));
    let words = match (&evidence.best, &evidence.best_unfit) {
        (Some(best), Some(unfit)) if unfit.minutes < best.minutes => {
            format!(
                "best {}; without {} {}",
                start_words(screen, best),
                unfit.unfit.as_ref().map(unfit_words).unwrap_or_default(),
                start_words(screen, unfit)
            )
        }
        (Some(best), _) => format!("best {}", start_words(screen, best)),
        (None, Some(unfit)) => {
            let against = unfit.unfit.as_ref().map(unfit_words).unwrap_or_default();
            format!("none fit; {} but {against}", start_words(screen, unfit))
        }
        (None, None) => "none in this plan".to_owned(),
    };
    Some(format!("{pieces}: {words}"))
}

fn start_words(screen: &BlockedScreen, start: &Start) -> String {
    let at = screen.grid.wall(start.slot);
    let day = near_day(at.date(), screen.now.date());
    format!("{} at {} {day}", minutes(start.minutes), time(at))
}

/// Says the one thing to do about an order.
pub fn action_words(screen: &BlockedScreen, blocked: &Blocked) -> String {
    let order = &screen.orders[blocked.course.order];
    let number = &order.number;
    match blocked.reasons.first() {
        Some(Reason::Hold { piece, .. }) => {
            let place = piece.map_or_else(|| "its".to_owned(), |piece| format!("piece {piece}'s"));
            format!(
                "when settled, delete {place} `hold:` line in {}",
                order.file
            )
        }
        Some(Reason::TooLarge { piece }) => {
            format!("add a frame to studio.yaml that holds piece {piece}, or agree a smaller size")
        }
        Some(Reason::Limits { limits, .. }) => limit_action(screen, blocked, limits[0], number),
        Some(Reason::TooShort { .. }) | None => tell_words(screen, blocked, number),
    }
}

fn limit_action(screen: &BlockedScreen, blocked: &Blocked, limit: Limit, number: &str) -> String {
    match limit {
        Limit::Weather => tell_words(screen, blocked, number),
        Limit::DarkDry => "clear or add dark-dry places tonight".to_owned(),
        Limit::WetDry => "clear or add wet-dry places".to_owned(),
        Limit::Frames => "borrow or build one more frame of its size".to_owned(),
        Limit::Hands => "work an hour longer or ask a second pair of hands".to_owned(),
        Limit::Trays => "set up one more tray".to_owned(),
        Limit::Sessions => "allow one more coating session a day".to_owned(),
        Limit::Material => "get the material earlier, or agree another".to_owned(),
        Limit::Collections => "bring the parcel to the carrier yourself".to_owned(),
    }
}

/// The letter that the delay calls for.
fn tell_words(screen: &BlockedScreen, blocked: &Blocked, number: &str) -> String {
    let today: NaiveDate = screen.now.date();
    match blocked.course.leaves_on {
        Some(leaves) => format!(
            "tell the customer {}: fairday notices {number}",
            day(leaves, today)
        ),
        None => format!("tell the customer that no date can be given: fairday notices {number}"),
    }
}

fn held_up(screen: &BlockedScreen, page: &mut Page) {
    if screen.findings.held_up.is_empty() {
        return;
    }
    let today = screen.now.date();
    page.gap();
    page.heading("In time, but the weather keeps it", "");
    for held in &screen.findings.held_up {
        let order = &screen.orders[held.order];
        let text = format!(
            "{} · leaves {}, in fair weather {}",
            order.customer.name,
            day(held.leaves_on, today),
            day(held.fair_on, today)
        );
        page.row(
            &[
                (NUMBER, Tone::Strong, &order.number),
                (COURSE, Tone::Good, "in time"),
            ],
            Tone::Plain,
            &text,
        );
    }
}

fn waiting(screen: &BlockedScreen, page: &mut Page) {
    if screen.findings.waiting.is_empty() {
        return;
    }
    page.gap();
    page.heading("Waiting, no place needed yet", "");
    for course in &screen.findings.waiting {
        debug_assert_eq!(course.course, Course::Waiting);
        course_line(screen.orders, course, screen.now.date(), page);
    }
}
