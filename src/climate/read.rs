//! Typical-year files as rows of hours: EPW and the CSV of TMY3.
//!
//! Times are standard time all year, by the offset in the file, never the zone's.
//! Codes for missing values become `None`; rain is not read at all.
//!
//! # Sources
//! EPW: field list of the EnergyPlus weather format. TMY3: the heading of the file
//! itself names its columns.

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};

use crate::problem::{Problem, Spot};

/// Hours of a typical year; a leap day is not counted. [h]
const HOURS: usize = 8760;

/// A year without a leap day, to place the sun for rows of many years.
const NOMINAL_YEAR: i32 = 2025;

/// A typical year of one place.
#[derive(Debug, Clone, PartialEq)]
pub struct TypicalYear {
    /// Name of the place in the file.
    pub name: String,
    /// North positive. [°]
    pub latitude_deg: f64,
    /// East positive. [°]
    pub longitude_deg: f64,
    /// Above the sea. [m]
    pub altitude_m: f64,
    /// Standard time less UTC. [h]
    pub offset_h: f64,
    /// Its hours, as they stand in the file.
    pub rows: Vec<Row>,
}

/// One hour of a typical year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// Month, 1 to 12.
    pub month: u32,
    /// Day of the month.
    pub day: u32,
    /// Begin of the hour in standard time, 0 to 23.
    pub hour: u32,
    /// Global light on the horizontal over the hour. [W/m²]
    pub global_w_m2: Option<f64>,
    /// Air temperature. [°C]
    pub temperature_c: Option<f64>,
    /// Relative humidity. [%]
    pub humidity_pct: Option<f64>,
    /// Mean wind at 10 m. [m/s]
    pub wind_m_s: Option<f64>,
}

impl TypicalYear {
    /// Returns the begin of a row's hour in a year without a leap day.
    pub fn start(&self, row: &Row) -> Option<DateTime<Utc>> {
        let day = NaiveDate::from_ymd_opt(NOMINAL_YEAR, row.month, row.day)?;
        let local = day.and_hms_opt(row.hour, 0, 0)?;
        Some((local - self.offset()).and_utc())
    }

    /// Returns standard time less UTC.
    pub fn offset(&self) -> TimeDelta {
        TimeDelta::minutes((self.offset_h * 60.0).round() as i64)
    }
}

/// Where the wanted columns stand, and what means "missing" there.
struct Columns {
    global: (usize, f64),
    temperature: (usize, f64),
    humidity: (usize, f64),
    wind: (usize, f64),
}

/// Reads a typical year, known to the maker as `file`; one problem if it is none.
///
/// # Errors
/// No EPW or TMY3, a heading that does not say the place, a row that cannot be
/// read, or not a whole year.
pub fn parse(text: &str, file: &str) -> Result<TypicalYear, Box<Problem>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let lines: Vec<&str> = text.lines().collect();
    let first = fields(lines.first().copied().unwrap_or_default());
    if first.first().is_some_and(|word| word == "LOCATION") {
        return read_epw(&first, &lines, file);
    }
    if lines
        .get(1)
        .is_some_and(|line| line.starts_with("Date (MM/DD/YYYY)"))
    {
        return read_tmy3(&first, &lines, file);
    }
    let what = "expected a typical year as EPW or TMY3, found something else";
    Err(Box::new(Problem::error(file, what).hint(
        "name a file that begins with `LOCATION,`, or a CSV of TMY3",
    )))
}

fn read_epw(head: &[String], lines: &[&str], file: &str) -> Result<TypicalYear, Box<Problem>> {
    // Numbers of fields from 0: dry bulb 6, humidity 8, global 13, wind 21.
    let columns = Columns {
        global: (13, 9999.0),
        temperature: (6, 99.9),
        humidity: (8, 999.0),
        wind: (21, 999.0),
    };
    let (name, numbers) = (head.get(1), [6, 7, 9, 8].map(|index| number(head, index)));
    let year = heading(name, numbers, file)?;
    let time = |fields: &[String]| {
        let whole = |index: usize| fields.get(index)?.trim().parse::<u32>().ok();
        Some((whole(1)?, whole(2)?, whole(3)?))
    };
    rows(year, lines, 8, &columns, time, file)
}

