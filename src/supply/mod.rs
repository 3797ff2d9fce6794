//! What the plan will use of what lies on the shelf, what runs out, and what to make or
//! buy by when.
//!
//! A count of `stock.yaml` is carried on: first by what the orders' own records have used
//! since, then by the steps of the plan. Off-cuts of one size serve that size only; strips
//! and sheets that were spoilt before they were coated are in no record, so counting now
//! and then is part of it. Nothing here changes the plan: a day that lacks something is
//! said, and somebody decides.
//!
//! ```text
//!  stock.yaml ──> shelf, bottles, salts, packing   as counted
//!  orders     ──> used                             since then
//!  plan       ──> taken day by day                 ──> Outlook: left, shortages, errands
//! ```

mod bottles;
pub mod cut;
mod packing;
mod shelf;
mod used;

use std::collections::BTreeMap;

use chrono::{Datelike, Days, NaiveDate, NaiveDateTime, TimeDelta};

use crate::mix::Mix;
use crate::order::{Delivery, Order};
use crate::plan::week::{OrderPieces, Week, What};
use crate::size::Size;
use crate::stage::Stage;
use crate::stock::{Part, Stock};
use crate::studio::Studio;

pub use bottles::{BottleState, Make, SaltState};
pub use packing::PackingState;
pub use shelf::SupplyState;
pub use used::LiveMix;

/// Everything that follows from stock, record and plan.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Outlook {
    /// What the plan uses, by day.
    pub days: Vec<DayUse>,
    /// Papers and cloths, in the order of the file.
    pub supplies: Vec<SupplyState>,
    /// Materials of open orders that nobody has counted.
    pub uncounted: Vec<String>,
    /// Bottles, in the order of the file.
    pub bottles: Vec<BottleState>,
    /// The mix of the last session, if it can still be used or went off today.
    pub mix: Option<LiveMix>,
    /// Salts, A before B.
    pub salts: Vec<SaltState>,
    /// Packing, in the order of the file.
    pub packing: Vec<PackingState>,
    /// Stocks to make, A before B.
    pub makes: Vec<Make>,
    /// What runs out, the earliest first, what no day needs yet last.
    pub shortages: Vec<Shortage>,
}

/// What a day of the plan uses.
#[derive(Debug, Clone, PartialEq)]
pub struct DayUse {
    /// The day.
    pub date: NaiveDate,
    /// Pieces and area by material. [count, m²]
    pub materials: BTreeMap<String, (u32, f64)>,
    /// The mixes of the day together.
    pub mix: Mix,
    /// Parcels that are packed for a carrier.
    pub parcels: u32,
}

/// Something of which there is too little.
#[derive(Debug, Clone, PartialEq)]
pub struct Shortage {
    /// What is missing.
    pub what: Missing,
    /// How much. [pieces, g, parcels]
    pub amount: f64,
    /// Who lacks it.
    pub pieces: Vec<OrderPieces>,
    /// The first day of the plan that lacks it; none if no day of the plan needs it.
    pub on: Option<NaiveDate>,
    /// The last day to order it so that it comes in time; before today for too late.
    pub buy_by: Option<NaiveDate>,
    /// When more of it comes that is ordered already.
    pub arrives_on: Option<NaiveDate>,
}

/// What can be missing.
#[derive(Debug, Clone, PartialEq)]
pub enum Missing {
    /// Paper or cloth.
    Material {
        /// Its key.
        material: String,
        /// How many pieces of which size.
        sizes: Vec<(Size, u32)>,
    },
    /// Salt for a stock.
    Salt(Part),
    /// A mailer, box or tube that is large enough.
    Packing,
}

/// Carries the counts on over record and plan, as seen at `now`.
pub fn outlook(
    stock: &Stock,
    studio: &Studio,
    orders: &[Order],
    week: &Week,
    now: NaiveDateTime,
) -> Outlook {
    let coats = used::coats(orders, studio, now);
    let sessions = used::sessions(&coats, studio);
    let mut shelf = shelf::Shelf::new(stock);
    for coat in &coats {
        shelf.draw_past(&coat.piece.material, coat.piece.size, coat.at);
    }
    shelf.counted_to_now(now);
    let mut lacks = shelf.draw_plan(orders, week);
    let (bottles, makes, salts) = bottles::carried_on(stock, studio, &sessions, week, now);
    lacks.extend(bottles::missing_salts(&salts, &makes, week));
    let (packing, unpacked) = packing::carried_on(stock, studio, orders, week);
    lacks.extend(unpacked);
    for lack in &mut lacks {
        let days = Days::new(u64::from(stock.rules.buying_days));
        lack.buy_by = lack.on.and_then(|on| on.checked_sub_days(days));
        if let Missing::Material { material, .. } = &lack.what {
            lack.arrives_on = stock.next_arrival(material, now);
        }
    }
    lacks.sort_by_key(|lack| (lack.on.is_none(), lack.on));
    Outlook {
        days: days(orders, week),
        uncounted: uncounted(stock, orders),
        supplies: shelf.into_states(),
        bottles,
        mix: used::live_mix(&sessions, studio, now),
        salts,
        packing,
        makes,
        shortages: lacks,
    }
}

