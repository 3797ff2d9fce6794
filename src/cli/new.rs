//! `fairday new`: a starter folder.

use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use chrono::NaiveDate;
use clap::Args;

use super::{Common, Ended, output};
use crate::outside::clock;
use crate::outside::disk::write_new;
use crate::outside::edit::lock;
use crate::studio::starter::files;
use crate::view::schema;
use crate::yaml::leaf::Scalar;

/// Write a commented starter folder.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday new my-studio
  fairday plan --dir my-studio")]
pub struct NewArgs {
    /// Folder to write; made if it is not there, and never overwritten
    #[arg(value_name = "DIR")]
    folder: PathBuf,
}

/// Writes the starter folder and says what to do with it.
pub fn run(common: &Common, args: &NewArgs) -> Result<Ended> {
    let today = today(common)?;
    let schemas = schema::files().into_iter();
    let schemas = schemas.map(|(name, text)| (Path::new(schema::FOLDER).join(name), text));
    let own = files(today).into_iter();
    let own = own.map(|(name, text)| (PathBuf::from(name), text));
    let files: Vec<(PathBuf, String)> = own.chain(schemas).collect();
    let shown = args.folder.display();
    std::fs::create_dir_all(&args.folder)
        .with_context(|| format!("making the folder `{shown}`"))?;
    let _alone = lock(&args.folder)?;
    write_new(&args.folder, &files)?;
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
    let day = typed.split([' ', 'T']).next().unwrap_or_default();
    match NaiveDate::parse(day) {
        Some(day) => Ok(day),
        None => bail!("`--today {typed}`: expected a day, such as 2026-05-11"),
    }
}
