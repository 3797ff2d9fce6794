//! Orders that came out of a table.

use super::dates::count;
use super::page::{Page, Setting, Tone};

/// An order that was taken, or would be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    /// Its number here.
    pub number: String,
    /// Its number there.
    pub reference: String,
    /// Who ordered.
    pub customer: String,
    /// Entries of its list of pieces.
    pub pieces: usize,
    /// Its file.
    pub file: String,
}

/// What the screen shows.
#[derive(Debug, Clone, Copy)]
pub struct TakenScreen<'a> {
    /// New orders.
    pub taken: &'a [Taken],
    /// References that were here before.
    pub known: &'a [String],
    /// Whether nothing was written.
    pub preview: bool,
}

/// Writes the list of new orders.
pub fn render_taken(screen: &TakenScreen, setting: Setting) -> String {
    let mut page = Page::new(setting);
    let orders = count(screen.taken.len(), "order");
    let head = match screen.preview {
        true => format!("{orders} would be taken; nothing was written"),
        false => format!("{orders} taken"),
    };
    let known = match screen.known.len() {
        0 => String::new(),
        _ => format!("{} known already", count(screen.known.len(), "order")),
    };
    page.heading(&head, &known);
    for taken in screen.taken {
        let words = format!(
            "{}, {}, {}; {}",
            taken.reference,
            taken.customer,
            count(taken.pieces, "kind of piece").replace("kind of pieces", "kinds of piece"),
            taken.file
        );
        page.row(&[(10, Tone::Strong, &taken.number)], Tone::Plain, &words);
    }
    page.into_text()
}
