//! `fairday card` and `fairday certificate`.

use std::path::PathBuf;

use anyhow::{Context, Result};
use clap::Args;

use super::load::{Loaded, load};
use super::sheet::PaperChoice;
use super::written::{self, Place};
use super::{Common, Ended, output};
use crate::letter::{Templates, templates_for};
use crate::order::Order;
use crate::outside::templates::read_templates;
use crate::problem::Problem;
use crate::view::card::{CardScreen, render_cards, render_certificates};

/// Write the cards of orders: the parcel's, and one for each piece.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday card 2026-011 2026-020 --paper letter
  fairday certificate 2026-023")]
pub struct CardArgs {
    /// Numbers of the orders
    #[arg(value_name = "ORDER", required = true)]
    orders: Vec<String>,
    /// Paper that it is printed on
    #[arg(long, value_name = "PAPER", default_value = "a4")]
    paper: PaperChoice,
    /// File to write, `-` for the terminal [default: sheets/… in the studio folder]
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
}

/// Fills a page from cards and templates.
type Render = fn(&CardScreen, &Templates) -> std::result::Result<String, Problem>;

/// Writes the cards of the orders named.
pub fn run_card(common: &Common, args: &CardArgs) -> Result<Ended> {
    run(common, args, "card", render_cards)
}

/// Writes a certificate for each piece of the orders named.
pub fn run_certificate(common: &Common, args: &CardArgs) -> Result<Ended> {
    run(common, args, "certificate", render_certificates)
}

fn run(common: &Common, args: &CardArgs, what: &str, render: Render) -> Result<Ended> {
    let Some(loaded) = load(common)? else {
        return Ok(Ended::NotDone);
    };
    output::show_problems(common, &loaded.problems);
    let orders = args.orders.iter().map(|number| loaded.find_order(number));
    let orders: Vec<&Order> = orders.collect::<Result<_>>()?;
    let screen = CardScreen {
        studio: &loaded.studio,
        orders: &orders,
        now: loaded.now,
        paper: args.paper.paper(),
    };
    let own = read_templates(&loaded.folder).context("reading the studio's templates")?;
    let page = templates_for(&loaded.studio, &own)
        .and_then(|templates| render(&screen, &templates).map_err(|problem| vec![problem]));
    match page {
        Ok(page) => {
            let place = Place::new(
                &loaded.folder,
                &name(what, &loaded, &orders),
                args.to.as_deref(),
            );
            written::page(&place, &page)?;
            Ok(Ended::look_if(output::has_errors(&loaded.problems)))
        }
        Err(problems) => {
            output::show_problems(common, &problems);
            Ok(Ended::NotDone)
        }
    }
}

/// Names the file after the one order, or after the day for several.
fn name(what: &str, loaded: &Loaded, orders: &[&Order]) -> String {
    match orders {
        [order] => format!("{what}-{}.html", written::file_name(&order.number)),
        _ => format!("{what}s-{}.html", loaded.now.date()),
    }
}
