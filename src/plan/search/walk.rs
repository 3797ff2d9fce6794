//! One search: ruin, recreate, keep or undo, colder and colder, and again.

use rand::rngs::SmallRng;
use rand::{Rng, SeedableRng};

use super::draft::{Decision, Draft};
use super::ground::Ground;
use super::insert::Whim;
use super::leeway::Rush;
use super::recreate::recreate;
use super::ruin::{RUINS, ruin};

/// Temperature at the start and the end of a round, as cost of a worsening that is
/// still taken now and then.
const HOT: f64 = 10_000.0;
const SOFT: f64 = 10_000.0;
const COLD: f64 = 10.0;
/// Steps of the first round; later rounds are longer.
const FIRST_ROUND: u64 = 50_000;
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
    round: u64,
}

impl<'g> Walk<'g> {
    /// Begins at `start`, or with every lot put in once.
    pub(super) fn new(ground: &'g Ground<'g>, seed: u64, start: Option<&Decision>) -> Self {
        let mut draft = Draft::new(ground);
        let mut rush = Rush::new(ground.horizon);
        let mut rng = SmallRng::seed_from_u64(seed);
        match start {
            Some(start) => draft.restore(start),
            None => recreate(
                &mut draft,
                &(0..ground.lots.len()).collect::<Vec<_>>(),
                &[],
                &mut Whim {
                    rng: &mut rng,
                    blink: 0,
                    pushes: 5,
                    rush: &mut rush,
                    quiet: false,
                },
            ),
        }
        draft.keep();
        Self {
            best: draft.decision(),
            draft,
            rng,
            rush,
            step: 0,
            round: FIRST_ROUND,
        }
    }

    /// Goes `steps` steps, or fewer if `go_on` says so; returns how many.
    pub(super) fn go(&mut self, steps: u64, go_on: &(dyn Fn() -> bool + Sync)) -> u64 {
        for done in 0..steps {
            if !go_on() {
                return done;
            }
            self.step();
        }
        steps
    }

    /// Takes over a better plan found elsewhere.
    pub(super) fn adopt(&mut self, other: &Decision) {
        if other.cost < self.best.cost {
            self.best = other.clone();
        }
    }

    fn step(&mut self) {
        if self.step == self.round {
            self.step = 0;
            self.round = (self.round * 4 / 2).min(50_000);
            let best = self.best.clone();
            self.draft.restore(&best);
        }
        let done = self.step as f64 / self.round as f64;
        let full = self.draft.ground.instance.weights.late as f64;
        let low = SOFT.min(full);
        self.draft.pressure = (low * (full / low).powf(done)) as i64;
        let before = self.draft.felt();
        let way = RUINS[self.rng.random_range(0..RUINS.len())];
        let most = (self.draft.lots.len() / 3).clamp(2, 14);
        let count = self.rng.random_range(1..=most);
        let (mut taken, first) = ruin(&mut self.draft, way, count, &mut self.rng);
        taken.extend(&first);
        let blink = if self.rng.random_bool(0.5) { BLINK } else { 0 };
        if self.step.is_multiple_of(500) {
            self.rush.fade();
        }
        let quiet = self.rng.random_bool(0.7);
        let pushes = if self.rng.random_bool(0.5) { 5 } else { 0 };
        recreate(
            &mut self.draft,
            &taken,
            &first,
            &mut Whim {
                rng: &mut self.rng,
                blink,
                pushes,
                rush: &mut self.rush,
                quiet,
            },
        );
        let after = self.draft.felt();
        if self.accepts(after - before) {
            self.draft.keep();
            if self.draft.cost() < self.best.cost {
                self.best = self.draft.decision();
            }
        } else {
            self.draft.undo();
        }
        self.step += 1;
    }

    fn accepts(&mut self, worse_by: i64) -> bool {
        if worse_by <= 0 {
            return true;
        }
        let done = self.step as f64 / self.round as f64;
        let heat = HOT * (COLD / HOT).powf(done);
        self.rng.random::<f64>() < (-(worse_by as f64) / heat).exp()
    }
}
