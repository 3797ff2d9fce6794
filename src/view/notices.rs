//! Who must be told what and why, with each letter word for word.

use chrono::NaiveDate;

use super::dates::{count, full_day};
use super::page::{Page, Setting, Tone};
use crate::letter::{Letter, in_doubt, language, reason, way};
use crate::notice::{Notice, Sent, Way, mask};
use crate::order::{Delivery, Order};

/// Everything that the screen shows.
#[derive(Debug, Clone, Copy)]
pub struct NoticesScreen<'a> {
    /// Name of the studio.
    pub studio: &'a str,
    /// All orders.
    pub orders: &'a [Order],
    /// The day.
    pub today: NaiveDate,
    /// What the dates rest on, in one line.
    pub forecast_note: &'a str,
    /// What must be told.
    pub notices: &'a [Notice],
    /// Its words, in the same order.
    pub letters: &'a [Letter],
    /// Earlier letters of which nobody knows, and no notice speaks.
    pub doubts: &'a [Sent],
    /// Whether the letters are shown whole.
    pub whole: bool,
    /// Whether mail addresses are shown whole.
    pub addresses: bool,
}

impl NoticesScreen<'_> {
    /// Says why a notice is due.
    pub fn why(&self, notice: &Notice) -> String {
        let order = self.orders.iter().find(|o| o.number == notice.order);
        let delivery = order.map_or(&Delivery::Pickup, |order| &order.delivery);
        reason(notice, delivery, self.today)
    }
}

const NUMBER: usize = 10;
const KIND: usize = 12;

/// Writes the list and the letters.
pub fn render_notices(screen: &NoticesScreen, setting: Setting) -> String {
    let mut page = Page::new(setting);
    let head = format!(
        "{} · letters due, {}",
        screen.studio,
        full_day(screen.today)
    );
    page.heading(&head, "");
    page.text(Tone::Quiet, 2, screen.forecast_note);
    if !screen.doubts.is_empty() {
        page.gap();
    }
    for doubt in screen.doubts {
        line_of_doubt(doubt, &mut page);
    }
    if screen.notices.is_empty() {
        page.text(Tone::Good, 2, "Nobody has to be told anything today.");
        return page.into_text();
    }
    page.gap();
    for notice in screen.notices {
        line(screen, notice, &mut page);
    }
    for letter in screen.letters.iter().filter(|_| screen.whole) {
        whole(letter, screen.addresses, &mut page);
    }
    page.gap();
    let by_mail = screen
        .notices
        .iter()
        .filter(|n| matches!(n.way, Way::Mail { .. }))
        .count();
    let text = if by_mail == 0 {
        "None of them goes by mail.".to_owned()
    } else {
        format!(
            "`fairday send` sends {}; nothing has been sent yet.",
            count(by_mail, "letter")
        )
    };
    page.text(Tone::Strong, 2, &text);
    page.into_text()
}

fn line(screen: &NoticesScreen, notice: &Notice, page: &mut Page) {
    let order = screen
        .orders
        .iter()
        .find(|order| order.number == notice.order);
    let name = order.map_or("", |order| order.customer.name.as_str());
    let tone = match notice.way {
        Way::Mail { .. } => Tone::Good,
        Way::ByHand { .. } => Tone::Look,
    };
    let labels = [
        (NUMBER, Tone::Strong, notice.order.as_str()),
        (KIND, tone, notice.kind.name()),
    ];
    page.row(
        &labels,
        Tone::Plain,
        &format!("{name} · {}", screen.why(notice)),
    );
    if let Way::ByHand { .. } = notice.way {
        page.row(
            &[(NUMBER, Tone::Plain, ""), (KIND, Tone::Look, "by hand")],
            Tone::Plain,
            &way(notice),
        );
    }
}

/// Speaks of a letter whose news is over, and of which nobody knows.
fn line_of_doubt(doubt: &Sent, page: &mut Page) {
    let labels = [
        (NUMBER, Tone::Strong, doubt.order.as_str()),
        (KIND, Tone::Look, doubt.kind.as_str()),
    ];
    let words = format!("of {}: {}", full_day(doubt.on), in_doubt(&doubt.order));
    page.row(&labels, Tone::Plain, &words);
}

fn whole(letter: &Letter, addresses: bool, page: &mut Page) {
    page.gap();
    let shown = |address: &str| match addresses {
        true => address.to_owned(),
        false => mask(address),
    };
    let shown: Vec<String> = letter.to.addresses().map(shown).collect();
    let to = match shown.as_slice() {
        [] => "by hand".to_owned(),
        [own] => own.clone(),
        [own, copies @ ..] => format!("{own}, and a copy to {}", copies.join(", ")),
    };
    page.heading(&format!("{} · {}", letter.order, letter.kind), "");
    page.row(
        &[(9, Tone::Quiet, "to")],
        Tone::Plain,
        &format!("{}, {to}", letter.to.name),
    );
    if let Some(missing) = language(letter) {
        page.row(&[(9, Tone::Quiet, "language")], Tone::Look, &missing);
    }
    page.row(
        &[(9, Tone::Quiet, "subject")],
        Tone::Strong,
        &letter.subject,
    );
    page.gap();
    page.verbatim(4, &letter.text);
}
