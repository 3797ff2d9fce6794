//! `fairday notices`.

use anyhow::Result;
use clap::Args;

use super::due::{Due, letters_due};
use super::load::{Thinking, load};
use super::{Common, Ended, output};
use crate::view::json::notices_json;
use crate::view::notices::{NoticesScreen, render_notices};

/// Show who must be told what.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday notices
  fairday notices 2026-014
  fairday notices --list
  fairday notices --json --addresses")]
pub struct NoticesArgs {
    /// Only these orders
    #[arg(value_name = "ORDER")]
    orders: Vec<String>,
    /// Only the list, without the letters
    #[arg(long)]
    list: bool,
    /// Show mail addresses whole, also in JSON (`to`)
    #[arg(long)]
    addresses: bool,
    /// Answer as JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    thinking: Thinking,
}

/// Finds what must be told and shows it word for word.
pub fn run(common: &Common, args: &NoticesArgs) -> Result<Ended> {
    let Some(loaded) = load(common)? else {
        return Ok(Ended::NotDone);
    };
    output::show_problems(common, &loaded.problems);
    let Some(due) = letters_due(common, &loaded, &args.thinking, &args.orders)? else {
        return Ok(Ended::NotDone);
    };
    let Due {
        notices,
        letters,
        doubts,
    } = &due;
    let screen = NoticesScreen {
        studio: &loaded.studio.name,
        orders: &loaded.orders,
        today: loaded.now.date(),
        forecast_note: &loaded.forecast_note(),
        notices,
        letters,
        doubts,
        whole: !args.list,
        addresses: args.addresses,
    };
    if args.json {
        output::answer_json(&notices_json(&screen))?;
    } else {
        output::show(common, &render_notices(&screen, output::setting(common)))?;
    }
    Ok(Ended::look_if(
        !notices.is_empty() || !doubts.is_empty() || output::has_errors(&loaded.problems),
    ))
}
