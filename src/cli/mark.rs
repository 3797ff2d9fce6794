//! `fairday mark` and `fairday remake`: what was done, into the order files.

use std::collections::BTreeMap;
use std::path::Path;

use anyhow::{Context, Result, bail};
use chrono::{NaiveDate, NaiveDateTime, NaiveTime};
use clap::Args;

use super::coated::{CoatArgs, Coats};
use super::lit::{Daylight, Lit, find_sky};
use super::load::{Loaded, find_folder, load};
use super::{Common, Ended, output, typed};
use crate::exposing::{InTheLight, PieceId};
use crate::order::edit::{Change, NotChanged, apply};
use crate::order::gates::{Mark, may_mark};
use crate::order::target::Target;
use crate::order::{Delivery, Dispatch, Done, Event, Exposed, Order, Piece, Verdict};
use crate::outside::edit::{Lock, lock, prepare};
use crate::outside::exposing::{read_exposing, write_exposing};
use crate::plan::calm::ROUNDING;
use crate::plan::grid::SLOT_MIN;
use crate::problem::did_you_mean;
use crate::stage::Stage;
use crate::studio::Studio;
use crate::view::gate;
use crate::view::marked::{
    GuessedSky, LateWash, Marked, render_guessed_skies, render_late_washes, render_marked,
};
use crate::yaml::leaf::Scalar;

/// Note that a stage is done.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday mark coated 2026-012 2026-014/1-3
  fairday mark coated 2026-012 2026-014/1-3 --poured 40 --left 6 --batch R-2403
  fairday mark exposed 2026-012/1 --minutes 11.5 --at 11:05
  fairday mark judged 2026-012/1 --verdict good
  fairday mark shipped 2026-012 --tracking PL-50713")]
pub struct MarkArgs {
    /// What was done: coated, dried, exposed, washed, finished, shipped, judged
    #[arg(value_name = "DONE")]
    done: String,
    /// Orders, or pieces of them: 2026-012 or 2026-012/1-3,5
    #[arg(value_name = "ORDER[/PIECES]", required = true)]
    targets: Vec<String>,
    /// When: "11:05" today, or "2026-05-11 11:05" [default: now]
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
    /// Minutes in the light, for `exposed` [default: as `expose` has counted them]
    #[arg(long, value_name = "MIN", value_parser = typed::value::<f64>)]
    minutes: Option<f64>,
    /// How the sky was, for `exposed`: clear, scattered, broken, thin, overcast
    /// [default: as forecast]
    #[arg(long, value_name = "SKY")]
    sky: Option<String>,
    /// How it came out: pale, good, deep; teaches the dose of its material
    #[arg(long, value_name = "VERDICT")]
    verdict: Option<String>,
    #[command(flatten)]
    coat: CoatArgs,
    /// Who carries it, for `shipped` [default: the studio's carrier]
    #[arg(long)]
    carrier: Option<String>,
    /// Tracking number, for `shipped`
    #[arg(long)]
    tracking: Option<String>,
}

/// Send a piece back to coating.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday remake 2026-023/1 --reason \"washed out\"
  fairday remake 2026-023 --reason fogged --at \"2026-05-11 11:05\"")]
pub struct RemakeArgs {
    /// Pieces: 2026-012/2, or an order for all of its pieces
    #[arg(value_name = "ORDER[/PIECES]", required = true)]
    targets: Vec<String>,
    /// Why, in a few words: "washed out"
    #[arg(long)]
    reason: String,
    /// How its exposure came out, if that could be told: pale, good, deep
    #[arg(long, value_name = "VERDICT")]
    verdict: Option<String>,
    /// When: "11:05" today, or "2026-05-11 11:05" [default: now]
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
}

/// An order with the pieces that are meant.
pub(super) struct Meant<'a> {
    /// The order.
    pub order: &'a Order,
    /// Numbers of its pieces.
    pub numbers: Vec<u32>,
}

/// What will be written into one order file.
struct Step<'a> {
    meant: Meant<'a>,
    changes: Vec<Change>,
    word: String,
    next: Option<Stage>,
}