fn read_tmy3(head: &[String], lines: &[&str], file: &str) -> Result<TypicalYear, Box<Problem>> {
    let names = fields(lines[1]);
    let find = |start: &str| {
        let index = names.iter().position(|name| name.starts_with(start));
        index.ok_or_else(|| {
            let what = format!("expected a column `{start}` in the heading, found none");
            Box::new(Problem::error(file, what))
        })
    };
    const MISSING: f64 = -9900.0;
    let columns = Columns {
        global: (find("GHI (")?, MISSING),
        temperature: (find("Dry-bulb (")?, MISSING),
        humidity: (find("RHum (")?, MISSING),
        wind: (find("Wspd (")?, MISSING),
    };
    let (name, numbers) = (head.get(1), [4, 5, 6, 3].map(|index| number(head, index)));
    let year = heading(name, numbers, file)?;
    let time = |fields: &[String]| {
        let mut date = fields.first()?.split('/');
        let month = date.next()?.parse().ok()?;
        let day = date.next()?.parse().ok()?;
        let hour = fields.get(1)?.split(':').next()?.parse().ok()?;
        Some((month, day, hour))
    };
    rows(year, lines, 2, &columns, time, file)
}

/// Takes latitude, longitude, altitude and offset from a heading.
fn heading(
    name: Option<&String>,
    [latitude, longitude, altitude, offset]: [Option<f64>; 4],
    file: &str,
) -> Result<TypicalYear, Box<Problem>> {
    let within = |value: Option<f64>, most: f64| value.filter(|value| value.abs() <= most);
    let read = || {
        Some(TypicalYear {
            name: name?.trim().to_owned(),
            latitude_deg: within(latitude, 90.0)?,
            longitude_deg: within(longitude, 180.0)?,
            altitude_m: within(altitude, 9000.0)?,
            offset_h: within(offset, 14.0)?,
            rows: Vec::with_capacity(HOURS),
        })
    };
    read().ok_or_else(|| {
        let what = "the first line does not say place, height and offset from UTC";
        Box::new(Problem::error(file, what))
    })
}

fn rows(
    mut year: TypicalYear,
    lines: &[&str],
    headings: usize,
    columns: &Columns,
    time: impl Fn(&[String]) -> Option<(u32, u32, u32)>,
    file: &str,
) -> Result<TypicalYear, Box<Problem>> {
    let body = lines.iter().enumerate().skip(headings);
    for (index, line) in body.filter(|(_, line)| !line.trim().is_empty()) {
        let fields = fields(line);
        let cut = fields.len() <= columns.wind.0.max(columns.global.0);
        let stamp = time(&fields)
            .filter(|(month, day, hour)| {
                (1..=12).contains(month) && (1..=31).contains(day) && (1..=24).contains(hour)
            })
            .filter(|_| !cut);
        let Some((month, day, hour)) = stamp else {
            return Err(Box::new(broken_row(file, index, line)));
        };
        let value = |(at, missing): (usize, f64), low: f64, high: f64| {
            number(&fields, at)
                .filter(|value| (value - missing).abs() > 1e-9 && (low..=high).contains(value))
        };
        year.rows.push(Row {
            month,
            day,
            hour: hour - 1,
            global_w_m2: value(columns.global, 0.0, 1500.0),
            temperature_c: value(columns.temperature, -90.0, 60.0),
            humidity_pct: value(columns.humidity, 0.0, 110.0).map(|pct| pct.min(100.0)),
            wind_m_s: value(columns.wind, 0.0, 60.0),
        });
    }
    if year.rows.len() < HOURS {
        let what = format!(
            "expected {HOURS} hours of a year, found {}",
            year.rows.len()
        );
        return Err(Box::new(
            Problem::error(file, what).hint("get the file again"),
        ));
    }
    Ok(year)
}

fn broken_row(file: &str, index: usize, line: &str) -> Problem {
    let excerpt: String = line.chars().take(80).collect();
    Problem::error(
        file,
        "expected an hour of a typical year, found something else",
    )
    .at(Some(Spot {
        line: index + 1,
        column: 1,
        length: 1,
        excerpt,
    }))
}

/// Splits a line at its commas, those in quotes stay.
fn fields(line: &str) -> Vec<String> {
    let mut fields = vec![String::new()];
    let mut quoted = false;
    for letter in line.chars() {
        match letter {
            '"' => quoted = !quoted,
            ',' if !quoted => fields.push(String::new()),
            _ => fields
                .last_mut()
                .expect("one is there from the start")
                .push(letter),
        }
    }
    fields
}

fn number(fields: &[String], index: usize) -> Option<f64> {
    let value: f64 = fields.get(index)?.trim().parse().ok()?;
    value.is_finite().then_some(value)
}
