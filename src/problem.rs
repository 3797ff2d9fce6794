//! What the maker can mend in her files: a place, a sentence, a hint.
//!
//! A problem is a value that is collected and shown together with the others;
//! how it looks is `view/problem.rs`. What the machine could not do (disk,
//! network) is a failure, an `anyhow` chain, and not here.

use serde::Serialize;

/// How much a problem stands in the way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// What it concerns is left out.
    Error,
    /// It is worth a look; everything is still used.
    Warning,
}

/// Where in a file something stands, with the line itself for showing.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Spot {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// Characters that are meant, at least 1.
    pub length: usize,
    /// The whole line without its end, cut to a sensible length.
    pub excerpt: String,
}

/// One thing to mend, or to know.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Problem {
    /// How much it stands in the way.
    pub severity: Severity,
    /// The file as the maker would name it, relative to the studio folder.
    pub file: String,
    /// The place inside the file, where there is one.
    pub spot: Option<Spot>,
    /// One sentence: lower-case start, no final period, the user's words in backticks.
    pub what: String,
    /// A note under the marked place, where there is one.
    pub note: Option<String>,
    /// What to type next, imperative.
    pub hint: Option<String>,
}

impl Problem {
    /// Returns an error about a whole file.
    pub fn error(file: &str, what: impl Into<String>) -> Problem {
        Problem {
            severity: Severity::Error,
            file: file.to_owned(),
            spot: None,
            what: what.into(),
            note: None,
            hint: None,
        }
    }

    /// Returns a warning about a whole file.
    pub fn warning(file: &str, what: impl Into<String>) -> Problem {
        Problem {
            severity: Severity::Warning,
            ..Problem::error(file, what)
        }
    }

    /// Returns the problem with a hint.
    pub fn hint(self, hint: impl Into<String>) -> Problem {
        Problem {
            hint: Some(hint.into()),
            ..self
        }
    }

    /// Returns the problem with its place in the file.
    pub fn at(self, spot: Option<Spot>) -> Problem {
        Problem { spot, ..self }
    }

    /// Returns the key by which problems are shown: file, line, column, words.
    pub fn sort_key(&self) -> (&str, usize, usize, &str) {
        let (line, column) = self.spot.as_ref().map_or((0, 0), |s| (s.line, s.column));
        (&self.file, line, column, &self.what)
    }
}

/// Finds the known word that `typed` most likely meant.
///
/// # Example
/// ```
/// use fairday::problem::did_you_mean;
/// assert_eq!(did_you_mean("promis", &["promise", "pieces"]), Some("promise"));
/// assert_eq!(did_you_mean("zzz", &["promise", "pieces"]), None);
/// ```
pub fn did_you_mean<'a>(typed: &str, known: &[&'a str]) -> Option<&'a str> {
    known
        .iter()
        .map(|word| {
            (
                strsim::jaro_winkler(&typed.to_lowercase(), &word.to_lowercase()),
                *word,
            )
        })
        .filter(|(likeness, _)| *likeness >= 0.78)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, word)| word)
}
