//! Every plan that the search makes is accepted by the audit, at the same cost.

use fairday::plan::audit::audit;
use fairday::plan::search::{Effort, solve};

use crate::random_studio::{Shape, studio};

fn check(shape: Shape, seed: u64, iterations: u64) {
    let instance = studio(shape, seed);
    let effort = Effort {
        iterations: Some(iterations),
        seed,
        threads: 1,
    };
    let solved = solve(&instance, &effort, &|| 0.0, None);
    let found = audit(&instance, &solved.timing);
    assert_eq!(found.broken, [], "{shape:?} {seed}");
    assert_eq!(found.cost, solved.cost, "{shape:?} {seed}");
}

/// Small weeks and large ones, few days and many.
fn shapes(extended: bool) -> impl Iterator<Item = Shape> {
    let sizes = [(1, 3), (4, 5), (10, 7), (18, 7), (30, 10)];
    sizes.into_iter().map(move |(orders, days)| Shape {
        orders,
        days,
        extended,
    })
}

#[test]
fn every_plan_in_the_plain_format_keeps_every_rule() {
    for shape in shapes(false) {
        (0..8).for_each(|seed| check(shape, seed, 60));
    }
}

#[test]
fn every_plan_with_work_in_progress_keeps_every_rule() {
    for shape in shapes(true) {
        (0..16).for_each(|seed| check(shape, seed, 60));
    }
}
