//! Small words of letters: days, ordinals, text made safe for one line.

use chrono::{Datelike, NaiveDate};
use serde::Deserialize;

use crate::order::{Delivery, PromiseKind};
use crate::problem::Problem;

/// Says to the maker what happens by the day that counts: a parcel leaves or arrives,
/// what the customer comes for is ready.
pub fn verb(delivery: &Delivery, kind: PromiseKind) -> &'static str {
    match (delivery, kind) {
        (Delivery::Pickup, _) => "ready by",
        (Delivery::Carrier { .. }, PromiseKind::ShipBy) => "leaves by",
        (Delivery::Carrier { .. }, PromiseKind::DeliverBy) => "arrives by",
    }
}

/// How a language writes days, from its `words.yaml`.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Words {
    /// From Monday.
    weekdays: Vec<String>,
    /// From January.
    months: Vec<String>,
    /// A day, with `{weekday}`, `{day}`, `{month}` and `{year}`.
    day: String,
    /// Which change of a date it is, `second`; the last serves all further ones.
    changes: Vec<String>,
}

impl Words {
    /// Parses the text of the file `file`.
    ///
    /// # Errors
    /// What is wrong with it.
    pub(super) fn parse(text: &str, file: &str) -> Result<Words, Box<Problem>> {
        let problem = |what: String| Problem::error(file, what);
        let words: Words = serde_yaml::from_str(text).map_err(|error| {
            let hint = "write `weekdays`, `months`, `day` and `changes`";
            Box::new(problem(format!("the words cannot be read: {error}")).hint(hint))
        })?;
        if (words.weekdays.len(), words.months.len()) != (7, 12) || words.changes.is_empty() {
            let what = "expected 7 weekdays from Monday, 12 months and at least one of `changes`";
            return Err(Box::new(problem(what.to_owned())));
        }
        if !["{day}", "{month}", "{year}"]
            .iter()
            .all(|mark| words.day.contains(mark))
        {
            let hint = "write it like `day: \"{weekday} {day} {month} {year}\"`";
            return Err(Box::new(
                problem("`day` lacks `{day}`, `{month}` or `{year}`".to_owned()).hint(hint),
            ));
        }
        Ok(words)
    }

    /// Writes a day for people.
    pub(super) fn day(&self, date: NaiveDate) -> String {
        let weekday = &self.weekdays[date.weekday().num_days_from_monday() as usize];
        self.day
            .replace("{weekday}", weekday)
            .replace("{day}", &date.day().to_string())
            .replace("{month}", &self.months[date.month0() as usize])
            .replace("{year}", &date.year().to_string())
    }

    /// Writes the place of a change in its row, from 1; far ones lose count politely.
    pub(super) fn change(&self, number: u32) -> &str {
        let index = (number as usize).clamp(1, self.changes.len()) - 1;
        &self.changes[index]
    }
}

/// Writes a day for the maker, in English.
///
/// # Example
/// ```
/// use chrono::NaiveDate;
/// let day = NaiveDate::from_ymd_opt(2026, 5, 15).unwrap();
/// assert_eq!(fairday::letter::day(day), "Friday 15 May 2026");
/// ```
pub fn day(date: NaiveDate) -> String {
    date.format("%A %-d %B %Y").to_string()
}

/// Puts `text` on one line: every run of white space and control characters
/// becomes one blank, marks that turn the direction of writing are dropped.
///
/// What a customer typed can so never end a header or reorder a letter.
///
/// # Example
/// ```
/// use fairday::letter::one_line;
/// assert_eq!(one_line(" Ines\r\nBcc: all@example.org "), "Ines Bcc: all@example.org");
/// assert_eq!(one_line("\u{202e}senI"), "senI");
/// ```
pub fn one_line(text: &str) -> String {
    let breaks = |c: char| c.is_whitespace() || c.is_control();
    text.split(breaks)
        .map(|word| word.replace(turns, ""))
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}

/// Tells whether a mark turns the direction of writing.
pub(crate) fn turns(c: char) -> bool {
    matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}
