//! `fairday expose`: what lies in the light, what it has got, when to take it in.

use std::io::IsTerminal;

use anyhow::{Context, Result, bail};
use chrono::{DateTime, NaiveDateTime, TimeDelta, Utc};
use clap::Args;

use super::frame::{find_frame, may_take};
use super::lit::{Daylight, find_sky};
use super::load::{Loaded, instant, load};
use super::mark::{Meant, find_meant, load_alone, moment};
use super::{Common, Ended, output, typed};
use crate::exposing::{InTheLight, PieceId, Running, Span, count, look_up, refresh};
use crate::light::uv::highest_index;
use crate::light::{ClearLight, Step};
use crate::order::gates::{Mark, may_mark};
use crate::order::{Cover, LightSource};
use crate::outside::clock;
use crate::outside::exposing::{read_exposing, write_exposing};
use crate::stage::Stage;
use crate::studio::Frame;
use crate::view::exposing::{ExposeScreen, Lying, render_exposing};
use crate::view::gate;
use crate::view::json::expose_json;
use crate::window::{Unfit, find_unfit};

/// Put pieces into the light and count the dose they get.
///
/// With pieces, they go into the light now. Without, everything that lies there is
/// shown: what it has got, and when to take it in; on a terminal the time runs down
/// until Ctrl-C. Nothing is lost by stopping, closing the lid or starting again: it is
/// counted by the clock, from what `exposing.json` keeps. Take in with `fairday mark
/// exposed`, which notes minutes and dose.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday expose 2026-012/1,2 --frame small
  fairday expose
  fairday expose --sky overcast --minute 6
  fairday expose --pause
  fairday expose --pause --frame small
  fairday expose --resume")]
pub struct ExposeArgs {
    /// Orders, or pieces of them, that lie in one frame: 2026-012 or 2026-012/1-3,5
    #[arg(value_name = "ORDER[/PIECES]")]
    targets: Vec<String>,
    /// The frame they lie in, by its name in studio.yaml; alone, or with --pause,
    /// --resume or --forget: whatever lies in it
    #[arg(long, value_name = "NAME")]
    frame: Option<String>,
    /// When: "12:41" today, or "2026-05-11 12:41" [default: now]
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
    /// How the sky has been since then: clear, scattered, broken, thin, overcast, or
    /// forecast to go by the forecast again
    #[arg(long, value_name = "SKY", conflicts_with_all = ["pause", "resume", "forget"])]
    sky: Option<String>,
    /// With --sky: since this minute of the exposure, instead of --at
    #[arg(long, value_name = "MIN", requires = "sky", conflicts_with = "at", value_parser = typed::value::<f64>)]
    minute: Option<f64>,
    /// Covered, or taken into the dark: what it has got counts on
    #[arg(long, conflicts_with_all = ["resume", "forget"])]
    pause: bool,
    /// Back into the light
    #[arg(long, conflicts_with = "forget")]
    resume: bool,
    /// It never lay there: a slip, or a piece that is lost
    #[arg(long)]
    forget: bool,
    /// Show once and end, on a terminal, too
    #[arg(long)]
    once: bool,
    /// Answer as JSON
    #[arg(long)]
    json: bool,
}

impl ExposeArgs {
    fn changes(&self) -> bool {
        !self.targets.is_empty() || self.sky.is_some() || self.pause || self.resume || self.forget
    }
}

/// Changes what lies in the light, if asked to, and shows it.
pub fn run(common: &Common, args: &ExposeArgs) -> Result<Ended> {
    if args.changes() {
        let (_lock, loaded) = match load_alone(common)? {
            Some(alone) => alone,
            None => return Ok(Ended::NotDone),
        };
        let mut light = read_exposing(&loaded.folder)?;
        drop_marked(&loaded, &mut light);
        let at = moment(args.at.as_deref(), &loaded)?;
        if !change(&loaded, &mut light, args, at)? {
            return Ok(Ended::NotDone);
        }
        follow_forecast(&loaded, &mut light);
        write_exposing(&loaded.folder, &light)?;
    }
    show(common, args)
}

