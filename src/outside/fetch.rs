//! Fetching the forecast and keeping it: asks once at most, replaces only by better.
//!
//! The forecast and the record beside it are written whole or not at all, the
//! forecast first: a record without its forecast counts for nothing. Whatever
//! goes wrong, the forecast that is there stays as it is, byte for byte.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use chrono::{DateTime, Utc};

use super::disk::replace_whole;
use super::edit::lock;
use super::http::{Answer, Question, ask};
use crate::forecast::fetch::{
    Headers, Kept, Outcome, Record, Refusal, Request, Turn, accept, ask_again_from, fingerprint,
    record_file, turn,
};
use crate::studio::{Fetch, Place};

/// The largest record that is read. [bytes]
const RECORD_MAX: u64 = 100_000;

/// Characters of a service's own words that are worth showing.
const WORDS_MAX: usize = 200;

/// What is to be fetched, for whom, to where.
#[derive(Debug, Clone, Copy)]
pub struct Errand<'a> {
    /// The studio folder.
    pub folder: &'a Path,
    /// The forecast file, relative to it.
    pub file: &'a str,
    /// How it is fetched.
    pub fetch: &'a Fetch,
    /// For which place.
    pub place: &'a Place,
    /// The user's key, for a service that wants one.
    pub key: Option<&'a str>,
    /// Certificates (PEM) that are trusted instead of the built-in ones.
    pub trusted: Option<&'a [u8]>,
    /// The present instant.
    pub now: DateTime<Utc>,
}

/// Fetches the forecast if it is time to, and keeps it if it is good.
///
/// # Errors
/// No answer, or a disk that refuses.
pub fn fetch(errand: &Errand) -> Result<Outcome> {
    let request = Request::new(errand.fetch, errand.place, errand.now);
    let shelf = Shelf::of(errand.folder, errand.file);
    let record = shelf.read_record();
    let before = shelf.read_forecast();
    let if_modified_since = match turn(record.as_ref(), &request, before.as_deref(), errand.now) {
        Turn::Holds { until } => return Ok(Outcome::StillHolds { until }),
        Turn::Rest { until } => return Ok(Outcome::Refused(Refusal::Resting { until })),
        Turn::Ask { if_modified_since } => if_modified_since,
    };
    let host = host_name(&errand.fetch.host);
    let question = Question {
        url: &request.url_with_key(errand.key),
        agent: &request.agent,
        if_modified_since: if_modified_since.as_deref(),
        timeout_seconds: errand.fetch.timeout_seconds,
        trusted: errand.trusted,
    };
    let answer = ask(&question).with_context(|| format!("asking `{host}` for the forecast"))?;
    let desk = Desk {
        errand,
        request: &request,
        shelf: &shelf,
        kept: record
            .as_ref()
            .zip(before.as_deref())
            .and_then(|(record, bytes)| record.kept_as(bytes)),
        asked_for_newer: if_modified_since.is_some(),
    };
    desk.judge(&answer, host)
}

/// Finds when the forecast in `file` was fetched; none if it was put there by hand.
pub fn find_fetched_at(folder: &Path, file: &str) -> Option<DateTime<Utc>> {
    let shelf = Shelf::of(folder, file);
    let record = shelf.read_record()?;
    let forecast = shelf.read_forecast()?;
    Some(record.kept_as(&forecast)?.fetched_at)
}

/// Where an answer is judged and put away.
struct Desk<'a> {
    errand: &'a Errand<'a>,
    request: &'a Request,
    shelf: &'a Shelf,
    /// The forecast that is kept, if it is one that was fetched.
    kept: Option<&'a Kept>,
    asked_for_newer: bool,
}

