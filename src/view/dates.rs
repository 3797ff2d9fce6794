//! Dates, times and numbers in words, the same on every screen.

use chrono::{Datelike, NaiveDate, NaiveDateTime, Timelike};

use super::page::NO_BREAK;

/// Returns a day for a line: `Mon 11 May`, with the year if it is not that of `today`.
///
/// Its spaces are protected ([`NO_BREAK`]), so that a page does not tear it.
///
/// # Example
/// ```
/// use fairday::view::dates::day;
/// let today = "2026-05-11".parse().unwrap();
/// assert_eq!(day("2026-05-15".parse().unwrap(), today), "Fri\u{a0}15\u{a0}May");
/// assert_eq!(day("2027-01-04".parse().unwrap(), today), "Mon\u{a0}4\u{a0}Jan\u{a0}2027");
/// ```
pub fn day(date: NaiveDate, today: NaiveDate) -> String {
    let form = if date.year() == today.year() {
        "%a %-d %b"
    } else {
        "%a %-d %b %Y"
    };
    date.format(form).to_string().replace(' ', NO_BREAK)
}

/// Returns a day for a sentence: `today`, `tomorrow`, or as [`day`] has it.
pub fn near_day(date: NaiveDate, today: NaiveDate) -> String {
    match (date - today).num_days() {
        0 => "today".to_owned(),
        1 => "tomorrow".to_owned(),
        _ => day(date, today),
    }
}

/// Returns a day in full: `Monday 11 May 2026`.
pub fn full_day(date: NaiveDate) -> String {
    date.format("%A %-d %B %Y").to_string()
}

/// Returns a time of day: `09:05`.
pub fn time(at: NaiveDateTime) -> String {
    format!("{:02}:{:02}", at.hour(), at.minute())
}

/// Returns a moment: the time alone on the day `on`, else with its day.
pub fn moment(at: NaiveDateTime, on: NaiveDate) -> String {
    if at.date() == on {
        time(at)
    } else {
        format!("{}{NO_BREAK}{}", at.format("%a"), time(at))
    }
}

/// Returns minutes of exposure as a person sets them. [min]
///
/// Below 20 to the half minute, below an hour to the minute, above to five.
pub fn minutes(value: f64) -> String {
    let step = match value {
        v if v < 20.0 => 0.5,
        v if v < 60.0 => 1.0,
        _ => 5.0,
    };
    format!("{}{NO_BREAK}min", (value / step).round() * step)
}

/// Returns millilitres or grams to two decimals without idle zeros.
pub fn amount(value: f64) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Returns a count with its noun: `1 order`, `3 orders`.
pub fn count(number: usize, noun: &str) -> String {
    let ending = if number == 1 { "" } else { "s" };
    format!("{number} {noun}{ending}")
}

/// Returns ascending numbers with their runs joined: `1–3, 5`.
pub fn ranges(numbers: &[u32]) -> String {
    let mut runs: Vec<(u32, u32)> = Vec::new();
    for &number in numbers {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == number => *last = number,
            _ => runs.push((number, number)),
        }
    }
    let run = |(first, last): (u32, u32)| match last - first {
        0 => first.to_string(),
        1 => format!("{first},{last}"),
        _ => format!("{first}-{last}"),
    };
    runs.into_iter().map(run).collect::<Vec<_>>().join(",")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn minutes_are_rounded_as_a_person_sets_them() {
        for (value, text) in [
            (8.24, "8\u{a0}min"),
            (8.26, "8.5\u{a0}min"),
            (33.4, "33\u{a0}min"),
            (63.0, "65\u{a0}min"),
        ] {
            assert_eq!(minutes(value), text);
        }
    }

    #[test]
    fn runs_of_numbers_are_joined() {
        assert_eq!(ranges(&[1, 2, 3, 5]), "1-3,5");
        assert_eq!(ranges(&[1, 2]), "1,2");
        assert_eq!(ranges(&[]), "");
    }

    #[test]
    fn amounts_lose_idle_zeros() {
        assert_eq!(
            [amount(17.5), amount(4.0), amount(0.126)],
            ["17.5", "4", "0.13"]
        );
    }
}
