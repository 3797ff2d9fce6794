//! Changes an order file as text: a few characters go in, all others stay.
//!
//! Comments, order, quoting, indentation and line ends are the maker's. So a
//! change is one insertion, in the manner of what stands around it: a list in
//! brackets grows inside its brackets, a list of dashes by a line. Whether the
//! new text means what it should is found out by reading it again.

use std::fmt;

use super::file::OrderFile;
use super::parse::{Against, parse};
use super::{Coated, Dispatch, Done, Event, Exposed, Notified, Order};
use crate::problem::Problem;
use crate::yaml::added::{Added, is_all};
use crate::yaml::insert::{BlankLines, Insertion, Item, Place, Style};
use crate::yaml::locate::Locator;
use crate::yaml::text;
use crate::yaml::trail::{Step, Trail};

/// What is to be entered into an order file.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// An entry in the record of a piece.
    Progress {
        /// Index of the entry in `pieces`, from 0.
        entry: usize,
        /// Numbers of the copies it concerns, from 1; those of all of them are left out.
        copies: Vec<u32>,
        /// What was done, and when.
        event: Event,
    },
    /// A letter about a date.
    Notified(Notified),
    /// The dispatch or the handing over.
    Dispatch(Dispatch),
}

/// Why a change was not made.
#[derive(Debug, Clone, PartialEq)]
pub enum NotChanged {
    /// The file has errors; it is not touched before they are mended.
    HasErrors(Vec<Problem>),
    /// The order has been dispatched already.
    Dispatched,
    /// The file has no such entry or copy.
    NoSuchPiece,
    /// The place is written in a way that cannot be added to (an alias, a word of
    /// its own for nothing). The line is what has to be entered by hand.
    ByHand {
        /// The key to which the line belongs.
        key: &'static str,
        /// The line of the file where the key or its mapping stands, from 1; none
        /// for the file as a whole.
        at_line: Option<usize>,
        /// The line to enter.
        words: String,
    },
}

impl fmt::Display for NotChanged {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NotChanged::HasErrors(_) => f.write_str("the file has errors to be mended first"),
            NotChanged::Dispatched => f.write_str("the order is dispatched already"),
            NotChanged::NoSuchPiece => f.write_str("the order has no such piece"),
            NotChanged::ByHand {
                key,
                at_line,
                words,
            } => {
                let place = match at_line {
                    Some(line) => format!("line {line}: "),
                    None => String::new(),
                };
                write!(
                    f,
                    "{place}`{key}` is written in a way that cannot be added to without \
                     changing more than a line; write it out there, and enter by hand `{words}`"
                )
            }
        }
    }
}

impl std::error::Error for NotChanged {}

/// Returns `text` with the change entered, and nothing else different.
///
/// # Errors
/// The text has errors, the order has left already, there is no such piece, or
/// the result would not read as the same order with just this change.
///
/// # Example
/// ```
/// use fairday::order::edit::{Change, apply};
/// use fairday::order::Dispatch;
/// let text = "order: 7   # Ada's\ncustomer: {name: Ada}\nordered_on: 2026-05-01\n\
///             jurisdiction: eu\ndelivery: pickup\n\
///             pieces: [{title: Wall, material: rag, size: A4, negative: wall}]\n";
/// let on = "2026-05-14".parse().unwrap();
/// let handed_over = Dispatch { on, carrier: None, tracking: None };
/// let changed = apply(text, &Change::Dispatch(handed_over)).unwrap();
/// assert_eq!(changed, format!("{text}dispatch: {{on: 2026-05-14}}\n"));
/// ```
pub fn apply(text: &str, change: &Change) -> Result<String, NotChanged> {
    let (mark, body) = match text.strip_prefix('\u{feff}') {
        Some(body) => ("\u{feff}", body),
        None => ("", text),
    };
    let (before, problems) = parse(body, "", &Against::default());
    let before = before.ok_or(NotChanged::HasErrors(problems))?;
    let wanted = expected(before, change)?;
    for blank_lines in [BlankLines::After, BlankLines::Before] {
        let Some(insertion) = place(body, change, &wanted, blank_lines) else {
            break;
        };
        let changed = insertion.apply(body);
        if is_right(body, &changed, change, &wanted) {
            return Ok(format!("{mark}{changed}"));
        }
    }
    Err(by_hand(body, change, &wanted))
}

/// Tells whether a text reads as wanted, and in every other word as it did.
fn is_right(before: &str, after: &str, change: &Change, wanted: &Order) -> bool {
    let added = match change {
        Change::Progress { .. } | Change::Notified(_) => Added::Entry,
        Change::Dispatch(_) => Added::Key,
    };
    let (order, _) = parse(after, "", &Against::default());
    order.as_ref() == Some(wanted) && is_all(before, after, &steps(change), added)
}

/// Returns the order as it must read after the change.
fn expected(mut order: Order, change: &Change) -> Result<Order, NotChanged> {
    match change {
        Change::Progress {
            entry,
            copies,
            event,
        } => {
            let mut count = 0;
            for piece in order.pieces.iter_mut().filter(|p| p.entry == *entry) {
                if copies.contains(&piece.copy) {
                    piece.progress.events.push(event.clone());
                    count += 1;
                }
            }
            if count == 0 || count != copies.len() {
                return Err(NotChanged::NoSuchPiece);
            }
        }
        Change::Notified(notified) => order.notified.push(notified.clone()),
        Change::Dispatch(_) if order.dispatch.is_some() => return Err(NotChanged::Dispatched),
        Change::Dispatch(dispatch) => order.dispatch = Some(dispatch.clone()),
    }
    Ok(order)
}