/// Lists materials of which nothing is left, and from when there is some again: the day
/// it comes, or else the day on which what is ordered now would come.
pub fn run_out(
    stock: &Stock,
    studio: &Studio,
    orders: &[Order],
    now: NaiveDateTime,
) -> BTreeMap<String, NaiveDate> {
    let mut shelf = shelf::Shelf::new(stock);
    for coat in used::coats(orders, studio, now) {
        shelf.draw_past(&coat.piece.material, coat.piece.size, coat.at);
    }
    shelf.counted_to_now(now);
    let bought = now.date() + Days::new(u64::from(stock.rules.buying_days));
    let empty = studio.materials.keys();
    let empty = empty.filter(|key| stock.counts(key) && shelf.is_empty(key));
    empty
        .map(|key| (key.clone(), stock.next_arrival(key, now).unwrap_or(bought)))
        .collect()
}

impl Outlook {
    /// Tells whether somebody must do something about it.
    pub fn is_short(&self) -> bool {
        !self.shortages.is_empty() || self.makes.iter().any(|make| make.is_late)
    }

    /// Returns the shortages that touch an order, an index into the orders given.
    pub fn shortages_of(&self, order: usize) -> impl Iterator<Item = &Shortage> {
        let touches = move |short: &&Shortage| short.pieces.iter().any(|some| some.order == order);
        self.shortages.iter().filter(touches)
    }
}

/// Lists what each day of the plan uses.
fn days(orders: &[Order], week: &Week) -> Vec<DayUse> {
    let used = week.days.iter().map(|day| {
        let mut used = DayUse {
            date: day.date,
            materials: BTreeMap::new(),
            mix: Mix::default(),
            parcels: 0,
        };
        for step in &day.steps {
            match &step.what {
                What::Coat(session) => {
                    add(&mut used.mix, &session.mix);
                    for coat in &session.coats {
                        let pieces = coat.batch.pieces.iter().flat_map(|some| {
                            let pieces = orders[some.order].pieces.iter();
                            pieces.filter(|piece| some.numbers.contains(&piece.number))
                        });
                        let taken = used.materials.entry(coat.batch.material.clone());
                        let taken = taken.or_default();
                        for piece in pieces {
                            taken.0 += 1;
                            taken.1 += piece.size.area_m2();
                        }
                    }
                }
                What::Pack(parcel) if !parcel.pickup => used.parcels += 1,
                What::Expose(_)
                | What::Wash(_)
                | What::Finish(_)
                | What::Pack(_)
                | What::Leave(_) => {}
            }
        }
        used
    });
    used.filter(|used| !used.materials.is_empty() || used.parcels > 0)
        .collect()
}

fn add(sum: &mut Mix, mix: &Mix) {
    sum.on_paper_ml += mix.on_paper_ml;
    sum.volume_ml += mix.volume_ml;
    sum.a_ml += mix.a_ml;
    sum.b_ml += mix.b_ml;
    sum.a_g += mix.a_g;
    sum.b_g += mix.b_g;
}

/// Lists the materials that pieces still to be coated ask for and that nobody counted.
fn uncounted(stock: &Stock, orders: &[Order]) -> Vec<String> {
    let open = orders.iter().filter(|order| !order.is_closed());
    let pieces = open.flat_map(|order| &order.pieces);
    let waiting = pieces.filter(|piece| piece.progress.stage() == Some(Stage::Coating));
    let mut keys: Vec<&str> = waiting.map(|piece| piece.material.as_str()).collect();
    keys.sort_unstable();
    keys.dedup();
    keys.retain(|key| !stock.counts(key));
    keys.into_iter().map(str::to_owned).collect()
}

/// Returns the end of the last stretch of work that begins before `moment`, or the moment
/// itself if it lies in one; the moment for a studio that never works.
fn at_work_before(moment: NaiveDateTime, studio: &Studio) -> NaiveDateTime {
    let mut day = moment.date();
    // A holiday of a month is the longest that is looked over.
    for _ in 0..31 {
        let today = studio.work.iter();
        let today = today.filter(|hours| hours.days.contains(&day.weekday()));
        let stretches = today.map(|hours| (day.and_time(hours.from), day.and_time(hours.until)));
        let last = stretches
            .filter(|(from, _)| *from <= moment && !studio.days_off.contains(&day))
            .map(|(_, until)| until.min(moment))
            .max();
        if let Some(at) = last {
            return at;
        }
        day -= TimeDelta::days(1);
    }
    moment
}

/// Tells whether a carrier takes the order.
fn is_carried(order: &Order) -> bool {
    matches!(order.delivery, Delivery::Carrier { .. })
}