impl Desk<'_> {
    fn judge(&self, answer: &Answer, host: &str) -> Result<Outcome> {
        let now = self.errand.now;
        match answer.status {
            200 => self.take(answer, host, false),
            203 => self.take(answer, host, true),
            304 if self.asked_for_newer => self.keep(&answer.headers),
            status @ (401 | 403) => refused(Refusal::Forbidden {
                status,
                words: own_words(&answer.body),
            }),
            404 => refused(Refusal::NotFound),
            429 => {
                let until = answer.headers.rest_after_too_many(now);
                self.rest(until)?;
                refused(Refusal::TooMany { until })
            }
            status @ 500..=599 => {
                let until = answer.headers.rest_until(now);
                if let Some(until) = until {
                    self.rest(until)?;
                }
                refused(Refusal::OutOfOrder { status, until })
            }
            status => refused(Refusal::Other {
                status,
                words: own_words(&answer.body),
            }),
        }
    }

    /// Puts a new forecast in the place of the old one, if it is good.
    fn take(&self, answer: &Answer, host: &str, deprecated: bool) -> Result<Outcome> {
        let now = self.errand.now;
        let (forecast, problems) = match accept(&answer.body, host, self.errand.place, now) {
            Ok(good) => good,
            Err(problems) => return Ok(Outcome::Unusable(problems)),
        };
        self.put(&self.shelf.forecast, &answer.body)?;
        let until = ask_again_from(&answer.headers, now);
        let kept = Kept {
            fetched_at: now,
            last_modified: answer.headers.last_modified.clone(),
            fingerprint: fingerprint(&answer.body),
        };
        self.note(Record::new(self.request, now, until, Some(kept)))?;
        Ok(Outcome::New {
            forecast: Box::new(forecast),
            problems,
            deprecated,
            until,
        })
    }

    /// Notes that what is kept is still the newest.
    fn keep(&self, headers: &Headers) -> Result<Outcome> {
        let now = self.errand.now;
        let until = ask_again_from(headers, now);
        self.note(Record::new(self.request, now, until, self.kept.cloned()))?;
        Ok(Outcome::Unchanged { until })
    }

    /// Notes that the service wants a rest.
    fn rest(&self, until: DateTime<Utc>) -> Result<()> {
        let now = self.errand.now;
        self.note(Record::new(self.request, now, until, self.kept.cloned()).at_rest())
    }

    fn note(&self, record: Record) -> Result<()> {
        self.put(&self.shelf.record, record.render().as_bytes())
    }

    fn put(&self, path: &Path, bytes: &[u8]) -> Result<()> {
        let _alone = lock(self.errand.folder)?;
        replace_whole(path, bytes)
    }
}

fn refused(refusal: Refusal) -> Result<Outcome> {
    Ok(Outcome::Refused(refusal))
}

/// Where the forecast and its record lie.
struct Shelf {
    forecast: PathBuf,
    record: PathBuf,
}

impl Shelf {
    fn of(folder: &Path, file: &str) -> Shelf {
        Shelf {
            forecast: folder.join(file),
            record: folder.join(record_file(file)),
        }
    }

    /// Reads the record; one that cannot be read is as good as none.
    fn read_record(&self) -> Option<Record> {
        let size = fs::metadata(&self.record).ok()?.len();
        let text = (size <= RECORD_MAX).then(|| fs::read_to_string(&self.record));
        Record::parse(&text?.ok()?)
    }

    /// Reads the forecast as bytes; one that cannot be read is as good as none.
    fn read_forecast(&self) -> Option<Vec<u8>> {
        fs::read(&self.forecast).ok()
    }
}

/// Returns the host alone, for people.
pub fn host_name(host: &str) -> &str {
    host.split_once("://").map_or(host, |(_, name)| name)
}

/// Finds the reason in a refusal: that of a JSON answer, or a short text.
fn own_words(body: &[u8]) -> Option<String> {
    let text = std::str::from_utf8(body).ok()?.trim();
    let json: Option<serde_json::Value> = serde_json::from_str(text).ok();
    let said = match &json {
        Some(json) => ["reason", "detail", "description", "message", "error"]
            .iter()
            .find_map(|key| json.get(key)?.as_str())?,
        None if text.starts_with('<') => return None,
        None => text,
    };
    let line = said.split_whitespace().collect::<Vec<_>>().join(" ");
    let plain = line.chars().filter(|c| !c.is_control()).take(WORDS_MAX);
    let words: String = plain.collect();
    (!words.is_empty()).then_some(words)
}
