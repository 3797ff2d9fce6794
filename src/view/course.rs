//! One line on how an order stands against its promise.

use chrono::NaiveDate;

use super::dates::{count, day};
use super::page::{Page, Tone};
use crate::order::Order;
use crate::plan::course::{Course, OrderCourse};

/// Column of an order's number. [characters]
pub const NUMBER: usize = 10;
/// Column of the word for how it stands. [characters]
pub const COURSE: usize = 12;

/// Adds the order's line: number, how it stands, when it leaves and was to leave.
pub fn course_line(orders: &[Order], course: &OrderCourse, today: NaiveDate, page: &mut Page) {
    let order = &orders[course.order];
    let (word, tone) = course_word(course.course);
    let labels = [
        (NUMBER, Tone::Strong, order.number.as_str()),
        (COURSE, tone, word),
    ];
    let text = format!("{} · {}", order.customer.name, dates_words(course, today));
    page.row(&labels, Tone::Plain, &text);
}

/// Returns the word for how an order stands.
pub fn course_word(course: Course) -> (&'static str, Tone) {
    match course {
        Course::OnCourse => ("in time", Tone::Good),
        Course::Waiting => ("waiting", Tone::Quiet),
        Course::Late => ("late", Tone::Alarm),
        Course::LeftOut => ("no day yet", Tone::Alarm),
        Course::Held => ("on hold", Tone::Look),
        Course::TooLarge => ("too large", Tone::Look),
    }
}

/// Says when the order leaves and when it was to leave.
pub fn dates_words(course: &OrderCourse, today: NaiveDate) -> String {
    let by = day(course.leave_by, today);
    match (course.leaves_on, course.days_late()) {
        (Some(leaves), Some(0)) => format!("leaves {}, due {by}", day(leaves, today)),
        (Some(leaves), _) if course.leave_by < course.due_on => {
            let leaves = day(leaves, today);
            format!("leaves {leaves}, the last collection in time is {by}")
        }
        (Some(leaves), late) => {
            let late = count(late.unwrap_or(0).unsigned_abs() as usize, "day");
            format!("leaves {}, {late} after {by}", day(leaves, today))
        }
        (None, _) if course.course == Course::Waiting => {
            format!("due {by}, beyond this plan")
        }
        (None, _) => format!("due {by}"),
    }
}
