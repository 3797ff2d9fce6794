//! The outbox: letters written whole before they leave, and the record of each step.
//!
//! It lies in the studio folder: `outbox/journal.jsonl` and
//! `outbox/written/<id>.eml`. A letter leaves only if a run asks for it in the
//! very words that lie here; what was told, and what may have been, is never
//! sent again by itself. Who must be told what is `notice`.

mod forget;
mod rests;
mod sending;

use std::fs::{File, TryLockError};
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail, ensure};
use chrono::{DateTime, FixedOffset};

use super::disk::sweep;
use super::edit::wait_for;
use super::journal::{Entry, Journal, Reached, State, Step};
use super::mail::Mail;
use super::mailer::{Mailer, Outcome};
use crate::notice::{Sent, Standing};

pub use forget::{Remembered, orders_written_to, remembered};
pub use sending::{Asked, Fate, Run, Sending};

/// Folder of the outbox in the studio folder.
const FOLDER: &str = "outbox";

/// The outbox of a studio, held by this run alone.
#[derive(Debug)]
pub struct Outbox {
    folder: PathBuf,
    journal: Journal,
    /// Held until the outbox is dropped.
    _lock: File,
}

/// How the maker settles a letter of which nobody knows, or that was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Settle {
    /// It arrived, or the customer was told otherwise.
    AsTold,
    /// It is to be sent once more, as it is.
    ToSend,
}

/// Reads what the outbox of the studio in `studio_folder` remembers, for [`crate::notice::notices`].
///
/// Nothing is written, and a run at work is not waited for.
///
/// # Errors
/// When the journal cannot be read.
pub fn read_sent(studio_folder: &Path) -> Result<Vec<Sent>> {
    let folder = studio_folder.join(FOLDER);
    let journal = Journal::read(&journal_path(&folder))?;
    Ok(sent(&folder, &journal))
}

impl Outbox {
    /// Opens the outbox of the studio in `studio_folder` for this run alone.
    ///
    /// # Errors
    /// When another run holds it for two seconds, when the disk refuses, or when the journal
    /// cannot be read.
    pub fn open(studio_folder: &Path) -> Result<Outbox> {
        let folder = studio_folder.join(FOLDER);
        let written = folder.join("written");
        std::fs::create_dir_all(&written)
            .with_context(|| format!("making the folder `{}`", written.display()))?;
        let path = folder.join("lock");
        let lock = File::create(&path).with_context(|| format!("opening `{}`", path.display()))?;
        match wait_for(&lock) {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                bail!("another run is sending letters from `{}`", folder.display())
            }
            Err(TryLockError::Error(error)) => {
                return Err(error).with_context(|| format!("locking `{}`", path.display()));
            }
        }
        sweep(&folder);
        sweep(&written);
        let journal = Journal::read(&journal_path(&folder))?;
        Ok(Outbox {
            folder,
            journal,
            _lock: lock,
        })
    }

    /// Returns the record of all steps.
    pub fn journal(&self) -> &Journal {
        &self.journal
    }

    /// Returns what is remembered, for [`crate::notice::notices`].
    pub fn sent(&self) -> Vec<Sent> {
        sent(&self.folder, &self.journal)
    }

    /// Finds out what became of letters that an earlier run left in mid-air.
    ///
    /// Where `mailer` cannot tell, the letter is unknown from now on.
    ///
    /// # Errors
    /// When the disk refuses.
    pub fn recover(&mut self, mailer: &mut dyn Mailer, at: DateTime<FixedOffset>) -> Result<()> {
        let open: Vec<Entry> = self
            .journal
            .last_entries()
            .into_iter()
            .filter(|entry| entry.step == Step::HandedOver)
            .cloned()
            .collect();
        for entry in open {
            let found = self
                .read_mail(&entry.id)
                .and_then(|mail| mailer.look_up(&mail))
                .unwrap_or(Outcome::Unknown);
            let step = match found {
                Outcome::Accepted => Step::Accepted,
                Outcome::RefusedNow => Step::Queued,
                Outcome::RefusedForGood => Step::RefusedForGood,
                Outcome::Unknown => Step::Unknown,
            };
            let mut entry = entry;
            let step = match entry.recipients.is_empty() {
                true => step,
                false => {
                    set_all(&mut entry, &[Reached::HandedOver], reached(found));
                    Entry::step_of(&entry.recipients)
                }
            };
            let words = "an earlier run stopped while it was handed over";
            self.append(&entry, step, at, words)?;
        }
        Ok(())
    }

    /// Records what the maker found out about a letter, or wants; returns its name.
    ///
    /// `named` is the letter's name, or the number of an order of which one letter is open.
    ///
    /// # Errors
    /// When there is no such letter, when it neither is unknown nor was refused
    /// for good, when the order has several, or when the disk refuses.
    pub fn settle(
        &mut self,
        named: &str,
        settle: Settle,
        at: DateTime<FixedOffset>,
    ) -> Result<String> {
        let mut entry = self.open_letter(named)?;
        let (step, now) = match settle {
            Settle::AsTold => (Step::SettledAsTold, Reached::Accepted),
            Settle::ToSend => (Step::SettledToSend, Reached::Waiting),
        };
        set_all(
            &mut entry,
            &[Reached::Unknown, Reached::RefusedForGood],
            now,
        );
        self.append(&entry, step, at, "settled by hand")?;
        Ok(entry.id)
    }

    /// Finds the letter that a maker means, if something is open about it.
    fn open_letter(&self, named: &str) -> Result<Entry> {
        let last = self.journal.last_entries();
        let is_open = |e: &&&Entry| matches!(e.state(), State::Unsure | State::Refused);
        if let Some(entry) = last.iter().find(|entry| entry.id == named) {
            ensure!(
                is_open(&entry),
                "nothing is open about the letter `{named}`"
            );
            return Ok((*entry).clone());
        }
        let mine: Vec<&&Entry> = last.iter().filter(|e| e.order == named).collect();
        let open: Vec<&&Entry> = mine.iter().copied().filter(|e| is_open(e)).collect();
        match open.as_slice() {
            [entry] => Ok((**entry).clone()),
            [] if mine.is_empty() => bail!("the outbox holds no letter `{named}`"),
            [] => bail!("nothing is open about the letters of order `{named}`"),
            several => {
                let names: Vec<String> = several.iter().map(|e| format!("`{}`", e.id)).collect();
                bail!(
                    "several letters of order `{named}` are open; name one of {}",
                    names.join(", ")
                )
            }
        }
    }

    fn append(
        &mut self,
        of: &Entry,
        step: Step,
        at: DateTime<FixedOffset>,
        words: &str,
    ) -> Result<()> {
        self.journal.append(Entry {
            at,
            step,
            facts: None,
            words: (!words.is_empty()).then(|| words.to_owned()),
            ..of.clone()
        })
    }

    fn read_mail(&self, id: &str) -> Result<Mail> {
        read_mail(&self.folder, id)
    }

    fn mail_path(&self, id: &str) -> PathBuf {
        mail_path(&self.folder, id)
    }
}

