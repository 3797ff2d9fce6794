//! The templates of one language: compiled, rendered strictly, mistakes with their line.

use std::collections::BTreeMap;

use handlebars::{
    Context, Handlebars, Helper, HelperDef, HelperResult, Output, RenderContext, RenderError,
    RenderErrorReason, Renderable, Template, TemplateError, html_escape, no_escape,
};
use serde::Serialize;
use serde_json::Value;

use super::built_in::PAGES;
use super::calls::{called, round};
use super::data::{CONDITIONS, Data};
use super::hint::{known, likely, names_below, with_likely};
use super::printed::{self, Kind, Unprintable, look_first};
use super::words::Words;
use crate::problem::{Problem, Spot};

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

    /// Says that a part that every letter needs came out empty.
    pub(super) fn empty_problem(&self, name: &str) -> Problem {
        let file = self.sources.get(name).map_or(name, |source| &source.file);
        let problem = Problem::error(file, "nothing stands in it for this letter");
        problem.hint("write it, or remove the file to have the one that comes with the program")
    }

    fn compile(&mut self) -> Vec<Problem> {
        let mut problems = Vec::new();
        let mut calls = BTreeMap::new();
        for (name, source) in &self.sources {
            let text = keep_line_ends(&source.text);
            let mut template = match Template::compile_with_name(text, name.clone()) {
                Ok(template) => template,
                Err(error) => {
                    problems.push(form_problem(source, &error));
                    continue;
                }
            };
            if !PAGES.iter().any(|(page, _)| page == name) {
                look_first(&mut template);
            }
            calls.insert(name.clone(), called(&template));
            self.text.register_template(name, template.clone());
            self.html.register_template(name, template);
        }
        problems.extend(round(&calls).map(|names| self.round_problem(&names)));
        problems
    }

    /// Says that templates call each other without end.
    fn round_problem(&self, names: &[&str]) -> Problem {
        let (own, next) = names.split_first().expect("a round has a member");
        let file = self.sources.get(*own).map_or(*own, |s| &s.file);
        let next: Vec<String> = next.iter().map(|name| format!("`{name}`")).collect();
        let what = match next.is_empty() {
            true => format!("`{own}` calls itself"),
            false => format!("`{own}` calls itself by way of {}", next.join(" and ")),
        };
        Problem::error(file, what).hint("take one of the calls out")
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
            RenderErrorReason::ParamNotFoundForIndex(helper, _) => {
                let what =
                    format!("`{helper}` lacks a value, or this letter has none of that name");
                Problem::error(file, what).hint(known(values))
            }
            RenderErrorReason::NestedError(nested) => match nested.downcast_ref() {
                Some(unprintable) => no_word(file, unprintable, values),
                None => Problem::error(file, format!("the template cannot be filled: {nested}")),
            },
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
    printed::register(&mut registry);
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
    let problem = Problem::error(file, format!("this letter has no value `{path}`"));
    match CONDITIONS.iter().find(|(value, _)| *value == path) {
        Some((_, condition)) => problem.hint(format!("ask first, `{{{{#if {condition}}}}}`")),
        None => problem.hint(likely(path, values)),
    }
}

/// Says that what stands under a name cannot be printed, and what to write instead.
fn no_word(file: &str, unprintable: &Unprintable, values: &Value) -> Problem {
    let path = &unprintable.path;
    let problem = Problem::error(file, unprintable.to_string());
    match unprintable.kind {
        Kind::Empty => {
            let number = values.pointer("/order/number").and_then(Value::as_str);
            let order = number.map_or(String::new(), |number| format!(" in order {number}"));
            problem.hint(format!("write it{order}, or take it out of the template"))
        }
        Kind::Condition => problem.hint(format!("ask it, `{{{{#if {path}}}}}…{{{{/if}}}}`")),
        Kind::List => problem.hint(format!("write `{{{{#each {path}}}}}…{{{{/each}}}}`")),
        Kind::Group => problem.hint(names_below(path, values)),
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
