//! How long planning takes: 10 to 1,000 orders, a fixed number of steps of improvement.

use divan::Bencher;
use fairday::plan::search::{Effort, solve};

#[path = "../it/random_studio.rs"]
mod random_studio;

use random_studio::{Shape, studio};

fn main() {
    divan::main();
}

/// One plan from nothing, without improvement.
#[divan::bench(args = [10, 25, 50, 100, 300, 1000], sample_count = 10)]
fn first_plan(bencher: Bencher, orders: usize) {
    plan(bencher, orders, 2);
}

/// A plan with 1,000 steps of improvement on one thread.
#[divan::bench(args = [10, 25, 50, 100, 300, 1000], sample_count = 10)]
fn thousand_steps(bencher: Bencher, orders: usize) {
    plan(bencher, orders, 1000);
}

fn plan(bencher: Bencher, orders: usize, steps: u64) {
    let days = match orders {
        0..=25 => 7,
        26..=100 => 14,
        _ => 56,
    };
    let instance = studio(Shape::plain(orders, days), 1);
    let effort = Effort {
        iterations: Some(steps),
        seed: 1,
        threads: 1,
    };
    bencher.bench(|| solve(&instance, &effort, &|| 0.0, None).cost);
}
