//! Values on their way into the record: unit, sense, and a note of what fell through.
//!
//! A value that cannot be is left out and counted; each column makes one problem
//! however many of its values were bad.

use chrono::{DateTime, Utc};
use serde_json::{Map, Value};

use super::json::SAVE_AGAIN;
use super::quantity::{Conversion, Quantity};
use crate::problem::Problem;

/// A column of a service's file and where its values go.
pub struct Column<T> {
    /// Its name in the file.
    pub name: &'static str,
    /// What it speaks of.
    pub quantity: Quantity,
    /// The unit that the service writes when it does not say.
    pub unit: &'static str,
    /// The place in our record.
    pub cell: fn(&mut T) -> &mut Option<f64>,
}

impl<T> Column<T> {
    /// Returns the column with its unit and its cell.
    pub const fn new(
        name: &'static str,
        quantity: Quantity,
        unit: &'static str,
        cell: fn(&mut T) -> &mut Option<f64>,
    ) -> Column<T> {
        Column {
            name,
            quantity,
            unit,
            cell,
        }
    }
}

/// A column whose unit is understood.
pub struct Gauge<'a, T> {
    column: &'a Column<T>,
    conversion: Conversion,
}

/// Collects what is left out of one file.
pub struct Sieve<'a> {
    file: &'a str,
    problems: Vec<Problem>,
    lost: Vec<Lost>,
}

/// Values of one column that cannot be.
struct Lost {
    name: &'static str,
    count: usize,
    first: String,
    first_at: DateTime<Utc>,
}

impl<'a> Sieve<'a> {
    /// Begins with a file without problems.
    pub fn new(file: &'a str) -> Sieve<'a> {
        Sieve {
            file,
            problems: Vec::new(),
            lost: Vec::new(),
        }
    }

    /// Notes a problem of another kind.
    pub fn note(&mut self, problem: Problem) {
        self.problems.push(problem);
    }

    /// Notes a column that is not as long as the times and is left out.
    pub fn uneven(&mut self, name: &str, expected: usize, found: usize) {
        let what = format!(
            "expected {expected} values in `{name}`, found {found}; the column is left out"
        );
        self.note(Problem::error(self.file, what).hint(SAVE_AGAIN));
    }

    /// Notes how many entries had no time that can be read, if any.
    pub fn without_time(&mut self, count: usize) {
        if count > 0 {
            let what = format!("entries without a time that can be read: {count}, left out");
            self.note(Problem::warning(self.file, what).hint(SAVE_AGAIN));
        }
    }

    /// Reads the units of the columns; one in an unknown unit is noted and left out.
    pub fn gauges<'c, T>(
        &mut self,
        columns: &'c [Column<T>],
        units: Option<&Map<String, Value>>,
    ) -> Vec<Gauge<'c, T>> {
        let mut gauges = Vec::new();
        for column in columns {
            let written = units
                .and_then(|u| u.get(column.name))
                .and_then(Value::as_str);
            let unit = written.unwrap_or(column.unit);
            match column.quantity.find_conversion(unit) {
                Some(conversion) => gauges.push(Gauge { column, conversion }),
                None => self.note(unknown_unit(self.file, column, unit)),
            }
        }
        gauges
    }

    /// Fills a record from the values that `find` has for each column, at `at`.
    pub fn fill<'v, T: Default>(
        &mut self,
        gauges: &[Gauge<'_, T>],
        at: DateTime<Utc>,
        find: impl Fn(&str) -> Option<&'v Value>,
    ) -> T {
        let mut record = T::default();
        for gauge in gauges {
            let value = find(gauge.column.name).filter(|value| !value.is_null());
            let Some(value) = value else { continue };
            let settled = value
                .as_f64()
                .map(|number| gauge.conversion.apply(number))
                .and_then(|number| gauge.column.quantity.settle(number));
            match settled {
                Some(number) => *(gauge.column.cell)(&mut record) = Some(number),
                None => self.lose(gauge.column.name, value, at),
            }
        }
        record
    }

    fn lose(&mut self, name: &'static str, value: &Value, at: DateTime<Utc>) {
        match self.lost.iter_mut().find(|lost| lost.name == name) {
            Some(lost) => lost.count += 1,
            None => self.lost.push(Lost {
                name,
                count: 1,
                first: value.to_string().chars().take(24).collect(),
                first_at: at,
            }),
        }
    }

    /// Puts rows in the order of their times, the first of equal ones; notes that it had to.
    pub fn in_order<T>(&mut self, mut rows: Vec<T>, at: impl Fn(&T) -> DateTime<Utc>) -> Vec<T> {
        let astray = rows.windows(2).filter(|p| at(&p[0]) >= at(&p[1])).count();
        if astray == 0 {
            return rows;
        }
        rows.sort_by_key(&at);
        rows.dedup_by_key(|row| at(row));
        let what = format!("the times are not ascending in {astray} places and were put in order");
        self.note(Problem::warning(self.file, what).hint(SAVE_AGAIN));
        rows
    }

    /// Returns everything that was noted, one problem a column.
    pub fn problems(self) -> Vec<Problem> {
        let lost = self.lost.into_iter().map(|lost| {
            let (values, are) = match lost.count {
                1 => ("value", "is"),
                _ => ("values", "are"),
            };
            let what = format!(
                "{} {values} of `{}` cannot be and {are} left out, the first is `{}` at {}",
                lost.count,
                lost.name,
                lost.first,
                lost.first_at.format("%Y-%m-%d %H:%M UTC")
            );
            Problem::warning(self.file, what).hint(SAVE_AGAIN)
        });
        self.problems.into_iter().chain(lost).collect()
    }
}

fn unknown_unit<T>(file: &str, column: &Column<T>, unit: &str) -> Problem {
    let expected = column.quantity.units();
    let what = format!(
        "expected {expected} for `{}`, found `{unit}`; the column is left out",
        column.name
    );
    Problem::error(file, what).hint("save the forecast again without a unit setting")
}
