//! Asking a curve: minutes to a dose from any moment, windows, dose between two
//! moments.
//!
//! Dose is read off the running sum of the curve, linear inside a step: one
//! bisection a question. An exposure is whole or not at all: it never runs on
//! through a step that is barred.

use serde::Serialize;
use std::ops::Range;

use chrono::{DateTime, TimeDelta, Utc};

use super::cloud::CloudMethod;
use super::curve::{LightCurve, Mark, instant};
use super::rules::Barrier;
use crate::units::{Dose, DoseRate};

/// Above this spread the sky is known from cover only: call it rough. [own choice]
const SIGMA_GOOD: f64 = 0.25;

/// Standard deviations from the middle to 5 % and to 95 %.
const TO_FIVE_PERCENT: f64 = 1.644_854;

/// How far the minutes may be trusted, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Quality {
    /// Light of the forecast itself, sun high enough.
    Good,
    /// From cloud cover.
    Rough,
    /// The sun is low for some of the time.
    WeakLight,
    /// Nothing known of the sky for some of the time: the least time there can be.
    ClearSkyOnly,
}

/// An exposure from a moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exposure {
    /// How long it takes. [min]
    pub minutes: f64,
    /// Standard deviation of the logarithm of its light, weighted by dose.
    pub sigma_ln: f64,
    /// How far to trust it.
    pub quality: Quality,
}

/// Between which minutes an exposure ends in nine of ten cases.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MinutesRange {
    /// 5 %. [min]
    pub least: f64,
    /// 95 %; none if that dose is not reached any more. [min]
    pub most: Option<f64>,
}

/// A stretch of starts whose exposures are all short enough.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LightWindow {
    /// First start.
    pub first_start: DateTime<Utc>,
    /// Last start.
    pub last_start: DateTime<Utc>,
    /// Start of the shortest exposure.
    pub best_start: DateTime<Utc>,
    /// The shortest exposure.
    pub best: Exposure,
}

/// What was gathered between two moments.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gathered {
    /// The dose.
    pub dose: Dose,
    /// Standard deviation of its logarithm.
    pub sigma_ln: f64,
    /// How far to trust it.
    pub quality: Quality,
}

/// A moment on the curve.
struct Position {
    step: usize,
    /// Inside the step, 0 to 1.
    share: f64,
}

impl LightCurve {
    /// Returns how long an exposure takes that starts at `start`, at any second.
    ///
    /// # Errors
    /// What stands in the way: at the start, or later, before the dose is reached.
    ///
    /// # Example
    /// ```
    /// use chrono::{DateTime, Utc};
    /// use fairday::light::{Barrier, ClearLight, CurveRules, LightCurve, Quality, Site, Step};
    /// use fairday::studio::{Place, Stand};
    /// use fairday::units::Dose;
    ///
    /// let zone = chrono_tz::Europe::Prague;
    /// let place = Place { latitude_deg: 51.0, longitude_deg: 15.0, altitude_m: 100.0, zone };
    /// let stand = Stand { tilt_deg: 0.0, azimuth_deg: 180.0, albedo: 0.05, aerosol: 0.15 };
    /// let at = |text: &str| text.parse::<DateTime<Utc>>().unwrap();
    /// let day = at("2027-06-21T00:00:00Z")..at("2027-06-22T00:00:00Z");
    /// let clear = ClearLight::over(Site::new(&place, &stand), day, Step::FIVE_MINUTES);
    /// let curve = LightCurve::new(&clear, None, &CurveRules::default());
    ///
    /// let noon = curve.exposure(at("2027-06-21T10:57:40Z"), Dose(28.914)).unwrap();
    /// assert!((noon.minutes - 8.0).abs() < 0.05);
    /// assert_eq!(noon.quality, Quality::ClearSkyOnly);
    /// let evening = curve.exposure(at("2027-06-21T18:10:00Z"), Dose(28.914));
    /// assert_eq!(evening, Err(Barrier::LowSun));
    /// ```
    pub fn exposure(&self, start: DateTime<Utc>, dose: Dose) -> Result<Exposure, Barrier> {
        let from = self.find_position(start).ok_or(Barrier::OutOfSpan)?;
        let state = self.steps[from.step];
        if let Some(barrier) = state.barrier {
            return Err(barrier);
        }
        let begin = self.mark_at(&from);
        let target = begin.dose + dose.joules();
        let until = state.open_until;
        if self.marks[until].dose < target {
            return Err(self.barrier_at(until));
        }
        let to = self.position_of_dose(from.step..until, target);
        let steps = (to.step - from.step) as f64 + to.share - from.share;
        let gathered = self.gathered(&begin, &from, &to);
        Ok(Exposure {
            minutes: steps * self.step.minutes(),
            sigma_ln: gathered.sigma_ln,
            quality: gathered.quality,
        })
    }

