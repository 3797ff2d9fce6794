//! Orders, studio and light as an instance of the core problem, and the way back.
//!
//! A [`Setup`] keeps beside each lot of the instance the pieces that it stands
//! for, so that the answer can be told in the maker's words. No search here.

use std::collections::BTreeMap;

use chrono::{NaiveDateTime, TimeDelta};

use super::grid::{
    Grid, PER_DAY, SLOT_MIN, collections, slots_of_hours, slots_of_minutes, work_stretches,
};
use super::model::{
    Capacity, Class, Instance, Lot, Order as CoreOrder, SessionRule, Slot, Space, Weights,
};
use super::second_go::{Pieces, add_second_go};
use super::starts::{ClassKey, Outdoors, StartTable, start_table};
use super::together::{Together, group, is_loose, is_watched, places};
use super::under_way::UnderWay;
use super::waiting::{Standing, Waiting, WaitingList, waiting};
use crate::order::{Delivery, LightSource, Order};
use crate::promise::{LeaveBy, leave_by};
use crate::size::Size;
use crate::spare::{remake_record, remake_share};
use crate::studio::{Material, MaterialKind, Studio};

/// Days after the horizon at which an order that was left out is charged. [days]
const UNSERVED_AFTER_DAYS: i64 = 3;
/// How much more an order counts that is worthless after its date.
const ESSENTIAL_FACTOR: i64 = 3;

/// A planning problem with what it was made of.
#[derive(Debug, Clone)]
pub struct Setup<'a> {
    /// The core problem.
    pub instance: Instance,
    /// The time grid of its slots.
    pub grid: Grid,
    /// The moment it was made for.
    pub now: NaiveDateTime,
    /// The pieces of each lot, in the order of `instance.lots`.
    pub lots: Vec<Together<'a>>,
    /// The index of each planned order in `orders`, in the order of `instance.orders`.
    pub planned: Vec<usize>,
    /// All orders given, closed ones too.
    pub orders: &'a [Order],
    /// The last good days for each order of `orders`.
    pub leave_by: Vec<LeaveBy>,
    /// What is on hold.
    pub waiting: WaitingList<'a>,
    /// Pieces that fit no frame.
    pub too_large: Vec<Waiting<'a>>,
    /// Admissible starts and the evidence for them, one for each kind of exposure.
    pub tables: Vec<StartTable>,
    /// The index in `tables` of each lot.
    pub table_of: Vec<usize>,
    /// What goes on at that moment; `orders` stand as if it were over.
    pub under_way: UnderWay,
}

/// Makes the core problem of the days from `now` on.
///
/// `orders` stand as they will once what is `under_way` is over ([`UnderWay::done`]).
pub fn setup<'a>(
    orders: &'a [Order],
    studio: &'a Studio,
    outdoors: &Outdoors,
    now: NaiveDateTime,
    under_way: &UnderWay,
) -> Setup<'a> {
    let grid = Grid {
        zone: studio.place.zone,
        first_day: now.date(),
        days: studio.planning.days,
    };
    let leave_by: Vec<LeaveBy> = orders
        .iter()
        .map(|order| leave_by(order, &studio.shipping))
        .collect();
    let due_day: Vec<i64> = leave_by
        .iter()
        .map(|last| grid.day_index(last.day))
        .collect();
    let waiting = waiting(orders, studio, &grid, now);
    let grouped = group(&waiting.pieces, studio, &due_day, |piece| {
        under_way.company(orders, piece)
    });
    let mut classes = Classes::default();
    let class_of: Vec<usize> = grouped
        .lots
        .iter()
        .map(|lot| classes.index(key_of(lot, studio)))
        .collect();
    let tables: Vec<StartTable> = classes
        .keys
        .iter()
        .map(|key| start_table(key, &grid, outdoors, &studio.weather, now))
        .collect();
    let lots: Vec<Lot> = grouped
        .lots
        .iter()
        .enumerate()
        .map(|(index, lot)| {
            let mut core = core_lot(index, lot, class_of[index], studio, &grid);
            stretch_drying(&mut core, lot, outdoors.dry_factor, (&grid, now));
            core
        })
        .collect();
    let blocked = |order: usize| {
        waiting.is_held(order) || grouped.too_large.iter().any(|piece| piece.order == order)
    };
    let mut planned = Vec::new();
    let mut core_orders = Vec::new();
    for (index, order) in orders
        .iter()
        .enumerate()
        .filter(|(_, order)| !order.is_closed())
    {
        let ids = lot_ids(index, &grouped.lots, &lots);
        let core = if !blocked(index) {
            let finished_at = under_way.finished_at(&order.number);
            CoreOrder {
                release: finished_at.map_or(0, |at| grid.slot_from(at)),
                ..core_order(order, ids, due_day[index], studio)
            }
        } else if !ids.is_empty() {
            carried_on(order, ids, &grid)
        } else {
            continue;
        };
        planned.push(index);
        core_orders.push(core);
    }
    let mut instance = Instance {
        format: "studio-plan-instance/1".to_owned(),
        name: format!("{} {}", studio.name, now.format("%Y-%m-%d %H:%M")),
        slot_min: SLOT_MIN,
        per_day: PER_DAY,
        horizon: grid.horizon(),
        work: work_stretches(&grid, studio, now),
        operators: i64::from(studio.hands),
        collections: collections(&grid, studio, now),
        unserved_day: i64::from(grid.days) + UNSERVED_AFTER_DAYS,
        capacity: capacity(studio),
        frames: frames(studio),
        session: SessionRule {
            setup: slots_of_minutes(studio.sensitizer.setup_minutes).max(1),
            mix_life: slots_of_hours(studio.sensitizer.mix_life_hours),
            max_per_day: i64::from(studio.sensitizer.sessions_per_day),
        },
        load: slots_of_minutes(studio.minutes.load),
        unload: slots_of_minutes(studio.minutes.unload),
        wash_gap: slots_of_minutes(studio.minutes.wash_within),
        weights: Weights {
            late: i64::from(studio.planning.late),
            risk: i64::from(studio.planning.risk),
            session: i64::from(studio.planning.session),
            ship: i64::from(studio.planning.ship),
        },
        classes: tables.iter().map(StartTable::class).collect(),
        lots,
        orders: core_orders,
        begun: under_way.begun(orders, studio, &grid),
    };
    let pieces = pieces_at_stake(orders, studio, &grouped.lots, &planned);
    add_second_go(&mut instance, &pieces, i64::from(studio.planning.second_go));
    Setup {
        instance,
        grid,
        now,
        lots: grouped.lots,
        planned,
        orders,
        leave_by,
        waiting,
        too_large: grouped.too_large,
        tables,
        table_of: class_of,
        under_way: under_way.clone(),
    }
}

