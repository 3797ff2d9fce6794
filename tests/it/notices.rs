//! Facts become the right notice, once.

use fairday::notice::{
    Before, Cause, Delay, Kind, Notice, Obstacle, Outlook, Refund, Sent, Silence, Standing, Surety,
    Way, doubts, notices,
};
use fairday::order::{Delivery, Jurisdiction, Order, PromiseKind};

use super::desk::*;

fn due_at(order: &Order, outlook: Option<Outlook>, sent: &[Sent], on: &str) -> Vec<Notice> {
    let outlooks: Vec<Outlook> = outlook.into_iter().collect();
    let orders = std::slice::from_ref(order);
    notices(orders, &studio(), &outlooks, sent, date(on))
}

/// Returns the only notice of today, if there is one.
fn due(order: &Order, outlook: Option<Outlook>) -> Option<Notice> {
    let mut all = due_at(order, outlook, &[], TODAY);
    assert!(all.len() <= 1, "more than one notice: {all:?}");
    all.pop()
}

fn delay_of(order: &Order, outlook: Outlook) -> Delay {
    match due(order, Some(outlook)).map(|notice| notice.kind) {
        Some(Kind::Delayed(delay)) => delay,
        other => panic!("expected a delay, found {other:?}"),
    }
}

fn kind_name(notice: &Option<Notice>) -> &'static str {
    notice.as_ref().map_or("none", |notice| notice.kind.name())
}

fn sent(kind: &str, on: &str, stated: Option<&str>, standing: Standing) -> Sent {
    Sent {
        order: "26-014".to_owned(),
        kind: kind.to_owned(),
        on: date(on),
        date: stated.map(date),
        to: "ines@example.org".to_owned(),
        from: studio().letters.from,
        standing,
    }
}

fn with_notified(notified: &[(&str, &str, Option<&str>)]) -> Order {
    let list = notified
        .iter()
        .map(|(on, kind, stated)| fairday::order::Notified {
            on: date(on),
            kind: (*kind).to_owned(),
            date: stated.map(date),
        });
    Order {
        notified: list.collect(),
        ..order("26-014")
    }
}

#[test]
fn an_order_on_course_is_confirmed_once() {
    let on_course = || Some(outlook(Some("2026-05-13"), None));
    let first = due(&order("26-014"), on_course()).unwrap();
    assert_eq!(first.kind.name(), "taken");
    assert_eq!(first.kind.date(), Some(date("2026-05-15")));
    let told = with_notified(&[("2026-05-04", "taken", Some("2026-05-15"))]);
    assert_eq!(due(&told, on_course()), None);
    let logged = [sent(
        "taken",
        "2026-05-05",
        Some("2026-05-15"),
        Standing::Told,
    )];
    assert_eq!(
        due_at(&order("26-014"), on_course(), &logged, TODAY),
        vec![]
    );
}

#[test]
fn an_order_that_is_late_already_is_not_confirmed_with_its_lost_date() {
    let late = Some(outlook(Some("2026-05-20"), None));
    assert_eq!(kind_name(&due(&order("26-014"), late)), "delayed");
    // Nothing planned is known, but the date has gone by.
    let past = due_at(&order("26-014"), None, &[], "2026-05-16");
    assert_eq!(past[0].kind.name(), "delayed");
    assert_eq!(past[0].kind.date(), None);
}

#[test]
fn ship_by_looks_at_leaving_and_deliver_by_at_arriving() {
    // It leaves on the 14th and arrives on the 16th; the promise is the 15th.
    let plan = outlook(Some("2026-05-14"), None);
    let ship = promised(PromiseKind::ShipBy, "2026-05-15", Jurisdiction::Eu);
    assert_eq!(kind_name(&due(&ship, Some(plan.clone()))), "taken");
    let deliver = promised(PromiseKind::DeliverBy, "2026-05-15", Jurisdiction::Eu);
    assert_eq!(
        delay_of(&deliver, plan.clone()).new_on,
        Some(date("2026-05-16"))
    );
    let pickup = Order {
        delivery: Delivery::Pickup,
        ..deliver
    };
    assert_eq!(kind_name(&due(&pickup, Some(plan))), "taken");
}

#[test]
fn an_unknown_day_is_a_delay_only_where_the_plan_reaches_the_promise() {
    let no_day = || outlook(None, Some(Cause::Weather));
    let near = order("26-014");
    let delay = delay_of(&near, no_day());
    assert_eq!((delay.new_on, delay.cause), (None, Cause::Weather));
    let far = promised(PromiseKind::ShipBy, "2026-05-25", Jurisdiction::Eu);
    assert_eq!(kind_name(&due(&far, Some(no_day()))), "taken");
}

