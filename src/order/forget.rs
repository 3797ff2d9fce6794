//! Takes a customer out of an order file that is closed, and keeps its numbers.
//!
//! Days, sizes, copies, minutes, doses, verdicts and the kinds of letters stay. Who it
//! was for, where the parcel is to be followed, notes and whatever else names the
//! customer become one word. Comments that may name somebody go; which others are left
//! is told. As in `edit`, no other character changes, and the result is read again.

use std::fmt;
use std::ops::Range;

use serde_yaml::Value;

use super::file::OrderFile;
use super::parse::{Against, parse};
use super::traces::{FORGOTTEN, Traces};
use crate::yaml::leaf::Leaf;
use crate::yaml::locate::Locator;
use crate::yaml::text::spot;
use crate::yaml::trail::{Step, Trail};

/// An order file without its customer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cleared {
    /// The new text.
    pub text: String,
    /// Keys whose values became one word; `customer` is always the first.
    pub gone: Vec<&'static str>,
    /// How many comments went beside those among the lines of the customer.
    pub comments_gone: usize,
    /// Free text that stays, since it names nobody that we know.
    pub left: Vec<Left>,
}

/// Free text that stays in a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Left {
    /// Its key; none for a comment.
    pub key: Option<&'static str>,
    /// The text.
    pub words: String,
}

/// Why a file was not changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotCleared {
    /// The file has errors; it is not touched before they are mended.
    HasErrors,
    /// The order has not left and was not cancelled.
    Open,
    /// A value is written in a way that cannot be replaced by itself.
    ByHand {
        /// Its line, from 1.
        line: usize,
    },
}

impl fmt::Display for NotCleared {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NotCleared::HasErrors => f.write_str("the file has errors to be mended first"),
            NotCleared::Open => f.write_str("the order is open"),
            NotCleared::ByHand { line } => write!(
                f,
                "what names the customer cannot be taken out by itself (anchors, aliases); \
                 write it out in line {line} and try again"
            ),
        }
    }
}

impl std::error::Error for NotCleared {}

/// A value that is to go.
struct Spot {
    key: &'static str,
    steps: Vec<Step>,
}

/// Returns the `text` of a closed order without its customer, whom `traces` point to.
///
/// # Errors
/// The file has errors, the order is open, or the result would not read as the same
/// order without its customer.
///
/// # Example
/// ```
/// use fairday::order::Customer;
/// use fairday::order::forget::forget;
/// use fairday::order::traces::Traces;
/// let ada = Customer {
///     name: "Ada Lindqvist".into(), email: None, copies_to: vec![], address: vec![],
///     language: "en".into(),
/// };
/// let text = "order: 7   # for Ada\ncustomer: {name: Ada Lindqvist}\nordered_on: 2026-05-01\n\
///             jurisdiction: eu\ndelivery: pickup\n\
///             pieces: [{title: Wall, material: rag, size: A4, negative: wall}]\n\
///             cancelled_on: 2026-05-02   # too dear\n";
/// let cleared = forget(text, &Traces::of(&ada)).unwrap();
/// assert!(cleared.text.starts_with("order: 7\ncustomer: {name: forgotten}\nordered_on"));
/// assert_eq!((cleared.gone.len(), cleared.comments_gone), (1, 1));
/// let left: Vec<&str> = cleared.left.iter().map(|left| left.words.as_str()).collect();
/// assert_eq!(left, ["Wall", "wall", "# too dear"]);
/// ```
pub fn forget(text: &str, traces: &Traces) -> Result<Cleared, NotCleared> {
    let (mark, body) = match text.strip_prefix('\u{feff}') {
        Some(body) => ("\u{feff}", body),
        None => ("", text),
    };
    let (order, _) = parse(body, "", &Against::default());
    let order = order.ok_or(NotCleared::HasErrors)?;
    if !order.is_closed() {
        return Err(NotCleared::Open);
    }
    let shape: OrderFile = serde_yaml::from_str(body).map_err(|_| NotCleared::HasErrors)?;
    let (spots, mut left) = sort_out(&shape, traces);
    let by_hand = || NotCleared::ByHand {
        line: line_of(body, &spots[0].steps),
    };
    let replaced = replace(body, &spots).ok_or_else(by_hand)?;
    let (after, comments_gone, comments) = without_comments(&replaced, traces);
    left.extend(comments.into_iter().map(|words| Left { key: None, words }));
    if !is_right(body, &after, &spots) {
        return Err(by_hand());
    }
    Ok(Cleared {
        text: format!("{mark}{after}"),
        gone: spots.iter().map(|spot| spot.key).collect(),
        comments_gone,
        left,
    })
}

