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

/// Returns the day by which the next delay letter has to be out.
///
/// It is the date that the customer counts on. After "cannot say" it is the end
/// of a short delay; the American rule cancels then what nobody agreed to.
///
/// # Sources
/// 16 CFR 435.2(b)(1) and (b)(2): no later than the time that cannot be kept;
/// (b)(1)(iii) for an unknown date. Elsewhere it is good manners.
pub(super) fn tell_by(due_on: NaiveDate, told: &[Option<NaiveDate>]) -> NaiveDate {
    match told.last() {
        None => due_on,
        Some(stated) => stated.unwrap_or(due_on + Days::new(SHORT_DELAY_DAYS)),
    }
}

/// Says what silence means for a delay letter of today.
///
/// `due_on` is the first date, `told` what later letters stated, oldest first,
/// `new_on` the date of this letter, none for "cannot say".
///
/// The rule is about goods that are sent, so a pickup is left out of it.
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
    let sent_off = matches!(order.delivery, Delivery::Carrier { .. });
    match order.jurisdiction {
        Jurisdiction::Eu | Jurisdiction::Uk | Jurisdiction::Other => Silence::GoesOn,
        Jurisdiction::Us if !sent_off => Silence::GoesOn,
        Jurisdiction::Us => american_silence(due_on, told, new_on, today),
    }
}

fn american_silence(
    due_on: NaiveDate,
    told: &[Option<NaiveDate>],
    new_on: Option<NaiveDate>,
    today: NaiveDate,
) -> Silence {
    let long_from = due_on + Days::new(SHORT_DELAY_DAYS);
    let last_day = tell_by(due_on, told);
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
