//! From orders to the core problem and back to days: nothing lost, nothing twice.

use chrono::{NaiveDateTime, TimeDelta};
use fairday::forecast::{Forecast, Hour};
use fairday::light::{ClearLight, CurveRules, LightCurve, Site, Step};
use fairday::order::{Cover, Delivery, Done, Event, LightSource, Order};
use fairday::plan::audit::audit;
use fairday::plan::course::{Course, courses};
use fairday::plan::model::Timing;
use fairday::plan::search::{Effort, solve};
use fairday::plan::setup::{Setup, setup};
use fairday::plan::starts::Outdoors;
use fairday::plan::under_way::UnderWay;
use fairday::plan::week::{Step as WeekStep, Week, What, week};
use fairday::size::Size;
use fairday::stage::Stage;
use fairday::studio::{Frame, Studio};
use fairday::units::DoseRate;

use crate::desk;

const EFFORT: Effort = Effort {
    iterations: Some(200),
    seed: 1,
    threads: 1,
};

fn at(text: &str) -> NaiveDateTime {
    NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M").unwrap()
}

/// Monday morning before work.
fn now() -> NaiveDateTime {
    at("2026-05-11 07:00")
}

/// The desk's studio with two frames outdoors and a lamp box.
fn studio() -> Studio {
    let frame = |name: &str, size: &str, count, lamp: Option<f64>| Frame {
        name: name.to_owned(),
        inside: Size::parse(size).unwrap(),
        count,
        lamp: lamp.map(DoseRate),
    };
    let mut studio = desk::studio();
    studio.frames = vec![
        frame("small", "320x440 mm", 2, None),
        frame("large", "60x80 cm", 1, None),
        frame("lamp box", "320x440 mm", 1, Some(20.0)),
    ];
    studio.planning.late = 100_000;
    studio
}

fn done(stage: Stage, when: &str) -> Event {
    Event {
        at: at(when),
        what: Done::stage(stage),
    }
}

/// An order of one A4 piece, with what was done to it.
fn single(number: &str, events: Vec<Event>) -> Order {
    let mut order = desk::order(number);
    order.pieces.truncate(1);
    order.pieces[0].progress.events = events;
    order
}

struct Planned<'a> {
    setup: Setup<'a>,
    timing: Timing,
    week: Week,
}

/// Plans under the forecast given, or under a fair sky.
fn planned<'a>(
    orders: &'a [Order],
    studio: &'a Studio,
    forecast: Option<&Forecast>,
) -> Planned<'a> {
    planned_at(orders, studio, forecast, now())
}

fn planned_at<'a>(
    orders: &'a [Order],
    studio: &'a Studio,
    forecast: Option<&Forecast>,
    now: NaiveDateTime,
) -> Planned<'a> {
    let from = now.and_utc() - TimeDelta::hours(12);
    let span = from..from + TimeDelta::days(i64::from(studio.planning.days) + 1);
    let site = Site::new(&studio.place, &studio.stand);
    let clear = ClearLight::over(site, span, Step::FIVE_MINUTES);
    let rules = CurveRules {
        rain_max_mm: f64::INFINITY,
        ..CurveRules::of(&studio.weather)
    };
    let light = match forecast {
        Some(_) => LightCurve::new(&clear, forecast, &rules),
        None => LightCurve::fair(&clear, &rules),
    };
    let setup = setup(
        orders,
        studio,
        &Outdoors {
            light: &light,
            forecast,
            dry_factor: 1.0,
        },
        now,
        &UnderWay::default(),
    );
    let solved = solve(&setup.instance, &EFFORT, &|| 0.0, None);
    let verdict = audit(&setup.instance, &solved.timing);
    assert!(verdict.is_kept(), "{:?}", verdict.broken);
    let week = week(&setup, studio, &solved.timing);
    Planned {
        setup,
        timing: solved.timing,
        week,
    }
}

impl Planned<'_> {
    fn steps(&self) -> impl Iterator<Item = &WeekStep> {
        self.week.days.iter().flat_map(|day| &day.steps)
    }

    /// When the first step of a kind begins and ends.
    fn span(&self, kind: fn(&What) -> bool) -> Option<(NaiveDateTime, NaiveDateTime)> {
        self.steps()
            .find(|step| kind(&step.what))
            .map(|step| (step.from, step.until))
    }

    fn course(&self, studio: &Studio, order: usize) -> Course {
        let courses = courses(&self.setup, studio, &self.timing);
        courses
            .iter()
            .find(|course| course.order == order)
            .unwrap()
            .course
    }
}

fn coats(what: &What) -> bool {
    matches!(what, What::Coat(_))
}
fn exposes(what: &What) -> bool {
    matches!(what, What::Expose(_))
}
fn washes(what: &What) -> bool {
    matches!(what, What::Wash(_))
}
fn finishes(what: &What) -> bool {
    matches!(what, What::Finish(_))
}
fn packs(what: &What) -> bool {
    matches!(what, What::Pack(_))
}
fn leaves(what: &What) -> bool {
    matches!(what, What::Leave(_))
}