/// Sets every recipient that stands at one of `from` to `to`.
fn set_all(entry: &mut Entry, from: &[Reached], to: Reached) {
    for recipient in &mut entry.recipients {
        if from.contains(&recipient.reached) {
            recipient.reached = to;
        }
    }
}

/// Returns how far a letter has come by what became of its mail.
fn reached(outcome: Outcome) -> Reached {
    match outcome {
        Outcome::Accepted => Reached::Accepted,
        Outcome::RefusedNow => Reached::RefusedNow,
        Outcome::RefusedForGood => Reached::RefusedForGood,
        Outcome::Unknown => Reached::Unknown,
    }
}

fn journal_path(folder: &Path) -> PathBuf {
    folder.join("journal.jsonl")
}

fn mail_path(folder: &Path, id: &str) -> PathBuf {
    folder.join("written").join(format!("{id}.eml"))
}

fn read_mail(folder: &Path, id: &str) -> Result<Mail> {
    let path = mail_path(folder, id);
    let bytes = std::fs::read(&path).with_context(|| format!("reading `{}`", path.display()))?;
    Mail::parse(id, bytes).with_context(|| format!("reading `{}`", path.display()))
}

/// Returns the letters that were handed over, in the order of their last step.
fn sent(folder: &Path, journal: &Journal) -> Vec<Sent> {
    let of_state = |state| match state {
        State::Told => Some(Standing::Told),
        State::Unsure => Some(Standing::Unsure),
        State::Refused => Some(Standing::Refused),
        State::Waiting | State::Withdrawn => None,
    };
    let mut sent = Vec::new();
    for entry in journal.last_entries() {
        let standing = match entry.has_told() {
            true => Some(Standing::Told),
            false => of_state(entry.state()),
        };
        let Some(standing) = standing else {
            continue;
        };
        // Addresses matter only where something is open. A mail that was taken
        // away leaves its facts.
        let mail = match standing {
            Standing::Told => None,
            Standing::Unsure | Standing::Refused => read_mail(folder, &entry.id).ok(),
        };
        let address = |of: fn(&Mail) -> &lettre::Address| {
            mail.as_ref()
                .map_or(String::new(), |mail| of(mail).to_string())
        };
        let mut entries = journal.entries().iter();
        let told = entries.find(|e| e.id == entry.id && e.has_told());
        sent.push(Sent {
            order: entry.order.clone(),
            kind: entry.kind.clone(),
            on: told.unwrap_or(entry).at.date_naive(),
            date: entry.date,
            to: address(|mail| &mail.to[0]),
            from: address(|mail| &mail.from),
            standing,
        });
    }
    sent
}
