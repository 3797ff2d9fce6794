//! What changed since the kept plan, for programs.

use chrono::NaiveDate;
use serde::Serialize;

use super::{Wall, plain};
use crate::plan::since::Leaving;
use crate::view::since::{SinceScreen, leaving_words, step_words};

/// The answer of `plan --since`.
#[derive(Debug, Serialize)]
pub struct SinceJson {
    format: &'static str,
    studio: String,
    now: Wall,
    /// The moment of the kept plan.
    since: Wall,
    forecast: String,
    orders: Vec<OrderJson>,
    steps: Vec<StepJson>,
    /// Near steps that stayed.
    stayed: usize,
    /// Near steps in all.
    of: usize,
}

#[derive(Debug, Serialize)]
struct OrderJson {
    order: String,
    leaves_on: Option<NaiveDate>,
    words: String,
}

#[derive(Debug, Serialize)]
struct StepJson {
    pieces: Vec<String>,
    was: Wall,
    now: Option<Wall>,
    words: String,
}

/// Shapes the answer.
pub fn since_json(screen: &SinceScreen) -> SinceJson {
    let today = screen.now.date();
    let orders = screen.since.orders.iter().map(|change| OrderJson {
        order: change.number.clone(),
        leaves_on: match change.change {
            Leaving::New { now } | Leaving::Moved { now, .. } => now,
            Leaving::Gone | Leaving::Held { .. } => None,
        },
        words: leaving_words(change.change, today).1,
    });
    let steps = screen.since.steps.iter().map(|step| StepJson {
        pieces: step
            .pieces
            .iter()
            .map(|(order, piece)| format!("{order}/{piece}"))
            .collect(),
        was: Wall(step.was),
        now: step.now.map(Wall),
        words: step_words(step, today),
    });
    SinceJson {
        format: "fairday-since/1",
        studio: screen.studio.to_owned(),
        now: Wall(screen.now),
        since: Wall(screen.made),
        forecast: plain(screen.forecast_note),
        orders: orders.collect(),
        steps: steps.collect(),
        stayed: screen.since.stayed.same,
        of: screen.since.stayed.all,
    }
}
