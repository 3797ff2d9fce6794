//! When a date that a customer counts on no longer holds.

use chrono::{Days, NaiveDate};
use serde::Serialize;

use super::law::{Silence, silence, tell_by};
use super::{Sent, Standing, Told};
use crate::order::{Delivery, Order, PromiseKind};
use crate::promise::Due;
use crate::studio::Letters;

/// How the plan sees an open order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outlook {
    /// Number of the order.
    pub order: String,
    /// The day it leaves, or stands ready at the door; none if it does so on no
    /// day up to `planned_until`.
    pub leaves_on: Option<NaiveDate>,
    /// The day the customer has it; none if nobody can say.
    pub arrives_on: Option<NaiveDate>,
    /// The last day that the plan covers.
    pub planned_until: NaiveDate,
    /// What holds it up, if anything does.
    pub cause: Option<Cause>,
    /// How far these days can be relied on.
    pub surety: Surety,
}

/// How far a planned day can be relied on.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Surety {
    /// Chance that the weather spoils one of the exposures it needs. [‰]
    pub risk_per_mille: u16,
    /// Some of these exposures lie beyond the forecast, in weather that is only usual.
    pub beyond_forecast: bool,
}

impl Surety {
    /// Tells whether a letter must not state the day without a word of doubt.
    pub fn is_doubtful(self, letters: &Letters) -> bool {
        f64::from(self.risk_per_mille) >= letters.doubt_share * 1000.0
    }
}

/// What keeps an order, as far as a customer needs to know.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// In fair weather it would be on time.
    Weather,
    /// A piece has to be made again.
    Remake,
    /// A paper or cloth is missing.
    Material,
    /// Frames, drying places or hands are taken by earlier work.
    Room,
    /// The maker stopped it, for a reason of her own.
    Hold,
    /// The date was too early from the start.
    TooEarly,
    /// It takes longer, without a cause that could be named.
    Longer,
}

/// A change of the date that a customer counts on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Delay {
    /// What was promised at first.
    pub due: Due,
    /// Which change of the date this letter tells, from 1.
    pub change: u32,
    /// What the customer counts on now; none after "cannot say".
    pub old_on: Option<NaiveDate>,
    /// Whether that date has gone by.
    pub old_passed: bool,
    /// The new date; none if nobody can say.
    pub new_on: Option<NaiveDate>,
    /// How far the new date can be relied on.
    pub surety: Surety,
    /// Why.
    pub cause: Cause,
    /// The day by which the letter should be out; it may have gone by.
    pub tell_by: NaiveDate,
    /// What no answer means.
    pub silence: Silence,
}

impl Delay {
    /// Tells whether the first date holds after all, against the last letter.
    pub fn is_recovered(&self) -> bool {
        self.new_on.is_some_and(|new_on| new_on <= self.due.date)
    }
}

/// Returns every letter that reached the customer or may have, oldest first.
///
/// A letter stands both in the order file and in the sent-log; two neighbours
/// of one kind with the same date are one letter, because the same is never
/// told twice.
pub(super) fn told(order: &Order, sent: &[&Sent]) -> Vec<Told> {
    let in_file = order.notified.iter().map(|n| Told {
        on: n.on,
        kind: n.kind.clone(),
        date: n.date,
    });
    let in_log = sent
        .iter()
        .filter(|s| matches!(s.standing, Standing::Told))
        .map(|s| Told {
            on: s.on,
            kind: s.kind.clone(),
            date: s.date,
        });
    let mut told: Vec<Told> = in_file.chain(in_log).collect();
    told.sort_by(|a, b| (&a.kind, a.on).cmp(&(&b.kind, b.on)));
    told.dedup_by(|a, b| a.kind == b.kind && a.date == b.date);
    told.sort_by_key(|t| t.on);
    told
}

