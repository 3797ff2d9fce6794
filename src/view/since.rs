//! What changed since the kept plan, in words.

use chrono::{NaiveDate, NaiveDateTime};

use super::dates::{count, day, full_day, near_day, ranges, time};
use super::page::{Page, Setting, Tone};
use crate::plan::since::{Leaving, Since, StepChange, Why};
use crate::stage::Stage;

/// Everything that the screen shows.
#[derive(Debug, Clone, Copy)]
pub struct SinceScreen<'a> {
    /// Name of the studio.
    pub studio: &'a str,
    /// The moment of the plan now.
    pub now: NaiveDateTime,
    /// What the plan rests on, in one line.
    pub forecast_note: &'a str,
    /// The moment that the kept plan was made for.
    pub made: NaiveDateTime,
    /// What differs.
    pub since: &'a Since,
}

/// `tomorrow 08:45`.
const WHAT: usize = 16;

/// Writes what changed.
pub fn render_since(screen: &SinceScreen, setting: Setting) -> String {
    let mut page = Page::new(setting);
    let today = screen.now.date();
    page.heading(
        &format!("{} · what changed, {}", screen.studio, full_day(today)),
        &format!(
            "since {} {}",
            day(screen.made.date(), today),
            time(screen.made)
        ),
    );
    page.text(Tone::Quiet, 2, screen.forecast_note);
    page.gap();
    if screen.since.orders.is_empty() {
        page.text(
            Tone::Good,
            2,
            "Every order leaves on the day it was to leave.",
        );
    }
    for change in &screen.since.orders {
        let (tone, words) = leaving_words(change.change, today);
        page.row(&[(WHAT, Tone::Strong, &change.number)], tone, &words);
    }
    page.gap();
    page.text(Tone::Plain, 2, &stayed_words(screen.since));
    for step in &screen.since.steps {
        let at = near_day(step.was.date(), today);
        page.row(
            &[(WHAT, Tone::Quiet, &format!("{at} {}", time(step.was)))],
            Tone::Plain,
            &step_words(step, today),
        );
    }
    page.into_text()
}

/// Says how an order's leaving changed, and how much that matters.
pub fn leaving_words(change: Leaving, today: NaiveDate) -> (Tone, String) {
    let on = |date: Option<NaiveDate>| date.map(|date| day(date, today));
    match change {
        Leaving::New { now: None } => (Tone::Look, "is new and not in the plan".to_owned()),
        Leaving::New { now } => (
            Tone::Plain,
            format!("is new, leaves {}", on(now).unwrap_or_default()),
        ),
        Leaving::Gone => (Tone::Quiet, "is no longer open".to_owned()),
        Leaving::Held { was } => (
            Tone::Look,
            match on(was) {
                Some(was) => format!("is on hold; it was to leave {was}"),
                None => "is on hold".to_owned(),
            },
        ),
        Leaving::Moved { was, now, due_on } => {
            let late = now.is_none_or(|now| now > due_on);
            let tone = if late { Tone::Look } else { Tone::Plain };
            let words = match (on(was), on(now)) {
                (Some(was), Some(now)) => format!("leaves {now} instead of {was}"),
                (None, Some(now)) => format!("leaves {now}; it was not in the plan"),
                (was, None) => format!(
                    "is in the plan no more; it was to leave {}",
                    was.unwrap_or_default()
                ),
            };
            (tone, format!("{words}, due {}", day(due_on, today)))
        }
    }
}

fn stayed_words(since: &Since) -> String {
    match (since.stayed.all, since.stayed.same) {
        (0, _) => "No step was kept for the rest of today or tomorrow morning.".to_owned(),
        (all, same) if all == same => format!(
            "Today and tomorrow morning stay as they were, all {}.",
            count(all, "step")
        ),
        (all, 1) => format!(
            "Of {} for today and tomorrow morning 1 stays as it was.",
            count(all, "step")
        ),
        (all, same) => format!(
            "Of {} for today and tomorrow morning {same} stay as they were.",
            count(all, "step")
        ),
    }
}

/// Says what became of a step and why.
pub fn step_words(step: &StepChange, today: NaiveDate) -> String {
    let verb = match step.stage {
        Stage::Coating => "coat",
        Stage::Exposing => "expose",
        Stage::Washing => "wash",
        _ => "finish",
    };
    let now = match step.now {
        Some(now) if now.date() == step.was.date() => format!("now {}", time(now)),
        Some(now) => format!("now {} {}", near_day(now.date(), today), time(now)),
        None => "not at that time".to_owned(),
    };
    format!("{verb} {} {now}: {}", pieces(step), why_words(step.cause))
}

fn pieces(step: &StepChange) -> String {
    let mut words: Vec<String> = Vec::new();
    let mut rest = step.pieces.as_slice();
    while let Some((order, _)) = rest.first() {
        let alike = rest
            .iter()
            .take_while(|(number, _)| number == order)
            .count();
        let numbers: Vec<u32> = rest[..alike].iter().map(|(_, piece)| *piece).collect();
        words.push(format!("{order}/{}", ranges(&numbers)));
        rest = &rest[alike..];
    }
    words.join(", ")
}

fn why_words(cause: Why) -> String {
    let percent = |mille: i64| (mille as f64 / 10.0).round();
    match cause {
        Why::Missed => "its time passed and nothing is marked".to_owned(),
        Why::SentBack => "it was sent back".to_owned(),
        Why::NotDry => "it is not dry by then".to_owned(),
        Why::Regrouped => "these pieces go together differently now".to_owned(),
        Why::NotFit => "sky or wind do not allow that start any more".to_owned(),
        Why::Riskier { was, now } => format!(
            "the weather risk rose from {} to {} %",
            percent(was),
            percent(now)
        ),
        Why::Longer { was, now } => {
            format!("it would take {now} min in the light instead of {was}")
        }
        Why::Follows => "it follows the step before".to_owned(),
        Why::LeftOut => "the plan has these pieces no more".to_owned(),
        Why::Room => "the other steps go better that way".to_owned(),
    }
}
