//! How wide words are in a plain sans-serif, and into how many lines they break.
//!
//! Which font a browser takes is not known here. The widths are those of a wide one, so
//! that a page is rather filled a little less than run over. Nothing is drawn here.

use unicode_width::UnicodeWidthChar;

/// Widths of the characters from space to tilde. [1/1000 em]
///
/// # Sources
/// Adobe Font Metrics of the 14 core fonts of PDF, Helvetica (`Helvetica.afm`); Arial and
/// Liberation Sans have the same widths by design. Checked against Liberation Sans.
const ASCII: [u16; 95] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278,
    278, // space to /
    556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, // 0 to ?
    1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778, // @ to O
    667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556, // P to _
    333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556, // ` to o
    556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584, // p to ~
];

/// Width of letters beyond them that are not of double width. [em]
const OTHER: f64 = 0.6;

/// How much wider a bold letter is; bold figures and strokes are not. [calc] from the same metrics
const BOLD: f64 = 1.08;

/// Returns the width of a text that is set in one line. [em]
pub fn width(text: &str, bold: bool) -> f64 {
    text.chars().map(|c| width_of(c, bold)).sum()
}

fn width_of(c: char, bold: bool) -> f64 {
    let plain = match c {
        ' '..='~' => f64::from(ASCII[c as usize - ' ' as usize]) / 1000.0,
        '\u{a0}' => 0.278,
        '–' => 0.556,
        '…' => 1.0,
        '×' => 0.584,
        c => match c.width().unwrap_or(0) {
            0 => 0.0,
            1 => OTHER,
            _ => 1.0,
        },
    };
    match bold && c.is_alphabetic() {
        true => plain * BOLD,
        false => plain,
    }
}

/// Words that are set one after the other and broken into lines.
#[derive(Debug, Clone, Default)]
pub struct Words {
    stretches: Vec<Stretch>,
    /// Whether what comes next stays with the last stretch.
    open: bool,
}

/// Letters between two places at which a line may end. [em]
#[derive(Debug, Clone, Copy)]
struct Stretch {
    width: f64,
    /// The space behind it, which no line begins with.
    space: f64,
}

impl Words {
    /// Adds plain words.
    pub fn plain(self, text: &str) -> Words {
        self.add(text, false)
    }

    /// Adds bold words.
    pub fn bold(self, text: &str) -> Words {
        self.add(text, true)
    }

    /// Adds bold words between which no line ends, such as the number of an order.
    pub fn whole(mut self, text: &str) -> Words {
        self.extend(width(text, true));
        self
    }

    /// Adds a sign or a gap that keeps to what follows. [em]
    pub fn sign(mut self, width: f64) -> Words {
        self.extend(width);
        self
    }

    fn add(mut self, text: &str, bold: bool) -> Words {
        let mut chars = text.chars().peekable();
        let mut before = ' ';
        while let Some(c) = chars.next() {
            let last = std::mem::replace(&mut before, c);
            if c == ' ' {
                if let Some(last) = self.stretches.last_mut() {
                    last.space += width_of(c, bold);
                }
                self.open = false;
                continue;
            }
            self.extend(width_of(c, bold));
            // So do browsers, whatever follows the hyphen of a word or number.
            let hyphen = c == '-' && last.is_alphanumeric();
            let wide = c.width() == Some(2);
            if wide || (hyphen && chars.peek().is_some_and(|next| next.is_alphanumeric())) {
                self.open = false;
            }
        }
        self
    }

    fn extend(&mut self, width: f64) {
        match self.stretches.last_mut() {
            Some(last) if self.open => last.width += width,
            _ => self.stretches.push(Stretch { width, space: 0.0 }),
        }
        self.open = true;
    }

    /// Returns how many lines they take in a column of a width; a stretch that is wider
    /// is torn. [em]
    pub fn lines(&self, room: f64) -> usize {
        let room = room.max(1.0);
        let (mut lines, mut used) = (1, 0.0);
        for stretch in &self.stretches {
            if used > 0.0 && used + stretch.width > room {
                lines += 1;
                used = 0.0;
            }
            let torn = (stretch.width / room).ceil().max(1.0) - 1.0;
            lines += torn as usize;
            used += stretch.width - torn * room + stretch.space;
        }
        lines
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 0.833 + 0.222 + 0.5 em; figures are as wide when they are bold.
    #[test]
    fn widths_are_those_of_the_published_metrics() {
        assert!((width("mix", false) - 1.555).abs() < 1e-9);
        assert!((width("2026", true) - 4.0 * 0.556).abs() < 1e-9);
        assert!(width("mix", true) > width("mix", false));
    }

    #[test]
    fn lines_end_at_spaces_and_behind_hyphens() {
        let lines = |text: &str, room: f64| Words::default().plain(text).lines(room);
        assert_eq!(lines("", 5.0), 1);
        assert_eq!(lines("nnnn nnnn", 4.9), 1);
        assert_eq!(lines("nnnn nnnn", 4.5), 2);
        assert_eq!(lines("nnnn-nnnn", 4.5), 2);
        assert_eq!(lines("2026-011", 4.0), 2);
        assert_eq!(lines("nnnnnnnnnn", 2.0), 3);
    }

    #[test]
    fn what_is_added_without_a_space_stays_together() {
        let glued = Words::default().bold("nnnn").plain("nnnn");
        assert_eq!(glued.lines(4.8), 1);
        let number = Words::default().plain("nn ").whole("2026-011");
        assert_eq!(number.lines(5.0), 2);
        assert_eq!(Words::default().sign(2.0).plain("nnnn").lines(3.9), 2);
    }
}