    /// Returns the exposure from each of `starts`, in their order.
    pub fn exposures(
        &self,
        starts: impl IntoIterator<Item = DateTime<Utc>>,
        dose: Dose,
    ) -> Vec<Result<Exposure, Barrier>> {
        starts
            .into_iter()
            .map(|start| self.exposure(start, dose))
            .collect()
    }

    /// Returns between which minutes the exposure ends in nine of ten cases.
    ///
    /// `dose_sigma_ln` is the spread of the dose itself, as the material's log of
    /// exposures gives it; it adds to that of the light.
    ///
    /// # Errors
    /// As [`LightCurve::exposure`].
    pub fn minutes_range(
        &self,
        start: DateTime<Utc>,
        dose: Dose,
        dose_sigma_ln: f64,
    ) -> Result<MinutesRange, Barrier> {
        let middle = self.exposure(start, dose)?;
        let reach = (TO_FIVE_PERCENT * middle.sigma_ln.hypot(dose_sigma_ln)).exp();
        let least = self.exposure(start, dose.scaled(1.0 / reach))?;
        let most = self.exposure(start, dose.scaled(reach)).ok();
        Ok(MinutesRange {
            least: least.minutes,
            most: most.map(|most| most.minutes),
        })
    }

    /// Finds the longest stretches of starts from which the dose takes at most
    /// `minutes_max`, among the steps that begin inside `span`.
    ///
    /// Several in a day are normal under broken cloud.
    pub fn windows(
        &self,
        dose: Dose,
        minutes_max: f64,
        span: Range<DateTime<Utc>>,
    ) -> Vec<LightWindow> {
        let mut windows: Vec<LightWindow> = Vec::new();
        let mut running = false;
        for start in self.starts_in(span) {
            let exposure = self.exposure(start, dose).ok();
            let Some(exposure) = exposure.filter(|exposure| exposure.minutes <= minutes_max) else {
                running = false;
                continue;
            };
            match windows.last_mut().filter(|_| running) {
                Some(window) => window.stretch_to(start, exposure),
                None => windows.push(LightWindow::at(start, exposure)),
            }
            running = true;
        }
        windows
    }

    /// Finds the start inside `span` with the shortest exposure; the first if equal.
    pub fn find_shortest(
        &self,
        dose: Dose,
        span: Range<DateTime<Utc>>,
    ) -> Option<(DateTime<Utc>, Exposure)> {
        let exposures = self
            .starts_in(span)
            .filter_map(|start| Some((start, self.exposure(start, dose).ok()?)));
        exposures.min_by(|(_, one), (_, other)| one.minutes.total_cmp(&other.minutes))
    }

    /// Returns the dose between two moments, whether or not exposing was wise then;
    /// none outside the curve, or where the sky is not known.
    pub fn gathered_between(&self, from: DateTime<Utc>, until: DateTime<Utc>) -> Option<Gathered> {
        let (from, to) = (self.find_position(from)?, self.find_end(until)?);
        let begin = self.mark_at(&from);
        let known = self.marks[last_mark(&from, &to)].unknown == begin.unknown;
        known.then(|| self.gathered(&begin, &from, &to))
    }

    /// Returns the mean dose rate of the step that `at` lies in; none outside the
    /// curve, or where the sky is not known.
    pub fn rate_at(&self, at: DateTime<Utc>) -> Option<DoseRate> {
        let position = self.find_position(at)?;
        self.steps[position.step].method?;
        let (begin, end) = (self.marks[position.step], self.marks[position.step + 1]);
        Some(DoseRate(
            (end.dose - begin.dose) / self.step.minutes() / 60.0,
        ))
    }

    /// Returns where the sky at `at` is known from; none if it is not.
    pub fn method_at(&self, at: DateTime<Utc>) -> Option<CloudMethod> {
        self.steps[self.find_position(at)?.step].method
    }

    /// Returns what forbids starting at `at`; none if nothing does.
    pub fn find_barrier(&self, at: DateTime<Utc>) -> Option<Barrier> {
        match self.find_position(at) {
            Some(position) => self.steps[position.step].barrier,
            None => Some(Barrier::OutOfSpan),
        }
    }

    /// Returns the begins of the steps inside `span`, ascending.
    pub fn starts_in(&self, span: Range<DateTime<Utc>>) -> impl Iterator<Item = DateTime<Utc>> {
        let (first, step) = (self.first, self.step);
        let index = |at: DateTime<Utc>| {
            let steps = self.minutes_from_first(at) / step.minutes();
            steps.ceil().clamp(0.0, self.steps.len() as f64) as i64
        };
        (index(span.start)..index(span.end)).map(move |index| instant(first, step, index))
    }

