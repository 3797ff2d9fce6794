//! `fairday review`.

use anyhow::{Result, bail};
use chrono::NaiveDate;
use clap::Args;

use super::load::load;
use super::{Common, Ended, output, typed};
use crate::review::review;
use crate::view::json::review_json;
use crate::view::review::{ReviewScreen, render_review};

/// Look back: dates kept, minutes planned and used, remakes by reason.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday review
  fairday review --since 2026-05-01")]
pub struct ReviewArgs {
    /// The first day looked at [default: all there is]
    #[arg(long, value_name = "DATE", value_parser = typed::value::<NaiveDate>)]
    since: Option<NaiveDate>,
    /// Answer as JSON
    #[arg(long)]
    json: bool,
}

/// Looks back and shows it.
pub fn run(common: &Common, args: &ReviewArgs) -> Result<Ended> {
    let Some(loaded) = load(common)? else {
        return Ok(Ended::NotDone);
    };
    output::show_problems(common, &loaded.problems);
    let today = loaded.now.date();
    if let Some(since) = args.since.filter(|since| *since > today) {
        bail!("`--since {since}` is later than today, {today}");
    }
    let first = args.since.unwrap_or(NaiveDate::MIN);
    let screen = ReviewScreen {
        studio: &loaded.studio,
        since: args.since,
        today,
        review: &review(&loaded.orders, &loaded.studio, first, today),
    };
    if args.json {
        output::answer_json(&review_json(&screen))?;
    } else {
        output::answer(&render_review(&screen, output::setting(common)))?;
    }
    Ok(Ended::look_if(output::has_errors(&loaded.problems)))
}
