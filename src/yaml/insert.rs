//! One insertion into a YAML text, in the manner of what stands there.
//!
//! Places come from a parser that keeps every byte; what is written is as small
//! as can be. Nothing is checked here: who inserts must read the result again.

use std::fmt;
use std::ops::Range;

use super::leaf::Scalar;
use super::locate::Locator;
use super::trail::Step;

/// Words for nothing, which a first entry takes the place of.
const NOTHING: [&str; 4] = ["~", "null", "Null", "NULL"];

/// A mapping that is to be written: keys and values as YAML words.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Item(Vec<(String, String)>);

/// How a mapping or a list is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    /// In brackets.
    Flow,
    /// By lines and indentation.
    Block,
}

/// Characters that go into a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Insertion {
    /// What they replace, mostly nothing. [bytes]
    pub at: Range<usize>,
    /// The characters.
    pub words: String,
}

impl Insertion {
    /// Returns the text with the characters in it.
    pub fn apply(&self, text: &str) -> String {
        let (before, after) = (&text[..self.at.start], &text[self.at.end..]);
        format!("{before}{}{after}", self.words)
    }
}

impl Item {
    /// Returns a mapping without keys.
    pub fn new() -> Item {
        Item::default()
    }

    /// Adds a value whose words need no quotes.
    pub fn plain(mut self, key: &str, value: impl fmt::Display) -> Item {
        self.0.push((key.to_owned(), value.to_string()));
        self
    }

    /// Adds a value of free text, in quotes if need be.
    pub fn text(self, key: &str, value: &str) -> Item {
        self.plain(key, quoted(value))
    }

    /// Returns it on one line, in brackets.
    pub fn render_flow(&self) -> String {
        format!("{{{}}}", self.pairs().join(", "))
    }

    /// Returns it with every word in quotes that JSON wants in quotes.
    fn in_json(&self) -> Item {
        let word =
            |value: &String| match value.starts_with(['"', '[']) || f64::parse(value).is_some() {
                true => value.clone(),
                false => format!("\"{value}\""),
            };
        let pair = |(key, value): &(String, String)| (format!("\"{key}\""), word(value));
        Item(self.0.iter().map(pair).collect())
    }

    /// Returns `key: value` for each key.
    fn pairs(&self) -> Vec<String> {
        let pair = |(key, value): &(String, String)| format!("{key}: {value}");
        self.0.iter().map(pair).collect()
    }
}

/// A text whose places can be found.
pub struct Place<'t> {
    text: &'t str,
    locator: Locator,
    blank_lines: BlankLines,
}

/// Where new lines go when blank lines follow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BlankLines {
    /// Above them: they part what comes from what was.
    After,
    /// Below them: they belong to a text that keeps its blank lines.
    Before,
}

