//! The light model against tables made by other programs, and its own laws.
//!
//! Where a table comes from and why a tolerance is what it is: `tests/reference/README.md`.

mod cloud;
mod curve;
mod dose;
mod exposure;
mod genuine;
mod learn;
mod property;
mod spectrum;
mod sun;

use std::fs;
use std::path::Path;

use chrono::{DateTime, NaiveDate, NaiveTime, TimeDelta, Utc};
use fairday::light::Site;
use fairday::studio::{Place, Stand};
use fairday::units::Dose;

/// A reference table: rows of fields, found by the names in its first line.
pub struct Table {
    name: String,
    header: Vec<String>,
    rows: Vec<Vec<String>>,
}

/// One row of a table.
#[derive(Clone, Copy)]
pub struct Row<'a> {
    table: &'a Table,
    index: usize,
}

impl Table {
    /// Reads a table of light that has exactly `rows` rows, so that a cut file cannot pass.
    pub fn read(name: &str, rows: usize) -> Table {
        Table::read_in("light", name, rows)
    }

    /// Reads a table of another folder.
    pub fn read_in(folder: &str, name: &str, rows: usize) -> Table {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("tests/reference")
            .join(folder);
        let text = fs::read_to_string(folder.join(name)).expect(name);
        let mut lines = text
            .lines()
            .map(|line| line.split(',').map(str::to_owned).collect::<Vec<_>>());
        let header = lines.next().expect("a header");
        let table = Table {
            name: name.to_owned(),
            header,
            rows: lines.collect(),
        };
        assert_eq!(table.rows.len(), rows, "{name}: rows");
        table
    }

    pub fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        (0..self.rows.len()).map(|index| Row { table: self, index })
    }
}

impl<'a> Row<'a> {
    pub fn text(&self, column: &str) -> &'a str {
        let header = &self.table.header;
        let found = header.iter().position(|name| name == column);
        let column = found.unwrap_or_else(|| panic!("{}: no column {column}", self.table.name));
        &self.table.rows[self.index][column]
    }

    /// None for an empty field.
    pub fn find_number(&self, column: &str) -> Option<f64> {
        let text = self.text(column);
        (!text.is_empty()).then(|| text.parse().expect(column))
    }

    pub fn number(&self, column: &str) -> f64 {
        self.find_number(column)
            .unwrap_or_else(|| panic!("{self}: {column} is empty"))
    }

    pub fn date(&self, column: &str) -> NaiveDate {
        self.text(column).parse().expect(column)
    }
}

impl std::fmt::Display for Row<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let fields = self.table.rows[self.index].join(",");
        write!(f, "{} line {}: {fields}", self.table.name, self.index + 2)
    }
}

/// The largest of some differences, to be asserted and reported.
#[derive(Default)]
pub struct Worst {
    pub value: f64,
    pub at: String,
}

impl Worst {
    pub fn see(&mut self, difference: f64, at: impl std::fmt::Display) {
        assert!(!difference.is_nan(), "{at}");
        if difference.abs() > self.value {
            self.value = difference.abs();
            self.at = at.to_string();
        }
    }

    /// Asserts the limit; a run with `--nocapture` shows the figure.
    pub fn within(&self, limit: f64, what: &str) {
        report(&format!(
            "{what}: at most {:.3e}, allowed {limit:e}",
            self.value
        ));
        assert!(
            self.value <= limit,
            "{what}: {:e} at {}",
            self.value,
            self.at
        );
    }
}

/// Shows a figure in a run with `--nocapture`.
#[expect(clippy::print_stderr, reason = "figures of a test run are for people")]
pub fn report(text: &str) {
    eprintln!("{text}");
}

/// |found − expected| beside |expected|.
pub fn relative(found: f64, expected: f64) -> f64 {
    if found == expected {
        return 0.0;
    }
    (found - expected).abs() / expected.abs().max(f64::MIN_POSITIVE)
}

pub fn at(text: &str) -> DateTime<Utc> {
    text.parse().expect(text)
}

/// An instant on the table's fixed clock of UTC+1.
pub fn at_utc_plus_1(date: NaiveDate, time: &str) -> DateTime<Utc> {
    let time = NaiveTime::parse_from_str(time, "%H:%M").expect(time);
    date.and_time(time).and_utc() - TimeDelta::hours(1)
}

/// The place of the exposure tables: 15° E, 100 m.
pub fn place(latitude_deg: f64) -> Place {
    Place {
        latitude_deg,
        longitude_deg: 15.0,
        altitude_m: 100.0,
        zone: chrono_tz::UTC,
    }
}

pub const FLAT: Stand = Stand {
    tilt_deg: 0.0,
    azimuth_deg: 180.0,
    albedo: 0.05,
    aerosol: 0.15,
};

pub fn flat_site(latitude_deg: f64) -> Site {
    Site::new(&place(latitude_deg), &FLAT)
}

/// 8 min around solar noon, 21 June 2027, 51° N 15° E, clear.
pub fn reference_dose() -> Dose {
    let table = Table::read("reference_dose.csv", 5);
    let row = table.rows().next().expect("a row");
    assert_eq!(row.text("action_spectrum"), "reco");
    Dose(row.number("dose_8min_june_noon_51N_j_m2") / 1000.0)
}
