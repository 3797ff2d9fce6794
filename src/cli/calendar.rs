//! `fairday calendar`.

use std::path::PathBuf;

use anyhow::Result;
use clap::Args;

use super::load::{Thinking, load};
use super::stock::look_ahead;
use super::written::{self, Place};
use super::{Common, Ended, output};
use crate::plan::week::week;
use crate::view::calendar::{CalendarScreen, render_calendar};
use crate::view::stock::errands;

/// Write the plan as a calendar for a phone.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday calendar                  the whole plan
  fairday calendar --to plan.ics    into a file that a phone fetches")]
pub struct CalendarArgs {
    /// File to write, `-` for the terminal [default: sheets/calendar.ics in the studio folder]
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
    #[command(flatten)]
    thinking: Thinking,
}

/// Plans and writes the calendar.
pub fn run(common: &Common, args: &CalendarArgs) -> Result<Ended> {
    let Some(loaded) = load(common)? else {
        return Ok(Ended::NotDone);
    };
    output::show_problems(common, &loaded.problems);
    let sky = loaded.sky();
    let setup = loaded.setup(&sky);
    let timing = loaded.plan(&setup, &args.thinking)?;
    let week = week(&setup, &loaded.studio, &timing);
    let outlook = look_ahead(&loaded, &week);
    let errands = errands(&outlook, &loaded.studio, &loaded.orders, loaded.now);
    let screen = CalendarScreen {
        studio: &loaded.studio,
        orders: &loaded.orders,
        now: loaded.now,
        grid: &setup.grid,
        week: &week,
        credit: loaded
            .service
            .as_ref()
            .map(|service| service.credit.as_str()),
        errands: &errands,
    };
    let place = Place::new(&loaded.folder, "calendar.ics", args.to.as_deref());
    let before = written::find_before(&place)?;
    let calendar = render_calendar(&screen, before.as_deref());
    written::calendar(&place, &calendar)?;
    Ok(Ended::look_if(
        loaded.forecast.is_none() || output::has_errors(&loaded.problems),
    ))
}