#[test]
fn only_the_weather_is_blamed_for_weather() {
    let of = |cause| delay_of(&order("26-014"), outlook(Some("2026-05-20"), cause)).cause;
    assert_eq!(of(Some(Cause::Weather)), Cause::Weather);
    assert_eq!(of(Some(Cause::Material)), Cause::Material);
    assert_eq!(of(None), Cause::Longer);
    let mut held = order("26-014");
    held.hold = Some("waiting for the negative".to_owned());
    let delay = delay_of(&held, outlook(None, Some(Cause::Weather)));
    assert_eq!(delay.cause, Cause::Hold);
}

#[test]
fn the_same_date_is_never_told_twice_and_a_new_one_counts_on() {
    let told = || with_notified(&[("2026-05-08", "delayed", Some("2026-05-20"))]);
    let plan = |on| Some(outlook(on, Some(Cause::Weather)));
    assert_eq!(due(&told(), plan(Some("2026-05-20"))), None);
    // Earlier than told: the told date holds, nothing to say.
    assert_eq!(due(&told(), plan(Some("2026-05-19"))), None);
    let second = delay_of(&told(), outlook(Some("2026-05-22"), None));
    assert_eq!(second.change, 2);
    assert_eq!(second.old_on, Some(date("2026-05-20")));
    assert_eq!(second.new_on, Some(date("2026-05-22")));
}

#[test]
fn after_no_day_a_day_is_news_and_no_day_is_not() {
    let told = || with_notified(&[("2026-05-08", "delayed", None)]);
    let plan = |on| Some(outlook(on, Some(Cause::Weather)));
    assert_eq!(due(&told(), plan(None)), None);
    let later = delay_of(&told(), plan(Some("2026-05-21")).unwrap());
    assert_eq!((later.change, later.old_on), (2, None));
    assert!(!later.is_recovered());
    let on_time = delay_of(&told(), plan(Some("2026-05-15")).unwrap());
    assert!(on_time.is_recovered());
}

#[test]
fn a_day_has_at_most_one_delay_letter_for_an_order() {
    let told = with_notified(&[(TODAY, "delayed", Some("2026-05-20"))]);
    let plan = || Some(outlook(Some("2026-05-22"), None));
    assert_eq!(due(&told, plan()), None);
    let tomorrow = due_at(&told, plan(), &[], "2026-05-12");
    assert_eq!(tomorrow[0].kind.date(), Some(date("2026-05-22")));
}

#[test]
fn a_letter_in_the_file_and_in_the_log_counts_as_one() {
    let told = with_notified(&[("2026-05-08", "delayed", Some("2026-05-20"))]);
    let log = [sent(
        "delayed",
        "2026-05-08",
        Some("2026-05-20"),
        Standing::Told,
    )];
    let plan = Some(outlook(Some("2026-05-22"), None));
    let all = due_at(&told, plan, &log, TODAY);
    assert!(matches!(&all[0].kind, Kind::Delayed(delay) if delay.change == 2));
}

#[test]
fn a_planned_day_in_the_past_is_no_date_to_tell() {
    let stale = outlook(Some("2026-05-10"), None);
    let past = promised(PromiseKind::ShipBy, "2026-05-08", Jurisdiction::Eu);
    let delay = delay_of(&past, stale);
    assert_eq!((delay.new_on, delay.old_passed), (None, true));
}

#[test]
fn a_dispatch_is_news_while_the_parcel_may_be_on_its_way() {
    assert_eq!(
        kind_name(&due(&dispatched("2026-05-08"), None)),
        "dispatched"
    );
    // Two working days to `home`, but at least a week is news: 4 May is the edge.
    assert_eq!(
        kind_name(&due(&dispatched("2026-05-04"), None)),
        "dispatched"
    );
    assert_eq!(due(&dispatched("2026-05-03"), None), None);
    // Ten working days to `far` from Thursday 30 April, one holiday on the way: 15 May.
    let far = Order {
        delivery: Delivery::Carrier {
            destination: "far".to_owned(),
        },
        ..dispatched("2026-04-30")
    };
    assert_eq!(due_at(&far, None, &[], "2026-05-15").len(), 1);
    assert_eq!(due_at(&far, None, &[], "2026-05-16"), vec![]);
    // A dispatch that the file dates tomorrow has not happened.
    assert_eq!(due(&dispatched("2026-05-12"), None), None);
}

