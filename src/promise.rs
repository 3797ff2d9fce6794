//! The date that counts for an order, and the last day it may leave the studio.
//!
//! A promise names a day on which an order leaves or is with the customer; where
//! none was given, the law's thirty days count. Whether a date can still be kept
//! is found by planning, not here; what silence means after a delay letter is
//! `notice`. Not legal advice.

use chrono::{Datelike, Days, NaiveDate, Weekday};
use serde::Serialize;

use crate::order::{Delivery, Jurisdiction, Order, PromiseKind};
use crate::studio::Shipping;

/// Days after the order within which an order without a promise is due. [d]
///
/// # Sources
/// Directive 2011/83/EU, Art. 18 (1); Consumer Rights Act 2015, s. 28 (3);
/// 16 CFR 435.2 (a) (1): thirty days in all three.
const DUE_DAYS: u64 = 30;

/// How far back a collection is looked for before a date. [d]
const LOOK_BACK_DAYS: u64 = 366;

/// The last day that a customer can count on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Due {
    /// What happens by that day: it leaves, or the customer has it.
    #[serde(rename = "promise")]
    pub kind: PromiseKind,
    /// The day, local to the studio.
    pub date: NaiveDate,
    /// Whether it was agreed; otherwise the law sets it.
    pub agreed: bool,
    /// Whether the order is worthless after it.
    pub essential: bool,
}

/// The last chances to keep the date that counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct LeaveBy {
    /// The last day on which leaving keeps the date, whether the carrier comes or
    /// not; for a pickup the date itself.
    pub day: NaiveDate,
    /// The last collection that keeps it; none for a pickup, and none if the
    /// carrier does not come in the year before.
    pub collection: Option<NaiveDate>,
}

/// Returns what the customer of `order` was promised, or may expect by law.
///
/// The date may lie in the past, even before the order.
pub fn due(order: &Order) -> Due {
    match order.promise {
        Some(promise) => Due {
            kind: promise.kind,
            date: promise.date,
            agreed: true,
            essential: promise.essential,
        },
        None => Due {
            kind: legal_kind(order.jurisdiction),
            date: order.ordered_on + Days::new(DUE_DAYS),
            agreed: false,
            essential: false,
        },
    }
}

/// Returns by when `order` must leave the studio so that its date holds.
///
/// A destination without transit days counts as next door.
///
/// # Example
/// An order of 1 June without a promise is due on 1 July; within Europe it must
/// have arrived by then, within America it must have left.
/// ```
/// # use fairday::order::*;
/// # use fairday::promise::{due, leave_by};
/// # use fairday::studio::Shipping;
/// # use chrono::{NaiveDate, NaiveTime, Weekday::*};
/// # let day = |m, d| NaiveDate::from_ymd_opt(2026, m, d).unwrap();
/// # let customer = Customer { name: "Ada Brook".into(), email: None, copies_to: vec![], address: vec![], language: "en".into() };
/// let order = Order {
///     ordered_on: day(6, 1),
///     promise: None,
///     jurisdiction: Jurisdiction::Eu,
///     delivery: Delivery::Carrier { destination: "home".into() },
///     // …
/// #   number: "1".into(), file: "a.yaml".into(), customer, weight: 1, hold: None,
/// #   pieces: vec![], notified: vec![], dispatch: None, cancelled_on: None,
/// };
/// let shipping = Shipping {
///     collection_days: vec![Mon, Thu],
///     transit_days: [("home".into(), 1)].into(),
///     // …
/// #   cut_off: NaiveTime::MIN, holidays: vec![], carrier: None, sender: vec![],
/// };
/// assert_eq!(due(&order).date, day(7, 1)); // a Wednesday
/// let leave_by = leave_by(&order, &shipping);
/// assert_eq!(leave_by.day, day(6, 30)); // one working day before
/// assert_eq!(leave_by.collection, Some(day(6, 29))); // the Monday before that
/// ```
pub fn leave_by(order: &Order, shipping: &Shipping) -> LeaveBy {
    let due = due(order);
    match &order.delivery {
        Delivery::Pickup => LeaveBy {
            day: due.date,
            collection: None,
        },
        Delivery::Carrier { destination } => {
            let day = last_ship_day(&due, transit_days(shipping, destination), shipping);
            LeaveBy {
                day,
                collection: last_collection(day, shipping),
            }
        }
    }
}

