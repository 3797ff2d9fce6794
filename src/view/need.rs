//! What an order needs that the studio has not, and what to do about it, in words.
//!
//! A need is said as a noun ("a second large frame"), an action as what to do
//! ("coat pieces 1-2 tonight"). Both follow from the same finding.

use chrono::NaiveDate;

use super::blocked::BlockedScreen;
use super::dates::{near_day, ranges, time};
use super::page::NO_BREAK;
use crate::plan::model::Space;
use crate::plan::reason::{Blocked, Evening, Lamp, Lift, Limit, Needed, Reason};
use crate::plan::week::OrderPieces;
use crate::studio::Studio;

/// Joins with commas and an "and".
pub fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// Says everything that an order needs: `fair weather and one more pair of hands`.
pub fn needs_words(needed: &Needed, studio: &Studio, today: NaiveDate) -> String {
    let lifts = needed.lifts.iter();
    let words: Vec<String> = lifts.map(|lift| need_words(lift, studio, today)).collect();
    listed(&words)
}

/// Says what a lift adds to the studio, as a noun.
pub fn need_words(lift: &Lift, studio: &Studio, today: NaiveDate) -> String {
    match lift {
        Lift::FairSky => "fair weather".to_owned(),
        Lift::Material { material, from } => {
            format!(
                "{} by {}",
                material_name(studio, material),
                near_day(*from, today)
            )
        }
        Lift::DarkDry { space, more } => places_words("dark-dry", *space, *more),
        Lift::WetDry { space, more } => places_words("wet-dry", *space, *more),
        Lift::Frame { name, more } => frame_words(studio, name, *more),
        Lift::Trays { more } => another(i64::from(studio.trays.count), *more, "wash tray"),
        Lift::Sessions { more } => {
            let has = i64::from(studio.sensitizer.sessions_per_day);
            format!("{} a day", another(has, *more, "coating session"))
        }
        Lift::Collection { on } => {
            format!("a parcel brought to the carrier {}", on_day(*on, today))
        }
        Lift::Hours { on, until } => {
            let until = time(on.and_time(*until));
            format!("work till {until} {}", on_day(*on, today))
        }
        Lift::Hands { more: 1 } => "one more pair of hands".to_owned(),
        Lift::Hands { more } => format!("{} more pairs of hands", in_words(*more)),
    }
}

fn material_name<'a>(studio: &'a Studio, key: &'a str) -> &'a str {
    let material = studio.materials.get(key);
    material.map_or(key, |material| material.name.as_str())
}

/// `today`, `tomorrow`, or `on Thu 14 May`.
fn on_day(on: NaiveDate, today: NaiveDate) -> String {
    match (on - today).num_days() {
        0 | 1 => near_day(on, today),
        _ => format!("on {}", near_day(on, today)),
    }
}

fn places_words(rack: &str, space: Space, more: i64) -> String {
    match (space, more) {
        (Space::Sheet, 1) => format!("one more {rack} place"),
        (Space::Sheet, more) => format!("{} more {rack} places", in_words(more)),
        (Space::Line, more) => format!("{more}{NO_BREAK}cm more {rack} line"),
    }
}

fn frame_words(studio: &Studio, name: &str, more: i64) -> String {
    let frame = studio.frames.iter().find(|frame| frame.name == name);
    let has = frame.map_or(0, |frame| i64::from(frame.count));
    let noun = if name.ends_with("frame") {
        name.to_owned()
    } else {
        format!("{name} frame")
    };
    another(has, more, &noun)
}

/// `a second large frame`, `two more large frames`.
fn another(has: i64, more: i64, noun: &str) -> String {
    match (more, ordinal(has + 1)) {
        (1, Some(ordinal)) => format!("a {ordinal} {noun}"),
        (1, None) => format!("one more {noun}"),
        (more, _) => format!("{} more {noun}s", in_words(more)),
    }
}

fn ordinal(number: i64) -> Option<&'static str> {
    let ordinals = ["first", "second", "third", "fourth", "fifth", "sixth"];
    ordinals.get(usize::try_from(number - 1).ok()?).copied()
}

/// Returns a small number as a word.
pub fn in_words(number: i64) -> String {
    let words = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    let word = usize::try_from(number).ok().and_then(|n| words.get(n));
    word.map_or_else(|| number.to_string(), |word| (*word).to_owned())
}