/// Returns how many pieces of each order are in each lot, and how likely they fail.
fn pieces_at_stake(
    orders: &[Order],
    studio: &Studio,
    lots: &[Together],
    planned: &[usize],
) -> Vec<Vec<Pieces>> {
    let share_of = |kind| {
        let record = remake_record(orders, studio, kind);
        remake_share(record, kind, &studio.planning)
    };
    let (paper, cloth) = (share_of(MaterialKind::Paper), share_of(MaterialKind::Cloth));
    let of_lot = |lot: &Together| {
        let share = match lot.pieces[0].material.kind {
            MaterialKind::Paper => paper,
            MaterialKind::Cloth => cloth,
        };
        let counts = planned.iter().enumerate().map(|(order, index)| Pieces {
            order,
            count: lot.pieces.iter().filter(|p| p.order == *index).count() as u32,
            share,
        });
        counts.filter(|pieces| pieces.count > 0).collect()
    };
    lots.iter().map(of_lot).collect()
}

/// Keys of classes in the order of their first use.
#[derive(Debug, Default)]
struct Classes {
    keys: Vec<ClassKey>,
}

impl Classes {
    fn index(&mut self, key: ClassKey) -> usize {
        if let Some(index) = self.keys.iter().position(|known| *known == key) {
            return index;
        }
        self.keys.push(key);
        self.keys.len() - 1
    }
}

/// Returns what the exposure of the lot depends on.
fn key_of(lot: &Together, studio: &Studio) -> ClassKey {
    let first = &lot.pieces[0];
    let lamp = match first.piece.light {
        LightSource::Sun => None,
        LightSource::Lamp => lot.frame.and_then(|frame| studio.frames[frame].lamp),
    };
    ClassKey {
        dose: first
            .material
            .target_dose
            .scaled(studio.sensitizer.exposure_factor),
        loose: is_loose(first),
        lamp,
    }
}

fn core_lot(index: usize, lot: &Together, cls: usize, studio: &Studio, grid: &Grid) -> Lot {
    let material = lot.pieces[0].material;
    let count = lot.pieces.len() as f64;
    let coats = f64::from(material.coats);
    let (passes, tray) = trays_for(lot.pieces.iter().map(|w| w.piece.size), studio);
    let lost = grid.lost_slots();
    let frame = lot.frame.or((!studio.frames.is_empty()).then_some(0));
    let mut core = Lot {
        id: format!("L{index}"),
        cls,
        frame: frame.map_or_else(String::new, |frame| studio.frames[frame].name.clone()),
        space: space(material),
        amount: lot.pieces.iter().map(|piece| places(piece, studio)).sum(),
        coat: slots_of_minutes(material.coat_minutes * coats * count).max(1),
        dark: slots_of_hours(material.dark_dry_hours * coats) + lost,
        keep: slots_of_hours(material.keep_hours),
        attended: is_watched(lot.pieces[0].piece, studio),
        wash: slots_of_minutes(material.wash_minutes * passes).max(1),
        tray,
        open: slots_of_hours(material.wet_dry_hours) + lost,
        cure: slots_of_hours(material.cure_hours) + lost,
        finish: slots_of_minutes(material.finish_minutes * count).max(1),
        release: 0,
        coated_end: None,
        exposed_end: None,
        washed_end: None,
    };
    match lot.pieces[0].standing {
        Standing::Uncoated { release } => core.release = release,
        Standing::Coated { coated_end, dry } => {
            core.coated_end = Some(coated_end);
            core.dark = (dry - coated_end).max(0);
            // A sheet kept too long is a warning for the maker, not a lost order.
            core.keep = grid.horizon() + PER_DAY;
        }
        Standing::Exposed { exposed_end } => core.exposed_end = Some(exposed_end),
        Standing::Washed { washed_end } => core.washed_end = Some(washed_end),
        Standing::Finished => {}
    }
    core
}