/// Returns what the thirty days are counted to: goods sent off, or goods arrived.
///
/// Anywhere else the milder reading is taken.
fn legal_kind(jurisdiction: Jurisdiction) -> PromiseKind {
    match jurisdiction {
        Jurisdiction::Eu | Jurisdiction::Uk => PromiseKind::DeliverBy,
        Jurisdiction::Us | Jurisdiction::Other => PromiseKind::ShipBy,
    }
}

/// Returns the working days on the way; zero for a destination that is not listed. [d]
pub fn transit_days(shipping: &Shipping, destination: &str) -> u32 {
    shipping.transit_days.get(destination).copied().unwrap_or(0)
}

/// Returns the day on which `order` is with its customer if it leaves on `left_on`.
pub fn arrival(order: &Order, left_on: NaiveDate, shipping: &Shipping) -> NaiveDate {
    match &order.delivery {
        Delivery::Pickup => left_on,
        Delivery::Carrier { destination } => {
            let days = transit_days(shipping, destination);
            arrives_on(left_on, days, &shipping.holidays)
        }
    }
}

/// Returns the day on which a parcel that leaves on `shipped_on` has arrived.
///
/// # Example
/// ```
/// # use fairday::promise::arrives_on;
/// # use chrono::NaiveDate;
/// # let day = |d| NaiveDate::from_ymd_opt(2026, 5, d).unwrap();
/// // Thursday 28 May, two working days, and Friday is a holiday: Tuesday.
/// assert_eq!(arrives_on(day(28), 2, &[day(29)]), NaiveDate::from_ymd_opt(2026, 6, 2).unwrap());
/// ```
pub fn arrives_on(shipped_on: NaiveDate, transit_days: u32, holidays: &[NaiveDate]) -> NaiveDate {
    let mut on = shipped_on;
    for _ in 0..transit_days {
        on = next_working_day(on, holidays);
    }
    on
}

/// Returns the first working day after `on`.
///
/// A list of holidays that covers the whole following year is not believed.
fn next_working_day(on: NaiveDate, holidays: &[NaiveDate]) -> NaiveDate {
    let after = on.iter_days().skip(1).take(LOOK_BACK_DAYS as usize);
    let mut working = after.filter(|day| is_working_day(*day, holidays));
    working.next().unwrap_or(on + Days::new(1))
}

fn is_working_day(day: NaiveDate, holidays: &[NaiveDate]) -> bool {
    !matches!(day.weekday(), Weekday::Sat | Weekday::Sun) && !holidays.contains(&day)
}

/// Returns the last day on which leaving keeps the date, collection or not.
fn last_ship_day(due: &Due, transit_days: u32, shipping: &Shipping) -> NaiveDate {
    match due.kind {
        PromiseKind::ShipBy => due.date,
        PromiseKind::DeliverBy => days_back(due.date)
            .find(|on| arrives_on(*on, transit_days, &shipping.holidays) <= due.date)
            .unwrap_or(due.date),
    }
}

/// Returns the last collection on or before `last`.
fn last_collection(last: NaiveDate, shipping: &Shipping) -> Option<NaiveDate> {
    days_back(last).find(|on| is_collection_day(*on, shipping))
}

/// Tells whether the carrier comes on a day.
pub fn is_collection_day(on: NaiveDate, shipping: &Shipping) -> bool {
    shipping.collection_days.contains(&on.weekday()) && !shipping.holidays.contains(&on)
}

fn days_back(from: NaiveDate) -> impl Iterator<Item = NaiveDate> {
    (0..=LOOK_BACK_DAYS).filter_map(move |back| from.checked_sub_days(Days::new(back)))
}

#[cfg(test)]
mod tests {
    use chrono::NaiveTime;

    use super::*;
    use crate::order::{Customer, Promise};

