//! What must be true of an order beyond its spelling.
//!
//! Each function looks at one thing and tells the reader; none stops the reading.

use std::ops::RangeInclusive;

use chrono::{NaiveDate, NaiveDateTime};

use super::gates::{self, Mark};
use super::{Done, Event, LightSource, Order, Piece, Progress};
use crate::problem::{Problem, did_you_mean};
use crate::size::Size;
use crate::stage::Stage;
use crate::studio::{MaterialKind, Studio};
use crate::yaml::reader::Reader;
use crate::yaml::trail::Trail;

/// A number must lie in a range.
pub fn within(number: u32, range: RangeInclusive<u32>, at: &Trail, reader: &mut Reader) {
    if !range.contains(&number) {
        let (least, most) = (range.start(), range.end());
        let of = match at {
            Trail::Key(_, key) => format!(" for `{key}`"),
            Trail::Root | Trail::Index(..) => String::new(),
        };
        let problem = reader.error(format!("expected {least} to {most}{of}, found `{number}`"));
        reader.at_value(at, problem);
    }
}

/// An order number must not hold what parts a number from its pieces.
pub fn number(number: &str, at: &Trail, reader: &mut Reader) {
    if number.contains('/') {
        let what = format!("the order number `{number}` holds a slash");
        let problem = reader.error(what).hint(format!(
            "write `{}`; the slash names pieces, as in `2026-014/2`",
            number.replace('/', "-")
        ));
        reader.at_value(at, problem);
    }
}

/// A language must look like a language tag.
pub fn language(tag: &str, at: &Trail, reader: &mut Reader) {
    let mut parts = tag.split('-');
    let first = parts.next().unwrap_or("");
    let is_word = |part: &str, least: usize| {
        (least..=8).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_alphanumeric())
    };
    let letters = first.bytes().all(|b| b.is_ascii_lowercase());
    if !(letters && is_word(first, 2) && first.len() <= 3 && parts.all(|part| is_word(part, 1))) {
        let problem = reader
            .error(format!("expected a language such as `en`, found `{tag}`"))
            .hint("use the two letters of the language, `en`, `de`, `fr`");
        reader.at_value(at, problem);
    }
}

/// A day of the past should not lie in the future.
pub fn not_in_future(day: NaiveDate, now: Option<NaiveDateTime>, at: &Trail, reader: &mut Reader) {
    if let Some(now) = now
        && day > now.date()
    {
        let problem = reader.warning(format!("`{day}` is later than today, {}", now.date()));
        reader.at_value(at, problem);
    }
}

/// An entry of the record should not lie in the future.
pub fn not_in_future_at(
    when: NaiveDateTime,
    now: Option<NaiveDateTime>,
    at: &Trail,
    reader: &mut Reader,
) {
    if let Some(now) = now
        && when > now
    {
        let (when, now) = (when.format("%Y-%m-%d %H:%M"), now.format("%Y-%m-%d %H:%M"));
        let problem = reader.warning(format!("`{when}` is later than now, {now}"));
        reader.at_value(at, problem);
    }
}

/// The studio must send there.
pub fn destination(word: &str, studio: &Studio, at: &Trail, reader: &mut Reader) {
    let known: Vec<&str> = studio
        .shipping
        .transit_days
        .keys()
        .map(String::as_str)
        .collect();
    if known.contains(&word) {
        return;
    }
    let problem = reader.error(format!("the studio knows no way to `{word}`"));
    let hint = match did_you_mean(word, &known) {
        Some(word) => format!("write `delivery: {word}`"),
        None => format!(
            "add `{word}: 3` below `transit_days` in studio.yaml, or use one of: {}, pickup",
            known.join(", ")
        ),
    };
    reader.at_value(at, problem.hint(hint));
}

/// The studio must have the material; chalk in a paper is worth a word.
pub fn material(key: &str, studio: &Studio, at: &Trail, reader: &mut Reader) {
    let Some(material) = studio.materials.get(key) else {
        let known: Vec<&str> = studio.materials.keys().map(String::as_str).collect();
        let problem = reader.error(format!("the studio has no material `{key}`"));
        let hint = match did_you_mean(key, &known) {
            Some(word) => format!("write `material: {word}`"),
            None => format!(
                "add `{key}:` below `materials` in studio.yaml, or use one of: {}",
                known.join(", ")
            ),
        };
        reader.at_value(at, problem.hint(hint));
        return;
    };
    if material.buffered {
        let problem = reader
            .warning(format!(
                "`{key}` is buffered with chalk, which bleaches the blue"
            ))
            .hint("treat the sheets with acid first, or choose an unbuffered paper");
        reader.at_value(at, problem);
    }
}

/// The sheet must go into some frame for its light, and a paper into a tray.
pub fn fits(piece: &Piece, studio: &Studio, at: &Trail, reader: &mut Reader) {
    let at_size = at.key("size");
    if !fits_a_frame(piece.size, piece.light, studio) {
        let problem = too_large_for_frames(piece, studio, reader);
        // Where there is no frame at all, the size is not to blame.
        match studio.frames_for(piece.light).next() {
            Some(_) => reader.at_value(&at_size, problem),
            None if piece.light == LightSource::Lamp => reader.at_value(&at.key("light"), problem),
            None => reader.at_key(at, problem),
        }
        return;
    }
    let kind = studio.materials.get(&piece.material).map(|m| m.kind);
    let tray = studio.trays.inside;
    if kind == Some(MaterialKind::Paper) && !piece.size.fits_in(tray) {
        let problem = reader
            .error(format!(
                "{} goes into no tray, they are {tray} inside",
                piece.size
            ))
            .hint("choose a smaller size, or put the larger tray into studio.yaml");
        reader.at_value(&at_size, problem);
    }
}

