//! `fairday promise`.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use chrono::Days;
use clap::Args;

use super::chances::Chances;
use super::load::{Loaded, load};
use super::{Common, Ended, output, typed};
use crate::odds::{chances, most_at_risk};
use crate::order::parse::{Against, parse};
use crate::order::{Cover, Delivery, LightSource, Order};
use crate::plan::what_if::asked_order;
use crate::size::Size;
use crate::view::json::{promise_json, risk_json};
use crate::view::promise::{PromiseScreen, RiskScreen, render_promise, render_risk};
use crate::yaml::leaf::Scalar;

/// Show the dates that hold.
///
/// With an order that is not taken yet – a file, or a material and a size – the days
/// that one could promise and in how many of 100 weathers each holds, with the present
/// load; the day nearest to 50, to 80 and to 95 of them is marked.
/// Without one, how sure every open order is, and which is most at risk.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub struct PromiseArgs {
    /// An order file, written as for the folder
    #[arg(value_name = "FILE", conflicts_with = "material")]
    file: Option<PathBuf>,
    /// Paper or cloth of studio.yaml
    #[arg(long, value_name = "KEY", requires = "size")]
    material: Option<String>,
    /// Size of each print, such as A4, 8x10 in, 30x40 cm
    #[arg(long, value_name = "SIZE", requires = "material")]
    size: Option<String>,
    /// How many prints
    #[arg(long, value_name = "N", default_value_t = 1, requires = "material", value_parser = typed::whole::<u32>)]
    copies: u32,
    /// sun or lamp
    #[arg(
        long,
        value_name = "LIGHT",
        default_value = "sun",
        requires = "material"
    )]
    light: String,
    /// glass, or none for loose objects
    #[arg(
        long,
        value_name = "COVER",
        default_value = "glass",
        requires = "material"
    )]
    cover: String,
    /// A destination of studio.yaml, or pickup
    #[arg(long, value_name = "PLACE", requires = "material")]
    to: Option<String>,
    /// Weathers that are drawn [default: as studio.yaml says]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(20..=100_000))]
    weathers: Option<u32>,
    /// Another number, other weathers
    #[arg(long, value_name = "N", value_parser = typed::whole::<u32>)]
    seed: Option<u32>,
    /// Answer as JSON
    #[arg(long)]
    json: bool,
}

const EXAMPLES: &str = "\
Examples:
  fairday promise --material rag-300 --size A4 --copies 2 --to home
  fairday promise enquiry.yaml
  fairday promise";

/// Draws weathers and shows the dates.
pub fn run(common: &Common, args: &PromiseArgs) -> Result<Ended> {
    let Some(mut loaded) = load(common)? else {
        return Ok(Ended::NotDone);
    };
    let promises = &mut loaded.studio.promises;
    promises.weathers = args.weathers.unwrap_or(promises.weathers);
    promises.seed = args.seed.unwrap_or(promises.seed);
    output::show_problems(common, &loaded.problems);
    match asked(common, &loaded, args)? {
        Asked::Nothing => risk(common, &loaded, args.json),
        Asked::Order(order) => dates(common, &loaded, &order, args.json),
        Asked::Unreadable => Ok(Ended::NotDone),
    }
}

enum Asked {
    Nothing,
    Order(Box<Order>),
    Unreadable,
}

fn asked(common: &Common, loaded: &Loaded, args: &PromiseArgs) -> Result<Asked> {
    if let Some(file) = &args.file {
        return read_order(common, loaded, file);
    }
    match (&args.material, &args.size) {
        (Some(material), Some(size)) => {
            Ok(Asked::Order(Box::new(typed(loaded, args, material, size)?)))
        }
        _ => Ok(Asked::Nothing),
    }
}