    fn day(month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2026, month, day).unwrap()
    }

    fn order(promise: Option<(PromiseKind, NaiveDate)>) -> Order {
        Order {
            number: "1".to_owned(),
            file: "a.yaml".to_owned(),
            customer: Customer {
                name: "Ada Brook".to_owned(),
                email: None,
                copies_to: vec![],
                address: Vec::new(),
                language: "en".to_owned(),
            },
            ordered_on: day(6, 1),
            promise: promise.map(|(kind, date)| Promise {
                kind,
                date,
                essential: false,
            }),
            jurisdiction: Jurisdiction::Eu,
            delivery: Delivery::Carrier {
                destination: "home".to_owned(),
            },
            weight: 1,
            hold: None,
            pieces: Vec::new(),
            notified: Vec::new(),
            dispatch: None,
            cancelled_on: None,
        }
    }

    fn shipping(holidays: &[NaiveDate]) -> Shipping {
        Shipping {
            collection_days: vec![Weekday::Mon, Weekday::Thu],
            cut_off: NaiveTime::MIN,
            holidays: holidays.to_vec(),
            transit_days: [("home".to_owned(), 2)].into(),
            carrier: None,
            sender: Vec::new(),
        }
    }

    /// Checks (last ship day, last collection) of a promise.
    fn check(
        kind: PromiseKind,
        date: NaiveDate,
        holidays: &[NaiveDate],
        expected: (NaiveDate, NaiveDate),
    ) {
        let order = order(Some((kind, date)));
        let due = due(&order);
        assert_eq!((due.kind, due.date, due.agreed), (kind, date, true));
        let leave_by = leave_by(&order, &shipping(holidays));
        assert_eq!(
            (leave_by.day, leave_by.collection),
            (expected.0, Some(expected.1)),
            "{kind:?} {date} {holidays:?}"
        );
    }

    // June 2026: the 15th, 22nd and 29th are Mondays.
    #[test]
    fn a_ship_by_date_is_the_last_day_and_the_collection_before_it_the_last_chance() {
        check(
            PromiseKind::ShipBy,
            day(6, 25),
            &[],
            (day(6, 25), day(6, 25)),
        );
        check(
            PromiseKind::ShipBy,
            day(6, 28),
            &[],
            (day(6, 28), day(6, 25)),
        );
        check(
            PromiseKind::ShipBy,
            day(6, 25),
            &[day(6, 25)],
            (day(6, 25), day(6, 22)),
        );
    }

    #[test]
    fn a_deliver_by_date_leaves_out_the_working_days_on_the_way() {
        // Wednesday: it leaves on Monday and is two working days on the way.
        check(
            PromiseKind::DeliverBy,
            day(6, 24),
            &[],
            (day(6, 22), day(6, 22)),
        );
        // Tuesday: on Sunday at the latest, so the carrier of Thursday takes it.
        check(
            PromiseKind::DeliverBy,
            day(6, 23),
            &[],
            (day(6, 21), day(6, 18)),
        );
        // Wednesday with a holiday on Tuesday: Friday to Sunday no longer reach it.
        check(
            PromiseKind::DeliverBy,
            day(6, 24),
            &[day(6, 23)],
            (day(6, 21), day(6, 18)),
        );
        // Sunday: nobody delivers, Friday counts.
        check(
            PromiseKind::DeliverBy,
            day(6, 28),
            &[],
            (day(6, 24), day(6, 22)),
        );
    }

    #[test]
    fn a_customer_who_comes_has_no_transit_and_no_collection() {
        let order = Order {
            delivery: Delivery::Pickup,
            ..order(Some((PromiseKind::DeliverBy, day(6, 28))))
        };
        let leave_by = leave_by(&order, &shipping(&[]));
        assert_eq!((leave_by.day, leave_by.collection), (day(6, 28), None));
    }

    #[test]
    fn a_carrier_who_never_comes_is_no_endless_search() {
        let never = Shipping {
            collection_days: Vec::new(),
            ..shipping(&[])
        };
        assert_eq!(leave_by(&order(None), &never).collection, None);
        let year: Vec<NaiveDate> = day(6, 1).iter_days().take(800).collect();
        assert_eq!(arrives_on(day(6, 1), 2, &year), day(6, 3));
    }

    #[test]
    fn what_is_shipped_on_the_last_ship_day_arrives_in_time_and_a_day_later_does_not() {
        let shipping = shipping(&[day(6, 18), day(6, 23)]);
        for date in day(6, 10).iter_days().take(40) {
            let order = order(Some((PromiseKind::DeliverBy, date)));
            let last = leave_by(&order, &shipping).day;
            let arrives = |on| arrives_on(on, 2, &shipping.holidays);
            assert!(arrives(last) <= date, "{date}");
            let later = last.succ_opt().unwrap();
            assert!(arrives(later) > date, "{date}");
        }
    }
}
