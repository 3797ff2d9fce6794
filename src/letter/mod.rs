//! Notices as letters: subject, text and HTML, word for word as they will go out.
//!
//! The words stand in templates: those of `templates/`, built into the program,
//! each of which a studio may replace by one of the same name. They are written
//! in the customer's language, or in English where nobody wrote them. A value that a
//! template asks for and the notice lacks is a problem, never an empty gap. No
//! disk is read and nothing is sent here; `outside/outbox` does that.

mod built_in;
mod calls;
mod data;
mod hint;
mod printed;
mod proof;
mod reason;
mod set;
mod templates;
mod words;
mod wrap;

use chrono::NaiveDate;
use serde_json::Value;

use crate::notice::{Notice, Way};
use crate::order::Order;
use crate::problem::Problem;
use crate::studio::Studio;

pub use proof::templates_for;
pub use reason::{in_doubt, language, reason, refused, way};
pub use templates::Templates;
use templates::serves;
pub(crate) use words::turns;
pub use words::{day, one_line, verb};

/// A letter, ready to be shown, printed or sent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Letter {
    /// Number of the order it is about.
    pub order: String,
    /// Its kind: `taken`, `planned`, `delayed`, `remade`, `dispatched`, `ready`, `cancelled`.
    pub kind: &'static str,
    /// The language it is written in.
    pub language: String,
    /// The customer's language, where nobody wrote this letter in it.
    pub language_missing: Option<String>,
    /// The date that it states; none for "cannot say".
    pub date: Option<NaiveDate>,
    /// All that it states, as the notice has it: kind, days, cause, what silence means.
    pub facts: Value,
    /// Where it goes.
    pub to: Recipient,
    /// One line.
    pub subject: String,
    /// Plain text in lines of at most 72 columns, with a line end at the end.
    pub text: String,
    /// The same letter as a page of HTML.
    pub html: String,
}

/// Where a letter goes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recipient {
    /// Name, one line.
    pub name: String,
    /// Address; none if the maker must tell the customer by other means.
    pub address: Option<String>,
    /// Addresses of others who get it, too.
    pub copies_to: Vec<String>,
}

impl Recipient {
    /// Returns all addresses, the customer's first.
    pub fn addresses(&self) -> impl Iterator<Item = &str> {
        let own = self.address.iter().chain(&self.copies_to);
        own.map(String::as_str)
    }
}

/// Renders the letter that `notice` asks for.
///
/// # Errors
/// The template's file, line and column, and the names known there, when a
/// template asks for what the letter does not have.
pub fn render(
    notice: &Notice,
    order: &Order,
    studio: &Studio,
    templates: &Templates,
) -> Result<Letter, Problem> {
    let kind = notice.kind.name();
    let wanted = &order.customer.language;
    let set = templates.find(wanted, kind);
    let mut data = data::data(notice, order, studio, &set.words);
    let (address, copies_to) = match &notice.way {
        Way::Mail { address, copies_to } => (Some(address.clone()), copies_to.clone()),
        Way::ByHand { .. } => (None, Vec::new()),
    };
    let subject = one_line(&set.text(&format!("{kind}.subject"), &data)?);
    if subject.is_empty() {
        return Err(set.empty_problem(&format!("{kind}.subject")));
    }
    data.letter.subject = Some(subject.clone());
    let text = wrap::wrap(&set.text(&format!("{kind}.txt"), &data)?);
    if text.trim().is_empty() {
        return Err(set.empty_problem(&format!("{kind}.txt")));
    }
    Ok(Letter {
        language: set.language.clone(),
        language_missing: (!serves(&set.language, wanted)).then(|| wanted.clone()),
        order: order.number.clone(),
        kind,
        date: notice.kind.date(),
        facts: serde_json::to_value(&notice.kind).expect("days and words have a JSON form"),
        to: Recipient {
            name: one_line(&order.customer.name),
            address,
            copies_to,
        },
        text,
        html: without_empty_lines(&set.html(&format!("{kind}.html"), &data)?),
        subject,
    })
}

/// Drops the lines that conditions left empty; HTML does not care, a reader does.
fn without_empty_lines(html: &str) -> String {
    let lines = html.lines().filter(|line| !line.trim().is_empty());
    lines.flat_map(|line| [line, "\n"]).collect()
}

/// Renders the letters of all notices, so that every mistake shows before the first leaves.
///
/// A notice whose order is not among `orders` is left out.
///
/// # Errors
/// Every problem, each once; a mistake in one template concerns many letters.
pub fn render_all(
    notices: &[Notice],
    orders: &[Order],
    studio: &Studio,
    templates: &Templates,
) -> Result<Vec<Letter>, Vec<Problem>> {
    let mut letters = Vec::new();
    let mut problems: Vec<Problem> = Vec::new();
    for notice in notices {
        let Some(order) = orders.iter().find(|order| order.number == notice.order) else {
            continue;
        };
        match render(notice, order, studio, templates) {
            Ok(letter) => letters.push(letter),
            Err(problem) if problems.contains(&problem) => {}
            Err(problem) => problems.push(problem),
        }
    }
    if problems.is_empty() {
        Ok(letters)
    } else {
        Err(problems)
    }
}
