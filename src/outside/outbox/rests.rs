//! What is owed of earlier letters that no run asks for any more.
//!
//! A copy for somebody else, when its customer has hers: it is tried from the outbox, in
//! the words that the others have, until it is too old. A letter that was never taken and
//! whose news is over: it is given up, and that is said.

use anyhow::Result;
use chrono::{DateTime, Duration, FixedOffset};

use super::{Asked, Fate, Outbox, Sending, set_all};
use crate::outside::journal::{Entry, Reached, State, Step};

/// Days for which a letter is tried for those who have not got it. [d]
///
/// # Sources
/// RFC 5321, 4.5.4.1: give up after four or five days at the earliest.
const TRIED_DAYS: i64 = 5;

impl Outbox {
    /// Returns what is to be handed over of earlier letters, and which of those are in
    /// doubt; gives up what is too old.
    pub(super) fn owed(
        &mut self,
        at: DateTime<FixedOffset>,
        asked: &Asked,
    ) -> Result<Vec<Sending>> {
        let mut owed = Vec::new();
        for entry in self.unfinished(asked) {
            let fate = match entry.state() {
                State::Unsure => Fate::Unknown,
                _ if self.is_too_old(&entry, at) => {
                    self.withdraw(&entry, at, "it is too old to be tried again")?;
                    Fate::AcceptedInPart { until: None }
                }
                _ => match self.rests_until(&entry.id) {
                    Some(until) if until > at && !asked.impatient => Fate::Resting { until },
                    _ => Fate::Waiting,
                },
            };
            owed.push(Sending {
                fate,
                ..self.sending_of(&entry, at)
            });
        }
        Ok(owed)
    }

    /// Gives up what waits for days and is not among `sendings`, so that nothing is lost
    /// in silence.
    pub(super) fn given_up(
        &mut self,
        at: DateTime<FixedOffset>,
        asked: &Asked,
        sendings: &[Sending],
    ) -> Result<Vec<Sending>> {
        let is_asked = |e: &Entry| asked.only.is_empty() || asked.only.contains(&e.order);
        let in_hand = |e: &Entry| sendings.iter().any(|s| s.id.as_ref() == Some(&e.id));
        let last = self.journal.last_entries().into_iter();
        let waiting = last.filter(|e| e.state() == State::Waiting && is_asked(e) && !in_hand(e));
        let old: Vec<Entry> = waiting
            .filter(|e| self.is_tried_long(e, at))
            .cloned()
            .collect();
        let mut given_up = Vec::new();
        for entry in old {
            self.withdraw(&entry, at, "its news is over")?;
            given_up.push(Sending {
                fate: Fate::GivenUp,
                ..self.sending_of(&entry, at)
            });
        }
        Ok(given_up)
    }

    /// Returns a letter of the journal as one of this run.
    fn sending_of(&self, entry: &Entry, at: DateTime<FixedOffset>) -> Sending {
        let last = self.last_entry(&entry.id);
        Sending {
            order: last.order.clone(),
            kind: last.kind.clone(),
            date: last.date,
            id: Some(last.id.clone()),
            on: at.date_naive(),
            fate: Fate::Waiting,
            tells: false,
            recipients: last.recipients.clone(),
            refused_since: self.refused_since(&entry.id),
            to: self.addresses(&entry.id),
            words: String::new(),
        }
    }

    /// Returns the last entries of letters that are over for the customer alone.
    fn unfinished(&self, asked: &Asked) -> Vec<Entry> {
        let is_asked = |e: &Entry| asked.only.is_empty() || asked.only.contains(&e.order);
        let last = self.journal.last_entries().into_iter();
        let open = last.filter(|e| e.is_owed() || (e.has_told() && e.state() == State::Unsure));
        open.filter(|e| is_asked(e)).cloned().collect()
    }

    /// Returns the addresses of a letter as its mail has them; none if it is gone.
    fn addresses(&self, id: &str) -> Vec<String> {
        let mail = self.read_mail(id).ok();
        let to = mail.map_or(Vec::new(), |mail| mail.to);
        to.iter().map(ToString::to_string).collect()
    }

    /// Tells whether a letter is not to be tried again: it lies there for days, or the
    /// day that it promises has gone by.
    fn is_too_old(&self, entry: &Entry, at: DateTime<FixedOffset>) -> bool {
        let is_old = self.is_tried_long(entry, at);
        let promises = matches!(entry.kind.as_str(), "taken" | "planned" | "delayed");
        let is_gone = !self.mail_path(&entry.id).exists();
        is_old || is_gone || (promises && entry.date.is_some_and(|date| date < at.date_naive()))
    }

    /// Tells whether a letter lies there for as long as one is tried.
    fn is_tried_long(&self, entry: &Entry, at: DateTime<FixedOffset>) -> bool {
        let mut entries = self.journal.entries().iter();
        let first = entries.find(|first| first.id == entry.id);
        first.is_some_and(|first| first.at + Duration::days(TRIED_DAYS) < at)
    }

    /// Takes a letter back from all who have not got it.
    pub(super) fn withdraw(
        &mut self,
        entry: &Entry,
        at: DateTime<FixedOffset>,
        words: &str,
    ) -> Result<()> {
        let mut entry = entry.clone();
        let open = [Reached::Waiting, Reached::RefusedNow];
        set_all(&mut entry, &open, Reached::Withdrawn);
        self.append(&entry, Step::Withdrawn, at, words)
    }
}
