//! `fairday strip`: a test strip, how to expose it and what it says.

use anyhow::{Context, Result, bail};
use chrono::{DateTime, NaiveDateTime, TimeDelta, Utc};
use clap::Args;

use super::light::find_material;
use super::lit::{Daylight, find_sky};
use super::load::{Loaded, instant, load};
use super::mark::{load_alone, moment};
use super::{Common, Ended, output, typed};
use crate::experience::taught;
use crate::exposing::{InTheLight, Running, Span, count, look_up, refresh};
use crate::light::strip::HALF_STOP;
use crate::light::uv::highest_index;
use crate::light::{ClearLight, CloudMethod, LightCurve, Quality, Step, shown_minutes};
use crate::outside::edit::edit;
use crate::studio::edit::add_strip;
use crate::studio::{Material, Strip};
use crate::units::Dose;
use crate::view::json::strip_json;
use crate::view::strip::{LowSun, StripRead, StripScreen, StripStep, render_read, render_strip};

/// Make a test strip: when to cover which step, and what the best step teaches.
///
/// Steps grow by dose, not by minutes, so that they stay even while the light changes.
/// Once the strip is washed and dry, the same command with `--minutes` and `--best`
/// enters the dose of the best step into studio.yaml, where it counts as one print.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday strip rag-300
  fairday strip rag-300 --at \"2026-05-11 12:40\" --minutes 4,5.5,8,11.5,16 --best 3")]
pub struct StripArgs {
    /// Paper or cloth of studio.yaml [default: the one most pieces wait for]
    #[arg(value_name = "MATERIAL")]
    material: Option<String>,
    /// When the strip goes out, or went out: "12:40", or "2026-05-11 12:40" [default: now]
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
    /// Steps of the strip
    #[arg(long, value_name = "N", default_value_t = 5, value_parser = typed::whole::<usize>)]
    steps: usize,
    /// How many times the dose of one step the next gets [default: 1.41, half a stop]
    #[arg(long, value_name = "FACTOR", value_parser = typed::value::<f64>)]
    factor: Option<f64>,
    /// To read a strip: the minutes that its steps lay in the light, ascending
    #[arg(long, value_name = "MIN,...", value_delimiter = ',', requires = "best", value_parser = typed::value::<f64>)]
    minutes: Vec<f64>,
    /// To read a strip: its best step, counted from 1, the shortest
    #[arg(long, value_name = "STEP", requires = "minutes", value_parser = typed::whole::<usize>)]
    best: Option<usize>,
    /// To read a strip: how the sky was: clear, scattered, broken, thin, overcast
    /// [default: as forecast]
    #[arg(long, value_name = "SKY", requires = "best")]
    sky: Option<String>,
    /// Answer as JSON
    #[arg(long)]
    json: bool,
}

/// How far ahead a high sun is looked for. [d, own choice]
const LOOK_AHEAD_DAYS: i64 = 2;

/// Tells how to expose a strip, or reads one.
pub fn run(common: &Common, args: &StripArgs) -> Result<Ended> {
    if let Some(factor) = args.factor.filter(|factor| !(1.05..=4.0).contains(factor)) {
        bail!("`--factor {factor}`: expected 1.05 to 4; 1.41 is half a stop, 2 a whole one");
    }
    if !(2..=21).contains(&args.steps) {
        bail!("`--steps {}`: expected 2 to 21", args.steps);
    }
    match args.best {
        Some(best) => read(common, args, best),
        None => propose(common, args),
    }
}

