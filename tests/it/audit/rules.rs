//! One change of the good plan for each rule R1 to R18, and what the plan costs.

use fairday::plan::audit::{Broken, FrameWork, Resource};
use fairday::plan::model::{Cost, Held, Instance, Session, Space, Taken, Timing};

use super::{BLUE, LACE, blue, check, check_kept, lace, pack, span, studio};

/// By hand: bert, weight 3, promised on day 1, leaves on day 2: late 3. Risks
/// 50 of blue and 20 of lace. One session. Days until collection 2·2 + 3·2.
#[test]
fn the_good_plan_keeps_every_rule_and_costs_what_a_person_counts() {
    let cost = check_kept(|_, _| ());
    let by_hand = Cost {
        late: 3,
        risk: 70,
        session: 1,
        ship: 10,
    };
    assert_eq!(cost, by_hand);
    assert_eq!(cost.total(&studio().weights), 3000 + 70 + 100 + 100);
}

/// By hand: anna, weight 2, promised on day 2, charged day 9: late 14, ship 18.
#[test]
fn an_order_left_out_is_charged_the_unserved_day() {
    let cost = check_kept(|_, timing| {
        timing.orders.remove("anna");
    });
    assert_eq!((cost.late, cost.ship), (14 + 3, 18 + 6));
}

#[test]
fn r1_the_setup_lies_in_work_hours() {
    check(
        1,
        |_, timing| timing.sessions[0].start = 7,
        &[Broken::SetupOutsideWork {
            session: 0,
            at: span(7, 8),
        }],
    );
}

#[test]
fn r2_a_day_has_only_so_many_sessions() {
    check(
        2,
        |_, timing| timing.sessions.push(Session { start: 13 }),
        &[Broken::TooManySessions {
            day: 0,
            count: 2,
            max: 1,
        }],
    );
}

#[test]
fn r2_a_session_that_has_begun_counts_for_its_day() {
    check(
        2,
        |instance, _| instance.begun.sessions = 1,
        &[Broken::TooManySessions {
            day: 0,
            count: 2,
            max: 1,
        }],
    );
}

#[test]
fn r3_coating_lies_in_work_hours() {
    check(
        3,
        |_, timing| blue(timing).coat = Some(10),
        &[Broken::CoatingOutsideWork {
            lot: "blue".to_owned(),
            at: span(10, 11),
        }],
    );
}

#[test]
fn r4_coating_waits_for_its_material() {
    check(
        4,
        |instance, _| instance.lots[BLUE].release = 10,
        &[Broken::CoatedBeforeRelease {
            lot: "blue".to_owned(),
            coat: 9,
            release: 10,
        }],
    );
}

#[test]
fn r5_coating_ends_while_the_mix_lives() {
    check(
        5,
        |_, timing| blue(timing).coat = Some(13),
        &[Broken::CoatedOutsideMix {
            lot: "blue".to_owned(),
            session: 0,
            at: span(13, 14),
            life: Some(span(9, 13)),
        }],
    );
}

/// The orders are left out: with no coating that holds they would be R16 too.
#[test]
fn r5_coating_needs_a_session_that_exists() {
    let change = |_: &mut Instance, timing: &mut Timing| {
        blue(timing).session = Some(1);
        timing.orders.clear();
    };
    check(
        5,
        change,
        &[Broken::CoatedOutsideMix {
            lot: "blue".to_owned(),
            session: 1,
            at: span(9, 10),
            life: None,
        }],
    );
}

/// Bert is left out: without an exposure lace is never finished, which is R16.
#[test]
fn r6_exposing_starts_where_the_weather_admits_it() {
    let change = |_: &mut Instance, timing: &mut Timing| {
        lace(timing).expose = Some(39);
        timing.orders.remove("bert");
    };
    check(
        6,
        change,
        &[Broken::ExposedOutsideWindow {
            lot: "lace".to_owned(),
            expose: 39,
        }],
    );
}

#[test]
fn r6_two_rows_for_one_start_are_no_answer() {
    let change = |instance: &mut Instance, timing: &mut Timing| {
        instance.classes[0].options.push((38, 40, 3, 10));
        timing.orders.remove("bert");
    };
    check(
        6,
        change,
        &[Broken::ExposedOutsideWindow {
            lot: "lace".to_owned(),
            expose: 38,
        }],
    );
}

