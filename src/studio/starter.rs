//! The folder that a new studio begins with: files as text, with dates around today.

use chrono::{Datelike, Days, NaiveDate};

const STUDIO: &str = include_str!("starter/studio.yaml");
const STOCK: &str = include_str!("starter/stock.yaml");
const FIRST_ORDER: &str = include_str!("starter/first.yaml");
const SECOND_ORDER: &str = include_str!("starter/second.yaml");

/// Returns names and texts of the files of a new studio, for a maker who begins on
/// `today`: the studio, commented, two orders to try it with, and the stock.
///
/// # Example
/// ```
/// use fairday::studio::starter::files;
/// let files = files("2026-05-11".parse().unwrap());
/// assert_eq!(files[1].0, "2026-001-lindqvist.yaml");
/// assert!(files[1].1.contains("ordered_on: 2026-05-11"));
/// ```
pub fn files(today: NaiveDate) -> Vec<(String, String)> {
    let year = today.year();
    [
        ("studio.yaml".to_owned(), STUDIO),
        (format!("{year}-001-lindqvist.yaml"), FIRST_ORDER),
        (format!("{year}-002-okafor.yaml"), SECOND_ORDER),
        ("stock.yaml".to_owned(), STOCK),
    ]
    .into_iter()
    .map(|(name, text)| (name, with_dates(text, today)))
    .collect()
}

/// Puts dates in the place of the words between `@` signs.
fn with_dates(text: &str, today: NaiveDate) -> String {
    let dates = [
        ("@today@", today),
        ("@yesterday@", today - Days::new(1)),
        ("@2_days_ago@", today - Days::new(2)),
        ("@in_21_days@", today + Days::new(21)),
        ("@in_30_days@", today + Days::new(30)),
    ];
    let dated = dates.iter().fold(text.to_owned(), |text, (word, date)| {
        text.replace(word, &date.to_string())
    });
    dated.replace("@year@", &today.year().to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::order::parse::{Against, parse};

    /// Also on the last day of February and at the turn of the year.
    #[test]
    fn a_new_studio_reads_without_a_problem() {
        for day in ["2026-05-11", "2028-02-29", "2026-12-31"] {
            let today: NaiveDate = day.parse().unwrap();
            let files = files(today);
            let (studio, problems) = crate::studio::parse::parse(&files[0].1, &files[0].0);
            assert_eq!(problems, []);
            let against = Against {
                studio: studio.as_ref(),
                now: today.and_hms_opt(9, 0, 0),
            };
            let stock = files.last().unwrap();
            let against_stock = crate::stock::parse::Against {
                studio: studio.as_ref(),
                now: against.now,
            };
            let (read, problems) = crate::stock::parse::parse(&stock.1, &stock.0, &against_stock);
            assert_eq!(problems, []);
            assert_eq!(read.unwrap().supplies.len(), 2);
            // Without its remarks signs it reads as well.
            let shown = stock.1.replace("\n#  ", "\n  ").replace("\n#", "\n");
            let shown = shown.lines().filter(|line| {
                let first = line.split_once(':').map_or("x y", |(key, _)| key);
                line.starts_with("  ") || first.bytes().all(|b| b.is_ascii_lowercase())
            });
            let shown: Vec<&str> = shown.collect();
            let (all, problems) =
                crate::stock::parse::parse(&shown.join("\n"), "stock.yaml", &against_stock);
            assert_eq!(problems, [], "{}", shown.join("\n"));
            let all = all.unwrap();
            assert_eq!(
                (all.salts.len(), all.bottles.len(), all.packing.len()),
                (2, 2, 1)
            );
            assert_eq!(all.rules, crate::stock::StockRules::default());
            for (name, text) in &files[1..3] {
                assert!(!text.contains('@') || text.contains("@example.org"));
                let (order, problems) = parse(text, name, &against);
                assert_eq!(problems, []);
                assert!(order.is_some());
            }
        }
    }

    /// What the remarks say is assumed must be what is assumed.
    #[test]
    fn settings_shown_as_remarks_are_the_defaults() {
        let today: NaiveDate = "2026-05-11".parse().unwrap();
        let text = &files(today)[0].1;
        let mut taken = 0;
        let mut shown = String::new();
        for line in text.lines() {
            let setting = line.strip_prefix('#').filter(|rest| is_setting(rest));
            taken += usize::from(setting.is_some());
            shown.push_str(setting.unwrap_or(line));
            shown.push('\n');
        }
        assert_eq!(taken, 32, "{shown}");
        let read = |text: &str| {
            let (studio, problems) = crate::studio::parse::parse(text, "studio.yaml");
            assert_eq!(problems, [], "{text}");
            studio.unwrap()
        };
        assert_eq!(read(&shown), read(text));
    }

    #[test]
    fn the_table_that_is_shown_can_be_imported() {
        let today: NaiveDate = "2026-05-11".parse().unwrap();
        let text = &files(today)[0].1;
        let from = text.find("#import:").unwrap();
        let (before, after) = text.split_at(from);
        let shown: Vec<&str> = after
            .lines()
            .take_while(|line| line.starts_with('#'))
            .map(|line| &line[1..])
            .collect();
        let whole = format!("{before}{}\n", shown.join("\n"));
        let (studio, problems) = crate::studio::parse::parse(&whole, "studio.yaml");
        assert_eq!(problems, []);
        let import = studio.unwrap().import.unwrap();
        assert_eq!(import.columns["reference"], ["Order"]);
        assert_eq!(import.words["material"]["Cotton rag"], "rag-300");
    }

    /// A remark that holds a setting: a key at its beginning, and one that is a
    /// default rather than an example.
    fn is_setting(remark: &str) -> bool {
        let examples = [
            "days_off",
            "holidays",
            "forecast",
            "fetch",
            "climate",
            "drying",
            "today",
            "smtp",
            "import",
            "sender",
            "columns",
            "otherwise",
            "words",
            "date_format",
            "- {",
        ];
        let word = remark.trim_start();
        let is_key = word.split_once(':').is_some_and(|(key, _)| {
            key.bytes()
                .all(|b| b.is_ascii_lowercase() || b == b'_' || b.is_ascii_digit())
        });
        let indented = !remark.starts_with(' ') || remark.starts_with("  ");
        is_key && indented && !examples.iter().any(|example| word.starts_with(example))
    }
}