/// Marks a stage as done.
pub fn run_mark(common: &Common, args: &MarkArgs) -> Result<Ended> {
    let (lock, loaded) = match load_alone(common)? {
        Some(alone) => alone,
        None => return Ok(Ended::NotDone),
    };
    let verdict = args.verdict.as_deref().map(find_verdict).transpose()?;
    if args.done == JUDGED {
        return run_judged(common, &lock, &loaded, args, verdict);
    }
    let stage = find_stage(&args.done)?;
    if args.sky.is_some() && stage != Stage::Exposing {
        bail!("`--sky` goes with `exposed`, not with `{}`", args.done);
    }
    let sky = args.sky.as_deref().map(find_sky).transpose()?;
    if verdict.is_some() && stage < Stage::Exposing || verdict.is_some() && stage == Stage::Shipping
    {
        bail!(
            "`--verdict` goes with exposed, washed, finished or judged, not with `{}`",
            args.done
        );
    }
    if args.minutes.is_some() && stage != Stage::Exposing {
        bail!("`--minutes` goes with `exposed`, not with `{}`", args.done);
    }
    if let Some(minutes) = args
        .minutes
        .filter(|minutes| !(*minutes > 0.0 && *minutes <= 1440.0))
    {
        // A number with hundreds of digits helps nobody.
        let typed = match minutes.abs() < 1e6 {
            true => minutes.to_string(),
            false => format!("{minutes:e}"),
        };
        bail!(
            "`--minutes {typed}`: expected minutes in the light, more than 0 and at most a day \
             (1440); nothing was written"
        );
    }
    if (args.carrier.is_some() || args.tracking.is_some()) && stage != Stage::Shipping {
        bail!(
            "`--carrier` and `--tracking` go with `shipped`, not with `{}`",
            args.done
        );
    }
    let mut mark = Mark {
        stage,
        at: moment(args.at.as_deref(), &loaded)?,
    };
    let mut meant = find_meant(&loaded, &args.targets)?;
    if args.carrier.is_some() || args.tracking.is_some() {
        without_pickup(&meant)?;
    }
    if stage == Stage::Exposing && verdict.is_some() && meant.iter().all(Meant::is_exposed) {
        return run_judged(common, &lock, &loaded, args, verdict);
    }
    let coats = args
        .coat
        .deal(stage, &meant, (&loaded.studio, loaded.stock.as_ref()))?;
    if let Some(noted) = noted_already(&meant, mark, &coats) {
        output::remark(&format!(
            "{} noted already; only the rest is written",
            noted.names.join(", ")
        ));
        meant = noted.rest;
        // The rest of a session belongs to its moment.
        if args.at.is_none() {
            mark.at = noted.at;
        }
    }
    let mut closed = Vec::new();
    for Meant { order, numbers } in &meant {
        for piece in order
            .pieces
            .iter()
            .filter(|piece| numbers.contains(&piece.number))
        {
            if let Err(reason) = may_mark(order, piece, mark, &loaded.studio) {
                let name = format!("{}/{}", order.number, piece.number);
                closed.push(format!("error: {name}: {}", gate::render(&reason, mark)));
            }
        }
    }
    if !closed.is_empty() {
        closed.dedup();
        closed.push("nothing was written".to_owned());
        output::remark(&closed.join("\n"));
        return Ok(Ended::NotDone);
    }
    let daylight = Daylight::new(&loaded);
    let light = match stage {
        Stage::Exposing => read_exposing(&loaded.folder)?,
        _ => InTheLight::default(),
    };
    let lit = |order: &Order, piece: &Piece| match stage {
        Stage::Exposing => daylight.exposed(&light, (order, piece), mark.at, args.minutes, sky),
        _ => None,
    };
    let guessed = guessed_skies(&meant, mark, args.minutes, lit);
    let exposed = |order: &Order, piece: &Piece| lit(order, piece).map(|lit| lit.exposed);
    let late = late_washes(&meant, mark, &loaded.studio);
    let steps = meant
        .into_iter()
        .map(|meant| {
            let mut step = mark_step(meant, mark, args, &loaded, &coats, exposed);
            if let Some(verdict) = verdict {
                let event = judgement(mark.at, verdict);
                step.changes.extend(progress(&step.meant, &event));
            }
            step
        })
        .collect();
    let ended = write(common, &lock, &loaded, steps, mark.at)?;
    if let Some(remark) = &coats.remark {
        output::remark(remark);
    }
    if !guessed.is_empty() {
        output::remark(&render_guessed_skies(
            &guessed,
            loaded.forecast.is_some(),
            output::remark_setting(common),
        ));
    }
    if !late.is_empty() {
        let within = loaded.studio.minutes.wash_within;
        output::remark(&render_late_washes(
            &late,
            within,
            output::remark_setting(common),
        ));
    }
    Ok(ended)
}

