//! The templates of all languages: built in, replaced by the studio's own.
//!
//! A template is named by its file without `.hbs`. `….txt`, `….html` and
//! `….subject` are letters and their parts; names without such an ending are
//! sentences that text and HTML share. English lies in `templates/` itself, any
//! other language in a folder named by its tag. A language of a region builds on
//! the language itself; one that is not built in stands on its own.

use std::collections::BTreeMap;

use serde::Serialize;

use super::built_in::{ENGLISH, GERMAN, PAGES};
use super::hint::with_likely;
use super::set::{Set, Source};
use super::words::{Words, turns};
use crate::problem::Problem;

/// Ending of a template's file.
const ENDING: &str = ".hbs";

/// File of a language's words for days.
const WORDS: &str = "words.yaml";

/// The language that every letter can be written in.
pub(super) const FALLBACK: &str = "en";

/// Templates ready for use.
pub struct Templates {
    /// By language.
    sets: BTreeMap<String, Set>,
}

/// A language of letters while it is put together.
#[derive(Debug, Clone, Default)]
struct Draft {
    words: Option<Source>,
    sources: BTreeMap<String, Source>,
}

impl Templates {
    /// Returns the built-in templates, with those of `own` in their place.
    ///
    /// `own` maps files below the studio's folder `templates/` to their text:
    /// `answer.hbs`, `words.yaml`, `de/answer.hbs`.
    ///
    /// # Errors
    /// Files that are no template of a letter, languages without words for days,
    /// and every mistake of form, with its line.
    pub fn new(own: &BTreeMap<String, String>) -> Result<Templates, Vec<Problem>> {
        let mut problems = Vec::new();
        let mut drafts = BTreeMap::from([
            (
                FALLBACK.to_owned(),
                built_in_draft(FALLBACK, &[ENGLISH, PAGES].concat()),
            ),
            ("de".to_owned(), built_in_draft("de", GERMAN)),
        ]);
        for (file, text) in own {
            let (language, name) = file.split_once('/').unwrap_or((FALLBACK, file));
            let source = Source {
                file: format!("templates/{file}"),
                text: text.clone(),
            };
            if let Err(problem) = check_language(file, language) {
                problems.push(*problem);
                continue;
            }
            let draft = drafts.entry(language.to_owned()).or_default();
            match name.strip_suffix(ENDING) {
                Some(name) if is_known(name) => {
                    draft.sources.insert(name.to_owned(), source);
                }
                None if name == WORDS => draft.words = Some(source),
                _ => problems.push(unknown_file(file, name)),
            }
        }
        let mut sets = BTreeMap::new();
        for language in drafts.keys() {
            match set(language, &drafts) {
                Ok(set) => {
                    sets.insert(language.clone(), set);
                }
                Err(found) => problems.extend(found),
            }
        }
        match problems.is_empty() {
            true => Ok(Templates { sets }),
            false => Err(problems),
        }
    }

    /// Returns the built-in templates alone.
    pub fn built_in() -> Templates {
        match Templates::new(&BTreeMap::new()) {
            Ok(templates) => templates,
            Err(problems) => unreachable!("a built-in template has a mistake: {problems:?}"),
        }
    }

    /// Finds the templates for letters of `kind` to a customer who reads `language`:
    /// those of its region, of the language, or else the English ones.
    pub(super) fn find(&self, language: &str, kind: &str) -> &Set {
        let tag = language.to_ascii_lowercase();
        let mut found = lineage(&tag).filter_map(|tag| self.sets.get(tag));
        let fallback = || &self.sets[FALLBACK];
        found.find(|set| set.has(kind)).unwrap_or_else(fallback)
    }

    /// Renders a page that is no letter, with every value escaped. Lines that conditions
    /// left empty are dropped, and marks that turn the direction of writing.
    ///
    /// # Errors
    /// The template's file, line and column, when it asks for what the page does not have.
    pub fn page(&self, name: &str, data: &impl Serialize) -> Result<String, Problem> {
        let page = self.sets[FALLBACK].page(name, data)?.replace(turns, "");
        let lines = page.lines().filter(|line| !line.trim().is_empty());
        Ok(lines.flat_map(|line| [line, "\n"]).collect())
    }