/// Stretches what is still to dry; coats that dry already keep the hours they began with.
fn stretch_drying(
    core: &mut Lot,
    lot: &Together,
    factor: f64,
    (grid, now): (&Grid, NaiveDateTime),
) {
    let material = lot.pieces[0].material;
    let lost = grid.lost_slots();
    let wet = match lot.pieces[0].standing {
        Standing::Uncoated { .. } => true,
        Standing::Coated { coated_end, .. } => coated_end > grid.slot_until(now),
        _ => false,
    };
    if wet {
        let hours = material.dark_dry_hours * f64::from(material.coats);
        core.dark = slots_of_hours(hours * factor) + lost;
    }
    core.open = slots_of_hours(material.wet_dry_hours * factor) + lost;
}

fn space(material: &Material) -> Space {
    match material.kind {
        MaterialKind::Paper => Space::Sheet,
        MaterialKind::Cloth => Space::Line,
    }
}

/// Returns how often the trays are filled for pieces, and how many trays they take.
pub(super) fn trays_for(sizes: impl Iterator<Item = Size>, studio: &Studio) -> (f64, i64) {
    let area: f64 = sizes.map(|size| size.area_m2()).sum();
    let need = (area / studio.trays.inside.area_m2() - 1e-9)
        .ceil()
        .max(1.0);
    let count = f64::from(studio.trays.count.max(1));
    ((need / count).ceil(), need.min(count) as i64)
}

fn capacity(studio: &Studio) -> Capacity {
    let racks = &studio.racks;
    Capacity {
        dark_sheet: i64::from(racks.dark_dry_sheets),
        dark_line: i64::from(racks.dark_dry_line_cm),
        open_sheet: i64::from(racks.wet_dry_sheets),
        open_line: i64::from(racks.wet_dry_line_cm),
        tray: i64::from(studio.trays.count.max(1)),
    }
}

fn frames(studio: &Studio) -> BTreeMap<String, i64> {
    studio
        .frames
        .iter()
        .map(|frame| (frame.name.clone(), i64::from(frame.count)))
        .collect()
}

/// Returns the ids of the lots in which pieces of the order lie.
fn lot_ids(order: usize, lots: &[Together], core: &[Lot]) -> Vec<String> {
    lots.iter()
        .zip(core)
        .filter(|(lot, _)| lot.pieces.iter().any(|piece| piece.order == order))
        .map(|(_, core)| core.id.clone())
        .collect()
}

fn core_order(order: &Order, lots: Vec<String>, due_day: i64, studio: &Studio) -> CoreOrder {
    let essential = order.promise.is_some_and(|promise| promise.essential);
    let cut_off = studio.shipping.cut_off - chrono::NaiveTime::MIN;
    CoreOrder {
        id: order.number.clone(),
        lots,
        pack: slots_of_minutes(studio.minutes.pack).max(1),
        weight: i64::from(order.weight.max(1)) * if essential { ESSENTIAL_FACTOR } else { 1 },
        promise: due_day * PER_DAY + cut_off.num_minutes() / i64::from(SLOT_MIN),
        handover: matches!(order.delivery, Delivery::Pickup),
        release: 0,
    }
}

/// Returns an order that cannot leave, but whose work under way must be carried on.
fn carried_on(order: &Order, lots: Vec<String>, grid: &Grid) -> CoreOrder {
    CoreOrder {
        id: order.number.clone(),
        lots,
        pack: 0,
        weight: 1,
        promise: grid.horizon(),
        handover: true,
        release: 0,
    }
}

impl Setup<'_> {
    /// Tells whether the order (an index of `instance.orders`) can leave at all.
    pub fn can_leave(&self, core_order: usize) -> bool {
        self.instance.orders[core_order].pack > 0
    }

    /// Returns the last wall time that the plan covers.
    pub fn end(&self) -> NaiveDateTime {
        self.grid.wall(self.grid.horizon()) - TimeDelta::minutes(1)
    }

    /// Returns the class table of the lot.
    pub fn table(&self, lot: usize) -> &StartTable {
        &self.tables[self.table_of[lot]]
    }

    /// Returns the core class of `key`'s table.
    pub fn class(&self, index: usize) -> &Class {
        &self.instance.classes[index]
    }

    /// Returns the slot of the moment the plan is made for.
    pub fn now_slot(&self) -> Slot {
        self.grid.slot_from(self.now)
    }
}
