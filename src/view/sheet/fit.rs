//! How large the lists of a page are set, so that they fill one page of paper.
//!
//! Entries run down three columns; one that has no room left in a column goes to the top
//! of the next. The largest size is taken at which that ends on one page; below a size
//! that can be read in working light no list is set, so a day with more on it runs on to
//! a second page. No browser is asked: heights follow from `sheet.style.hbs` and from
//! the widths of letters, and `.ci/sheets.py` looks at what is printed.

use super::Paper;
use super::width::Words;

/// The largest size of lists, that of a book. [pt]
const SIZE_MAX: f64 = 10.5;
/// The smallest size of lists; their smallest words are 0.975 of it. [pt]
/// 7 pt are read at arm's length in working light [common practice, no source].
const SIZE_MIN: f64 = 7.2;
/// By so much sizes differ. [pt]
const SIZE_STEP: f64 = 0.1;

/// Columns of lists on paper.
const COLUMNS: usize = 3;
/// Between columns. [pt] 5 mm
const COLUMN_GAP: f64 = 14.17;
/// Margin of the page on each side. [pt] 9 mm
const MARGIN: f64 = 25.51;
/// The heading that a second page repeats. [pt]
const AGAIN: f64 = 19.84;
/// Height of a line. [em]
const LINE: f64 = 1.3;
/// A heading: its line, rule and the gaps around it. [em]
const HEADING: f64 = 1.75;
/// Left free, since browsers round each row to pixels. [share of a column]
const SPARE: f64 = 0.015;
/// How much of the pages is filled of a day that takes several. [share]
const RUN_ON: f64 = 0.92;

/// What stays together in a column.
#[derive(Debug, Clone, Default)]
pub struct Entry {
    /// Whether the heading of a list stands above it.
    pub headed: bool,
    /// Texts, one below the other.
    pub texts: Vec<Text>,
    /// Height of the drawing beside the texts. [em]
    pub beside: f64,
    /// Gaps above and below. [em]
    pub gaps: f64,
    /// Rule below it. [pt]
    pub rule: f64,
    /// Whether a column may end between any two of its lines.
    pub flows: bool,
}

/// A text of an entry.
#[derive(Debug, Clone)]
pub struct Text {
    /// Its words.
    pub words: Words,
    /// What of the column's width is not its own. [em]
    pub indent: f64,
    /// Its size as a share of the list's.
    pub share: f64,
}

/// The part of a page that lists have for themselves.
#[derive(Debug, Clone, Copy)]
pub struct Room {
    /// Width of a column. [pt]
    column: f64,
    /// Height on the first page. [pt]
    first: f64,
    /// Height on each further one. [pt]
    further: f64,
}

impl Text {
    /// A text over the whole width, at the size of the list.
    pub fn new(words: Words) -> Text {
        Text {
            words,
            indent: 0.0,
            share: 1.0,
        }
    }

    fn height(&self, column: f64) -> f64 {
        let room = (column - self.indent) / self.share;
        self.words.lines(room) as f64 * LINE * self.share
    }
}

impl Entry {
    /// Returns its height in a column, its heading left out. [em]
    fn height(&self, column: f64) -> f64 {
        let texts: f64 = self.texts.iter().map(|text| text.height(column)).sum();
        texts.max(self.beside) + self.gaps
    }
}

impl Room {
    /// Returns the room below something of a height on a paper. [pt]
    pub fn below(height: f64, paper: Paper) -> Room {
        let (width, page) = inner(paper);
        Room {
            column: (width - (COLUMNS - 1) as f64 * COLUMN_GAP) / COLUMNS as f64,
            first: (page - height) * (1.0 - SPARE),
            further: (page - AGAIN) * (1.0 - SPARE),
        }
    }

    /// Returns the size at which entries are set: the largest for the fewest pages. [pt]
    pub fn size_for(&self, entries: &[Entry]) -> f64 {
        let fewest = self.pages(entries, SIZE_MIN);
        // Pages that are broken in two are less evenly filled.
        let room = match fewest {
            ..=1 => *self,
            _ => Room {
                first: self.first * RUN_ON,
                further: self.further * RUN_ON,
                ..*self
            },
        };
        let steps = ((SIZE_MAX - SIZE_MIN) / SIZE_STEP).round() as i32;
        let sizes = (0..=steps).rev();
        sizes
            .map(|step| SIZE_MIN + f64::from(step) * SIZE_STEP)
            .find(|size| room.pages(entries, *size) <= fewest)
            .unwrap_or(SIZE_MIN)
    }

    /// Returns how many pages entries take at a size. [pt]
    fn pages(&self, entries: &[Entry], size: f64) -> usize {
        let (mut column, mut used) = (0, 0.0);
        let limit = |column: usize| match column < COLUMNS {
            true => self.first,
            false => self.further,
        };
        for entry in entries {
            let heading = if entry.headed { HEADING } else { 0.0 };
            let whole = (entry.height(self.column / size) + heading) * size + entry.rule;
            let own = match entry.flows {
                true => (heading + LINE) * size,
                false => whole,
            };
            // A gap stands between lists, and none at the top of a column.
            let gap = if entry.headed { 0.6 * size } else { 0.0 };
            if used > 0.0 && used + gap + own > limit(column) {
                column += 1;
                used = 0.0;
            }
            used += whole + if used > 0.0 { gap } else { 0.0 };
            // What is taller than a column runs on in the next.
            while used > limit(column) && limit(column) > 0.0 {
                used -= limit(column);
                column += 1;
            }
        }
        column / COLUMNS + 1
    }
}

/// Returns width and height of a page inside its margins. [pt]
pub fn inner(paper: Paper) -> (f64, f64) {
    // ISO 216 and ANSI X3.151, at 72 points to the inch.
    let (width, height) = match paper {
        Paper::A4 => (595.28, 841.89),
        Paper::Letter => (612.0, 792.0),
    };
    (width - 2.0 * MARGIN, height - 2.0 * MARGIN)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(count: usize) -> Vec<Entry> {
        let row = || Entry {
            texts: vec![Text::new(Words::default().plain("a row of four words"))],
            ..Entry::default()
        };
        (0..count).map(|_| row()).collect()
    }

    #[test]
    fn little_is_set_large_and_more_is_set_smaller_as_long_as_it_can_be_read() {
        let room = Room::below(400.0, Paper::A4);
        let size = |count| room.size_for(&rows(count));
        assert!((size(10) - SIZE_MAX).abs() < 1e-9);
        assert!(size(100) < SIZE_MAX && size(100) > SIZE_MIN);
        // 385.0 pt hold 41 lines of 7.2 pt × 1.3, three columns 123.
        assert_eq!(room.pages(&rows(123), SIZE_MIN), 1);
        assert_eq!(room.pages(&rows(124), SIZE_MIN), 2);
        assert!(size(130) > SIZE_MIN, "the second page has room");
    }

    #[test]
    fn what_is_taller_than_a_column_runs_on() {
        let room = Room::below(700.0, Paper::Letter);
        let tall = Entry {
            beside: 30.0,
            ..Entry::default()
        };
        // 300 pt: three columns of 40.4 pt, and the rest on the second page.
        assert_eq!(room.pages(&[tall], 10.0), 2);
    }
}
