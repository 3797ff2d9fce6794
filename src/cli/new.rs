//! `fairday new`: a starter folder.

use std::path::PathBuf;

use anyhow::{Result, bail};
use chrono::NaiveDate;
use clap::Args;

use super::{Common, Ended, output};
use crate::outside::clock;
use crate::outside::disk::write_new;
use crate::studio::starter::files;

/// Write a commented starter folder.
#[derive(Debug, Args)]
pub struct NewArgs {
    /// Folder to write; made if it is not there, and never overwritten
    #[arg(value_name = "DIR")]
    folder: PathBuf,
}

/// Writes the starter folder and says what to do with it.
pub fn run(common: &Common, args: &NewArgs) -> Result<Ended> {
    let today = today(common)?;
    let files: Vec<(PathBuf, String)> = files(today)
        .into_iter()
        .map(|(name, text)| (PathBuf::from(name), text))
        .collect();
    write_new(&args.folder, &files)?;
    let shown = args.folder.display();
    let mut answer = format!("Wrote a studio to `{shown}`:\n");
    for (name, _) in &files {
        answer.push_str(&format!("  {}\n", name.display()));
    }
    answer.push_str(&format!(
        "\nNext: open `studio.yaml` and make it yours, save a forecast beside it as\n\
         `forecast.json`, then\n  fairday plan --dir {shown}\n"
    ));
    output::answer(&answer)?;
    Ok(Ended::Done)
}

/// Returns the day that was typed, else today where the machine stands.
fn today(common: &Common) -> Result<NaiveDate> {
    let Some(typed) = &common.today else {
        return Ok(clock::local_today());
    };
    let day = typed.split_whitespace().next().unwrap_or_default();
    match NaiveDate::parse_from_str(day, "%Y-%m-%d") {
        Ok(day) => Ok(day),
        Err(_) => bail!("`--today {typed}`: expected a day, such as 2026-05-11"),
    }
}
