//! Orders out of a table that another program wrote (RFC 4180, and its usual kin).
//!
//! Rows with one reference are one order, each row a piece. Every row is judged on its
//! own, as an order file with this piece alone; a bad one is told with its line and
//! leaves its whole order out, since half an order is none.

use std::collections::BTreeMap;
use std::fmt::Write;

use chrono::NaiveDate;
use csv::{Position, ReaderBuilder, StringRecord, Trim};

use super::draft::{Draft, PieceDraft};
use crate::order::parse::{Against, parse};
use crate::problem::{Problem, Severity, Spot, did_you_mean};
use crate::studio::Import;
use crate::yaml::leaf::Scalar;

/// An order of the table, without a number of its own yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// The line of its first row.
    pub line: usize,
    /// The order.
    pub draft: Draft,
}

/// What a table holds.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Table {
    /// Orders that can be taken, in the order of the table.
    pub orders: Vec<Found>,
    /// References that were taken before.
    pub known: Vec<String>,
    /// What is wrong with rows.
    pub problems: Vec<Problem>,
}

/// Reads a table; `is_known` tells whether an order of that reference was taken.
pub fn read(
    text: &str,
    file: &str,
    import: &Import,
    against: &Against,
    is_known: &dyn Fn(&str) -> bool,
) -> Table {
    let mut table = Table::default();
    if text.trim().is_empty() {
        let problem = Problem::error(file, "the table is empty")
            .hint("save it once more as CSV, with the names of its columns in the first line");
        table.problems.push(problem);
        return table;
    }
    let mut rows = ReaderBuilder::new()
        .delimiter(separator(text))
        .flexible(true)
        .trim(Trim::All)
        .from_reader(text.as_bytes());
    let head = match rows.headers() {
        Ok(head) => head.clone(),
        Err(error) => {
            table.problems.push(Problem::error(file, error.to_string()));
            return table;
        }
    };
    let sheet = Sheet {
        text,
        line_ends: text.match_indices('\n').map(|(at, _)| at).collect(),
        file,
        import,
        head: &head,
    };
    table.problems.extend(sheet.missing_columns());
    table.problems.extend(sheet.missing_keys());
    if !table.problems.is_empty() {
        return table;
    }
    let mut orders: Vec<(String, Vec<Row>)> = Vec::new();
    for row in rows.records() {
        let row = match row {
            Ok(record) => Row {
                line: sheet.line(record.position()),
                record,
            },
            Err(error) => {
                let line = sheet.line(error.position());
                table.problems.push(sheet.problem(line, error.to_string()));
                continue;
            }
        };
        match sheet.reference(&row) {
            Ok(reference) => match orders.iter_mut().find(|(known, _)| *known == reference) {
                Some((_, rows)) => rows.push(row),
                None => orders.push((reference, vec![row])),
            },
            Err(problem) => table.problems.push(*problem),
        }
    }
    for (reference, rows) in orders {
        if is_known(&reference) {
            table.known.push(reference);
            continue;
        }
        match sheet.order(&reference, &rows, against) {
            Ok(found) => table.orders.push(found),
            Err(problems) => table.problems.extend(problems),
        }
    }
    table
        .problems
        .sort_by(|a, b| a.sort_key().cmp(&b.sort_key()));
    table
}

/// Finds what divides the fields: the sign that the first line has most of.
fn separator(text: &str) -> u8 {
    let mut quoted = false;
    let mut counts = BTreeMap::from([(b',', 0), (b';', 0), (b'\t', 0)]);
    for byte in text.bytes() {
        match byte {
            b'"' => quoted = !quoted,
            b'\n' if !quoted => break,
            byte if !quoted => {
                if let Some(count) = counts.get_mut(&byte) {
                    *count += 1;
                }
            }
            _ => {}
        }
    }
    let most = counts.into_iter().rev().max_by_key(|(_, count)| *count);
    most.filter(|(_, count)| *count > 0)
        .map_or(b',', |(sign, _)| sign)
}

struct Row {
    line: usize,
    record: StringRecord,
}

/// Keys that no order is without.
const NEEDED: [&str; 7] = [
    "name",
    "ordered_on",
    "jurisdiction",
    "delivery",
    "title",
    "material",
    "size",
];

