//! Problems as JSON, inside other answers and as `fairday-check/1`.

use serde::Serialize;

use crate::problem::{Problem, Severity};
use crate::view::check::CheckScreen;

/// One problem with its place.
#[derive(Debug, Serialize)]
pub struct ProblemJson {
    file: String,
    line: Option<usize>,
    column: Option<usize>,
    severity: Severity,
    what: String,
    hint: Option<String>,
}

impl ProblemJson {
    /// Says a problem for other programs.
    pub fn new(problem: &Problem) -> ProblemJson {
        ProblemJson {
            file: problem.file.clone(),
            line: problem.spot.as_ref().map(|spot| spot.line),
            column: problem.spot.as_ref().map(|spot| spot.column),
            severity: problem.severity,
            what: problem.what.clone(),
            hint: problem.hint.clone(),
        }
    }
}

/// The whole answer of a check.
#[derive(Debug, Serialize)]
pub struct CheckJson {
    format: &'static str,
    files: Vec<String>,
    unread: Vec<String>,
    not_looked_at: Vec<&'static str>,
    problems: Vec<ProblemJson>,
}

/// Says a check for other programs.
pub fn check_json(screen: &CheckScreen) -> CheckJson {
    CheckJson {
        format: "fairday-check/1",
        files: screen.files.to_vec(),
        unread: screen.unread.to_vec(),
        not_looked_at: screen.not_looked_at.to_vec(),
        problems: screen.problems.iter().map(ProblemJson::new).collect(),
    }
}
