//! `fairday stock`.

use anyhow::Result;
use clap::Args;

use super::load::{Loaded, Thinking, load};
use super::{Common, Ended, output};
use crate::keeping::find_coated;
use crate::plan::week::{Week, week};
use crate::supply::{Outlook, outlook};
use crate::view::json::stock_json;
use crate::view::stock::{StockScreen, render_stock};

/// Show what there is, what the plan will use, what runs out, and what to make or buy.
///
/// Goes by `stock.yaml` beside `studio.yaml`, carried on by the orders' records. Writes
/// nothing.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday stock
  fairday stock --json")]
pub struct StockArgs {
    /// Answer as JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    thinking: Thinking,
}

/// Plans and shows the stock.
pub fn run(common: &Common, args: &StockArgs) -> Result<Ended> {
    let Some(loaded) = load(common)? else {
        return Ok(Ended::NotDone);
    };
    output::show_problems(common, &loaded.problems);
    let sky = loaded.sky();
    let setup = loaded.setup(&sky);
    let timing = loaded.plan(&setup, &args.thinking)?;
    let week = week(&setup, &loaded.studio, &timing);
    let outlook = look_ahead(&loaded, &week);
    let screen = StockScreen {
        studio: &loaded.studio,
        orders: &loaded.orders,
        now: loaded.now,
        is_counted: loaded.stock.is_some(),
        outlook: &outlook,
        coverage: &loaded.coverage,
        coated: &find_coated(&loaded.orders, &loaded.studio, loaded.now, None),
    };
    if args.json {
        output::answer_json(&stock_json(&screen))?;
    } else {
        output::show(common, &render_stock(&screen, output::setting(common)))?;
    }
    Ok(Ended::look_if(
        outlook.is_short() || output::has_errors(&loaded.problems),
    ))
}

/// Works out what a plan uses of the stock; nothing is short where nothing is counted.
pub(super) fn look_ahead(loaded: &Loaded, week: &Week) -> Outlook {
    let nothing = crate::stock::Stock::default();
    let stock = loaded.stock.as_ref().unwrap_or(&nothing);
    outlook(stock, &loaded.studio, &loaded.orders, week, loaded.now)
}
