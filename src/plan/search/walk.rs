//! One search: ruin, recreate, keep or undo, colder and colder.

use rand::rngs::SmallRng;
use rand::{Rng, SeedableRng};

use super::Used;
use super::draft::{Decision, Draft};
use super::ground::Ground;
use super::insert::Whim;
use super::leeway::Rush;
use super::recreate::recreate;
use super::ruin::{RUINS, Ruin, Ruined, ruin};

/// Temperature, as cost of a worsening that is still taken now and then: at the start,
/// when the orders' days are settled, and at the end.
const HOT: f64 = 15_000.0;
const WARM: f64 = 1_000.0;
const COLD: f64 = 10.0;
/// Share of the way on which the days are settled.
const SETTLING: f64 = 0.6;
/// What a weighted order-day of lateness counts until then; its own weight at the end.
const SOFT: f64 = 10_000.0;
/// Lots taken out at once, at most.
const TAKEN_MAX: usize = 9;
/// Share of steps that open a session at another moment.
const REOPENING: f64 = 0.05;
/// Share of fitting places that are passed over. [1 in 2³²]
const BLINK: u32 = u32::MAX / 50;

/// A search that can be stopped and taken up again.
#[derive(Debug)]
pub(super) struct Walk<'g> {
    draft: Draft<'g>,
    rng: SmallRng,
    rush: Rush,
    pub(super) best: Decision,
    step: u64,
    /// Steps that it may make.
    length: u64,
    /// Share of the way that is left out at the start.
    skipped: f64,
}

impl<'g> Walk<'g> {
    /// Begins at `start`, and less hot so as not to lose it, or with every lot put in
    /// once.
    pub(super) fn new(
        ground: &'g Ground<'g>,
        seed: u64,
        length: u64,
        start: Option<&Decision>,
    ) -> Self {
        let mut draft = Draft::new(ground);
        let mut rush = Rush::new(ground.horizon);
        let mut rng = SmallRng::seed_from_u64(seed);
        match start {
            Some(start) => draft.restore(start),
            None => {
                let all = Ruined {
                    taken: (0..ground.lots.len()).collect(),
                    ..Ruined::default()
                };
                let mut whim = Whim {
                    rng: &mut rng,
                    blink: 0,
                    pushes: 5,
                    rush: &mut rush,
                    quiet: false,
                };
                recreate(&mut draft, &all, i64::MAX, &mut whim);
            }
        }
        draft.keep();
        Self {
            best: draft.decision(),
            draft,
            rng,
            rush,
            step: 0,
            length,
            skipped: if start.is_some() { SETTLING } else { 0.0 },
        }
    }

    /// Goes `steps` steps, or fewer if the time is over; returns how many.
    pub(super) fn go(&mut self, steps: u64, used: &Used) -> u64 {
        for done in 0..steps {
            let share = used();
            if share >= 1.0 {
                return done;
            }
            self.step(share.max(self.step as f64 / self.length as f64));
        }
        steps
    }

    /// Takes over a better plan found elsewhere.
    pub(super) fn adopt(&mut self, other: &Decision) {
        if other.cost < self.best.cost {
            self.best = other.clone();
        }
    }

    /// Makes one step, with `done` of the way behind.
    fn step(&mut self, done: f64) {
        let heat = self.temper(self.skipped + done * (1.0 - self.skipped));
        if self.step.is_multiple_of(500) {
            self.rush.fade();
        }
        let luck = -self.rng.random::<f64>().max(f64::MIN_POSITIVE).ln();
        let most = self.draft.felt() + (heat * luck) as i64;
        let largest = (self.draft.lots.len() / 3).clamp(2, TAKEN_MAX);
        let count = self.rng.random_range(1..=largest);
        let way = if self.rng.random_bool(REOPENING) {
            Ruin::Reopen
        } else {
            RUINS[self.rng.random_range(0..RUINS.len())]
        };
        let ruined = ruin(&mut self.draft, way, count, &mut self.rng);
        let blink = if self.rng.random_bool(0.5) { BLINK } else { 0 };
        let quiet = self.rng.random_bool(0.7);
        let pushes = if self.rng.random_bool(0.5) { 5 } else { 0 };
        let mut whim = Whim {
            rng: &mut self.rng,
            blink,
            pushes,
            rush: &mut self.rush,
            quiet,
        };
        let whole = recreate(&mut self.draft, &ruined, most, &mut whim);
        if whole && self.draft.felt() <= most {
            self.draft.keep();
            if self.draft.cost() < self.best.cost {
                self.best = self.draft.decision();
            }
        } else {
            self.draft.undo();
        }
        self.step += 1;
    }

    /// Sets what lateness counts with `done` of the way behind; returns the temperature.
    ///
    /// First the days of the orders are settled, with lateness counting little enough
    /// for orders to change places; then the rest, with lateness counting in full.
    fn temper(&mut self, done: f64) -> f64 {
        let full = self.draft.ground.instance.weights.late as f64;
        let low = SOFT.min(full);
        if done < SETTLING {
            self.draft.pressure = low as i64;
            return HOT * (WARM / HOT).powf(done / SETTLING);
        }
        let past = (done - SETTLING) / (1.0 - SETTLING);
        self.draft.pressure = (low * (full / low).powf(past)) as i64;
        WARM * (COLD / WARM).powf(past)
    }
}
