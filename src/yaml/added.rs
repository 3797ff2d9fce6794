//! Whether a text means what another one did and one thing more.
//!
//! The meaning is that of YAML, not ours: also blank lines at the end of a text that
//! keeps them, which no order asks for, are the maker's.

use serde_yaml::{Mapping, Value};

use super::trail::Step;

/// What a text has more than the one before.
#[derive(Debug, Clone, Copy)]
pub enum Added {
    /// One entry at the end of a list.
    Entry,
    /// A key that was not there.
    Key,
}

/// Tells whether `after` means what `before` did, but for one thing `added` at `steps`.
///
/// A list that was not there, or stood for nothing, is as good as one without entries.
/// The last line of either need not be ended.
///
/// # Example
/// ```
/// use fairday::yaml::added::{Added, is_all};
/// use fairday::yaml::trail::Step;
/// let list = [Step::Key("notes".into())];
/// assert!(is_all("a: 1", "a: 1\nnotes: [x]\n", &list, Added::Entry));
/// assert!(!is_all("a: 1", "a: 2\nnotes: [x]\n", &list, Added::Entry));
/// ```
pub fn is_all(before: &str, after: &str, steps: &[Step], added: Added) -> bool {
    let (Some(mut before), Some(mut after)) = (read(before), read(after)) else {
        return false;
    };
    let Some((Step::Key(key), way)) = steps.split_last() else {
        return false;
    };
    let (Some(old), Some(new)) = (find(&mut before, way), find(&mut after, way)) else {
        return false;
    };
    let taken = match added {
        Added::Entry => take_entry(old, new, key),
        Added::Key => !old.contains_key(key.as_str()) && new.remove(key.as_str()).is_some(),
    };
    taken && before == after
}

/// Reads a text as if its last line were ended.
fn read(text: &str) -> Option<Value> {
    match text.ends_with('\n') {
        true => serde_yaml::from_str(text).ok(),
        false => serde_yaml::from_str(&format!("{text}\n")).ok(),
    }
}

/// Takes the last entry out of the list `key`, and the list out of both if it was empty.
fn take_entry(old: &mut Mapping, new: &mut Mapping, key: &str) -> bool {
    let Some(Value::Sequence(list)) = new.get_mut(key) else {
        return false;
    };
    if list.pop().is_none() {
        return false;
    }
    if list.is_empty() {
        let was_empty = match old.remove(key) {
            None | Some(Value::Null) => true,
            Some(Value::Sequence(list)) => list.is_empty(),
            Some(_) => false,
        };
        new.remove(key);
        return was_empty;
    }
    true
}

fn find<'v>(mut value: &'v mut Value, way: &[Step]) -> Option<&'v mut Mapping> {
    for step in way {
        value = match step {
            Step::Key(key) => value.get_mut(key.as_str())?,
            Step::Index(index) => value.get_mut(*index)?,
        };
    }
    value.as_mapping_mut()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(before: &str, after: &str, expected: bool) {
        let steps = [Step::Key("p".into()), Step::Index(0), Step::Key("l".into())];
        assert_eq!(
            is_all(before, after, &steps, Added::Entry),
            expected,
            "{after}"
        );
    }

    #[test]
    fn one_entry_more_is_all_and_anything_else_is_not() {
        check("p: [{l: [1]}]\n", "p: [{l: [1, 2]}]\n", true);
        check("p: [{l: ~}]\n", "p: [{l: [2]}]\n", true);
        check("p: [{}]\n", "p: [{l: [2]}]\n", true);
        check("p: [{l: [1]}]\n", "p: [{l: [2]}]\n", false);
        check("p: [{l: [1]}]\n", "p: [{l: [1, 2, 3]}]\n", false);
        check("p: [{l: [1]}]\n", "p: [{l: [1, 2]}, 3]\n", false);
        check("p: [{l: x}]\n", "p: [{l: [2]}]\n", false);
    }

    #[test]
    fn a_line_that_a_text_keeps_is_part_of_it() {
        let before = "t: |+\n  a\n\n";
        let key = [Step::Key("d".into())];
        let is_all = |after| is_all(before, after, &key, Added::Key);
        assert!(is_all("t: |+\n  a\n\nd: 1\n"));
        assert!(!is_all("t: |+\n  a\nd: 1\n\n"));
    }
}