/// Frames whose pieces were marked by hand are out of the light; those whose order cannot
/// be read stay in it.
fn drop_marked(loaded: &Loaded, light: &mut InTheLight) {
    light.take_out(|id| {
        let stage = id
            .find(&loaded.orders)
            .map(|(_, piece)| piece.progress.stage());
        let before = [Some(Stage::Drying), Some(Stage::Exposing)];
        match stage {
            Some(stage) => !before.contains(&stage),
            None => loaded.unread.is_empty(),
        }
    });
}

/// Makes the change that was asked for. Returns whether it could be made; if not, it
/// has been said why.
fn change(
    loaded: &Loaded,
    light: &mut InTheLight,
    args: &ExposeArgs,
    at: NaiveDateTime,
) -> Result<bool> {
    let daylight = Daylight::new(loaded);
    let now = instant(&loaded.studio, at);
    let ids = ids(loaded, args)?;
    let frame = find_frame(loaded, args.frame.as_deref())?;
    let meant = |running: &Running| {
        let of_pieces = ids.is_empty() || running.pieces.iter().any(|piece| ids.contains(piece));
        of_pieces && frame.is_none_or(|frame| running.is_in(&frame.name))
    };
    let starts = !(args.pause || args.resume || args.forget || args.sky.is_some());
    if starts {
        return start(loaded, light, args, at, &daylight);
    }
    if !light.running.iter().any(meant) {
        if let Some(Frame { name, .. }) = frame {
            bail!("nothing of that lies in `{name}`; what lies in the light: fairday expose");
        }
        bail!("nothing lies in the light; it begins with fairday expose ORDER/PIECES");
    }
    if let Some(word) = &args.sky {
        let since = match (args.minute, light.started_at()) {
            (Some(minute), Some(start)) => {
                start + TimeDelta::milliseconds((minute * 60_000.0).round() as i64)
            }
            _ => now,
        };
        if since > instant(&loaded.studio, loaded.now) {
            bail!("`--minute`: that is still to come; say what you have seen");
        }
        let seen = match word.as_str() {
            "forecast" => None,
            word => Some(find_sky(word)?),
        };
        look_up(&mut light.skies, &daylight.forecast, since, seen);
    }
    if args.forget {
        let gone: Vec<PieceId> = light
            .running
            .iter()
            .filter(|running| meant(running))
            .flat_map(|running| running.pieces.clone())
            .collect();
        light.take_out(|piece| gone.contains(piece) && (ids.is_empty() || ids.contains(piece)));
    }
    for running in light.running.iter_mut().filter(|running| meant(running)) {
        if args.pause && !running.pause(now) && !ids.is_empty() {
            bail!("{} is covered already", names(&running.pieces));
        }
        if args.resume && !running.resume(now) && !ids.is_empty() {
            bail!("{} lies in the light already", names(&running.pieces));
        }
    }
    Ok(true)
}

fn ids(loaded: &Loaded, args: &ExposeArgs) -> Result<Vec<PieceId>> {
    let meant = find_meant(loaded, &args.targets)?;
    let ids = meant.iter().flat_map(|meant| {
        meant.pieces().map(|piece| PieceId {
            order: meant.order.number.clone(),
            piece: piece.number,
        })
    });
    Ok(ids.collect())
}

