//! What must be told as JSON, `fairday-notices/1`. Addresses are masked unless asked for.

use chrono::NaiveDate;
use serde::Serialize;

use super::plain;
use crate::letter::{Letter, way};
use crate::notice::{Notice, Sent, Way};
use crate::view::notices::NoticesScreen;

/// The whole answer.
#[derive(Debug, Serialize)]
pub struct NoticesJson<'a> {
    format: &'static str,
    studio: &'a str,
    today: NaiveDate,
    forecast: String,
    notices: Vec<EntryJson<'a>>,
    /// Earlier letters of which nobody knows whether they arrived, and no notice speaks.
    doubts: Vec<DoubtJson<'a>>,
}

#[derive(Debug, Serialize)]
struct DoubtJson<'a> {
    order: &'a str,
    kind: &'a str,
    on: NaiveDate,
    date: Option<NaiveDate>,
}

#[derive(Debug, Serialize)]
struct EntryJson<'a> {
    #[serde(flatten)]
    notice: &'a Notice,
    why: String,
    how: String,
    /// Whole addresses, only when asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    to: Option<Vec<&'a str>>,
    letter: Option<LetterJson<'a>>,
}

#[derive(Debug, Serialize)]
struct LetterJson<'a> {
    language: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    language_missing: Option<&'a str>,
    subject: &'a str,
    text: &'a str,
    html: &'a str,
}

/// Says what must be told for other programs.
pub fn notices_json<'a>(screen: &NoticesScreen<'a>) -> NoticesJson<'a> {
    let letter = |notice: &Notice| {
        let found = screen
            .letters
            .iter()
            .find(|letter| letter.order == notice.order);
        found.filter(|_| screen.whole).map(LetterJson::new)
    };
    let entry = |notice: &'a Notice| EntryJson {
        notice,
        why: screen.why(notice),
        how: way(notice),
        to: screen.addresses.then(|| addresses(&notice.way)),
        letter: letter(notice),
    };
    NoticesJson {
        format: "fairday-notices/1",
        studio: screen.studio,
        today: screen.today,
        forecast: plain(screen.forecast_note),
        notices: screen.notices.iter().map(entry).collect(),
        doubts: screen.doubts.iter().map(DoubtJson::new).collect(),
    }
}

fn addresses(way: &Way) -> Vec<&str> {
    match way {
        Way::Mail { address, copies_to } => {
            let own = [address].into_iter().chain(copies_to);
            own.map(String::as_str).collect()
        }
        Way::ByHand { .. } => Vec::new(),
    }
}

impl<'a> DoubtJson<'a> {
    fn new(doubt: &'a Sent) -> DoubtJson<'a> {
        DoubtJson {
            order: &doubt.order,
            kind: &doubt.kind,
            on: doubt.on,
            date: doubt.date,
        }
    }
}

impl<'a> LetterJson<'a> {
    fn new(letter: &'a Letter) -> LetterJson<'a> {
        LetterJson {
            language: &letter.language,
            language_missing: letter.language_missing.as_deref(),
            subject: &letter.subject,
            text: &letter.text,
            html: &letter.html,
        }
    }
}