/// Part of a mark that is in the files already: a run before this one was stopped.
struct Noted<'a> {
    /// The pieces that are not.
    rest: Vec<Meant<'a>>,
    /// Orders with pieces that are.
    names: Vec<String>,
    /// When it was.
    at: NaiveDateTime,
}

/// Finds the pieces of which the last entry says what this mark would: the same moment,
/// or the very share of the same coat. None if it is about none of them, or about all.
fn noted_already<'a>(meant: &[Meant<'a>], mark: Mark, coats: &Coats) -> Option<Noted<'a>> {
    let noted_at = |order: &Order, piece: &Piece| {
        let last = piece.progress.events.last()?;
        let Done::Stage { stage, coated, .. } = &last.what else {
            return None;
        };
        let dealt = coats.find(order, piece.entry);
        let is_share = dealt.is_some_and(|coat| coat.poured_ml.is_some());
        let is_same = last.at == mark.at || is_share && last.at < mark.at;
        (*stage == mark.stage && coated.as_ref() == dealt && is_same).then_some(last.at)
    };
    let mut noted = Noted {
        rest: Vec::new(),
        names: Vec::new(),
        at: NaiveDateTime::MIN,
    };
    for some in meant {
        let of = |piece: &&Piece| noted_at(some.order, piece);
        let done: Vec<NaiveDateTime> = some.pieces().filter_map(|piece| of(&piece)).collect();
        let open: Vec<u32> = some
            .pieces()
            .filter(|piece| of(piece).is_none())
            .map(|piece| piece.number)
            .collect();
        if let Some(at) = done.into_iter().max() {
            noted.at = noted.at.max(at);
            noted.names.push(some.order.number.clone());
        }
        if !open.is_empty() {
            noted.rest.push(Meant {
                order: some.order,
                numbers: open,
            });
        }
    }
    (!noted.rest.is_empty() && !noted.names.is_empty()).then_some(noted)
}

/// Finds the prints that got their dose under a sky of which nothing is known.
fn guessed_skies(
    meant: &[Meant],
    mark: Mark,
    typed_minutes: Option<f64>,
    lit: impl Fn(&Order, &Piece) -> Option<Lit>,
) -> Vec<GuessedSky> {
    let mut guessed = Vec::new();
    for meant in meant {
        let of_piece = |piece: &Piece| {
            let lit = lit(meant.order, piece).filter(|lit| lit.clear_taken)?;
            Some((piece.number, lit.exposed.minutes))
        };
        let pieces: Vec<(u32, f64)> = meant.pieces().filter_map(of_piece).collect();
        let Some((_, minutes)) = pieces.first() else {
            continue;
        };
        guessed.push(GuessedSky {
            order: meant.order.number.clone(),
            pieces: pieces.iter().map(|(number, _)| *number).collect(),
            at: mark.at,
            minutes: typed_minutes.unwrap_or(*minutes),
            file: meant.order.file.clone(),
        });
    }
    guessed
}

/// Finds the prints that lay longer between the frame and this wash than the studio means
/// them to. [min] The mark is of the end of the wash; whoever goes by a plan may be later
/// by what its slots round.
fn late_washes(meant: &[Meant], mark: Mark, studio: &Studio) -> Vec<LateWash> {
    let minutes = &studio.minutes;
    let rounded = ROUNDING * i64::from(SLOT_MIN);
    let mut late = Vec::new();
    for meant in meant.iter().filter(|_| mark.stage == Stage::Washing) {
        let lay = |piece: &Piece| {
            let taken_in = piece.progress.done_at(Stage::Exposing)?;
            let material = studio.materials.get(&piece.material)?;
            let work = (minutes.unload + material.wash_minutes).ceil() as i64;
            let lay = (mark.at - taken_in).num_minutes() - work;
            Some(lay).filter(|lay| (lay - rounded) as f64 > minutes.wash_within)
        };
        let pieces: Vec<(u32, i64)> = meant
            .pieces()
            .filter_map(|piece| Some((piece.number, lay(piece)?)))
            .collect();
        if let Some(longest) = pieces.iter().map(|(_, lay)| *lay).max() {
            late.push(LateWash {
                order: meant.order.number.clone(),
                pieces: pieces.iter().map(|(number, _)| *number).collect(),
                lay_minutes: longest,
                file: meant.order.file.clone(),
            });
        }
    }
    late
}

