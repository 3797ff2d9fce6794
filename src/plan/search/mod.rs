//! The search for a good plan.
//!
//! Two independent searches ruin and recreate their own draft; at fixed counts of
//! steps they tell each other the best plan found. Both cool down over the whole of
//! the effort, so that a short search settles as well as a long one. With a limit on
//! steps the answer depends on instance, seed and limit alone, whatever the number
//! of threads.
//!
//! Rules hold by construction: nothing is put into a draft where it does not fit.
//! The audit that says so independently is elsewhere and shares nothing with this.

mod aim;
mod coating;
mod draft;
mod ground;
mod hands;
mod home;
mod hope;
mod insert;
mod leeway;
mod places;
mod recreate;
mod refill;
mod room;
mod ruin;
mod squeeze;
mod tally;
mod walk;
mod zeal;

use crate::plan::model::{Cost, Instance, Timing};
use ground::Ground;
use walk::{PACES, Walk};

/// A moment or a length in slots, small enough to keep many of.
type At = i32;

/// Searches that run side by side.
const WALKS: u64 = PACES.len() as u64;
/// Steps of each search between two exchanges.
const EXCHANGE: u64 = 500;

/// Tells which share of the time is over.
pub type Used<'a> = dyn Fn() -> f64 + Sync + 'a;

/// How hard to search.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effort {
    /// Steps of ruin and recreate in all; `None` leaves the end to the time.
    pub iterations: Option<u64>,
    /// Another seed, another way through the search.
    pub seed: u64,
    /// Threads to use; more than two bring nothing.
    pub threads: usize,
}

/// What the search found.
#[derive(Debug, Clone, PartialEq)]
pub struct Solved {
    /// When everything starts.
    pub timing: Timing,
    /// The parts of its cost.
    pub cost: Cost,
    /// Steps of ruin and recreate that were made.
    pub iterations: u64,
}

/// Searches for a cheap plan until the steps of `effort` are made or the time is over.
///
/// `used` tells which share of the time is over; the search ends at 1, and paces
/// itself by whichever is nearer its end, steps or time. Never fails: an order that
/// does not fit is left out and charged as such. At least one plan is built whatever
/// `used` says. `start` is a plan to begin with.
pub fn solve(instance: &Instance, effort: &Effort, used: &Used, start: Option<&Timing>) -> Solved {
    let ground = Ground::new(instance);
    let start = start.map(|timing| tally::decision(&ground, timing));
    let mut left = effort.iterations.unwrap_or(u64::MAX);
    let length = left.div_ceil(WALKS);
    let mut walks: Vec<Walk> = (0..WALKS)
        .zip(PACES)
        .map(|(index, pace)| {
            let seed = effort.seed.wrapping_mul(WALKS) + index;
            Walk::new(&ground, (seed, pace), length, start.as_ref())
        })
        .collect();
    let mut done = 0;
    while left > 0 && used() < 1.0 {
        let share = EXCHANGE.min(left.div_ceil(WALKS));
        done += go(&mut walks, share, effort.threads, used);
        left = left.saturating_sub(share * WALKS);
        let best = walks.iter().min_by_key(|walk| walk.best.cost);
        let best = best.expect("there are walks").best.clone();
        walks.iter_mut().for_each(|walk| walk.adopt(&best));
    }
    let best = walks.iter().min_by_key(|walk| walk.best.cost);
    let best = &best.expect("there are walks").best;
    let timing = tally::timing(&ground, best);
    let cost = tally::cost(&ground, best);
    Solved {
        timing,
        cost,
        iterations: done,
    }
}

/// Goes `share` steps with every walk.
fn go(walks: &mut [Walk], share: u64, threads: usize, used: &Used) -> u64 {
    if threads < 2 {
        return walks.iter_mut().map(|walk| walk.go(share, used)).sum();
    }
    std::thread::scope(|scope| {
        let running: Vec<_> = walks
            .iter_mut()
            .map(|walk| scope.spawn(move || walk.go(share, used)))
            .collect();
        running
            .into_iter()
            .map(|walk| walk.join().expect("a walk does not panic"))
            .sum()
    })
}