impl<'t> Place<'t> {
    /// Prepares a text; none if its places cannot be found.
    pub fn new(text: &'t str, blank_lines: BlankLines) -> Option<Place<'t>> {
        let locator = Locator::new(text);
        locator.find_value(&[])?;
        Some(Place {
            text,
            locator,
            blank_lines,
        })
    }

    /// Returns how the mapping or list at `steps` is written.
    pub fn style_of(&self, steps: &[Step]) -> Option<Style> {
        let value = self.locator.find_value(steps)?;
        Some(self.style_at(value.start))
    }

    /// Appends `item` to the list `key` of the mapping at `mapping`; `count` is how
    /// many it has, none without the key or with nothing after it.
    pub fn append(
        &self,
        mapping: &[Step],
        key: &'static str,
        count: Option<usize>,
        item: &Item,
    ) -> Option<Insertion> {
        let item = &self.in_manner(item);
        let list = with(mapping, Step::Key(key.to_owned()));
        if self.locator.find_key(&list).is_none() {
            return self.new_list(mapping, key, item);
        }
        let value = self.locator.find_value(&list)?;
        match count {
            Some(count) if self.text[value.start..].starts_with('[') => {
                self.grow_brackets(&list, count, value, item)
            }
            Some(count) if count > 0 => self.add_dash(&list, count, item),
            Some(_) | None => self.fill_empty(&list, item),
        }
    }

    /// Adds `key` with `item` as its value to the mapping at `mapping`.
    pub fn set(
        &self,
        mapping: &[Step],
        key: &'static str,
        item: &Item,
        style: Style,
    ) -> Option<Insertion> {
        let value = self.locator.find_value(mapping)?;
        let item = &self.in_manner(item);
        let flow = format!("{}: {}", self.key(key), item.render_flow());
        if self.style_at(value.start) == Style::Flow {
            return self.grow_mapping(value, &flow);
        }
        let lines = match style {
            Style::Flow => vec![flow],
            Style::Block => {
                let inner = item.pairs().into_iter().map(|pair| format!("  {pair}"));
                std::iter::once(format!("{key}:")).chain(inner).collect()
            }
        };
        let column = self.column(value.start);
        Some(self.lines_after(self.content_end(&value), column, &lines))
    }

    fn new_list(&self, mapping: &[Step], key: &'static str, item: &Item) -> Option<Insertion> {
        let value = self.locator.find_value(mapping)?;
        if self.style_at(value.start) == Style::Flow {
            let pair = format!("{}: [{}]", self.key(key), item.render_flow());
            return self.grow_mapping(value, &pair);
        }
        let dash = format!("{}- {}", " ".repeat(self.list_indent()), item.render_flow());
        let column = self.column(value.start);
        let lines = [format!("{key}:"), dash];
        Some(self.lines_after(self.content_end(&value), column, &lines))
    }

    /// Adds a line to a list of dashes, written like the entry above it.
    fn add_dash(&self, list: &[Step], count: usize, item: &Item) -> Option<Insertion> {
        let steps = with(list, Step::Index(count - 1));
        let last = self.locator.find_entry(&steps)?;
        let dash = self.dash_before(last.start)?;
        let column = self.column(dash);
        let value = match self.text[last.start..].starts_with('&') {
            true => self.locator.find_value(&steps)?.start,
            false => last.start,
        };
        let gap = match self.text.get(dash..last.start)?.contains('\n') {
            true => 1,
            false => last.start - dash - 1,
        };
        let lines = match self.style_at(value) {
            Style::Flow => vec![format!("-{}{}", " ".repeat(gap), item.render_flow())],
            Style::Block => dashed(item, self.column(value).checked_sub(column)?),
        };
        Some(self.lines_after(self.content_end(&last), column, &lines))
    }

    /// Adds an entry to a list in brackets.
    fn grow_brackets(
        &self,
        list: &[Step],
        count: usize,
        value: Range<usize>,
        item: &Item,
    ) -> Option<Insertion> {
        let item = item.render_flow();
        if count == 0 {
            return Some(insertion(value.start + 1, item));
        }
        let last = self
            .locator
            .find_entry(&with(list, Step::Index(count - 1)))?;
        let own_line = self.text.get(value.start..last.start)?.contains('\n')
            && self.indent_of_line(last.start) == self.column(last.start);
        let glue = match own_line {
            true => {
                let indent = " ".repeat(self.column(last.start));
                format!("{}{indent}", self.line_end_in_use(last.end))
            }
            false => " ".to_owned(),
        };
        Some(self.after_comma(last.end, &format!("{glue}{item}")))
    }

    /// Adds a pair to a mapping in brackets.
    fn grow_mapping(&self, value: Range<usize>, pair: &str) -> Option<Insertion> {
        let inside = self.text.get(value.start..value.end.checked_sub(1)?)?;
        let end = value.start + inside.trim_end().len();
        if end == value.start + 1 {
            return Some(insertion(end, pair.to_owned()));
        }
        let has_comma = inside.trim_end().ends_with(',');
        let glue = if has_comma { " " } else { ", " };
        Some(insertion(end, format!("{glue}{pair}")))
    }

    /// Writes the first entry of a key that has nothing after it, or a word for nothing.
    fn fill_empty(&self, list: &[Step], item: &Item) -> Option<Insertion> {
        let key = self.locator.find_key(list)?;
        let value = self.locator.find_value(list)?;
        if value != key {
            let is_nothing = NOTHING.contains(&&self.text[value.clone()]);
            if !is_nothing {
                return None;
            }
            let words = format!("[{}]", item.render_flow());
            return Some(Insertion { at: value, words });
        }
        let colon = key.end + self.text[key.end..].find(':')?;
        let line = &self.text[colon + 1..self.line_end_at(colon)];
        let nothing_follows = line.trim().is_empty() || line.trim_start().starts_with('#');
        if !nothing_follows {
            return Some(insertion(colon + 1, format!(" [{}]", item.render_flow())));
        }
        let column = self.column(key.start) + self.list_indent();
        let lines = [format!("- {}", item.render_flow())];
        Some(self.lines_after(colon, column, &lines))
    }

    /// Inserts after `end`, behind a comma that may stand there already.
    fn after_comma(&self, end: usize, words: &str) -> Insertion {
        let rest = &self.text[end..];
        let comma = rest.len() - rest.trim_start().len();
        match rest[comma..].starts_with(',') {
            true => insertion(end + comma + 1, words.to_owned()),
            false => insertion(end, format!(",{words}")),
        }
    }

    /// Inserts whole lines after the line that `end` lies in.
    fn lines_after(&self, end: usize, column: usize, lines: &[String]) -> Insertion {
        let indent = " ".repeat(column);
        let at = match self.blank_lines {
            BlankLines::After => self.line_end_at(end),
            BlankLines::Before => self.line_end_at(self.last_blank_after(end)),
        };
        let line_end = self.line_end_in_use(at);
        let mut words = String::new();
        for line in lines {
            words.push_str(line_end);
            words.push_str(&indent);
            words.push_str(line);
        }
        insertion(at, words)
    }

    /// Tells whether the file is JSON, which YAML contains.
    fn is_json(&self) -> bool {
        let inside = self.text.trim_start().strip_prefix('{');
        inside.is_some_and(|inside| inside.trim_start().starts_with('"'))
    }

    fn in_manner(&self, item: &Item) -> Item {
        match self.is_json() {
            true => item.in_json(),
            false => item.clone(),
        }
    }

    fn key(&self, key: &str) -> String {
        match self.is_json() {
            true => format!("\"{key}\""),
            false => key.to_owned(),
        }
    }

    fn content_end(&self, value: &Range<usize>) -> usize {
        self.locator.content_end(self.text, value)
    }

    /// Returns how far dashes stand in from their key, as the list of pieces shows it.
    fn list_indent(&self) -> usize {
        let first = [Step::Key("pieces".to_owned()), Step::Index(0)];
        let entry = self.locator.find_entry(&first);
        let dash = entry.and_then(|entry| self.dash_before(entry.start));
        dash.map_or(2, |dash| self.column(dash))
    }

    /// Finds the dash that leads the entry at `at`. [byte]
    fn dash_before(&self, at: usize) -> Option<usize> {
        let before = self.text[..at].trim_end_matches([' ', '\n', '\r']);
        before.ends_with('-').then(|| before.len() - 1)
    }

    /// Returns how a value is written; an alias counts as one line.
    fn style_at(&self, at: usize) -> Style {
        match self.text[at..].starts_with(['{', '[', '*']) {
            true => Style::Flow,
            false => Style::Block,
        }
    }

    /// Returns the column of a byte, from 0.
    fn column(&self, at: usize) -> usize {
        let line_start = self.text[..at].rfind('\n').map_or(0, |i| i + 1);
        self.text[line_start..at].chars().count()
    }

    fn indent_of_line(&self, at: usize) -> usize {
        let line_start = self.text[..at].rfind('\n').map_or(0, |i| i + 1);
        let line = &self.text[line_start..];
        line.len() - line.trim_start_matches(' ').len()
    }

    /// Returns how the line that `at` lies in ends; the last one as the one above it.
    fn line_end_in_use(&self, at: usize) -> &'static str {
        let next = self.text[at..].find('\n').map(|i| at + i);
        let end = next.or_else(|| self.text[..at].rfind('\n'));
        match end.is_some_and(|end| self.text[..end].ends_with('\r')) {
            true => "\r\n",
            false => "\n",
        }
    }