#[test]
fn r7_a_wet_piece_never_goes_into_a_frame() {
    check(
        7,
        |instance, _| instance.lots[BLUE].dark = 24,
        &[Broken::LoadedWet {
            lot: "blue".to_owned(),
            load: 33,
            dry: 34,
        }],
    );
}

#[test]
fn r8_a_dry_coat_is_not_kept_too_long() {
    check(
        8,
        |instance, _| instance.lots[BLUE].keep = 10,
        &[Broken::KeptTooLong {
            lot: "blue".to_owned(),
            load: 33,
            keep_until: 32,
        }],
    );
}

#[test]
fn r9_a_person_who_stays_with_it_has_no_pause() {
    check(
        9,
        |instance, _| instance.lots[BLUE].attended = true,
        &[Broken::FrameOutsideWork {
            lot: "blue".to_owned(),
            work: FrameWork::Attending,
            at: span(33, 37),
        }],
    );
}

#[test]
fn r9_somebody_is_there_to_load_and_to_unload() {
    let frame = |work, from| Broken::FrameOutsideWork {
        lot: "blue".to_owned(),
        work,
        at: span(from, from + 1),
    };
    check(
        9,
        |instance, _| instance.classes[0].options[0].2 = 1,
        &[frame(FrameWork::Unloading, 35)],
    );
    check(
        9,
        |instance, timing| {
            instance.wash_gap = 1;
            instance.classes[0].options[0].2 = 1;
            blue(timing).expose = Some(35);
        },
        &[frame(FrameWork::Loading, 34)],
    );
}

#[test]
fn r10_washing_follows_soon_after_the_frame() {
    check(
        10,
        |instance, _| instance.wash_gap = 0,
        &[Broken::WashedAtWrongTime {
            lot: "blue".to_owned(),
            wash: 38,
            earliest: 37,
            latest: Some(37),
        }],
    );
}

#[test]
fn r10_washing_does_not_begin_inside_the_frame() {
    check(
        10,
        |_, timing| lace(timing).wash = Some(39),
        &[Broken::WashedAtWrongTime {
            lot: "lace".to_owned(),
            wash: 39,
            earliest: 41,
            latest: Some(43),
        }],
    );
}

#[test]
fn r11_washing_lies_in_work_hours() {
    check(
        11,
        |_, timing| lace(timing).wash = Some(42),
        &[Broken::WashingOutsideWork {
            lot: "lace".to_owned(),
            at: span(42, 43),
        }],
    );
}

#[test]
fn r12_finishing_waits_for_the_colour() {
    check(
        12,
        |instance, _| instance.lots[BLUE].cure = 18,
        &[Broken::FinishedTooEarly {
            lot: "blue".to_owned(),
            finish: 56,
            earliest: 57,
        }],
    );
}

/// Lace leaves the line at 42 + 16, two slots after this finishing.
#[test]
fn r12_finishing_waits_for_the_rack_when_that_is_longer() {
    check(
        12,
        |instance, _| instance.lots[LACE].open = 16,
        &[Broken::FinishedTooEarly {
            lot: "lace".to_owned(),
            finish: 57,
            earliest: 58,
        }],
    );
}

#[test]
fn r13_finishing_lies_in_work_hours() {
    check(
        13,
        |_, timing| lace(timing).finish = 58,
        &[Broken::FinishingOutsideWork {
            lot: "lace".to_owned(),
            at: span(58, 59),
        }],
    );
}

#[test]
fn r14_every_lot_ends_inside_the_horizon() {
    check(
        14,
        |instance, _| instance.horizon = 57,
        &[Broken::EndsAfterHorizon {
            of: "lace".to_owned(),
            end: 58,
            horizon: 57,
        }],
    );
}

#[test]
fn r15_packing_lies_in_work_hours() {
    check(
        15,
        |_, timing| pack(timing, "bert", 58),
        &[Broken::PackingOutsideWork {
            order: "bert".to_owned(),
            at: span(58, 59),
        }],
    );
}

#[test]
fn r16_packing_waits_for_every_lot() {
    check(
        16,
        |_, timing| pack(timing, "anna", 39),
        &[Broken::PackedBeforeFinished {
            order: "anna".to_owned(),
            lot: "blue".to_owned(),
            pack: 39,
            finished: Some(57),
        }],
    );
}

