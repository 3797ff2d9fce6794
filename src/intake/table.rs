//! Orders out of a table that another program wrote (RFC 4180, and its usual kin).
//!
//! Rows with one reference are one order, each row a piece. Every row is judged on its
//! own, as an order file with this piece alone; a bad one is told with its line and
//! leaves its whole order out, since half an order is none.

use std::collections::BTreeMap;

use csv::{ReaderBuilder, StringRecord, Trim};

use super::draft::{Draft, PieceDraft};
use crate::order::parse::{Against, parse};
use crate::problem::{Problem, Severity, Spot, did_you_mean};
use crate::studio::Import;

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
        file,
        import,
        head: &head,
    };
    table.problems.extend(sheet.missing_columns());
    if !table.problems.is_empty() {
        return table;
    }
    let mut orders: Vec<(String, Vec<Row>)> = Vec::new();
    for row in rows.records() {
        let row = match row {
            Ok(record) => Row {
                line: record.position().map_or(0, |at| at.line() as usize),
                record,
            },
            Err(error) => {
                let line = error.position().map_or(0, |at| at.line() as usize);
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

struct Sheet<'a> {
    text: &'a str,
    file: &'a str,
    import: &'a Import,
    head: &'a StringRecord,
}

impl Sheet<'_> {
    /// Columns that `studio.yaml` names and the table has not.
    fn missing_columns(&self) -> Vec<Problem> {
        let heads: Vec<&str> = self.head.iter().collect();
        let missing = self
            .import
            .columns
            .iter()
            .filter(|(_, column)| !heads.contains(&column.as_str()));
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

    fn problem(&self, line: usize, what: String) -> Problem {
        let excerpt = self
            .text
            .lines()
            .nth(line.saturating_sub(1))
            .unwrap_or_default();
        Problem::error(self.file, what).at(Some(Spot {
            line,
            column: 1,
            length: excerpt.chars().count().clamp(1, 60),
            excerpt: excerpt.chars().take(160).collect(),
        }))
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
            let column = self.import.columns.get("reference");
            let column = column.map_or("reference", String::as_str);
            Box::new(self.problem(row.line, format!("the column `{column}` is empty")))
        })
    }

    /// Returns what a row says for a key, in the studio's words.
    fn word(&self, row: &Row, key: &str) -> Option<String> {
        let column = self.import.columns.get(key);
        let place = column.and_then(|column| self.head.iter().position(|head| head == column));
        let said = place.and_then(|place| row.record.get(place));
        let said = said.filter(|said| !said.is_empty());
        let usual = || self.import.otherwise.get(key).cloned();
        let Some(said) = said else { return usual() };
        let ours = self.import.words.get(key).and_then(|words| words.get(said));
        Some(ours.cloned().unwrap_or_else(|| said.to_owned()))
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
            problems.extend(self.judge(&draft, row, against));
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

    fn judge(&self, draft: &Draft, row: &Row, against: &Against) -> Vec<Problem> {
        let (_, problems) = parse(&draft.render(None), self.file, against);
        let errors = problems
            .into_iter()
            .filter(|p| p.severity == Severity::Error);
        errors
            .map(|problem| match problem.hint {
                Some(hint) => self.problem(row.line, problem.what).hint(hint),
                None => self.problem(row.line, problem.what),
            })
            .collect()
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
            email: word("email"),
            language: word("language"),
            ordered_on: date(need("ordered_on")),
            promise: word("ship_by").map(|day| ("ship_by".to_owned(), date(day))),
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
            let day = chrono::NaiveDate::parse_and_remainder(said, format);
            day.ok().map(|(day, _)| day.to_string())
        });
        parsed.unwrap_or_else(|| {
            // A time behind the day, as shops write it, is nothing to us.
            said.split([' ', 'T']).next().unwrap_or(said).to_owned()
        })
    }
}
