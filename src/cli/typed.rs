//! What is typed for a switch, read in our words: what was expected, what was meant.

use std::str::FromStr;

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
