//! Which pieces still need work, and where each of them stands at this moment.
//!
//! Orders in, a flat list of pieces out, in slots. A hold keeps new work away
//! but never leaves a coated sheet in the bag or a print in the water: what is
//! under way is carried on as far as it can be. Nothing is grouped or placed here.

use chrono::NaiveDateTime;

use super::grid::{Grid, slots_of_hours};
use super::model::Slot;
use crate::order::{Order, Piece};
use crate::stage::Stage;
use crate::studio::{Material, Studio};

/// Where a piece stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Standing {
    /// Nothing is done; it may be coated from `release` on.
    Uncoated {
        /// First slot at which its material is there.
        release: Slot,
    },
    /// Coated; it is dry at `dry`.
    Coated {
        /// When it came off the brush.
        coated_end: Slot,
        /// When it is dry, by the material's hours or by the maker's word.
        dry: Slot,
    },
    /// Out of the frame, not yet in the water.
    Exposed {
        /// When it is taken in, or now if it was.
        exposed_end: Slot,
    },
    /// Out of the water at `washed_end`.
    Washed {
        /// When it came out of the water.
        washed_end: Slot,
    },
    /// Finished; only packing is left.
    Finished,
}

/// One piece that still needs something, with its order and material.
#[derive(Debug, Clone, Copy)]
pub struct Waiting<'a> {
    /// Index into the list of orders given.
    pub order: usize,
    /// The piece.
    pub piece: &'a Piece,
    /// What it is made of.
    pub material: &'a Material,
    /// Where it stands.
    pub standing: Standing,
}

/// Why an order is not planned, or not wholly.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Held {
    /// Index into the list of orders given.
    pub order: usize,
    /// The piece on hold; none for the whole order.
    pub piece: Option<u32>,
    /// The maker's words.
    pub reason: String,
}

/// Everything that waits, and what is held back.
#[derive(Debug, Clone, Default)]
pub struct WaitingList<'a> {
    /// Pieces to plan, by order and number.
    pub pieces: Vec<Waiting<'a>>,
    /// Holds in force, by order and piece.
    pub held: Vec<Held>,
}

impl WaitingList<'_> {
    /// Tells whether something of the order is on hold, so that it cannot leave.
    pub fn is_held(&self, order: usize) -> bool {
        self.held.iter().any(|held| held.order == order)
    }
}

/// Lists the pieces of all open orders that need work.
///
/// A piece whose material the studio does not know is passed over; reading
/// the order has made a problem of it already.
pub fn waiting<'a>(
    orders: &'a [Order],
    studio: &'a Studio,
    grid: &Grid,
    now: NaiveDateTime,
) -> WaitingList<'a> {
    let mut list = WaitingList::default();
    for (index, order) in orders
        .iter()
        .enumerate()
        .filter(|(_, order)| !order.is_closed())
    {
        if let Some(reason) = &order.hold {
            list.held.push(Held {
                order: index,
                piece: None,
                reason: reason.clone(),
            });
        }
        for piece in &order.pieces {
            if let Some(reason) = &piece.hold {
                let reason = reason.clone();
                list.held.push(Held {
                    order: index,
                    piece: Some(piece.number),
                    reason,
                });
            }
            let Some(material) = studio.materials.get(&piece.material) else {
                continue;
            };
            let Some(standing) = standing(piece, material, grid, now) else {
                continue;
            };
            let held = order.hold.is_some() || piece.hold.is_some();
            if held && !goes_on_when_held(standing) {
                continue;
            }
            list.pieces.push(Waiting {
                order: index,
                piece,
                material,
                standing,
            });
        }
    }
    list
}

/// Returns where the piece stands; none once it has left.
fn standing(
    piece: &Piece,
    material: &Material,
    grid: &Grid,
    now: NaiveDateTime,
) -> Option<Standing> {
    let done = |stage| piece.progress.done_at(stage).map(|at| grid.slot_until(at));
    let standing = match piece.progress.stage()? {
        Stage::Coating => Standing::Uncoated {
            release: release(material, grid, now),
        },
        Stage::Drying => {
            let coated_end = done(Stage::Coating).unwrap_or_else(|| grid.slot_until(now));
            let hours = material.dark_dry_hours * f64::from(material.coats);
            Standing::Coated {
                coated_end,
                dry: coated_end + slots_of_hours(hours),
            }
        }
        Stage::Exposing => {
            let dry = done(Stage::Drying).unwrap_or_else(|| grid.slot_until(now));
            Standing::Coated {
                coated_end: done(Stage::Coating).unwrap_or(dry),
                dry,
            }
        }
        Stage::Washing => {
            let end = piece.progress.done_at(Stage::Exposing);
            Standing::Exposed {
                exposed_end: end.map_or(grid.slot_until(now), |at| {
                    grid.slot_from(at).max(grid.slot_until(now))
                }),
            }
        }
        Stage::Finishing => {
            let washed_end = done(Stage::Washing).unwrap_or_else(|| grid.slot_until(now));
            Standing::Washed { washed_end }
        }
        Stage::Shipping => Standing::Finished,
    };
    Some(standing)
}

fn release(material: &Material, grid: &Grid, now: NaiveDateTime) -> Slot {
    let from = material
        .available_on
        .map_or(now, |day| day.and_time(chrono::NaiveTime::MIN));
    grid.slot_from(from.max(now))
}

/// Tells whether a piece that stands like this is carried on despite a hold.
fn goes_on_when_held(standing: Standing) -> bool {
    match standing {
        Standing::Uncoated { .. } | Standing::Coated { .. } => false,
        Standing::Exposed { .. } | Standing::Washed { .. } | Standing::Finished => true,
    }
}
