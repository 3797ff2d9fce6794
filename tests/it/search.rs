//! What the search promises: the same answer again, better answers for more steps,
//! and no panic on anything.

use fairday::plan::audit::audit;
use fairday::plan::model::Instance;
use fairday::plan::search::{Effort, Solved, solve};
use serde_json::json;

use crate::random_studio::{Shape, studio};

fn search(instance: &Instance, iterations: u64, threads: usize) -> Solved {
    let effort = Effort {
        iterations: Some(iterations),
        seed: 7,
        threads,
    };
    solve(instance, &effort, &|| 0.0, None)
}

fn extended(orders: usize) -> Shape {
    Shape {
        extended: true,
        ..Shape::plain(orders, 7)
    }
}

#[test]
fn one_thread_and_two_find_the_same_plan() {
    for seed in 0..4 {
        let instance = studio(extended(20), seed);
        let alone = search(&instance, 1_501, 1);
        assert_eq!(alone, search(&instance, 1_501, 2));
        assert_eq!(alone, search(&instance, 1_501, 1));
    }
}

#[test]
fn a_plan_given_to_begin_with_is_never_made_worse() {
    for seed in 0..10 {
        let instance = studio(extended(15), seed);
        let first = search(&instance, 400, 1);
        let effort = Effort {
            iterations: Some(0),
            seed: 1,
            threads: 1,
        };
        let again = solve(&instance, &effort, &|| 0.0, Some(&first.timing));
        assert_eq!(again.timing, first.timing);
        assert_eq!(again.cost, first.cost);
    }
}

/// Here a finishing was pushed on, the packing behind it found no place, and another step
/// gave way instead; the finishing once stayed behind its packing.
#[test]
fn a_push_that_comes_to_nothing_leaves_nothing_moved() {
    let instance = studio(Shape::plain(40, 7), 233);
    let effort = Effort {
        iterations: Some(60),
        seed: 1,
        threads: 2,
    };
    let solved = solve(&instance, &effort, &|| 0.0, None);
    assert_eq!(audit(&instance, &solved.timing).broken, []);
}

/// By hand: the sun shines on the second day alone and the carrier comes on the third, so
/// all is coated on the first. The line has eight places. What dries for 92 slots is
/// coated from 8:15 on, hangs until 16:35, and only then is there room for what dries
/// for 168; a mix lives an hour, so the second session begins in the afternoon.
#[test]
fn a_rack_is_filled_twice_on_one_day() {
    let lot = |(id, space, amount, dark): (&str, &str, i64, i64)| {
        json!({
            "id": id, "cls": 0, "frame": "M", "space": space, "amount": amount,
            "coat": 4, "dark": dark, "box": 2016, "attended": false, "wash": 3, "tray": 1,
            "open": 24, "cure": 24, "finish": 4, "release": 0, "coated_end": null,
        })
    };
    let lots = [
        ("short-1", "line", 5, 92),
        ("short-2", "line", 3, 92),
        ("long-1", "line", 5, 168),
        ("long-2", "line", 3, 168),
        ("sheet-1", "sheet", 2, 36),
        ("sheet-2", "sheet", 2, 36),
    ];
    let orders = lots.map(|(id, ..)| {
        json!({"id": format!("for {id}"), "lots": [id], "pack": 3, "weight": 1, "promise": 756})
    });
    let instance = json!({
        "format": "studio-plan-instance/1", "name": "twice", "slot_min": 5, "per_day": 288,
        "horizon": 864, "work": [[96, 204], [384, 492], [672, 780]], "operators": 1,
        "collections": [756], "unserved_day": 6,
        "capacity": {"dark_sheet": 20, "dark_line": 8, "open_sheet": 40, "open_line": 40, "tray": 10},
        "frames": {"M": 9}, "session": {"setup": 3, "mix_life": 12, "max_per_day": 2},
        "load": 1, "unload": 1, "wash_gap": 12,
        "weights": {"late": 100_000, "risk": 10, "session": 300, "ship": 1},
        "classes": [{"name": "noon", "options": [[408, 470, 6, 20]]}],
        "lots": lots.map(lot), "orders": orders,
    });
    let instance: Instance = serde_json::from_value(instance).unwrap();
    let solved = search(&instance, 1_000, 1);
    assert_eq!(solved.cost.late, 0, "{:?}", solved.timing);
    assert_eq!(audit(&instance, &solved.timing).broken, []);
    let starts: Vec<i64> = solved.timing.sessions.iter().map(|s| s.start).collect();
    assert_eq!(starts.len(), 2);
    assert!(
        starts[0] <= 99 && (184..=193).contains(&starts[1]),
        "{starts:?}"
    );
}