#[test]
fn a_dispatch_names_the_studio_s_carrier_if_the_order_names_none() {
    let kind = due(&dispatched("2026-05-08"), None).unwrap().kind;
    let expected = Kind::Dispatched {
        on: date("2026-05-08"),
        carrier: Some("Lowland Post".to_owned()),
        tracking: Some("LP 0042 1177".to_owned()),
    };
    assert_eq!(kind, expected);
}

#[test]
fn a_second_dispatch_is_told_though_the_first_was() {
    let told = Order {
        notified: vec![notified("2026-05-01", "dispatched", Some("2026-05-01"))],
        ..dispatched("2026-05-08")
    };
    assert_eq!(kind_name(&due(&told, None)), "dispatched");
    let again = Order {
        notified: vec![notified("2026-05-08", "dispatched", Some("2026-05-08"))],
        ..dispatched("2026-05-08")
    };
    assert_eq!(due(&again, None), None);
}

#[test]
fn a_pickup_is_ready_when_its_last_piece_is() {
    let ready = due(&finished_pickup("2026-05-10"), None).unwrap();
    assert_eq!(ready.kind.name(), "ready");
    let mut one_left = finished_pickup("2026-05-10");
    one_left.pieces[2].progress.events.clear();
    let plan = outlook(Some("2026-05-14"), None);
    assert_eq!(kind_name(&due(&one_left, Some(plan))), "taken");
    let told = Order {
        notified: vec![notified("2026-05-10", "ready", Some("2026-05-10"))],
        ..finished_pickup("2026-05-10")
    };
    assert_eq!(due(&told, None), None);
    let handed_over = Order {
        delivery: Delivery::Pickup,
        ..dispatched("2026-05-10")
    };
    assert_eq!(due(&handed_over, None), None);
}

#[test]
fn a_finished_order_that_waits_for_the_carrier_is_not_confirmed_any_more() {
    let waiting = Order {
        delivery: order("26-014").delivery,
        ..finished_pickup("2026-05-10")
    };
    assert_eq!(due(&waiting, Some(outlook(Some("2026-05-11"), None))), None);
}

#[test]
fn a_cancellation_is_confirmed_once_while_it_is_news() {
    let cancelled = |on: &str| Order {
        cancelled_on: Some(date(on)),
        ..order("26-014")
    };
    let plan = || Some(outlook(None, None));
    let fresh = due(&cancelled("2026-05-09"), plan()).unwrap();
    let expected = Kind::Cancelled {
        on: date("2026-05-09"),
        refund: Refund::ToSettle,
    };
    assert_eq!(fresh.kind, expected);
    assert_eq!(due(&cancelled("2026-05-03"), plan()), None);
    let told = |kind: &str, jurisdiction| Order {
        notified: vec![notified("2026-05-09", kind, Some("2026-05-09"))],
        jurisdiction,
        ..cancelled("2026-05-09")
    };
    assert_eq!(due(&told("cancelled", Jurisdiction::Eu), None), None);
    let refund = |jurisdiction| match due(&told("delayed", jurisdiction), None).unwrap().kind {
        Kind::Cancelled { refund, .. } => refund,
        other => panic!("{other:?}"),
    };
    // Who was offered his money back gets it back; 16 CFR 435.1(f) gives seven days.
    assert_eq!(refund(Jurisdiction::Eu), Refund::Full);
    assert_eq!(refund(Jurisdiction::Us), Refund::FullInSevenDays);
}

/// The notice of a studio that tells plans and remakes, too.
fn talkative_due(order: &Order, outlook: Option<Outlook>, on: &str) -> Option<Notice> {
    let mut studio = studio();
    studio.letters.planned = true;
    studio.letters.remade = true;
    let outlooks: Vec<Outlook> = outlook.into_iter().collect();
    notices(
        std::slice::from_ref(order),
        &studio,
        &outlooks,
        &[],
        date(on),
    )
    .pop()
}

