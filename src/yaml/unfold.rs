//! Files whose anchors repeat one another: how much would they unfold to?
//!
//! A few lines of aliases can stand for more than any memory holds. The parser
//! counts its jumps, not what each brings along, so the values are counted here.

use std::cell::Cell;
use std::fmt;

use serde::de::{DeserializeSeed, Deserializer, Error, MapAccess, SeqAccess, Visitor};

/// Values that a file may unfold to; 500 copies with a long record are a tenth of it.
const VALUES_MAX: usize = 200_000;

/// Tells whether a text has aliases that unfold to more than is read.
///
/// A text without aliases is not looked at any closer.
pub fn goes_too_far(text: &str) -> bool {
    if find_alias(text).is_none() {
        return false;
    }
    let left = Cell::new(VALUES_MAX);
    let counted = Count(&left).deserialize(serde_yaml::Deserializer::from_str(text));
    let repeats = |error: serde_yaml::Error| error.to_string().contains("repetition limit");
    left.get() == 0 || counted.err().is_some_and(repeats)
}

/// Finds the first sign that begins an alias, or looks like it. [byte]
pub fn find_alias(text: &str) -> Option<usize> {
    let mut pairs = text.as_bytes().windows(2);
    let before = pairs.position(|pair| pair[1] == b'*' && b" [{,-:\n".contains(&pair[0]))?;
    Some(before + 1)
}

/// Counts values down to zero, following every alias.
#[derive(Clone, Copy)]
struct Count<'c>(&'c Cell<usize>);

impl Count<'_> {
    fn one<E: Error>(self) -> Result<(), E> {
        match self.0.get().checked_sub(1) {
            Some(left) if left > 0 => {
                self.0.set(left);
                Ok(())
            }
            Some(_) | None => {
                self.0.set(0);
                Err(E::custom("too many values"))
            }
        }
    }
}

impl<'de> DeserializeSeed<'de> for Count<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Count<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("anything")
    }

    fn visit_bool<E: Error>(self, _: bool) -> Result<(), E> {
        self.one()
    }

    fn visit_i64<E: Error>(self, _: i64) -> Result<(), E> {
        self.one()
    }

    fn visit_u64<E: Error>(self, _: u64) -> Result<(), E> {
        self.one()
    }

    fn visit_f64<E: Error>(self, _: f64) -> Result<(), E> {
        self.one()
    }

    fn visit_str<E: Error>(self, _: &str) -> Result<(), E> {
        self.one()
    }

    fn visit_unit<E: Error>(self) -> Result<(), E> {
        self.one()
    }

    fn visit_seq<S: SeqAccess<'de>>(self, mut list: S) -> Result<(), S::Error> {
        self.one()?;
        while list.next_element_seed(self)?.is_some() {}
        Ok(())
    }

    fn visit_map<M: MapAccess<'de>>(self, mut map: M) -> Result<(), M::Error> {
        self.one()?;
        while map.next_key_seed(self)?.is_some() {
            map.next_value_seed(self)?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wide_repetition_is_found_as_well_as_a_deep_one() {
        let wide = format!(
            "a: &a [{}]\nb: [{}]\n",
            "x, ".repeat(3000),
            "*a, ".repeat(3000)
        );
        assert!(goes_too_far(&wide));
        let line = |n: u8| {
            format!(
                "{0}: &{0} [*{1}, *{1}, *{1}, *{1}]\n",
                n as char,
                (n - 1) as char
            )
        };
        let deep: String = (b'b'..=b'z').map(line).collect();
        assert!(goes_too_far(&format!("a: &a x\n{deep}")));
    }

    #[test]
    fn honest_anchors_are_read() {
        assert!(!goes_too_far("a: &a [1, 2]\nb: [*a, *a]\n"));
        assert!(!goes_too_far("a: 3 * 4\n"));
    }
}
