//! Letters of orders whose customer is to be forgotten: their words and addresses go.
//!
//! What stays in the journal is when a letter of which kind was sent and what became
//! of it. The mails go first; a run that is stopped on its way is simply run again.

use std::collections::BTreeSet;
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use chrono::{DateTime, FixedOffset};

use super::{FOLDER, Outbox, journal_path, mail_path, read_mail};
use crate::outside::disk::sync_folder;
use crate::outside::journal::{Entry, Journal, State};

/// What stands in the journal where an address was.
const NOBODY: &str = "…";

/// What the outbox holds of some orders.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Remembered {
    /// Mails on disk, those in the folder for a mail program included.
    pub mails: Vec<PathBuf>,
    /// Letters whose address or answers stand in the journal.
    pub letters: usize,
    /// Names of letters of which nobody knows whether they arrived, with their orders.
    pub unsure: Vec<(String, String)>,
}

/// Looks up what the outbox of the studio in `studio_folder` holds of the orders
/// `numbers`; `taken_to` is the folder into which mails are written, if letters go there.
///
/// # Errors
/// When the journal cannot be read.
pub fn remembered(
    studio_folder: &Path,
    taken_to: Option<&Path>,
    numbers: &BTreeSet<String>,
) -> Result<Remembered> {
    let folder = studio_folder.join(FOLDER);
    let journal = Journal::read(&journal_path(&folder))?;
    let mut found = Remembered::default();
    for entry in of_orders(&journal, numbers) {
        let mut places = vec![mail_path(&folder, &entry.id)];
        places.extend(taken_to.map(|folder| folder.join(format!("{}.eml", entry.id))));
        found
            .mails
            .extend(places.into_iter().filter(|path| path.exists()));
        let mut entries = journal.entries().iter();
        let is_named = entries.any(|e| e.id == entry.id && !is_cleared(e));
        found.letters += usize::from(is_named);
        if entry.state() == State::Unsure {
            found.unsure.push((entry.order.clone(), entry.id.clone()));
        }
    }
    Ok(found)
}

/// Finds the orders of letters that lie in the outbox for one of these addresses.
///
/// # Errors
/// When the journal cannot be read.
pub fn orders_written_to(
    studio_folder: &Path,
    is_theirs: &dyn Fn(&str) -> bool,
) -> Result<BTreeSet<String>> {
    let folder = studio_folder.join(FOLDER);
    let journal = Journal::read(&journal_path(&folder))?;
    let entries = journal.last_entries().into_iter();
    let theirs = entries.filter(|entry| {
        read_mail(&folder, &entry.id)
            .is_ok_and(|mail| mail.to.iter().any(|to| is_theirs(to.as_ref())))
    });
    Ok(theirs.map(|entry| entry.order.clone()).collect())
}

impl Outbox {
    /// Takes words and addresses of the letters of the orders `numbers` away; letters
    /// that still wait are withdrawn.
    ///
    /// # Errors
    /// When the disk refuses. What is left can be taken away by another run.
    pub fn forget(
        &mut self,
        taken_to: Option<&Path>,
        numbers: &BTreeSet<String>,
        at: DateTime<FixedOffset>,
    ) -> Result<()> {
        let letters: Vec<Entry> = of_orders(&self.journal, numbers).cloned().collect();
        for entry in letters
            .iter()
            .filter(|e| e.state() == State::Waiting || e.is_owed())
        {
            self.withdraw(entry, at, "")?;
        }
        let mut folders = vec![self.folder.join("written")];
        folders.extend(taken_to.map(Path::to_owned));
        for folder in folders {
            for entry in &letters {
                remove(&folder.join(format!("{}.eml", entry.id)))?;
            }
            if folder.is_dir() {
                sync_folder(&folder)
                    .with_context(|| format!("writing the folder `{}`", folder.display()))?;
            }
        }
        self.journal.rewrite(|entry| {
            if numbers.contains(&entry.order) {
                entry.to = NOBODY.to_owned();
                for recipient in &mut entry.recipients {
                    recipient.to = NOBODY.to_owned();
                }
                entry.words = None;
                entry.facts = None;
            }
        })
    }
}

/// Returns the last entry of each letter of these orders.
fn of_orders<'j>(
    journal: &'j Journal,
    numbers: &'j BTreeSet<String>,
) -> impl Iterator<Item = &'j Entry> {
    let last = journal.last_entries().into_iter();
    last.filter(|entry| numbers.contains(&entry.order))
}

fn is_cleared(entry: &Entry) -> bool {
    entry.to == NOBODY && entry.words.is_none() && entry.facts.is_none()
}

fn remove(path: &Path) -> Result<()> {
    match fs::remove_file(path) {
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(()),
        done => done.with_context(|| format!("removing `{}`", path.display())),
    }
}