fn propose(common: &Common, args: &StripArgs) -> Result<Ended> {
    let Some(loaded) = load(common)? else {
        return Ok(Ended::NotDone);
    };
    output::show_problems(common, &loaded.problems);
    let material = find_material(&loaded, args.material.as_deref())?;
    let at = match args.at.as_deref() {
        Some(text) => super::mark::any_moment(text, &loaded)?,
        None => loaded.now,
    };
    let from = instant(&loaded.studio, at);
    let factor = args.factor.unwrap_or(HALF_STOP);
    let curve = curve(&loaded, None, from, from);
    let target = loaded.target(material);
    let middle = (args.steps as f64 - 1.0) / 2.0;
    let mut steps = Vec::new();
    let mut stopped = None;
    let mut ends_at = from;
    for index in 0..args.steps {
        let wanted = target.scaled(factor.powf(index as f64 - middle));
        match curve.exposure(from, wanted) {
            Ok(exposure) => {
                // Nobody covers a step to the second; what is typed back is what was done.
                let minutes = shown_minutes(exposure.minutes).max(0.5);
                let until = from + TimeDelta::seconds((minutes * 60.0).round() as i64);
                let dose = curve.gathered_between(from, until).map(|got| got.dose);
                let dose = dose.unwrap_or(wanted);
                ends_at = until;
                let zone = loaded.studio.place.zone;
                steps.push(StripStep {
                    minutes,
                    cover_at: until.with_timezone(&zone).naive_local(),
                    dose,
                });
            }
            Err(barrier) => {
                stopped = Some(barrier);
                break;
            }
        }
    }
    steps.dedup_by(|next, step| next.minutes <= step.minutes);
    // To the end of the last minute: a span holds its begin, not its end.
    let span = from..ends_at + TimeDelta::minutes(1);
    let clear = ClearLight::over(loaded.site(), span.clone(), Step::ONE_MINUTE);
    let clear_taken = match steps.is_empty() {
        true => curve.method_at(from) == Some(CloudMethod::AssumedClear),
        false => curve
            .gathered_between(from, ends_at)
            .is_some_and(|gathered| gathered.quality == Quality::ClearSkyOnly),
    };
    let screen = StripScreen {
        studio: &loaded.studio.name,
        material,
        taught: loaded.taught.get(&material.key),
        exposure_factor: loaded.studio.sensitizer.exposure_factor,
        today: loaded.now.date(),
        at,
        forecast_note: &loaded.forecast_note(),
        has_forecast: loaded.forecast.is_some(),
        clear_taken,
        steps: &steps,
        stopped,
        low_sun: low_sun(&loaded, from),
        uv_index: highest_index(&clear, loaded.forecast.as_ref(), span),
    };
    if args.json {
        output::answer_json(&strip_json(&screen))?;
    } else {
        output::answer(&render_strip(&screen, output::setting(common)))?;
    }
    Ok(Ended::look_if(
        stopped.is_some() || loaded.forecast.is_none() || clear_taken,
    ))
}

/// Finds when the sun is high enough again; none if it is so at `from`.
fn low_sun(loaded: &Loaded, from: DateTime<Utc>) -> Option<LowSun> {
    let span = from..from + TimeDelta::days(LOOK_AHEAD_DAYS);
    let clear = ClearLight::over(loaded.site(), span, Step::ONE_MINUTE);
    let limit_deg = loaded.studio.weather.elevation_min_deg;
    let mut sun = clear.elevations().skip_while(|(at, _)| *at < from);
    let (_, first_deg) = sun.next()?;
    if first_deg >= limit_deg {
        return None;
    }
    let zone = loaded.studio.place.zone;
    let wall = |at: DateTime<Utc>| at.with_timezone(&zone).naive_local();
    let high_from = sun.find(|(_, elevation)| *elevation >= limit_deg);
    let high_until = sun.find(|(_, elevation)| *elevation < limit_deg);
    Some(LowSun {
        is_down: first_deg < 0.0,
        limit_deg,
        high_enough: high_from
            .zip(high_until)
            .map(|((from, _), (until, _))| (wall(from), wall(until))),
    })
}

/// Returns the light from `from` on; under a sky that was seen, where somebody saw it.
fn curve(
    loaded: &Loaded,
    sky: Option<crate::light::SeenSky>,
    from: DateTime<Utc>,
    now: DateTime<Utc>,
) -> LightCurve {
    let daylight = Daylight::new(loaded);
    let mut light = InTheLight::default();
    refresh(&mut light.skies, &daylight.forecast, from);
    if sky.is_some() {
        look_up(&mut light.skies, &daylight.forecast, from, sky);
    }
    daylight.curve(&light, from, now)
}

