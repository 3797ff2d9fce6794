//! A page of plain text for a terminal: title, rules, rows with hanging lines.
//!
//! Width and colour are given. Colour only repeats what the words say; a page
//! without it loses nothing.

use anstyle::{AnsiColor, Style};
use textwrap::{Options, WordSeparator, WordSplitter, WrapAlgorithm, wrap};
use unicode_width::UnicodeWidthStr;

/// A space at which no line ends; it is printed as a plain one.
pub const NO_BREAK: &str = "\u{a0}";

/// What a piece of text is, for its colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// Ordinary text.
    Plain,
    /// Headings and what to read first.
    Strong,
    /// Side remarks.
    Quiet,
    /// Something done or on course.
    Good,
    /// Something to look at.
    Look,
    /// Something that goes wrong.
    Alarm,
}

impl Tone {
    fn style(self) -> Style {
        match self {
            Tone::Plain => Style::new(),
            Tone::Strong => Style::new().bold(),
            Tone::Quiet => Style::new().dimmed(),
            Tone::Good => AnsiColor::Cyan.on_default(),
            Tone::Look => AnsiColor::Yellow.on_default(),
            Tone::Alarm => AnsiColor::Red.on_default().bold(),
        }
    }
}

/// How a page is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Setting {
    /// Columns, at least 40.
    pub width: usize,
    /// Whether tones are coloured.
    pub color: bool,
}

/// A page being written.
#[derive(Debug, Clone)]
pub struct Page {
    setting: Setting,
    out: String,
}

impl Page {
    /// Starts an empty page.
    pub fn new(setting: Setting) -> Page {
        let width = setting.width.max(40);
        Page {
            setting: Setting { width, ..setting },
            out: String::new(),
        }
    }

    /// Returns the text of the page.
    pub fn into_text(self) -> String {
        self.out
    }

    /// Returns `text` in a tone, or as it is on a page without colour.
    pub fn tint(&self, tone: Tone, text: &str) -> String {
        let style = tone.style();
        if !self.setting.color || text.is_empty() || tone == Tone::Plain {
            return text.to_owned();
        }
        format!("{style}{text}{style:#}")
    }

    /// Adds an empty line, unless the page is empty.
    pub fn gap(&mut self) {
        if !self.out.is_empty() {
            self.out.push('\n');
        }
    }

    /// Adds a heading, with a quiet remark behind it.
    pub fn heading(&mut self, text: &str, remark: &str) {
        let room = self.setting.width.saturating_sub(text.width() + 2);
        if remark.is_empty() || remark.width() > room {
            self.text(Tone::Strong, 0, text);
            if !remark.is_empty() {
                self.text(Tone::Quiet, 2, remark);
            }
            return;
        }
        let (text, remark) = (
            self.tint(Tone::Strong, text),
            self.tint(Tone::Quiet, remark),
        );
        self.push_line(&format!("{text}  {remark}"));
    }

    /// Adds wrapped text that is indented by `indent` columns.
    pub fn text(&mut self, tone: Tone, indent: usize, text: &str) {
        for line in self.lines(text, indent) {
            let line = self.tint(tone, &line);
            self.push_line(&format!("{:indent$}{line}", ""));
        }
    }

    /// Adds a row: labels in columns of fixed width, then text that hangs behind them.
    ///
    /// A label longer than its column pushes the text on, it is never cut.
    pub fn row(&mut self, labels: &[(usize, Tone, &str)], tone: Tone, text: &str) {
        let mut head = String::from("  ");
        let mut used = 2;
        let mut column = 2;
        for (width, tone, label) in labels {
            head.push_str(&self.tint(*tone, label));
            used += label.width();
            column += width;
            let pad = column.saturating_sub(used).max(1);
            head.push_str(&" ".repeat(pad));
            used += pad;
        }
        let indent: usize = 2 + labels.iter().map(|(width, ..)| width).sum::<usize>();
        let mut lines = self.lines(text, indent).into_iter();
        let first = lines.next().unwrap_or_default();
        let first = self.tint(tone, &first);
        self.push_line(&format!("{head}{first}"));
        for line in lines {
            let line = self.tint(tone, &line);
            self.push_line(&format!("{:indent$}{line}", ""));
        }
    }

    /// Adds text as it is, line by line, indented by `indent` columns.
    pub fn verbatim(&mut self, indent: usize, text: &str) {
        for line in text.lines() {
            self.push_line(&format!("{:indent$}{line}", ""));
        }
    }

    fn lines(&self, text: &str, indent: usize) -> Vec<String> {
        let room = self.setting.width.saturating_sub(indent).max(20);
        let options = Options::new(room)
            .word_separator(WordSeparator::AsciiSpace)
            .word_splitter(WordSplitter::NoHyphenation)
            .wrap_algorithm(WrapAlgorithm::FirstFit);
        let text = keep_units(text);
        let lines = wrap(&text, options).into_iter();
        lines.map(|line| line.into_owned()).collect()
    }

    fn push_line(&mut self, line: &str) {
        self.out
            .push_str(line.trim_end().replace(NO_BREAK, " ").as_str());
        self.out.push('\n');
    }
}

/// Units that stay on the line of their number.
const UNITS: [&str; 14] = [
    "g", "kg", "ml", "l", "mm", "cm", "m", "in", "min", "h", "m/s", "%", "°C", "kJ/m²",
];

/// Protects the spaces between numbers and their units.
pub(super) fn keep_units(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for (index, word) in text.split(' ').enumerate() {
        let bare = word.trim_end_matches([',', '.', ':', ';', ')']);
        let after_number = out.ends_with(|c: char| c.is_ascii_digit());
        if index > 0 {
            out.push_str(match after_number && UNITS.contains(&bare) {
                true => NO_BREAK,
                false => " ",
            });
        }
        out.push_str(word);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLAIN: Setting = Setting {
        width: 40,
        color: false,
    };

    #[test]
    fn text_hangs_behind_its_labels_and_stays_inside_the_width() {
        let mut page = Page::new(PLAIN);
        page.row(
            &[(7, Tone::Plain, "09:15"), (6, Tone::Plain, "coat")],
            Tone::Plain,
            "one two three four five six seven",
        );
        assert_eq!(
            page.into_text(),
            "  09:15  coat  one two three four five\n               six seven\n"
        );
    }

    #[test]
    fn a_line_ends_at_no_protected_space() {
        let mut page = Page::new(PLAIN);
        page.text(
            Tone::Plain,
            0,
            "this order of two pieces leaves on Tue\u{a0}12\u{a0}May",
        );
        assert_eq!(
            page.into_text(),
            "this order of two pieces leaves on\nTue 12 May\n"
        );
    }

    #[test]
    fn a_number_keeps_its_unit_and_blanks_stay_as_they_are() {
        let kept = keep_units("  mix 95 ml: 4 g (12 g) in  3 rounds");
        assert_eq!(kept, "  mix 95\u{a0}ml: 4\u{a0}g (12\u{a0}g) in  3 rounds");
    }

    #[test]
    fn colour_adds_marks_and_changes_no_word() {
        let mut page = Page::new(Setting {
            color: true,
            ..PLAIN
        });
        page.heading("Monday", "sun 05:10");
        let text = page.into_text();
        assert!(text.contains('\u{1b}'));
        let bare = anstream::adapter::strip_str(&text).to_string();
        assert_eq!(bare, "Monday  sun 05:10\n");
    }
}
