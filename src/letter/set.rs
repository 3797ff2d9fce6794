//! The templates of one language: compiled, rendered strictly, mistakes with their line.

use std::collections::BTreeMap;

use handlebars::{
    Context, Handlebars, Helper, HelperDef, HelperResult, Output, RenderContext, RenderError,
    RenderErrorReason, Renderable, TemplateError, html_escape, no_escape,
};
use serde::Serialize;
use serde_json::Value;

use super::data::{CONDITIONS, Data};
use super::words::Words;
use crate::problem::{Problem, Spot, did_you_mean};

/// Longest part of a line that a problem shows. [characters]
const EXCERPT_MAX: usize = 120;

/// A template as it was written.
#[derive(Debug, Clone)]
pub(super) struct Source {
    /// The file as a maker knows it, `templates/answer.hbs`.
    pub(super) file: String,
    /// Its text.
    pub(super) text: String,
}

/// The templates and words of one language, ready for use.
pub(super) struct Set {
    /// The language, as its folder is named.
    pub(super) language: String,
    /// How days are written in it.
    pub(super) words: Words,
    text: Handlebars<'static>,
    html: Handlebars<'static>,
    /// Source by name, for showing the line of a mistake.
    sources: BTreeMap<String, Source>,
}

impl Set {
    /// Compiles the templates of a language.
    ///
    /// # Errors
    /// Every mistake of form, with its line.
    pub(super) fn new(
        language: &str,
        words: Words,
        sources: BTreeMap<String, Source>,
    ) -> Result<Set, Vec<Problem>> {
        let mut set = Set {
            language: language.to_owned(),
            words,
            text: registry(no_escape),
            html: registry(html_escape),
            sources,
        };
        let problems = set.compile();
        match problems.is_empty() {
            true => Ok(set),
            false => Err(problems),
        }
    }

    /// Tells whether letters of a kind can be written in this language.
    pub(super) fn has(&self, kind: &str) -> bool {
        let parts = ["subject", "txt", "html"];
        let mut names = parts.iter().map(|part| format!("{kind}.{part}"));
        names.all(|name| self.sources.contains_key(&name))
    }

    /// Renders the template `name` as plain text.
    pub(super) fn text(&self, name: &str, data: &Data) -> Result<String, Problem> {
        self.render(&self.text, name, data)
    }

    /// Renders the template `name` as HTML, with every value escaped.
    pub(super) fn html(&self, name: &str, data: &Data) -> Result<String, Problem> {
        self.render(&self.html, name, data)
    }

    /// Renders the page `name`, with every value escaped.
    pub(super) fn page(&self, name: &str, data: &impl Serialize) -> Result<String, Problem> {
        self.render(&self.html, name, data)
    }

    fn render(
        &self,
        from: &Handlebars,
        name: &str,
        data: &impl Serialize,
    ) -> Result<String, Problem> {
        let values = serde_json::to_value(data).expect("strings and booleans have a JSON form");
        from.render(name, &values)
            .map_err(|error| self.render_problem(name, &error, &values))
    }

    fn compile(&mut self) -> Vec<Problem> {
        let mut problems = Vec::new();
        for (name, source) in &self.sources {
            let template = keep_line_ends(&source.text);
            if let Err(error) = self.text.register_template_string(name, &template) {
                problems.push(form_problem(source, &error));
                continue;
            }
            let again = self.html.register_template_string(name, &template);
            again.expect("what compiled once compiles again");
        }
        problems
    }

    fn render_problem(&self, asked: &str, error: &RenderError, values: &Value) -> Problem {
        let name = error.template_name.as_deref().unwrap_or(asked);
        let place = error.line_no.zip(error.column_no);
        let source = self.sources.get(name);
        let file = source.map_or(name, |source| source.file.as_str());
        let source = source.map_or("", |source| source.text.as_str());
        let problem = match error.reason() {
            RenderErrorReason::MissingVariable(path) => missing_value(file, path, values),
            RenderErrorReason::PartialNotFound(partial) => {
                let names: Vec<&str> = self.sources.keys().map(String::as_str).collect();
                with_likely(
                    Problem::error(file, format!("there is no template `{partial}`")),
                    partial,
                    &names,
                )
            }
            RenderErrorReason::HelperNotFound(helper) => with_likely(
                Problem::error(file, format!("there is no helper `{helper}`")),
                helper,
                &["if", "unless", "each", "with"],
            ),
            other => Problem::error(file, format!("the template cannot be filled: {other}")),
        };
        problem.at(place.and_then(|(line, column)| spot(source, line, column)))
    }
}

