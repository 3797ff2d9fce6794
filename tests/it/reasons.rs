//! Why an order is late, in studios built so that the answer is known.
//!
//! Above each studio stands how its answer was worked out by hand. The limits are
//! compared as a whole: one that is named and does not help is as wrong as one that
//! is missing.

use chrono::Timelike;
use fairday::order::{Cover, Image, Order};
use fairday::plan::reason::{Blocked, Limit, Needed, Reason};
use fairday::units::Dose;
use fairday::window::Unfit;

use crate::desk;
use crate::small_studio::{
    Found, Small, at, fair, forecast, frame, order, rain, small, under_lamp,
};

const WEDNESDAY: &str = "2026-05-13";

/// The only order that is not on course.
fn only(found: &Found) -> &Blocked {
    assert_eq!(found.findings.blocked.len(), 1, "{}", found.page);
    &found.findings.blocked[0]
}

fn needs(blocked: &Blocked) -> Vec<&Needed> {
    let needed = blocked.reasons.iter().map(|reason| match reason {
        Reason::Limits(needed) => needed,
        other => panic!("expected limits, found {other:?}"),
    });
    needed.collect()
}

/// The sets of limits that were found, each a way out of its own.
fn ways(blocked: &Blocked) -> Vec<Vec<Limit>> {
    let needs = needs(blocked);
    needs.iter().map(|needed| needed.limits.clone()).collect()
}

fn words(found: &Found) -> (Vec<&str>, &str) {
    let (_, reasons, action) = &found.words[0];
    (reasons.iter().map(String::as_str).collect(), action)
}

fn pair_of_orders(sheets: u32) -> Vec<Order> {
    let mut second = order("B", sheets, WEDNESDAY);
    let mut first = order("A", sheets, WEDNESDAY);
    // The first weighs more, so it is always the second that gives way.
    (first.weight, second.weight) = (2, 1);
    vec![first, second]
}

#[test]
fn in_fair_weather_with_room_for_all_nothing_is_blocked() {
    let found = small(pair_of_orders(1)).found();
    assert!(found.findings.blocked.is_empty(), "{}", found.page);
}

/// It rains in every hour of the week, under a clear sky: no start at all is fit. In
/// fair weather: coated on Monday, exposed on Tuesday, sent on Wednesday.
#[test]
fn rain_all_week_is_weather_and_nothing_else() {
    let mut studio = small(vec![order("A", 1, WEDNESDAY)]);
    studio.forecast = forecast(|_| rain());
    let found = studio.found();
    let blocked = only(&found);
    assert_eq!(ways(blocked), [[Limit::Weather]]);
    assert!(needs(blocked)[0].smallest);
    assert_eq!(needs(blocked)[0].then_on, desk::date(WEDNESDAY));
    let evidence = &blocked.evidence[0];
    assert_eq!((evidence.best, evidence.next), (None, None));
    let unfit = evidence.best_unfit.unwrap();
    assert_eq!(unfit.unfit, Some(Unfit::Rain { chance: 0.9 }));
    let (reasons, action) = words(&found);
    assert_eq!(reasons, ["needs fair weather; then it leaves Wed 13 May"]);
    assert_eq!(
        action,
        "tell the customer that no date can be given: fairday notices A"
    );
}

/// As above, but there is a lamp that prints the sheet in ten minutes.
#[test]
fn under_rain_the_lamp_is_named_if_it_would_do() {
    let mut studio = small(vec![order("A", 2, WEDNESDAY)]);
    studio.forecast = forecast(|_| rain());
    studio
        .studio
        .frames
        .push(frame("bench", "31x43 cm", Some(30.0)));
    // The second sheet is exposed and washed already.
    let done = [("coated", 8), ("exposed", 9), ("washed", 9)];
    studio.orders[0].pieces[1].progress = progress(&done);
    let found = studio.found();
    let lamp = needs(only(&found))[0].lamp.clone().unwrap();
    assert_eq!(lamp.pieces, [1]);
    assert_eq!(lamp.then_on, desk::date(WEDNESDAY));
    assert_eq!(
        words(&found).1,
        "lamp for piece 1: set `light: lamp`, if the customer agrees"
    );
}

/// Entries of a record at noon on days of May.
fn progress(entries: &[(&str, u32)]) -> fairday::order::Progress {
    use fairday::order::{Done, Event};
    use fairday::stage::Stage;
    let event = |(done, day): &(&str, u32)| Event {
        at: at(&format!("2026-05-{day:02} 12:00")),
        what: Done::stage(Stage::ALL.into_iter().find(|s| s.done() == *done).unwrap()),
    };
    fairday::order::Progress {
        events: entries.iter().map(event).collect(),
    }
}

