//! The journal of the outbox: one line of JSON for every step of every letter.
//!
//! Lines are only ever added, and each is on the disk before the step it
//! announces is taken; only who is forgotten is taken out of lines that are there. A line that a crash cut short is dropped: the step it
//! was to announce was not taken. Addresses stand in it masked.

use std::collections::BTreeMap;
use std::fs::{File, OpenOptions};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use chrono::{DateTime, FixedOffset, NaiveDate};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::disk::{replace_whole, sync_folder};

/// One step of one letter.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Entry {
    /// When, on the studio's clock.
    pub at: DateTime<FixedOffset>,
    /// The letter's name; its mail is `written/<id>.eml` beside the journal.
    pub id: String,
    /// Number of the order.
    pub order: String,
    /// Kind of the letter.
    pub kind: String,
    /// The date that it states; none for "cannot say".
    pub date: Option<NaiveDate>,
    /// Message-ID, fixed when it was written.
    pub message_id: String,
    /// The customer's address, masked.
    pub to: String,
    /// How far it has come with each recipient, the customer first; empty for a letter
    /// that goes to the customer alone, of which the step says it all.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub recipients: Vec<Recipient>,
    /// All that makes it due and that it states, where it was found due; none in later
    /// entries, and none of who was forgotten.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub facts: Option<Value>,
    /// What happened.
    pub step: Step,
    /// What was said to it, if anything.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub words: Option<String>,
}

/// What happened to a letter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Step {
    /// Its news was found due; it is about to be written.
    Due,
    /// It lies whole in the outbox.
    Queued,
    /// It is about to leave; from here on a broken line leaves doubt.
    HandedOver,
    /// It was taken.
    Accepted,
    /// It was not taken; later it may be.
    RefusedNow,
    /// It was not taken, and will not be.
    RefusedForGood,
    /// Nothing was taken, for a reason that concerns the sender.
    SenderRefused,
    /// It may or may not have been taken.
    Unknown,
    /// A newer letter takes its place.
    Withdrawn,
    /// The maker found out that it arrived.
    SettledAsTold,
    /// The maker wants it sent once more.
    SettledToSend,
}

/// One of several recipients of a letter.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Recipient {
    /// The address, masked.
    pub to: String,
    /// How far the letter has come with this one.
    pub reached: Reached,
}

/// How far a letter has come with one recipient.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Reached {
    /// It waits to be handed over.
    Waiting,
    /// It is about to leave.
    HandedOver,
    /// It was taken.
    Accepted,
    /// It was not taken; later it may be.
    RefusedNow,
    /// It was not taken, and will not be.
    RefusedForGood,
    /// It may or may not have been taken.
    Unknown,
    /// It is not needed any more, or was tried for long enough.
    Withdrawn,
}

impl Reached {
    /// Tells whether it is to be handed over yet.
    pub fn is_open(self) -> bool {
        matches!(self, Reached::Waiting | Reached::RefusedNow)
    }
}

/// Where a letter stands after its last step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// It waits to be written or handed over.
    Waiting,
    /// The customer was told.
    Told,
    /// Nobody knows.
    Unsure,
    /// It cannot be delivered.
    Refused,
    /// It is not needed any more.
    Withdrawn,
}

impl Step {
    /// Returns where a letter stands after this step.
    pub fn state(self) -> State {
        match self {
            Step::Due
            | Step::Queued
            | Step::RefusedNow
            | Step::SenderRefused
            | Step::SettledToSend => State::Waiting,
            Step::Accepted | Step::SettledAsTold => State::Told,
            Step::HandedOver | Step::Unknown => State::Unsure,
            Step::RefusedForGood => State::Refused,
            Step::Withdrawn => State::Withdrawn,
        }
    }
}

impl Entry {
    /// Returns where the letter stands after this entry.
    ///
    /// With several recipients it is the customer who counts as told or not; doubt
    /// about any of them is doubt.
    pub fn state(&self) -> State {
        let Some(customer) = self.recipients.first() else {
            return self.step.state();
        };
        let in_doubt = |r: &Recipient| matches!(r.reached, Reached::HandedOver | Reached::Unknown);
        if self.recipients.iter().any(in_doubt) {
            return State::Unsure;
        }
        match customer.reached {
            Reached::Accepted => State::Told,
            Reached::RefusedForGood => State::Refused,
            Reached::Withdrawn => State::Withdrawn,
            _ if self.step == Step::Withdrawn => State::Withdrawn,
            _ => State::Waiting,
        }
    }

    /// Tells whether the customer has it, as far as is known.
    pub fn has_told(&self) -> bool {
        match self.recipients.first() {
            Some(customer) => customer.reached == Reached::Accepted,
            None => self.step.state() == State::Told,
        }
    }