/// Returns the source so that a sentence stands inside a line as well as alone on one.
///
/// Its own last line end goes, and a line that holds nothing but a partial gets
/// an empty comment, because the library drops the line end after such a line.
/// Lines and columns stay what the maker sees.
fn keep_line_ends(source: &str) -> String {
    let line = |line: &str| match line.trim() {
        only if only.starts_with("{{>") && only.find("}}") == Some(only.len() - 2) => {
            format!("{line}{{{{!}}}}")
        }
        _ => line.to_owned(),
    };
    let lines: Vec<String> = source.trim_end().lines().map(line).collect();
    lines.join("\n")
}

/// Returns a strict registry with the conditions that know absent names.
fn registry(escape: fn(&str) -> String) -> Handlebars<'static> {
    let mut registry = Handlebars::new();
    registry.set_strict_mode(true);
    registry.register_escape_fn(escape);
    registry.register_helper("if", Box::new(Condition { when: true }));
    registry.register_helper("unless", Box::new(Condition { when: false }));
    registry
}

/// `if` and `unless` that take an unknown name for a mistake, not for "no".
struct Condition {
    when: bool,
}

impl HelperDef for Condition {
    fn call<'reg: 'rc, 'rc>(
        &self,
        helper: &Helper<'rc>,
        registry: &'reg Handlebars<'reg>,
        context: &'rc Context,
        render: &mut RenderContext<'reg, 'rc>,
        out: &mut dyn Output,
    ) -> HelperResult {
        let condition = helper
            .param(0)
            .ok_or(RenderErrorReason::ParamNotFoundForIndex("if", 0))?;
        if condition.is_value_missing() {
            return Err(RenderError::strict_error(condition.relative_path()));
        }
        let holds = match condition.value() {
            Value::Bool(holds) => *holds,
            Value::Null => false,
            Value::Array(list) => !list.is_empty(),
            Value::String(text) => !text.is_empty(),
            Value::Number(_) | Value::Object(_) => true,
        };
        let part = if holds == self.when {
            helper.template()
        } else {
            helper.inverse()
        };
        part.map_or(Ok(()), |part| part.render(registry, context, render, out))
    }
}

fn form_problem(source: &Source, error: &TemplateError) -> Problem {
    // The parser's own sentence spreads over lines and draws a picture.
    let what = match error.reason() {
        handlebars::TemplateErrorReason::MismatchingClosedHelper(open, close) => {
            format!("`{{{{#{open}}}}}` is open, but `{{{{/{close}}}}}` closes")
        }
        _ => "expected the marks `{{` and `}}` around known words, in pairs".to_owned(),
    };
    let place = error.pos();
    Problem::error(&source.file, what)
        .at(place.and_then(|(line, column)| spot(&source.text, line, column)))
}

/// Says that a value is missing, with the names that stand in its place.
fn missing_value(file: &str, path: &Option<String>, values: &Value) -> Problem {
    let path = path.as_deref().unwrap_or("this");
    let names = names_of(values);
    let known: Vec<&str> = names.iter().map(String::as_str).collect();
    let problem = Problem::error(file, format!("this letter has no value `{path}`"));
    match CONDITIONS.iter().find(|(value, _)| *value == path) {
        Some((_, condition)) => problem.hint(format!("ask first, `{{{{#if {condition}}}}}`")),
        None => with_likely(problem, path, &known),
    }
}

/// Hints at the likeliest of `known`, or at all of them.
pub(super) fn with_likely(problem: Problem, typed: &str, known: &[&str]) -> Problem {
    match did_you_mean(typed, known) {
        Some(word) => problem.hint(format!("write `{word}`")),
        None => {
            let list = known.iter().map(|word| format!("`{word}`"));
            problem.hint(format!(
                "write one of {}",
                list.collect::<Vec<_>>().join(", ")
            ))
        }
    }
}

/// Returns the dotted names of all values, sorted.
pub(super) fn names_of(values: &Value) -> Vec<String> {
    let mut names = Vec::new();
    gather_names("", values, &mut names);
    names.sort();
    names
}

fn gather_names(prefix: &str, values: &Value, names: &mut Vec<String>) {
    match values {
        Value::Object(fields) => {
            for (key, value) in fields {
                let dot = if prefix.is_empty() { "" } else { "." };
                gather_names(&format!("{prefix}{dot}{key}"), value, names);
            }
        }
        _ => names.push(prefix.to_owned()),
    }
}

fn spot(source: &str, line: usize, column: usize) -> Option<Spot> {
    let excerpt: String = source.lines().nth(line.checked_sub(1)?)?.into();
    Some(Spot {
        line,
        column,
        length: 1,
        excerpt: excerpt.chars().take(EXCERPT_MAX).collect(),
    })
}
