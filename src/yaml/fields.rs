//! Which keys a shape knows, asked of the shape itself.

use serde::de::{Deserialize, Deserializer, Error as _, Visitor, value};

/// Returns the keys that the struct `S` reads, in its own order.
///
/// Empty for anything that is not a struct with named fields.
pub fn keys_of<S: Deserialize<'static>>() -> &'static [&'static str] {
    let mut keys: &'static [&'static str] = &[];
    // The probe always fails; what counts is what it was asked for on the way.
    drop(S::deserialize(Probe(&mut keys)));
    keys
}

struct Probe<'a>(&'a mut &'static [&'static str]);

impl<'de> Deserializer<'de> for Probe<'_> {
    type Error = value::Error;

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _name: &'static str,
        fields: &'static [&'static str],
        _visitor: V,
    ) -> Result<V::Value, value::Error> {
        *self.0 = fields;
        Err(value::Error::custom("only asked"))
    }

    fn deserialize_any<V: Visitor<'de>>(self, _visitor: V) -> Result<V::Value, value::Error> {
        Err(value::Error::custom("only asked"))
    }

    serde::forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf
        option unit unit_struct newtype_struct seq tuple tuple_struct map enum identifier
        ignored_any
    }
}
