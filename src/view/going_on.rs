//! What goes on at the moment of a plan, in a line each.

use super::dates::time;
use super::pieces::pieces_words;
use crate::order::Order;
use crate::plan::under_way::{StepUnderWay, UnderWay};
use crate::plan::week::by_order;
use crate::stage::Stage;

/// Says what is under way, and what to type if it is not.
pub fn going_on_lines(under_way: &UnderWay, orders: &[Order]) -> Vec<String> {
    let is_coat = |step: &&StepUnderWay| step.stage == Stage::Coating;
    let coats = under_way.steps.iter().filter(is_coat);
    let mut lines = Vec::new();
    if let (Some(session), Some(until)) = (
        coats.clone().find_map(|step| step.session),
        coats.map(|step| step.until).max(),
    ) {
        let (mixed, done) = (time(session), time(until));
        lines.push(format!("the coating begun at {mixed}, till {done}"));
    }
    let others = under_way.steps.iter().filter(|step| !is_coat(step));
    lines.extend(others.map(|step| words(step, orders)));
    let believed = under_way.steps.iter().any(|s| s.stage != Stage::Exposing);
    if believed {
        lines.push("so says the kept plan; if not: fairday plan --not-begun".to_owned());
    }
    lines
}

fn words(step: &StepUnderWay, orders: &[Order]) -> String {
    let pieces = pieces_words(orders, &by_order(orders, &step.pieces));
    let until = time(step.until);
    match (step.stage, &step.frame) {
        (Stage::Exposing, Some((frame, _))) => {
            format!("{pieces} in the light in {frame}, till {until}")
        }
        (Stage::Exposing, None) => format!("{pieces} in the light, till {until}"),
        (Stage::Washing, _) => format!("{pieces} in the water, till {until}"),
        _ => format!("{pieces} at {}, till {until}", step.stage.name()),
    }
}
