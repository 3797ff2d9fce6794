//! `fairday blocked`.

use anyhow::Result;
use clap::Args;

use super::load::{Thinking, load};
use super::progress::{ASKING_WHY, while_doing};
use super::stock::look_ahead;
use super::{Common, Ended, output};
use crate::plan::reason::{Asked, findings};
use crate::plan::week::week;
use crate::view::blocked::{BlockedScreen, render_blocked};
use crate::view::json::blocked_json;

/// Show every order that is not on course.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday blocked
  fairday blocked 2026-014 2026-021
  fairday blocked --json")]
pub struct BlockedArgs {
    /// Only these orders
    #[arg(value_name = "ORDER")]
    orders: Vec<String>,
    /// Answer as JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    thinking: Thinking,
}

/// Plans, asks why, and shows the answers.
pub fn run(common: &Common, args: &BlockedArgs) -> Result<Ended> {
    let Some(loaded) = load(common)? else {
        return Ok(Ended::NotDone);
    };
    output::show_problems(common, &loaded.problems);
    for number in &args.orders {
        loaded.find_order(number)?;
    }
    let sky = loaded.sky();
    let setup = loaded.setup(&sky);
    let timing = loaded.plan(&setup, &args.thinking)?;
    let asked = Asked {
        setup: &setup,
        fair: &loaded.fair_setup(&sky),
        outdoors: loaded.outdoors(&sky),
        studio: &loaded.studio,
        site: loaded.site(),
        timing: &timing,
        effort: args.thinking.second_look(&setup),
        only: &args.orders,
    };
    let findings = while_doing(ASKING_WHY, || findings(&asked));
    let outlook = look_ahead(&loaded, &week(&setup, &loaded.studio, &timing));
    let screen = BlockedScreen {
        studio: &loaded.studio,
        orders: &loaded.orders,
        now: loaded.now,
        spreads: &loaded.spreads(&setup, &sky),
        grid: &setup.grid,
        forecast_note: &loaded.forecast_note(),
        has_forecast: loaded.forecast.is_some(),
        findings: &findings,
        only: &args.orders,
        outlook: &outlook,
    };
    if args.json {
        output::answer_json(&blocked_json(&screen))?;
    } else {
        output::show(common, &render_blocked(&screen, output::setting(common)))?;
    }
    Ok(Ended::look_if(
        loaded.forecast.is_none()
            || !findings.blocked.is_empty()
            || outlook.is_short()
            || output::has_errors(&loaded.problems),
    ))
}
