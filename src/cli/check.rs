//! `fairday check`: every file of the folder, every problem.

use anyhow::Result;
use clap::Args;

use super::load::{Found, Loaded, find};
use super::{Common, Ended, output};
use crate::letter::templates_for;
use crate::outside::templates::read_templates;
use crate::problem::Problem;
use crate::studio::ClimateSource;
use crate::view::check::{CheckScreen, render_check};
use crate::view::json::check_json;

/// Check all files at once.
///
/// Reads the studio, every order, the saved forecast, the climate file and the
/// studio's own letter templates, and shows every problem with its place. Plans
/// nothing and changes nothing.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday check
  fairday check --dir my-studio --json

Exit codes: 0 nothing to mend · 1 something to mend · 2 no folder to check.")]
pub struct CheckArgs {
    /// Answer as JSON
    #[arg(long)]
    json: bool,
}

/// What is read only with a studio.
const BESIDE: [&str; 3] = ["the forecast", "the climate file", "letter templates"];

/// Reads everything and shows what is to be mended.
pub fn run(common: &Common, args: &CheckArgs) -> Result<Ended> {
    let (files, unread, problems, not_looked_at) = match find(common)? {
        Found::NoStudio {
            files,
            unread,
            unjudged,
            problems,
        } => (files, unread, problems, [&unjudged[..], &BESIDE].concat()),
        Found::Whole(loaded) => {
            let mut problems = loaded.problems.clone();
            problems.extend(template_problems(&loaded)?);
            loaded.sent()?;
            (files(&loaded), loaded.unread.clone(), problems, Vec::new())
        }
    };
    let screen = CheckScreen {
        files: &files,
        unread: &unread,
        problems: &problems,
        not_looked_at: &not_looked_at,
    };
    if args.json {
        output::answer_json(&check_json(&screen))?;
    } else {
        output::show(common, &render_check(&screen, output::setting(common)))?;
    }
    Ok(Ended::look_if(!problems.is_empty()))
}

/// Tries the studio's own templates on an invented order.
fn template_problems(loaded: &Loaded) -> Result<Vec<Problem>> {
    let own = read_templates(&loaded.folder)?;
    Ok(templates_for(&loaded.studio, &own)
        .err()
        .unwrap_or_default())
}

fn files(loaded: &Loaded) -> Vec<String> {
    let climate = loaded
        .studio
        .climate
        .as_ref()
        .map(|climate| &climate.source);
    let climate = climate.and_then(|source| match source {
        ClimateSource::File(file) => Some(file),
        ClimateSource::ByLatitude => None,
    });
    let others = loaded.studio.forecast_file.iter().chain(climate);
    loaded.files.iter().chain(others).cloned().collect()
}