#[test]
fn a_plan_is_told_once_and_only_if_it_is_firm() {
    let taken = ("2026-05-04", "taken", Some("2026-05-15"));
    let confirmed = || with_notified(&[taken]);
    let plan = || outlook(Some("2026-05-13"), None);
    assert_eq!(
        due(&confirmed(), Some(plan())),
        None,
        "only where it is wanted"
    );
    let told = talkative_due(&confirmed(), Some(plan()), TODAY).unwrap();
    assert_eq!(
        (told.kind.name(), told.kind.date()),
        ("planned", Some(date("2026-05-13")))
    );
    let tomorrow = talkative_due(&confirmed(), Some(plan()), "2026-05-12");
    assert_eq!(tomorrow, None, "what leaves tomorrow is told by leaving");
    // Not on the day of the confirmation, not without a day, not twice, not after a delay.
    assert_eq!(
        talkative_due(&confirmed(), Some(plan()), "2026-05-04"),
        None
    );
    let far = promised(PromiseKind::ShipBy, "2026-06-15", Jurisdiction::Eu);
    let far = Order {
        notified: confirmed().notified,
        ..far
    };
    assert_eq!(talkative_due(&far, Some(outlook(None, None)), TODAY), None);
    for kind in ["planned", "delayed"] {
        let told = with_notified(&[taken, ("2026-05-05", kind, Some("2026-05-13"))]);
        assert_eq!(talkative_due(&told, Some(plan()), TODAY), None);
    }
    for (risk_per_mille, beyond_forecast) in [(300, false), (0, true)] {
        let surety = Surety {
            risk_per_mille,
            beyond_forecast,
        };
        let doubtful = Outlook { surety, ..plan() };
        assert_eq!(talkative_due(&confirmed(), Some(doubtful), TODAY), None);
    }
}

#[test]
fn a_remake_is_told_where_it_is_wanted_or_contradicts_a_letter() {
    let plan = || Some(outlook(Some("2026-05-14"), None));
    let remade_on = |order: Order, on: &str| {
        let mut order = order;
        finish(&mut order.pieces[0], "2026-05-07");
        remake(&mut order.pieces[0], on);
        order
    };
    let taken = ("2026-05-04", "taken", Some("2026-05-15"));
    let quiet = remade_on(with_notified(&[taken]), "2026-05-10");
    assert_eq!(due(&quiet, plan()), None);
    let wanted = talkative_due(&quiet, plan(), TODAY).unwrap();
    assert!(
        matches!(&wanted.kind, Kind::Remade { pieces, before: Before::Nothing, .. } if *pieces == [1])
    );
    assert_eq!(
        kind_name(&talkative_due(
            &remade_on(with_notified(&[taken]), "2026-05-03"),
            plan(),
            TODAY
        )),
        "planned"
    );
    for kind in ["remade", "delayed"] {
        let told = with_notified(&[taken, ("2026-05-10", kind, Some("2026-05-15"))]);
        assert_eq!(
            talkative_due(&remade_on(told, "2026-05-10"), plan(), TODAY),
            None
        );
    }
    for (kind, expected) in [("ready", Before::Ready), ("dispatched", Before::Dispatched)] {
        let told = with_notified(&[taken, ("2026-05-09", kind, Some("2026-05-09"))]);
        let notice = due(&remade_on(told.clone(), "2026-05-10"), plan()).unwrap();
        assert!(matches!(notice.kind, Kind::Remade { before, .. } if before == expected));
        // What costs the date is a delay, with its reason.
        let late = Some(outlook(Some("2026-05-20"), Some(Cause::Remake)));
        assert_eq!(
            kind_name(&due(&remade_on(told, "2026-05-10"), late)),
            "delayed"
        );
    }
}

#[test]
fn a_hold_asks_nothing_of_the_customer_before_the_date_is_near() {
    let mut held = promised(PromiseKind::ShipBy, "2026-05-22", Jurisdiction::Uk);
    held.pieces[0].hold = Some("negative is not printed yet".to_owned());
    held.notified = vec![notified("2026-05-04", "taken", Some("2026-05-22"))];
    let plan = || {
        Some(Outlook {
            planned_until: date("2026-06-02"),
            ..outlook(None, None)
        })
    };
    assert_eq!(due_at(&held, plan(), &[], "2026-05-17"), vec![]);
    // Four days before, the shortest way from coating to collection.
    assert_eq!(
        kind_name(&due_at(&held, plan(), &[], "2026-05-18").pop()),
        "delayed"
    );
    // After a delay letter its new date counts.
    held.notified
        .push(notified("2026-05-18", "delayed", Some("2026-05-29")));
    assert_eq!(due_at(&held, plan(), &[], "2026-05-24"), vec![]);
    assert_eq!(
        kind_name(&due_at(&held, plan(), &[], "2026-05-25").pop()),
        "delayed"
    );
}

