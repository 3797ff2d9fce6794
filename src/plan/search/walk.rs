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

/// Temperature, as cost of a worsening that is still taken now and then: when the
/// orders' days are settled, and at the end.
const WARM: f64 = 2_000.0;
const COLD: f64 = 10.0;
/// Temperature at the start of a search that begins with a plan, which is not to be lost.
const MILD: f64 = 1_000.0;

/// How a walk goes its way.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pace {
    /// Temperature at the start.
    hot: f64,
    /// Share of the way on which the days are settled.
    settling: f64,
    /// Lots taken out at once, at most.
    taken_max: usize,
}

/// What the walks keep to: one roams widely in large steps, one less so in small steps.
pub(super) const PACES: [Pace; 2] = [
    Pace {
        hot: 8_000.0,
        settling: 0.8,
        taken_max: 9,
    },
    Pace {
        hot: 5_000.0,
        settling: 0.8,
        taken_max: 6,
    },
];
/// What a weighted order-day of lateness counts until then; its own weight at the end.
const SOFT: f64 = 7_000.0;
/// Steps between two looks at who is late.
const PRESSING: u64 = 50;
/// Share of steps that open a session at another moment.
const REOPENING: f64 = 0.05;
/// Share of steps that open a session when a rack can be filled again.
const REFILLING: f64 = 0.06;
/// Share of fitting places that are passed over. [1 in 2³²]
const BLINK: u32 = u32::MAX / 50;

/// A search that can be stopped and taken up again.
#[derive(Debug)]
pub(super) struct Walk<'g> {
    draft: Draft<'g>,
    rng: SmallRng,
    rush: Rush,
    pace: Pace,
    pub(super) best: Decision,
    step: u64,
    /// Share of the way that is behind.
    done: f64,
    /// Share of the way at which the days are settled, and the temperature then.
    settled: f64,
    warm: f64,
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
        (seed, pace): (u64, Pace),
        length: u64,
        start: Option<&'g Decision>,
    ) -> Self {
        let mut draft = Draft::new(ground);
        let mut rush = Rush::new(ground.horizon);
        let mut rng = SmallRng::seed_from_u64(seed);
        match start {
            Some(start) => {
                draft.home = Some(start);
                draft.restore(start);
            }
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
            pace,
            step: 0,
            done: 0.0,
            settled: pace.settling,
            warm: if start.is_some() { MILD } else { WARM },
            length,
            skipped: if start.is_some() { pace.settling } else { 0.0 },
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

    /// Takes over a better plan found elsewhere, and goes on from a more punctual one
    /// once the days are settled.
    pub(super) fn adopt(&mut self, other: &Decision) {
        if self.done > self.settled && other.late < self.draft.late {
            self.draft.restore(other);
        }
        if other.cost < self.best.cost {
            self.best = other.clone();
        }
    }

    /// Makes one step, with `done` of the way behind.
    fn step(&mut self, done: f64) {
        self.done = self.skipped + done * (1.0 - self.skipped);
        let unsettled = self.done < self.settled;
        if unsettled && self.best.late == self.draft.ground.least_late() {
            // Nothing can be more punctual; the rest of the way is for the hours.
            self.settled = self.done;
            self.draft.restore(&self.best);
        }
        if self.step.is_multiple_of(PRESSING) {
            match unsettled {
                true => self.draft.press(),
                false => self.draft.relax(),
            }
        }
        let heat = self.temper(self.done);
        if self.step.is_multiple_of(500) {
            self.rush.fade();
        }
        let luck = -self.rng.random::<f64>().max(f64::MIN_POSITIVE).ln();
        let most = self.draft.felt() + (heat * luck) as i64;
        let largest = (self.draft.lots.len() / 3).clamp(2, self.pace.taken_max);
        let count = self.rng.random_range(1..=largest);
        let way = if self.rng.random_bool(REOPENING) {
            Ruin::Reopen
        } else if self.rng.random_bool(REFILLING) {
            Ruin::Refill
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
        if done < self.settled {
            self.draft.pressure = low as i64;
            return self.pace.hot * (self.warm / self.pace.hot).powf(done / self.settled);
        }
        let past = (done - self.settled) / (1.0 - self.settled);
        self.draft.pressure = (low * (full / low).powf(past)) as i64;
        self.warm * (COLD / self.warm).powf(past)
    }
}
