//! Reads a studio folder: `studio.yaml` and one file for each order.
//!
//! The folder is flat. A file that cannot be read is a problem beside the others
//! and never hides them; only a folder that cannot be listed is a failure.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use anyhow::Context;
use chrono::NaiveDateTime;
use rayon::prelude::*;

use crate::order::Order;
use crate::order::parse::{Against, find_number, number_twice, parse};
use crate::problem::{Problem, Severity};
use crate::stock::{self, Stock};
use crate::studio::parse::Reading;
use crate::studio::stand_in::StandIn;
use crate::studio::{self, Studio};
use crate::yaml::text;

/// What a studio folder holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Folder {
    /// The studio; none if its file is missing or wrong.
    pub studio: Option<Studio>,
    /// What the orders were not held against, in words; empty with a studio.
    pub unjudged: Vec<&'static str>,
    /// The stock; none without a file of it, or if that is wrong.
    pub stock: Option<Stock>,
    /// Orders that could be understood, by file name.
    pub orders: Vec<Order>,
    /// Names of all files that were read.
    pub files: Vec<String>,
    /// Names of order files that gave no order.
    pub unread: Vec<String>,
    /// What is to be mended, by file and line.
    pub problems: Vec<Problem>,
}

/// Reads the studio folder `dir`.
///
/// `now` tells the present moment at a studio; progress later than it is a warning.
/// Orders are read side by side, and come out in the order of their file names.
///
/// # Errors
/// The folder cannot be listed.
pub fn read_folder(dir: &Path, now: impl Fn(&Studio) -> NaiveDateTime) -> anyhow::Result<Folder> {
    let listing = list(dir)?;
    let Reading {
        studio,
        stand_in,
        mut problems,
    } = read_studio(dir, &listing);
    let clock = stand_in.as_ref().filter(|stand_in| stand_in.has_clock);
    let clock = studio.as_ref().or(clock.map(|stand_in| &stand_in.studio));
    let against = Against {
        studio: studio.as_ref().or(stand_in.as_ref().map(|s| &s.studio)),
        now: clock.map(now),
    };
    let (stock, found) = read_stock(dir, &listing, &against);
    problems.extend(found);
    let read = |name: &String| read_order(dir, name, &against);
    let results: Vec<_> = listing.orders.par_iter().map(read).collect();
    let mut orders = Vec::with_capacity(results.len());
    let mut unread = Vec::new();
    for ((order, found), name) in results.into_iter().zip(&listing.orders) {
        let is_error = |problem: &Problem| problem.severity == Severity::Error;
        if order.is_none() && found.iter().any(is_error) {
            unread.push(name.clone());
        }
        orders.extend(order);
        problems.extend(found);
    }
    let mut twice = drop_same_numbers(dir, &mut orders);
    twice.extend(same_numbers_unread(dir, &orders, &unread));
    unread.extend(twice.iter().map(|problem| problem.file.clone()));
    unread.sort();
    unread.dedup();
    problems.extend(twice);
    problems.sort_by(|a, b| a.sort_key().cmp(&b.sort_key()));
    Ok(Folder {
        unjudged: match studio.is_some() {
            true => Vec::new(),
            false => unjudged(stand_in.as_ref()),
        },
        studio,
        stock,
        orders,
        files: [listing.studio, listing.stock, listing.orders].concat(),
        unread,
        problems,
    })
}

/// Reads the studio of the folder `dir` and none of its orders.
///
/// # Errors
/// The folder cannot be listed.
pub fn read_studio_alone(dir: &Path) -> anyhow::Result<(Option<Studio>, Vec<Problem>)> {
    let reading = read_studio(dir, &list(dir)?);
    Ok((reading.studio, reading.problems))
}

/// Names of the files in a folder that concern us, each list in order.
struct Listing {
    studio: Vec<String>,
    stock: Vec<String>,
    orders: Vec<String>,
}

fn list(dir: &Path) -> anyhow::Result<Listing> {
    let shown = dir.display();
    let entries = fs::read_dir(dir).with_context(|| format!("reading the folder `{shown}`"))?;
    let mut listing = Listing {
        studio: Vec::new(),
        stock: Vec::new(),
        orders: Vec::new(),
    };
    for entry in entries {
        let entry = entry.with_context(|| format!("reading the folder `{shown}`"))?;
        let name = entry.file_name().to_string_lossy().into_owned();
        match name.as_str() {
            "studio.yaml" | "studio.yml" => listing.studio.push(name),
            "stock.yaml" | "stock.yml" => listing.stock.push(name),
            _ if is_order_name(&name) => listing.orders.push(name),
            _ => {}
        }
    }
    listing.studio.sort();
    listing.stock.sort();
    listing.orders.sort();
    Ok(listing)
}

/// Tells whether a file may be an order: YAML by its name, and neither hidden nor
/// a copy that an editor leaves behind.
fn is_order_name(name: &str) -> bool {
    let extension = Path::new(name).extension().and_then(|e| e.to_str());
    let is_yaml =
        extension.is_some_and(|e| e.eq_ignore_ascii_case("yaml") || e.eq_ignore_ascii_case("yml"));
    is_yaml && !name.starts_with(['.', '#', '~'])
}

fn read_studio(dir: &Path, listing: &Listing) -> Reading {
    let nothing = |problem: Problem| Reading {
        studio: None,
        stand_in: None,
        problems: vec![problem],
    };
    let name = match listing.studio.as_slice() {
        [] => return nothing(studio_missing(dir)),
        [name] => name,
        [..] => {
            let what = "the folder holds both `studio.yaml` and `studio.yml`";
            return nothing(Problem::error("studio.yml", what).hint("remove one of the two"));
        }
    };
    match read_bytes(&dir.join(name), name) {
        Err(problem) => nothing(*problem),
        Ok(bytes) => match text::decode(&bytes, name) {
            Err(problem) => nothing(*problem),
            Ok(text) => studio::parse::read(text, name),
        },
    }
}

