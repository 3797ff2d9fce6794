//! Who must be told what, and why: facts in, notices out.
//!
//! A notice is a fact that a customer has to hear today. At most one is due for
//! an order at a time; the weightiest wins: it is cancelled, it has left, it is
//! ready, it will be late, it is made again, it was taken, it is planned. Nothing is told twice, and what was told decides what
//! counts as news. No words are made here (`letter` does that), nothing is sent
//! (`outside/outbox`), and nothing of it is legal advice.

mod delay;
mod law;
mod remade;
mod way;

use chrono::{Days, NaiveDate};
use serde::Serialize;

use crate::order::{Delivery, Order};
use crate::promise;
use crate::stage::Stage;
use crate::studio::{Letters, Shipping, Studio};

pub use delay::{Cause, Delay, Outlook, Surety};
pub use law::{Refund, Silence, silence};
pub use remade::Before;
pub use way::{Obstacle, Way, doubts, mask};

pub use crate::promise::{Due, due};

/// Days for which a fact without a date of its own is news worth a letter: a
/// parcel that left, a piece made again, a cancelled order. [d]
///
/// A parcel may be longer on its way; then the transit days of the studio count.
/// After that it has spoken for itself.
const NEWS_DAYS: u64 = 7;

/// A fact that a customer has to hear.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Notice {
    /// Number of the order.
    pub order: String,
    /// What is to be told, with the facts that make it due.
    #[serde(flatten)]
    pub kind: Kind,
    /// How it can be told.
    pub way: Way,
}

/// What is to be told.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Kind {
    /// The order was taken; the date is confirmed.
    Taken {
        /// The day the order was taken.
        ordered_on: NaiveDate,
        /// What the customer can count on.
        due: Due,
    },
    /// Its days are on the plan, and they keep the date.
    Planned {
        /// The day, of the kind that the customer counts on.
        plan_on: NaiveDate,
        /// What the customer can count on.
        due: Due,
    },
    /// A date that the customer counts on will not hold, or holds again.
    Delayed(Delay),
    /// Some of it is made again.
    Remade {
        /// Numbers of the pieces, ascending.
        pieces: Vec<u32>,
        /// The day of the last remake.
        remade_on: NaiveDate,
        /// What the customer was told before that no longer holds.
        before: Before,
        /// What the customer can count on; the date holds.
        due: Due,
    },
    /// It has left with a carrier.
    Dispatched {
        /// The day it left.
        on: NaiveDate,
        /// Who carries it, if known.
        carrier: Option<String>,
        /// Tracking number, if there is one.
        tracking: Option<String>,
    },
    /// All pieces are finished; the customer can come for them.
    Ready {
        /// The day the last piece was finished.
        since: NaiveDate,
    },
    /// It was cancelled.
    Cancelled {
        /// The day.
        on: NaiveDate,
        /// What becomes of money paid.
        refund: Refund,
    },
}

impl Kind {
    /// Returns the word for it in order files, in the sent-log and in template names.
    pub fn name(&self) -> &'static str {
        match self {
            Kind::Taken { .. } => "taken",
            Kind::Planned { .. } => "planned",
            Kind::Delayed(_) => "delayed",
            Kind::Remade { .. } => "remade",
            Kind::Dispatched { .. } => "dispatched",
            Kind::Ready { .. } => "ready",
            Kind::Cancelled { .. } => "cancelled",
        }
    }

    /// Returns the date that the letter states; none for "cannot say".
    pub fn date(&self) -> Option<NaiveDate> {
        match self {
            Kind::Taken { due, .. } => Some(due.date),
            Kind::Planned { plan_on, .. } => Some(*plan_on),
            Kind::Delayed(delay) => delay.new_on,
            Kind::Remade { remade_on, .. } => Some(*remade_on),
            Kind::Dispatched { on, .. } | Kind::Cancelled { on, .. } => Some(*on),
            Kind::Ready { since } => Some(*since),
        }
    }
}

/// A letter that the outbox remembers; a list of them is in the order of sending.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sent {
    /// Number of the order.
    pub order: String,
    /// Its kind, as [`Kind::name`] writes it.
    pub kind: String,
    /// The day it was handed to the server, local to the studio.
    pub on: NaiveDate,
    /// The date that it stated; none for "cannot say".
    pub date: Option<NaiveDate>,
    /// Where it was to go.
    pub to: String,
    /// Where it came from.
    pub from: String,
    /// What became of it.
    pub standing: Standing,
}

/// What became of a letter that was handed over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// It was accepted.
    Told,
    /// Nobody knows whether it was accepted.
    Unsure,
    /// It was refused for good.
    Refused,
}

/// Returns what must be told today, in the order of the order numbers.
///
/// `outlooks` say how the plan sees the open orders; one for which none is given
/// is late only if its date has already gone by. `sent` is what the outbox
/// remembers, beside what the order files record under `notified`.
pub fn notices(
    orders: &[Order],
    studio: &Studio,
    outlooks: &[Outlook],
    sent: &[Sent],
    today: NaiveDate,
) -> Vec<Notice> {
    let mut due: Vec<Notice> = orders
        .iter()
        .filter(|order| !order.customer.is_forgotten())
        .filter_map(|order| {
            let mine: Vec<&Sent> = sent.iter().filter(|s| s.order == order.number).collect();
            let outlook = outlooks.iter().find(|o| o.order == order.number);
            let told = delay::told(order, &mine);
            let kind = kind_due(order, studio, outlook, &told, today)?;
            let way = way::way(order, studio, &kind, &mine);
            Some(Notice {
                order: order.number.clone(),
                kind,
                way,
            })
        })
        .collect();
    due.sort_by(|a, b| a.order.cmp(&b.order));
    due
}

