//! What the plan has to say about each open order to those who write to customers.

use super::course::{Course, OrderCourse};
use super::reason::{Blocked, Findings, Limit, Reason};
use super::setup::Setup;
use crate::notice::{Cause, Outlook};
use crate::order::Order;

/// Returns the outlook of every open order, in the order given.
pub fn outlooks(setup: &Setup, courses: &[OrderCourse], findings: &Findings) -> Vec<Outlook> {
    let blocked = |order: usize| {
        findings
            .blocked
            .iter()
            .find(|blocked| blocked.course.order == order)
    };
    courses
        .iter()
        .filter(|course| course.course != Course::Waiting)
        .map(|course| {
            let order = &setup.orders[course.order];
            Outlook {
                order: order.number.clone(),
                leaves_on: course.leaves_on,
                arrives_on: course.arrives_on,
                planned_until: setup.end().date(),
                cause: blocked(course.order).and_then(|blocked| cause(order, blocked)),
            }
        })
        .collect()
}

fn cause(order: &Order, blocked: &Blocked) -> Option<Cause> {
    let remade = order
        .pieces
        .iter()
        .any(|piece| piece.progress.remakes().next().is_some());
    let needed = blocked.reasons.iter().find_map(|reason| match reason {
        Reason::Limits(needed) => Some(needed),
        _ => None,
    });
    let needs = |limit| needed.is_some_and(|needed| needed.limits.contains(&limit));
    let cause = match blocked.reasons.first()? {
        Reason::Hold { .. } => Cause::Hold,
        Reason::TooLarge { .. } => Cause::Longer,
        Reason::TooShort {
            from_start: true, ..
        } => Cause::TooEarly,
        _ if needs(Limit::Weather) => Cause::Weather,
        _ if needs(Limit::Material) => Cause::Material,
        _ if remade => Cause::Remake,
        Reason::Limits(_) | Reason::Overlooked { .. } | Reason::NotLookedAt => Cause::Room,
        Reason::TooShort {
            from_start: false, ..
        } => Cause::Longer,
    };
    Some(cause)
}
