//! `fairday sheet`.

use std::path::PathBuf;

use anyhow::{Context, Result, bail};
use chrono::NaiveDate;
use clap::{Args, ValueEnum};

use super::load::{Loaded, Sky, Thinking, load};
use super::stock::look_ahead;
use super::written::{self, Place};
use super::{Common, Ended, output, typed};
use crate::keeping::find_aged;
use crate::letter::templates_for;
use crate::outside::templates::read_templates;
use crate::plan::course::courses;
use crate::plan::daylight::daylight;
use crate::plan::racks::rack_fills;
use crate::plan::sky::{day_sky, usual_dose};
use crate::plan::week::week;
use crate::problem::Problem;
use crate::view::sheet::{Paper, SheetScreen, render_day, render_week};
use crate::view::stock::errands;

/// Write the week, or a day, as a page for screen and paper.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday sheet                    the week, a page a day, for A4
  fairday sheet --day 2026-05-13   one day
  fairday sheet --paper letter --to week.html")]
pub struct SheetArgs {
    /// Only this day, such as 2026-05-13
    #[arg(long, value_name = "DATE", value_parser = typed::value::<NaiveDate>)]
    day: Option<NaiveDate>,
    /// Days from today
    #[arg(long, value_name = "N", default_value_t = 7, conflicts_with = "day", value_parser = typed::whole::<usize>)]
    days: usize,
    /// Paper that it is printed on, one page a day
    #[arg(long, value_name = "PAPER", default_value = "a4")]
    paper: PaperChoice,
    /// File to write, `-` for the terminal [default: sheets/… in the studio folder]
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
    #[command(flatten)]
    thinking: Thinking,
}

/// A paper as it is typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum PaperChoice {
    /// 210 × 297 mm
    A4,
    /// 8.5 × 11 in
    Letter,
}

impl PaperChoice {
    /// Returns the paper.
    pub fn paper(self) -> Paper {
        match self {
            PaperChoice::A4 => Paper::A4,
            PaperChoice::Letter => Paper::Letter,
        }
    }
}

/// Plans and writes the sheet.
pub fn run(common: &Common, args: &SheetArgs) -> Result<Ended> {
    let Some(loaded) = load(common)? else {
        return Ok(Ended::NotDone);
    };
    output::show_problems(common, &loaded.problems);
    if args.days == 0 {
        bail!("`--days 0`: expected 1 day or more; nothing was written");
    }
    let end = loaded.now.date() + chrono::Days::new(u64::from(loaded.studio.planning.days));
    if let Some(day) = args
        .day
        .filter(|day| !(loaded.now.date()..end).contains(day))
    {
        bail!(
            "the plan runs from {} to {}, and {day} is not in it; type a day of it",
            loaded.now.date(),
            end.pred_opt().unwrap_or(end)
        );
    }
    let sky = loaded.sky();
    match render(&loaded, &sky, args)? {
        Ok(page) => {
            let name = match args.day {
                Some(day) => format!("day-{day}.html"),
                None => format!("week-{}.html", loaded.now.date()),
            };
            let place = Place::new(&loaded.folder, &name, args.to.as_deref());
            written::page(&place, &page)?;
            Ok(Ended::look_if(
                loaded.forecast.is_none() || output::has_errors(&loaded.problems),
            ))
        }
        Err(problems) => {
            output::show_problems(common, &problems);
            Ok(Ended::NotDone)
        }
    }
}

fn render(
    loaded: &Loaded,
    sky: &Sky,
    args: &SheetArgs,
) -> Result<std::result::Result<String, Vec<Problem>>> {
    let own = read_templates(&loaded.folder).context("reading the studio's templates")?;
    let templates = match templates_for(&loaded.studio, &own) {
        Ok(templates) => templates,
        Err(problems) => return Ok(Err(problems)),
    };
    let setup = loaded.setup(sky);
    let timing = loaded.plan(&setup, &args.thinking)?;
    let outdoors = loaded.outdoors(sky);
    let mut daylight = daylight(&setup, &outdoors, &loaded.studio.weather, |date| {
        loaded.uv_index(sky, date)
    });
    match args.day {
        Some(day) => daylight.retain(|light| light.date == day),
        None => daylight.truncate(args.days),
    }
    let skies: Vec<_> = daylight
        .iter()
        .map(|light| day_sky(&setup.grid, light.date, &outdoors, &sky.fair))
        .collect();
    let usual = usual_dose(&setup);
    let week = week(&setup, &loaded.studio, &timing);
    let forecast_note = loaded.forecast_note();
    let racks = rack_fills(&setup, &timing);
    let courses = courses(&setup, &loaded.studio, &timing);
    let aged = find_aged(&loaded.orders, &loaded.studio, loaded.now, None);
    let outlook = look_ahead(loaded, &week);
    let errands = errands(&outlook, &loaded.studio, &loaded.orders, loaded.now);
    let screen = SheetScreen {
        studio: &loaded.studio,
        orders: &loaded.orders,
        now: loaded.now,
        has_forecast: loaded.forecast.is_some(),
        forecast_note: &forecast_note,
        week: &week,
        daylight: &daylight,
        skies: &skies,
        racks: &racks,
        grid: &setup.grid,
        courses: &courses,
        aged: &aged,
        coverage: &loaded.coverage,
        errands: &errands,
        usual: usual.as_ref(),
        paper: args.paper.paper(),
    };
    let page = match args.day {
        Some(day) => render_day(&screen, day, &templates),
        None => render_week(&screen, &templates),
    };
    Ok(page.map_err(|problem| vec![problem]))
}