fn start(
    loaded: &Loaded,
    light: &mut InTheLight,
    args: &ExposeArgs,
    at: NaiveDateTime,
    daylight: &Daylight,
) -> Result<bool> {
    let meant = find_meant(loaded, &args.targets)?;
    if !may_start(loaded, light, &meant, at) {
        return Ok(false);
    }
    let frame = find_frame(loaded, args.frame.as_deref())?;
    let mut pieces = meant.iter().flat_map(Meant::pieces);
    let Some(first) = pieces.next() else {
        bail!("name the pieces that go into the frame");
    };
    if let Some(other) =
        pieces.find(|piece| (&piece.material, piece.light) != (&first.material, first.light))
    {
        bail!(
            "one frame, one dose: `{}` and `{}` want different light; start each frame by itself",
            first.material,
            other.material
        );
    }
    if let Some(frame) = frame {
        may_take(loaded, light, frame, &meant)?;
    }
    let mut running = loaded
        .running(first, frame.map(|frame| frame.name.as_str()))
        .with_context(|| format!("studio.yaml has no material `{}`", first.material))?;
    if first.light == LightSource::Lamp && running.lamp.is_none() {
        bail!(
            "{} is promised under the lamp; name its frame with `--frame`",
            first.title
        );
    }
    running.pieces = ids(loaded, args)?;
    let from = instant(&loaded.studio, at);
    running.spans = vec![Span { from, until: None }];
    refresh(&mut light.skies, &daylight.forecast, from);
    running.planned_minutes = daylight.planned(&running, light, from);
    light.running.push(running);
    Ok(true)
}

/// Looks at the gates of the trade, as marking does, and whether a piece lies out already.
fn may_start(loaded: &Loaded, light: &InTheLight, meant: &[Meant], at: NaiveDateTime) -> bool {
    let stage = Stage::Exposing;
    let mark = Mark { stage, at };
    let mut closed = Vec::new();
    for meant in meant {
        for piece in meant.pieces() {
            let name = format!("{}/{}", meant.order.number, piece.number);
            let id = PieceId {
                order: meant.order.number.clone(),
                piece: piece.number,
            };
            if light.find(&id).is_some() {
                closed.push(format!(
                    "error: {name}: it lies in the light already; if not: fairday expose {name} \
                     --forget"
                ));
            } else if let Err(reason) = may_mark(meant.order, piece, mark, &loaded.studio) {
                closed.push(format!("error: {name}: {}", gate::render(&reason, mark)));
            }
        }
    }
    if !closed.is_empty() {
        closed.push("nothing was started".to_owned());
        output::remark(&closed.join("\n"));
        return false;
    }
    true
}

/// Names pieces as they are typed.
pub(super) fn names(pieces: &[PieceId]) -> String {
    let names = pieces.iter().map(|id| format!("{}/{}", id.order, id.piece));
    names.collect::<Vec<_>>().join(" ")
}

/// Seconds between two looks at the files.
const LOOK_AGAIN_SECONDS: u64 = 15;

/// Shows what lies in the light: once, or second by second on a terminal.
fn show(common: &Common, args: &ExposeArgs) -> Result<Ended> {
    let Some(mut loaded) = load(common)? else {
        return Ok(Ended::NotDone);
    };
    output::show_problems(common, &loaded.problems);
    let mut light = shown(&loaded, args)?;
    let fixed = common.today.is_some() || loaded.studio.pinned_now.is_some() || args.at.is_some();
    let once = args.once || args.json || fixed || !std::io::stdout().is_terminal();
    if once || light.running.is_empty() {
        let at = match args.changes() {
            true => loaded.now,
            false => moment(args.at.as_deref(), &loaded)?,
        };
        let now = instant(&loaded.studio, at);
        return show_once(common, &loaded, &light, now, args.json);
    }
    let mut lines = 0;
    let mut rung = false;
    for second in 0.. {
        let due = second > 0 && second % LOOK_AGAIN_SECONDS == 0;
        if due && let Some(again) = load(common)? {
            loaded = again;
            light = shown(&loaded, args)?;
        }
        let now = clock::now();
        loaded.now = now.with_timezone(&loaded.studio.place.zone).naive_local();
        let screen = screen(&loaded, &light, now);
        let page = render_exposing(&screen, output::setting(common));
        let done = screen.lying.iter().any(Lying::is_done);
        let bell = if done && !rung { "\u{7}" } else { "" };
        rung = done;
        // Up over the last page, and clear what is below: the lines above stay.
        let up = match lines {
            0 => String::new(),
            lines => format!("\u{1b}[{lines}F\u{1b}[J"),
        };
        output::answer(&format!("{up}{page}{bell}"))?;
        lines = page.lines().count();
        if light.running.is_empty() {
            return Ok(Ended::Done);
        }
        clock::wait_seconds(1.0);
    }
    Ok(Ended::Done)
}

