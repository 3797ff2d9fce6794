//! Asks a file for its values and collects what is wrong with them.

use std::cell::OnceCell;
use std::ops::Range;

use serde::de::DeserializeOwned;

use super::broken;
use super::leaf::{Leaf, Scalar};
use super::locate::Locator;
use super::text;
use super::trail::{Step, Trail};
use super::unfold;
use crate::problem::{Problem, Severity, did_you_mean};

/// Problems that are shown of one file; more would hide the others.
const PROBLEMS_MAX: usize = 40;

/// One file while it is read: its text, and the problems so far.
pub struct Reader<'t> {
    file: &'t str,
    text: &'t str,
    locator: OnceCell<Locator>,
    /// Mappings that want keys from elsewhere, which is not read.
    merging: Vec<Vec<Step>>,
    problems: Vec<Problem>,
}

impl<'t> Reader<'t> {
    /// Begins to read `text`, which the maker knows as `file`.
    pub fn new(text: &'t str, file: &'t str) -> Reader<'t> {
        Reader {
            file,
            text,
            locator: OnceCell::new(),
            merging: Vec::new(),
            problems: Vec::new(),
        }
    }

    /// Reads the shape of the file; none if it cannot be read as a whole.
    ///
    /// A key that the shape has no place for becomes a problem; `known` returns
    /// the keys that may stand at a place.
    pub fn read_shape<S: DeserializeOwned>(
        &mut self,
        known: impl Fn(&[Step]) -> &'static [&'static str],
    ) -> Option<S> {
        if self.is_empty() {
            let problem = Problem::error(self.file, "the file is empty").hint(
                "write down what belongs into it, or remove it; `fairday new DIR` shows how one \
                 looks",
            );
            self.problems.push(problem);
            return None;
        }
        if unfold::goes_too_far(self.text) {
            self.problems.push(broken::repeats(self.text, self.file));
            return None;
        }
        let mut unknown = Vec::new();
        let reader = serde_yaml::Deserializer::from_str(self.text);
        let shape = serde_ignored::deserialize(reader, |path| unknown.push(steps_of(&path)));
        for steps in unknown {
            self.unknown_key(&steps, known(&steps[..steps.len().saturating_sub(1)]));
        }
        match shape {
            Ok(shape) => Some(shape),
            Err(error) => {
                let problem = broken::problem(&error, self.text, self.file);
                self.problems.push(problem);
                None
            }
        }
    }

    /// Returns the value of a key that may be left out; none also if it is wrong.
    pub fn take<T: Scalar>(&mut self, leaf: &Option<Leaf<T>>, at: &Trail, key: &str) -> Option<T> {
        let leaf = leaf.as_ref()?;
        let value = leaf.parse();
        if value.is_none() {
            self.wrong_word(leaf, &at.key(key), key, Some(key));
        }
        value
    }

    /// Returns the value of a key that may be left out, `default` without it.
    pub fn take_or<T: Scalar>(
        &mut self,
        leaf: &Option<Leaf<T>>,
        at: &Trail,
        key: &str,
        default: T,
    ) -> T {
        self.take(leaf, at, key).unwrap_or(default)
    }

    /// Returns the value of a key that must be there; `example` is what could stand there.
    pub fn need<T: Scalar>(
        &mut self,
        leaf: &Option<Leaf<T>>,
        at: &Trail,
        key: &str,
        example: &str,
    ) -> Option<T> {
        if leaf.is_none() {
            self.missing(at, key, example);
        }
        self.take(leaf, at, key)
    }

    /// Returns the values of a list; wrong ones are left out and noted.
    pub fn list<T: Scalar>(&mut self, leaves: &[Leaf<T>], at: &Trail, key: &str) -> Vec<T> {
        let list = at.key(key);
        let mut values = Vec::with_capacity(leaves.len());
        for (index, leaf) in leaves.iter().enumerate() {
            match leaf.parse() {
                Some(value) => values.push(value),
                None => self.wrong_word(leaf, &list.index(index), key, None),
            }
        }
        values
    }

    /// Notes that a key is missing in the mapping at `at`.
    pub fn missing(&mut self, at: &Trail, key: &str, example: &str) {
        if self.is_merging(at) {
            return;
        }
        let place = self.locator().find_name(&at.steps());
        let problem = Problem::error(self.file, format!("the key `{key}` is missing"))
            .hint(format!("add `{key}: {example}`"));
        self.push(problem, place);
    }

    /// Tells whether the mapping at `at` wants keys from elsewhere with `<<`: an error is
    /// noted for that, and what it lacks without them is not spoken of.
    pub fn is_merging(&self, at: &Trail) -> bool {
        !self.merging.is_empty() && self.merging.contains(&at.steps())
    }

    /// Notes a problem about the value at `at`.
    pub fn at_value(&mut self, at: &Trail, problem: Problem) {
        let place = self.locator().find_value(&at.steps());
        self.push(problem, place);
    }

    /// Notes a problem about the last key of `at`.
    pub fn at_key(&mut self, at: &Trail, problem: Problem) {
        let place = self.locator().find_name(&at.steps());
        self.push(problem, place);
    }

    /// Returns an error about this file, still without a place.
    pub fn error(&self, what: impl Into<String>) -> Problem {
        Problem::error(self.file, what)
    }

    /// Returns a warning about this file, still without a place.
    pub fn warning(&self, what: impl Into<String>) -> Problem {
        Problem::warning(self.file, what)
    }

    /// Returns how many errors were found so far.
    pub fn error_count(&self) -> usize {
        let is_error = |problem: &&Problem| problem.severity == Severity::Error;
        self.problems.iter().filter(is_error).count()
    }

    /// Returns the problems by their place in the file.
    pub fn finish(mut self) -> Vec<Problem> {
        self.problems
            .sort_by(|a, b| a.sort_key().cmp(&b.sort_key()));
        self.problems.dedup();
        let more = self.problems.len().saturating_sub(PROBLEMS_MAX);
        if more > 0 {
            self.problems.truncate(PROBLEMS_MAX);
            let what = format!("{more} more problems in this file are not shown");
            self.problems.push(Problem::error(self.file, what));
        }
        self.problems
    }

    fn unknown_key(&mut self, steps: &[Step], known: &[&'static str]) {
        let Some(Step::Key(key)) = steps.last() else {
            return;
        };
        if key == "<<" {
            self.merging.push(steps[..steps.len() - 1].to_vec());
        }
        let hint = match did_you_mean(key, known) {
            Some(word) => format!("write `{word}:`"),
            None if key == "<<" => "write the keys out; merging with `<<` is not read".to_owned(),
            None => format!("remove it, or use one of: {}", known.join(", ")),
        };
        let place = self.locator().find_key(steps);
        let problem = self.error(format!("unknown key `{key}`")).hint(hint);
        self.push(problem, place);
    }

    fn wrong_word<T: Scalar>(
        &mut self,
        leaf: &Leaf<T>,
        at: &Trail,
        key: &str,
        before: Option<&str>,
    ) {
        let words = leaf.words();
        let what = match words.trim().is_empty() {
            true => format!("expected {} for `{key}`, found nothing", T::EXPECTED),
            false => format!("expected {} for `{key}`, found `{words}`", T::EXPECTED),
        };
        let problem = self.error(what);
        let problem = match broken::wrong_word_hint::<T>(before, words).or(T::advice(words)) {
            Some(hint) => problem.hint(hint),
            None => problem,
        };
        self.at_value(at, problem);
    }

    fn push(&mut self, problem: Problem, place: Option<Range<usize>>) {
        let spot = place.map(|bytes| text::spot(self.text, bytes.start, bytes.end));
        self.problems.push(problem.at(spot));
    }

    fn locator(&self) -> &Locator {
        self.locator.get_or_init(|| Locator::new(self.text))
    }

    fn is_empty(&self) -> bool {
        self.text
            .lines()
            .map(str::trim)
            .all(|line| line.is_empty() || line.starts_with('#') || line == "---")
    }
}

/// Turns the path of an ignored key into steps.
fn steps_of(path: &serde_ignored::Path) -> Vec<Step> {
    use serde_ignored::Path;
    let (parent, step) = match path {
        Path::Root => return Vec::new(),
        Path::Seq { parent, index } => (parent, Some(Step::Index(*index))),
        Path::Map { parent, key } => (parent, Some(Step::Key(key.clone()))),
        Path::Some { parent }
        | Path::NewtypeStruct { parent }
        | Path::NewtypeVariant { parent } => (parent, None),
    };
    let mut steps = steps_of(parent);
    steps.extend(step);
    steps
}
