//! The dose a material wants, learned from exposures that were judged.
//!
//! Notation: D the required dose, x = ln D; d_i the dose of a logged exposure, σ_i the
//! spread of its logarithm, δ half the width of what passes as good, in logarithms.
//!
//! Before any log entry x is normal around the prior. A verdict has the probability
//!
//! ```text
//! p(pale) = Φ((x − δ − ln d_i)/σ_i)      p(deep) = Φ((ln d_i − x − δ)/σ_i)
//! p(good) = 1 − p(pale) − p(deep)
//! ```
//!
//! mixed with a little chance of a wrong verdict, so that none can decide alone. The
//! posterior is summed on an even grid of x; one pass over grid and log.
//!
//! A material drifts: chemistry ages, paper comes from another batch. From one entry
//! to the next x takes a random walk, whose variance grows with the days between
//! them; so old entries fade, all of one day together, and an answer grows wider by
//! itself when nothing is printed. Without drift it is the plain posterior. The walk
//! leads nowhere in particular: its middle stays where the last entries left it.

use super::cloud::{CloudMethod, Sky};
pub use crate::order::Verdict;
use crate::units::Dose;

/// Points of the grid.
const GRID: usize = 801;
/// How far the grid reaches to both sides, in prior standard deviations.
const SPAN: f64 = 4.0;
/// Chance that a verdict is any of the three at random. [own choice]
const WRONG_VERDICT: f64 = 0.02;

/// A walk below this many steps of the grid is taken later, together with the next.
const WALK_LEAST: f64 = 0.7;

/// Half the band that passes as good: a quarter more or less. [own choice]
pub const GOOD_BAND: f64 = 1.25;

/// An exposure that was judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observation {
    /// What it got.
    pub dose: Dose,
    /// Standard deviation of the logarithm of that dose; above 0.
    pub sigma_ln: f64,
    /// How it came out.
    pub verdict: Verdict,
    /// Factor up and down within which it counts as good; above 1.
    pub good_band: f64,
}

impl Observation {
    /// Takes a single exposure.
    pub fn new(dose: Dose, sigma_ln: f64, verdict: Verdict) -> Observation {
        Observation {
            dose,
            sigma_ln,
            verdict,
            good_band: GOOD_BAND,
        }
    }

    /// Takes a test strip by its best step, with the `factor` from step to step and
    /// the factor up and down within which a single print passes as good.
    ///
    /// A strip is one observation however many steps it has: they shared one sky.
    pub fn of_strip(best: Dose, sigma_ln: f64, factor: f64, good_band: f64) -> Observation {
        Observation {
            good_band: factor.sqrt().max(good_band),
            ..Observation::new(best, sigma_ln, Verdict::Good)
        }
    }

    fn likelihood(&self, x: f64) -> f64 {
        let (ln_dose, band) = (self.dose.0.ln(), self.good_band.ln());
        let pale = || normal_cdf((x - band - ln_dose) / self.sigma_ln);
        let deep = || normal_cdf((ln_dose - x - band) / self.sigma_ln);
        let right = match self.verdict {
            Verdict::Pale => pale(),
            Verdict::Deep => deep(),
            Verdict::Good => (1.0 - pale() - deep()).max(0.0),
        };
        WRONG_VERDICT / 3.0 + (1.0 - WRONG_VERDICT) * right
    }
}

/// What is believed of a dose before any exposure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// Half of all such materials want less.
    pub median: Dose,
    /// Standard deviation of the logarithm; ln 2 says a factor of two either way.
    pub sigma_ln: f64,
}

/// What is believed of a dose after some exposures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learned {
    /// The dose to print with.
    pub median: Dose,
    /// With 5 % it is less.
    pub least: Dose,
    /// With 5 % it is more.
    pub most: Dose,
    /// Mean of the logarithm of kJ/m².
    pub mean_ln: f64,
    /// Standard deviation of the logarithm.
    pub sigma_ln: f64,
    /// Nothing yet holds the dose from both sides: the answer leans on the prior.
    pub leans_on_prior: bool,
}

