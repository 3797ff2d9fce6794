//! Dose over days for one site: what falls on the frame, step by step, and what
//! stands in the way of exposing.
//!
//! Two layers, because the sun is dear and the sky is cheap: [`ClearLight`] holds
//! the clear-sky light of every step and can be kept while the forecast changes;
//! [`LightCurve`] lays a sky over it. Asking a curve is in `exposure`.

use std::ops::Range;

use chrono::{DateTime, TimeDelta, Utc};

use super::cloud::{CloudMethod, Sky, clear_global_over_hour, sky_of};
use super::rules::{Barrier, CurveRules, Step, UnknownSky};
use super::site::Site;
use super::spectrum::PrintingLight;
use crate::forecast::{Forecast, Hour};

/// The sky over one hour, and whether exposing must not go into it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SkyHour {
    /// Start of the hour.
    pub start: DateTime<Utc>,
    /// None if nothing is known.
    pub sky: Option<Sky>,
    /// What forbids exposing, if anything does.
    pub barrier: Option<Barrier>,
}

/// Clear-sky light of a site at every step of a span.
#[derive(Debug, Clone, PartialEq)]
pub struct ClearLight {
    pub(super) site: Site,
    pub(super) first: DateTime<Utc>,
    pub(super) step: Step,
    pub(super) nodes: Vec<ClearNode>,
}

/// The clear sky at one instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct ClearNode {
    pub(super) elevation_deg: f64,
    pub(super) light: PrintingLight,
}

impl ClearLight {
    /// Computes the light over `span`, widened to whole steps.
    ///
    /// Cost: some 5 µs a step by day, optimised. An empty span gives no steps.
    pub fn over(site: Site, span: Range<DateTime<Utc>>, step: Step) -> ClearLight {
        let seconds = step.seconds();
        let begin = span.start.timestamp().div_euclid(seconds);
        let end = -(-span.end.timestamp()).div_euclid(seconds);
        let first = DateTime::from_timestamp(begin * seconds, 0).unwrap_or(span.start);
        let count = if span.end > span.start {
            end - begin
        } else {
            0
        };
        let nodes = (0..=count)
            .map(|index| {
                let (sun, light) = site.clear_light_at(instant(first, step, index));
                ClearNode {
                    elevation_deg: sun.elevation_deg(),
                    light,
                }
            })
            .collect();
        ClearLight {
            site,
            first,
            step,
            nodes,
        }
    }

    /// Returns the instants of the steps with the sun's elevation [°] at each.
    pub fn elevations(&self) -> impl Iterator<Item = (DateTime<Utc>, f64)> + '_ {
        self.nodes.iter().zip(0i64..).map(|(node, index)| {
            let at = instant(self.first, self.step, index);
            (at, node.elevation_deg)
        })
    }

    /// Returns the site.
    pub fn site(&self) -> &Site {
        &self.site
    }
}

/// Reads the skies out of a forecast, one for each of its hours.
pub fn read_skies(site: &Site, forecast: &Forecast, rules: &CurveRules) -> Vec<SkyHour> {
    forecast
        .hours
        .iter()
        .map(|hour| read_sky(site, hour, rules))
        .collect()
}

fn read_sky(site: &Site, hour: &Hour, rules: &CurveRules) -> SkyHour {
    // The yardstick costs six suns; it is wanted only where there is something to measure.
    let clear_global = match hour.global_w_m2 {
        Some(global) if global > 0.0 => {
            clear_global_over_hour(&site.observer, hour.start) * rules.global_scale
        }
        Some(_) | None => 0.0,
    };
    let rains = hour.rain_mm.is_some_and(|rain| rain > rules.rain_max_mm);
    SkyHour {
        start: hour.start,
        sky: sky_of(hour, clear_global),
        barrier: rains.then_some(Barrier::Rain),
    }
}

/// Dose over time under a sky, ready to be asked for exposures.
#[derive(Debug, Clone, PartialEq)]
pub struct LightCurve {
    pub(super) first: DateTime<Utc>,
    pub(super) step: Step,
    /// One more than there are steps.
    pub(super) marks: Vec<Mark>,
    pub(super) steps: Vec<StepState>,
}

/// What was gathered from the first instant up to this one.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Mark {
    /// [J/m²]
    pub(super) dose: f64,
    /// Dose times the spread of its logarithm. [J/m²]
    pub(super) spread: f64,
    /// Steps with weak light.
    pub(super) weak: u32,
    /// Steps under an assumed sky.
    pub(super) assumed: u32,
    /// Steps of which nothing is known.
    pub(super) unknown: u32,
}

/// One step of a curve.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct StepState {
    pub(super) barrier: Option<Barrier>,
    /// Index of the first step from here on that is barred, or the number of steps.
    pub(super) open_until: usize,
    pub(super) method: Option<CloudMethod>,
}