fn read_order(common: &Common, loaded: &Loaded, file: &Path) -> Result<Asked> {
    let shown = file.display();
    let text = fs::read_to_string(file).with_context(|| format!("reading `{shown}`"))?;
    let against = Against {
        studio: Some(&loaded.studio),
        now: Some(loaded.now),
    };
    let (order, problems) = parse(&text, &shown.to_string(), &against);
    output::show_problems(common, &problems);
    Ok(match order {
        Some(order) => Asked::Order(Box::new(order)),
        None => Asked::Unreadable,
    })
}

/// Makes an order of what was typed.
fn typed(loaded: &Loaded, args: &PromiseArgs, material: &str, size: &str) -> Result<Order> {
    let keys: Vec<&str> = loaded.studio.materials.keys().map(String::as_str).collect();
    let material = typed::one_of("material", material, &keys)?;
    let Some(size) = Size::parse(size) else {
        bail!("`--size {size}`: expected a size such as `A4`, `8x10 in` or `30x40 cm`");
    };
    if !(1..=500).contains(&args.copies) {
        bail!("`--copies {}`: expected 1 to 500", args.copies);
    }
    let today = loaded.now.date();
    let by = today + Days::new(366);
    let mut order = asked_order(material, size, args.copies, by, today, loaded.orders.len());
    order.promise = None;
    order.delivery = delivery(loaded, args.to.as_deref())?;
    let light = word::<LightSource>("light", &args.light)?;
    let cover = word::<Cover>("cover", &args.cover)?;
    for piece in &mut order.pieces {
        (piece.light, piece.cover) = (light, cover);
    }
    Ok(order)
}

fn delivery(loaded: &Loaded, to: Option<&str>) -> Result<Delivery> {
    let destination = match to {
        Some("pickup") => return Ok(Delivery::Pickup),
        // No destination: the dates of leaving alone.
        None => String::new(),
        Some(to) => {
            let keys = loaded.studio.shipping.transit_days.keys();
            let keys: Vec<&str> = keys.map(String::as_str).chain(["pickup"]).collect();
            typed::one_of("destination", to, &keys)?.to_owned()
        }
    };
    Ok(Delivery::Carrier { destination })
}

fn word<T: Scalar>(option: &str, word: &str) -> Result<T> {
    let expected = T::choices().join("` or `");
    T::parse(word).with_context(|| format!("`--{option} {word}`: expected `{expected}`"))
}

fn dates(common: &Common, loaded: &Loaded, order: &Order, json: bool) -> Result<Ended> {
    let mut chances = Chances::of(loaded);
    output::show_problems(common, chances.problems());
    let (dates, days) = chances.dates(order);
    let scene = chances.scene();
    let screen = PromiseScreen {
        studio: &loaded.studio,
        orders: scene.orders,
        order,
        now: loaded.now,
        ground: &chances.ground(),
        dates: &dates,
        days: &days,
    };
    if json {
        output::answer_json(&promise_json(&screen))?;
    } else {
        output::show(common, &render_promise(&screen, output::setting(common)))?;
    }
    let doubtful = dates.held.iter().any(Option::is_none);
    Ok(Ended::look_if(
        doubtful || !dates.crowded.is_empty() || output::has_errors(&loaded.problems),
    ))
}

fn risk(common: &Common, loaded: &Loaded, json: bool) -> Result<Ended> {
    let ready = Chances::of(loaded);
    output::show_problems(common, ready.problems());
    let odds = ready.odds();
    let scene = ready.scene();
    let chances = chances(&scene, &odds);
    let worst = most_at_risk(&scene, &chances);
    let screen = RiskScreen {
        studio: &loaded.studio,
        orders: scene.orders,
        now: loaded.now,
        ground: &ready.ground(),
        chances: &chances,
        most_at_risk: worst,
    };
    if json {
        output::answer_json(&risk_json(&screen))?;
    } else {
        output::show(common, &render_risk(&screen, output::setting(common)))?;
    }
    let lost = chances.iter().any(|chance| chance.on_time == Some(0.0));
    Ok(Ended::look_if(
        lost || worst.is_some() || output::has_errors(&loaded.problems),
    ))
}
