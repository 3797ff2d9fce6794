//! Mailers, boxes, tubes: one for each order that a carrier takes.

use chrono::{NaiveDateTime, NaiveTime};

use super::{Missing, Shortage, is_carried};
use crate::order::{Order, Piece};
use crate::plan::week::{OrderPieces, Week, What};
use crate::stock::{Packing, Stock};
use crate::studio::{MaterialKind, Studio};

/// Packing of one kind and what becomes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct PackingState {
    /// As it stands in the file.
    pub packing: Packing,
    /// What is there now, by count and record.
    pub left_now: u32,
    /// What is left when the plan is done.
    pub left_then: u32,
}

/// Carries the packing on; returns what the plan lacks of it.
pub(super) fn carried_on(
    stock: &Stock,
    studio: &Studio,
    orders: &[Order],
    week: &Week,
) -> (Vec<PackingState>, Option<Shortage>) {
    let mut states: Vec<PackingState> = stock
        .packing
        .iter()
        .map(|packing| PackingState {
            left_now: packing.count,
            left_then: packing.count,
            packing: packing.clone(),
        })
        .collect();
    for order in orders.iter().filter(|order| is_carried(order)) {
        if let Some(dispatch) = &order.dispatch {
            // What leaves on the day of the count was packed after it.
            let at = dispatch.on.and_time(NaiveTime::MIN);
            take(&mut states, studio, order, at);
        }
    }
    for state in &mut states {
        state.left_now = if state.packing.ordered {
            0
        } else {
            state.left_then
        };
    }
    let mut unpacked: Option<Shortage> = None;
    for step in week.days.iter().flat_map(|day| &day.steps) {
        let What::Pack(parcel) = &step.what else {
            continue;
        };
        let order = &orders[parcel.order];
        if parcel.pickup || states.is_empty() || take(&mut states, studio, order, step.from) {
            continue;
        }
        let short = unpacked.get_or_insert_with(|| Shortage {
            what: Missing::Packing,
            amount: 0.0,
            pieces: Vec::new(),
            on: Some(step.from.date()),
            buy_by: None,
            arrives_on: None,
        });
        short.amount += 1.0;
        short.pieces.push(OrderPieces {
            order: parcel.order,
            numbers: order.pieces.iter().map(|piece| piece.number).collect(),
        });
    }
    (states, unpacked)
}

/// Takes the smallest packing in which the sheets of the order lie flat (cloth folds);
/// tells whether there was one.
fn take(states: &mut [PackingState], studio: &Studio, order: &Order, at: NaiveDateTime) -> bool {
    let folds = |piece: &Piece| {
        let material = studio.materials.get(&piece.material);
        material.is_some_and(|material| material.kind == MaterialKind::Cloth)
    };
    let holds = |packing: &Packing| match packing.holds {
        Some(inside) => {
            let mut pieces = order.pieces.iter();
            pieces.all(|piece| folds(piece) || piece.size.fits_in(inside))
        }
        None => true,
    };
    let fit = states.iter_mut();
    let fit = fit.filter(|state| {
        state.left_then > 0 && state.packing.counted_at <= at && holds(&state.packing)
    });
    let smallest = fit.min_by(|a, b| {
        let area = |state: &PackingState| {
            let inside = state.packing.holds;
            inside.map_or(f64::INFINITY, |size| size.area_m2())
        };
        area(a).total_cmp(&area(b))
    });
    match smallest {
        Some(state) => {
            state.left_then -= 1;
            true
        }
        None => false,
    }
}
