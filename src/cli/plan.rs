//! `fairday plan`.

use anyhow::Result;
use clap::Args;

use super::load::{Thinking, load};
use super::{Common, Ended, output, what_if};
use crate::keeping::find_aged;
use crate::plan::course::{Course, courses};
use crate::plan::daylight::daylight;
use crate::plan::week::week;
use crate::view::json::plan_json;
use crate::view::plan::{PlanScreen, render_plan};

/// Plan the coming days.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday plan
  fairday plan --days 3 --seconds 5
  fairday plan --if \"rain 2026-05-14\" --if \"frame large +1\"
  fairday plan --json > plan.json")]
pub struct PlanArgs {
    /// Days shown in full
    #[arg(long, value_name = "N", default_value_t = 7)]
    days: usize,
    /// Answer as JSON
    #[arg(long)]
    json: bool,
    /// Answer what would be different, and write nothing: "off 2026-05-14", "rain 2026-05-14",
    /// "frame large +1", "hands 2", "order rag-300 A4 x2 by 2026-05-20"; may be repeated
    #[arg(long = "if", value_name = "WHAT")]
    what_if: Vec<String>,
    #[command(flatten)]
    thinking: Thinking,
}

/// Plans and shows the plan.
pub fn run(common: &Common, args: &PlanArgs) -> Result<Ended> {
    let Some(loaded) = load(common)? else {
        return Ok(Ended::NotDone);
    };
    output::show_problems(common, &loaded.problems);
    let sky = loaded.sky();
    if !args.what_if.is_empty() {
        let questions = &args.what_if;
        return what_if::run(common, &loaded, &sky, &args.thinking, questions, args.json);
    }
    let setup = loaded.setup(&sky);
    let timing = args.thinking.plan(&setup)?;
    let week = week(&setup, &loaded.studio, &timing);
    let courses = courses(&setup, &loaded.studio, &timing);
    let limits = &loaded.studio.weather;
    let daylight = daylight(&setup, &loaded.outdoors(&sky), limits, |date| {
        loaded.uv_index(&sky, date)
    });
    let screen = PlanScreen {
        studio: &loaded.studio,
        orders: &loaded.orders,
        now: loaded.now,
        forecast_note: &loaded.forecast_note(),
        week: &week,
        daylight: &daylight,
        courses: &courses,
        aged: &find_aged(&loaded.orders, &loaded.studio, loaded.now, None),
        unread: &loaded.unread,
        problems: &loaded.problems,
        days_shown: args.days,
    };
    if args.json {
        output::answer_json(&plan_json(&screen))?;
    } else {
        output::show(common, &render_plan(&screen, output::setting(common)))?;
    }
    let fine = courses
        .iter()
        .all(|c| matches!(c.course, Course::OnCourse | Course::Waiting));
    Ok(Ended::look_if(
        loaded.forecast.is_none() || !fine || output::has_errors(&loaded.problems),
    ))
}
