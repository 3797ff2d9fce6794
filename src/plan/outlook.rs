//! What the plan has to say about each open order to those who write to customers.

use super::course::{Course, OrderCourse};
use super::reason::{Blocked, Findings, Limit, Reason};
use super::setup::Setup;
use super::week::{Round, Week, What};
use crate::forecast::Origin;
use crate::notice::{Cause, Outlook, Surety};
use crate::order::Order;

/// Returns the outlook of every open order, in the order given; `week` tells the
/// same plan by days.
pub fn outlooks(
    setup: &Setup,
    courses: &[OrderCourse],
    findings: &Findings,
    week: &Week,
) -> Vec<Outlook> {
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
                surety: surety(week, course.order),
            }
        })
        .collect()
}

/// Says how far the days of an order rest on weather: the risks of its rounds in
/// the sun are joined as if independent.
fn surety(week: &Week, order: usize) -> Surety {
    let steps = week.days.iter().flat_map(|day| &day.steps);
    let rounds = steps.filter_map(|step| match &step.what {
        What::Expose(round) => Some(round),
        _ => None,
    });
    let outdoors = |round: &&Round| {
        let mut pieces = round.batch.pieces.iter();
        !round.lamp && pieces.any(|pieces| pieces.order == order)
    };
    let mut good = 1.0;
    let mut beyond_forecast = false;
    for round in rounds.filter(outdoors) {
        good *= 1.0 - round.risk_per_mille as f64 / 1000.0;
        beyond_forecast |= round.origin != Origin::Forecast;
    }
    Surety {
        risk_per_mille: ((1.0 - good) * 1000.0).round() as u16,
        beyond_forecast,
    }
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
        Reason::TooLarge { .. } | Reason::NoSun(_) => Cause::Longer,
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
