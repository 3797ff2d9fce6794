//! The light of the coming days as a table of minutes, with windows and cautions.

use chrono::{NaiveDate, Timelike};

use super::dates::{day, minutes, time};
use super::page::{Page, Setting, Tone};
use super::weather::{dark_words, unfit_words, uv_caution, uv_short};
use crate::experience::Taught;
use crate::light::{Quality, shown_minutes};
use crate::plan::dark::Dark;
use crate::plan::hours::{LightDay, LightHour, LightSpan};
use crate::window::Unfit;

/// Everything that the screen shows.
#[derive(Debug, Clone, Copy)]
pub struct LightScreen<'a> {
    /// Name of the studio.
    pub studio: &'a str,
    /// The material, its dose and cover, in words.
    pub subject: &'a str,
    /// What the dose rests on, in words.
    pub dose_note: &'a str,
    /// What is known of the dose.
    pub taught: Option<&'a Taught>,
    /// What the figures rest on, in one line.
    pub forecast_note: &'a str,
    /// The first day.
    pub today: NaiveDate,
    /// The light.
    pub days: &'a [LightDay],
    /// Highest clear-sky UV index of each of the days.
    pub uv_index: &'a [Option<f64>],
}

/// Column of the day. [characters]
const DAY: usize = 11;
/// Column of an hour. [characters]
const CELL: usize = 5;

/// Writes the table.
pub fn render_light(screen: &LightScreen, setting: Setting) -> String {
    let mut page = Page::new(setting);
    page.heading(
        &format!("{} · light for {}", screen.studio, screen.subject),
        "",
    );
    page.text(Tone::Quiet, 2, screen.forecast_note);
    page.text(Tone::Quiet, 2, screen.dose_note);
    page.text(
        Tone::Quiet,
        2,
        "minutes of an exposure that starts on the full hour; in brackets nine of ten cases",
    );
    let hours = hours_shown(screen, setting.width);
    page.gap();
    let cells: String = hours
        .iter()
        .map(|hour| format!("{hour:>w$}", w = CELL))
        .collect();
    page.row(&[(DAY, Tone::Quiet, "")], Tone::Quiet, cells.as_str());
    for (index, light) in screen.days.iter().enumerate() {
        day_rows(screen, index, light, &hours, &mut page);
    }
    legend(screen, &mut page);
    page.into_text()
}

/// The hours that fit the width, those with light on any day.
fn hours_shown(screen: &LightScreen, width: usize) -> Vec<u32> {
    let lit = screen.days.iter().flat_map(|day| {
        let lit = day.hours.iter().map(|hour| hour.at.hour());
        lit.chain(day.unknown.iter().map(Timelike::hour))
    });
    let (Some(first), Some(last)) = (lit.clone().min(), lit.max()) else {
        return Vec::new();
    };
    let room = (width.saturating_sub(DAY + 3) / CELL).max(1) as u32;
    // The middle of the day is what matters when not all of it fits.
    let spare = (last - first + 1).saturating_sub(room);
    let from = first + spare / 2;
    (from..=last - (spare - spare / 2)).collect()
}

fn day_rows(screen: &LightScreen, index: usize, light: &LightDay, hours: &[u32], page: &mut Page) {
    let name = day(light.date, screen.today);
    let cells: String = hours
        .iter()
        .map(|hour| format!("{:>w$}", hour_cell(light, *hour), w = CELL))
        .collect();
    page.row(&[(DAY, Tone::Strong, &name)], Tone::Plain, cells.as_str());
    let mut words: Vec<String> = Vec::new();
    for span in &light.windows {
        words.push(format!("{}–{}", time(span.from), time(span.until)));
    }
    let best = light
        .windows
        .iter()
        .min_by(|a, b| a.best_minutes.total_cmp(&b.best_minutes));
    let text = match (best, against(light)) {
        (Some(best), _) => format!(
            "start {} · best {}{} at {}",
            words.join(", "),
            minutes(best.best_minutes),
            between(light, best).unwrap_or_default(),
            time(best.best_at)
        ),
        (None, against) => match (&light.dark, against) {
            (Some(Dark::DayOff), _) => "no work".to_owned(),
            (Some(dark), _) => {
                let words = dark_words(dark).unwrap_or_default();
                format!("no window: {words}")
            }
            (None, Some(against)) => format!("no window: {}", unfit_words(&against)),
            (None, None) => "no window".to_owned(),
        },
    };
    let uv = uv_short(screen.uv_index.get(index).copied().flatten());
    let uv = uv.map(|words| format!(" · {words}")).unwrap_or_default();
    page.row(
        &[(DAY, Tone::Quiet, "")],
        Tone::Quiet,
        &format!("{text}{uv}"),
    );
}

/// Between which minutes the best exposure ends, by the full hour next to it.
fn between(light: &LightDay, best: &LightSpan) -> Option<String> {
    let away = |hour: &&LightHour| (hour.at - best.best_at).num_minutes().abs();
    let hour = light.hours.iter().min_by_key(away)?;
    let (least, most) = hour.between?;
    let scale = best.best_minutes / hour.minutes;
    let shown = |value: f64| shown_minutes(value * scale);
    let most = most.map_or_else(|| "…".to_owned(), |most| shown(most).to_string());
    Some(format!(" ({}–{most})", shown(least)))
}

/// What stands in the column of an hour.
fn hour_cell(light: &LightDay, hour: u32) -> String {
    let is_unknown = light.unknown.iter().any(|at| at.hour() == hour);
    match light.hours.iter().find(|lit| lit.at.hour() == hour) {
        Some(lit) => cell(lit),
        None if is_unknown => "?".to_owned(),
        None => "·".to_owned(),
    }
}

/// Minutes, with a letter for what stands against them.
fn cell(hour: &LightHour) -> String {
    let mark = match (&hour.unfit, hour.quality) {
        (Some(Unfit::Rain { .. }), _) => "r",
        (Some(Unfit::Wind { .. } | Unfit::Gust { .. }), _) => "w",
        (Some(Unfit::TooLong { .. }), _) => "l",
        (Some(Unfit::NoForecast), _) | (None, Quality::ClearSkyOnly) => "?",
        (None, Quality::WeakLight | Quality::Rough) => "~",
        (None, Quality::Good) => "",
    };
    let value = shown_minutes(hour.minutes);
    // A mark takes a column; half minutes are dropped beside it.
    let value = if mark.is_empty() {
        value
    } else {
        value.round()
    };
    if value >= 1000.0 {
        "·".to_owned()
    } else {
        format!("{value}{mark}")
    }
}

fn against(light: &LightDay) -> Option<Unfit> {
    let hours = light.hours.iter().filter(|hour| hour.unfit.is_some());
    hours
        .min_by(|a, b| a.minutes.total_cmp(&b.minutes))
        .and_then(|hour| hour.unfit)
}

fn legend(screen: &LightScreen, page: &mut Page) {
    page.gap();
    page.text(
        Tone::Quiet,
        2,
        "· no light · r rain · w wind · l takes too long · ~ rough figure · ? no forecast",
    );
    let strongest = screen
        .uv_index
        .iter()
        .copied()
        .flatten()
        .fold(0.0, f64::max);
    if let Some(text) = uv_caution(strongest) {
        page.text(Tone::Look, 2, &format!("{text}."));
    }
}