/// Returns what the maker has to type, and where.
fn by_hand(text: &str, change: &Change, wanted: &Order) -> NotChanged {
    let key = key(change);
    let words = item(change, wanted).render_flow();
    let (words, above) = match change {
        Change::Progress { entry, .. } => {
            let pieces = Trail::Root.key("pieces");
            (format!("- {words}"), pieces.index(*entry).steps())
        }
        Change::Notified(_) => (format!("- {words}"), Vec::new()),
        Change::Dispatch(_) => (format!("dispatch: {words}"), Vec::new()),
    };
    let locator = Locator::new(text);
    let own: Vec<Step> = above
        .iter()
        .cloned()
        .chain([Step::Key(key.to_owned())])
        .collect();
    let found = locator.find_key(&own).or_else(|| match above.is_empty() {
        true => None,
        false => locator.find_entry(&above),
    });
    NotChanged::ByHand {
        key,
        at_line: found.map(|bytes| text::spot(text, bytes.start, bytes.end).line),
        words,
    }
}

/// Returns the way to what is added to.
fn steps(change: &Change) -> Vec<Step> {
    let pieces = Trail::Root.key("pieces");
    match change {
        Change::Progress { entry, .. } => pieces.index(*entry).key(key(change)).steps(),
        Change::Notified(_) | Change::Dispatch(_) => Trail::Root.key(key(change)).steps(),
    }
}

fn key(change: &Change) -> &'static str {
    match change {
        Change::Progress { .. } => "progress",
        Change::Notified(_) => "notified",
        Change::Dispatch(_) => "dispatch",
    }
}

/// Finds where the change goes in and how it is written there.
fn place(
    text: &str,
    change: &Change,
    wanted: &Order,
    blank_lines: BlankLines,
) -> Option<Insertion> {
    let shape: OrderFile = serde_yaml::from_str(text).ok()?;
    let item = item(change, wanted);
    let place = Place::new(text, blank_lines)?;
    match change {
        Change::Progress { entry, .. } => {
            let mut piece = steps(change);
            piece.pop();
            let count = shape.pieces?.get(*entry)?.progress.as_ref().map(Vec::len);
            place.append(&piece, "progress", count, &item)
        }
        Change::Notified(_) => {
            let count = shape.notified.as_ref().map(Vec::len);
            place.append(&[], "notified", count, &item)
        }
        Change::Dispatch(_) => {
            let like = [Step::Key("customer".to_owned())];
            let style = place.style_of(&like).unwrap_or(Style::Flow);
            place.set(&[], "dispatch", &item, style)
        }
    }
}

/// Returns the keys and values of the entry.
fn item(change: &Change, wanted: &Order) -> Item {
    match change {
        Change::Progress {
            entry,
            copies,
            event,
        } => {
            let of_entry = wanted.pieces.iter().filter(|p| p.entry == *entry);
            let all = of_entry.count() == copies.len();
            progress_item(event, (!all).then_some(copies))
        }
        Change::Notified(notified) => {
            let date = match notified.date {
                Some(date) => date.to_string(),
                None => "unknown".to_owned(),
            };
            Item::new()
                .plain("on", notified.on)
                .text("kind", &notified.kind)
                .plain("date", date)
        }
        Change::Dispatch(dispatch) => {
            let mut item = Item::new().plain("on", dispatch.on);
            if let Some(carrier) = &dispatch.carrier {
                item = item.text("carrier", carrier);
            }
            if let Some(tracking) = &dispatch.tracking {
                item = item.text("tracking", tracking);
            }
            item
        }
    }
}

fn progress_item(event: &Event, copies: Option<&Vec<u32>>) -> Item {
    let seconds = event.at.format("%S").to_string() != "00";
    let at = match seconds {
        true => event.at.format("%Y-%m-%d %H:%M:%S"),
        false => event.at.format("%Y-%m-%d %H:%M"),
    };
    let item = Item::new().plain("at", at);
    let item = match &event.what {
        Done::Stage { stage, .. } => item.plain("did", stage.done()),
        Done::Judged { .. } => item.plain("did", "judged"),
        Done::Remake { .. } => item.plain("did", "remake"),
    };
    let item = match copies {
        Some(copies) => {
            let numbers: Vec<String> = copies.iter().map(u32::to_string).collect();
            item.plain("copies", format!("[{}]", numbers.join(", ")))
        }
        None => item,
    };
    match &event.what {
        Done::Stage {
            exposed, coated, ..
        } => {
            let item = exposed.iter().fold(item, with_exposed);
            coated.iter().fold(item, with_coated)
        }
        Done::Judged { verdict } => item.plain("verdict", verdict.name()),
        Done::Remake { reason } => item.text("reason", reason),
    }
}

fn with_exposed(item: Item, exposed: &Exposed) -> Item {
    let rest = [
        ("planned_minutes", exposed.planned_minutes),
        ("dose_kj_m2", exposed.dose.map(|dose| dose.0)),
        ("dose_spread", exposed.dose_spread),
    ];
    let item = item.plain("minutes", exposed.minutes);
    rest.into_iter()
        .filter_map(|(key, value)| Some((key, value?)))
        .fold(item, |item, (key, value)| item.plain(key, value))
}

fn with_coated(item: Item, coated: &Coated) -> Item {
    let amounts = [("poured_ml", coated.poured_ml), ("left_ml", coated.left_ml)];
    let item = amounts
        .into_iter()
        .filter_map(|(key, value)| Some((key, value?)))
        .fold(item, |item, (key, value)| item.plain(key, value));
    [("batch", &coated.batch), ("mix", &coated.mix)]
        .into_iter()
        .filter_map(|(key, words)| Some((key, words.as_ref()?)))
        .fold(item, |item, (key, words)| item.text(key, words))
}
