//! The bound holds: no plan, ours or an exact solver's, is below it, and where the
//! answer is plain it is met.

use std::collections::BTreeMap;

use fairday::plan::bound::{Bound, bound, usual_rounds};
use fairday::plan::model::{Cost, Instance};
use fairday::plan::search::{Effort, solve};

use crate::random_studio::{Shape, studio};

/// Order count, seed and proven least cost of studios of seven days; see
/// `tests/reference/README.md`.
const OPTIMA: &str = include_str!("../reference/cpsat/optima.csv");

fn search(instance: &Instance, iterations: u64) -> Cost {
    let effort = Effort {
        iterations: Some(iterations),
        seed: 3,
        threads: 2,
    };
    solve(instance, &effort, &|| 0.0, None).cost
}

fn assert_below(instance: &Instance, known: &Cost) -> Bound {
    let bound = bound(instance, known, usual_rounds(instance).min(60));
    let cost = known.total(&instance.weights);
    let name = &instance.name;
    assert!(bound.late <= known.late, "{name}: {bound:?} {known:?}");
    assert!(bound.cost <= cost, "{name}: {bound:?} {cost}");
    bound
}

#[test]
fn no_plan_is_better_than_the_bound() {
    for seed in 0..30 {
        let shape = Shape {
            extended: seed % 2 == 1,
            ..Shape::plain(4 + seed as usize % 16, 7)
        };
        let instance = studio(shape, seed);
        assert_below(&instance, &search(&instance, 600));
    }
}

#[test]
fn proven_optima_lie_between_bound_and_plan() {
    let mut met = 0;
    let mut rows = 0;
    for line in OPTIMA.lines().skip(1) {
        let cells: Vec<i64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
        let (orders, seed, optimum) = (cells[0] as usize, cells[1] as u64, cells[2]);
        let instance = studio(Shape::plain(orders, 7), seed);
        let known = search(&instance, 2_000);
        let bound = assert_below(&instance, &known);
        assert!(bound.cost <= optimum, "{}: {bound:?}", instance.name);
        assert!(known.total(&instance.weights) >= optimum);
        met += usize::from(bound.cost == optimum);
        rows += 1;
    }
    assert!(rows >= 12 && met > 0, "{met} of {rows} met");
}

#[test]
fn more_rounds_never_lower_the_bound() {
    let instance = studio(Shape::plain(18, 7), 5);
    let known = search(&instance, 600);
    let bounds: Vec<i64> = [1, 5, 20, 60]
        .map(|rounds| bound(&instance, &known, rounds).cost)
        .to_vec();
    assert!(bounds.is_sorted(), "{bounds:?}");
    assert!(bounds[0] < bounds[3], "prices do nothing: {bounds:?}");
}

#[test]
fn shared_hands_are_counted() {
    let mut instance = studio(Shape::plain(12, 7), 2);
    let known = search(&instance, 600);
    let before = bound(&instance, &known, 40);
    // A sixth of the hours: the bound sees it without any plan.
    instance.work = instance
        .work
        .iter()
        .map(|&(from, until)| (from, from + (until - from) / 6))
        .collect();
    let tight = search(&instance, 600);
    let after = assert_below(&instance, &tight);
    assert!(after.late > before.late, "{before:?} {after:?}");
}

#[test]
fn prices_of_an_instance_are_the_same_every_time() {
    let instance = studio(Shape::plain(10, 7), 9);
    let known = search(&instance, 300);
    let first = bound(&instance, &known, 30);
    let all: BTreeMap<i64, i64> = (0..3)
        .map(|_| bound(&instance, &known, 30))
        .map(|bound| (bound.cost, bound.late))
        .collect();
    assert_eq!(all, BTreeMap::from([(first.cost, first.late)]));
}
