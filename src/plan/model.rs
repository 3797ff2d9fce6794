//! The core of planning as data: instance and timing, in slots.
//!
//! Time is cut into slots of `slot_min` minutes from local midnight of day 0;
//! intervals are half-open. The shapes here are also the JSON that the example
//! `solve` reads and writes (`studio-plan-instance/1`), so that other programs
//! can solve or check the same problem. No search and no rule is in this file:
//! rules are in `audit.rs`, the search keeps them on its own.
//!
//! Five optional fields go beyond the plain format and are left out of the JSON
//! when unused: `Lot::exposed_end`, `Lot::washed_end`, `Order::release` and
//! `Instance::begun` (work in progress) and `Order::handover` (the customer comes to
//! the door).

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// A moment or a length in slots; negative before day 0.
pub type Slot = i64;

/// A planning problem.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Instance {
    /// `studio-plan-instance/1`.
    pub format: String,
    /// A name for people.
    pub name: String,
    /// Length of a slot. [min]
    pub slot_min: u32,
    /// Slots in a day.
    pub per_day: Slot,
    /// Slots in all; nothing ends later.
    pub horizon: Slot,
    /// Half-open stretches in which hands are there, ascending, apart.
    pub work: Vec<(Slot, Slot)>,
    /// How many people work at once.
    pub operators: i64,
    /// Slots at which the carrier takes parcels, ascending.
    pub collections: Vec<Slot>,
    /// The day charged for an order that the plan leaves out.
    pub unserved_day: i64,
    /// Rack and tray places.
    pub capacity: Capacity,
    /// How many frames of each name there are.
    pub frames: BTreeMap<String, i64>,
    /// What a coating session takes.
    pub session: SessionRule,
    /// Loading a frame. [slots]
    pub load: Slot,
    /// Unloading a frame. [slots]
    pub unload: Slot,
    /// Longest wait from the end of unloading to the wash. [slots]
    pub wash_gap: Slot,
    /// What the parts of the cost weigh.
    pub weights: Weights,
    /// Classes of lots that expose alike.
    pub classes: Vec<Class>,
    /// What goes through together.
    pub lots: Vec<Lot>,
    /// Who waits for which lots.
    pub orders: Vec<Order>,
    /// What goes on when the plan begins.
    #[serde(default, skip_serializing_if = "Begun::is_nothing")]
    pub begun: Begun,
}

/// What was begun before the plan and keeps something until it is done.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Begun {
    /// Coating sessions of day 0 that began before the plan does.
    pub sessions: i64,
    /// What is kept, and how long.
    pub taken: Vec<Taken>,
}

/// Something that is not free yet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Taken {
    /// What it is.
    pub what: Held,
    /// How much of it.
    pub amount: i64,
    /// First slot.
    pub from: Slot,
    /// First slot at which it is free.
    pub until: Slot,
}

/// What work under way holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Held {
    /// People.
    Hands,
    /// Wash trays.
    Trays,
    /// Frames of a name.
    Frame(String),
}

impl Begun {
    /// Tells whether nothing goes on.
    pub fn is_nothing(&self) -> bool {
        *self == Begun::default()
    }
}

/// Places in racks and trays.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Capacity {
    /// Dark-dry places for sheets.
    pub dark_sheet: i64,
    /// Dark-dry line for cloth.
    pub dark_line: i64,
    /// Wet-dry places for sheets.
    pub open_sheet: i64,
    /// Wet-dry line for cloth.
    pub open_line: i64,
    /// Wash trays.
    pub tray: i64,
}

/// The rules of a coating session.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SessionRule {
    /// Mixing and laying out, one person. [slots]
    pub setup: Slot,
    /// How long the mix lives after the setup. [slots]
    pub mix_life: Slot,
    /// Sessions that may start on one day.
    pub max_per_day: i64,
}

/// What the parts of the cost weigh.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Weights {
    /// Per weighted day of lateness.
    pub late: i64,
    /// Per unit of risk.
    pub risk: i64,
    /// Per coating session.
    pub session: i64,
    /// Per weighted day until collection.
    pub ship: i64,
}

