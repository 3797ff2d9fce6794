//! `fairday import`: orders out of a table, each once.

use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use chrono::Datelike;
use clap::Args;

use super::load::Loaded;
use super::mark::load_alone;
use super::take::schema_of;
use super::{Common, Ended, output};
use crate::intake::name::{file_name, next_number};
use crate::intake::table::{Table, read};
use crate::order::parse::Against;
use crate::outside::disk::write_new;
use crate::outside::references::References;
use crate::view::taken::{Taken, TakenScreen, render_taken};
use crate::yaml::text;

/// Take the orders of a CSV table.
///
/// `import:` in studio.yaml names the columns. Rows with one reference are one order;
/// the reference is kept in its file, so that it is taken once, however often the
/// table is given. A bad row is told with its line, the good orders are still taken.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday import shop.csv --preview
  fairday import shop.csv")]
pub struct ImportArgs {
    /// The table
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Show what would be taken, and write nothing
    #[arg(long)]
    preview: bool,
}

/// Reads the table and writes a file for each order that is new.
pub fn run(common: &Common, args: &ImportArgs) -> Result<Ended> {
    // Nobody else may take orders between our reading and our writing.
    let (_lock, loaded) = match load_alone(common)? {
        Some(alone) => alone,
        None => return Ok(Ended::NotDone),
    };
    output::show_problems(common, &loaded.problems);
    let Some(table) = table(common, &loaded, &args.file)? else {
        return Ok(Ended::NotDone);
    };
    output::show_problems(common, &table.problems);
    let files = files(&loaded, &table);
    if !args.preview {
        let texts: Vec<(PathBuf, String)> = files
            .iter()
            .map(|(taken, text)| (PathBuf::from(&taken.file), text.clone()))
            .collect();
        write_new(&loaded.folder, &texts)?;
    }
    let taken: Vec<Taken> = files.into_iter().map(|(taken, _)| taken).collect();
    let screen = TakenScreen {
        taken: &taken,
        known: &table.known,
        preview: args.preview,
    };
    output::show(common, &render_taken(&screen, output::setting(common)))?;
    Ok(Ended::look_if(!table.problems.is_empty()))
}

fn table(common: &Common, loaded: &Loaded, path: &Path) -> Result<Option<Table>> {
    let Some(import) = &loaded.studio.import else {
        bail!(
            "studio.yaml does not say what the columns mean; add `import: {{columns: \
             {{reference: Order ID, name: Name, title: Item, size: Size}}}}` with the headings \
             of your table"
        );
    };
    let shown = path.display().to_string();
    let bytes = std::fs::read(path).with_context(|| format!("reading `{shown}`"))?;
    let text = match text::decode(&bytes, &shown) {
        Ok(text) => text,
        Err(problem) => {
            output::show_problems(common, &[*problem]);
            return Ok(None);
        }
    };
    let against = Against {
        studio: Some(&loaded.studio),
        now: Some(loaded.now),
    };
    let references = References::read(&loaded.folder, &loaded.files, &loaded.unread)?;
    let is_known = |reference: &str| references.contains(reference);
    Ok(Some(read(text, &shown, import, &against, &is_known)))
}

/// Gives each order its number and file.
fn files(loaded: &Loaded, table: &Table) -> Vec<(Taken, String)> {
    let mut used = loaded.numbers_in_use();
    let mut files = Vec::new();
    for found in &table.orders {
        let known: Vec<&str> = used.iter().map(String::as_str).collect();
        let mut draft = found.draft.clone();
        draft.number = next_number(&known, loaded.now.date().year());
        used.push(draft.number.clone());
        let taken = Taken {
            number: draft.number.clone(),
            reference: draft.reference.clone().unwrap_or_default(),
            customer: draft.name.clone(),
            pieces: draft.pieces.len(),
            file: file_name(&draft.number, &draft.name),
        };
        files.push((taken, draft.render(schema_of(loaded))));
    }
    files
}
