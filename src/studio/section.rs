//! A part of `studio.yaml` while it is read: where it stands, and the reader.

use std::ops::RangeInclusive;

use crate::yaml::address::mail_address;
use crate::yaml::leaf::{Leaf, Scalar};
use crate::yaml::reader::Reader;
use crate::yaml::several::Several;
use crate::yaml::trail::Trail;

/// One mapping of the file. Its questions take the value's shape and its key.
pub struct Section<'s, 't> {
    /// Where the mapping stands.
    pub trail: Trail<'s>,
    /// The file it is in.
    pub reader: &'s mut Reader<'t>,
}

impl<'s, 't> Section<'s, 't> {
    /// Returns the file as a whole.
    pub fn top(reader: &'s mut Reader<'t>) -> Section<'s, 't> {
        Section::new(Trail::Root, reader)
    }

    /// Returns the mapping at `trail`.
    pub fn new(trail: Trail<'s>, reader: &'s mut Reader<'t>) -> Section<'s, 't> {
        Section { trail, reader }
    }

    /// Returns the mapping below a key of this one.
    pub fn below<'b>(&'b mut self, key: &'b str) -> Section<'b, 't> {
        Section::new(self.trail.key(key), self.reader)
    }

    /// Returns a value that may be left out.
    pub fn take<T: Scalar>(&mut self, leaf: &Option<Leaf<T>>, key: &str) -> Option<T> {
        self.reader.take(leaf, &self.trail, key)
    }

    /// Returns a value that must be there.
    pub fn need<T: Scalar>(
        &mut self,
        leaf: &Option<Leaf<T>>,
        key: &str,
        example: &str,
    ) -> Option<T> {
        self.reader.need(leaf, &self.trail, key, example)
    }

    /// Returns a part of the file that must be there.
    pub fn need_part<'p, P>(
        &mut self,
        part: &'p Option<P>,
        key: &str,
        example: &str,
    ) -> Option<&'p P> {
        if part.is_none() {
            self.reader.missing(&self.trail, key, example);
        }
        part.as_ref()
    }

    /// Returns a list that may be left out.
    pub fn list<T: Scalar>(&mut self, leaves: &Option<Vec<Leaf<T>>>, key: &str) -> Vec<T> {
        let leaves = leaves.as_deref().unwrap_or(&[]);
        self.reader.list(leaves, &self.trail, key)
    }

    /// Returns the values of one or a list; none where nothing is said.
    pub fn several<T: Scalar + Clone>(&mut self, shape: &Option<Several<T>>, key: &str) -> Vec<T> {
        match shape {
            None => Vec::new(),
            Some(Several::One(leaf)) => self.take(&Some(leaf.clone()), key).into_iter().collect(),
            Some(Several::List(leaves)) => self.reader.list(leaves, &self.trail, key),
        }
    }

    /// Returns a list that must be there.
    pub fn need_list<T: Scalar>(
        &mut self,
        leaves: &Option<Vec<Leaf<T>>>,
        key: &str,
        example: &str,
    ) -> Option<Vec<T>> {
        let leaves = self.need_part(leaves, key, example)?;
        Some(self.reader.list(leaves, &self.trail, key))
    }

    /// Returns a number in `range`, if one is given.
    pub fn take_within<T>(
        &mut self,
        leaf: &Option<Leaf<T>>,
        key: &str,
        range: RangeInclusive<T>,
    ) -> Option<T>
    where
        T: Scalar + PartialOrd + std::fmt::Display,
    {
        self.within(leaf, key, range, None)
    }

    fn within<T>(
        &mut self,
        leaf: &Option<Leaf<T>>,
        key: &str,
        range: RangeInclusive<T>,
        hint: Option<String>,
    ) -> Option<T>
    where
        T: Scalar + PartialOrd + std::fmt::Display,
    {
        let number = self.take(leaf, key)?;
        if range.contains(&number) {
            return Some(number);
        }
        let (least, most) = (range.start(), range.end());
        let what = format!("expected {least} to {most} for `{key}`, found `{number}`");
        let mut problem = self.reader.error(what);
        problem.hint = hint;
        self.reader.at_value(&self.trail.key(key), problem);
        None
    }

    /// Returns a number in `range`, `default` without one.
    pub fn number(
        &mut self,
        leaf: &Option<Leaf<f64>>,
        key: &str,
        default: f64,
        range: RangeInclusive<f64>,
    ) -> f64 {
        let hint = usual_hint(key, default);
        self.within(leaf, key, range, hint).unwrap_or(default)
    }

    /// Returns a whole number in `range`, `default` without one.
    pub fn count(
        &mut self,
        leaf: &Option<Leaf<u32>>,
        key: &str,
        default: u32,
        range: RangeInclusive<u32>,
    ) -> u32 {
        let hint = usual_hint(key, default);
        self.within(leaf, key, range, hint).unwrap_or(default)
    }

    /// Returns a number in `range` that must be there.
    pub fn need_within<T>(
        &mut self,
        leaf: &Option<Leaf<T>>,
        key: &str,
        example: &str,
        range: RangeInclusive<T>,
    ) -> Option<T>
    where
        T: Scalar + PartialOrd + std::fmt::Display,
    {
        self.need_part(leaf, key, example)?;
        let hint = format!("write your own, such as `{key}: {example}`");
        self.within(leaf, key, range, Some(hint))
    }

    /// Returns a number of days for a destination of the maker's own naming.
    pub fn take_transit(&mut self, leaf: &Leaf<u32>, destination: &str) -> Option<u32> {
        let leaf = Some(leaf.clone());
        self.take_within(&leaf, destination, 0..=120)
    }

    /// Notes if a given mail address is none.
    pub fn mail_address(&mut self, address: Option<&str>, key: &str) {
        if let Some(address) = address {
            mail_address(address, &self.trail.key(key), self.reader);
        }
    }

    /// Notes what is wrong with the value of a key.
    pub fn wrong_value(&mut self, key: &str, what: &str, hint: &str) {
        let problem = self.reader.error(what).hint(hint);
        self.reader.at_value(&self.trail.key(key), problem);
    }

    /// Notes what is wrong with a key.
    pub fn wrong_key(&mut self, key: &str, what: &str, hint: &str) {
        let problem = self.reader.error(what).hint(hint);
        self.reader.at_key(&self.trail.key(key), problem);
    }
}

/// Says what holds without a setting.
fn usual_hint(key: &str, default: impl std::fmt::Display) -> Option<String> {
    Some(format!(
        "write one between, or remove `{key}`; {default} is taken then"
    ))
}
