//! What there is of a customer who is to be forgotten, or was.

use super::dates::count;
use super::page::{Page, Setting, Tone};
use crate::notice::mask;
use crate::order::Order;
use crate::order::forget::Cleared;

/// Everything that the screen shows.
#[derive(Debug)]
pub struct ForgetScreen<'a> {
    /// What the maker typed.
    pub typed: &'a str,
    /// The customer's name.
    pub name: &'a str,
    /// Mail addresses of the orders that were found.
    pub addresses: Vec<&'a str>,
    /// Orders of the customer.
    pub orders: &'a [OrderLine<'a>],
    /// Orders of letters whose files are gone.
    pub without_file: Vec<&'a str>,
    /// Mails on disk.
    pub mails: usize,
    /// Letters whose address stands in the journal.
    pub letters: usize,
    /// Pages that name the customer.
    pub pages: Vec<String>,
    /// Files with errors, which nobody can look into.
    pub unread: &'a [String],
    /// Whether it was done.
    pub done: bool,
}

/// An order of the customer, and what becomes of it.
#[derive(Debug)]
pub struct OrderLine<'a> {
    /// The order, as it was.
    pub order: &'a Order,
    /// What becomes of its customer.
    pub fate: Fate,
}

/// What becomes of the customer in an order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fate {
    /// It is taken out.
    Goes {
        /// What goes and what stays.
        cleared: Cleared,
        /// The file's new name, where the old one names the customer.
        new_file: Option<String>,
    },
    /// The order is open.
    Open,
    /// Nobody knows whether the letter of this name arrived.
    InDoubt(String),
    /// The file has to be changed by hand first, for this reason.
    ByHand(String),
}

impl Fate {
    /// Tells whether the customer is taken out.
    pub fn is_going(&self) -> bool {
        matches!(self, Fate::Goes { .. })
    }
}

const NUMBER: usize = 11;
const WORD: usize = 8;

/// Writes the list.
pub fn render_forget(screen: &ForgetScreen, setting: Setting) -> String {
    let mut page = Page::new(setting);
    let head = if screen.done {
        "forgotten"
    } else {
        "to forget"
    };
    page.heading(&format!("{} · {head}", screen.name), "");
    if screen.addresses.len() > 1 {
        let masked: Vec<String> = screen.addresses.iter().map(|a| mask(a)).collect();
        let text = format!(
            "More than one mail address ({}): if these are different people, name one of them \
             by the address.",
            masked.join(", ")
        );
        page.text(Tone::Look, 2, &text);
    }
    page.gap();
    for line in screen.orders {
        order(line, screen, &mut page);
    }
    letters(screen, &mut page);
    for name in &screen.pages {
        let word = if screen.done { "removed" } else { "goes" };
        row(&mut page, "page", word, Tone::Good, &format!("`{name}`"));
    }
    for name in screen.unread {
        let text = format!("`{name}` has errors and was not looked at");
        row(&mut page, "file", "stays", Tone::Look, &text);
    }
    page.gap();
    end(screen, &mut page);
    page.into_text()
}

fn row(page: &mut Page, first: &str, word: &str, tone: Tone, text: &str) {
    let labels = [(NUMBER, Tone::Strong, first), (WORD, tone, word)];
    page.row(&labels, Tone::Plain, text);
}

fn order(line: &OrderLine, screen: &ForgetScreen, page: &mut Page) {
    let number = line.order.number.as_str();
    match &line.fate {
        Fate::Goes { cleared, new_file } => {
            let word = if screen.done { "gone" } else { "goes" };
            row(page, number, word, Tone::Good, &gone(cleared));
            if let Some(new) = new_file {
                let verb = if screen.done { "is now" } else { "becomes" };
                let text = format!("`{}` {verb} `{new}`", line.order.file);
                row(page, "", "file", Tone::Good, &text);
            }
            if !cleared.left.is_empty() {
                let text = format!("{}; look whether it names somebody", left(cleared));
                row(page, "", "stays", Tone::Quiet, &text);
            }
        }
        Fate::Open => {
            let text = format!(
                "it is open; when it has left (`fairday mark shipped {number}`) or is cancelled \
                 (`cancelled_on:` in `{}`), forget once more",
                line.order.file
            );
            row(page, number, "stays", Tone::Look, &text);
        }
        Fate::InDoubt(letter) => {
            let text = format!(
                "nobody knows whether its letter arrived; settle that first: `fairday send \
                 --told {letter}` or `--once-more {letter}`"
            );
            row(page, number, "stays", Tone::Look, &text);
        }
        Fate::ByHand(why) => {
            let text = format!("`{}`: {why}", line.order.file);
            row(page, number, "stays", Tone::Alarm, &text);
        }
    }
}

fn gone(cleared: &Cleared) -> String {
    let mut words: Vec<String> = Vec::new();
    for key in &cleared.gone {
        let word = match *key {
            "customer" => "name and addresses",
            "hold" => "note of a hold",
            "tracking" => "tracking number",
            "reason" => "reason of a remake",
            other => other,
        };
        if !words.iter().any(|known| known == word) {
            words.push(word.to_owned());
        }
    }
    if cleared.comments_gone > 0 {
        words.push(count(cleared.comments_gone, "comment"));
    }
    words.join(", ")
}

fn left(cleared: &Cleared) -> String {
    let mut words: Vec<String> = Vec::new();
    for text in &cleared.left {
        let word = match text.key {
            Some(key) => format!("{key} `{}`", text.words),
            None => format!("`{}`", text.words),
        };
        if !words.contains(&word) {
            words.push(word);
        }
    }
    words.join(", ")
}

fn letters(screen: &ForgetScreen, page: &mut Page) {
    for number in &screen.without_file {
        row(
            page,
            number,
            "letters",
            Tone::Look,
            "the order has no file any more",
        );
    }
    if screen.letters == 0 && screen.mails == 0 {
        return;
    }
    let word = if screen.done { "gone" } else { "goes" };
    let text = format!(
        "{} with words and addresses, and the address in the record of {}; when which \
         kind was sent, and what became of it, stays",
        count(screen.mails, "mail"),
        count(screen.letters, "letter")
    );
    row(page, "outbox", word, Tone::Good, &text);
}

fn end(screen: &ForgetScreen, page: &mut Page) {
    let goes = screen.orders.iter().any(|line| line.fate.is_going());
    let text = match (
        goes || screen.mails > 0 || !screen.pages.is_empty(),
        screen.done,
    ) {
        (false, _) => "Nothing of it can go yet.".to_owned(),
        (true, true) => "Done. Days, pieces, minutes and outcomes are kept.".to_owned(),
        (true, false) => format!(
            "Nothing has been changed. `fairday forget \"{}\" --yes` does it; there is no way back.",
            screen.typed
        ),
    };
    page.text(Tone::Strong, 2, &text);
    if !goes {
        return;
    }
    page.text(
        Tone::Quiet,
        2,
        "Copies elsewhere are yours to think of: backups, version control, the sent folder of \
         a mail program, the shop, tables that were imported.",
    );
}