/// It is dry on Tuesday from twelve to two only, and an exposure there takes 18
/// minutes: 12:40 is the last start that ends before one, since the hour after must be dry
/// too. With loading and unloading a frame does two rounds, at 12:00 and 12:30. Two
/// people are there, so that nobody waits for a wash. The third order stays behind.
#[test]
fn one_frame_only_is_frames_or_weather() {
    let mut orders = pair_of_orders(1);
    orders.push(order("C", 1, WEDNESDAY));
    orders[1].weight = 2;
    let mut studio = small(orders);
    studio.studio.hands = 2;
    let dry = |wall: chrono::NaiveDateTime| {
        wall.date() == desk::date("2026-05-12") && (12..14).contains(&wall.hour())
    };
    studio.forecast = forecast(|wall| if dry(wall) { fair() } else { rain() });
    studio.studio.materials.get_mut("rag").unwrap().target_dose = Dose(60.0);
    let found = studio.found();
    let blocked = only(&found);
    assert_eq!(ways(blocked), [[Limit::Weather], [Limit::Frames]]);
    assert_eq!(
        words(&found).0[1],
        "needs a second small frame; then it leaves Wed 13 May"
    );
    assert_eq!(words(&found).1, "borrow or build a second small frame");
}

/// Two sheets fill the dark till Monday night; the other two would be coated on
/// Tuesday, exposed on Wednesday and sent on Friday.
#[test]
fn two_dark_places_are_dark_dry_places() {
    let mut studio = small(pair_of_orders(2));
    studio.studio.racks.dark_dry_sheets = 2;
    let found = studio.found();
    let blocked = only(&found);
    assert_eq!(ways(blocked), [[Limit::DarkDry]]);
    let (reasons, action) = words(&found);
    assert_eq!(
        reasons,
        ["needs two more dark-dry places; then it leaves Wed 13 May"]
    );
    assert_eq!(action, "make room for two more dark-dry places");
}

/// Two washed sheets hang till Tuesday night, when nobody is there; the other two
/// are washed on Wednesday and finished on Thursday.
#[test]
fn a_full_wet_rack_is_wet_dry_places() {
    let mut studio = small(pair_of_orders(2));
    studio.studio.racks.wet_dry_sheets = 2;
    let found = studio.found();
    assert_eq!(ways(only(&found)), [[Limit::WetDry]]);
    let (reasons, action) = words(&found);
    assert_eq!(
        reasons,
        ["needs two more wet-dry places; then it leaves Wed 13 May"]
    );
    assert_eq!(action, "make room for two more wet-dry places");
}

/// Washed on Tuesday from half past nine, so finished on Wednesday from then on; two
/// times 200 minutes end after the carrier came at four. A second person, or a walk
/// to the carrier later that day, would do.
#[test]
fn one_pair_of_hands_is_hands_or_a_later_parcel() {
    let mut studio = small(pair_of_orders(1));
    studio
        .studio
        .materials
        .get_mut("rag")
        .unwrap()
        .finish_minutes = 200.0;
    let found = studio.found();
    let blocked = only(&found);
    assert_eq!(ways(blocked), [[Limit::Collections], [Limit::Hands]]);
    let (reasons, action) = words(&found);
    assert_eq!(
        reasons[1],
        "needs one more pair of hands; then it leaves Wed 13 May"
    );
    assert_eq!(
        action,
        "bring the parcel to the carrier yourself on Wed 13 May"
    );
}

/// Two people and two frames, but one tray: the first sheet lies in it on Tuesday from
/// half past nine to half past one, and the second has an hour from frame to water.
/// Washed till half past five, or the next day, it is not finished by four on Wednesday.
#[test]
fn a_wash_of_four_hours_in_one_tray_is_trays() {
    let mut studio = small(pair_of_orders(1));
    studio.studio.hands = 2;
    studio.studio.frames[0].count = 2;
    studio.studio.materials.get_mut("rag").unwrap().wash_minutes = 240.0;
    let found = studio.found();
    assert_eq!(ways(only(&found)), [[Limit::Trays]]);
    assert_eq!(words(&found).1, "set up a second wash tray");
}

