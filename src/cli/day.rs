//! A day that was typed, read as in the files.

use chrono::NaiveDate;

use crate::yaml::leaf::Scalar;

/// Reads a day of an argument.
pub(super) fn day(words: &str) -> Result<NaiveDate, String> {
    let meant = || NaiveDate::guess(words.trim()).map(|day| format!("; did you mean `{day}`?"));
    NaiveDate::parse(words.trim()).ok_or_else(|| {
        format!(
            "expected {}{}",
            NaiveDate::EXPECTED,
            meant().unwrap_or_default()
        )
    })
}
