//! What is said of the talk with a mail server: one line, short, no address whole.

use std::io::ErrorKind;

use anyhow::anyhow;
use lettre::Address;
use lettre::transport::smtp::Error;

use super::{Mail, NotFor, Step, Trouble};
use crate::letter::one_line;
use crate::notice::mask;

/// Longest answer of a server that is kept. [characters]
const WORDS_MAX: usize = 300;

/// Says what a server answered, or what happened to the line.
fn said(error: &Error) -> String {
    if let Some(code) = error.status() {
        let source = std::error::Error::source(error).map(ToString::to_string);
        return format!("{code} {}", source.unwrap_or_default());
    }
    match kind_of(error) {
        Some(ErrorKind::TimedOut | ErrorKind::WouldBlock) => "no answer in time".to_owned(),
        Some(ErrorKind::UnexpectedEof | ErrorKind::ConnectionReset | ErrorKind::BrokenPipe) => {
            "the line broke".to_owned()
        }
        Some(ErrorKind::ConnectionRefused) => "nobody answers there".to_owned(),
        Some(_) | None if error.is_response() => "the line broke".to_owned(),
        Some(_) | None => known(&error.to_string()),
    }
}

/// What the machine says, and what it means; the first that fits.
const MEANINGS: [(&str, &str); 5] = [
    (
        "certificate: UnknownIssuer",
        "nobody whom this machine trusts vouches for its certificate",
    ),
    (
        "certificate: NotValidForName",
        "its certificate is for another host",
    ),
    (
        "certificate: certificate not valid for",
        "its certificate is for another host",
    ),
    (
        "certificate: certificate expired",
        "its certificate has expired",
    ),
    (
        "failed to lookup address",
        "nobody knows a host of that name",
    ),
];

/// Puts what the machine says into words of ours, where we have some.
fn known(said: &str) -> String {
    let meaning = MEANINGS.iter().find(|(words, _)| said.contains(words));
    meaning.map_or(said, |(_, meaning)| meaning).to_owned()
}

/// Finds out what the machine said of the line.
fn kind_of(error: &Error) -> Option<ErrorKind> {
    let mut cause = std::error::Error::source(error);
    while let Some(found) = cause {
        if let Some(of_line) = found.downcast_ref::<std::io::Error>() {
            return Some(of_line.kind());
        }
        cause = found.source();
    }
    None
}

/// Puts an error into words of ours, for a chain of failures.
pub(super) fn plain(error: Error) -> anyhow::Error {
    anyhow!(said(&error))
}

/// Says where the talk ended and in what words.
pub(super) fn words(mail: &Mail, step: Step, trouble: &Trouble) -> String {
    let said = match trouble {
        Trouble::Error(error) => said(error),
        Trouble::OutOfTurn(code) => format!("{code}, an answer out of turn; the line was cut"),
    };
    clean(mail, &format!("{}: {said}", step.name()))
}

/// Says for each recipient refused who it is and in what words.
pub(super) fn words_for(mail: &Mail, to: &[Address], refused: &[NotFor]) -> Vec<String> {
    let words = |not_for: &NotFor| {
        let who = mask(to[not_for.index].as_ref());
        format!("{who}: {}", words(mail, Step::RcptTo, &not_for.trouble))
    };
    refused.iter().map(words).collect()
}

/// Returns a server's words on one line, short, without the recipients' addresses.
pub(super) fn clean(mail: &Mail, said: &str) -> String {
    let line = one_line(said);
    let hide = |line: String, to: &Address| without_address(&line, to.as_ref());
    let masked = mail.to.iter().fold(line, hide);
    masked.chars().take(WORDS_MAX).collect()
}

/// Returns a line with an address masked, in whatever size of letters it stands.
fn without_address(line: &str, to: &str) -> String {
    let small = (line.to_ascii_lowercase(), to.to_ascii_lowercase());
    let mut masked = String::new();
    let mut rest = 0;
    for (at, found) in small.0.match_indices(&small.1) {
        masked.push_str(&line[rest..at]);
        masked.push_str(&mask(to));
        rest = at + found.len();
    }
    masked.push_str(&line[rest..]);
    masked
}