    fn find_position(&self, at: DateTime<Utc>) -> Option<Position> {
        let steps = self.minutes_from_first(at) / self.step.minutes();
        let inside = steps >= 0.0 && steps < self.steps.len() as f64;
        inside.then(|| Position {
            step: steps as usize,
            share: steps.fract(),
        })
    }

    /// As [`Self::find_position`], and the very end of the curve belongs to it.
    fn find_end(&self, at: DateTime<Utc>) -> Option<Position> {
        let steps = self.minutes_from_first(at) / self.step.minutes();
        if !self.steps.is_empty() && steps == self.steps.len() as f64 {
            let step = self.steps.len() - 1;
            return Some(Position { step, share: 1.0 });
        }
        self.find_position(at)
    }

    fn minutes_from_first(&self, at: DateTime<Utc>) -> f64 {
        (at - self.first).num_milliseconds() as f64 / 60_000.0
    }

    /// Where the running dose reaches `target`, which it does inside `steps`.
    fn position_of_dose(&self, steps: Range<usize>, target: f64) -> Position {
        let marks = &self.marks[steps.start + 1..=steps.end];
        let step = steps.start + marks.partition_point(|mark| mark.dose < target);
        let (begin, end) = (self.marks[step].dose, self.marks[step + 1].dose);
        let share = if end > begin {
            (target - begin) / (end - begin)
        } else {
            0.0
        };
        Position { step, share }
    }

    fn mark_at(&self, position: &Position) -> Mark {
        let (begin, end) = (self.marks[position.step], self.marks[position.step + 1]);
        let between = |begin: f64, end: f64| begin + position.share * (end - begin);
        Mark {
            dose: between(begin.dose, end.dose),
            spread: between(begin.spread, end.spread),
            ..begin
        }
    }

    fn gathered(&self, begin: &Mark, from: &Position, to: &Position) -> Gathered {
        let end = self.mark_at(to);
        let used = self.marks[last_mark(from, to)];
        let dose = end.dose - begin.dose;
        let sigma_ln = if dose > 0.0 {
            (end.spread - begin.spread) / dose
        } else {
            0.0
        };
        let quality = if used.assumed > begin.assumed {
            Quality::ClearSkyOnly
        } else if used.weak > begin.weak {
            Quality::WeakLight
        } else if sigma_ln > SIGMA_GOOD {
            Quality::Rough
        } else {
            Quality::Good
        };
        Gathered {
            dose: Dose(dose / 1000.0),
            sigma_ln,
            quality,
        }
    }

    fn barrier_at(&self, step: usize) -> Barrier {
        let state = self.steps.get(step);
        state
            .and_then(|state| state.barrier)
            .unwrap_or(Barrier::OutOfSpan)
    }
}

/// The mark behind the last step that a stretch uses. A step that is only touched at
/// its begin is not used, but the one that the stretch starts in is.
fn last_mark(from: &Position, to: &Position) -> usize {
    let last = if to.share > 0.0 { to.step + 1 } else { to.step };
    last.max(from.step + 1)
}

impl Exposure {
    /// Returns the moment at which it ends, to the second.
    pub fn end_from(&self, start: DateTime<Utc>) -> DateTime<Utc> {
        start + TimeDelta::seconds((self.minutes * 60.0).round() as i64)
    }
}

impl LightWindow {
    fn at(start: DateTime<Utc>, exposure: Exposure) -> LightWindow {
        LightWindow {
            first_start: start,
            last_start: start,
            best_start: start,
            best: exposure,
        }
    }

    fn stretch_to(&mut self, start: DateTime<Utc>, exposure: Exposure) {
        self.last_start = start;
        if exposure.minutes < self.best.minutes {
            (self.best_start, self.best) = (start, exposure);
        }
    }
}

/// Returns minutes as a person wants to read them: to the half below 20, to the
/// whole below 60, to five from there. [min]
///
/// # Example
/// ```
/// use fairday::light::shown_minutes;
/// assert_eq!(shown_minutes(8.3), 8.5);
/// assert_eq!(shown_minutes(31.4), 31.0);
/// assert_eq!(shown_minutes(106.0), 105.0);
/// ```
pub fn shown_minutes(minutes: f64) -> f64 {
    let grain = match minutes {
        minutes if minutes < 20.0 => 0.5,
        minutes if minutes < 60.0 => 1.0,
        _ => 5.0,
    };
    (minutes / grain).round() * grain
}
