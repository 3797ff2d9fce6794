//! One run: every letter is written first, then each is handed over in its turn.
//!
//! A letter leaves only if this run asks for it in the very words that lie in
//! the outbox. What was told, and what may have been, stays where it is; what
//! was refused rests.

use anyhow::{Result, anyhow};
use chrono::{DateTime, Duration, FixedOffset, NaiveDate};

use super::Outbox;
use crate::letter::Letter;
use crate::notice::mask;
use crate::outside::disk::write_whole;
use crate::outside::journal::{Entry, State, Step};
use crate::outside::mail::{Mail, Sender, compose, fingerprint};
use crate::outside::mailer::{Mailer, Outcome};

/// Pauses after the first and further refusals; the last one stays. [min]
///
/// # Sources
/// RFC 5321, 4.5.4.1: wait at least half an hour after a failure, try for days.
const PAUSES_MINUTES: [i64; 4] = [30, 60, 180, 360];

/// What a run did with one letter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sending {
    /// Number of the order.
    pub order: String,
    /// Kind of the letter.
    pub kind: &'static str,
    /// The date that it states.
    pub date: Option<NaiveDate>,
    /// Its name in the outbox; none if it never came to lie there.
    pub id: Option<String>,
    /// The day, for the record in the order's file.
    pub on: NaiveDate,
    /// What became of it.
    pub fate: Fate,
    /// What was said, addresses masked; empty if nothing was.
    pub words: String,
}

/// What became of a letter in a run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fate {
    /// It was taken; the customer counts as told.
    Accepted,
    /// It was refused; it may be tried again then.
    RefusedNow {
        /// Not before.
        until: DateTime<FixedOffset>,
    },
    /// It was refused before and rests.
    Resting {
        /// Not before.
        until: DateTime<FixedOffset>,
    },
    /// It was refused for good.
    RefusedForGood,
    /// It may or may not have been taken; the maker has to find out.
    Unknown,
    /// It waits in the outbox: the run stopped before it.
    Waiting,
    /// The same was told before, or may have been.
    Told,
    /// It has no address that a mail can go to.
    NoAddress,
}

/// What a run did.
#[derive(Debug)]
pub struct Run {
    /// Letter by letter, in the order given.
    pub sendings: Vec<Sending>,
    /// What stopped it, if something did.
    pub failure: Option<anyhow::Error>,
}

impl Outbox {
    /// Sends `letters`: all are written into the outbox first, then each leaves
    /// in its turn through `mailer`. `now` tells the moment of each step.
    ///
    /// A letter that was refused rests for a while, unless `impatient`.
    ///
    /// # Errors
    /// When the disk refuses. Whatever was handed over until then is on record.
    pub fn send(
        &mut self,
        letters: &[Letter],
        sender: &Sender,
        mailer: &mut dyn Mailer,
        now: &dyn Fn() -> DateTime<FixedOffset>,
        impatient: bool,
    ) -> Result<Run> {
        self.recover(mailer, now())?;
        let mut sendings = Vec::new();
        for letter in letters {
            sendings.push(self.prepare(letter, sender, now(), impatient)?);
        }
        let mut failure = None;
        for sending in sendings.iter_mut().filter(|s| s.fate == Fate::Waiting) {
            if let Err(error) = mailer.open() {
                failure = Some(error);
                break;
            }
            let goes_on = self.hand_over(sending, mailer, now)?;
            if !goes_on {
                let words = &sending.words;
                failure = Some(anyhow!("{} ended the run: {words}", mailer.name()));
                break;
            }
        }
        Ok(Run { sendings, failure })
    }

    /// Puts a letter into the outbox, unless it was told or rests.
    fn prepare(
        &mut self,
        letter: &Letter,
        sender: &Sender,
        at: DateTime<FixedOffset>,
        impatient: bool,
    ) -> Result<Sending> {
        let mut sending = Sending {
            order: letter.order.clone(),
            kind: letter.kind,
            date: letter.date,
            id: None,
            on: at.date_naive(),
            fate: Fate::Waiting,
            words: String::new(),
        };
        if self.is_told(letter) {
            sending.fate = Fate::Told;
            return Ok(sending);
        }
        let mail = match compose(letter, sender, at, &self.thread(&letter.order)) {
            Ok(mail) => mail,
            Err(error) => {
                sending.fate = Fate::NoAddress;
                sending.words = format!("{error:#}");
                return Ok(sending);
            }
        };
        let id = self.place(letter, &mail, &fingerprint(letter, sender), at)?;
        if let Some(until) = self.rests_until(&id).filter(|t| *t > at && !impatient) {
            sending.fate = Fate::Resting { until };
        }
        sending.id = Some(id);
        Ok(sending)
    }