/// Returns the values that go, and the free text that stays.
fn sort_out(shape: &OrderFile, traces: &Traces) -> (Vec<Spot>, Vec<Left>) {
    let top = Trail::Root;
    let mut sorted = Sorted {
        traces,
        spots: vec![Spot {
            key: "customer",
            steps: top.key("customer").steps(),
        }],
        left: Vec::new(),
    };
    // Why it waits is told about somebody; where a parcel is leads to a door.
    sorted.goes(&shape.hold, &top, "hold");
    let list = top.key("pieces");
    for (index, piece) in shape.pieces.iter().flatten().enumerate() {
        let at = list.index(index);
        sorted.may_stay(&piece.title, &at, "title");
        sorted.may_stay(&piece.negative, &at, "negative");
        sorted.may_stay(&piece.objects, &at, "objects");
        sorted.goes(&piece.hold, &at, "hold");
        let record = at.key("progress");
        for (index, event) in piece.progress.iter().flatten().enumerate() {
            sorted.may_stay(&event.reason, &record.index(index), "reason");
        }
    }
    if let Some(dispatch) = &shape.dispatch {
        let at = top.key("dispatch");
        sorted.may_stay(&dispatch.carrier, &at, "carrier");
        sorted.goes(&dispatch.tracking, &at, "tracking");
    }
    (sorted.spots, sorted.left)
}

struct Sorted<'t> {
    traces: &'t Traces,
    spots: Vec<Spot>,
    left: Vec<Left>,
}

impl Sorted<'_> {
    fn goes(&mut self, leaf: &Option<Leaf<String>>, at: &Trail, key: &'static str) {
        if leaf.as_ref().is_some_and(|leaf| leaf.words() != FORGOTTEN) {
            let steps = at.key(key).steps();
            self.spots.push(Spot { key, steps });
        }
    }

    fn may_stay(&mut self, leaf: &Option<Leaf<String>>, at: &Trail, key: &'static str) {
        let Some(words) = leaf.as_ref().map(Leaf::words) else {
            return;
        };
        match self.traces.may_be_in(words) {
            true => self.goes(leaf, at, key),
            false => self.left.push(Left {
                key: Some(key),
                words: words.trim().to_owned(),
            }),
        }
    }
}

/// Replaces the values; none if a place cannot be found.
fn replace(text: &str, spots: &[Spot]) -> Option<String> {
    let locator = Locator::new(text);
    let is_json = text.trim_start().starts_with('{') && text.contains("\"customer\"");
    let mut edits: Vec<(Range<usize>, &str)> = Vec::new();
    for spot in spots {
        edits.push(match (spot.key, is_json) {
            ("customer", true) => (
                whole_value(text, &locator, spot)?,
                ": {\"name\": \"forgotten\"}",
            ),
            ("customer", false) => (whole_value(text, &locator, spot)?, ": {name: forgotten}"),
            (_, true) => (
                trimmed(text, locator.find_value(&spot.steps)?),
                "\"forgotten\"",
            ),
            (_, false) => (trimmed(text, locator.find_value(&spot.steps)?), FORGOTTEN),
        });
    }
    edits.sort_by_key(|(at, _)| at.start);
    let mut changed = String::with_capacity(text.len());
    let mut rest = 0;
    for (at, words) in edits {
        changed.push_str(text.get(rest..at.start)?);
        changed.push_str(words);
        rest = at.end;
    }
    changed.push_str(&text[rest..]);
    Some(changed)
}

/// Returns the bytes without the white space at their end, which belongs to the layout.
fn trimmed(text: &str, at: Range<usize>) -> Range<usize> {
    at.start..at.start + text[at.clone()].trim_end().len()
}

