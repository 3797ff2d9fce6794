//! `fairday light`.

use anyhow::{Result, bail};
use clap::Args;

use super::load::{Loaded, load};
use super::{Common, Ended, output, typed};
use crate::plan::grid::{Grid, work_stretches};
use crate::plan::hours::{LightAsked, light_days};
use crate::plan::starts::{ClassKey, Outdoors};
use crate::studio::Material;
use crate::view::dose as view;
use crate::view::json::light_json;
use crate::view::light::{LightScreen, render_light};

/// Show the minutes of exposure by day and hour.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday light
  fairday light --material rag-300 --days 3
  fairday light --material lawn-80 --loose")]
pub struct LightArgs {
    /// Paper or cloth of studio.yaml [default: the one most pieces wait for]
    #[arg(long, value_name = "KEY")]
    material: Option<String>,
    /// For loose objects without glass, which mind the wind more
    #[arg(long)]
    loose: bool,
    /// Days shown
    #[arg(long, value_name = "N", default_value_t = 7, value_parser = typed::whole::<u32>)]
    days: u32,
    /// Answer as JSON
    #[arg(long)]
    json: bool,
}

/// Computes and shows the light.
pub fn run(common: &Common, args: &LightArgs) -> Result<Ended> {
    let Some(loaded) = load(common)? else {
        return Ok(Ended::NotDone);
    };
    output::show_problems(common, &loaded.problems);
    let material = find_material(&loaded, args.material.as_deref())?;
    let dose = loaded.target(material);
    let key = ClassKey {
        dose,
        loose: args.loose,
        lamp: None,
    };
    let sky = loaded.sky();
    // Without a forecast, the least there can be: a clear sky, marked so.
    let light = if loaded.forecast.is_some() {
        &sky.light
    } else {
        &sky.fair
    };
    let outdoors = Outdoors {
        light,
        forecast: loaded.forecast.as_ref(),
        dry_factor: loaded.dry_factor(),
    };
    let grid = Grid {
        days: args.days.min(loaded.studio.planning.days),
        ..loaded.grid()
    };
    let work = work_stretches(&grid, &loaded.studio, loaded.now);
    let asked = LightAsked {
        key,
        dose_spread: loaded.target_spread(material),
        grid: &grid,
        outdoors: &outdoors,
        limits: &loaded.studio.weather,
        work: &work,
    };
    let days = light_days(&asked, loaded.now);
    let uv_index: Vec<Option<f64>> = days
        .iter()
        .map(|day| loaded.uv_index(&sky, day.date))
        .collect();
    let loose = if args.loose { ", loose objects" } else { "" };
    let note = match &loaded.forecast {
        Some(_) => loaded.forecast_note(),
        None => "No forecast: minutes under a clear sky, the least there can be.".to_owned(),
    };
    let taught = loaded.taught.get(&material.key);
    let factor = loaded.studio.sensitizer.exposure_factor;
    let dose_words = taught.map_or_else(
        || view::dose(dose),
        |taught| view::learned_dose(taught, factor),
    );
    let screen = LightScreen {
        studio: &loaded.studio.name,
        subject: &format!("{}, {dose_words}{loose}", material.name),
        dose_note: &taught.map(view::taught_words).unwrap_or_default(),
        taught,
        forecast_note: &note,
        today: loaded.now.date(),
        days: &days,
        uv_index: &uv_index,
    };
    if args.json {
        output::answer_json(&light_json(&screen))?;
    } else {
        output::show(common, &render_light(&screen, output::setting(common)))?;
    }
    Ok(Ended::look_if(
        loaded.forecast.is_none() || output::has_errors(&loaded.problems),
    ))
}

/// Finds the material that was typed, or the one that most pieces wait for.
pub(super) fn find_material<'a>(loaded: &'a Loaded, typed: Option<&str>) -> Result<&'a Material> {
    let materials = &loaded.studio.materials;
    if let Some(key) = typed {
        let keys: Vec<&str> = materials.keys().map(String::as_str).collect();
        return Ok(&materials[typed::one_of("material", key, &keys)?]);
    }
    let open = loaded.orders.iter().filter(|order| !order.is_closed());
    let pieces: Vec<&str> = open
        .flat_map(|order| &order.pieces)
        .map(|piece| piece.material.as_str())
        .collect();
    let count = |key: &str| pieces.iter().filter(|piece| **piece == key).count();
    let most = materials
        .values()
        .rev()
        .max_by_key(|material| count(&material.key));
    match most {
        Some(material) => Ok(material),
        None => bail!("studio.yaml names no material; add one under `materials:`"),
    }
}
