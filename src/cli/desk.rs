//! Where the words of a new order come from: arguments first, then questions; and how
//! each is judged where it is said.
//!
//! An answer is judged as the file that it becomes: the order as far as it is known, read
//! as any other, so that there is one set of rules and of words.

use anyhow::{Result, bail};
use chrono::NaiveDateTime;

use super::dialogue::Dialogue;
use super::typed;
use crate::intake::draft::{Draft, PieceDraft};
use crate::order::parse::{Against, parse};
use crate::problem::{Problem, Severity, did_you_mean};
use crate::studio::Studio;
use crate::yaml::leaf::Scalar;

/// Where words come from: arguments first, then questions.
pub struct Desk<'s, 'd> {
    /// The studio that is to make the order.
    pub studio: &'s Studio,
    /// The present moment.
    pub now: NaiveDateTime,
    /// Where questions are asked; none without a terminal.
    pub dialogue: Option<Dialogue<'d>>,
    /// Arguments that were needed and not there.
    pub missing: Vec<&'static str>,
}

impl Desk<'_, '_> {
    /// Returns what an argument says, else the answer; empty, and noted, without both.
    ///
    /// # Errors
    /// The argument is wrong, or the answers have ended.
    pub fn need(
        &mut self,
        argument: &'static str,
        question: &str,
        typed: Option<&str>,
        usual: Option<&str>,
        judge: &dyn Fn(&str) -> Result<String, String>,
    ) -> Result<String> {
        if let Some(typed) = typed {
            return judged(argument, typed, judge);
        }
        match &mut self.dialogue {
            Some(dialogue) => dialogue.ask(question, usual, judge),
            None => {
                self.missing.push(argument);
                Ok(String::new())
            }
        }
    }

    /// Returns what an argument says, else the answer; nothing without both.
    ///
    /// # Errors
    /// The argument is wrong, or the answers have ended.
    pub fn may(
        &mut self,
        argument: &str,
        question: &str,
        typed: Option<&str>,
        judge: &dyn Fn(&str) -> Result<String, String>,
    ) -> Result<Option<String>> {
        let said = match (typed, &mut self.dialogue) {
            (Some("none"), _) | (None, None) => String::new(),
            (Some(typed), _) => judged(argument, typed, judge)?,
            (None, Some(dialogue)) => dialogue.ask(question, Some(""), &|said| match said {
                "none" => Ok(String::new()),
                said => judge(said),
            })?,
        };
        Ok(Some(said).filter(|said| !said.is_empty()))
    }

    /// Returns what is wrong with an order, read as the file that it becomes.
    pub fn errors(&self, draft: &Draft) -> Vec<Problem> {
        errors(draft, self.studio, self.now)
    }
}

/// Returns what is wrong with an order, read as the file that it becomes.
pub fn errors(draft: &Draft, studio: &Studio, now: NaiveDateTime) -> Vec<Problem> {
    let against = Against {
        studio: Some(studio),
        now: Some(now),
    };
    let (_, problems) = parse(&draft.render(None), "", &against);
    let is_error = |problem: &Problem| problem.severity == Severity::Error;
    problems.into_iter().filter(is_error).collect()
}

/// Returns an order of which nothing is wrong, to try single words in.
pub fn any_order() -> Draft {
    Draft {
        number: "new".to_owned(),
        name: "new".to_owned(),
        ordered_on: "2000-01-01".to_owned(),
        jurisdiction: "other".to_owned(),
        delivery: "pickup".to_owned(),
        pieces: vec![PieceDraft::default()],
        ..Draft::default()
    }
}

/// Returns what an argument means.
///
/// # Errors
/// It means nothing; the words name the argument.
pub fn judged(
    argument: &str,
    typed: &str,
    judge: &dyn Fn(&str) -> Result<String, String>,
) -> Result<String> {
    match judge(typed) {
        Ok(word) => Ok(word),
        Err(expected) => bail!("`{argument} {typed}`: {expected}"),
    }
}

/// Takes a few words as they are.
///
/// # Errors
/// There are none.
pub fn any(said: &str) -> Result<String, String> {
    match said.is_empty() {
        true => Err("expected a few words".to_owned()),
        false => Ok(said.to_owned()),
    }
}

/// Takes what means a `T` in a file.
///
/// # Errors
/// What was expected.
pub fn scalar<T: Scalar>(said: &str) -> Result<String, String> {
    typed::value::<T>(said).map(|_| said.to_owned())
}

/// Takes one of some words.
///
/// # Errors
/// Which there are, and which was meant.
pub fn one_of(said: &str, known: &[&str]) -> Result<String, String> {
    if known.contains(&said) {
        return Ok(said.to_owned());
    }
    let meant = did_you_mean(said, known).map(|word| format!("; did you mean {word}?"));
    Err(format!(
        "expected one of {}{}",
        known.join(", "),
        meant.unwrap_or_default()
    ))
}

#[cfg(test)]
pub mod tests {
    use super::*;

    /// Talks at a desk of the demo's studio on the demo's day; returns what came of it
    /// and all that was asked. Every answer must be used up.
    pub fn at_a_desk<T>(answers: &str, talk: impl FnOnce(&mut Desk) -> T) -> (T, String) {
        let studio = include_str!("../../orders/studio.yaml");
        let studio = crate::studio::parse::parse(studio, "studio.yaml")
            .0
            .unwrap();
        let (mut answers, mut out) = (answers.as_bytes(), Vec::new());
        let mut desk = Desk {
            studio: &studio,
            now: "2026-05-11T07:00:00".parse().unwrap(),
            dialogue: Some(Dialogue {
                answers: &mut answers,
                out: &mut out,
            }),
            missing: Vec::new(),
        };
        let came = talk(&mut desk);
        assert!(answers.is_empty(), "{answers:?}");
        (came, String::from_utf8(out).unwrap())
    }
}