    /// Returns the name under which the letter waits; writes it if it does not yet.
    fn place(
        &mut self,
        letter: &Letter,
        mail: &Mail,
        print: &str,
        at: DateTime<FixedOffset>,
    ) -> Result<String> {
        let waiting: Vec<Entry> = self
            .journal
            .last_entries()
            .into_iter()
            .filter(|e| e.order == letter.order && e.step.state() == State::Waiting)
            .cloned()
            .collect();
        let mut same = None;
        for entry in waiting {
            let is_same = entry.id.ends_with(print) && self.mail_path(&entry.id).exists();
            if same.is_none() && is_same {
                same = Some(entry.id);
            } else {
                self.append(
                    &entry,
                    Step::Withdrawn,
                    at,
                    "a newer letter takes its place",
                )?;
            }
        }
        if let Some(id) = same {
            return Ok(id);
        }
        write_whole(&self.mail_path(&mail.id), &mail.bytes)?;
        self.journal.append(Entry {
            at,
            id: mail.id.clone(),
            order: letter.order.clone(),
            kind: letter.kind.to_owned(),
            date: letter.date,
            message_id: mail.message_id.clone(),
            to: mask(mail.to.as_ref()),
            step: Step::Queued,
            words: None,
        })?;
        Ok(mail.id.clone())
    }

    /// Hands one letter over, tells whether the run goes on.
    fn hand_over(
        &mut self,
        sending: &mut Sending,
        mailer: &mut dyn Mailer,
        now: &dyn Fn() -> DateTime<FixedOffset>,
    ) -> Result<bool> {
        let id = sending.id.clone().expect("what waits has a name");
        let mail = self.read_mail(&id)?;
        let entry = self.last_entry(&id).clone();
        let mut leave = || self.append(&entry, Step::HandedOver, now(), "");
        let answer = mailer.hand_over(&mail, &mut leave)?;
        let step = match answer.outcome {
            Outcome::Accepted => Step::Accepted,
            Outcome::RefusedNow => Step::RefusedNow,
            Outcome::RefusedForGood if answer.about_letter => Step::RefusedForGood,
            Outcome::RefusedForGood => Step::SenderRefused,
            Outcome::Unknown => Step::Unknown,
        };
        let at = now();
        self.append(&entry, step, at, &answer.words)?;
        sending.on = at.date_naive();
        sending.words = answer.words;
        sending.fate = match step {
            Step::Accepted => Fate::Accepted,
            Step::RefusedForGood => Fate::RefusedForGood,
            Step::Unknown => Fate::Unknown,
            Step::RefusedNow => Fate::RefusedNow {
                until: self.rests_until(&id).unwrap_or(at),
            },
            _ => Fate::Waiting,
        };
        Ok(answer.about_letter || answer.outcome == Outcome::Accepted)
    }

    /// Tells whether the latest letter of this kind said the same, or may have.
    fn is_told(&self, letter: &Letter) -> bool {
        self.journal
            .last_entries()
            .into_iter()
            .rev()
            .filter(|e| e.order == letter.order && e.kind == letter.kind)
            .find(|e| matches!(e.step.state(), State::Told | State::Unsure))
            .is_some_and(|e| e.date == letter.date)
    }

    /// Returns until when a letter that was refused should rest.
    fn rests_until(&self, id: &str) -> Option<DateTime<FixedOffset>> {
        let mine: Vec<&Entry> = self
            .journal
            .entries()
            .iter()
            .filter(|entry| entry.id == id)
            .collect();
        let refusals = mine.iter().filter(|e| e.step == Step::RefusedNow).count();
        let last = mine.last().filter(|e| e.step == Step::RefusedNow)?;
        let index = refusals.clamp(1, PAUSES_MINUTES.len()) - 1;
        Some(last.at + Duration::minutes(PAUSES_MINUTES[index]))
    }

    /// Returns the Message-IDs of the order's letters that were taken, oldest first.
    fn thread(&self, order: &str) -> Vec<String> {
        self.journal
            .last_entries()
            .into_iter()
            .filter(|e| e.order == order && e.step.state() == State::Told)
            .map(|e| e.message_id.clone())
            .collect()
    }

    fn last_entry(&self, id: &str) -> &Entry {
        let entries = self.journal.entries();
        let mut mine = entries.iter().rev().filter(|entry| entry.id == id);
        mine.next().expect("what lies in the outbox has an entry")
    }
}