/// The paper comes on Wednesday; to leave then it must be coated on Monday.
#[test]
fn paper_that_comes_late_is_material() {
    let mut studio = small(vec![order("A", 1, WEDNESDAY)]);
    let rag = studio.studio.materials.get_mut("rag").unwrap();
    rag.available_on = Some(desk::date(WEDNESDAY));
    let found = studio.found();
    let blocked = only(&found);
    assert_eq!(ways(blocked), [[Limit::Material]]);
    assert!(needs(blocked)[0].smallest);
    let (reasons, action) = words(&found);
    assert_eq!(
        reasons,
        ["needs cotton rag paper by today; then it leaves Wed 13 May"]
    );
    assert_eq!(action, "get cotton rag paper by today");
}

/// The carrier comes on Fridays; all else is done on Wednesday.
#[test]
fn a_carrier_who_does_not_come_is_collections() {
    let mut studio = small(vec![order("A", 1, WEDNESDAY)]);
    studio.studio.shipping.collection_days = vec![chrono::Weekday::Fri];
    let found = studio.found();
    let blocked = only(&found);
    assert_eq!(ways(blocked), [[Limit::Collections]]);
    assert!(needs(blocked)[0].smallest);
    assert_eq!(
        words(&found).1,
        "bring the parcel to the carrier yourself on Wed 13 May"
    );
}

/// At ten to five there is no time to mix and coat before work ends; coated tonight
/// it is dry on Tuesday morning. Mixing takes 15 minutes, two sheets 8 minutes, which
/// the plan counts as ten: a quarter past five.
#[test]
fn ten_minutes_before_the_end_of_work_it_is_hours() {
    let mut studio = small(vec![order("A", 2, WEDNESDAY)]);
    studio.now = at("2026-05-11 16:50");
    let found = studio.found();
    let blocked = only(&found);
    assert_eq!(ways(blocked), [[Limit::Hours]]);
    assert!(needs(blocked)[0].smallest);
    let (reasons, action) = words(&found);
    assert_eq!(
        reasons,
        ["needs work till 17:15 today; then it leaves Wed 13 May"]
    );
    assert_eq!(action, "coat pieces 1,2 tonight, till 17:15");
}

/// Two dark places dry in three hours and the mix lives for two: the second order
/// needs a second mix after noon, or two more places.
#[test]
fn one_session_a_day_is_sessions_or_dark_dry_places() {
    let mut orders = pair_of_orders(2);
    for order in &mut orders {
        order.promise.as_mut().unwrap().date = desk::date("2026-05-12");
    }
    let mut studio = small(orders);
    studio.studio.racks.dark_dry_sheets = 2;
    studio.studio.sensitizer.mix_life_hours = 2.0;
    let rag = studio.studio.materials.get_mut("rag").unwrap();
    (rag.dark_dry_hours, rag.cure_hours) = (2.5, 20.0);
    let found = studio.found();
    let blocked = only(&found);
    assert_eq!(ways(blocked), [[Limit::DarkDry], [Limit::Sessions]]);
    let (reasons, action) = words(&found);
    assert_eq!(
        reasons[1],
        "needs a second coating session a day; then it leaves Tue 12 May"
    );
    assert_eq!(
        action,
        "mix once more a day: `sessions_per_day: 2` in studio.yaml"
    );
}

/// Coated on Monday it leaves on Wednesday, whatever is lifted; taken a week ago it
/// could have been in time.
#[test]
fn a_promise_for_tomorrow_is_too_short_by_now() {
    let found = small(vec![order("A", 1, "2026-05-12")]).found();
    let expected = Reason::TooShort {
        earliest_on: Some(desk::date(WEDNESDAY)),
        from_start: false,
        proven: true,
    };
    assert_eq!(only(&found).reasons, [expected]);
    let (reasons, action) = words(&found);
    assert_eq!(
        reasons,
        [
            "the promise is too short by now: with nothing else to do it leaves Wed 13 May \
          at the earliest, by the days of work and collection"
        ]
    );
    assert_eq!(action, "ask for one day: fairday notices A");
}

/// Taken this morning for tomorrow: two waits of twelve hours and a day do not fit.
#[test]
fn a_promise_of_one_day_was_too_short_from_the_start() {
    let mut late = order("A", 1, "2026-05-12");
    late.ordered_on = desk::date("2026-05-11");
    let found = small(vec![late]).found();
    let expected = Reason::TooShort {
        earliest_on: Some(desk::date(WEDNESDAY)),
        from_start: true,
        proven: true,
    };
    assert_eq!(only(&found).reasons, [expected]);
}