#[test]
fn the_day_for_telling_lies_before_the_date_by_the_rule_of_the_place() {
    use Jurisdiction::{Eu, Other, Uk, Us};
    let tell_by = |place, told: &[(&str, &str, Option<&str>)], on: &str| {
        let order = Order {
            jurisdiction: place,
            ..with_notified(told)
        };
        match due_at(&order, Some(outlook(Some("2026-05-22"), None)), &[], on)
            .remove(0)
            .kind
        {
            Kind::Delayed(delay) => delay.tell_by,
            other => panic!("{other:?}"),
        }
    };
    for place in [Eu, Uk, Us, Other] {
        assert_eq!(tell_by(place, &[], TODAY), date("2026-05-14"));
        let stated = &[("2026-05-08", "delayed", Some("2026-05-20"))];
        assert_eq!(tell_by(place, stated, TODAY), date("2026-05-19"));
    }
    // After "cannot say" the American rule knows a day, thirty days after the first
    // date; elsewhere a day that is found is told at once.
    let unknown = &[("2026-05-08", "delayed", None)];
    assert_eq!(tell_by(Us, unknown, TODAY), date("2026-06-13"));
    for place in [Eu, Uk, Other] {
        assert_eq!(tell_by(place, unknown, TODAY), today());
    }
}

#[test]
fn what_a_machine_must_not_write_is_told_by_hand() {
    let obstacle = |order: &Order, sent: &[Sent]| {
        let plan = Some(outlook(Some("2026-05-20"), None));
        match due_at(order, plan, sent, TODAY).remove(0).way {
            Way::ByHand { obstacle } => Some(obstacle),
            Way::Mail { .. } => None,
        }
    };
    let plain = order("26-014");
    assert_eq!(obstacle(&plain, &[]), None);
    let mut silent = plain.clone();
    silent.customer.email = None;
    assert_eq!(obstacle(&silent, &[]), Some(Obstacle::NoAddress));
    let mut held = plain.clone();
    held.pieces[1].hold = Some("title unclear".to_owned());
    let reason = "title unclear".to_owned();
    assert_eq!(obstacle(&held, &[]), Some(Obstacle::Hold { reason }));
    let on_course = due(&held, Some(outlook(Some("2026-05-13"), None))).unwrap();
    assert!(
        matches!(on_course.way, Way::Mail { .. }),
        "the order is confirmed"
    );
    let refused = [sent("taken", "2026-05-08", None, Standing::Refused)];
    assert_eq!(obstacle(&plain, &refused), Some(Obstacle::Refused));
    let mut mended = plain.clone();
    mended.customer.email = Some("calder@example.org".to_owned());
    assert_eq!(obstacle(&mended, &refused), None);
    let unsure = [sent("delayed", "2026-05-08", None, Standing::Unsure)];
    assert_eq!(obstacle(&plain, &unsure), Some(Obstacle::Unsure));
    assert_eq!(
        obstacle(&mended, &unsure),
        Some(Obstacle::Unsure),
        "at the old address"
    );
    // The maker asked the customer and wrote it down: the next letter is free again.
    let settled = with_notified(&[("2026-05-08", "delayed", None)]);
    assert_eq!(obstacle(&settled, &unsure), None);
}

#[test]
fn without_a_promise_thirty_days_count() {
    // Published summaries and the text of the law: 1 June 2026 and thirty days.
    let none = Order {
        ordered_on: date("2026-06-01"),
        promise: None,
        ..order("26-014")
    };
    let all = due_at(&none, None, &[], "2026-06-01");
    assert_eq!(all[0].kind.date(), Some(date("2026-07-01")));
}

/// One line of the law table: place, told before, new date, today, silence.
fn check_silence(
    jurisdiction: Jurisdiction,
    told: &[(&str, Option<&str>)],
    new_on: Option<&str>,
    today: &str,
    expected: Silence,
) {
    let mut late = Order {
        ordered_on: date("2026-06-01"),
        promise: None,
        jurisdiction,
        ..order("26-014")
    };
    late.notified = told
        .iter()
        .map(|(on, stated)| notified(on, "delayed", *stated))
        .collect();
    let plan = Outlook {
        arrives_on: new_on.map(date),
        planned_until: date("2026-08-31"),
        ..outlook(new_on, None)
    };
    match due_at(&late, Some(plan), &[], today).remove(0).kind {
        Kind::Delayed(delay) => assert_eq!(delay.silence, expected, "{new_on:?} on {today}"),
        other => panic!("{other:?}"),
    }
}

