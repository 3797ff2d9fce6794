//! What a template could have meant, and the names that a letter knows.

use serde_json::Value;

use crate::problem::{Problem, did_you_mean};

/// Hints at the likeliest of `known`, or at all of them.
pub(super) fn with_likely(problem: Problem, typed: &str, known: &[&str]) -> Problem {
    match did_you_mean(typed, known) {
        Some(word) => problem.hint(format!("write `{word}`")),
        None => problem.hint(format!("write one of {}", listed(known))),
    }
}

/// Says what `typed` most likely meant, and which names the letter knows.
pub(super) fn likely(typed: &str, values: &Value) -> String {
    let names = names_of(values);
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let in_lists = names_in_lists(values);
    let in_lists: Vec<&str> = in_lists.iter().map(String::as_str).collect();
    // What is known and yet missing stands inside of a list, or outside of its own.
    if names.contains(&typed) {
        return format!("inside of a list write `@root.{typed}`");
    }
    if in_lists.contains(&typed) {
        return format!("`{typed}` stands inside of `{{{{#each order.prints}}}}…{{{{/each}}}}`");
    }
    let candidates: Vec<&str> = names.iter().chain(&in_lists).copied().collect();
    match did_you_mean(typed, &candidates) {
        Some(word) => format!("write `{word}`; {}", known(values)),
        None => known(values),
    }
}

/// Lists the names that the letter knows.
pub(super) fn known(values: &Value) -> String {
    let names = names_of(values);
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let in_lists = names_in_lists(values);
    let in_lists: Vec<&str> = in_lists.iter().map(String::as_str).collect();
    let inside = match in_lists.is_empty() {
        true => String::new(),
        false => format!("; inside of a list {}", listed(&in_lists)),
    };
    format!("this letter knows {}{inside}", listed(&names))
}

/// Lists the names below the group `path`.
pub(super) fn names_below(path: &str, values: &Value) -> String {
    let names = names_of(values);
    let start = format!("{path}.");
    let below = names.iter().filter(|name| name.starts_with(&start));
    let below: Vec<&str> = below.map(String::as_str).collect();
    match below.is_empty() {
        true => known(values),
        false => format!("write one of {}", listed(&below)),
    }
}

fn listed(names: &[&str]) -> String {
    let quoted: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    quoted.join(", ")
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

/// Returns the names that entries of lists have, sorted, each once.
fn names_in_lists(values: &Value) -> Vec<String> {
    let mut names = Vec::new();
    gather_in_lists(values, &mut names);
    names.sort();
    names.dedup();
    names
}

fn gather_in_lists(values: &Value, names: &mut Vec<String>) {
    match values {
        Value::Object(fields) => fields.values().for_each(|v| gather_in_lists(v, names)),
        Value::Array(entries) => names.extend(entries.iter().flat_map(names_of)),
        _ => {}
    }
}
