//! The page of a day: heading, picture, lists to tick.

use chrono::Datelike;
use serde::Serialize;

use super::SheetScreen;
use super::lists::{self, ErrandRow, FinishRow, LeaveRow, MixBlock, PackRow, RoundCard, WashRow};
use super::measure::day_size;
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
    pub(super) light: String,
    pub(super) minds: Vec<String>,
    /// Size of the lists on paper. [pt]
    lists_pt: String,
    picture_wide: String,
    picture_narrow: String,
    /// How to read the picture, and what it rests on.
    pub(super) caption: String,
    pub(super) errands: Vec<ErrandRow>,
    pub(super) mixes: Vec<MixBlock>,
    pub(super) rounds: Vec<RoundCard>,
    pub(super) washes: Vec<WashRow>,
    pub(super) finishes: Vec<FinishRow>,
    pub(super) packs: Vec<PackRow>,
    pub(super) leaves: Vec<LeaveRow>,
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
    let wide = day_picture(&subject, Format::Wide);
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
        light: light_words(screen, light),
        minds: minds(screen, light),
        lists_pt: String::new(),
        picture_wide: wide.image,
        picture_narrow: day_picture(&subject, Format::Narrow).image,
        caption: caption(screen, light),
        errands: lists::errands(screen, light.date),
        mixes: lists::mixes(screen, &numbered),
        rounds: lists::rounds(screen, &numbered),
        washes: lists::washes(screen, &numbered),
        finishes: lists::finishes(screen, &numbered),
        packs: lists::packs(screen, &numbered),
        leaves: lists::leaves(screen, steps),
        idle: steps.is_empty() && !screen.errands.iter().any(|e| e.by.date() == light.date),
    };
    data.lists_pt = day_size(&data, wide.height, screen.paper);
    Some(data)
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

/// Says how to read the picture, and what it rests on.
fn caption(screen: &SheetScreen, light: &DayLight) -> String {
    let scale = screen.usual.map(|(_, names)| {
        let names = names.join(" or ");
        format!("Minutes on the left: what {names} takes in such light.")
    });
    let roughness = roughness(screen, light).map(|words| format!("{words}."));
    let always = [
        "Numbers are those of the lists.".to_owned(),
        screen.forecast_note.to_owned(),
    ];
    let words = scale.into_iter().chain(roughness).chain(always);
    words.collect::<Vec<_>>().join(" ")
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