/// Ordered on 1 June 2026 without a promise: due 1 July, the last day of a short
/// delay is 31 July.
#[test]
fn silence_means_what_the_place_says() {
    use Jurisdiction::{Eu, Other, Uk, Us};
    let july = |day| date(&format!("2026-07-{day:02}"));
    let (first, today) = (&[][..], "2026-06-25");
    // 16 CFR 435.2(b)(1)(ii): a definite date, thirty days later at most.
    let until = |day| Silence::Consents { until: july(day) };
    check_silence(Us, first, Some("2026-07-10"), today, until(10));
    check_silence(Us, first, Some("2026-07-31"), today, until(31));
    check_silence(Us, first, Some("2026-07-10"), "2026-07-01", until(10));
    // 16 CFR 435.2(b)(1)(iii): later than that, or no date.
    let cancels = Silence::Cancels { on: july(31) };
    check_silence(Us, first, Some("2026-08-01"), today, cancels);
    check_silence(Us, first, None, today, cancels);
    // 16 CFR 435.2(b)(2): a renewed letter needs a yes before the old new date.
    let told = &[("2026-06-20", Some("2026-07-10"))];
    let refuses = |day| Silence::Refuses { on: july(day) };
    check_silence(Us, told, Some("2026-07-20"), "2026-07-05", refuses(10));
    check_silence(Us, told, None, "2026-07-10", refuses(10));
    let no_day = &[("2026-06-20", None)];
    check_silence(Us, no_day, Some("2026-07-20"), "2026-07-05", refuses(31));
    check_silence(Us, no_day, Some("2026-07-01"), today, Silence::GoesOn);
    // 16 CFR 435.2(c)(3) and (5): no letter in time.
    check_silence(Us, first, Some("2026-07-10"), "2026-07-02", Silence::Lapsed);
    check_silence(Us, told, Some("2026-07-20"), "2026-07-11", Silence::Lapsed);
    // Directive 2011/83/EU Art. 18(2) and Consumer Rights Act 2015 s. 28(6) to (8):
    // the customer acts, by setting a further period or by ending the contract.
    for place in [Eu, Uk, Other] {
        check_silence(place, first, None, today, Silence::GoesOn);
        check_silence(place, told, None, "2026-07-10", Silence::GoesOn);
    }
}

#[test]
fn the_american_rule_is_about_goods_that_are_sent() {
    let pickup = Order {
        delivery: Delivery::Pickup,
        ..promised(PromiseKind::ShipBy, "2026-05-15", Jurisdiction::Us)
    };
    let delay = delay_of(&pickup, outlook(Some("2026-05-20"), None));
    assert_eq!(delay.silence, Silence::GoesOn);
}

#[test]
fn notices_come_by_order_number_and_hide_addresses_in_json() {
    let orders = [order("26-020"), order("26-014"), order("26-003")];
    let all = notices(&orders, &studio(), &[], &[], today());
    let numbers: Vec<&str> = all.iter().map(|notice| notice.order.as_str()).collect();
    assert_eq!(numbers, ["26-003", "26-014", "26-020"]);
    let json = serde_json::to_string(&all[0]).unwrap();
    assert_eq!(
        json,
        r#"{"order":"26-003","kind":"taken","ordered_on":"2026-05-04","due":{"promise":"ship_by","date":"2026-05-15","agreed":true,"essential":false},"way":{"mail":{"address":"i…@example.org"}}}"#
    );
}

/// A doubt outlives the news: no notice speaks of it any more, and it stays open.
#[test]
fn a_doubt_is_told_until_it_is_settled() {
    let found = |order: &Order, sent: &[Sent]| {
        let orders = std::slice::from_ref(order);
        let due = notices(orders, &studio(), &[], sent, today());
        let open = doubts(orders, sent, &due).into_iter();
        open.map(|sent| sent.kind.clone()).collect::<Vec<_>>()
    };
    let plain = order("26-014");
    let parcel = [sent("dispatched", "2026-05-02", None, Standing::Unsure)];
    assert_eq!(found(&plain, &parcel), ["dispatched"]);
    // This one is due, and its notice says what to do.
    let taken = [sent(
        "taken",
        "2026-05-08",
        Some("2026-05-15"),
        Standing::Unsure,
    )];
    assert_eq!(found(&plain, &taken), [""; 0]);
    let told = [sent("dispatched", "2026-05-02", None, Standing::Told)];
    assert_eq!(found(&plain, &told), [""; 0]);
    let noted = with_notified(&[("2026-05-02", "dispatched", None)]);
    assert_eq!(found(&noted, &parcel), [""; 0]);
}