/// Returns the delay that must be told today, if there is one.
///
/// Of an order on hold nobody knows how long the hold will last, so nothing is
/// asked of its customer before the date comes near.
pub(super) fn delay(
    order: &Order,
    due: Due,
    outlook: Option<&Outlook>,
    told: &[Told],
    letters: &Letters,
    today: NaiveDate,
) -> Option<Delay> {
    let before: Vec<&Told> = told.iter().filter(|t| t.kind == "delayed").collect();
    if before.iter().any(|t| t.on == today) {
        return None;
    }
    let stated: Vec<Option<NaiveDate>> = before.iter().map(|t| t.date).collect();
    let old_on = stated.last().copied().unwrap_or(Some(due.date));
    let outlook = outlook.filter(|o| is_believed(o, order, old_on, letters, today));
    let new_on = new_date(order, due, outlook, today);
    let is_news = match (old_on, new_on) {
        (None, new_on) => new_on.is_some(),
        (Some(old_on), Some(new_on)) => new_on > old_on,
        (Some(old_on), None) => misses(old_on, outlook, today),
    };
    is_news.then(|| Delay {
        due,
        change: stated.len() as u32 + 1,
        old_on,
        old_passed: old_on.is_some_and(|old_on| old_on < today),
        new_on,
        surety: outlook.map(|o| o.surety).unwrap_or_default(),
        cause: cause(order, outlook),
        tell_by: tell_by(order, due.date, &stated, today),
        silence: silence(order, due.date, &stated, new_on, today),
    })
}

/// Tells whether the first date will not hold, told or not.
pub(super) fn is_late(
    order: &Order,
    due: Due,
    outlook: Option<&Outlook>,
    letters: &Letters,
    today: NaiveDate,
) -> bool {
    let outlook = outlook.filter(|o| is_believed(o, order, Some(due.date), letters, today));
    match new_date(order, due, outlook, today) {
        Some(new_on) => new_on > due.date,
        None => misses(due.date, outlook, today),
    }
}

/// Tells whether an outlook says something: that of a hold without a day counts
/// from `hold_days` before the date `counts_on` on.
fn is_believed(
    outlook: &Outlook,
    order: &Order,
    counts_on: Option<NaiveDate>,
    letters: &Letters,
    today: NaiveDate,
) -> bool {
    let near_from = today + Days::new(u64::from(letters.hold_days));
    let far = counts_on.is_none_or(|counts_on| near_from < counts_on);
    !(is_held(order) && outlook.leaves_on.is_none() && far)
}

/// Tells whether the maker stopped the order or some of it.
fn is_held(order: &Order) -> bool {
    order.hold.is_some() || order.pieces.iter().any(|piece| piece.hold.is_some())
}

/// Tells whether an order without a new date is sure to miss `date`.
fn misses(date: NaiveDate, outlook: Option<&Outlook>, today: NaiveDate) -> bool {
    let leaves_later = |o: &Outlook| match o.leaves_on {
        Some(leaves_on) => leaves_on > date,
        None => o.planned_until >= date,
    };
    date < today || outlook.is_some_and(leaves_later)
}

/// Returns the planned date of the kind that was promised; a past one says nothing.
pub(super) fn new_date(
    order: &Order,
    due: Due,
    outlook: Option<&Outlook>,
    today: NaiveDate,
) -> Option<NaiveDate> {
    let outlook = outlook?;
    let planned = match (&order.delivery, due.kind) {
        (Delivery::Pickup, _) | (Delivery::Carrier { .. }, PromiseKind::ShipBy) => {
            outlook.leaves_on
        }
        (Delivery::Carrier { .. }, PromiseKind::DeliverBy) => outlook.arrives_on,
    };
    planned.filter(|date| *date >= today)
}

/// Returns the cause to name; a hold of the file counts before anything else.
fn cause(order: &Order, outlook: Option<&Outlook>) -> Cause {
    match outlook.and_then(|o| o.cause) {
        _ if is_held(order) => Cause::Hold,
        Some(cause) => cause,
        None => Cause::Longer,
    }
}
