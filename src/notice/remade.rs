//! When a customer must hear that a piece is made again.
//!
//! A remake that keeps the date is the studio's own affair and told only where
//! the studio wants it. It must be told where it contradicts what was said: the
//! order was called ready, or sent. One that costs the date is a delay.

use chrono::{Days, NaiveDate};
use serde::Serialize;

use super::{Due, Kind, NEWS_DAYS, Told};
use crate::order::Order;
use crate::studio::Letters;

/// What a customer was told before a remake that no longer holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Before {
    /// Nothing of the kind.
    Nothing,
    /// It was ready to be collected.
    Ready,
    /// It had left.
    Dispatched,
}

/// Returns the notice of remakes that no letter has told yet.
pub(super) fn remade(
    order: &Order,
    due: Due,
    told: &[Told],
    letters: &Letters,
    today: NaiveDate,
) -> Option<Kind> {
    let tells = |t: &&Told| t.kind == "remade" || t.kind == "delayed";
    let told_on = told.iter().filter(tells).map(|t| t.on).max();
    let mut pieces = Vec::new();
    let mut remade_on = None;
    for piece in &order.pieces {
        let days = piece.progress.remakes().map(|(at, _)| at.date());
        let fresh = days.filter(|on| *on <= today && told_on.is_none_or(|told_on| told_on < *on));
        if let Some(last) = fresh.max() {
            pieces.push(piece.number);
            remade_on = remade_on.max(Some(last));
        }
    }
    let remade_on = remade_on?;
    let before = before(told, remade_on);
    let wanted = letters.remade && !told.is_empty() && today <= remade_on + Days::new(NEWS_DAYS);
    (wanted || before != Before::Nothing).then_some(Kind::Remade {
        pieces,
        remade_on,
        before,
        due,
    })
}

/// Finds what the customer was told last about the whole order, up to `remade_on`.
fn before(told: &[Told], remade_on: NaiveDate) -> Before {
    let earlier = told.iter().rev().filter(|t| t.on <= remade_on);
    let mut found = earlier.filter_map(|t| match t.kind.as_str() {
        "ready" => Some(Before::Ready),
        "dispatched" => Some(Before::Dispatched),
        "remade" | "delayed" => Some(Before::Nothing),
        _ => None,
    });
    found.next().unwrap_or(Before::Nothing)
}