    /// Returns a place in the last of the blank lines that follow the line of `at`.
    fn last_blank_after(&self, at: usize) -> usize {
        let end = self.line_end_at(at);
        let rest = &self.text[end..];
        let blank = &rest[..rest.len() - rest.trim_start().len()];
        let lines_end = match blank.len() == rest.len() && blank.ends_with('\n') {
            // What follows the last line end of a file is no line.
            true => blank[..blank.len() - 1].rfind('\n'),
            false => blank.rfind('\n').and_then(|last| blank[..last].rfind('\n')),
        };
        lines_end.map_or(at, |i| end + i + 1)
    }

    /// Returns the end of the line that `at` lies in, before its line end.
    fn line_end_at(&self, at: usize) -> usize {
        let end = self.text[at..]
            .find('\n')
            .map_or(self.text.len(), |i| at + i);
        match self.text[..end].ends_with('\r') {
            true => end - 1,
            false => end,
        }
    }
}

fn insertion(at: usize, words: String) -> Insertion {
    Insertion { at: at..at, words }
}

fn with(steps: &[Step], last: Step) -> Vec<Step> {
    let mut steps = steps.to_vec();
    steps.push(last);
    steps
}

/// Returns the lines of an entry whose keys stand `inner` columns right of its dash.
fn dashed(item: &Item, inner: usize) -> Vec<String> {
    let gap = inner.saturating_sub(1);
    let pairs = item.pairs().into_iter().enumerate();
    pairs
        .map(|(index, pair)| match index {
            0 => format!("-{}{pair}", " ".repeat(gap)),
            _ => format!("{}{pair}", " ".repeat(inner)),
        })
        .collect()
}

/// Returns free text as a YAML word: plain if nothing in it could be misread.
pub fn quoted(value: &str) -> String {
    let is_safe = |c: char| c.is_alphanumeric() || " -_./()".contains(c);
    let first = value.chars().next();
    let plain = first.is_some_and(char::is_alphanumeric)
        && value.chars().all(is_safe)
        && !value.ends_with(' ')
        && !NOTHING.contains(&value)
        && bool::parse(value).is_none();
    if plain {
        return value.to_owned();
    }
    let mut words = String::from('"');
    for c in value.chars() {
        match c {
            '"' => words.push_str("\\\""),
            '\\' => words.push_str("\\\\"),
            '\n' => words.push_str("\\n"),
            c if c.is_control() || matches!(c, '\u{2028}' | '\u{2029}' | '\u{feff}') => {
                words.push_str(&format!("\\u{:04x}", u32::from(c)));
            }
            c => words.push(c),
        }
    }
    words.push('"');
    words
}