fn fits_a_frame(size: Size, light: LightSource, studio: &Studio) -> bool {
    let mut frames = studio.frames_for(light);
    frames.any(|frame| size.fits_in(frame.inside))
}

fn too_large_for_frames(piece: &Piece, studio: &Studio, reader: &Reader) -> Problem {
    let (place, hint) = match piece.light {
        LightSource::Sun => (
            "for the sun",
            "add one below `frames` in studio.yaml, or write `light: lamp`",
        ),
        LightSource::Lamp => (
            "with a lamp",
            "remove `light: lamp`, or add a frame with `lamp_w_m2` below `frames` in studio.yaml",
        ),
    };
    let area = |size: Size| u64::from(size.width.0) * u64::from(size.height.0);
    let frames = studio.frames_for(piece.light);
    match frames.max_by_key(|frame| area(frame.inside)) {
        None => reader
            .error(format!("the studio has no frame {place}"))
            .hint(hint),
        Some(frame) => reader
            .error(format!("{} goes into no frame {place}", piece.size))
            .hint(format!(
                "choose a smaller size; the largest frame is `{}`, {} inside",
                frame.name, frame.inside
            )),
    }
}

/// An entry must follow from what was done before to the same piece. Returns
/// whether it does.
pub fn follows(before: &Progress, event: &Event, at: &Trail, reader: &mut Reader) -> bool {
    if let Some(last) = before.events.last()
        && event.at < last.at
    {
        let last_at = last.at.format("%Y-%m-%d %H:%M");
        let what = format!("this entry is older than the one above it, {last_at}");
        let problem = reader
            .error(what)
            .hint("put the entries in the order of time");
        reader.at_value(&at.key("at"), problem);
        return false;
    }
    let next = before.stage();
    let (what, hint) = match &event.what {
        Done::Stage { stage, .. } if gates::may_follow(next, *stage) => return true,
        Done::Judged { .. } if before.done_at(Stage::Exposing).is_some() => return true,
        Done::Judged { .. } => (
            "`judged` stands before the piece was exposed".to_owned(),
            "put it after the entry `did: exposed`, or remove it".to_owned(),
        ),
        Done::Stage { stage, .. } => wrong_stage(next, *stage),
        Done::Remake { .. } if next != Some(Stage::Coating) => return true,
        Done::Remake { .. } => (
            "nothing was done to the piece that could be made again".to_owned(),
            "remove the `remake` entry".to_owned(),
        ),
    };
    let problem = reader.error(what).hint(hint);
    reader.at_value(&at.key("did"), problem);
    false
}

/// Returns what is wrong with `stage` while `next` comes next, and a hint.
fn wrong_stage(next: Option<Stage>, stage: Stage) -> (String, String) {
    let done = stage.done();
    let again = "add an entry `did: remake` with its reason before it, or remove it".to_owned();
    match next {
        None => (format!("`{done}` comes after the piece has left"), again),
        Some(next) if next > stage => (format!("`{done}` stands here a second time"), again),
        Some(next) => {
            // Drying may go unmentioned; what is missed then is the exposure.
            let next = if next == Stage::Drying {
                Stage::Exposing
            } else {
                next
            };
            let missed = next.done();
            (
                format!("`{done}` comes before `{missed}`"),
                format!("add an entry `did: {missed}` before it, or correct `did`"),
            )
        }
    }
}

/// A wait of the trade that was cut short is worth a word; it is done all the same.
pub fn wait_kept(
    before: &Progress,
    event: &Event,
    piece: &Piece,
    studio: &Studio,
) -> Option<String> {
    let Done::Stage { stage, .. } = event.what else {
        return None;
    };
    let material = studio.materials.get(&piece.material)?;
    let mark = Mark {
        stage,
        at: event.at,
    };
    let wait = gates::find_wait(before, mark, material, studio.place.zone)?;
    Some(format!(
        "`{}` is less than {} h after `{}`, {}",
        stage.done(),
        wait.hours,
        wait.since.done(),
        wait.since_at.format("%Y-%m-%d %H:%M")
    ))
}

/// An order that has left should have no piece that is still to be made.
pub fn left_unfinished(order: &Order, top: &Trail, reader: &mut Reader) {
    if order.dispatch.is_none() {
        return;
    }
    let open = order
        .pieces
        .iter()
        .find(|piece| !matches!(piece.progress.stage(), None | Some(Stage::Shipping)));
    if let Some((piece, stage)) = open.and_then(|p| Some((p, p.progress.stage()?))) {
        let name = order.piece_name(piece.number);
        let what = format!(
            "the order has left, but {name} is still at {}",
            stage.name()
        );
        let problem = reader
            .warning(what)
            .hint("bring `progress` of the piece up to date, or remove `dispatch`");
        reader.at_key(&top.key("dispatch"), problem);
    }
}
