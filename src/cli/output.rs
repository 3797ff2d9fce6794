//! Where answers go and how wide they are.

use std::io::{IsTerminal, Write, stderr, stdout};

use anyhow::{Context, Result};
use serde::Serialize;

use super::{ColorWhen, Common, pager};
use crate::problem::{Problem, Severity};
use crate::view::page::Setting;
use crate::view::problem::render_all;

/// Widest page on a terminal: longer lines are hard to follow. [columns]
const WIDTH_MAX: usize = 100;
/// Width where there is no terminal. [columns]
const WIDTH_ELSEWHERE: usize = 80;

/// Returns how answers are set.
pub fn setting(common: &Common) -> Setting {
    Setting {
        width: width(common),
        color: colored(common.color, stdout().is_terminal()),
    }
}

/// Returns how remarks beside answers are set.
pub fn remark_setting(common: &Common) -> Setting {
    Setting {
        width: width(common),
        color: colored(common.color, stderr().is_terminal()),
    }
}

fn width(common: &Common) -> usize {
    let of_terminal = || {
        let columns = stdout()
            .is_terminal()
            .then(|| std::env::var("COLUMNS").ok())
            .flatten();
        let columns = columns.and_then(|text| text.parse::<usize>().ok());
        columns.or_else(|| stdout().is_terminal().then(textwrap::termwidth))
    };
    let width = common
        .width
        .or_else(|| of_terminal().map(|width| width.min(WIDTH_MAX)));
    width.unwrap_or(WIDTH_ELSEWHERE).max(40)
}

fn colored(when: ColorWhen, terminal: bool) -> bool {
    let silenced = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    match when {
        ColorWhen::Always => true,
        ColorWhen::Never => false,
        ColorWhen::Auto => terminal && !silenced,
    }
}

/// Prints an answer. A reader that hangs up early is no failure.
pub fn answer(text: &str) -> Result<()> {
    let mut out = stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
        other => other.context("printing the answer"),
    }
}

/// Shows a page, through the reader's pager if it is longer than the terminal.
pub fn show(common: &Common, text: &str) -> Result<()> {
    if pager::page(common, text) {
        return Ok(());
    }
    answer(text)
}

/// Says how answers are set, for a report.
pub fn describe(common: &Common) -> String {
    let setting = setting(common);
    let color = if setting.color { "colour" } else { "no colour" };
    let terminal = if stdout().is_terminal() {
        "terminal"
    } else {
        "no terminal"
    };
    format!("{} columns, {color}, {terminal}", setting.width)
}

/// Prints an answer as JSON.
pub fn answer_json(value: &impl Serialize) -> Result<()> {
    let mut text = serde_json::to_string_pretty(value).context("writing JSON")?;
    text.push('\n');
    answer(&text)
}

/// Shows problems beside the answer, on the error channel.
pub fn show_problems(common: &Common, problems: &[Problem]) {
    if problems.is_empty() {
        return;
    }
    let setting = remark_setting(common);
    remark(&render_all(problems, setting.width, setting.color));
}

/// Tells whether something among the problems is left out because of it.
pub fn has_errors(problems: &[Problem]) -> bool {
    problems
        .iter()
        .any(|problem| problem.severity == Severity::Error)
}

/// Prints a remark on the error channel; if nobody listens there, so be it.
pub fn remark(text: &str) {
    let mut err = stderr().lock();
    let _ = err.write_all(text.as_bytes());
    if !text.ends_with('\n') {
        let _ = err.write_all(b"\n");
    }
}

/// Says why the machine could not do it.
pub fn say_failure(failure: &anyhow::Error) {
    let chain: Vec<String> = failure.chain().map(ToString::to_string).collect();
    remark(&format!("error: {}", chain.join(": ")));
}