/// Refuses a carrier for an order that its customer comes for.
fn without_pickup(meant: &[Meant]) -> Result<()> {
    let mut orders = meant.iter().map(|meant| meant.order);
    match orders.find(|order| order.delivery == Delivery::Pickup) {
        None => Ok(()),
        Some(order) => bail!(
            "{}: its customer comes for it (`delivery: pickup`), so there is no carrier and no \
             tracking number; leave `--carrier` and `--tracking` out, or write where it goes \
             in `{}`; nothing was written",
            order.number,
            order.file
        ),
    }
}

/// The word for a verdict without a stage.
const JUDGED: &str = "judged";

/// Notes how prints came out that were exposed before.
fn run_judged(
    common: &Common,
    lock: &Lock,
    loaded: &Loaded,
    args: &MarkArgs,
    verdict: Option<Verdict>,
) -> Result<Ended> {
    let Some(verdict) = verdict else {
        bail!("say how it came out: `--verdict pale`, `good` or `deep`");
    };
    let at = moment(args.at.as_deref(), loaded)?;
    let meant = find_meant(loaded, &args.targets)?;
    let steps: Result<Vec<Step>> = meant
        .into_iter()
        .map(|meant| {
            for piece in meant.pieces() {
                may_judge(meant.order, piece, at)?;
                if piece.progress.verdict() == Some(verdict) {
                    let (order, piece) = (&meant.order.number, piece.number);
                    let word = verdict.name();
                    bail!("{order}/{piece}: it is judged `{word}` already; nothing was written");
                }
            }
            let first = meant.pieces().next();
            let next = first.and_then(|piece| piece.progress.stage());
            Ok(Step {
                changes: progress(&meant, &judgement(at, verdict)),
                next,
                meant,
                word: format!("judged {}", verdict.name()),
            })
        })
        .collect();
    write(common, lock, loaded, steps?, at)
}

/// # Errors
/// The piece was not exposed, or something was done to it later than `at`.
fn may_judge(order: &Order, piece: &Piece, at: NaiveDateTime) -> Result<()> {
    let name = format!("{}/{}", order.number, piece.number);
    if piece.progress.done_at(Stage::Exposing).is_none() {
        bail!(
            "{name}: it is not exposed, so there is nothing to judge; nothing was written; a \
             verdict on a try that failed goes with it: fairday remake {name} --reason … \
             --verdict …"
        );
    }
    match piece.progress.events.last() {
        Some(last) if last.at > at => bail!(
            "{name}: the last entry is of {}, which is later; nothing was written",
            last.at.format("%Y-%m-%d %H:%M")
        ),
        Some(_) | None => Ok(()),
    }
}

fn judgement(at: NaiveDateTime, verdict: Verdict) -> Event {
    Event {
        at,
        what: Done::Judged { verdict },
    }
}

fn find_verdict(word: &str) -> Result<Verdict> {
    if let Some(verdict) = Verdict::parse(word) {
        return Ok(verdict);
    }
    let meant = Verdict::guess(word)
        .or_else(|| did_you_mean(word, Verdict::choices()).map(str::to_owned))
        .map(|word| format!(" (did you mean `{word}`?)"));
    bail!(
        "`--verdict {word}`: expected {}{}",
        Verdict::EXPECTED,
        meant.unwrap_or_default()
    )
}

impl<'a> Meant<'a> {
    /// Returns the pieces.
    pub(super) fn pieces(&self) -> impl Iterator<Item = &'a Piece> + '_ {
        let pieces = self.order.pieces.iter();
        pieces.filter(|piece| self.numbers.contains(&piece.number))
    }

    /// Tells whether all of them are exposed already.
    fn is_exposed(&self) -> bool {
        let exposed = |piece: &Piece| piece.progress.done_at(Stage::Exposing).is_some();
        self.pieces().all(exposed)
    }
}

