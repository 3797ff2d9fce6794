//! What an editor may know of a value: JSON Schemas of words, lists and free keys.
//!
//! A schema sees values as YAML 1.2 hands them to JSON: `7` is a number, `yes`, dates
//! and times are text. It never refuses what the program reads, and refuses as much
//! of the rest as can be said without looking at another key or file.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};

use super::keyed::Keyed;
use super::leaf::{Leaf, Scalar};
use super::several::Several;

/// A day, in the years that are read.
const DATE: &str = "(199[0-9]|2[01][0-9]{2})-(0?[1-9]|1[0-2])-(0?[1-9]|[12][0-9]|3[01])";
/// A time of day.
const TIME: &str = "([01]?[0-9]|2[0-3]):[0-5]?[0-9](:[0-5]?[0-9])?";

impl<T: Scalar> JsonSchema for Leaf<T> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        std::any::type_name::<T>().into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        T::schema()
    }
}

impl<T: Scalar> JsonSchema for Several<T> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        format!("Several_{}", std::any::type_name::<T>()).into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "anyOf": [T::schema(), {"type": "array", "items": T::schema(), "minItems": 1}],
        })
    }
}

impl<T: JsonSchema> JsonSchema for Keyed<T> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        format!("Keyed_{}", T::schema_name()).into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "object",
            "additionalProperties": generator.subschema_for::<T>(),
        })
    }
}

/// Returns the schema of words to choose from; of any text without such a list.
pub fn words(choices: &[&str]) -> Schema {
    match choices {
        [] => json_schema!({"type": ["string", "number", "boolean"], "pattern": "\\S"}),
        choices => json_schema!({"enum": choices}),
    }
}

/// Returns the schema of a whole number up to `most`, also in quotes.
pub fn whole_number(most: u32) -> Schema {
    json_schema!({
        "type": ["integer", "string"],
        "minimum": 0,
        "maximum": most,
        "pattern": "^\\+?[0-9]+$",
    })
}

/// Returns the schema of a number, also in quotes.
pub fn number() -> Schema {
    json_schema!({
        "type": ["number", "string"],
        "pattern": "^[+-]?([0-9]+\\.?[0-9]*|\\.[0-9]+)([eE][+-]?[0-9]+)?$",
    })
}

/// Returns the schema of yes and no.
pub fn yes_or_no() -> Schema {
    json_schema!({
        "anyOf": [
            {"enum": ["yes", "no", true, false]},
            {"pattern": "^([Yy][Ee][Ss]|[Nn][Oo]|[Tt][Rr][Uu][Ee]|[Ff][Aa][Ll][Ss][Ee])$"},
        ],
        "type": ["string", "boolean"],
    })
}

/// Returns the schema of a day.
pub fn date() -> Schema {
    json_schema!({"type": "string", "pattern": format!("^{DATE}$")})
}

/// Returns the schema of a day, or a word in its place.
pub fn date_or(word: &str) -> Schema {
    json_schema!({"type": "string", "pattern": format!("^({DATE}|{word})$")})
}

/// Returns the schema of a day and time.
pub fn date_time() -> Schema {
    json_schema!({"type": "string", "pattern": format!("^{DATE}[ T] *{TIME} *$")})
}

/// Returns the schema of a day, with a time or without.
pub fn date_perhaps_time() -> Schema {
    json_schema!({"type": "string", "pattern": format!("^{DATE}([ T] *{TIME} *)?$")})
}

/// Returns the schema of a time of day.
pub fn time() -> Schema {
    json_schema!({"type": "string", "pattern": format!("^{TIME}$")})
}

/// Returns the schema of a size.
pub fn size() -> Schema {
    let sides = "[0-9.eE+]+ *[xX×] *[0-9.eE+]+ *([mM][mM]|[cC][mM]|[iI][nN])";
    let pattern = format!("^\\s*([aA][0-6]|{sides})\\s*$");
    json_schema!({"type": "string", "pattern": pattern, "examples": ["A4", "8x10 in", "30x40 cm"]})
}

/// Returns the schema of a day of the week, short or in full, in any case.
pub fn weekday(choices: &[&str]) -> Schema {
    let names = [
        ("m", "o", "n(day)?"),
        ("t", "u", "e(s(day)?)?"),
        ("w", "e", "d(nesday)?"),
        ("t", "h", "u(rs(day)?)?"),
        ("f", "r", "i(day)?"),
        ("s", "a", "t(urday)?"),
        ("s", "u", "n(day)?"),
    ];
    let names: Vec<String> = names
        .map(|(a, b, c)| any_case(&format!("{a}{b}{c}")))
        .into();
    let pattern = format!("^({})$", names.join("|"));
    json_schema!({"type": "string", "anyOf": [{"enum": choices}, {"pattern": pattern}]})
}

/// Returns the schema of words to choose from, in any case.
pub fn words_in_any_case(choices: &[&str]) -> Schema {
    let names: Vec<String> = choices.iter().map(|word| any_case(word)).collect();
    let pattern = format!("^({})$", names.join("|"));
    json_schema!({"type": "string", "anyOf": [{"enum": choices}, {"pattern": pattern}]})
}

/// Returns a pattern that takes each letter in both cases; patterns of JSON have no
/// switch for it.
fn any_case(pattern: &str) -> String {
    let both = |c: char| match c.is_ascii_lowercase() {
        true => format!("[{}{c}]", c.to_ascii_uppercase()),
        false => c.to_string(),
    };
    pattern.chars().map(both).collect()
}

/// Returns the schema of the names of time zones.
pub fn zones() -> Schema {
    let names: Vec<&str> = chrono_tz::TZ_VARIANTS
        .iter()
        .map(|zone| zone.name())
        .collect();
    json_schema!({"enum": names})
}