/// Finds the one thing that `order`'s customer has to hear today.
fn kind_due(
    order: &Order,
    studio: &Studio,
    outlook: Option<&Outlook>,
    told: &[Told],
    today: NaiveDate,
) -> Option<Kind> {
    let letters = &studio.letters;
    if let Some(on) = order.cancelled_on {
        return cancelled(order, on, told, today);
    }
    if order.dispatch.is_some() {
        return dispatched(order, &studio.shipping, told, today);
    }
    if let Some(since) = ready_since(order) {
        return (!told_since(told, "ready", since)).then_some(Kind::Ready { since });
    }
    let due = due(order);
    if let Some(delay) = delay::delay(order, due, outlook, told, letters, today) {
        return Some(Kind::Delayed(delay));
    }
    if delay::is_late(order, due, outlook, letters, today) {
        return None;
    }
    let remade = || remade::remade(order, due, told, letters, today);
    let taken = || {
        (told.is_empty() && !is_finished(order)).then_some(Kind::Taken {
            ordered_on: order.ordered_on,
            due,
        })
    };
    let planned = || {
        let plan_on = delay::new_date(order, due, outlook, today)?;
        // What leaves today or tomorrow is news by leaving.
        let soon = plan_on <= today + Days::new(1);
        let firm = !soon && outlook.is_some_and(|o| is_firm(o.surety, letters));
        let news = letters.planned && firm && is_confirmed_alone(told, today);
        news.then_some(Kind::Planned { plan_on, due })
    };
    remade().or_else(taken).or_else(planned)
}

/// Tells whether a planned day can be told without a word of doubt.
fn is_firm(surety: Surety, letters: &Letters) -> bool {
    !surety.beyond_forecast && !surety.is_doubtful(letters)
}

/// Tells whether the customer knows that the order was taken, since yesterday or
/// longer, and nothing else.
fn is_confirmed_alone(told: &[Told], today: NaiveDate) -> bool {
    !told.is_empty() && told.iter().all(|t| t.kind == "taken" && t.on < today)
}

/// A letter that reached its customer, or may have.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Told {
    /// The day it left.
    on: NaiveDate,
    /// Its kind, as [`Kind::name`] writes it.
    kind: String,
    /// The date that it stated.
    date: Option<NaiveDate>,
}

/// Tells whether a letter of `kind` left on the day of the fact or later.
///
/// One from before belongs to an earlier fact: a parcel that came back, a piece
/// that was made again.
fn told_since(told: &[Told], kind: &str, fact_on: NaiveDate) -> bool {
    told.iter().any(|t| t.kind == kind && t.on >= fact_on)
}

/// Returns the notice of a cancellation that is still news.
fn cancelled(order: &Order, on: NaiveDate, told: &[Told], today: NaiveDate) -> Option<Kind> {
    let is_news = on <= today && today <= on + Days::new(NEWS_DAYS);
    (is_news && !told_since(told, "cancelled", on)).then(|| Kind::Cancelled {
        on,
        refund: law::refund(order, told.iter().any(|t| t.kind == "delayed")),
    })
}

/// Returns the notice of a dispatch with a carrier that is still news.
fn dispatched(order: &Order, shipping: &Shipping, told: &[Told], today: NaiveDate) -> Option<Kind> {
    let dispatch = order.dispatch.as_ref()?;
    let Delivery::Carrier { destination } = &order.delivery else {
        return None;
    };
    let on = dispatch.on;
    let transit = promise::transit_days(shipping, destination);
    let arrives_on = promise::arrives_on(on, transit, &shipping.holidays);
    let news_until = (on + Days::new(NEWS_DAYS)).max(arrives_on);
    let is_news = on <= today && today <= news_until;
    (is_news && !told_since(told, "dispatched", on)).then(|| Kind::Dispatched {
        on,
        carrier: dispatch
            .carrier
            .clone()
            .or_else(|| shipping.carrier.clone()),
        tracking: dispatch.tracking.clone(),
    })
}

/// Returns the day from which a customer can come for all pieces.
fn ready_since(order: &Order) -> Option<NaiveDate> {
    let pickup = matches!(order.delivery, Delivery::Pickup);
    let held = order.pieces.iter().any(|piece| piece.hold.is_some());
    if !pickup || held || !is_finished(order) {
        return None;
    }
    order
        .pieces
        .iter()
        .filter_map(|piece| piece.progress.done_at(Stage::Finishing))
        .map(|at| at.date())
        .max()
}

/// Tells whether every piece is finished.
fn is_finished(order: &Order) -> bool {
    !order.pieces.is_empty()
        && order
            .pieces
            .iter()
            .all(|piece| !matches!(piece.progress.stage(), Some(stage) if stage < Stage::Shipping))
}