/// Sends pieces back to coating.
pub fn run_remake(common: &Common, args: &RemakeArgs) -> Result<Ended> {
    let (lock, loaded) = match load_alone(common)? {
        Some(alone) => alone,
        None => return Ok(Ended::NotDone),
    };
    let reason = args.reason.split_whitespace().collect::<Vec<_>>().join(" ");
    if reason.is_empty() {
        bail!("`--reason` is empty; a few words help to find what goes wrong most often");
    }
    let at = moment(args.at.as_deref(), &loaded)?;
    let verdict = args.verdict.as_deref().map(find_verdict).transpose()?;
    let mut steps = Vec::new();
    for meant in find_meant(&loaded, &args.targets)? {
        let order = meant.order;
        if order.is_closed() {
            bail!(
                "{}: the order has left or was cancelled; nothing was written",
                order.number
            );
        }
        for number in &meant.numbers {
            let piece = order.pieces.iter().find(|piece| piece.number == *number);
            let begun = piece.is_some_and(|piece| piece.progress.stage() != Some(Stage::Coating));
            if !begun {
                bail!(
                    "{}/{number}: nothing was done to it yet, so there is nothing to remake; \
                     nothing was written",
                    order.number
                );
            }
        }
        let event = Event {
            at,
            what: Done::Remake {
                reason: reason.clone(),
            },
        };
        let mut changes = Vec::new();
        if let Some(verdict) = verdict {
            for piece in meant.pieces() {
                may_judge(order, piece, at)?;
            }
            changes = progress(&meant, &judgement(at, verdict));
        }
        changes.extend(progress(&meant, &event));
        steps.push(Step {
            meant,
            changes,
            word: "goes back".to_owned(),
            next: Some(Stage::Coating),
        });
    }
    write(common, &lock, &loaded, steps, at)
}

/// Reads the studio folder with the right to change it, so that no other run marks
/// the same pieces between our reading and our writing.
pub(super) fn load_alone(common: &Common) -> Result<Option<(Lock, Loaded)>> {
    let lock = lock(&find_folder(common)?)?;
    Ok(load(common)?.map(|loaded| (lock, loaded)))
}

fn find_stage(word: &str) -> Result<Stage> {
    let stages = Stage::ALL.iter().map(|stage| stage.done());
    let words: Vec<&str> = stages.chain([JUDGED]).collect();
    if let Some(stage) = Stage::find_done(word) {
        return Ok(stage);
    }
    let meant = did_you_mean(word, &words).map(|word| format!(" (did you mean `{word}`?)"));
    bail!(
        "expected one of {}, found `{word}`{}",
        words.join(", "),
        meant.unwrap_or_default()
    )
}

/// Returns the moment typed; a time alone is of the day asked for.
pub(super) fn moment(typed: Option<&str>, loaded: &Loaded) -> Result<NaiveDateTime> {
    let Some(text) = typed else {
        return Ok(loaded.now);
    };
    let at = any_moment(text, loaded)?;
    if at > loaded.now {
        bail!(
            "`--at {text}` is later than now, {}; mark it when it is done",
            loaded.now.format("%Y-%m-%d %H:%M")
        );
    }
    Ok(at)
}

/// Returns the moment typed, which may be still to come; a time alone is of the day
/// asked for.
pub(super) fn any_moment(text: &str, loaded: &Loaded) -> Result<NaiveDateTime> {
    let words = text.trim();
    if NaiveDate::parse(words).is_some() {
        bail!("`--at {text}` is a day without a time; write \"{words} 11:05\"");
    }
    match NaiveTime::parse(words) {
        Some(time) => Ok(loaded.now.date().and_time(time)),
        None => NaiveDateTime::parse(words).with_context(|| {
            format!("`--at {text}`: expected a time, such as \"11:05\" or \"2026-05-11 11:05\"")
        }),
    }
}

pub(super) fn find_meant<'a>(loaded: &'a Loaded, targets: &[String]) -> Result<Vec<Meant<'a>>> {
    let mut by_order: BTreeMap<&str, Meant> = BTreeMap::new();
    for text in targets {
        let target = Target::parse(text).with_context(|| {
            format!("`{text}`: expected an order or some of its pieces, such as 2026-012/1-3,5")
        })?;
        let order = loaded.find_order(&target.order)?;
        let numbers = target.numbers(order).map_err(|missing| {
            let count = order.pieces.len();
            anyhow::anyhow!(
                "{}: there is no piece {missing}, it has {count}",
                order.number
            )
        })?;
        let meant = by_order
            .entry(order.number.as_str())
            .or_insert_with(|| Meant {
                order,
                numbers: Vec::new(),
            });
        meant.numbers.extend(numbers);
        meant.numbers.sort_unstable();
        meant.numbers.dedup();
    }
    Ok(by_order.into_values().collect())
}

