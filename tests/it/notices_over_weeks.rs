//! Weeks of changing plans: whatever comes, no customer hears the same twice,
//! two delays in a day, or of a day that has gone by.

use chrono::{Days, NaiveDate};
use fairday::notice::{Cause, Delay, Kind, Notice, Outlook, Sent, Silence, Standing, notices};
use fairday::order::{Delivery, Dispatch, Jurisdiction, Notified, Order, Promise, PromiseKind};
use proptest::prelude::*;

use super::desk::*;

/// Days that are played. [d]
const DAYS: u64 = 40;

/// What happens on a day.
#[derive(Debug, Clone)]
struct Day {
    /// Days from then until the order leaves; none for no day in the plan.
    leaves_in: Option<u64>,
    weather: bool,
    /// Letters of the day leave, and are recorded in the file or only in the log.
    sends: bool,
    in_file: bool,
    /// Runs on that day.
    runs: u64,
}

fn day() -> impl Strategy<Value = Day> {
    let leaves_in = prop_oneof![3 => (0..20_u64).prop_map(Some), 1 => Just(None)];
    (
        leaves_in,
        any::<bool>(),
        any::<bool>(),
        any::<bool>(),
        1..3_u64,
    )
        .prop_map(|(leaves_in, weather, sends, in_file, runs)| Day {
            leaves_in,
            weather,
            sends,
            in_file,
            runs,
        })
}

fn any_order() -> impl Strategy<Value = Order> {
    let kind = prop_oneof![Just(PromiseKind::ShipBy), Just(PromiseKind::DeliverBy)];
    let place = prop_oneof![
        Just(Jurisdiction::Eu),
        Just(Jurisdiction::Uk),
        Just(Jurisdiction::Us),
        Just(Jurisdiction::Other)
    ];
    let promise = prop::option::of((kind, 0..30_u64, any::<bool>()));
    (promise, place, any::<bool>(), 0..60_u64).prop_map(
        |(promise, jurisdiction, pickup, leaves)| {
            let promise = promise.map(|(kind, in_days, essential)| Promise {
                kind,
                date: today() + Days::new(in_days),
                essential,
            });
            let leaves_on = today() + Days::new(leaves);
            Order {
                promise,
                jurisdiction,
                delivery: if pickup {
                    Delivery::Pickup
                } else {
                    order("26-014").delivery
                },
                // Seen only from that day on; see `order_on`.
                dispatch: Some(Dispatch {
                    on: leaves_on,
                    carrier: None,
                    tracking: None,
                }),
                ..order("26-014")
            }
        },
    )
}

/// Returns the order as its file shows it on a day: a dispatch of later is not there.
fn order_on(order: &Order, on: NaiveDate) -> Order {
    let dispatch = order.dispatch.clone().filter(|dispatch| dispatch.on <= on);
    Order {
        dispatch,
        ..order.clone()
    }
}

/// Returns the plan of a run; each run of a day sees the order leave a day later.
fn outlook_on(day: &Day, on: NaiveDate, run: u64) -> Outlook {
    let leaves_on = day.leaves_in.map(|days| on + Days::new(days + run));
    Outlook {
        order: "26-014".to_owned(),
        leaves_on: leaves_on.filter(|leaves_on| *leaves_on <= on + Days::new(13)),
        arrives_on: leaves_on.map(|leaves_on| leaves_on + Days::new(2)),
        planned_until: on + Days::new(13),
        cause: day.weather.then_some(Cause::Weather),
        surety: Default::default(),
    }
}

fn check_delay(delay: &Delay, told: &[Notice], on: NaiveDate) {
    assert!(delay.new_on.is_none_or(|new_on| new_on >= on), "{delay:?}");
    assert_eq!(delay.change as usize, told.len() + 1, "{delay:?}");
    let before = told.last().map(|notice| notice.kind.date());
    assert_ne!(before, Some(delay.new_on), "the same again: {delay:?}");
    assert_eq!(delay.old_on, before.unwrap_or(Some(delay.due.date)));
    match delay.silence {
        Silence::Consents { until } => assert!(until >= on && told.is_empty()),
        Silence::Cancels { on: day } => assert!(day >= on && told.is_empty()),
        Silence::Refuses { on: day } => assert!(day >= on && !told.is_empty()),
        Silence::Lapsed => assert!(delay.tell_by < on),
        Silence::GoesOn => {}
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    #[test]
    fn letters_over_weeks_keep_their_rules(
        start in any_order(),
        days in prop::collection::vec(day(), DAYS as usize),
    ) {
        let mut order = start;
        let mut log: Vec<Sent> = Vec::new();
        let mut told: Vec<Notice> = Vec::new();
        for (day, on) in days.iter().zip(today().iter_days()) {
            let mut delays_today = 0;
            for run in 0..day.runs {
                let seen = order_on(&order, on);
                let outlooks = [outlook_on(day, on, run)];
                let due = notices(std::slice::from_ref(&seen), &studio(), &outlooks, &log, on);
                prop_assert!(due.len() <= 1);
                let Some(notice) = due.into_iter().next() else { continue };
                if let Kind::Delayed(delay) = &notice.kind {
                    let delays: Vec<Notice> = told
                        .iter()
                        .filter(|t| matches!(t.kind, Kind::Delayed(_)))
                        .cloned()
                        .collect();
                    check_delay(delay, &delays, on);
                    prop_assert!(seen.dispatch.is_none(), "a parcel on its way is not late");
                }
                if !day.sends {
                    continue;
                }
                delays_today += usize::from(matches!(notice.kind, Kind::Delayed(_)));
                record(&notice, day.in_file, on, &mut order, &mut log);
                told.push(notice);
            }
            prop_assert!(delays_today <= 1);
        }
        let count = |name: &str| told.iter().filter(|t| t.kind.name() == name).count();
        prop_assert!(count("taken") <= 1 && count("dispatched") <= 1);
        if let Some(late) = told.iter().position(|t| matches!(t.kind, Kind::Delayed(_))) {
            prop_assert!(told[late..].iter().all(|t| t.kind.name() != "taken"));
        }
    }
}

/// Records a letter as sent, in the log, and in the order's file if `in_file`.
fn record(notice: &Notice, in_file: bool, on: NaiveDate, order: &mut Order, log: &mut Vec<Sent>) {
    let date = notice.kind.date();
    let kind = notice.kind.name().to_owned();
    if in_file {
        order.notified.push(Notified {
            on,
            kind: kind.clone(),
            date,
        });
    }
    log.push(Sent {
        order: order.number.clone(),
        kind,
        on,
        date,
        to: "ines@example.org".to_owned(),
        from: studio().letters.from,
        standing: Standing::Told,
    });
}
