//! The difference between the plan as it is and the plan as it would be.

use chrono::{NaiveDate, NaiveDateTime};

use super::course::{COURSE, NUMBER, course_word};
use super::dates::{count, day, full_day};
use super::page::{Page, Setting, Tone};
use crate::order::Order;
use crate::plan::course::OrderCourse;
use crate::plan::what_if::{Difference, Moved};

/// Everything that the screen shows.
#[derive(Debug, Clone, Copy)]
pub struct WhatIfScreen<'a> {
    /// Name of the studio.
    pub studio: &'a str,
    /// The orders of the second plan.
    pub orders: &'a [Order],
    /// The moment it is asked.
    pub now: NaiveDateTime,
    /// What the plan rests on, in one line.
    pub forecast_note: &'a str,
    /// The questions as they were typed.
    pub questions: &'a [String],
    /// What differs.
    pub difference: &'a Difference,
}

/// Writes the answer.
pub fn render_what_if(screen: &WhatIfScreen, setting: Setting) -> String {
    let mut page = Page::new(setting);
    let today = screen.now.date();
    page.heading(
        &format!("{} · what if, {}", screen.studio, full_day(today)),
        "",
    );
    page.text(Tone::Quiet, 2, screen.forecast_note);
    for question in screen.questions {
        page.text(Tone::Quiet, 2, question);
    }
    page.gap();
    let found = screen.difference;
    if found.moved.is_empty() {
        page.text(Tone::Good, 2, "Every order leaves as it does without it.");
    }
    for moved in &found.moved {
        let number = screen.orders[moved.order].number.as_str();
        let (word, tone) = course_word(moved.after.course);
        page.row(
            &[(NUMBER, Tone::Strong, number), (COURSE, tone, word)],
            Tone::Plain,
            &moved_words(screen, moved),
        );
    }
    page.gap();
    page.text(Tone::Plain, 2, &today_words(found));
    page.into_text()
}

/// Says how an order stands now and how it stood.
pub fn moved_words(screen: &WhatIfScreen, moved: &Moved) -> String {
    let today = screen.now.date();
    let name = &screen.orders[moved.order].customer.name;
    let after = leaves_words(&moved.after, today);
    let instead = match &moved.before {
        None => String::new(),
        Some(before) => format!(" instead of {}", leaves_day(before, today)),
    };
    format!(
        "{name} · {after}{instead}, due {}",
        day(moved.after.leave_by, today)
    )
}

fn leaves_words(course: &OrderCourse, today: NaiveDate) -> String {
    match course.leaves_on {
        Some(leaves) => format!("leaves {}", day(leaves, today)),
        None => "gets no day in this plan".to_owned(),
    }
}

fn leaves_day(course: &OrderCourse, today: NaiveDate) -> String {
    let leaves = course.leaves_on.map(|leaves| day(leaves, today));
    leaves.unwrap_or_else(|| "no day at all".to_owned())
}

fn today_words(found: &Difference) -> String {
    match (found.steps, found.steps_gone) {
        (0, _) => "Nothing was planned for today.".to_owned(),
        (_, 0) => "Today stays as it is.".to_owned(),
        (all, gone) => format!("Today {gone} of {} would be otherwise.", count(all, "step")),
    }
}
