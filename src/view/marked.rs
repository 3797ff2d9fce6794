//! What a mark or a remake changed, in a line an order.

use chrono::{NaiveDate, NaiveDateTime};

use super::dates::{minutes, moment, ranges};
use super::page::{Page, Setting, Tone};
use super::weather::clear_taken_words;
use crate::stage::Stage;

/// A change that was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Marked {
    /// Number of the order.
    pub order: String,
    /// Numbers of the pieces; empty for the whole order.
    pub pieces: Vec<u32>,
    /// The word for it: `coated`, `shipped`, `remake`.
    pub word: String,
    /// When it was done.
    pub at: NaiveDateTime,
    /// What comes next; none once it has left.
    pub next: Option<Stage>,
    /// The file that holds it now.
    pub file: String,
}

/// Writes the changes.
pub fn render_marked(marked: &[Marked], today: NaiveDate, setting: Setting) -> String {
    let mut page = Page::new(setting);
    for change in marked {
        let pieces = match change.pieces.as_slice() {
            [] => change.order.clone(),
            pieces => format!("{}/{}", change.order, ranges(pieces)),
        };
        let next = match change.next {
            Some(stage) => format!("next: {}", stage.name()),
            None => "it has left".to_owned(),
        };
        let at = moment(change.at, today);
        page.text(
            Tone::Plain,
            0,
            &format!("{pieces} {} {at}, {next} ({})", change.word, change.file),
        );
    }
    page.into_text()
}

/// Prints that lay long between the light and the water.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LateWash {
    /// Number of the order.
    pub order: String,
    /// Numbers of the pieces, ascending.
    pub pieces: Vec<u32>,
    /// How long the one lay that lay longest. [min]
    pub lay_minutes: i64,
    /// The file that holds the entry.
    pub file: String,
}

/// Writes what to look at; `within` is what the studio means to keep to. [min]
///
/// What is not washed out goes on changing in damp air and stains the whites: common
/// practice, no source.
pub fn render_late_washes(late: &[LateWash], within: f64, setting: Setting) -> String {
    let mut page = Page::new(setting);
    for late in late {
        let name = format!("{}/{}", late.order, ranges(&late.pieces));
        let lay = match (late.lay_minutes / 60, late.lay_minutes % 60) {
            (0, minutes) => format!("{minutes} min"),
            (hours, _) if hours >= 48 => format!("{} days", hours / 24),
            (hours, 0) => format!("{hours} h"),
            (hours, minutes) => format!("{hours} h {minutes} min"),
        };
        let text = format!(
            "{name} lay {lay} between the light and the wash; you mean to wash within {} \
             (`minutes: {{wash_within: {within}}}`). If it was washed sooner, correct `at` in \
             `{}`; if not, look for stains in the whites before it is finished.",
            minutes(within),
            late.file
        );
        page.text(Tone::Look, 0, &text);
    }
    page.into_text()
}

/// Prints that lay in the light under a sky of which nothing is known.
#[derive(Debug, Clone, PartialEq)]
pub struct GuessedSky {
    /// Number of the order.
    pub order: String,
    /// Numbers of the pieces, ascending.
    pub pieces: Vec<u32>,
    /// When they were taken in.
    pub at: NaiveDateTime,
    /// How long they lay there. [min]
    pub minutes: f64,
    /// The file that holds the entry.
    pub file: String,
}

/// Writes whose dose rests on a clear sky that nobody saw, and how to say what was seen.
pub fn render_guessed_skies(
    guessed: &[GuessedSky],
    has_forecast: bool,
    setting: Setting,
) -> String {
    let mut page = Page::new(setting);
    for guessed in guessed {
        let name = format!("{}/{}", guessed.order, ranges(&guessed.pieces));
        let text = format!(
            "{name}: {} Its dose is the most there can have been. If you know how it was, take \
             the entry out of `{}` and mark again: fairday mark exposed {name} --at \"{}\" \
             --minutes {} --sky …",
            clear_taken_words(has_forecast),
            guessed.file,
            guessed.at.format("%Y-%m-%d %H:%M"),
            guessed.minutes
        );
        page.text(Tone::Look, 0, &text);
    }
    page.into_text()
}
