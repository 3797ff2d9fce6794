//! `fairday completions` and `fairday man`: both from the definition of the commands.

use std::path::PathBuf;

use anyhow::{Context, Result};
use clap::{Args, CommandFactory};
use clap_complete::Shell;

use super::{Cli, Ended, output};

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
        let mut page = Vec::new();
        clap_mangen::Man::new(Cli::command())
            .render(&mut page)
            .context("writing the manual")?;
        output::answer(&String::from_utf8(page).context("writing the manual")?)?;
        return Ok(Ended::Done);
    };
    let shown = folder.display();
    std::fs::create_dir_all(folder).with_context(|| format!("making the folder `{shown}`"))?;
    clap_mangen::generate_to(Cli::command(), folder)
        .with_context(|| format!("writing the manual into `{shown}`"))?;
    output::answer(&format!("Wrote the manual into `{shown}`.\n"))?;
    Ok(Ended::Done)
}
