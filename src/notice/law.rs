//! What a customer's silence means after a delay letter, by place.
//!
//! Only the American rule gives silence a meaning; elsewhere the letter offers
//! the same choice and the work goes on. Not legal advice.

use chrono::{Days, NaiveDate};
use serde::Serialize;

use crate::order::{Delivery, Jurisdiction, Order};

/// Days after the due date that part a short delay from a long one. [d]
///
/// # Sources
/// 16 CFR 435.2(b)(1)(ii) and (iii).
const SHORT_DELAY_DAYS: u64 = 30;

/// What no answer means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Silence {
    /// Nothing: the studio goes on with the order.
    GoesOn,
    /// Consent to wait until `until`; cancelling stays open until it has left.
    Consents {
        /// The new date.
        until: NaiveDate,
    },
    /// Cancelled on `on`, unless it has left or the customer agreed by then.
    Cancels {
        /// Thirty days after the due date.
        on: NaiveDate,
    },
    /// Refusal: cancelled after `on`, unless it has left or the customer agreed by then.
    Refuses {
        /// The date that was stated before.
        on: NaiveDate,
    },
    /// The customer was not told in time: the order counts as cancelled already.
    Lapsed,
}

/// What becomes of money that was paid for a cancelled order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Refund {
    /// All of it goes back: a delay letter offered that.
    Full,
    /// All of it goes back within seven working days.
    FullInSevenDays,
    /// Maker and customer settle it between them.
    ToSettle,
}

/// Says what becomes of money paid for `order`, now cancelled, after a delay
/// letter or without one.
///
/// # Sources
/// 16 CFR 435.1 (f): prompt refund, seven working days. Elsewhere "without undue
/// delay" (Directive 2011/83/EU, Art. 18 (3); Consumer Rights Act 2015, s. 28 (9)).
pub(super) fn refund(order: &Order, after_delay: bool) -> Refund {
    match (after_delay, is_american(order)) {
        (true, true) => Refund::FullInSevenDays,
        (true, false) => Refund::Full,
        (false, _) => Refund::ToSettle,
    }
}

/// Returns the day by which the next delay letter should be out: the day before
/// the date that the customer counts on.
///
/// After "cannot say" the customer counts on no date. The American rule cancels
/// thirty days after the first date what nobody agreed to, so that day counts
/// there; elsewhere a day that is known is told at once, `today`.
///
/// # Sources
/// 16 CFR 435.2(b)(1) and (b)(2): no later than the time that cannot be kept;
/// (b)(1)(iii) for an unknown date. Directive 2011/83/EU, Art. 18, and Consumer
/// Rights Act 2015, s. 28, name no day for telling: the day before is good manners.
pub(super) fn tell_by(
    order: &Order,
    due_on: NaiveDate,
    told: &[Option<NaiveDate>],
    today: NaiveDate,
) -> NaiveDate {
    let unknown = matches!(told.last(), Some(None));
    match unknown && !is_american(order) {
        true => today,
        false => last_day(due_on, told, today) - Days::new(1),
    }
}

/// Returns the last day on which the American rule takes a letter for one in time.
///
/// A first letter to a day beyond the thirty ends the order after thirty without a yes,
/// and no later letter may say otherwise; once they are over, an order that is still open
/// had its yes.
fn last_day(due_on: NaiveDate, told: &[Option<NaiveDate>], today: NaiveDate) -> NaiveDate {
    let long_from = due_on + Days::new(SHORT_DELAY_DAYS);
    match told {
        [] => due_on,
        [Some(stated)] if today <= long_from => *stated.min(&long_from),
        [.., stated] => stated.unwrap_or(long_from),
    }
}

/// Tells whether the American rule holds: it is about goods that are sent, so a
/// pickup is left out of it.
pub(super) fn is_american(order: &Order) -> bool {
    let sent_off = matches!(order.delivery, Delivery::Carrier { .. });
    sent_off && order.jurisdiction == Jurisdiction::Us
}

/// Says what silence means for a delay letter of today.
///
/// `due_on` is the first date, `told` what later letters stated, oldest first,
/// `new_on` the date of this letter, none for "cannot say".
///
/// # Sources
/// 16 CFR 435.2: (b)(1)(ii) silence is consent to a definite date up to thirty
/// days later; (b)(1)(iii) otherwise the order is cancelled after thirty days
/// without agreement; (b)(2) a renewed notice needs a yes; (c)(5) without any
/// notice in time the order is to be treated as cancelled.
pub fn silence(
    order: &Order,
    due_on: NaiveDate,
    told: &[Option<NaiveDate>],
    new_on: Option<NaiveDate>,
    today: NaiveDate,
) -> Silence {
    match is_american(order) {
        true => american_silence(due_on, told, new_on, today),
        false => Silence::GoesOn,
    }
}

fn american_silence(
    due_on: NaiveDate,
    told: &[Option<NaiveDate>],
    new_on: Option<NaiveDate>,
    today: NaiveDate,
) -> Silence {
    let long_from = due_on + Days::new(SHORT_DELAY_DAYS);
    let last_day = last_day(due_on, told, today);
    if today > last_day {
        return Silence::Lapsed;
    }
    match (told.last(), new_on) {
        (_, Some(new_on)) if new_on <= due_on => Silence::GoesOn,
        (Some(_), _) => Silence::Refuses { on: last_day },
        (None, Some(new_on)) if new_on <= long_from => Silence::Consents { until: new_on },
        (None, _) => Silence::Cancels { on: long_from },
    }
}