/// Learns the required dose from judged exposures, in any order.
///
/// Valid for doses within some four prior standard deviations of its median; beyond,
/// the answer stays at the edge of the grid. Cost: below 10 ms for 200 exposures.
///
/// # Sources
/// Ordered probit on a grid. Values checked against
/// `tests/reference/light/dose_posterior.csv`.
///
/// # Example
/// ```
/// use fairday::light::learn::{Observation, Prior, Verdict, learn};
/// use fairday::units::Dose;
/// let prior = Prior { median: Dose(20.0), sigma_ln: 2f64.ln() };
/// let pale = Observation::new(Dose(12.0), 0.15, Verdict::Pale);
/// let good = Observation::new(Dose(24.0), 0.15, Verdict::Good);
/// assert!(learn(prior, &[pale]).leans_on_prior);
/// let learned = learn(prior, &[pale, good]);
/// assert!(!learned.leans_on_prior);
/// assert!((22.0..27.0).contains(&learned.median.0));
/// ```
pub fn learn(prior: Prior, log: &[Observation]) -> Learned {
    let today = |seen: &Observation| Entry {
        seen: *seen,
        age_days: 0.0,
    };
    let log: Vec<Entry> = log.iter().map(today).collect();
    learn_drifting(prior, &log, 0.0)
}

/// Something seen, and how long ago.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Entry {
    /// What was seen.
    pub seen: Observation,
    /// Before the day for which the dose is asked. [d]
    pub age_days: f64,
}

/// Learns the required dose of a material that drifts, from a log in any order.
///
/// `drift_ln` is the standard deviation of the logarithm of what a day adds. [√d⁻¹]
///
/// Valid as [`learn`]; what walks off the grid stays at its edge.
///
/// # Example
/// ```
/// use fairday::light::learn::{Entry, Observation, Prior, Verdict, learn_drifting};
/// use fairday::units::Dose;
/// let prior = Prior { median: Dose(20.0), sigma_ln: 2f64.ln() };
/// let good = Observation::new(Dose(24.0), 0.15, Verdict::Good);
/// let ago = |age_days| [Entry { seen: good, age_days }];
/// let fresh = learn_drifting(prior, &ago(0.0), 0.02);
/// let old = learn_drifting(prior, &ago(365.0), 0.02);
/// assert!(old.sigma_ln > fresh.sigma_ln);
/// assert!((old.median.0 / fresh.median.0 - 1.0).abs() < 0.01);
/// ```
pub fn learn_drifting(prior: Prior, log: &[Entry], drift_ln: f64) -> Learned {
    let mut log = log.to_vec();
    log.sort_by(|one, other| {
        let doses = one.seen.dose.0.total_cmp(&other.seen.dose.0);
        other.age_days.total_cmp(&one.age_days).then(doses)
    });
    let mut belief = Belief::of_prior(prior);
    for (index, entry) in log.iter().enumerate() {
        if let Some(before) = index.checked_sub(1).map(|index| log[index]) {
            belief.walk(drift_ln, before.age_days - entry.age_days);
        }
        belief.see(&entry.seen);
    }
    if let Some(last) = log.last() {
        belief.walk(drift_ln, last.age_days);
    }
    let seen: Vec<Observation> = log.iter().map(|entry| entry.seen).collect();
    belief.learned(leans_on_prior(&seen))
}

/// What is believed of x, as weights on a grid.
struct Belief {
    first: f64,
    step: f64,
    weights: Vec<f64>,
    /// Variance of walks too short for the grid, still to be taken.
    owed: f64,
}

impl Belief {
    fn of_prior(prior: Prior) -> Belief {
        let centre = prior.median.0.ln();
        let step = 2.0 * SPAN * prior.sigma_ln / (GRID - 1) as f64;
        let first = centre - SPAN * prior.sigma_ln;
        let weight = |index: usize| {
            let x = first + step * index as f64;
            (-0.5 * ((x - centre) / prior.sigma_ln).powi(2)).exp()
        };
        let mut belief = Belief {
            first,
            step,
            weights: (0..GRID).map(weight).collect(),
            owed: 0.0,
        };
        belief.normalise();
        belief
    }

    fn x_at(&self, index: usize) -> f64 {
        self.first + self.step * index as f64
    }

    fn normalise(&mut self) {
        let sum: f64 = self.weights.iter().sum();
        self.weights.iter_mut().for_each(|weight| *weight /= sum);
    }

    fn see(&mut self, seen: &Observation) {
        for index in 0..GRID {
            let x = self.x_at(index);
            self.weights[index] *= seen.likelihood(x);
        }
        self.normalise();
    }

