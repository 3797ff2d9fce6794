//! Problems as text: the line, the place under it, the hint.

use std::fmt::Write;

use anstyle::{AnsiColor, Style};

use crate::problem::{Problem, Severity, Spot};

/// Blanks beside a line number that is as long as the longest we show.
const GUTTER_MIN: usize = 2;

/// Renders one problem, with a line break at its end.
///
/// The excerpt is cut around the marked place so that no line of it is wider than
/// `width` [columns], a long hint is wrapped; the sentence itself is never cut. Colour only adds, nothing
/// is said by it alone.
///
/// # Example
/// ```
/// use fairday::problem::{Problem, Spot};
/// use fairday::view::problem::render;
/// let spot = Spot { line: 14, column: 10, length: 6, excerpt: "    size: A9 old".into() };
/// let problem = Problem::error("ada.yaml", "expected a size, found `A9 old`").at(Some(spot));
/// assert_eq!(
///     render(&problem, 80, false),
///     "error: ada.yaml:14:10: expected a size, found `A9 old`\n   \
///     |\n14 |     size: A9 old\n   |          ^^^^^^\n"
/// );
/// ```
pub fn render(problem: &Problem, width: usize, colour: bool) -> String {
    let paint = Paint { colour };
    let mut out = String::new();
    let head = match problem.severity {
        Severity::Error => paint.word("error", AnsiColor::Red),
        Severity::Warning => paint.word("warning", AnsiColor::Yellow),
    };
    let place = match &problem.spot {
        Some(spot) => format!("{}:{}:{}", problem.file, spot.line, spot.column),
        None => problem.file.clone(),
    };
    let _ = writeln!(out, "{head}: {place}: {}", problem.what);
    if let Some(spot) = &problem.spot {
        push_excerpt(&mut out, spot, problem.note.as_deref(), width, &paint);
    }
    if let Some(hint) = &problem.hint {
        let words = textwrap::fill(hint, hint_wrap(width));
        let head = paint.word("hint", AnsiColor::Cyan);
        let _ = writeln!(out, "{head}: {}", words.trim_start());
    }
    out
}

/// Returns how a long hint is wrapped: between words, further lines below the first.
fn hint_wrap(width: usize) -> textwrap::Options<'static> {
    textwrap::Options::new(width.max(40))
        .initial_indent("      ")
        .subsequent_indent("      ")
        .word_separator(textwrap::WordSeparator::AsciiSpace)
        .word_splitter(textwrap::WordSplitter::NoHyphenation)
        .break_words(false)
}

/// Renders all problems, each after an empty line, in the order given.
pub fn render_all(problems: &[Problem], width: usize, colour: bool) -> String {
    let each: Vec<String> = problems
        .iter()
        .map(|problem| render(problem, width, colour))
        .collect();
    each.join("\n")
}

/// Writes the line, and the marks below the meant place.
fn push_excerpt(out: &mut String, spot: &Spot, note: Option<&str>, width: usize, paint: &Paint) {
    let number = spot.line.to_string();
    let gutter = number.len().max(GUTTER_MIN);
    let bar = paint.word("|", AnsiColor::BrightBlue);
    let number = paint.word(&format!("{number:>gutter$}"), AnsiColor::BrightBlue);
    let room = width.saturating_sub(gutter + 3).max(20);
    let shown = Shown::new(spot, room);
    let marks = paint.word(&"^".repeat(shown.length), AnsiColor::Red);
    let empty = " ".repeat(gutter);
    let indent = " ".repeat(shown.before);
    let _ = writeln!(out, "{empty} {bar}");
    let _ = writeln!(out, "{number} {bar} {}", shown.line);
    let _ = match note {
        Some(note) => writeln!(out, "{empty} {bar} {indent}{marks} {note}"),
        None => writeln!(out, "{empty} {bar} {indent}{marks}"),
    };
}

/// Returns a line of a file up to a secret in it, if somebody wrote one there: what the
/// screen shows may end in a log.
fn without_secret(line: &str) -> String {
    let secret = line.match_indices(':').find_map(|(at, _)| {
        let key = line[..at].trim_end_matches(['"', '\'', ' ']);
        let mut words = key.rsplit(|c: char| !c.is_alphanumeric() && c != '_');
        words.next().is_some_and(is_secret).then_some(at + 1)
    });
    match secret {
        Some(from) if !line[from..].trim().is_empty() => format!("{} …", &line[..from]),
        _ => line.to_owned(),
    }
}