/// Too late by now, and kept beyond its earliest day by the rain of Tuesday and
/// Wednesday: both are said.
#[test]
fn weather_that_adds_to_a_short_promise_is_named_beside_it() {
    let mut studio = small(vec![order("A", 1, "2026-05-12")]);
    let wet = |wall: chrono::NaiveDateTime| wall < at("2026-05-14 00:00");
    studio.forecast = forecast(|wall| if wet(wall) { rain() } else { fair() });
    let found = studio.found();
    let reasons = &only(&found).reasons;
    assert!(matches!(reasons[0], Reason::TooShort { proven: true, .. }));
    let Reason::Limits(needed) = &reasons[1] else {
        panic!("{reasons:?}")
    };
    assert_eq!(needed.limits, [Limit::Weather]);
    assert_eq!(needed.then_on, desk::date(WEDNESDAY));
}

#[test]
fn a_hold_is_said_in_the_makers_words() {
    let mut held = order("A", 1, WEDNESDAY);
    held.hold = Some("waits for payment".to_owned());
    let found = small(vec![held]).found();
    let (reasons, action) = words(&found);
    assert_eq!(reasons, ["on hold: waits for payment"]);
    assert_eq!(action, "when settled, delete its `hold:` line in A.yaml");
}

#[test]
fn a_sheet_larger_than_every_frame_is_too_large() {
    let mut large = order("A", 1, WEDNESDAY);
    large.pieces[0].size = fairday::size::Size::parse("A2").unwrap();
    let found = small(vec![large]).found();
    assert_eq!(only(&found).reasons, [Reason::TooLarge { piece: 1 }]);
}

/// Gusts of 8 m/s all week: glass bears 12, loose objects 5.5.
#[test]
fn wind_blocks_loose_objects_only() {
    let mut loose = order("A", 1, WEDNESDAY);
    loose.pieces[0].image = Image::Objects("ferns".to_owned());
    loose.pieces[0].cover = Cover::None;
    let mut studio = small(vec![loose, order("B", 1, WEDNESDAY)]);
    studio.forecast = forecast(|_| fairday::forecast::Hour {
        gust_m_s: Some(8.0),
        wind_m_s: Some(5.0),
        ..fair()
    });
    let found = studio.found();
    let blocked = only(&found);
    assert_eq!(blocked.course.order, 0);
    assert_eq!(ways(blocked), [[Limit::Weather]]);
    let unfit = blocked.evidence[0].best_unfit.unwrap();
    assert_eq!(unfit.unfit, Some(Unfit::Gust { m_s: 8.0 }));
}

/// Rain keeps B from the sun, and A, which goes under the lamp on Tuesday, has both
/// dark places on Monday: either alone is not enough.
fn rain_and_rack() -> Small {
    let mut orders = pair_of_orders(2);
    orders[0] = under_lamp(orders[0].clone());
    let mut studio = small(orders);
    studio
        .studio
        .frames
        .push(frame("bench", "62x43 cm", Some(30.0)));
    studio.studio.racks.dark_dry_sheets = 2;
    studio.forecast = forecast(|_| rain());
    studio
}

#[test]
fn rain_and_a_full_rack_are_both_needed() {
    let found = rain_and_rack().found();
    let blocked = only(&found);
    assert_eq!(ways(blocked), [[Limit::Weather, Limit::DarkDry]]);
    let (reasons, action) = words(&found);
    assert_eq!(
        reasons,
        ["needs fair weather and two more dark-dry places; then it leaves Wed 13 May"]
    );
    assert_eq!(
        action,
        "make room for two more dark-dry places and lamp for all pieces: set `light: lamp`, \
         if the customer agrees"
    );
}

/// One order goes under the lamp and is finished on Wednesday from ten to one; the
/// other waits for the sun and would take till five past four.
#[test]
fn rain_and_one_pair_of_hands_read_well() {
    let mut orders = pair_of_orders(1);
    orders[0] = under_lamp(orders[0].clone());
    let mut studio = small(orders);
    studio
        .studio
        .frames
        .push(frame("bench", "31x43 cm", Some(30.0)));
    studio
        .studio
        .materials
        .get_mut("rag")
        .unwrap()
        .finish_minutes = 200.0;
    studio.forecast = forecast(|_| rain());
    let found = studio.found();
    let expected = [
        [Limit::Weather, Limit::Hands],
        [Limit::Weather, Limit::Collections],
    ];
    let mut ways = ways(only(&found));
    ways.sort_by_key(|way| way[1] != Limit::Hands);
    assert_eq!(ways, expected);
    let (reasons, action) = words(&found);
    assert_eq!(
        reasons[0],
        "needs fair weather and one more pair of hands; then it leaves Wed 13 May"
    );
    assert_eq!(
        action,
        "bring the parcel to the carrier yourself on Wed 13 May and lamp for piece 1: set \
         `light: lamp`, if the customer agrees"
    );
}