    /// Spreads the weights as a walk of some days does.
    fn walk(&mut self, drift_ln: f64, days: f64) {
        self.owed += drift_ln * drift_ln * days.max(0.0);
        let sigma = self.owed.sqrt() / self.step;
        if sigma < WALK_LEAST {
            return;
        }
        self.owed = 0.0;
        let reach = ((5.0 * sigma).ceil() as usize).min(GRID);
        let kernel: Vec<f64> = (0..=reach)
            .map(|away| (-0.5 * (away as f64 / sigma).powi(2)).exp())
            .collect();
        let mut spread = vec![0.0; GRID];
        for (index, weight) in self.weights.iter().enumerate() {
            spread[index] += weight * kernel[0];
            for (away, share) in kernel.iter().enumerate().skip(1) {
                spread[index.saturating_sub(away)] += weight * share;
                spread[(index + away).min(GRID - 1)] += weight * share;
            }
        }
        self.weights = spread;
        self.normalise();
    }

    fn learned(&self, leans_on_prior: bool) -> Learned {
        let moment = |of: &dyn Fn(f64) -> f64| -> f64 {
            let terms = self.weights.iter().enumerate();
            terms
                .map(|(index, weight)| weight * of(self.x_at(index)))
                .sum()
        };
        let mean_ln = moment(&|x| x);
        let x_at = |index| self.x_at(index);
        let quantile = |share: f64| Dose(quantile_of(&self.weights, share, &x_at).exp());
        Learned {
            median: quantile(0.5),
            least: quantile(0.05),
            most: quantile(0.95),
            mean_ln,
            sigma_ln: moment(&|x| (x - mean_ln).powi(2)).sqrt(),
            leans_on_prior,
        }
    }
}

/// Returns how far the computed dose of a logged exposure may be off, as a standard
/// deviation of its logarithm: from the sky it was computed with. [own choice]
///
/// Less than for a forecast: the sky was seen.
pub fn logged_sigma_ln(sky: &Sky) -> f64 {
    match sky.method {
        CloudMethod::GlobalLight | CloudMethod::UvIndex => 0.15,
        CloudMethod::CloudLayers | CloudMethod::CloudCover | CloudMethod::Seen
            if sky.is_clear() =>
        {
            0.15
        }
        CloudMethod::CloudLayers | CloudMethod::CloudCover | CloudMethod::Seen => 0.35,
        CloudMethod::AssumedClear => 0.50,
    }
}

fn leans_on_prior(log: &[Observation]) -> bool {
    let any = |verdict| log.iter().any(|seen| seen.verdict == verdict);
    let held_from_both_sides = any(Verdict::Pale) && any(Verdict::Deep);
    !any(Verdict::Good) && !held_from_both_sides
}

/// Where the running sum of `weights` passes `share`. The sum at a point is what lies
/// before it and half of its own weight; linear between points, held at the ends.
fn quantile_of(weights: &[f64], share: f64, x_at: &dyn Fn(usize) -> f64) -> f64 {
    let mut before = 0.0;
    let mut last = (0.0, x_at(0));
    for (index, weight) in weights.iter().enumerate() {
        let here = (before + weight / 2.0, x_at(index));
        if here.0 >= share {
            if index == 0 || here.0 <= last.0 {
                return here.1;
            }
            let part = (share - last.0) / (here.0 - last.0);
            return last.1 + part * (here.1 - last.1);
        }
        before += weight;
        last = here;
    }
    last.1
}

/// The normal distribution function, to 1e-7.
///
/// # Sources
/// Abramowitz & Stegun, "Handbook of Mathematical Functions", 1964, formula 7.1.26.
fn normal_cdf(z: f64) -> f64 {
    let x = z.abs() / std::f64::consts::SQRT_2;
    let t = 1.0 / (1.0 + 0.327_591_1 * x);
    let series = t
        * (0.254_829_592
            + t * (-0.284_496_736
                + t * (1.421_413_741 + t * (-1.453_152_027 + t * 1.061_405_429))));
    let upper = 0.5 * series * (-x * x).exp();
    if z < 0.0 { upper } else { 1.0 - upper }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Four digits as printed in tables of the normal distribution.
    #[test]
    fn the_normal_distribution_is_as_in_tables() {
        let check = |z: f64, expected: f64| assert!((normal_cdf(z) - expected).abs() < 5e-5);
        check(0.0, 0.5);
        check(1.0, 0.8413);
        check(-1.0, 0.1587);
        check(1.644_854, 0.95);
        check(3.0, 0.9987);
        check(-8.0, 0.0);
    }
}