/// Tells whether a secret stands under a key, also under a misspelled one; keys that only
/// say where it is to be found hold none.
fn is_secret(key: &str) -> bool {
    let key = key.to_lowercase();
    let says_where = ["_env", "_file", "_command"];
    let names = ["password", "passwort", "passwd", "secret", "token"];
    let is_like = |name: &str| key.contains(name) || strsim::jaro_winkler(&key, name) >= 0.9;
    !says_where.iter().any(|end| key.ends_with(end)) && names.iter().any(|name| is_like(name))
}

/// The part of a line that there is room for.
struct Shown {
    line: String,
    before: usize,
    length: usize,
}

impl Shown {
    fn new(spot: &Spot, room: usize) -> Shown {
        let chars: Vec<char> = without_secret(&spot.excerpt).chars().collect();
        let at = (spot.column - 1).min(chars.len());
        let from = match chars.len() <= room {
            true => 0,
            false => at
                .saturating_sub(room / 3)
                .min(chars.len().saturating_sub(room)),
        };
        let until = chars.len().min(from + room);
        let columns = |chars: &[char]| {
            let text: String = chars.iter().collect();
            unicode_width::UnicodeWidthStr::width(text.as_str())
        };
        let end = (at + spot.length).clamp(at, until.max(at));
        Shown {
            line: chars[from..until].iter().collect(),
            before: columns(&chars[from..at.max(from)]),
            length: columns(&chars[at..end.min(chars.len())]).max(1),
        }
    }
}

struct Paint {
    colour: bool,
}

impl Paint {
    fn word(&self, word: &str, colour: AnsiColor) -> String {
        if !self.colour {
            return word.to_owned();
        }
        let style = Style::new().bold().fg_color(Some(colour.into()));
        format!("{style}{word}{style:#}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn problem(excerpt: &str, column: usize, length: usize) -> Problem {
        Problem::error("a.yaml", "this is wrong").at(Some(Spot {
            line: 3,
            column,
            length,
            excerpt: excerpt.to_owned(),
        }))
    }

    /// By hand: two blanks, the bar, a blank, then six blanks before the value.
    #[test]
    fn the_mark_stands_under_the_place_with_note_and_hint() {
        let mut problem = problem("size: A9", 7, 2).hint("write `size: A4`");
        problem.note = Some("no such size".to_owned());
        assert_eq!(
            render(&problem, 80, false),
            "error: a.yaml:3:7: this is wrong\n   |\n 3 | size: A9\n   |       ^^ no such size\nhint: write `size: A4`\n"
        );
    }

    #[test]
    fn a_secret_in_a_file_is_not_shown() {
        let check = |line: &str, expected: &str| assert_eq!(without_secret(line), expected);
        check("password: hunter-two", "password: …");
        check(
            "  smtp: {host: a, pasword: \"hunter, two\", user: b}",
            "  smtp: {host: a, pasword: …",
        );
        check("'Token' : hunter", "'Token' : …");
        for line in [
            "password_env: STUDIO_MAIL_PASSWORD",
            "smtp: {host: a, token_command: pass show mail}",
            "title: Fern, size: A4",
            "password:",
            "at: 07:30",
            "\u{feff}delivery: home",
        ] {
            check(line, line);
        }
    }

    #[test]
    fn a_long_line_is_cut_around_its_place() {
        let line = "x".repeat(90) + "HERE" + &"y".repeat(40);
        let text = render(&problem(&line, 91, 4), 50, false);
        let lines: Vec<&str> = text.lines().collect();
        assert!(lines.iter().skip(1).all(|line| line.len() <= 50), "{text}");
        let column = lines[3].find("^^^^").unwrap();
        assert_eq!(&lines[2][column..column + 4], "HERE");
    }

    #[test]
    fn wide_letters_move_the_mark() {
        let text = render(&problem("title: 藍写真 oops", 12, 4), 80, false);
        let mark = text.lines().nth(3).unwrap();
        assert_eq!(mark.find('^').unwrap(), 5 + 14);
    }

    #[test]
    fn colour_adds_nothing_but_colour() {
        let problem = problem("size: A9", 7, 2).hint("write `size: A4`");
        let painted = render(&problem, 80, true);
        assert!(painted.contains("\u{1b}["));
        let mut plain = String::new();
        let mut rest = painted.as_str();
        while let Some((before, after)) = rest.split_once('\u{1b}') {
            plain.push_str(before);
            rest = after.split_once('m').unwrap().1;
        }
        assert_eq!(plain + rest, render(&problem, 80, false));
    }
}