    /// Returns the languages in which letters of `kind` can be written.
    pub(super) fn languages(&self, kind: &str) -> Vec<&str> {
        let sets = self.sets.values().filter(|set| set.has(kind));
        sets.map(|set| set.language.as_str()).collect()
    }
}

/// Tells whether letters in the language `found` serve a reader of `wanted`.
pub(super) fn serves(found: &str, wanted: &str) -> bool {
    lineage(&wanted.to_ascii_lowercase()).any(|tag| tag == found)
}

/// Returns a tag and the wider ones behind it: `de-at`, `de`.
fn lineage(tag: &str) -> impl Iterator<Item = &str> {
    std::iter::successors(Some(tag), |tag| Some(tag.rsplit_once('-')?.0))
}

fn built_in_draft(language: &str, table: &[(&str, &str)]) -> Draft {
    let folder = match language {
        FALLBACK => "templates".to_owned(),
        other => format!("templates/{other}"),
    };
    let mut draft = Draft::default();
    for (name, text) in table {
        let source = |file: &str| Source {
            file: format!("{folder}/{file}"),
            text: (*text).to_owned(),
        };
        if *name == WORDS {
            draft.words = Some(source(WORDS));
        } else {
            let file = format!("{name}{ENDING}");
            draft.sources.insert((*name).to_owned(), source(&file));
        }
    }
    draft
}

/// Puts a language together from its own files and those of the wider language.
fn set(language: &str, drafts: &BTreeMap<String, Draft>) -> Result<Set, Vec<Problem>> {
    let mut whole = Draft::default();
    let mut from_wide: Vec<&str> = lineage(language).collect();
    from_wide.reverse();
    for draft in from_wide.iter().filter_map(|tag| drafts.get(*tag)) {
        whole.words = draft.words.clone().or(whole.words);
        whole.sources.extend(draft.sources.clone());
    }
    let Some(words) = &whole.words else {
        return Err(vec![words_missing(language)]);
    };
    let words = Words::parse(&words.text, &words.file).map_err(|problem| vec![*problem])?;
    Set::new(language, words, whole.sources)
}

/// Tells whether letters have a template of this name.
fn is_known(name: &str) -> bool {
    let mut known = ENGLISH.iter().chain(PAGES);
    name != WORDS && known.any(|(known, _)| *known == name)
}

/// A folder must be named by a language, and English needs none.
fn check_language(file: &str, language: &str) -> Result<(), Box<Problem>> {
    let shown = format!("templates/{file}");
    let mut parts = language.split('-');
    let first = parts.next().unwrap_or("");
    let is_part = |part: &str| {
        (1..=8).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_alphanumeric())
    };
    let is_tag = (2..=3).contains(&first.len())
        && first.bytes().all(|b| b.is_ascii_lowercase())
        && parts.all(is_part)
        && !language.bytes().any(|b| b.is_ascii_uppercase());
    if !is_tag {
        let what = format!("the folder `{language}` is no language in small letters");
        let hint = "name it as orders name their `language`, such as `de` or `de-at`";
        return Err(Box::new(Problem::error(&shown, what).hint(hint)));
    }
    match file.strip_prefix("en/") {
        Some(name) => {
            let problem = Problem::error(&shown, "English letters need no folder of their own");
            Err(Box::new(
                problem.hint(format!("move it to `templates/{name}`")),
            ))
        }
        None => Ok(()),
    }
}

fn words_missing(language: &str) -> Problem {
    let file = format!("templates/{language}/{WORDS}");
    Problem::error(&file, "the words for weekdays and months are missing")
        .hint("write `weekdays`, `months`, `day` and `changes`, as `templates/README.md` shows")
}

fn unknown_file(file: &str, name: &str) -> Problem {
    let mut files: Vec<String> = ENGLISH
        .iter()
        .filter(|(name, _)| *name != WORDS)
        .map(|(name, _)| format!("{name}{ENDING}"))
        .collect();
    files.push(WORDS.to_owned());
    let known: Vec<&str> = files.iter().map(String::as_str).collect();
    let problem = Problem::error(
        &format!("templates/{file}"),
        format!("no letter has a template `{name}`"),
    );
    with_likely(problem, name, &known)
}
