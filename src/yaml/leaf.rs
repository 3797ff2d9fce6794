//! A single value of a YAML file, as the words that stand there.
//!
//! Keeping the words means that a number that is meant as text (`2026.10`) is
//! not rounded, and that a problem can show what was typed.

use std::fmt;
use std::marker::PhantomData;
use std::ops::RangeInclusive;

use chrono::{Datelike, Months, NaiveDate, NaiveDateTime, NaiveTime, Weekday};
use chrono_tz::Tz;
use schemars::Schema;
use serde::de::{Deserialize, Deserializer, Visitor};

use super::schema;
use crate::size::Size;

/// What a word in a file may mean.
pub trait Scalar: Sized {
    /// What is expected, as the middle of a sentence: "a whole number".
    const EXPECTED: &'static str;

    /// Returns the meaning; none if the words have none of this kind.
    fn parse(words: &str) -> Option<Self>;

    /// Returns the words to choose from, where there is such a list.
    fn choices() -> &'static [&'static str] {
        &[]
    }

    /// Returns what was most likely meant by words that cannot be read.
    fn guess(_words: &str) -> Option<String> {
        None
    }

    /// Returns what to do about words that cannot be read and of which nothing can be
    /// guessed.
    fn advice(_words: &str) -> Option<String> {
        None
    }

    /// Returns what an editor may know of the words.
    fn schema() -> Schema {
        schema::words(Self::choices())
    }
}

/// The words that stand for a value of kind `T`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Leaf<T> {
    words: String,
    kind: PhantomData<T>,
}

impl<T: Scalar> Leaf<T> {
    /// Returns the words as they stand in the file, without quotes.
    pub fn words(&self) -> &str {
        &self.words
    }

    /// Returns what they mean, if they mean anything of the kind.
    pub fn parse(&self) -> Option<T> {
        T::parse(&self.words)
    }
}

impl<'de, T: Scalar> Deserialize<'de> for Leaf<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Words<T>(PhantomData<T>);
        impl<T: Scalar> Visitor<'_> for Words<T> {
            type Value = Leaf<T>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(T::EXPECTED)
            }

            fn visit_str<E>(self, words: &str) -> Result<Leaf<T>, E> {
                Ok(Leaf {
                    words: words.to_owned(),
                    kind: PhantomData,
                })
            }
        }
        deserializer.deserialize_str(Words(PhantomData))
    }
}

impl Scalar for String {
    const EXPECTED: &'static str = "text";

    fn parse(words: &str) -> Option<String> {
        let words = words.trim();
        (!words.is_empty()).then(|| words.to_owned())
    }
}

impl Scalar for u32 {
    const EXPECTED: &'static str = "a whole number";

    fn parse(words: &str) -> Option<u32> {
        words.parse().ok()
    }

    fn schema() -> Schema {
        schema::whole_number(u32::MAX)
    }
}

impl Scalar for u16 {
    const EXPECTED: &'static str = "a whole number up to 65535";

    fn parse(words: &str) -> Option<u16> {
        words.parse().ok()
    }

    fn schema() -> Schema {
        schema::whole_number(u16::MAX.into())
    }
}

impl Scalar for f64 {
    const EXPECTED: &'static str = "a number";

    fn parse(words: &str) -> Option<f64> {
        let plain = words
            .bytes()
            .all(|b| b.is_ascii_digit() || b"+-.eE".contains(&b));
        words.parse().ok().filter(|n: &f64| plain && n.is_finite())
    }

    fn guess(words: &str) -> Option<String> {
        let with_point = words.replace(',', ".");
        f64::parse(&with_point).map(|_| with_point)
    }

    fn schema() -> Schema {
        schema::number()
    }
}

impl Scalar for bool {
    const EXPECTED: &'static str = "`yes` or `no`";

    fn parse(words: &str) -> Option<bool> {
        match words.to_ascii_lowercase().as_str() {
            "yes" | "true" => Some(true),
            "no" | "false" => Some(false),
            _ => None,
        }
    }

    fn choices() -> &'static [&'static str] {
        &["yes", "no"]
    }

    fn schema() -> Schema {
        schema::yes_or_no()
    }
}

impl Scalar for NaiveDate {
    const EXPECTED: &'static str = "a date such as `2026-05-15`";

    fn parse(words: &str) -> Option<NaiveDate> {
        parse_date(words)
    }

    fn guess(words: &str) -> Option<String> {
        guess_date(words).map(|date| date.to_string())
    }

    fn advice(words: &str) -> Option<String> {
        advise_date(words)
    }

    fn schema() -> Schema {
        schema::date()
    }
}

impl Scalar for NaiveDateTime {
    const EXPECTED: &'static str = "a day and time such as `2026-05-10 18:30`";

