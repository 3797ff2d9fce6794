//! A mapping whose keys are the maker's own words, in her order.

use std::fmt;
use std::marker::PhantomData;

use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};

/// Entries of a mapping with free keys, in the order of the file; a key that
/// stands twice is here twice, so that the reader of it can say so.
#[derive(Debug, Clone)]
pub struct Keyed<T>(pub Vec<(String, T)>);

impl<T> Default for Keyed<T> {
    fn default() -> Self {
        Keyed(Vec::new())
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Keyed<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Entries<T>(PhantomData<T>);
        impl<'de, T: Deserialize<'de>> Visitor<'de> for Entries<T> {
            type Value = Keyed<T>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a list of names, each with its values below it")
            }

            fn visit_map<M: MapAccess<'de>>(self, mut map: M) -> Result<Keyed<T>, M::Error> {
                let mut entries = Vec::new();
                while let Some(entry) = map.next_entry()? {
                    entries.push(entry);
                }
                Ok(Keyed(entries))
            }
        }
        deserializer.deserialize_map(Entries(PhantomData))
    }
}
