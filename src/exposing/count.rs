//! Counting dose: what a frame has got by now, and how long it still needs.

use chrono::{DateTime, TimeDelta, Utc};

use super::Running;
use super::skies::{SkyFrom, sky_at};
use crate::light::learn::logged_sigma_ln;
use crate::light::{
    Barrier, ClearLight, CurveRules, LightCurve, Quality, Site, Sky, SkyHour, Step, UnknownSky,
};
use crate::studio::WeatherLimits;
use crate::units::Dose;

/// How far ahead it is counted. [h, own choice]
const AHEAD_HOURS: i64 = 12;
/// Standard deviations from the middle to 5 % and to 95 %.
const TO_FIVE_PERCENT: f64 = 1.644_854;
/// Spread of the light of a lamp. [own choice]
const LAMP_SPREAD: f64 = 0.05;

/// What a frame has got, and what it still needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Counted {
    /// How long it has lain in the light. [min]
    pub minutes: f64,
    /// What it has got.
    pub gathered: Dose,
    /// Standard deviation of the logarithm of that.
    pub spread: f64,
    /// Whether nothing was known of the sky for some of that time, so that a clear one
    /// was taken.
    pub clear_taken: bool,
    /// What is still wanted.
    pub left: Dose,
    /// How long that takes from now on, in the light; or what stands in the way.
    pub to_go: Result<ToGo, Barrier>,
}

/// What is still to come.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToGo {
    /// In the middle. [min]
    pub minutes: f64,
    /// With 5 % it is less. [min]
    pub least: f64,
    /// With 5 % it is more; none if the light ends before. [min]
    pub most: Option<f64>,
    /// When that is, if it lies in the light from now on.
    pub ends_at: DateTime<Utc>,
    /// How far to trust it.
    pub quality: Quality,
}

/// Computes the light over the frames from `from` until some hours after `now`, minute
/// by minute under the skies that are kept.
///
/// What lies before `now` was seen, more or less, and is surer than a forecast. Where
/// nothing is known a clear sky is taken. A sun below the studio's limit ends it.
pub fn curve_over(
    site: Site,
    limits: &WeatherLimits,
    skies: &[SkyFrom],
    from: DateTime<Utc>,
    now: DateTime<Utc>,
) -> LightCurve {
    let span = from..now.max(from) + TimeDelta::hours(AHEAD_HOURS);
    let clear = ClearLight::over(site, span, Step::ONE_MINUTE);
    // Of the minute in which the first frame went out the sky is known from then on.
    let first = skies.first().map(|sky| sky.from);
    let middle = |start: DateTime<Utc>| {
        let middle = start + TimeDelta::seconds(30);
        match first {
            Some(first) if first < start + TimeDelta::minutes(1) => middle.max(first),
            Some(_) | None => middle,
        }
    };
    let minutes: Vec<SkyHour> = clear
        .elevations()
        .map(|(start, _)| SkyHour {
            start,
            sky: sky_at(skies, middle(start)).map(|sky| as_of(sky, start < now)),
            barrier: None,
        })
        .collect();
    let rules = CurveRules {
        unknown_sky: UnknownSky::IsTakenAsClear,
        ..CurveRules::of(limits)
    };
    LightCurve::under(&clear, &minutes, &rules)
}

fn as_of(sky: Sky, is_past: bool) -> Sky {
    match is_past {
        true => Sky {
            sigma_ln: logged_sigma_ln(&sky),
            ..sky
        },
        false => sky,
    }
}

/// Counts what a frame has got at `now`, and how long it still needs from then on.
///
/// The curve must begin no later than the frame's first span.
pub fn count(running: &Running, curve: &LightCurve, now: DateTime<Utc>) -> Counted {
    let (minutes, got) = gathered(running, curve, now);
    let left = running.target.left_after(got.gathered);
    Counted {
        minutes,
        gathered: got.gathered,
        spread: got.spread,
        clear_taken: got.clear_taken,
        left,
        to_go: to_go(running, curve, now, got, left),
    }
}

fn gathered(running: &Running, curve: &LightCurve, now: DateTime<Utc>) -> (f64, Got) {
    let (mut minutes, mut dose, mut spread) = (0.0, 0.0, 0.0);
    let mut clear_taken = false;
    for span in &running.spans {
        let until = span.until.unwrap_or(now).min(now);
        if until <= span.from {
            continue;
        }
        let lasted = (until - span.from).num_milliseconds() as f64 / 60_000.0;
        minutes += lasted;
        let (got, sigma) = match running.lamp {
            Some(rate) => (rate.over(lasted).0, LAMP_SPREAD),
            None => match curve.gathered_between(span.from, until) {
                Some(gathered) => {
                    clear_taken |= gathered.quality == Quality::ClearSkyOnly;
                    (gathered.dose.0, gathered.sigma_ln)
                }
                None => (0.0, 0.0),
            },
        };
        dose += got;
        spread += got * sigma;
    }
    let got = Got {
        gathered: Dose(dose),
        spread: if dose > 0.0 { spread / dose } else { 0.0 },
        clear_taken,
    };
    (minutes, got)
}

/// What a frame has got, and how surely. [standard deviation of the logarithm]
#[derive(Debug, Clone, Copy)]
struct Got {
    gathered: Dose,
    spread: f64,
    clear_taken: bool,
}

impl Got {
    /// Returns how far the wanted dose may lie off, as a factor up or down in nine of
    /// ten cases, when the light to come is so unsure.
    ///
    /// The doubt of the light counts for the share of the dose that it gives: what was
    /// gathered under a sky that was seen does not become unsure again with the sky of
    /// the last minutes.
    fn reach(&self, running: &Running, light_spread: f64) -> f64 {
        let share = (self.gathered.0 / running.target.0.max(f64::MIN_POSITIVE)).min(1.0);
        let light = (share * self.spread).hypot((1.0 - share) * light_spread);
        (TO_FIVE_PERCENT * light.hypot(running.target_spread)).exp()
    }
}

fn to_go(
    running: &Running,
    curve: &LightCurve,
    now: DateTime<Utc>,
    got: Got,
    left: Dose,
) -> Result<ToGo, Barrier> {
    let gathered = got.gathered;
    if let Some(rate) = running.lamp {
        let reach = got.reach(running, LAMP_SPREAD);
        let of = |dose: Dose| rate.minutes_to(dose.left_after(gathered));
        let minutes = rate.minutes_to(left);
        return Ok(ToGo {
            minutes,
            least: of(running.target.scaled(1.0 / reach)),
            most: Some(of(running.target.scaled(reach))),
            ends_at: after(now, minutes),
            quality: Quality::Good,
        });
    }
    let middle = curve.exposure(now, left)?;
    let reach = got.reach(running, middle.sigma_ln);
    let of = |dose: Dose| {
        curve
            .exposure(now, dose.left_after(gathered))
            .map(|e| e.minutes)
    };
    Ok(ToGo {
        minutes: middle.minutes,
        least: of(running.target.scaled(1.0 / reach))?,
        most: of(running.target.scaled(reach)).ok(),
        ends_at: after(now, middle.minutes),
        quality: middle.quality,
    })
}

fn after(now: DateTime<Utc>, minutes: f64) -> DateTime<Utc> {
    now + TimeDelta::milliseconds((minutes.min(1e6) * 60_000.0).round() as i64)
}
