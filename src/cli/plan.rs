//! `fairday plan`.

use anyhow::{Result, bail};
use clap::Args;

use super::load::{Loaded, Thinking, load};
use super::stock::look_ahead;
use super::{Common, Ended, output, typed, what_if};
use crate::keeping::find_aged;
use crate::outside::kept::{FILE, write_kept};
use crate::plan::audit::{Start, audit_from};
use crate::plan::bound::{Proof, usual_rounds};
use crate::plan::course::{Course, OrderCourse, courses};
use crate::plan::daylight::daylight;
use crate::plan::kept::KeptPlan;
use crate::plan::model::Timing;
use crate::plan::setup::Setup;
use crate::plan::since::since;
use crate::plan::week::week;
use crate::view::json::{plan_json, since_json};
use crate::view::plan::{PlanScreen, render_plan};
use crate::view::since::{SinceScreen, render_since};

/// Plan the coming days.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday plan
  fairday plan --days 3 --seconds 5
  fairday plan --keep
  fairday plan --since
  fairday plan --if \"rain 2026-05-14\" --if \"frame large +1\"
  fairday plan --json > plan.json")]
pub struct PlanArgs {
    /// Days shown in full
    #[arg(long, value_name = "N", default_value_t = 7, value_parser = typed::whole::<usize>)]
    days: usize,
    /// Answer as JSON
    #[arg(long)]
    json: bool,
    /// Keep this plan to go by: from now on its steps of today and tomorrow morning stay
    /// unless moving them gains more than `planning: {moved: …}`
    #[arg(long, conflicts_with_all = ["what_if", "since"])]
    keep: bool,
    /// Take it that nothing has begun that is not marked, though the kept plan says so
    #[arg(long)]
    not_begun: bool,
    /// Say what changed since the kept plan, and why
    #[arg(long, conflicts_with = "what_if")]
    since: bool,
    /// Answer what would be different, and write nothing: "off 2026-05-14", "rain 2026-05-14",
    /// "frame large +1", "hands 2", "order rag-300 A4 x2 by 2026-05-20"; may be repeated
    #[arg(long = "if", value_name = "WHAT")]
    what_if: Vec<String>,
    #[command(flatten)]
    thinking: Thinking,
}

/// Plans and shows the plan.
pub fn run(common: &Common, args: &PlanArgs) -> Result<Ended> {
    let Some(mut loaded) = load(common)? else {
        return Ok(Ended::NotDone);
    };
    loaded.kept_has_begun = !args.not_begun;
    output::show_problems(common, &loaded.problems);
    let sky = loaded.sky();
    if !args.what_if.is_empty() {
        let questions = &args.what_if;
        return what_if::run(common, &loaded, &sky, &args.thinking, questions, args.json);
    }
    let setup = loaded.setup(&sky);
    let timing = loaded.plan(&setup, &args.thinking)?;
    let week = week(&setup, &loaded.studio, &timing);
    let courses = courses(&setup, &loaded.studio, &timing);
    if args.since {
        return say_since(common, &loaded, &setup, &timing, &courses, args.json);
    }
    let limits = &loaded.studio.weather;
    let daylight = daylight(&setup, &loaded.outdoors(&sky), limits, |date| {
        loaded.uv_index(&sky, date)
    });
    let outlook = look_ahead(&loaded, &week);
    let screen = PlanScreen {
        studio: &loaded.studio,
        orders: &loaded.orders,
        now: loaded.now,
        forecast_note: &loaded.forecast_note(),
        week: &week,
        under_way: loaded.under_way(),
        daylight: &daylight,
        spreads: &loaded.spreads(&setup, &sky),
        courses: &courses,
        aged: &find_aged(&loaded.orders, &loaded.studio, loaded.now, None),
        coverage: &loaded.coverage,
        outlook: &outlook,
        unread: &loaded.unread,
        problems: &loaded.problems,
        proof: &prove(&setup, &timing),
        days_shown: args.days,
    };
    if args.json {
        output::answer_json(&plan_json(&screen))?;
    } else {
        output::show(common, &render_plan(&screen, output::setting(common)))?;
    }
    if args.keep {
        write_kept(&loaded.folder, &KeptPlan::of(&setup, &timing, &courses))?;
        output::remark(&format!(
            "kept in `{FILE}`; `fairday plan --since` says what changes from now on"
        ));
    }
    let fine = courses
        .iter()
        .all(|c| matches!(c.course, Course::OnCourse | Course::Waiting));
    Ok(Ended::look_if(
        loaded.forecast.is_none()
            || !fine
            || outlook.is_short()
            || output::has_errors(&loaded.problems),
    ))
}

/// Bounds what any plan for the same pieces could do.
fn prove(setup: &Setup, timing: &Timing) -> Proof {
    let cost = audit_from(&setup.instance, timing, Start::Given).cost;
    Proof::of(&setup.instance, cost, usual_rounds(&setup.instance))
}

fn say_since(
    common: &Common,
    loaded: &Loaded,
    setup: &Setup,
    timing: &Timing,
    courses: &[OrderCourse],
    json: bool,
) -> Result<Ended> {
    let Some(kept) = loaded.kept()? else {
        bail!("no plan is kept to compare with; keep this one with `fairday plan --keep`");
    };
    let screen = SinceScreen {
        studio: &loaded.studio.name,
        now: loaded.now,
        forecast_note: &loaded.forecast_note(),
        made: kept.made,
        since: &since(kept, setup, timing, courses),
    };
    if json {
        output::answer_json(&since_json(&screen))?;
    } else {
        output::show(common, &render_since(&screen, output::setting(common)))?;
    }
    Ok(Ended::look_if(output::has_errors(&loaded.problems)))
}