struct Sheet<'a> {
    text: &'a str,
    /// Where its lines end. [bytes]
    line_ends: Vec<usize>,
    file: &'a str,
    import: &'a Import,
    head: &'a StringRecord,
}

impl Sheet<'_> {
    /// Columns that `studio.yaml` names and the table has not.
    fn missing_columns(&self) -> Vec<Problem> {
        let heads: Vec<&str> = self.head.iter().collect();
        let columns = self.import.columns.iter();
        let columns = columns.flat_map(|(key, some)| some.iter().map(move |one| (key, one)));
        let missing = columns.filter(|(_, column)| !heads.contains(&column.as_str()));
        missing
            .map(|(key, column)| {
                let what = format!("there is no column `{column}`, which `{key}` is read from");
                let hint = match did_you_mean(column, &heads) {
                    Some(meant) => format!("write `{key}: {meant}` below `columns` in studio.yaml"),
                    None => format!("there are: {}", heads.join(", ")),
                };
                self.problem(1, what).hint(hint)
            })
            .collect()
    }

    /// Keys of an order of which neither a column nor `otherwise` says anything.
    fn missing_keys(&self) -> Vec<Problem> {
        let said = |key: &str| {
            self.import.columns.contains_key(key) || self.import.otherwise.contains_key(key)
        };
        let missing = NEEDED.into_iter().filter(|key| !said(key));
        missing
            .map(|key| {
                let hint = format!(
                    "add `{key}: HEADING` below `columns` in studio.yaml, or what holds for all \
                     rows below `otherwise`"
                );
                self.problem(1, format!("nothing says what `{key}` is"))
                    .hint(hint)
            })
            .collect()
    }

    /// Keys of an order of which a row says nothing.
    fn empty_keys(&self, row: &Row) -> Vec<Problem> {
        let empty = NEEDED
            .into_iter()
            .filter(|key| self.word(row, key).is_none());
        empty
            .map(|key| {
                let columns = self.import.columns.get(key);
                let shown = columns.map_or(key.to_owned(), |some| some.join("`, `"));
                let hint = format!("fill it, or add `{key}: …` below `otherwise` in studio.yaml");
                self.problem(row.line, format!("the column `{shown}` is empty"))
                    .hint(hint)
            })
            .collect()
    }

    /// Returns the line of a record. The reader counts line ends of two signs as two
    /// when one record ends and the next begins, and blank lines with the record below.
    fn line(&self, at: Option<&Position>) -> usize {
        let at = at.map_or(0, |at| at.byte() as usize).min(self.text.len());
        let rest = &self.text.as_bytes()[at..];
        let blank = rest.iter().take_while(|byte| b"\r\n".contains(byte));
        let start = at + blank.count();
        1 + self.line_ends.partition_point(|end| *end < start)
    }

    fn problem(&self, line: usize, what: String) -> Problem {
        let excerpt = self.excerpt(line);
        Problem::error(self.file, what).at(Some(Spot {
            line,
            column: 1,
            length: excerpt.chars().count().clamp(1, 60),
            excerpt: excerpt.chars().take(160).collect(),
        }))
    }

    fn excerpt(&self, line: usize) -> &str {
        let lines = self.text.lines().nth(line.saturating_sub(1));
        lines.unwrap_or_default()
    }

    /// Returns a problem about what a row says for a key, where it says that; what is said
    /// for all rows is named by its place in studio.yaml.
    fn problem_of(&self, row: &Row, key: &str, what: String) -> Problem {
        let columns = self.import.columns.get(key).into_iter().flatten();
        let mut places = columns.filter_map(|column| {
            let place = self.head.iter().position(|head| head == column)?;
            let said = row.record.get(place).filter(|said| !said.is_empty());
            said.map(|_| (place, column))
        });
        let Some((place, column)) = places.next() else {
            let of_all = self.import.otherwise.contains_key(key);
            let problem = self.problem(row.line, what);
            return match of_all {
                true => problem.hint(format!(
                    "correct `{key}` below `import: {{otherwise: …}}` in studio.yaml"
                )),
                false => problem,
            };
        };
        let problem = self.problem(row.line, format!("{what}, in the column `{column}`"));
        match (self.field_spot(row, place), problem.spot.clone()) {
            (Some((column, length)), Some(spot)) => problem.at(Some(Spot {
                column,
                length,
                ..spot
            })),
            _ => problem,
        }
    }

    /// Finds a field in the line of its row: column from 1, and length; none where quotes
    /// or line breaks stand in the way.
    fn field_spot(&self, row: &Row, place: usize) -> Option<(usize, usize)> {
        let line = self.excerpt(row.line);
        let mut from = 0;
        for (index, field) in row.record.iter().enumerate().take(place + 1) {
            let at = from + line.get(from..)?.find(field)?;
            if index == place {
                let column = 1 + line[..at].chars().count();
                return Some((column, field.chars().count().max(1)));
            }
            // The separator ends a field; one that holds it is in quotes.
            let quotes = line[at + field.len()..].starts_with('"');
            from = at + field.len() + usize::from(quotes) + 1;
        }
        None
    }

    fn reference(&self, row: &Row) -> Result<String, Box<Problem>> {
        if row.record.len() != self.head.len() {
            let what = format!(
                "expected {} fields as in the first line, found {}",
                self.head.len(),
                row.record.len()
            );
            let hint = "put a field that holds the separator in quotation marks";
            return Err(Box::new(self.problem(row.line, what).hint(hint)));
        }
        self.word(row, "reference").ok_or_else(|| {
            let columns = self.import.columns.get("reference");
            let shown = columns.map_or("reference".to_owned(), |some| some.join("`, `"));
            Box::new(self.problem(row.line, format!("the column `{shown}` is empty")))
        })
    }

    /// Returns what a row says for a key, in the studio's words.
    fn word(&self, row: &Row, key: &str) -> Option<String> {
        let columns = self.import.columns.get(key).into_iter().flatten();
        let places = columns.filter_map(|column| self.head.iter().position(|head| head == column));
        let said = places.filter_map(|place| row.record.get(place));
        let between = if key == "address" { ", " } else { " " };
        let said = in_one_line(said, between);
        if said.is_empty() {
            return self.import.otherwise.get(key).cloned();
        }
        let ours = self.import.words.get(key);
        Some(
            ours.and_then(|words| words.get(&said))
                .cloned()
                .unwrap_or(said),
        )
    }

    fn order(
        &self,
        reference: &str,
        rows: &[Row],
        against: &Against,
    ) -> Result<Found, Vec<Problem>> {
        let mut whole: Option<Found> = None;
        let mut problems = Vec::new();
        for row in rows {
            let draft = self.draft(reference, row);
            let empty = self.empty_keys(row);
            problems.extend(match empty.is_empty() {
                true => self.judge(&draft, row, against),
                false => empty,
            });
            match &mut whole {
                Some(found) => found.draft.pieces.extend(draft.pieces),
                None => {
                    let line = row.line;
                    whole = Some(Found { line, draft });
                }
            }
        }
        whole.filter(|_| problems.is_empty()).ok_or(problems)
    }

    /// Judges a row as an order file with this piece alone; days first, in the manner in
    /// which the table writes them.
    fn judge(&self, draft: &Draft, row: &Row, against: &Against) -> Vec<Problem> {
        let days = ["ordered_on", "ship_by", "deliver_by"];
        let days = days.into_iter().filter_map(|key| self.wrong_day(row, key));
        let mut problems: Vec<Problem> = days.collect();
        let mut draft = draft.clone();
        if !problems.is_empty() {
            draft.ordered_on = "2000-01-01".to_owned();
            draft.promise = None;
        }
        let text = draft.render(None);
        let (_, found) = parse(&text, self.file, against);
        let errors = found.into_iter().filter(|p| p.severity == Severity::Error);
        problems.extend(errors.map(|problem| {
            let key = problem.spot.as_ref().and_then(key_at);
            let own = match &key {
                Some(key) => self.problem_of(row, key, problem.what),
                None => self.problem(row.line, problem.what),
            };
            let hint = key.and_then(|key| self.translation(row, &key));
            match (own.hint.is_some(), hint.or(problem.hint)) {
                (false, Some(hint)) => own.hint(hint),
                _ => own,
            }
        }));
        problems
    }

    /// Says how a word of the table becomes one of the studio's, for keys that have such
    /// words.
    fn translation(&self, row: &Row, key: &str) -> Option<String> {
        let has_words = ["material", "delivery", "jurisdiction", "cover", "light"].contains(&key);
        let said = self.word(row, key).filter(|_| has_words)?;
        Some(format!(
            "write what it stands for into studio.yaml, `import: {{words: {{{key}: {{{said}: \
             WORD}}}}}}`, or add it to the studio"
        ))
    }

    /// Returns the problem of a day that cannot be read, if it is one.
    fn wrong_day(&self, row: &Row, key: &str) -> Option<Problem> {
        let said = self.word(row, key)?;
        if NaiveDate::parse(&self.date(&said)).is_some() {
            return None;
        }
        let example = NaiveDate::from_ymd_opt(2026, 5, 15)?;
        let mut shown = String::new();
        let format = self.import.date_format.as_deref().unwrap_or("%Y-%m-%d");
        // A format that nobody can write by is shown as it is.
        if write!(shown, "{}", example.format(format)).is_err() {
            shown = format.to_owned();
        }
        let what = format!("expected a day such as `{shown}` for `{key}`, found `{said}`");
        let problem = self.problem_of(row, key, what);
        Some(match problem.hint {
            Some(_) => problem,
            None => problem.hint(
                "correct the day, or say how the table writes days with `date_format` below \
                 `import` in studio.yaml",
            ),
        })
    }

    fn draft(&self, reference: &str, row: &Row) -> Draft {
        let word = |key| self.word(row, key);
        let need = |key| self.word(row, key).unwrap_or_default();
        let date = |said: String| self.date(&said);
        Draft {
            // Any number will do to be judged; it gets its own when it is taken.
            number: "new".to_owned(),
            reference: Some(reference.to_owned()),
            name: need("name"),
            emails: word("email").into_iter().collect(),
            address: word("address"),
            language: word("language"),
            ordered_on: date(need("ordered_on")),
            promise: ["ship_by", "deliver_by"]
                .into_iter()
                .find_map(|kind| Some((kind.to_owned(), date(word(kind)?)))),
            jurisdiction: need("jurisdiction"),
            delivery: need("delivery"),
            hold: None,
            pieces: vec![PieceDraft {
                title: need("title"),
                material: need("material"),
                size: need("size"),
                copies: word("copies").filter(|copies| copies != "1"),
                negative: word("negative"),
                objects: word("objects"),
                cover: word("cover"),
                light: word("light"),
            }],
        }
    }

    /// Returns a day as our files write it, if it is written as the studio says.
    fn date(&self, said: &str) -> String {
        let format = self.import.date_format.as_deref();
        let parsed = format.and_then(|format| {
            let day = NaiveDate::parse_and_remainder(said, format);
            day.ok().map(|(day, _)| day.to_string())
        });
        parsed.unwrap_or_else(|| {
            // A time behind the day, as shops write it, is nothing to us.
            said.split([' ', 'T']).next().unwrap_or(said).to_owned()
        })
    }
}

