//! The page of a day: heading, picture, lists to tick.

use chrono::Datelike;
use serde::Serialize;

use super::SheetScreen;
use super::lists::{self, ErrandRow, FinishRow, LeaveRow, MixBlock, PackRow, RoundCard, WashRow};
use super::picture::{Format, Subject, day_picture};
use super::words::{light_words, quality_words};
use crate::light::Quality;
use crate::plan::daylight::DayLight;
use crate::plan::week::What;
use crate::view::dates::ranges;
use crate::view::plan::{UV_ASKS_FOR_COVER, aged_groups, unwashed};

/// A day as its template sees it.
#[derive(Debug, Serialize)]
pub(super) struct DayData {
    id: String,
    number: u32,
    weekday: String,
    month: String,
    near: &'static str,
    sheet: usize,
    sheets: usize,
    light: String,
    minds: Vec<String>,
    /// How closely the lists must be set for one page: `roomy`, `close`, `tight` or
    /// `dense`.
    setting: &'static str,
    picture_wide: String,
    picture_narrow: String,
    scale: Option<String>,
    roughness: Option<&'static str>,
    errands: Vec<ErrandRow>,
    mixes: Vec<MixBlock>,
    rounds: Vec<RoundCard>,
    washes: Vec<WashRow>,
    finishes: Vec<FinishRow>,
    packs: Vec<PackRow>,
    leaves: Vec<LeaveRow>,
    idle: bool,
}

/// Describes a day; `place` is the number of its page and how many there are.
pub(super) fn day(
    screen: &SheetScreen,
    light: &DayLight,
    place: (usize, usize),
) -> Option<DayData> {
    let sky = screen.skies.iter().find(|sky| sky.date == light.date)?;
    let steps = screen.steps_on(light.date);
    let subject = Subject {
        screen,
        light,
        sky,
        steps,
        hours: screen.hours(),
    };
    let numbered = super::numbered::numbered(steps);
    let mut data = DayData {
        id: format!("day-{}", light.date),
        number: light.date.day(),
        weekday: light.date.format("%A").to_string(),
        month: light.date.format("%B %Y").to_string(),
        near: match (light.date - screen.now.date()).num_days() {
            0 => "Today",
            1 => "Tomorrow",
            _ => "",
        },
        sheet: place.0,
        sheets: place.1,
        light: light_words(light),
        minds: minds(screen, light),
        setting: "roomy",
        picture_wide: day_picture(&subject, Format::Wide),
        picture_narrow: day_picture(&subject, Format::Narrow),
        scale: screen.usual.map(|(_, names)| {
            format!(
                "Minutes on the left: what {} takes in such light.",
                names.join(" or ")
            )
        }),
        roughness: roughness(screen, light),
        errands: lists::errands(screen, light.date),
        mixes: lists::mixes(screen, &numbered),
        rounds: lists::rounds(screen, &numbered),
        washes: lists::washes(screen, &numbered),
        finishes: lists::finishes(screen, &numbered),
        packs: lists::packs(screen, &numbered),
        leaves: lists::leaves(screen, steps),
        idle: steps.is_empty() && !screen.errands.iter().any(|e| e.by.date() == light.date),
    };
    data.setting = setting(&data);
    Some(data)
}

/// Judges by the number of lines how closely the lists must be set.
fn setting(data: &DayData) -> &'static str {
    let pieces: usize = data.rounds.iter().map(RoundCard::lines).sum();
    let coats: usize = data.mixes.iter().map(MixBlock::lines).sum();
    let packs: usize = data.packs.iter().map(PackRow::lines).sum();
    // Every mix stands with what to spare and with its cautions below.
    let beside = 4 * data.mixes.len() + 2 * data.errands.len();
    let others = data.washes.len() + data.finishes.len() + data.leaves.len();
    match pieces + coats + packs + beside + others {
        ..=40 => "roomy",
        41..=60 => "close",
        61..=90 => "tight",
        _ => "dense",
    }
}

/// Lists what to mind on the day besides the steps.
fn minds(screen: &SheetScreen, light: &DayLight) -> Vec<String> {
    let mut minds = Vec::new();
    if light.date == screen.now.date() {
        for (order, numbers) in unwashed(screen.orders) {
            minds.push(format!(
                "{order}/{} exposed and not washed: into the water first.",
                ranges(&numbers)
            ));
        }
        minds.extend(
            aged_groups(screen.aged)
                .into_iter()
                .map(|words| words + "."),
        );
    }
    let outdoors = screen
        .steps_on(light.date)
        .iter()
        .any(|step| match &step.what {
            What::Expose(round) => !round.lamp,
            _ => false,
        });
    let strong = light.uv_index.filter(|index| *index >= UV_ASKS_FOR_COVER);
    if let Some(index) = strong.filter(|_| outdoors) {
        minds.push(format!(
            "UV index up to {index:.0}: cover skin and eyes, wait in the shade."
        ));
    }
    minds
}

/// Says what the rough figures of the day rest on.
fn roughness(screen: &SheetScreen, light: &DayLight) -> Option<&'static str> {
    let rounds = screen
        .steps_on(light.date)
        .iter()
        .filter_map(|step| match &step.what {
            What::Expose(round) if !round.lamp => Some(round.quality),
            _ => None,
        });
    let worst: Option<Quality> = rounds.max();
    worst.and_then(quality_words)
}
