//! From bytes to text: what must be true before YAML can be thought of.

use crate::problem::{Problem, Spot};

/// The largest order or studio file that is read. [bytes]
///
/// A thousand pieces with a long record stay below a tenth of it; what is
/// larger was not typed by hand.
pub const FILE_MAX_BYTES: u64 = 1_000_000;

/// Longest excerpt that is shown of a line. [characters]
const EXCERPT_MAX_CHARS: usize = 160;

/// Returns the problem of a file that is too large to have been typed.
pub fn too_large(file: &str, bytes: u64) -> Problem {
    let megabytes = bytes as f64 / 1e6;
    Problem::error(
        file,
        format!("the file is {megabytes:.1} MB, more than the 1 MB that is read"),
    )
    .hint("look whether it is an order at all; if not, move it out of the folder")
}

/// Returns the bytes as text, without a byte order mark.
///
/// # Errors
/// A problem with the place of the first byte that is not UTF-8, or for UTF-16.
pub fn decode<'b>(bytes: &'b [u8], file: &str) -> Result<&'b str, Box<Problem>> {
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Err(Box::new(
            Problem::error(file, "the text is UTF-16, expected UTF-8")
                .hint("save the file as UTF-8"),
        ));
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok(text.strip_prefix('\u{feff}').unwrap_or(text)),
        Err(error) => Err(Box::new(not_utf8(bytes, error.valid_up_to(), file))),
    }
}

fn not_utf8(bytes: &[u8], at: usize, file: &str) -> Problem {
    let line_start = bytes[..at]
        .iter()
        .rposition(|b| *b == b'\n')
        .map_or(0, |i| i + 1);
    let line_end = bytes[at..]
        .iter()
        .position(|b| *b == b'\n')
        .map_or(bytes.len(), |i| at + i);
    let before = String::from_utf8_lossy(&bytes[line_start..at]);
    let whole = String::from_utf8_lossy(&bytes[line_start..line_end]);
    let spot = Spot {
        line: 1 + bytes[..line_start].iter().filter(|b| **b == b'\n').count(),
        column: 1 + before.chars().count(),
        length: 1,
        excerpt: cut(whole.trim_end_matches('\r')),
    };
    let what = format!("byte {} (0x{:02x}) is not UTF-8 text", at + 1, bytes[at]);
    Problem::error(file, what)
        .at(Some(spot))
        .hint("save the file as UTF-8")
}

/// Returns the spot of the bytes from `start` to `end`, cut at the end of its line.
pub fn spot(text: &str, start: usize, end: usize) -> Spot {
    let start = floor_char(text, start);
    let line_start = text[..start].rfind('\n').map_or(0, |i| i + 1);
    let line_end = text[start..].find('\n').map_or(text.len(), |i| start + i);
    let line = text[line_start..line_end].trim_end_matches('\r');
    let end = floor_char(
        text,
        end.clamp(start, line_start + line.len().max(start - line_start)),
    );
    Spot {
        line: 1 + text[..line_start].bytes().filter(|b| *b == b'\n').count(),
        column: 1 + text[line_start..start].chars().count(),
        length: text[start..end].trim_end().chars().count().max(1),
        excerpt: cut(line),
    }
}

/// Returns the spot of exactly these bytes of one line, blanks included.
pub fn spot_exact(text: &str, start: usize, end: usize) -> Spot {
    Spot {
        length: text[start..end].chars().count().max(1),
        ..spot(text, start, end)
    }
}

/// Returns the byte position of a line and column, both from 1. [bytes]
pub fn byte_at(text: &str, line: usize, column: usize) -> usize {
    let line_start: usize = text
        .split_inclusive('\n')
        .take(line.saturating_sub(1))
        .map(str::len)
        .sum();
    let in_line = text[line_start..]
        .char_indices()
        .nth(column.saturating_sub(1))
        .map_or(text.len() - line_start, |(i, _)| i);
    line_start + in_line
}

fn floor_char(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// Cuts a line to a length that can be shown, tabs as single blanks.
fn cut(line: &str) -> String {
    let shown: String = line
        .chars()
        .take(EXCERPT_MAX_CHARS)
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    match line.chars().count() > EXCERPT_MAX_CHARS {
        true => shown + "…",
        false => shown,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_place_of_a_wrong_byte_counts_lines_and_characters() {
        let problem = *decode(b"order: 1\r\nname: \xc3\xa4\xff!\r\n", "a.yaml").unwrap_err();
        let spot = problem.spot.unwrap();
        assert_eq!((spot.line, spot.column), (2, 8));
        assert_eq!(spot.excerpt, "name: ä\u{fffd}!");
        assert_eq!(problem.what, "byte 19 (0xff) is not UTF-8 text");
    }

    #[test]
    fn a_byte_order_mark_is_no_text() {
        assert_eq!(decode(b"\xef\xbb\xbforder: 1", "a").unwrap(), "order: 1");
        assert!(
            decode(b"\xff\xfeo\0", "a")
                .unwrap_err()
                .what
                .contains("UTF-16")
        );
    }

    #[test]
    fn a_spot_stays_inside_its_line() {
        let text = "a: 1\r\nbb: |\r\n  ü text\r\n";
        let shown = spot(text, 6, 22);
        assert_eq!((shown.line, shown.column, shown.length), (2, 1, 5));
        assert_eq!(byte_at(text, 3, 4), text.find(" text").unwrap());
        assert_eq!(spot("", 0, 5).length, 1);
    }
}