/// Finds the key before a place in the text of a draft, as `import:` names it.
fn key_at(spot: &Spot) -> Option<String> {
    let before: String = spot.excerpt.chars().take(spot.column).collect();
    let is_word = |c: char| c.is_ascii_alphanumeric() || c == '_';
    let mut keys = spot.excerpt.match_indices(':').filter_map(|(at, _)| {
        let start = spot.excerpt[..at].rfind(|c: char| !is_word(c));
        let start = start.map_or(0, |at| at + 1);
        let known = start <= before.len() && start < at;
        known.then(|| spot.excerpt[start..at].to_owned())
    });
    match keys.next_back()?.as_str() {
        "date" | "kind" if spot.excerpt.contains("deliver_by") => Some("deliver_by".to_owned()),
        "date" | "kind" => Some("ship_by".to_owned()),
        key => Some(key.to_owned()),
    }
}

/// Returns the lines of several fields in one, with `between` them once.
fn in_one_line<'w>(parts: impl Iterator<Item = &'w str>, between: &str) -> String {
    let lines = parts.flat_map(|part| part.split(['\r', '\n']));
    // A comma at the end of a line would stand there twice.
    let extra = |c: char| c.is_whitespace() || between.starts_with(c);
    let lines = lines.map(|line| line.trim_start().trim_end_matches(extra));
    let lines: Vec<&str> = lines.filter(|line| !line.is_empty()).collect();
    lines.join(between)
}