fn read(common: &Common, args: &StripArgs, best: usize) -> Result<Ended> {
    let (lock, loaded) = match load_alone(common)? {
        Some(alone) => alone,
        None => return Ok(Ended::NotDone),
    };
    let material = find_material(&loaded, args.material.as_deref())?;
    let at = moment(args.at.as_deref(), &loaded)?;
    let minutes = &args.minutes;
    let ascending = minutes.windows(2).all(|pair| pair[0] < pair[1]);
    let possible = minutes
        .iter()
        .all(|minutes| *minutes > 0.0 && *minutes <= 1440.0);
    if minutes.len() < 2 || !ascending || !possible {
        bail!("`--minutes`: expected at least two, ascending, such as 4,5.5,8,11.5,16");
    }
    if !(1..=minutes.len()).contains(&best) {
        bail!(
            "`--best {best}`: the strip has the steps 1 to {}",
            minutes.len()
        );
    }
    let sky = args.sky.as_deref().map(find_sky).transpose()?;
    let (strip, clear_taken) = strip(&loaded, material, at, minutes, best, sky)?;
    if material.strips.iter().any(|strip| strip.at == at) {
        bail!(
            "the strip of {} is entered already; nothing was written; to read it otherwise, take \
             its line out from below `strips` of `{}` in studio.yaml first",
            at.format("%Y-%m-%d %H:%M"),
            material.key
        );
    }
    let path = loaded.folder.join(studio_file(&loaded));
    edit(&lock, &path, |text| add_strip(text, &material.key, &strip))
        .context("nothing was written")?;
    let mut studio = loaded.studio.clone();
    if let Some(changed) = studio.materials.get_mut(&material.key) {
        changed.strips.push(strip);
        if let Some(before) = loaded.taught.get(&material.key) {
            changed.target_dose = before.before;
        }
    }
    let after = taught(&loaded.orders, &studio, loaded.now);
    let read = StripRead {
        material,
        strip: &strip,
        taught: after.get(&material.key),
        exposure_factor: loaded.studio.sensitizer.exposure_factor,
        place: (best, minutes.len()),
        has_forecast: loaded.forecast.is_some(),
        clear_taken,
    };
    output::answer(&render_read(&read, output::setting(common)))?;
    Ok(Ended::look_if(
        best == 1 || best == minutes.len() || clear_taken,
    ))
}

fn studio_file(loaded: &Loaded) -> &'static str {
    match loaded.folder.join("studio.yaml").exists() {
        true => "studio.yaml",
        false => "studio.yml",
    }
}

/// Counts what the steps got. Returns beside it whether a clear sky was taken, since
/// nothing is known of the sky then.
fn strip(
    loaded: &Loaded,
    material: &Material,
    at: NaiveDateTime,
    minutes: &[f64],
    best: usize,
    sky: Option<crate::light::SeenSky>,
) -> Result<(Strip, bool)> {
    let from = instant(&loaded.studio, at);
    let longest = minutes[minutes.len() - 1];
    let after = |minutes: f64| from + TimeDelta::milliseconds((minutes * 60_000.0).round() as i64);
    let end = after(longest);
    if end > instant(&loaded.studio, loaded.now) {
        bail!("the strip would end later than now; read it when it is washed and dry");
    }
    let curve = curve(loaded, sky, from, end);
    let counted = |minutes: f64| {
        let running = Running {
            pieces: Vec::new(),
            frame: None,
            material: material.key.clone(),
            target: Dose(0.0),
            target_spread: 0.0,
            lamp: None,
            planned_minutes: None,
            spans: vec![Span { from, until: None }],
        };
        count(&running, &curve, after(minutes))
    };
    let whole = counted(longest);
    let (first, last) = (counted(minutes[0]).gathered, whole.gathered);
    let got = counted(minutes[best - 1]);
    if first.0 <= 0.0 {
        bail!("at that time the sun was not up at the studio; is `--at` right?");
    }
    let step = (last.0 / first.0).powf(1.0 / (minutes.len() as f64 - 1.0));
    let hundredth = |value: f64| (value * 100.0).round() / 100.0;
    let strip = Strip {
        at,
        best: Dose(hundredth(got.gathered.0)),
        step: hundredth(step).max(1.01),
        spread: hundredth(got.spread).max(0.01),
    };
    Ok((strip, whole.clear_taken))
}