/// The same sky for every hour of two weeks.
fn forecast(hour: &Hour) -> Forecast {
    let first = at("2026-05-10 12:00").and_utc();
    let hours = (0..16 * 24)
        .map(|index| Hour {
            start: first + TimeDelta::hours(index),
            ..hour.clone()
        })
        .collect();
    Forecast {
        credit: "invented".to_owned(),
        latitude_deg: 52.1,
        longitude_deg: 5.1,
        issued_at: None,
        hours,
    }
}

fn fair_hour() -> Hour {
    Hour {
        cloud_pct: Some(0.0),
        rain_mm: Some(0.0),
        rain_chance: Some(0.0),
        wind_m_s: Some(2.0),
        gust_m_s: Some(4.0),
        ..Hour::default()
    }
}

#[test]
fn a_new_order_goes_through_every_stage_in_its_order() {
    let (studio, orders) = (studio(), [single("1", vec![])]);
    let planned = planned(&orders, &studio, Some(&forecast(&fair_hour())));
    let (_, coated) = planned.span(coats).unwrap();
    let (loaded, unloaded) = planned.span(exposes).unwrap();
    let (water, out) = planned.span(washes).unwrap();
    let (press, pressed) = planned.span(finishes).unwrap();
    let (pack, packed) = planned.span(packs).unwrap();
    let (leave, _) = planned.span(leaves).unwrap();
    // 12 h in the dark, 60 min to the water, 24 h for the colour: the desk's settings.
    assert!(loaded >= coated + TimeDelta::hours(12));
    assert!(water >= unloaded && water <= unloaded + TimeDelta::minutes(60));
    assert!(press >= out + TimeDelta::hours(24));
    assert!(pack >= pressed && leave >= packed);
    assert_eq!(planned.steps().count(), 6);
    assert_eq!(planned.course(&studio, 0), Course::OnCourse);
}

#[test]
fn what_was_coated_yesterday_is_not_coated_again() {
    let coated = done(Stage::Coating, "2026-05-10 20:00");
    let (studio, orders) = (studio(), [single("1", vec![coated])]);
    let planned = planned(&orders, &studio, None);
    assert_eq!(planned.span(coats), None);
    let (loaded, _) = planned.span(exposes).unwrap();
    assert!(loaded >= at("2026-05-11 08:00"));
}

#[test]
fn a_sheet_that_the_maker_calls_dry_need_not_wait() {
    let events = vec![
        done(Stage::Coating, "2026-05-11 04:00"),
        done(Stage::Drying, "2026-05-11 06:50"),
    ];
    let (studio, orders) = (studio(), [single("1", events)]);
    let planned = planned(&orders, &studio, None);
    let (loaded, _) = planned.span(exposes).unwrap();
    assert!(loaded < at("2026-05-11 16:00"), "{loaded}");
}

#[test]
fn what_was_exposed_goes_to_the_water_first() {
    let events = vec![
        done(Stage::Coating, "2026-05-10 08:00"),
        done(Stage::Exposing, "2026-05-11 06:55"),
    ];
    let (studio, orders) = (studio(), [single("1", events), single("2", vec![])]);
    let planned = planned(&orders, &studio, None);
    assert_eq!(planned.span(washes).unwrap().0, at("2026-05-11 09:00"));
    assert_eq!(
        planned.steps().filter(|step| exposes(&step.what)).count(),
        1
    );
}

#[test]
fn a_washed_print_is_finished_a_day_after_its_wash() {
    let events = vec![
        done(Stage::Coating, "2026-05-09 08:00"),
        done(Stage::Exposing, "2026-05-10 12:00"),
        done(Stage::Washing, "2026-05-10 12:30"),
    ];
    let (studio, orders) = (studio(), [single("1", events)]);
    let planned = planned(&orders, &studio, None);
    assert_eq!(planned.span(washes), None);
    assert!(planned.span(finishes).unwrap().0 >= at("2026-05-11 12:30"));
    assert_eq!(planned.span(leaves).unwrap().0, at("2026-05-11 16:00"));
}

#[test]
fn a_finished_order_is_only_packed() {
    let mut order = single("1", vec![]);
    desk::finish(&mut order.pieces[0], "2026-05-10");
    let (studio, orders) = (studio(), [order]);
    let planned = planned(&orders, &studio, None);
    let kinds: Vec<bool> = planned
        .steps()
        .map(|s| packs(&s.what) || leaves(&s.what))
        .collect();
    assert_eq!(kinds, [true, true]);
}

#[test]
fn a_hold_bars_new_work_but_no_print_is_left_in_the_water() {
    let exposed = vec![
        done(Stage::Coating, "2026-05-10 08:00"),
        done(Stage::Exposing, "2026-05-11 06:55"),
    ];
    let mut order = desk::order("1");
    order.pieces[0].progress.events = exposed;
    order.hold = Some("waits for payment".to_owned());
    let (studio, orders) = (studio(), [order]);
    let planned = planned(&orders, &studio, None);
    assert!(planned.span(washes).is_some() && planned.span(finishes).is_some());
    assert_eq!(planned.span(coats), None);
    assert_eq!(planned.span(packs), None);
    assert_eq!(planned.span(leaves), None);
    assert_eq!(planned.course(&studio, 0), Course::Held);
}

