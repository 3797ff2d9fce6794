//! `fairday completions` and `fairday man`: both from the definition of the commands.

use std::path::PathBuf;

use anyhow::{Context, Result};
use clap::{Args, Command, CommandFactory};
use clap_complete::Shell;
use clap_mangen::Man;

use super::{Cli, Ended, output};
use crate::outside::pages::write_made;

/// Print completions for a shell.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday completions bash > ~/.local/share/bash-completion/completions/fairday
  fairday completions zsh > ~/.zfunc/_fairday
  fairday completions fish > ~/.config/fish/completions/fairday.fish")]
pub struct CompletionsArgs {
    /// The shell
    shell: Shell,
}

/// Print the manual page.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday man > fairday.1
  fairday man --to ~/.local/share/man/man1")]
pub struct ManArgs {
    /// Write a page for each command into this folder instead
    #[arg(long, value_name = "FOLDER")]
    to: Option<PathBuf>,
}

/// Prints what a shell completes.
pub fn run_completions(args: &CompletionsArgs) -> Result<Ended> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "fairday", &mut script);
    output::answer(&String::from_utf8(script).context("writing completions")?)?;
    Ok(Ended::Done)
}

/// Prints the manual, or writes its pages.
pub fn run_man(args: &ManArgs) -> Result<Ended> {
    let Some(folder) = &args.to else {
        let (_, page) = page(Cli::command())?;
        output::answer(&String::from_utf8(page).context("writing the manual")?)?;
        return Ok(Ended::Done);
    };
    let mut whole = Cli::command().disable_help_subcommand(true);
    // Names a command within the program as its page is called.
    whole.build();
    let commands = whole.get_subcommands().chain([&whole]);
    let pages: Result<Vec<_>> = commands.cloned().map(page).collect();
    write_made(folder, &pages?)?;
    output::answer(&format!("Wrote the manual into `{}`.\n", folder.display()))?;
    Ok(Ended::Done)
}

/// Returns the manual page of a command, after the name of its file.
fn page(command: Command) -> Result<(String, Vec<u8>)> {
    let manual = Man::new(command);
    let mut page = Vec::new();
    manual.render(&mut page).context("writing the manual")?;
    Ok((manual.get_filename(), page))
}
