//! What a customer can count on: the agreed date, or the day the law sets.

use chrono::{Days, NaiveDate};
use serde::Serialize;

use crate::order::{Jurisdiction, Order, PromiseKind};

/// Days after the order when nothing was agreed. [d]
///
/// # Sources
/// Directive 2011/83/EU, Art. 18(1): at the latest 30 days from the conclusion of
/// the contract. Consumer Rights Act 2015, s. 28(3): not more than 30 days after
/// the day on which the contract is entered into. 16 CFR 435.2(a)(1): within
/// thirty days where no time was stated.
const DEFAULT_DAYS: u64 = 30;

/// The last day that a customer can count on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Due {
    /// What happens by that day.
    #[serde(rename = "promise")]
    pub kind: PromiseKind,
    /// The day, local to the studio.
    pub date: NaiveDate,
    /// Whether it was agreed; otherwise it is the rule where nothing was.
    pub agreed: bool,
    /// Whether the order is worthless after it.
    pub essential: bool,
}

/// Returns what the customer of `order` was promised, or may expect by law.
pub fn due(order: &Order) -> Due {
    match order.promise {
        Some(promise) => Due {
            kind: promise.kind,
            date: promise.date,
            agreed: true,
            essential: promise.essential,
        },
        None => Due {
            kind: default_kind(order.jurisdiction),
            date: order.ordered_on + Days::new(DEFAULT_DAYS),
            agreed: false,
            essential: false,
        },
    }
}

/// Returns what the rule counts: goods with the customer, or goods sent off.
fn default_kind(jurisdiction: Jurisdiction) -> PromiseKind {
    match jurisdiction {
        Jurisdiction::Eu | Jurisdiction::Uk => PromiseKind::DeliverBy,
        Jurisdiction::Us | Jurisdiction::Other => PromiseKind::ShipBy,
    }
}
