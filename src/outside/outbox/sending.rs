//! One run: every letter is noted as due and written, then each is handed over in its turn.
//!
//! A letter leaves only if this run asks for it in the very words that lie in
//! the outbox. What was told, and what may have been, stays where it is; what
//! was refused rests. Of several recipients only those are asked again who have
//! not got it yet.

use anyhow::{Result, anyhow};
use chrono::{DateTime, Duration, FixedOffset, NaiveDate};
use lettre::Address;

use super::{Outbox, reached};
use crate::letter::Letter;
use crate::notice::mask;
use crate::outside::disk::write_whole;
use crate::outside::journal::{Entry, Reached, Recipient, State, Step};
use crate::outside::mail::{Mail, Sender, compose, fingerprint};
use crate::outside::mailer::{Mailer, Outcome, Refused};

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
    pub kind: String,
    /// The date that it states.
    pub date: Option<NaiveDate>,
    /// Its name in the outbox; none if it never came to lie there.
    pub id: Option<String>,
    /// The day, for the record in the order's file.
    pub on: NaiveDate,
    /// What became of it.
    pub fate: Fate,
    /// Whether it was this run that told the customer.
    pub tells: bool,
    /// How far it has come with each recipient; empty if it goes to the customer alone.
    pub recipients: Vec<Recipient>,
    /// When it was refused for now at first, if it was.
    pub refused_since: Option<DateTime<FixedOffset>>,
    /// Addresses that it goes to, not masked: for nobody but the maker.
    pub to: Vec<String>,
    /// What was said, addresses masked; empty if nothing was.
    pub words: String,
}

/// What became of a letter in a run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fate {
    /// It was taken; the customer counts as told.
    Accepted,
    /// The customer has it, and not everybody else whom it goes to.
    AcceptedInPart {
        /// Not before it is tried again for the others; none if it will not be.
        until: Option<DateTime<FixedOffset>>,
    },
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
    /// It was never taken, and nothing asks for it any more.
    GivenUp,
}

/// What a run is asked for beside its letters.
#[derive(Debug, Clone, Default)]
pub struct Asked {
    /// Whether letters are tried that were refused a short while ago.
    pub impatient: bool,
    /// The only orders that count; all of them if empty.
    pub only: Vec<String>,
}

/// What a run did.
#[derive(Debug)]
pub struct Run {
    /// Letter by letter, in the order given; then what was owed of earlier ones.
    pub sendings: Vec<Sending>,
    /// What stopped it, if something did.
    pub failure: Option<anyhow::Error>,
}