    /// Tells whether the customer's part is over and others still wait for theirs.
    pub fn is_owed(&self) -> bool {
        matches!(self.state(), State::Told | State::Refused)
            && self.recipients.iter().any(|r| r.reached.is_open())
    }

    /// Returns the step that says most about these recipients together.
    pub fn step_of(recipients: &[Recipient]) -> Step {
        let any = |reached| recipients.iter().any(|r| r.reached == reached);
        if any(Reached::Unknown) {
            Step::Unknown
        } else if any(Reached::HandedOver) {
            Step::HandedOver
        } else if any(Reached::RefusedNow) {
            Step::RefusedNow
        } else if any(Reached::Waiting) {
            Step::Queued
        } else if recipients
            .first()
            .is_some_and(|r| r.reached == Reached::RefusedForGood)
        {
            Step::RefusedForGood
        } else {
            Step::Accepted
        }
    }
}

/// The journal, read.
#[derive(Debug, Clone)]
pub struct Journal {
    path: PathBuf,
    entries: Vec<Entry>,
    /// Bytes up to the end of the last whole line.
    whole_bytes: u64,
}

impl Journal {
    /// Reads the journal at `path`; one that does not exist is empty.
    ///
    /// # Errors
    /// When the disk refuses, or when a line is no entry: then nobody knows
    /// what was sent, and nothing may be.
    pub fn read(path: &Path) -> Result<Journal> {
        let bytes = match std::fs::read(path) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == ErrorKind::NotFound => Vec::new(),
            Err(error) => {
                return Err(error).with_context(|| format!("reading `{}`", path.display()));
            }
        };
        let whole = bytes.iter().rposition(|byte| *byte == b'\n');
        let whole_bytes = whole.map_or(0, |index| index + 1);
        let text = std::str::from_utf8(&bytes[..whole_bytes])
            .with_context(|| format!("reading `{}`", path.display()))?;
        let mut entries = Vec::new();
        for (index, line) in text.lines().enumerate() {
            match serde_json::from_str(line) {
                Ok(entry) => entries.push(entry),
                Err(error) => bail!(
                    "`{}` has a line that is no entry, {}: {error}; \
                     nothing is sent until it is mended",
                    path.display(),
                    index + 1
                ),
            }
        }
        Ok(Journal {
            path: path.to_owned(),
            entries,
            whole_bytes: whole_bytes as u64,
        })
    }

    /// Returns all entries, oldest first.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// Returns the last entry of every letter, in the order of those entries.
    pub fn last_entries(&self) -> Vec<&Entry> {
        let mut last: BTreeMap<&str, usize> = BTreeMap::new();
        for (index, entry) in self.entries.iter().enumerate() {
            last.insert(&entry.id, index);
        }
        let mut indices: Vec<usize> = last.into_values().collect();
        indices.sort_unstable();
        indices.iter().map(|index| &self.entries[*index]).collect()
    }

    /// Adds an entry and waits until it is on the disk.
    ///
    /// # Errors
    /// When the disk refuses; the step must then not be taken.
    pub fn append(&mut self, entry: Entry) -> Result<()> {
        let mut line = serde_json::to_vec(&entry).context("writing an entry as JSON")?;
        line.push(b'\n');
        self.append_line(&line)
            .with_context(|| format!("writing `{}`", self.path.display()))?;
        self.whole_bytes += line.len() as u64;
        self.entries.push(entry);
        Ok(())
    }

    /// Changes entries that are on the disk, all at once; for what must not be kept.
    ///
    /// # Errors
    /// When the disk refuses; the journal is then as it was.
    pub fn rewrite(&mut self, change: impl Fn(&mut Entry)) -> Result<()> {
        let mut entries = self.entries.clone();
        entries.iter_mut().for_each(change);
        if entries == self.entries {
            return Ok(());
        }
        let mut bytes = Vec::new();
        for entry in &entries {
            serde_json::to_writer(&mut bytes, entry).context("writing an entry as JSON")?;
            bytes.push(b'\n');
        }
        replace_whole(&self.path, &bytes)?;
        self.whole_bytes = bytes.len() as u64;
        self.entries = entries;
        Ok(())
    }

    fn append_line(&self, line: &[u8]) -> std::io::Result<()> {
        let is_new = !self.path.exists();
        let mut file: File = OpenOptions::new()
            .create(true)
            .append(true)
            .open(&self.path)?;
        if file.metadata()?.len() != self.whole_bytes {
            // What a crash left of a line goes before the next one comes.
            file.set_len(self.whole_bytes)?;
        }
        file.write_all(line)?;
        file.sync_all()?;
        match self.path.parent() {
            Some(folder) if is_new => sync_folder(folder),
            _ => Ok(()),
        }
    }
}
