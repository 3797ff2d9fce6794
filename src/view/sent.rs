//! What a run of sending did, letter by letter.

use super::dates::count;
use super::page::{Page, Setting, Tone};

/// One letter of the run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SentLine {
    /// Number of the order.
    pub order: String,
    /// Kind of the letter.
    pub kind: String,
    /// How it went.
    pub tone: SentTone,
    /// The same in words.
    pub words: String,
}

/// How the sending of a letter went.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SentTone {
    /// The customer is told.
    Good,
    /// It waits for something.
    Look,
    /// It did not work.
    Bad,
}

/// Writes the list; `way` names where letters went.
pub fn render_sent(lines: &[SentLine], way: &str, setting: Setting) -> String {
    let mut page = Page::new(setting);
    if lines.is_empty() {
        page.text(Tone::Good, 0, "No letter is due.");
        return page.into_text();
    }
    for line in lines {
        let tone = match line.tone {
            SentTone::Good => Tone::Good,
            SentTone::Look => Tone::Look,
            SentTone::Bad => Tone::Alarm,
        };
        let labels = [
            (10, Tone::Strong, line.order.as_str()),
            (12, tone, line.kind.as_str()),
        ];
        page.row(&labels, Tone::Plain, &line.words);
    }
    let sent = lines
        .iter()
        .filter(|line| line.words.starts_with("sent"))
        .count();
    page.text(
        Tone::Quiet,
        2,
        &format!("{} through {way}", count(sent, "letter")),
    );
    page.into_text()
}
