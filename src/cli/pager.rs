//! Long pages on a terminal go through the reader's own pager.

use std::io::{IsTerminal, Write, stdout};
use std::process::{Command, Stdio};

use super::Common;

/// What a shell answers for a program that is not there.
const NOT_FOUND: i32 = 127;

/// Shows `text` through a pager if it is longer than the terminal and one is wanted;
/// returns whether it was shown.
pub fn page(common: &Common, text: &str) -> bool {
    let wanted = !common.no_pager && stdout().is_terminal() && cfg!(unix);
    let Some(pager) = chosen(std::env::var("PAGER").ok()).filter(|_| wanted) else {
        return false;
    };
    let dumb = std::env::var("TERM").is_ok_and(|terminal| terminal == "dumb");
    let rows = terminal_size::terminal_size().map_or(0, |(_, rows)| usize::from(rows.0));
    if dumb || rows == 0 || text.lines().count() < rows {
        return false;
    }
    run(&pager, text)
}

/// Returns the command that `PAGER` wants; none if it wants none.
fn chosen(variable: Option<String>) -> Option<String> {
    let pager = variable.unwrap_or_else(|| "less".to_owned());
    let wants_none = matches!(pager.trim(), "" | "cat");
    (!wants_none).then_some(pager)
}

fn run(pager: &str, text: &str) -> bool {
    let mut command = Command::new("sh");
    command.args(["-c", pager]).stdin(Stdio::piped());
    if std::env::var_os("LESS").is_none() {
        // Colours as they are, no wait for a short page, the page stays on the screen.
        command.env("LESS", "FRX");
    }
    let Ok(mut child) = command.spawn() else {
        return false;
    };
    if let Some(mut into) = child.stdin.take() {
        // Who leaves the pager early has read enough.
        let _ = into.write_all(text.as_bytes());
    }
    match child.wait() {
        Ok(status) => status.code() != Some(NOT_FOUND),
        Err(_) => true,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_variable_chooses_the_pager_or_none() {
        let chosen = |text: &str| chosen(Some(text.to_owned()));
        assert_eq!(chosen("most -s").as_deref(), Some("most -s"));
        assert_eq!(chosen(""), None);
        assert_eq!(chosen("cat"), None);
        assert_eq!(super::chosen(None).as_deref(), Some("less"));
    }

    #[cfg(unix)]
    #[test]
    fn a_pager_that_is_not_there_shows_nothing_and_says_so() {
        assert!(!run("no-such-pager-here 2>&-", "text\n"));
        assert!(run("cat >/dev/null", "text\n"));
    }
}
