//! `fairday schema`: what an editor may know of the files.

use anyhow::Result;
use clap::Args;

use super::load::find_folder;
use super::{Common, Ended, output, typed};
use crate::outside::pages::write_made;
use crate::view::schema::{FOLDER, files};

/// Write JSON Schemas of the files.
///
/// An editor with a YAML language server completes and checks a file whose first line
/// names its schema: # yaml-language-server: $schema=./schema/order.json
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday schema
  fairday schema --print order > order.schema.json")]
pub struct SchemaArgs {
    /// Print one instead of writing all: order, studio, stock
    #[arg(long, value_name = "NAME")]
    print: Option<String>,
}

/// Writes the schemas into the studio folder, or prints one.
pub fn run(common: &Common, args: &SchemaArgs) -> Result<Ended> {
    let files = files();
    if let Some(name) = &args.print {
        output::answer(find(name, &files)?)?;
        return Ok(Ended::Done);
    }
    let folder = find_folder(common)?.join(FOLDER);
    let bytes = files.iter();
    let bytes = bytes.map(|(name, text)| ((*name).to_owned(), text.clone().into_bytes()));
    write_made(&folder, &bytes.collect::<Vec<_>>())?;
    let mut answer = format!("Wrote into `{}`:\n", folder.display());
    for (name, _) in &files {
        let file = name.trim_end_matches(".json");
        answer.push_str(&format!("  {name:<12} for files of a {file}\n"));
    }
    answer.push_str(
        "\nName it in the first line of a file, and an editor with a YAML language server\n\
         completes and checks:\n  # yaml-language-server: $schema=./schema/order.json\n",
    );
    output::answer(&answer)?;
    Ok(Ended::Done)
}

fn find<'f>(name: &str, files: &'f [(&str, String)]) -> Result<&'f str> {
    let wanted = name.trim_end_matches(".json");
    let names: Vec<&str> = files
        .iter()
        .map(|(name, _)| name.trim_end_matches(".json"))
        .collect();
    let name = typed::one_of("schema", wanted, &names)?;
    let mut files = files.iter();
    let file = files.find(|(file, _)| file.trim_end_matches(".json") == name);
    Ok(&file.expect("its name is among them").1)
}
