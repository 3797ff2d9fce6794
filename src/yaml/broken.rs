//! What stops the reading of a whole file: the parser's complaint in plain words.

use serde::de::IgnoredAny;

use super::leaf::Scalar;
use super::text;
use crate::problem::{Problem, Spot};

/// Turns the failure of the YAML parser into a problem with its place.
pub fn problem(error: &serde_yaml::Error, source: &str, file: &str) -> Problem {
    let message = error.to_string();
    let place = error
        .location()
        .map(|at| text::byte_at(source, at.line(), at.column()));
    if let Some(problem) = whole_file(&message, source, file) {
        let begun = context_place(&message, source).or(place);
        return match problem.spot {
            Some(_) => problem,
            None => problem.at(begun.map(|at| word_spot(source, at))),
        };
    }
    if let Some(key) = between(&message, "duplicate field `", "`") {
        return duplicate_key(key, source, file, place);
    }
    if let Some((found, expected)) = wrong_kind(&message) {
        // Whoever forgot a bracket did not mean a list.
        if let Err(slip) = serde_yaml::from_str::<IgnoredAny>(source) {
            return self::problem(&slip, source, file);
        }
        let spot = place.map(|at| value_spot(source, at));
        let problem = Problem::error(file, format!("expected {expected}, found {found}")).at(spot);
        return with_hint(problem, kind_hint(&found, &expected));
    }
    if let Some(problem) = place.and_then(|at| tab(source, at, file)) {
        return problem;
    }
    let Slip { what, hint, opened } = syntax(&message);
    let place = match opened {
        true => open_at_the_end(source)
            .or_else(|| context_place(&message, source))
            .or(place),
        false => place,
    };
    let problem = Problem::error(file, what).at(place.map(|at| word_spot(source, at)));
    with_hint(problem, hint)
}

fn with_hint(problem: Problem, hint: Option<&str>) -> Problem {
    match hint {
        Some(hint) => problem.hint(hint),
        None => problem,
    }
}

/// Returns what to do about a value of the wrong kind.
fn kind_hint(found: &str, expected: &str) -> Option<&'static str> {
    match (expected.starts_with("a list, each"), found) {
        (true, "keys with values") => Some("begin the first key of each entry with `- `"),
        (true, _) => Some("begin each entry on a line of its own with `- `"),
        (false, "a list") => Some("write one value, in quotes if it holds a comma"),
        (false, _) => None,
    }
}

/// Finds a bracket after which the file ends.
fn open_at_the_end(source: &str) -> Option<usize> {
    let text = source.trim_end();
    text.ends_with(['[', '{']).then(|| text.len() - 1)
}

/// Returns where the thing began that could not be read to its end.
fn context_place(message: &str, source: &str) -> Option<usize> {
    let context = message.rsplit_once(", while ")?.1;
    let (line, column) = context.rsplit_once(" at line ")?.1.split_once(" column ")?;
    Some(text::byte_at(
        source,
        line.parse().ok()?,
        column.parse().ok()?,
    ))
}

/// Says why a file is not read at all, whatever stands in it.
fn whole_file(message: &str, source: &str, file: &str) -> Option<Problem> {
    let has = |words: &str| message.contains(words);
    if has("more than one document") {
        let what = "the file holds more than one document, divided by `---`";
        let problem = Problem::error(file, what).hint("give every order a file of its own");
        return Some(problem.at(second_document(source)));
    }
    if has("recursion limit exceeded") {
        let what = "lists and keys are nested more deeply than any order needs";
        return Some(Problem::error(file, what));
    }
    if has("unknown anchor") || has("scanning an alias") || has("scanning an anchor") {
        let what = "a word after `*` or `&` stands for an anchor, and there is none of that name";
        let hint = "put text that begins with `*` or `&` in quotes";
        return Some(Problem::error(file, what).hint(hint));
    }
    None
}

/// Returns the problem of a file that unfolds to far more than was typed.
pub fn repeats(source: &str, file: &str) -> Problem {
    let what = "the anchors of this file repeat one another until nothing could hold it";
    let first = super::unfold::find_alias(source).map(|at| word_spot(source, at));
    Problem::error(file, what)
        .at(first)
        .hint("write the repeated parts out, without `&` and `*`")
}

/// Finds the mark that begins the second document.
fn second_document(source: &str) -> Option<Spot> {
    let is_content = |line: &str| !line.trim().is_empty() && !line.trim().starts_with('#');
    let mut begun = false;
    let mut at = 0;
    for line in source.split_inclusive('\n') {
        if line.starts_with("---") && begun {
            return Some(text::spot(source, at, at + 3));
        }
        begun |= is_content(line) && !line.starts_with("---");
        at += line.len();
    }
    None
}

/// Returns what was found and what was expected, where the parser says so.
fn wrong_kind(message: &str) -> Option<(String, String)> {
    let rest = message.split_once("invalid type: ")?.1;
    let (found, expected) = rest.split_once(", expected ")?;
    let expected = match expected.rfind(" at line ") {
        Some(end) => &expected[..end],
        None => expected,
    };
    let expected = match expected {
        "a sequence" => "a list, each entry after a `-`",
        other => other,
    };
    let found = match found {
        "sequence" => "a list".to_owned(),
        "map" => "keys with values".to_owned(),
        "unit value" => "nothing".to_owned(),
        other => match between(other, "\"", "\"").or_else(|| between(other, "`", "`")) {
            Some(words) => format!("`{words}`"),
            None => other.to_owned(),
        },
    };
    Some((found, expected.to_owned()))
}