impl Outbox {
    /// Sends `letters`: all are written into the outbox first, then each leaves
    /// in its turn through `mailer`. `now` tells the moment of each step.
    ///
    /// A letter that was refused rests for a while. One that its customer has, and
    /// somebody else has not, is tried for those as well.
    ///
    /// # Errors
    /// When the disk refuses before the first letter has left. Later failures are in the
    /// answer, beside what became of each letter.
    pub fn send(
        &mut self,
        letters: &[Letter],
        sender: &Sender,
        mailer: &mut dyn Mailer,
        now: &dyn Fn() -> DateTime<FixedOffset>,
        asked: &Asked,
    ) -> Result<Run> {
        self.recover(mailer, now())?;
        let mut sendings = Vec::new();
        for letter in letters {
            sendings.push(self.prepare(letter, sender, now(), asked)?);
        }
        sendings.extend(self.owed(now(), asked)?);
        sendings.extend(self.given_up(now(), asked, &sendings)?);
        let mut failure = None;
        for sending in sendings.iter_mut().filter(|s| s.fate == Fate::Waiting) {
            if let Err(error) = mailer.open() {
                failure = Some(error);
                break;
            }
            match self.hand_over(sending, mailer, now) {
                Ok(true) => {}
                Ok(false) => {
                    let words = &sending.words;
                    failure = Some(anyhow!("{} ended the run: {words}", mailer.name()));
                    break;
                }
                // What went before has left; the list of it must not be lost with this one.
                Err(error) => {
                    let id = sending.id.as_deref().expect("what waits has a name");
                    let entry = self.last_entry(id);
                    sending.recipients = entry.recipients.clone();
                    sending.fate = self.fate(entry);
                    failure = Some(error);
                    break;
                }
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
        asked: &Asked,
    ) -> Result<Sending> {
        let mut sending = Sending {
            order: letter.order.clone(),
            kind: letter.kind.to_owned(),
            date: letter.date,
            id: None,
            on: at.date_naive(),
            fate: Fate::Waiting,
            tells: false,
            recipients: vec![],
            refused_since: None,
            to: letter.to.addresses().map(str::to_owned).collect(),
            words: String::new(),
        };
        if let Some(entry) = self.same_before(letter) {
            sending.fate = match entry.state() {
                State::Unsure => Fate::Unknown,
                _ => Fate::Told,
            };
            return Ok(sending);
        }
        let print = fingerprint(letter, sender);
        let since = self.due_since(&letter.order, &print).unwrap_or(at);
        let mail = match compose(letter, sender, since, &self.thread(&letter.order)) {
            Ok(mail) => mail,
            Err(error) => {
                sending.fate = Fate::NoAddress;
                sending.words = format!("{error:#}");
                return Ok(sending);
            }
        };
        let id = self.place(letter, &mail, &print, at)?;
        if let Some(until) = self
            .rests_until(&id)
            .filter(|t| *t > at && !asked.impatient)
        {
            sending.fate = Fate::Resting { until };
            sending.refused_since = self.refused_since(&id);
        }
        sending.id = Some(id);
        Ok(sending)
    }

    /// Returns since when a letter is due that an earlier run had no time to write; it
    /// keeps that moment and so its name.
    fn due_since(&self, order: &str, print: &str) -> Option<DateTime<FixedOffset>> {
        let mut last = self.journal.last_entries().into_iter();
        let due = last.find(|e| e.step == Step::Due && e.order == order && e.id.ends_with(print));
        due.map(|entry| entry.at)
    }

    /// Returns the name under which the letter waits; writes it if it does not yet.
    ///
    /// `mail` is of the moment since when it is due.
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
            .filter(|e| e.order == letter.order)
            .filter(|e| e.state() == State::Waiting || e.is_owed())
            .cloned()
            .collect();
        let mut same = None;
        for entry in waiting {
            let is_there = entry.step == Step::Due || self.mail_path(&entry.id).exists();
            let is_same = entry.id.ends_with(print) && is_there;
            if same.is_none() && is_same && entry.state() == State::Waiting {
                same = Some(entry);
            } else {
                self.withdraw(&entry, at, "a newer letter takes its place")?;
            }
        }
        let due = match same {
            Some(entry) if entry.step != Step::Due => return Ok(entry.id),
            Some(due) => due,
            None => self.note_due(letter, mail, at)?,
        };
        write_whole(&self.mail_path(&due.id), &mail.bytes)?;
        self.append(&due, Step::Queued, at, "")?;
        Ok(due.id)
    }

    /// Notes that a letter is due, before anything of it is written.
    fn note_due(
        &mut self,
        letter: &Letter,
        mail: &Mail,
        at: DateTime<FixedOffset>,
    ) -> Result<Entry> {
        let due = Entry {
            at,
            id: mail.id.clone(),
            order: letter.order.clone(),
            kind: letter.kind.to_owned(),
            date: letter.date,
            message_id: mail.message_id.clone(),
            to: mask(mail.to[0].as_ref()),
            recipients: recipients(mail),
            facts: Some(letter.facts.clone()),
            step: Step::Due,
            words: None,
        };
        self.journal.append(due.clone())?;
        Ok(due)
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
        let was_told = self.last_entry(&id).has_told();
        let mut goes_on = true;
        let mut said = Vec::new();
        for go in self.goes(&id, mailer.is_one_by_one()) {
            let to: Vec<Address> = go.iter().map(|index| mail.to[*index].clone()).collect();
            let entry = self.last_entry(&id).clone();
            let mut leave = |refused: &[Refused]| {
                let left = after(&entry, &go, Reached::HandedOver, refused);
                self.append(&left, Step::HandedOver, now(), "")
            };
            let answer = mailer.hand_over(&mail, &to, &mut leave)?;
            let is_sender = answer.outcome == Outcome::RefusedForGood && !answer.about_letter;
            let (entry, step) = match (is_sender, entry.recipients.is_empty()) {
                (true, _) => (entry, Step::SenderRefused),
                (false, true) => (entry, step_of(answer.outcome)),
                (false, false) => {
                    let left = after(&entry, &go, reached(answer.outcome), &answer.refused);
                    let step = Entry::step_of(&left.recipients);
                    (left, step)
                }
            };
            self.append(&entry, step, now(), &answer.words)?;
            said.extend(Some(answer.words).filter(|words| !words.is_empty()));
            goes_on = answer.about_letter || answer.outcome == Outcome::Accepted;
            if !goes_on {
                break;
            }
        }
        let entry = self.last_entry(&id);
        sending.on = entry.at.date_naive();
        sending.words = said.join("; ");
        sending.tells = !was_told && entry.has_told();
        sending.recipients = entry.recipients.clone();
        sending.fate = self.fate(entry);
        sending.refused_since = self.refused_since(&id);
        Ok(goes_on)
    }

    /// Returns which recipients are asked at a time: those who have not got it yet.
    fn goes(&self, id: &str, is_one_by_one: bool) -> Vec<Vec<usize>> {
        let recipients = &self.last_entry(id).recipients;
        if recipients.is_empty() {
            return vec![vec![0]];
        }
        let open = recipients.iter().enumerate();
        let open: Vec<usize> = open
            .filter(|(_, recipient)| recipient.reached.is_open())
            .map(|(index, _)| index)
            .collect();
        match is_one_by_one {
            true => open.into_iter().map(|index| vec![index]).collect(),
            false => vec![open],
        }
    }

    /// Returns what became of the letter by its last entry.
    pub(super) fn fate(&self, entry: &Entry) -> Fate {
        let until = || self.rests_until(&entry.id);
        let is_whole = entry
            .recipients
            .iter()
            .all(|r| r.reached == Reached::Accepted);
        match entry.state() {
            State::Told if is_whole => Fate::Accepted,
            State::Told => Fate::AcceptedInPart { until: until() },
            State::Refused => Fate::RefusedForGood,
            State::Unsure => Fate::Unknown,
            State::Withdrawn => Fate::Told,
            State::Waiting => match until() {
                Some(until) => Fate::RefusedNow { until },
                None => Fate::Waiting,
            },
        }
    }

    /// Returns the latest letter of this kind, if it said the same, or may have.
    fn same_before(&self, letter: &Letter) -> Option<&Entry> {
        self.journal
            .last_entries()
            .into_iter()
            .rev()
            .filter(|e| e.order == letter.order && e.kind == letter.kind)
            .find(|e| matches!(e.state(), State::Told | State::Unsure))
            .filter(|e| e.date == letter.date)
    }

    /// Returns when a letter was refused for now at first.
    pub(super) fn refused_since(&self, id: &str) -> Option<DateTime<FixedOffset>> {
        let mut entries = self.journal.entries().iter();
        let first = entries.find(|e| e.id == id && e.step == Step::RefusedNow);
        first.map(|entry| entry.at)
    }

    /// Returns until when a letter that was refused should rest.
    pub(super) fn rests_until(&self, id: &str) -> Option<DateTime<FixedOffset>> {
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

    /// Returns the Message-IDs of the order's letters that were taken or may have been,
    /// in the order in which they were written.
    fn thread(&self, order: &str) -> Vec<String> {
        let last = self.journal.last_entries().into_iter();
        let mine = last.filter(|e| e.order == order);
        let mut there: Vec<&Entry> = mine
            .filter(|e| e.has_told() || e.state() == State::Unsure)
            .collect();
        // A name begins with the moment of writing.
        there.sort_by(|a, b| a.id.cmp(&b.id));
        there.iter().map(|e| e.message_id.clone()).collect()
    }

    pub(super) fn last_entry(&self, id: &str) -> &Entry {
        let entries = self.journal.entries();
        let mut mine = entries.iter().rev().filter(|entry| entry.id == id);
        mine.next().expect("what lies in the outbox has an entry")
    }
}

/// Returns the recipients of a mail before anything happened; none for a single one.
fn recipients(mail: &Mail) -> Vec<Recipient> {
    let waiting = |address: &Address| Recipient {
        to: mask(address.as_ref()),
        reached: Reached::Waiting,
    };
    match mail.to.as_slice() {
        [_] => Vec::new(),
        several => several.iter().map(waiting).collect(),
    }
}

/// Returns the entry with the recipients `go` at `reached`, those apart who were refused.
fn after(entry: &Entry, go: &[usize], reached_now: Reached, refused: &[Refused]) -> Entry {
    let mut entry = entry.clone();
    for (asked, index) in go.iter().enumerate() {
        let Some(recipient) = entry.recipients.get_mut(*index) else {
            continue;
        };
        let own = refused.iter().find(|refused| refused.index == asked);
        recipient.reached = own.map_or(reached_now, |refused| reached(refused.outcome));
    }
    entry
}

/// Returns the step of a letter with one recipient.
fn step_of(outcome: Outcome) -> Step {
    match outcome {
        Outcome::Accepted => Step::Accepted,
        Outcome::RefusedNow => Step::RefusedNow,
        Outcome::RefusedForGood => Step::RefusedForGood,
        Outcome::Unknown => Step::Unknown,
    }
}
