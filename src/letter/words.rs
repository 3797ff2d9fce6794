//! Small words of letters: days, ordinals, text made safe for one line.

use chrono::NaiveDate;

/// Writes a day for people.
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

/// Writes the place of a change in its row; far changes lose count politely.
pub(super) fn ordinal(number: u32) -> &'static str {
    match number {
        1 => "first",
        2 => "second",
        3 => "third",
        4 => "fourth",
        5 => "fifth",
        6 => "sixth",
        _ => "further",
    }
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
    let turns = |c: char| matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    let breaks = |c: char| c.is_whitespace() || c.is_control();
    text.split(breaks)
        .map(|word| word.replace(turns, ""))
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}
