//! What was kept, by season and in all, with intervals.

use std::collections::BTreeMap;

/// What became of one level of one promise.
#[derive(Debug, Clone)]
pub struct Case {
    /// Which way the forecasts were made.
    pub way: &'static str,
    /// Winter, spring, summer, autumn.
    pub season: usize,
    /// Year and month, whose cases hang together.
    pub month: (usize, u32),
    /// The level, as its place among them.
    pub level: usize,
    /// Whether a day was promised at all.
    pub promised: bool,
    /// Share kept, by the ways that luck went.
    pub kept: f64,
    /// Share kept by the rollouts that made the promise, with the same luck and more.
    pub rolled: f64,
    /// The same with the planner's luck alone.
    pub same_luck: f64,
    /// What was kept, with its luck evened out by the two before.
    pub even: f64,
    /// What the promise said.
    pub said: f64,
    /// Days from asking to the promised day.
    pub ahead: f64,
    /// How the planner came to it.
    pub story: Option<String>,
}

pub const SEASONS: [&str; 5] = ["winter", "spring", "summer", "autumn", "all"];

/// One line of the answer.
#[derive(Debug, Default, Clone)]
struct Sum {
    count: usize,
    unpromised: usize,
    kept: f64,
    rolled: f64,
    same_luck: f64,
    even: f64,
    said: f64,
    ahead: f64,
    kept_by_month: Months,
    even_by_month: Months,
}

/// Year and month with what was kept in it and of how many.
type Months = BTreeMap<(usize, u32), (f64, f64)>;

/// Returns the table of all cases, and whether every level holds in all seasons.
pub fn table(cases: &[Case]) -> String {
    let mut sums: BTreeMap<(&str, usize, usize), Sum> = BTreeMap::new();
    for case in cases {
        for season in [case.season, 4] {
            let sum = sums.entry((case.way, case.level, season)).or_default();
            sum.add(case);
        }
    }
    let mut text = format!(
        "{:<6} {:>5} {:<7} {:>6} {:>9} {:>7} {:>6} {:>7} {:>6} {:>7} {:>6} {:>7} {:>6} {:>6}\n",
        "way",
        "level",
        "season",
        "cases",
        "no date",
        "kept",
        "±",
        "rolled",
        "same",
        "even",
        "±",
        "said",
        "off",
        "days"
    );
    for ((way, level, season), sum) in &sums {
        let wanted = fairday::odds::LEVELS[*level] * 100.0;
        let count = sum.count.max(1) as f64;
        text.push_str(&format!(
            "{way:<6} {wanted:>5.0} {:<7} {:>6} {:>9} {:>7.1} {:>6.1} {:>7.1} {:>6.1} {:>7.1} {:>6.1} {:>7.1} {:>6.1} {:>6.1}\n",
            SEASONS[*season],
            sum.count,
            sum.unpromised,
            100.0 * sum.kept / count,
            100.0 * interval(&sum.kept_by_month),
            100.0 * sum.rolled / count,
            100.0 * sum.same_luck / count,
            100.0 * sum.even / count,
            100.0 * interval(&sum.even_by_month),
            100.0 * sum.said / count,
            100.0 * (sum.kept - sum.said) / count,
            sum.ahead / count
        ));
    }
    text
}

/// Returns the mean of something over the promises of a level, under forecasts whose
/// errors are as the promises assume them, and how far chance takes it off in 95 of 100
/// samples of questions.
pub fn mean(cases: &[Case], level: usize, of: impl Fn(&Case) -> f64) -> (f64, f64) {
    let those = |case: &&Case| case.way == "ranks" && case.level == level && case.promised;
    let those: Vec<f64> = cases.iter().filter(those).map(of).collect();
    let count = those.len().max(2) as f64;
    let mean = those.iter().sum::<f64>() / count;
    let squares: f64 = those.iter().map(|value| (value - mean).powi(2)).sum();
    (mean, 1.96 * squares.sqrt() / (count * (count - 1.0)).sqrt())
}

impl Sum {
    fn add(&mut self, case: &Case) {
        if !case.promised {
            self.unpromised += 1;
            return;
        }
        self.count += 1;
        self.kept += case.kept;
        self.rolled += case.rolled;
        self.same_luck += case.same_luck;
        self.even += case.even;
        self.said += case.said;
        self.ahead += case.ahead;
        for (months, share) in [
            (&mut self.kept_by_month, case.kept),
            (&mut self.even_by_month, case.even),
        ] {
            let month = months.entry(case.month).or_default();
            month.0 += share;
            month.1 += 1.0;
        }
    }
}

/// Half of the interval that holds in 95 of 100 samples, months being drawn whole.
fn interval(by_month: &Months) -> f64 {
    let months = by_month.len() as f64;
    if months < 2.0 {
        return f64::NAN;
    }
    let sum = |of: fn(&(f64, f64)) -> f64| by_month.values().map(of).sum::<f64>();
    let (kept, count) = (sum(|month| month.0), sum(|month| month.1));
    let off = |month: &(f64, f64)| (month.0 - kept / count * month.1).powi(2);
    let spread = by_month.values().map(off).sum::<f64>() * months / (months - 1.0);
    1.96 * spread.sqrt() / count
}