/// A class of lots that expose alike.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Class {
    /// A name for people.
    pub name: String,
    /// Rows `[first_start, last_start, duration, risk_per_mille]`, ascending, apart.
    pub options: Vec<(Slot, Slot, Slot, i64)>,
}

/// The two kinds of rack place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Space {
    /// Shelves for sheets.
    Sheet,
    /// Line for cloth.
    Line,
}

/// Pieces that go through together because they fill one frame.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Lot {
    /// Its name.
    pub id: String,
    /// Index into `Instance::classes`.
    pub cls: usize,
    /// The frame that it fills.
    pub frame: String,
    /// The kind of rack place.
    pub space: Space,
    /// Rack places.
    pub amount: i64,
    /// Coating, one person. [slots]
    pub coat: Slot,
    /// Drying in the dark. [slots]
    pub dark: Slot,
    /// How long it may wait in the dark after it is dry. [slots]
    #[serde(rename = "box")]
    pub keep: Slot,
    /// Whether a person stays with the exposure.
    pub attended: bool,
    /// Washing, one person. [slots]
    pub wash: Slot,
    /// Trays while it washes.
    pub tray: i64,
    /// On the wet-dry rack. [slots]
    pub open: Slot,
    /// Least wait from wash to finishing. [slots]
    pub cure: Slot,
    /// Finishing, one person. [slots]
    pub finish: Slot,
    /// Not coated before.
    pub release: Slot,
    /// When it came off the brush, if it did.
    pub coated_end: Option<Slot>,
    /// When it came out of the frame, if it did; it waits for the wash.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exposed_end: Option<Slot>,
    /// When it came out of the water, if it did; it waits for finishing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub washed_end: Option<Slot>,
}

/// An order: which lots it waits for, and when it was promised.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Order {
    /// Its name.
    pub id: String,
    /// Ids of its lots; none if only packing is left.
    pub lots: Vec<String>,
    /// Packing, one person. [slots]
    pub pack: Slot,
    /// How much its lateness counts.
    pub weight: i64,
    /// A slot on the promised day.
    pub promise: Slot,
    /// The customer collects it at the door: it leaves when it is packed.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub handover: bool,
    /// Not packed before, apart from its lots.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub release: Slot,
}

fn is_zero(slot: &Slot) -> bool {
    *slot == 0
}

/// An answer to an [`Instance`]: when everything starts.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Timing {
    /// Coating sessions, ascending.
    pub sessions: Vec<Session>,
    /// Steps of each lot that is in the plan.
    pub lots: BTreeMap<String, LotTiming>,
    /// Packing of each order that is in the plan.
    pub orders: BTreeMap<String, OrderTiming>,
}

/// A coating session.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Session {
    /// Start of its setup.
    pub start: Slot,
}

/// When the steps of a lot start; a step that is already done is `None`.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct LotTiming {
    /// Coating.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coat: Option<Slot>,
    /// Index of its coating session.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub session: Option<usize>,
    /// Exposing, after loading.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expose: Option<Slot>,
    /// Washing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wash: Option<Slot>,
    /// Finishing.
    pub finish: Slot,
}

/// When an order is packed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct OrderTiming {
    /// Start of packing.
    pub pack: Slot,
}

/// The parts of the cost, unweighted.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cost {
    /// Weighted order-days after the promise.
    pub late: i64,
    /// Sum of the risks of the chosen starts.
    pub risk: i64,
    /// Number of coating sessions.
    pub session: i64,
    /// Weighted days until collection.
    pub ship: i64,
}

impl Cost {
    /// Returns the weighted sum; the nearest number that fits if it is too large.
    pub fn total(&self, weights: &Weights) -> i64 {
        [
            (self.late, weights.late),
            (self.risk, weights.risk),
            (self.session, weights.session),
            (self.ship, weights.ship),
        ]
        .iter()
        .fold(0, |sum, (term, weight)| {
            sum.saturating_add(term.saturating_mul(*weight))
        })
    }
}
