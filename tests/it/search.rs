//! What the search promises: the same answer again, better answers for more steps,
//! and no panic on anything.

use fairday::plan::audit::audit;
use fairday::plan::model::Instance;
use fairday::plan::search::{Effort, Solved, solve};

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