/// Chooses the way out that is easiest to go among the needs of an order; none if
/// only the weather could help.
pub fn easiest(blocked: &Blocked) -> Option<&Needed> {
    let needs = blocked.reasons.iter().filter_map(|reason| match reason {
        Reason::Limits(needed) => Some(needed),
        _ => None,
    });
    needs
        .filter_map(|needed| Some((trouble(needed)?, needed)))
        .min_by_key(|(trouble, _)| *trouble)
        .map(|(_, needed)| needed)
}

/// How much it takes to lift a set of limits, by the hardest of them: what she can do
/// herself, what must be set up, what must be bought or asked of others.
fn trouble(needed: &Needed) -> Option<u8> {
    let of = |limit: &Limit| match limit {
        Limit::Hours => Some(0),
        Limit::Collections => Some(1),
        Limit::Sessions => Some(2),
        Limit::DarkDry | Limit::WetDry => Some(3),
        Limit::Trays => Some(4),
        Limit::Weather => needed.lamp.as_ref().map(|_| 5),
        Limit::Frames => Some(6),
        Limit::Material => Some(7),
        Limit::Hands => Some(8),
    };
    let each: Option<Vec<u8>> = needed.limits.iter().map(of).collect();
    each.and_then(|each| each.into_iter().max())
}

/// Says what to do so that the needs of an order are met; what the customer is to be
/// asked about comes last.
pub fn do_words(screen: &BlockedScreen, order: usize, needed: &Needed) -> String {
    let mut lifts: Vec<&Lift> = needed.lifts.iter().collect();
    lifts.sort_by_key(|lift| **lift == Lift::FairSky);
    let words: Vec<String> = lifts
        .into_iter()
        .filter_map(|lift| lift_action(screen, order, needed, lift))
        .collect();
    listed(&words)
}

fn lift_action(
    screen: &BlockedScreen,
    order: usize,
    needed: &Needed,
    lift: &Lift,
) -> Option<String> {
    let today = screen.now.date();
    let need = need_words(lift, screen.studio, today);
    Some(match lift {
        Lift::FairSky => lamp_words(screen, order, needed.lamp.as_ref()?),
        Lift::Material { .. } => format!("get {need}"),
        Lift::DarkDry { .. } | Lift::WetDry { .. } => format!("make room for {need}"),
        Lift::Frame { .. } => format!("borrow or build {need}"),
        Lift::Trays { .. } => format!("set up {need}"),
        Lift::Sessions { more } => {
            let sessions = i64::from(screen.studio.sensitizer.sessions_per_day) + more;
            format!("mix once more a day: `sessions_per_day: {sessions}` in studio.yaml")
        }
        Lift::Collection { on } => {
            format!(
                "bring the parcel to the carrier yourself {}",
                on_day(*on, today)
            )
        }
        Lift::Hours { on, .. } => {
            let evening = needed.evenings.iter().find(|evening| evening.on == *on)?;
            evening_words(screen, order, evening)
        }
        Lift::Hands { .. } => format!("ask for {need}"),
    })
}

fn lamp_words(screen: &BlockedScreen, order: usize, lamp: &Lamp) -> String {
    let all = lamp.pieces.len() == screen.orders[order].pieces.len();
    let pieces = if all && lamp.pieces.len() > 1 {
        "all pieces".to_owned()
    } else {
        pieces_words(&lamp.pieces)
    };
    format!("lamp for {pieces}: set `light: lamp`, if the customer agrees")
}

/// `coat pieces 1-2 tonight till 19:40`, or `work till 20:00 on Thu 14 May`.
fn evening_words(screen: &BlockedScreen, order: usize, evening: &Evening) -> String {
    let today = screen.now.date();
    let until = time(evening.on.and_time(evening.until));
    if !evening.coating_alone || evening.coats.is_empty() {
        return format!("work till {until} {}", on_day(evening.on, today));
    }
    let when = match (evening.on - today).num_days() {
        0 => "tonight".to_owned(),
        1 => "tomorrow night".to_owned(),
        _ => format!("on the evening of {}", near_day(evening.on, today)),
    };
    let name = |pieces: &OrderPieces| {
        if pieces.order == order {
            pieces_words(&pieces.numbers)
        } else {
            let number = &screen.orders[pieces.order].number;
            format!("{number}/{}", ranges(&pieces.numbers))
        }
    };
    let pieces: Vec<String> = evening.coats.iter().map(name).collect();
    format!("coat {} {when}, till {until}", listed(&pieces))
}

/// `piece 2`, `pieces 1-3,5`.
pub fn pieces_words(numbers: &[u32]) -> String {
    let noun = if numbers.len() == 1 {
        "piece"
    } else {
        "pieces"
    };
    format!("{noun}{NO_BREAK}{}", ranges(numbers))
}