    fn parse(words: &str) -> Option<NaiveDateTime> {
        let (date, time) = words.split_once([' ', 'T'])?;
        Some(parse_date(date)?.and_time(parse_time(time.trim())?))
    }

    fn guess(words: &str) -> Option<String> {
        let (date, time) = words.split_once([' ', 'T'])?;
        let date = parse_date(date).or_else(|| guess_date(date))?;
        let time = parse_time(&time.trim().replace('.', ":"))?;
        Some(format!("{date} {}", time.format("%H:%M")))
    }

    fn advice(words: &str) -> Option<String> {
        advise_date(words.split([' ', 'T']).next()?)
    }

    fn schema() -> Schema {
        schema::date_time()
    }
}

impl Scalar for NaiveTime {
    const EXPECTED: &'static str = "a time of day such as `16:30`";

    fn parse(words: &str) -> Option<NaiveTime> {
        parse_time(words)
    }

    fn guess(words: &str) -> Option<String> {
        let time = parse_time(&words.replace('.', ":")).or_else(|| guess_half_day(words))?;
        Some(time.format("%H:%M").to_string())
    }

    fn schema() -> Schema {
        schema::time()
    }
}

impl Scalar for Size {
    const EXPECTED: &'static str = "a size such as `A4`, `8x10 in` or `150x200 mm`";

    fn parse(words: &str) -> Option<Size> {
        Size::parse(words)
    }

    fn guess(words: &str) -> Option<String> {
        let in_mm = format!("{words} mm");
        let inches = format!("{words} in");
        let side = |size: Size| size.width.mm().max(size.height.mm());
        match (Size::parse(&in_mm), Size::parse(&inches)) {
            (Some(size), _) if side(size) >= 60.0 => Some(in_mm),
            (_, Some(_)) => Some(inches),
            _ => None,
        }
    }

    fn schema() -> Schema {
        schema::size()
    }
}

impl Scalar for Weekday {
    const EXPECTED: &'static str = "a day of the week";

    fn parse(words: &str) -> Option<Weekday> {
        words.parse().ok()
    }

    fn choices() -> &'static [&'static str] {
        &["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
    }

    fn schema() -> Schema {
        schema::weekday(Self::choices())
    }
}

impl Scalar for Tz {
    const EXPECTED: &'static str = "a time zone such as `Europe/Paris`";

    fn parse(words: &str) -> Option<Tz> {
        words.parse().ok()
    }

    fn guess(words: &str) -> Option<String> {
        let names: Vec<&str> = chrono_tz::TZ_VARIANTS.iter().map(|tz| tz.name()).collect();
        crate::problem::did_you_mean(words, &names).map(str::to_owned)
    }

    fn schema() -> Schema {
        schema::zones()
    }
}

/// Years in which a studio's dates lie; what is outside was mistyped.
const YEARS: RangeInclusive<i32> = 1990..=2199;

/// Parses `2026-05-15`; four digits of year, so that nobody's 26 is the year 26.
fn parse_date(words: &str) -> Option<NaiveDate> {
    let year = words.split('-').next()?;
    let date = NaiveDate::parse_from_str(words, "%Y-%m-%d").ok();
    let digits = year.len() == 4 && year.bytes().all(|b| b.is_ascii_digit());
    date.filter(|date| digits && YEARS.contains(&date.year()))
}

/// Says which part of a day written as `2026-05-45` no calendar has.
fn advise_date(words: &str) -> Option<String> {
    let mut parts = words.split('-').map(|part| part.parse::<u32>().ok());
    let (year, month, day) = (parts.next()??, parts.next()??, parts.next()??);
    let year = i32::try_from(year)
        .ok()
        .filter(|year| YEARS.contains(year))?;
    let Some(first) = NaiveDate::from_ymd_opt(year, month, 1) else {
        return Some("write a month from 01 to 12".to_owned());
    };
    let next = first.checked_add_months(Months::new(1))?;
    let last = next.pred_opt()?.day();
    let month = first.format("%B %Y");
    (!(1..=last).contains(&day)).then(|| format!("write a day from 01 to {last}, as {month} has"))
}

/// Parses `9:05`, `09:05` or `09:05:30`.
fn parse_time(words: &str) -> Option<NaiveTime> {
    ["%H:%M", "%H:%M:%S"]
        .iter()
        .find_map(|format| NaiveTime::parse_from_str(words, format).ok())
}

/// Guesses `4pm` or `4:30 am`.
fn guess_half_day(words: &str) -> Option<NaiveTime> {
    let lower = words.to_ascii_lowercase();
    let half = lower.strip_suffix("am").map(|rest| (rest, "am"));
    let (clock, half) = half.or_else(|| lower.strip_suffix("pm").map(|rest| (rest, "pm")))?;
    let clock = clock.trim();
    let minutes = if clock.contains(':') { "" } else { ":00" };
    NaiveTime::parse_from_str(&format!("{clock}{minutes} {half}"), "%I:%M %p").ok()
}

