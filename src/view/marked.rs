//! What a mark or a remake changed, in a line an order.

use chrono::{NaiveDate, NaiveDateTime};

use super::dates::{moment, ranges};
use super::page::{Page, Setting, Tone};
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