#[test]
fn a_piece_larger_than_every_frame_is_named_and_the_others_are_planned() {
    let mut large = single("1", vec![]);
    large.pieces[0].size = Size::parse("A0").unwrap();
    let (studio, orders) = (studio(), [large, single("2", vec![])]);
    let planned = planned(&orders, &studio, None);
    assert_eq!(planned.course(&studio, 0), Course::TooLarge);
    assert_eq!(planned.course(&studio, 1), Course::OnCourse);
}

#[test]
fn paper_that_comes_on_wednesday_is_not_coated_before() {
    let mut studio = studio();
    studio.materials.get_mut("rag").unwrap().available_on = Some(desk::date("2026-05-13"));
    let orders = [single("1", vec![])];
    let planned = planned(&orders, &studio, None);
    assert!(planned.span(coats).unwrap().0 >= at("2026-05-13 00:00"));
}

#[test]
fn rain_keeps_every_frame_in_but_not_the_lamp() {
    let rain = forecast(&Hour {
        rain_mm: Some(0.5),
        ..fair_hour()
    });
    let mut lamp = single("2", vec![]);
    lamp.pieces[0].light = LightSource::Lamp;
    let (studio, orders) = (studio(), [single("1", vec![]), lamp]);
    let planned = planned(&orders, &studio, Some(&rain));
    let rounds: Vec<_> = planned
        .steps()
        .filter_map(|step| match &step.what {
            What::Expose(round) => Some(round),
            _ => None,
        })
        .collect();
    assert_eq!(rounds.len(), 1);
    assert!(rounds[0].lamp);
    // 18 kJ/m² at 20 W/m² are 15 minutes.
    assert!((rounds[0].minutes - 15.0).abs() < 1e-9);
    assert_eq!(planned.course(&studio, 0), Course::LeftOut);
    assert_eq!(planned.course(&studio, 1), Course::OnCourse);
}

#[test]
fn a_breeze_keeps_loose_objects_in_and_glass_out() {
    let breeze = forecast(&Hour {
        gust_m_s: Some(7.0),
        ..fair_hour()
    });
    let mut loose = single("1", vec![]);
    loose.pieces[0].cover = Cover::None;
    let (studio, orders) = (studio(), [loose, single("2", vec![])]);
    let planned = planned(&orders, &studio, Some(&breeze));
    assert_eq!(planned.course(&studio, 0), Course::LeftOut);
    assert_eq!(planned.course(&studio, 1), Course::OnCourse);
}

#[test]
fn like_pieces_of_two_orders_share_a_frame() {
    let (studio, orders) = (studio(), [desk::order("1"), desk::order("2")]);
    let planned = planned(&orders, &studio, None);
    let pieces: usize = planned.setup.lots.iter().map(|lot| lot.pieces.len()).sum();
    assert_eq!(pieces, 6);
    assert!(planned.setup.lots.len() < 4, "{}", planned.setup.lots.len());
    for lot in &planned.setup.lots {
        assert_eq!(lot.pieces.len(), lot.laid.len());
    }
}

#[test]
fn a_pickup_is_ready_when_it_is_packed_also_on_a_day_without_carrier() {
    let mut order = single("1", vec![]);
    desk::finish(&mut order.pieces[0], "2026-05-13");
    order.delivery = Delivery::Pickup;
    let (studio, orders) = (studio(), [order]);
    // Thursday 14 May is a holiday of the carrier, not of the studio.
    let planned = planned_at(&orders, &studio, None, at("2026-05-14 08:00"));
    assert_eq!(planned.span(leaves).unwrap().0, at("2026-05-14 09:10"));
}

/// The clock of Amsterdam skips an hour on 29 March 2026 (IANA tz database): a
/// night in the dark is told to last 13 h there, so that it is 12 h long in truth.
#[test]
fn a_wait_over_the_spring_change_is_an_hour_longer_on_the_clock() {
    let (studio, orders) = (studio(), [single("1", vec![])]);
    let spring = planned_at(&orders, &studio, None, at("2026-03-27 08:00"));
    let may = planned(&orders, &studio, None);
    let dark = |planned: &Planned| planned.setup.instance.lots[0].dark;
    assert_eq!(dark(&may), 12 * 12);
    assert_eq!(dark(&spring), 13 * 12);
}

#[test]
fn an_essential_promise_counts_for_more() {
    let mut order = single("1", vec![]);
    order.promise.as_mut().unwrap().essential = true;
    let (studio, orders) = (studio(), [order, single("2", vec![])]);
    let planned = planned(&orders, &studio, None);
    let weight = |index: usize| planned.setup.instance.orders[index].weight;
    assert!(weight(0) > weight(1));
}