/// Returns the bytes from behind a key to the end of its value, with the comment on
/// that line and those below that stand in as far as the value's own lines.
fn whole_value(text: &str, locator: &Locator, spot: &Spot) -> Option<Range<usize>> {
    let key = locator.find_key(&spot.steps)?;
    let mut end = locator.content_end(text, &locator.find_value(&spot.steps)?);
    let line_end = |from: usize| text[from..].find('\n').map_or(text.len(), |i| from + i);
    let is_comment = |from: usize, to: usize| {
        let words = text[from..to].trim_start();
        words.starts_with('#') && locator.is_comment(to - words.len())
    };
    if is_comment(end, line_end(end)) {
        end = from_end(text, line_end(end));
    }
    let column = key.start - text[..key.start].rfind('\n').map_or(0, |i| i + 1);
    loop {
        let next = line_end(end) + 1;
        if next >= text.len() || !text[end..next].trim().is_empty() {
            break;
        }
        let line = &text[next..line_end(next)];
        let stands_in = line.len() - line.trim_start().len() > column;
        if !stands_in || !is_comment(next, line_end(next)) {
            break;
        }
        end = from_end(text, line_end(next));
    }
    Some(key.end..end)
}

/// Returns the end of a line without its white space.
fn from_end(text: &str, line_end: usize) -> usize {
    text[..line_end].trim_end().len()
}

/// Takes out the comments that may name the customer. Returns how many, and the others.
fn without_comments(text: &str, traces: &Traces) -> (String, usize, Vec<String>) {
    let locator = Locator::new(text);
    let mut kept = String::with_capacity(text.len());
    let (mut gone, mut left) = (0, Vec::new());
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let mut signs = line.match_indices('#').map(|(at, _)| at);
        let comment = signs.find(|at| locator.is_comment(start + at));
        start += line.len();
        let Some(at) = comment else {
            kept.push_str(line);
            continue;
        };
        let words = line[at..].trim_end();
        if !traces.may_be_in(words) {
            left.push(words.to_owned());
            kept.push_str(line);
            continue;
        }
        gone += 1;
        let before = line[..at].trim_end();
        if !before.is_empty() {
            kept.push_str(before);
            kept.push_str(&line[line.trim_end_matches(['\r', '\n']).len()..]);
        }
    }
    (kept, gone, left)
}

/// Tells whether `after` means what `before` did, the values apart.
fn is_right(before: &str, after: &str, spots: &[Spot]) -> bool {
    let read = |text: &str| serde_yaml::from_str::<Value>(text).ok();
    let Some(mut wanted) = read(before) else {
        return false;
    };
    for spot in spots {
        let mut place = &mut wanted;
        for step in &spot.steps {
            let found = match step {
                Step::Key(key) => place.get_mut(key.as_str()),
                Step::Index(index) => place.get_mut(*index),
            };
            match found {
                Some(found) => place = found,
                None => return false,
            }
        }
        *place = match spot.key {
            "customer" => {
                let name = (Value::from("name"), Value::from(FORGOTTEN));
                Value::Mapping([name].into_iter().collect())
            }
            _ => Value::from(FORGOTTEN),
        };
    }
    let (order, _) = parse(after, "", &Against::default());
    order.is_some_and(|order| order.customer.is_forgotten()) && read(after) == Some(wanted)
}

fn line_of(text: &str, steps: &[Step]) -> usize {
    let key = Locator::new(text).find_key(steps);
    key.map_or(1, |at| spot(text, at.start, at.end).line)
}

#[cfg(test)]
mod tests {
    use super::*;

    const REST: &str = "ordered_on: 2026-05-01\njurisdiction: eu\ndelivery: home\n";

    fn traces(text: &str) -> Traces {
        let (order, problems) = parse(text, "", &Against::default());
        Traces::of(&order.unwrap_or_else(|| panic!("{problems:?}")).customer)
    }

    fn check(text: &str, expected: &str) {
        let cleared = forget(text, &traces(text)).unwrap();
        assert_eq!(cleared.text, expected);
        let again = forget(&cleared.text, &traces(text)).unwrap();
        assert_eq!(again.text, expected, "a second time changes nothing");
        assert_eq!((again.gone, again.comments_gone), (vec!["customer"], 0));
    }

