//! What goes on at the moment of a plan, in a line each.

use chrono::NaiveDateTime;

use super::dates::time;
use super::pieces::pieces_words;
use crate::order::Order;
use crate::plan::under_way::{StepUnderWay, UnderWay};
use crate::plan::week::by_order;
use crate::stage::Stage;

/// Says what is under way, and what to type if it is not or is over.
pub fn going_on_lines(under_way: &UnderWay, orders: &[Order], now: NaiveDateTime) -> Vec<String> {
    let is = |stage: Stage| {
        under_way
            .steps
            .iter()
            .filter(move |step| step.stage == stage)
    };
    let mut lines = Vec::new();
    let session = is(Stage::Coating).find_map(|step| step.session);
    let until = is(Stage::Coating).map(|step| step.until).max();
    if let (Some(session), Some(until)) = (session, until) {
        let till = till(until, now);
        lines.push(format!("the coating begun at {}, {till}", time(session)));
    }
    let others = under_way
        .steps
        .iter()
        .filter(|step| step.stage != Stage::Coating);
    let (told, believed): (Vec<_>, Vec<_>) = others.partition(|step| step.is_told);
    lines.extend(believed.iter().map(|step| words(step, orders, now)));
    if !lines.is_empty() {
        lines.push("so says the kept plan; if not: fairday plan --not-begun".to_owned());
    }
    lines.extend(told.iter().map(|step| words(step, orders, now)));
    lines
}

/// `till 08:10`, or `over since 08:10: mark it` for what should be over.
fn till(until: NaiveDateTime, now: NaiveDateTime) -> String {
    match until > now {
        true => format!("till {}", time(until)),
        false => format!("over since {}: mark it", time(until)),
    }
}

fn words(step: &StepUnderWay, orders: &[Order], now: NaiveDateTime) -> String {
    let pieces = pieces_words(orders, &by_order(orders, &step.pieces));
    let till = till(step.until, now);
    let place = match (step.stage, &step.frame) {
        (Stage::Exposing, Some((frame, _))) if step.covered => format!("covered in {frame}"),
        (Stage::Exposing, Some((frame, _))) if step.is_told => format!("in the light in {frame}"),
        (Stage::Exposing, Some((frame, _))) => format!("into the light in {frame}"),
        (Stage::Exposing, None) => "in the light".to_owned(),
        (Stage::Washing, _) => "in the water".to_owned(),
        _ => format!("at {}", step.stage.name()),
    };
    format!("{pieces} {place}, {till}")
}