fn duplicate_key(key: &str, source: &str, file: &str, mapping: Option<usize>) -> Problem {
    let spot = mapping.and_then(|from| second_key(source, from, key));
    Problem::error(file, format!("the key `{key}` stands twice"))
        .at(spot)
        .hint("keep one of the two")
}

/// Finds the second `key:` at the depth of the first one, from the start of their mapping.
fn second_key(source: &str, from: usize, key: &str) -> Option<Spot> {
    let word = format!("{key}:");
    let is_key = |at: usize| {
        let before = source[..at].chars().next_back();
        let after = source[at + word.len()..].chars().next();
        before.is_none_or(|c| c.is_whitespace() || "{,'\"".contains(c))
            && after.is_none_or(char::is_whitespace)
    };
    let mut hits = source[from..]
        .match_indices(&word)
        .map(|(at, _)| from + at)
        .filter(|at| is_key(*at));
    let column = |at: usize| text::spot(source, at, at + key.len()).column;
    let first = hits.next()?;
    let same_line = |at: usize| !source[first..at].contains('\n');
    let second = hits.find(|at| same_line(*at) || column(*at) == column(first))?;
    Some(text::spot(source, second, second + key.len()))
}

/// Finds a tab that indents the line at `at`, or the one before.
fn tab(source: &str, at: usize, file: &str) -> Option<Problem> {
    let line_start = source[..at.min(source.len())]
        .rfind('\n')
        .map_or(0, |i| i + 1);
    let before = source[..line_start.saturating_sub(1)]
        .rfind('\n')
        .map_or(0, |i| i + 1);
    let tab_in = |start: usize| {
        let line = &source[start..];
        let blank = line.len() - line.trim_start_matches([' ', '\t', '-']).len();
        let tab = line[..blank].find('\t')?;
        let tabs = line[tab..].len() - line[tab..].trim_start_matches('\t').len();
        Some((start + tab, tabs))
    };
    let (tab, tabs) = tab_in(line_start).or_else(|| tab_in(before))?;
    let problem = Problem::error(file, "a tab indents this line, expected blanks")
        .at(Some(text::spot_exact(source, tab, tab + tabs)))
        .hint("replace the tab by blanks, two for each level");
    Some(problem)
}

/// A slip of the pen that the YAML does not survive.
struct Slip {
    what: String,
    hint: Option<&'static str>,
    /// Whether the place to show is where the thing began, not where it broke off.
    opened: bool,
}

/// Says in plain words where the YAML breaks off.
fn syntax(message: &str) -> Slip {
    let slip = |what: &str, hint, opened| Slip {
        what: what.to_owned(),
        hint: Some(hint),
        opened,
    };
    let has = |words: &str| message.contains(words);
    if has("mapping values are not allowed") {
        let hint =
            "put text that holds `: ` in quotes, or bring the key to the column of its sisters";
        return slip(
            "a second `: ` stands where the value should have ended",
            hint,
            false,
        );
    }
    if has("while parsing a flow ") || has("did not find expected node content") {
        let what = "this bracket is not closed, or a comma is missing after it";
        return slip(what, "close a list with `]`, an entry with `}`", true);
    }
    if has("while scanning a quoted scalar") {
        let hint = "close the text with the same quotation mark";
        return slip("this quotation mark is not closed", hint, true);
    }
    if has("could not find expected ':'") {
        let hint = "write `key: value`, with a blank after the colon";
        return slip("expected a key, a colon and a blank", hint, true);
    }
    if has("did not find expected key") || has("did not find expected '-' indicator") {
        let hint = "indent it like the lines above that belong with it";
        return slip(
            "this line does not stand in the column of its sisters",
            hint,
            false,
        );
    }
    if has("cannot start any token") {
        return slip(
            "a value cannot begin with this sign",
            "put the text in quotes",
            false,
        );
    }
    let what = match has("control characters are not allowed") {
        true => "a control character stands in the text".to_owned(),
        false => {
            let plain = message.split(" at line ").next().unwrap_or(message);
            format!("the file stops being YAML here: {plain}")
        }
    };
    Slip {
        what,
        hint: None,
        opened: false,
    }
}

/// Marks the word that starts at `at`, or the last one before it at the end of a file.
fn word_spot(source: &str, at: usize) -> Spot {
    let at = match source[at..].trim().is_empty() {
        true => source[..at].trim_end().rfind('\n').map_or(0, |i| i + 1),
        false => at,
    };
    let at = at + source[at..].len() - source[at..].trim_start().len();
    let length = source[at..]
        .find(|c: char| c.is_whitespace() || c == ',')
        .unwrap_or(source.len() - at);
    text::spot(source, at, at + length)
}

/// Marks from `at` to the end of the line or the comment that ends it.
fn value_spot(source: &str, at: usize) -> Spot {
    let line_end = source[at..].find('\n').map_or(source.len(), |i| at + i);
    let end = source[at..line_end].find(" #").map_or(line_end, |i| at + i);
    text::spot(source, at, end)
}

fn between<'m>(message: &'m str, open: &str, close: &str) -> Option<&'m str> {
    let rest = message.split_once(open)?.1;
    Some(rest.split_once(close)?.0)
}

/// Returns the hint that goes with words that are no `T`; `key` is what stands
/// before them, none for an entry of a list.
pub fn wrong_word_hint<T: Scalar>(key: Option<&str>, words: &str) -> Option<String> {
    let write = |word: &str| match key {
        Some(key) => format!("write `{key}: {word}`"),
        None => format!("write `{word}`"),
    };
    let choices = T::choices();
    T::guess(words)
        .map(|guess| write(&guess))
        .or_else(|| crate::problem::did_you_mean(words, choices).map(write))
        .or_else(|| (!choices.is_empty()).then(|| format!("choose one of: {}", choices.join(", "))))
}