    #[test]
    fn a_customer_by_lines_goes_with_the_comments_among_them_and_numbers_stay() {
        let pieces = "pieces:\n  - title: Ines at the sea   # her face\n    material: rag\n    \
                      size: A4\n    copies: 2\n    negative: 'sea'\n    progress:\n      - {at: \
                      2026-05-02 18:00, did: coated}\n      - {at: 2026-05-03 12:00, did: \
                      exposed, minutes: 11.5}\n      - {at: 2026-05-03 \
                      14:00, did: remake, reason: pale}\n";
        let text = format!(
            "# call Ines: 0151 496 0000\norder: 7\ncustomer:   # an old friend\n  name: Ines \
             Calder\n  email: ines@example.org\n  address: |\n    12 Quayside\n    Northport\n  \
             # rings twice\n\n# The shop's number.\nreference: S-5\n{REST}{pieces}dispatch: {{on: \
             2026-05-08, carrier: parcel line, tracking: \"P #1\"}}\n"
        );
        let expected = format!(
            "order: 7\ncustomer: {{name: forgotten}}\n\n# The shop's number.\nreference: \
             S-5\n{REST}{}dispatch: {{on: 2026-05-08, carrier: parcel line, tracking: \
             forgotten}}\n",
            pieces.replace("Ines at the sea ", "forgotten ")
        );
        check(&text, &expected);
        let cleared = forget(&text, &traces(&text)).unwrap();
        assert_eq!(cleared.gone, ["customer", "title", "tracking"]);
        let left: Vec<&str> = cleared.left.iter().map(|l| l.words.as_str()).collect();
        let stays = [
            "sea",
            "pale",
            "parcel line",
            "# The shop's number.",
            "# her face",
        ];
        assert_eq!(left, stays);
    }

    #[test]
    fn layouts_that_makers_use_are_kept() {
        let pieces = "pieces: [{title: Wall, material: rag, size: A4, negative: wall}]\n";
        let rest = format!("{REST}{pieces}cancelled_on: 2026-05-03\n");
        check(
            &format!("order: 7\ncustomer: {{name: Ada, email: a@example.org}}  # Ada\n{rest}"),
            &format!("order: 7\ncustomer: {{name: forgotten}}\n{rest}"),
        );
        let windows = format!("order: 7\ncustomer:\n    name: Ada\n{rest}").replace('\n', "\r\n");
        let expected = format!("order: 7\ncustomer: {{name: forgotten}}\n{rest}");
        check(&windows, &expected.replace('\n', "\r\n"));
        let json = "{\"order\": \"7\", \"customer\": {\"name\": \"Ada\"}, \"ordered_on\": \
                    \"2026-05-01\", \"jurisdiction\": \"eu\", \"delivery\": \"home\", \"hold\": \
                    \"ill\", \"pieces\": [{\"title\": \"W\", \"material\": \"rag\", \"size\": \
                    \"A4\", \"negative\": \"w\"}], \"cancelled_on\": \"2026-05-03\"}";
        let expected = json
            .replace("\"Ada\"", "\"forgotten\"")
            .replace("\"ill\"", "\"forgotten\"");
        check(json, &expected);
    }

    #[test]
    fn an_open_order_and_one_whose_customer_is_an_alias_are_left_alone() {
        let pieces = "pieces: [{title: Wall, material: rag, size: A4, negative: wall}]\n";
        let open = format!("order: 7\ncustomer: {{name: Ada}}\n{REST}{pieces}");
        assert_eq!(forget(&open, &traces(&open)), Err(NotCleared::Open));
        let shared = format!(
            "order: 7\ncustomer: {{name: &n Ada}}\n{REST}{}cancelled_on: 2026-05-03\n",
            pieces.replace("Wall", "*n")
        );
        let by_hand = NotCleared::ByHand { line: 2 };
        assert_eq!(forget(&shared, &traces(&shared)), Err(by_hand));
        assert_eq!(
            forget("order: 7\n", &Traces::default()),
            Err(NotCleared::HasErrors)
        );
    }
}