/// Guesses a date written in another fashion, where only one reading is possible.
fn guess_date(words: &str) -> Option<NaiveDate> {
    let parts: Vec<u32> = words
        .split(['.', '/', '-', ' '])
        .filter(|part| !part.is_empty())
        .map(|part| part.parse().ok())
        .collect::<Option<_>>()?;
    let &[a, b, c] = parts.as_slice() else {
        return None;
    };
    let date = |year: u32, month, day| {
        let year = if year < 100 { year + 2000 } else { year };
        let date = NaiveDate::from_ymd_opt(i32::try_from(year).ok()?, month, day)?;
        Some(date).filter(|date| YEARS.contains(&date.year()))
    };
    if a > 31 || words.starts_with("00") {
        return date(a, b, c);
    }
    let readings = [date(c, b, a), date(c, a, b)];
    match readings {
        [Some(day_first), Some(month_first)] if day_first != month_first => None,
        [day_first, month_first] => day_first.or(month_first),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn guess<T: Scalar>(words: &str) -> Option<String> {
        assert!(T::parse(words).is_none(), "{words} needs no guess");
        T::guess(words)
    }

    #[test]
    fn a_date_in_another_fashion_is_guessed_only_if_it_has_one_reading() {
        assert_eq!(guess::<NaiveDate>("15/5/26").unwrap(), "2026-05-15");
        assert_eq!(guess::<NaiveDate>("5/15/2026").unwrap(), "2026-05-15");
        assert_eq!(guess::<NaiveDate>("15.05.2026").unwrap(), "2026-05-15");
        assert_eq!(guess::<NaiveDate>("2026/5/1").unwrap(), "2026-05-01");
        assert_eq!(guess::<NaiveDate>("4/5/2026"), None);
        assert_eq!(guess::<NaiveDate>("2026-02-30"), None);
        assert_eq!(guess::<NaiveDate>("soon"), None);
        assert_eq!(guess::<NaiveDate>("0026-05-15").unwrap(), "2026-05-15");
        assert_eq!(guess::<NaiveDate>("9999-12-31"), None);
        assert_eq!(guess::<NaiveDate>("0000-01-01"), Some("2000-01-01".into()));
    }

    #[test]
    fn a_day_that_no_calendar_has_is_told_how_far_the_month_goes() {
        let advice = |words: &str| NaiveDate::advice(words).unwrap();
        assert_eq!(
            advice("2026-05-45"),
            "write a day from 01 to 31, as May 2026 has"
        );
        assert_eq!(
            advice("2028-02-30"),
            "write a day from 01 to 29, as February 2028 has"
        );
        assert_eq!(advice("2026-13-01"), "write a month from 01 to 12");
        assert_eq!(NaiveDate::advice("soon"), None);
        let at = NaiveDateTime::advice("2026-05-45 18:30").unwrap();
        assert!(at.ends_with("as May 2026 has"), "{at}");
    }

    #[test]
    fn times_and_days_are_read_as_people_write_them() {
        let at = NaiveDateTime::parse("2026-05-10 9:05").unwrap();
        assert_eq!(at.to_string(), "2026-05-10 09:05:00");
        assert_eq!(NaiveDateTime::parse("2026-05-10T09:05:00"), Some(at));
        assert_eq!(guess::<NaiveDateTime>("10.5.2026 9.05"), None);
        assert_eq!(
            guess::<NaiveDateTime>("13.5.2026 9.05").unwrap(),
            "2026-05-13 09:05"
        );
        assert_eq!(guess::<NaiveTime>("9.30").unwrap(), "09:30");
        assert_eq!(guess::<NaiveTime>("4pm").unwrap(), "16:00");
        assert_eq!(guess::<NaiveTime>("12:15 am").unwrap(), "00:15");
        assert_eq!(NaiveTime::parse("24:00"), None);
    }

    #[test]
    fn a_size_without_unit_is_guessed_by_its_largest_side() {
        assert_eq!(guess::<Size>("8x10").unwrap(), "8x10 in");
        assert_eq!(guess::<Size>("150x200").unwrap(), "150x200 mm");
    }

    #[test]
    fn numbers_take_no_words_and_no_infinity() {
        for words in ["inf", "NaN", "1,5", "", "1 000", "two"] {
            assert_eq!(f64::parse(words), None, "{words}");
        }
        assert_eq!(guess::<f64>("1,5").unwrap(), "1.5");
        assert_eq!(u32::parse("-1"), None);
    }
}