impl LightCurve {
    /// Lays the forecast's sky over clear light.
    ///
    /// Without a forecast every answer is the least time there can be, and is marked
    /// so ([`Quality::ClearSkyOnly`](super::Quality::ClearSkyOnly)).
    pub fn new(clear: &ClearLight, forecast: Option<&Forecast>, rules: &CurveRules) -> LightCurve {
        match forecast {
            Some(forecast) => {
                let skies = read_skies(&clear.site, forecast, rules);
                LightCurve::under(clear, &skies, rules)
            }
            None => LightCurve::fair(clear, rules),
        }
    }

    /// Lays a clear sky over it: the fair weather that nobody forecast.
    pub fn fair(clear: &ClearLight, rules: &CurveRules) -> LightCurve {
        let rules = CurveRules {
            unknown_sky: UnknownSky::IsTakenAsClear,
            ..*rules
        };
        LightCurve::under(clear, &[], &rules)
    }

    /// Lays given skies over it; `skies` ascend, and there may be gaps.
    ///
    /// The dose of a step is the mean of the rates at its ends, both under the sky
    /// of the step's middle, times its length.
    pub fn under(clear: &ClearLight, skies: &[SkyHour], rules: &CurveRules) -> LightCurve {
        let mut walk = SkyWalk { skies, index: 0 };
        let mut marks = Vec::with_capacity(clear.nodes.len());
        let mut steps = Vec::with_capacity(clear.nodes.len());
        let mut mark = Mark::default();
        marks.push(mark);
        for (pair, index) in clear.nodes.windows(2).zip(0i64..) {
            let middle = instant(clear.first, clear.step, index)
                + TimeDelta::seconds(clear.step.seconds() / 2);
            let laid = lay(clear, [&pair[0], &pair[1]], walk.find(middle), rules);
            mark = Mark {
                dose: mark.dose + laid.dose,
                spread: mark.spread + laid.dose * laid.sky.map_or(0.0, |sky| sky.sigma_ln),
                weak: mark.weak + u32::from(laid.weak),
                assumed: mark.assumed + u32::from(laid.is_assumed()),
                unknown: mark.unknown + u32::from(laid.sky.is_none()),
            };
            marks.push(mark);
            steps.push(StepState {
                barrier: laid.barrier,
                open_until: 0,
                method: laid.sky.map(|sky| sky.method),
            });
        }
        fill_open_until(&mut steps);
        LightCurve {
            first: clear.first,
            step: clear.step,
            marks,
            steps,
        }
    }
}

/// A step with its sky.
struct LaidStep {
    dose: f64,
    sky: Option<Sky>,
    barrier: Option<Barrier>,
    weak: bool,
}

impl LaidStep {
    fn is_assumed(&self) -> bool {
        self.sky
            .is_some_and(|sky| sky.method == CloudMethod::AssumedClear)
    }
}

fn lay(
    clear: &ClearLight,
    ends: [&ClearNode; 2],
    hour: Option<&SkyHour>,
    rules: &CurveRules,
) -> LaidStep {
    let lowest = ends[0].elevation_deg.min(ends[1].elevation_deg);
    let sky = hour.and_then(|hour| hour.sky).or(match rules.unknown_sky {
        UnknownSky::Stops => None,
        UnknownSky::IsTakenAsClear => Some(Sky::ASSUMED_CLEAR),
    });
    let low_sun = (lowest < rules.elevation_min_deg).then_some(Barrier::LowSun);
    let unknown = sky.is_none().then_some(Barrier::UnknownSky);
    let dose = sky.map_or(0.0, |sky| {
        let rate = |node: &ClearNode| sky.rate_on(&node.light, &clear.site.stand).0;
        (rate(ends[0]) + rate(ends[1])) / 2.0 * clear.step.seconds() as f64
    });
    LaidStep {
        dose,
        sky,
        barrier: low_sun.or(hour.and_then(|hour| hour.barrier)).or(unknown),
        weak: lowest < rules.elevation_weak_deg,
    }
}

/// Goes through ascending hours once, as the steps do.
struct SkyWalk<'a> {
    skies: &'a [SkyHour],
    index: usize,
}

impl<'a> SkyWalk<'a> {
    fn find(&mut self, at: DateTime<Utc>) -> Option<&'a SkyHour> {
        while self
            .skies
            .get(self.index + 1)
            .is_some_and(|next| next.start <= at)
        {
            self.index += 1;
        }
        let hour = self.skies.get(self.index)?;
        let inside = hour.start <= at && at - hour.start < TimeDelta::hours(1);
        inside.then_some(hour)
    }
}

fn fill_open_until(steps: &mut [StepState]) {
    let mut open_until = steps.len();
    for (index, step) in steps.iter_mut().enumerate().rev() {
        if step.barrier.is_some() {
            open_until = index;
        }
        step.open_until = open_until;
    }
}

pub(super) fn instant(first: DateTime<Utc>, step: Step, index: i64) -> DateTime<Utc> {
    first + TimeDelta::seconds(index * step.seconds())
}