#[test]
fn r16_packing_waits_for_a_finishing_under_way() {
    check(
        16,
        |instance, _| instance.orders[0].release = 61,
        &[Broken::PackedBeforeRelease {
            order: "anna".to_owned(),
            pack: 60,
            release: 61,
        }],
    );
}

#[test]
fn r16_a_lot_that_is_not_planned_is_never_finished() {
    let change = |_: &mut Instance, timing: &mut Timing| {
        timing.lots.remove("lace");
    };
    check(
        16,
        change,
        &[Broken::PackedBeforeFinished {
            order: "bert".to_owned(),
            lot: "lace".to_owned(),
            pack: 61,
            finished: None,
        }],
    );
}

#[test]
fn r17_a_parcel_needs_a_collection() {
    check(
        17,
        |_, timing| pack(timing, "bert", 65),
        &[Broken::NeverCollected {
            order: "bert".to_owned(),
            packed: 66,
        }],
    );
}

/// Each place has exactly what the plan needs; with one less it is overfull from
/// the first slot at which the plan needs all of it.
#[test]
fn r18_no_place_is_overfull() {
    fn overfull(resource: Resource, at: i64, taken: i64, by: &str) -> [Broken; 1] {
        [Broken::OverCapacity {
            resource,
            at,
            taken,
            places: taken - 1,
            by: vec![by.to_owned()],
        }]
    }
    check(
        18,
        |instance, _| instance.capacity.dark_sheet -= 1,
        &overfull(Resource::Dark(Space::Sheet), 10, 2, "blue"),
    );
    check(
        18,
        |instance, _| instance.capacity.dark_line -= 1,
        &overfull(Resource::Dark(Space::Line), -6, 3, "lace"),
    );
    check(
        18,
        |instance, _| instance.capacity.open_sheet -= 1,
        &overfull(Resource::Open(Space::Sheet), 39, 2, "blue"),
    );
    check(
        18,
        |instance, _| instance.capacity.open_line -= 1,
        &overfull(Resource::Open(Space::Line), 42, 3, "lace"),
    );
    check(
        18,
        |instance, _| instance.capacity.tray -= 1,
        &overfull(Resource::Trays, 38, 1, "blue"),
    );
    check(
        18,
        |instance, _| *instance.frames.get_mut("A2").unwrap() = 0,
        &overfull(Resource::Frame("A2".to_owned()), 37, 1, "lace"),
    );
    check(
        18,
        |_, timing| pack(timing, "anna", 61),
        &[Broken::OverCapacity {
            resource: Resource::Hands,
            at: 61,
            taken: 2,
            places: 1,
            by: vec!["anna".to_owned(), "bert".to_owned()],
        }],
    );
}

/// Blue leaves its frame at 37, the slot at which lace is loaded.
#[test]
fn what_leaves_makes_room_at_once() {
    check_kept(|instance, _| instance.lots[LACE].frame = "A3".to_owned());
}

/// What goes on keeps a place like any step, and is itself nobody's fault.
#[test]
fn r18_what_goes_on_keeps_hands_trays_and_frames() {
    let taken = |what, from, until| Taken {
        what,
        amount: 9,
        from,
        until,
    };
    let frame = studio().lots[BLUE].frame.clone();
    for (what, resource, at) in [
        (Held::Hands, Resource::Hands, 9),
        (Held::Trays, Resource::Trays, 38),
        (Held::Frame(frame.clone()), Resource::Frame(frame), 34),
    ] {
        let (mut instance, timing) = (studio(), super::plan());
        instance.begun.taken = vec![taken(what.clone(), at, at + 1)];
        let broken = super::audit(&instance, &timing).broken;
        let full = |broken: &Broken| match broken {
            Broken::OverCapacity { resource, at, .. } => Some((resource.clone(), *at)),
            _ => None,
        };
        let found: Vec<_> = broken.iter().filter_map(full).collect();
        assert_eq!(found, [(resource, at)], "{broken:?}");
        instance.begun.taken = vec![taken(what, 2, 3)];
        assert_eq!(super::audit(&instance, &timing).broken, []);
    }
}
