//! The way from the top of a file down to a value, kept without allocating.

/// A way into a YAML file: keys and list positions, built from the inside out
/// while reading goes down. It costs nothing until somebody asks for its steps.
#[derive(Debug, Clone, Copy)]
pub enum Trail<'a> {
    /// The file itself.
    Root,
    /// The value of a key.
    Key(&'a Trail<'a>, &'a str),
    /// An entry of a list, from 0.
    Index(&'a Trail<'a>, usize),
}

/// One step of a [`Trail`], owned.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Step {
    /// The value of a key.
    Key(String),
    /// An entry of a list, from 0.
    Index(usize),
}

impl<'a> Trail<'a> {
    /// Returns the way to the value of `key` below this one.
    pub fn key(&'a self, key: &'a str) -> Trail<'a> {
        Trail::Key(self, key)
    }

    /// Returns the way to entry `index` below this one.
    pub fn index(&'a self, index: usize) -> Trail<'a> {
        Trail::Index(self, index)
    }

    /// Returns the steps from the top down.
    ///
    /// # Example
    /// ```
    /// use fairday::yaml::trail::{Step, Trail};
    /// let pieces = Trail::Root.key("pieces");
    /// let second = pieces.index(1);
    /// assert_eq!(second.steps(), [Step::Key("pieces".into()), Step::Index(1)]);
    /// ```
    pub fn steps(&self) -> Vec<Step> {
        let mut steps = Vec::new();
        let mut at = self;
        loop {
            match at {
                Trail::Root => break,
                Trail::Key(parent, key) => {
                    steps.push(Step::Key((*key).to_owned()));
                    at = parent;
                }
                Trail::Index(parent, index) => {
                    steps.push(Step::Index(*index));
                    at = parent;
                }
            }
        }
        steps.reverse();
        steps
    }
}