/// One lot, one day on which it can be coated: a session held open for trial on that day
/// does not crowd it out, although leaving it out would be cheaper.
#[test]
fn what_has_a_place_is_not_left_out() {
    let instance = json!({
        "format": "studio-plan-instance/1", "name": "one", "slot_min": 5, "per_day": 288,
        "horizon": 864, "work": [[96, 204], [384, 492], [672, 780]], "operators": 1,
        "collections": [768], "unserved_day": 4,
        "capacity": {"dark_sheet": 9, "dark_line": 9, "open_sheet": 9, "open_line": 9, "tray": 1},
        "frames": {"M": 1}, "session": {"setup": 3, "mix_life": 48, "max_per_day": 1},
        "load": 1, "unload": 1, "wash_gap": 12,
        "weights": {"late": 100_000, "risk": 10, "session": 300, "ship": 1},
        "classes": [{"name": "noon", "options": [[408, 470, 6, 300]]}],
        "lots": [{
            "id": "L", "cls": 0, "frame": "M", "space": "sheet", "amount": 1, "coat": 1,
            "dark": 144, "box": 864, "attended": false, "wash": 3, "tray": 1, "open": 144,
            "cure": 144, "finish": 2, "release": 0, "coated_end": null,
        }],
        "orders": [{"id": "O", "lots": ["L"], "pack": 2, "weight": 1, "promise": 1300}],
    });
    let instance: Instance = serde_json::from_value(instance).unwrap();
    for seed in 1..=8 {
        let effort = Effort {
            iterations: Some(600),
            seed,
            threads: 1,
        };
        let solved = solve(&instance, &effort, &|| 0.0, None);
        assert_eq!(solved.timing.orders.len(), 1, "{seed}");
    }
}

#[test]
fn a_search_that_may_not_go_on_still_plans() {
    let instance = studio(extended(15), 3);
    let effort = Effort {
        iterations: None,
        seed: 1,
        threads: 2,
    };
    let solved = solve(&instance, &effort, &|| 1.0, None);
    assert!(!solved.timing.orders.is_empty());
}

/// Changes that a real studio hardly makes, but a file may.
fn odd(mut instance: Instance, way: usize) -> Instance {
    match way {
        0 => instance.frames.clear(),
        1 => instance.work.clear(),
        2 => instance
            .classes
            .iter_mut()
            .for_each(|class| class.options.clear()),
        3 => instance.classes.clear(),
        4 => instance.lots.clear(),
        5 => instance.orders.clear(),
        6 => instance.horizon = 0,
        7 => instance.horizon = 100,
        8 => instance
            .lots
            .iter_mut()
            .for_each(|lot| lot.amount = 1_000_000_000),
        9 => instance
            .orders
            .iter_mut()
            .for_each(|order| order.lots.push("nobody".into())),
        10 => instance
            .orders
            .iter_mut()
            .for_each(|order| order.lots.clear()),
        11 => instance.operators = 0,
        12 => instance.per_day = 0,
        13 => instance.collections.clear(),
        14 => instance.session.max_per_day = 0,
        15 => instance.lots.iter_mut().for_each(|lot| lot.coat = 0),
        16 => instance.capacity.open_sheet = -3,
        17 => instance
            .lots
            .iter_mut()
            .for_each(|lot| lot.exposed_end = Some(i64::MIN)),
        18 => instance
            .lots
            .iter_mut()
            .for_each(|lot| lot.washed_end = Some(i64::MAX)),
        19 => instance
            .lots
            .iter_mut()
            .for_each(|lot| lot.coated_end = Some(-5)),
        20 => instance.lots.iter_mut().for_each(|lot| lot.keep = 0),
        21 => instance.load = 0,
        22 => instance.horizon = i64::MAX,
        23 => instance.lots.iter_mut().for_each(|lot| lot.dark = i64::MAX),
        24 => instance.session.setup = 0,
        25 => instance
            .orders
            .iter_mut()
            .for_each(|order| order.pack = i64::MAX),
        26 => instance
            .lots
            .iter_mut()
            .for_each(|lot| lot.id = "twin".into()),
        _ => instance.lots.truncate(3),
    }
    instance
}

#[test]
fn odd_studios_are_planned_as_far_as_they_can_be() {
    for way in 0..28 {
        let instance = odd(studio(extended(8), way as u64), way);
        let solved = search(&instance, 60, 1);
        assert!(
            solved.timing.orders.len() <= instance.orders.len(),
            "way {way}"
        );
    }
}
