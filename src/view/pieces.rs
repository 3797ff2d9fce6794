//! How pieces, batches and parcels are named, the same on screens and on paper.

use super::dates::ranges;
use crate::order::{Order, Piece};
use crate::plan::week::{Batch, OrderPieces, Parcel};
use crate::studio::Studio;

/// How pages say that the customer fetches an order.
pub const COLLECTION: &str = "for collection by the customer";

/// Names pieces by order: `2026-020/1,2, 2026-026`; an order alone means all of it.
pub fn pieces_words(orders: &[Order], pieces: &[OrderPieces]) -> String {
    piece_names(orders, pieces).join(", ")
}

/// Names pieces by order, each order for itself.
pub fn piece_names(orders: &[Order], pieces: &[OrderPieces]) -> Vec<String> {
    let names = pieces.iter().map(|pieces| {
        let order = &orders[pieces.order];
        if pieces.numbers.len() == order.pieces.len() {
            order.number.clone()
        } else {
            format!("{}/{}", order.number, ranges(&pieces.numbers))
        }
    });
    names.collect()
}

/// Names the sizes and the material of a batch: `A3 + A5 cotton rag, 300 g`.
pub fn stuff_words(orders: &[Order], studio: &Studio, batch: &Batch) -> String {
    let mut sizes: Vec<String> = Vec::new();
    for piece in pieces_of(orders, batch) {
        let size = piece.size.to_string();
        if !sizes.contains(&size) {
            sizes.push(size);
        }
    }
    let material = studio.materials.get(&batch.material);
    let material = material.map_or(batch.material.as_str(), |material| material.name.as_str());
    format!("{} {material}", sizes.join(" + "))
}

/// Names a batch: its pieces, its sizes, its material.
pub fn batch_words(orders: &[Order], studio: &Studio, batch: &Batch) -> String {
    format!(
        "{}: {}",
        pieces_words(orders, &batch.pieces),
        stuff_words(orders, studio, batch)
    )
}

/// Names an order with its customer.
pub fn parcel_words(orders: &[Order], parcel: &Parcel) -> String {
    let order = &orders[parcel.order];
    format!("{} {}", order.number, order.customer.name)
}

/// Lists the pieces of a batch by order and number.
pub fn pieces_of<'a>(orders: &'a [Order], batch: &'a Batch) -> impl Iterator<Item = &'a Piece> {
    batch.pieces.iter().flat_map(|pieces| {
        let all = orders[pieces.order].pieces.iter();
        all.filter(|piece| pieces.numbers.contains(&piece.number))
    })
}

/// Returns how many pieces a batch has.
pub fn size(batch: &Batch) -> usize {
    batch.pieces.iter().map(|pieces| pieces.numbers.len()).sum()
}

/// Adds pieces to a list, those of one order together and ascending.
pub fn merge(all: &mut Vec<OrderPieces>, more: &[OrderPieces]) {
    for pieces in more {
        match all.iter_mut().find(|known| known.order == pieces.order) {
            Some(known) => {
                known.numbers.extend(&pieces.numbers);
                known.numbers.sort_unstable();
            }
            None => all.push(pieces.clone()),
        }
    }
}