/// Says what orders could not be held against without a studio.
fn unjudged(stand_in: Option<&StandIn>) -> Vec<&'static str> {
    let Some(stand_in) = stand_in else {
        return vec!["materials, sizes and destinations of the orders"];
    };
    let parts = [
        (stand_in.has_sizes, "whether sizes fit frames and trays"),
        (stand_in.has_clock, "what lies later than now"),
    ];
    let parts = parts.into_iter().filter(|(is_known, _)| !is_known);
    parts.map(|(_, words)| words).collect()
}

/// Reads the stock, if the folder has one.
fn read_stock(dir: &Path, listing: &Listing, against: &Against) -> (Option<Stock>, Vec<Problem>) {
    let name = match listing.stock.as_slice() {
        [] => return (None, Vec::new()),
        [name] => name,
        [..] => {
            let what = "the folder holds both `stock.yaml` and `stock.yml`";
            let problem = Problem::error("stock.yml", what).hint("remove one of the two");
            return (None, vec![problem]);
        }
    };
    let against = stock::parse::Against {
        studio: against.studio,
        now: against.now,
    };
    let bytes = match read_bytes(&dir.join(name), name) {
        Ok(bytes) => bytes,
        Err(problem) => return (None, vec![*problem]),
    };
    match text::decode(&bytes, name) {
        Err(problem) => (None, vec![*problem]),
        Ok(text) => stock::parse::parse(text, name, &against),
    }
}

fn studio_missing(dir: &Path) -> Problem {
    let what = "the studio file is missing, nothing can be planned without it";
    let shown = dir.display();
    Problem::error("studio.yaml", what).hint(format!(
        "name the studio's folder with `--dir`, or begin one with `fairday new {shown}`"
    ))
}

fn read_order(dir: &Path, name: &str, against: &Against) -> (Option<Order>, Vec<Problem>) {
    let bytes = match read_bytes(&dir.join(name), name) {
        Ok(bytes) => bytes,
        Err(problem) => return (None, vec![*problem]),
    };
    match text::decode(&bytes, name) {
        Ok(text) => parse(text, name, against),
        Err(problem) => (None, vec![*problem]),
    }
}

/// Reads a file that must be a plain one and of a size that somebody typed.
fn read_bytes(path: &Path, name: &str) -> Result<Vec<u8>, Box<Problem>> {
    let unreadable = |error: io::Error| Box::new(unreadable(name, &error));
    let kind = fs::metadata(path).map_err(unreadable)?;
    if kind.is_dir() {
        let what = "expected a file, found a folder of that name";
        let problem = Problem::warning(name, what).hint("give the folder a name without `.yaml`");
        return Err(Box::new(problem));
    }
    if !kind.is_file() {
        let what = "expected a file, found something that only looks like one";
        return Err(Box::new(Problem::error(name, what)));
    }
    if kind.len() > text::FILE_MAX_BYTES {
        return Err(Box::new(text::too_large(name, kind.len())));
    }
    fs::read(path).map_err(unreadable)
}

fn unreadable(name: &str, error: &io::Error) -> Problem {
    match error.kind() {
        io::ErrorKind::PermissionDenied => Problem::error(name, "the file may not be read")
            .hint(format!("give yourself the right to, `chmod u+r {name}`")),
        io::ErrorKind::NotFound => Problem::error(name, "the file points to one that is not there")
            .hint("mend the link, or remove it"),
        _ => Problem::error(name, format!("the file could not be read: {error}")),
    }
}

/// Drops orders whose number another file has already, and says so.
fn drop_same_numbers(dir: &Path, orders: &mut Vec<Order>) -> Vec<Problem> {
    let mut first_file: BTreeMap<String, String> = BTreeMap::new();
    let mut problems = Vec::new();
    orders.retain(|order| match first_file.get(&order.number) {
        None => {
            first_file.insert(order.number.clone(), order.file.clone());
            true
        }
        Some(first) => {
            let path: PathBuf = dir.join(&order.file);
            let source = fs::read_to_string(path).unwrap_or_default();
            problems.push(number_twice(&source, &order.file, &order.number, first));
            false
        }
    });
    problems
}

/// Says which files with errors have a number that is another order's.
fn same_numbers_unread(dir: &Path, orders: &[Order], unread: &[String]) -> Vec<Problem> {
    let mut first_file: BTreeMap<String, String> = orders
        .iter()
        .map(|order| (order.number.clone(), order.file.clone()))
        .collect();
    let mut problems = Vec::new();
    for file in unread {
        let text = fs::read_to_string(dir.join(file)).unwrap_or_default();
        let Some(number) = find_number(&text) else {
            continue;
        };
        match first_file.get(&number) {
            Some(first) => problems.push(number_twice(&text, file, &number, first)),
            None => drop(first_file.insert(number, file.clone())),
        }
    }
    problems
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_an_editor_leaves_behind_is_no_order() {
        for name in ["a.yaml", "B.YML", "2026-014 ada.yaml"] {
            assert!(is_order_name(name), "{name}");
        }
        for name in [
            "a.yaml~",
            ".a.yaml",
            "#a.yaml#",
            ".#a.yaml",
            "a.yaml.bak",
            "a.json",
            "~a.yaml",
        ] {
            assert!(!is_order_name(name), "{name}");
        }
    }
}
