//! The light of the coming days as a table of minutes, with windows and cautions.

use chrono::{NaiveDate, Timelike};

use super::dates::{day, minutes, time};
use super::page::{Page, Setting, Tone};
use super::weather::unfit_words;
use crate::light::{Quality, shown_minutes};
use crate::plan::hours::{LightDay, LightHour};
use crate::window::Unfit;

/// Everything that the screen shows.
#[derive(Debug, Clone, Copy)]
pub struct LightScreen<'a> {
    /// Name of the studio.
    pub studio: &'a str,
    /// The material, its dose and cover, in words.
    pub subject: &'a str,
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
    page.text(
        Tone::Quiet,
        2,
        "minutes of an exposure that starts on the full hour",
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
    let lit = screen
        .days
        .iter()
        .flat_map(|day| &day.hours)
        .map(|hour| hour.at.hour());
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
        .map(|hour| light.hours.iter().find(|lit| lit.at.hour() == *hour))
        .map(|lit| format!("{:>w$}", lit.map_or_else(|| "·".to_owned(), cell), w = CELL))
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
            "start {} · best {} at {}",
            words.join(", "),
            minutes(best.best_minutes),
            time(best.best_at)
        ),
        (None, Some(against)) => format!("no window: {}", unfit_words(&against)),
        (None, None) => "no window".to_owned(),
    };
    let uv = screen
        .uv_index
        .get(index)
        .copied()
        .flatten()
        .filter(|value| *value >= 2.5);
    let uv = uv
        .map(|value| format!(" · UV {value:.0}"))
        .unwrap_or_default();
    page.row(
        &[(DAY, Tone::Quiet, "")],
        Tone::Quiet,
        &format!("{text}{uv}"),
    );
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
    if strongest >= 2.5 {
        let text = format!(
            "The UV index reaches {strongest:.0} under a clear sky: cover skin and eyes, wait in the shade."
        );
        page.text(Tone::Look, 2, &text);
    }
}
