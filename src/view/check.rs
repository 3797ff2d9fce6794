//! All files at once: every problem, and how many files are in order.

use super::dates::count;
use super::page::{Page, Setting, Tone};
use super::problem::render_all;
use crate::problem::{Problem, Severity};

/// What the screen shows.
#[derive(Debug, Clone, Copy)]
pub struct CheckScreen<'a> {
    /// Every file that was read.
    pub files: &'a [String],
    /// Order files that gave no order.
    pub unread: &'a [String],
    /// What was found, by file and line.
    pub problems: &'a [Problem],
    /// What was not looked at, since studio.yaml cannot be used.
    pub not_looked_at: &'a [&'static str],
}

/// Writes the problems and a line about all of them.
pub fn render_check(screen: &CheckScreen, setting: Setting) -> String {
    let mut page = Page::new(setting);
    if !screen.problems.is_empty() {
        page.verbatim(
            0,
            &render_all(screen.problems, setting.width, setting.color),
        );
        page.gap();
    }
    let (tone, words) = summary(screen);
    page.text(tone, 0, &words);
    if !screen.not_looked_at.is_empty() {
        let words = format!(
            "Not looked at until studio.yaml is mended: {}.",
            screen.not_looked_at.join("; ")
        );
        page.text(Tone::Look, 0, &words);
    }
    page.into_text()
}

fn summary(screen: &CheckScreen) -> (Tone, String) {
    let files = count(screen.files.len(), "file");
    let of = |severity| {
        let alike = screen.problems.iter().filter(|p| p.severity == severity);
        alike.count()
    };
    let (errors, warnings) = (of(Severity::Error), of(Severity::Warning));
    if errors + warnings == 0 {
        return (Tone::Good, format!("{files} read, nothing to mend."));
    }
    let tone = if errors > 0 { Tone::Alarm } else { Tone::Look };
    let found: Vec<String> = [(errors, "error"), (warnings, "warning")]
        .into_iter()
        .filter(|(number, _)| *number > 0)
        .map(|(number, noun)| count(number, noun))
        .collect();
    let left_out = match screen.unread.len() {
        0 => String::new(),
        number => format!("; {} of no order until mended", count(number, "file")),
    };
    (
        tone,
        format!("{files} read: {}{left_out}.", found.join(", ")),
    )
}