/// Takes the newest forecast for the time to come.
fn follow_forecast(loaded: &Loaded, light: &mut InTheLight) {
    let now = instant(&loaded.studio, loaded.now);
    let from = light.started_at().map_or(now, |start| start.max(now));
    if !light.running.is_empty() && loaded.forecast.is_some() {
        refresh(&mut light.skies, &Daylight::new(loaded).forecast, from);
    }
}

/// Reads what lies in the light; of one frame, if nothing but its name was typed.
fn shown(loaded: &Loaded, args: &ExposeArgs) -> Result<InTheLight> {
    let frame = find_frame(loaded, args.frame.as_deref())?;
    let mut light = lying(loaded)?;
    if let Some(frame) = frame.filter(|_| !args.changes()) {
        light.running.retain(|running| running.is_in(&frame.name));
    }
    Ok(light)
}

/// Reads what lies in the light, under the newest forecast for the time to come.
fn lying(loaded: &Loaded) -> Result<InTheLight> {
    let kept = read_exposing(&loaded.folder)?;
    let mut light = kept.clone();
    drop_marked(loaded, &mut light);
    follow_forecast(loaded, &mut light);
    // What was believed until now is kept, so that a later forecast cannot change it.
    if light != kept
        && let Some(_lock) = crate::outside::edit::lock(&loaded.folder).ok()
        && read_exposing(&loaded.folder)? == kept
    {
        drop(write_exposing(&loaded.folder, &light));
    }
    Ok(light)
}

fn show_once(
    common: &Common,
    loaded: &Loaded,
    light: &InTheLight,
    now: DateTime<Utc>,
    json: bool,
) -> Result<Ended> {
    let screen = screen(loaded, light, now);
    if json {
        output::answer_json(&expose_json(&screen))?;
    } else {
        output::answer(&render_exposing(&screen, output::setting(common)))?;
    }
    let look = screen
        .lying
        .iter()
        .any(|lying| lying.is_done() || lying.unfit.is_some());
    Ok(Ended::look_if(look))
}

fn screen<'a>(loaded: &'a Loaded, light: &InTheLight, now: DateTime<Utc>) -> ExposeScreen<'a> {
    let daylight = Daylight::new(loaded);
    let from = light.started_at().unwrap_or(now).min(now);
    let curve = daylight.curve(light, from, now);
    let lying: Vec<Lying> = light
        .running
        .iter()
        .map(|running| {
            let counted = count(running, &curve, now);
            let minutes = counted.to_go.map_or(0.0, |to_go| to_go.minutes);
            Lying {
                unfit: unfit(loaded, running, now, minutes),
                counted,
                running: running.clone(),
            }
        })
        .collect();
    let outdoors = light.running.iter().any(|running| running.lamp.is_none());
    let span = from..now + TimeDelta::hours(1);
    let clear = ClearLight::over(loaded.site(), span.clone(), Step::FIVE_MINUTES);
    let uv = highest_index(&clear, loaded.forecast.as_ref(), span);
    ExposeScreen {
        studio: &loaded.studio,
        orders: &loaded.orders,
        now,
        sky: light.sky_at(now),
        forecast_note: loaded.forecast_note(),
        lying,
        uv_index: outdoors.then_some(uv),
    }
}

/// Finds what stands against leaving a frame out for so many minutes. [min]
fn unfit(loaded: &Loaded, running: &Running, now: DateTime<Utc>, minutes: f64) -> Option<Unfit> {
    if running.lamp.is_some() || running.is_paused() {
        return None;
    }
    let loose = running.pieces.iter().any(|id| {
        id.find(&loaded.orders)
            .is_some_and(|(_, piece)| piece.cover == Cover::None)
    });
    let forecast = loaded.forecast.as_ref()?;
    let limits = &loaded.studio.weather;
    let unfit = find_unfit(forecast, now, minutes.max(1.0), loose, limits);
    unfit.filter(|unfit| *unfit != Unfit::NoForecast)
}
