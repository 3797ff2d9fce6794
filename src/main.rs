//! The command line: one run, one exit code.

use std::process::ExitCode;

use clap::Parser;
use fairday::cli::{self, Cli};

fn main() -> ExitCode {
    let cli = Cli::parse();
    match cli::run(&cli) {
        Ok(ended) => ended.into(),
        Err(failure) => {
            cli::say_failure(&failure);
            ExitCode::from(2)
        }
    }
}
