//! A value of which a file may hold one or a list.

use std::fmt;
use std::marker::PhantomData;

use serde::de::{Deserialize, Deserializer, SeqAccess, Visitor};

use super::leaf::{Leaf, Scalar};

/// One value by itself, or some in a list, in the order of the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Several<T> {
    /// By itself.
    One(Leaf<T>),
    /// In a list.
    List(Vec<Leaf<T>>),
}

impl<'de, T: Scalar> Deserialize<'de> for Several<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Either<T>(PhantomData<T>);
        impl<'de, T: Scalar> Visitor<'de> for Either<T> {
            type Value = Several<T>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{}, or a list of such", T::EXPECTED)
            }

            fn visit_str<E: serde::de::Error>(self, words: &str) -> Result<Several<T>, E> {
                let leaf = Leaf::deserialize(serde::de::value::StrDeserializer::<E>::new(words))?;
                Ok(Several::One(leaf))
            }

            fn visit_bool<E: serde::de::Error>(self, word: bool) -> Result<Several<T>, E> {
                self.visit_str(&word.to_string())
            }

            fn visit_i64<E: serde::de::Error>(self, number: i64) -> Result<Several<T>, E> {
                self.visit_str(&number.to_string())
            }

            fn visit_u64<E: serde::de::Error>(self, number: u64) -> Result<Several<T>, E> {
                self.visit_str(&number.to_string())
            }

            fn visit_f64<E: serde::de::Error>(self, number: f64) -> Result<Several<T>, E> {
                self.visit_str(&number.to_string())
            }

            fn visit_seq<S: SeqAccess<'de>>(self, mut list: S) -> Result<Several<T>, S::Error> {
                let mut leaves = Vec::new();
                while let Some(leaf) = list.next_element()? {
                    leaves.push(leaf);
                }
                Ok(Several::List(leaves))
            }
        }
        deserializer.deserialize_any(Either(PhantomData))
    }
}