fn mark_step<'a>(
    meant: Meant<'a>,
    mark: Mark,
    args: &MarkArgs,
    loaded: &Loaded,
    coats: &Coats,
    exposed: impl Fn(&Order, &Piece) -> Option<Exposed>,
) -> Step<'a> {
    let word = mark.stage.done().to_owned();
    if mark.stage == Stage::Shipping {
        let carried = meant.order.delivery != Delivery::Pickup;
        let usual = loaded.studio.shipping.carrier.clone().filter(|_| carried);
        let dispatch = Dispatch {
            on: mark.at.date(),
            carrier: args.carrier.clone().or(usual),
            tracking: args.tracking.clone(),
        };
        let meant = Meant {
            numbers: Vec::new(),
            ..meant
        };
        return Step {
            meant,
            changes: vec![Change::Dispatch(dispatch)],
            word,
            next: None,
        };
    }
    // Pieces that lay in different frames got different light.
    let mut alike: Vec<(Option<Exposed>, Vec<u32>)> = Vec::new();
    for piece in meant.pieces() {
        let exposed = exposed(meant.order, piece);
        match alike.iter_mut().find(|(known, _)| *known == exposed) {
            Some((_, numbers)) => numbers.push(piece.number),
            None => alike.push((exposed, vec![piece.number])),
        }
    }
    let mut changes = Vec::new();
    for (exposed, numbers) in alike {
        let order = meant.order;
        let stage = mark.stage;
        let coated = |entry| coats.find(order, entry).cloned();
        let event = |entry| Event {
            at: mark.at,
            what: Done::Stage {
                stage,
                exposed,
                coated: coated(entry),
            },
        };
        changes.extend(progress_with(&Meant { order, numbers }, event));
    }
    Step {
        meant,
        changes,
        word,
        next: mark.stage.next(),
    }
}

/// Returns one entry for each entry of the file that has some of the pieces.
fn progress(meant: &Meant, event: &Event) -> Vec<Change> {
    progress_with(meant, |_| event.clone())
}

/// The same, with what is written into each entry of its own.
fn progress_with(meant: &Meant, event: impl Fn(usize) -> Event) -> Vec<Change> {
    let mut by_entry: BTreeMap<usize, Vec<u32>> = BTreeMap::new();
    for piece in meant
        .order
        .pieces
        .iter()
        .filter(|piece| meant.numbers.contains(&piece.number))
    {
        by_entry.entry(piece.entry).or_default().push(piece.copy);
    }
    by_entry
        .into_iter()
        .map(|(entry, copies)| Change::Progress {
            entry,
            copies,
            event: event(entry),
        })
        .collect()
}

fn write(
    common: &Common,
    lock: &Lock,
    loaded: &Loaded,
    steps: Vec<Step>,
    at: NaiveDateTime,
) -> Result<Ended> {
    // All new texts are there before the first file is touched: what is refused is
    // refused for all.
    let mut prepared = Vec::new();
    for step in &steps {
        let path = loaded.folder.join(Path::new(&step.meant.order.file));
        let change = |text: &str| apply_all(text, &step.changes);
        prepared.push(prepare(lock, &path, change).context("nothing was written")?);
    }
    let mut marked: Vec<Marked> = Vec::new();
    let mut taken_out = Vec::new();
    for (step, file) in steps.into_iter().zip(prepared) {
        let order = step.meant.order;
        file.write().with_context(|| written_so_far(&marked))?;
        taken_out.extend(step.meant.pieces().map(|piece| PieceId {
            order: order.number.clone(),
            piece: piece.number,
        }));
        marked.push(Marked {
            order: order.number.clone(),
            pieces: step.meant.numbers,
            word: step.word,
            at,
            next: step.next,
            file: order.file.clone(),
        });
    }
    let mut light = read_exposing(&loaded.folder)?;
    let before = light.clone();
    light.take_out(|piece| taken_out.contains(piece));
    if light != before {
        write_exposing(&loaded.folder, &light)?;
    }
    output::answer(&render_marked(
        &marked,
        loaded.now.date(),
        output::setting(common),
    ))?;
    Ok(Ended::Done)
}

/// Says what the disk took before it refused.
fn written_so_far(marked: &[Marked]) -> String {
    let files: Vec<&str> = marked.iter().map(|change| change.file.as_str()).collect();
    match files.as_slice() {
        [] => "nothing was written".to_owned(),
        files => format!(
            "{} written, the rest not; mark the rest again when it is mended",
            files.join(", ")
        ),
    }
}

fn apply_all(text: &str, changes: &[Change]) -> Result<String, NotChanged> {
    changes
        .iter()
        .try_fold(text.to_owned(), |text, change| apply(&text, change))
}
