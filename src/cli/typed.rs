//! What is typed for a switch, read in our words: what was expected, what was meant.

use std::str::FromStr;

use anyhow::{Result, bail};

use crate::problem::did_you_mean;
use crate::yaml::leaf::Scalar;

/// Reads a value as the files have it.
///
/// # Errors
/// What was expected, in words.
pub fn value<T: Scalar>(typed: &str) -> Result<T, String> {
    T::parse(typed).ok_or_else(|| {
        let meant = T::guess(typed).map(|word| format!("; did you mean `{word}`?"));
        format!("expected {}{}", T::EXPECTED, meant.unwrap_or_default())
    })
}

/// Reads a whole number that is not negative.
///
/// # Errors
/// What was expected, in words.
pub fn whole<T: FromStr>(typed: &str) -> Result<T, String> {
    let number = typed.parse();
    number.map_err(|_| "expected a whole number, such as 7".to_owned())
}

/// Finds the name that was typed among those there are.
///
/// # Errors
/// None is called so; the message says which there are. `what` is what it names:
/// `material`, `frame`.
pub fn one_of<'k>(what: &str, typed: &str, names: &[&'k str]) -> Result<&'k str> {
    if let Some(name) = names.iter().find(|name| **name == typed) {
        return Ok(name);
    }
    let meant = did_you_mean(typed, names).map(|name| format!(" (did you mean `{name}`?)"));
    bail!(
        "there is no {what} `{typed}`{}; there are: {}",
        meant.unwrap_or_default(),
        names.join(", ")
    )
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;

    use super::*;

    #[test]
    fn a_slip_is_answered_with_what_was_expected() {
        assert_eq!(whole::<u64>("7"), Ok(7));
        assert_eq!(
            whole::<u32>("-1"),
            Err("expected a whole number, such as 7".to_owned())
        );
        assert!(value::<f64>("nan").is_err() && value::<f64>("11,5").is_err());
        let said = value::<NaiveDate>("11.05.2026").unwrap_err();
        assert!(
            said.starts_with("expected a date such as `2026-05-15`"),
            "{said}"
        );
    }
}
