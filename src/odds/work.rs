//! What waits in a studio, as rollouts see it: the planner's own lots, over more days.
//!
//! Lots, hours, racks and frames are those of [`crate::plan::setup`]; only the light
//! is left out, since every weather brings its own.

use super::normal::mixed;
use super::rollout::Luck;
use crate::light::{ClearLight, CurveRules, LightCurve, Site, Step};
use crate::order::Order;
use crate::plan::grid::{Grid, PER_DAY, collections, work_stretches};
use crate::plan::model::Space;
use crate::plan::setup::{Setup, setup};
use crate::plan::starts::{ClassKey, Outdoors};
use crate::plan::together::places;
use crate::plan::under_way::UnderWay;
use crate::plan::waiting::Standing;
use crate::spare::{remake_record, remake_share};
use crate::studio::{MaterialKind, Studio};
use chrono::NaiveDateTime;
use rand::SeedableRng;
use rand::rngs::SmallRng;
use rand_distr::{Beta, Distribution};

/// A moment or a length in slots, as in plans.
pub type At = i32;

/// What a rollout knows of a studio.
#[derive(Debug)]
pub struct Work {
    /// Days from today on.
    pub grid: Grid,
    /// The present moment.
    pub now: At,
    /// Hours in which hands are there, ascending.
    pub stretches: Vec<(At, At)>,
    /// People at once.
    pub hands: u8,
    /// When parcels are taken.
    pub collections: Vec<At>,
    /// Frames of each kind.
    pub frames: Vec<u8>,
    /// Dark-dry places: sheets, line.
    pub dark: [i64; 2],
    /// Wet-dry places: sheets, line.
    pub open: [i64; 2],
    /// Trays.
    pub trays: i64,
    /// Mixing, life of the mix, sessions in a day.
    pub session: (At, At, i64),
    /// Into the frame, out of it, longest wait until the wash.
    pub round: (At, At, At),
    /// Longest exposure worth starting.
    pub exposure_most: f32,
    /// Kinds of exposure.
    pub classes: Vec<Light>,
    /// What waits.
    pub lots: Vec<LotWork>,
    /// Whose it is, in the order of the orders given; closed ones are none.
    pub orders: Vec<Option<OrderWork>>,
    /// Experience with paper and with cloth.
    pub remakes: [Remakes; 2],
}

/// What an exposure takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Light {
    /// A dose of sun. [J/m²]
    Sun {
        /// The dose.
        dose: f32,
        /// Wind can take what lies on it.
        loose: bool,
    },
    /// Always so long under the lamp.
    Lamp(At),
    /// Its lamp gives nothing.
    Never,
}

/// A lot that waits.
#[derive(Debug, Clone)]
pub struct LotWork {
    /// Index of its class.
    pub class: usize,
    /// Index of its frame.
    pub frame: usize,
    /// Sheets 0, line 1.
    pub space: usize,
    /// Its pieces.
    pub pieces: Vec<PieceWork>,
    /// Coating of all.
    pub coat: At,
    /// In the dark.
    pub dark: At,
    /// A person stays with it.
    pub attended: bool,
    /// Washing.
    pub wash: At,
    /// Trays.
    pub trays: i64,
    /// On the wet-dry rack.
    pub open: At,
    /// From wash to finishing at least.
    pub cure: At,
    /// Finishing of all.
    pub finish: At,
    /// Where it stands now, and since or from when.
    pub stands: Stands,
    /// When it came off the brush, for one that dries now.
    pub dries_from: Option<At>,
    /// Earlier goes first.
    pub due: At,
}

/// Where a lot stands, and from when on the next step can be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stands {
    /// To be coated.
    Bare(At),
    /// To be exposed.
    Coated(At),
    /// To be washed.
    Exposed(At),
    /// To be finished.
    Washed(At),
}

/// A piece of a lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PieceWork {
    /// Index into the orders given.
    pub order: usize,
    /// Its number in the order.
    pub number: u32,
    /// Rack places.
    pub places: i64,
}

/// An open order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OrderWork {
    /// Packing.
    pub pack: At,
    /// It is handed over at the door.
    pub at_the_door: bool,
    /// Whether it can leave at all: nothing on hold, nothing too large.
    pub can_leave: bool,
    /// Pieces that must be finished first.
    pub pieces: u32,
}

/// How often pieces of a kind are made again, as far as is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Remakes {
    /// The likely share.
    pub share: f64,
    /// Pieces of experience behind it.
    pub pieces: f64,
}

impl Remakes {
    /// Draws the true share under some luck: it is as unsure as the experience is thin.
    ///
    /// A beta distribution whose mean is the likely share: what is known of a chance
    /// after so many pieces of which so many failed.
    pub fn share_under(&self, luck: Luck) -> f64 {
        let failed = self.share * self.pieces;
        let Ok(beta) = Beta::new(failed, self.pieces - failed) else {
            // No experience, or all of it alike.
            return self.share;
        };
        let seed = mixed(&[luck.seed, luck.number, 0x5eed]);
        beta.sample(&mut SmallRng::seed_from_u64(seed))
    }
}

impl Work {
    /// Makes it from orders and studio at a moment, for `days` days.
    ///
    /// `dry_factor` is how many times their usual hours things take to dry.
    pub fn new(
        orders: &[Order],
        studio: &Studio,
        site: &Site,
        now: NaiveDateTime,
        dry_factor: f64,
    ) -> Work {
        let mut today = studio.clone();
        // The light is left out, so one day of the planner's problem holds all lots.
        today.planning.days = 1;
        // A rollout goes at everything as soon as it can: nothing to hurry.
        today.planning.second_go = 0;
        let begin = now.and_utc();
        let none = ClearLight::over(*site, begin..begin, Step::FIVE_MINUTES);
        let outdoors = Outdoors {
            light: &LightCurve::under(&none, &[], &CurveRules::default()),
            forecast: None,
            dry_factor,
        };
        let setup = setup(orders, &today, &outdoors, now, &UnderWay::default());
        let grid = Grid {
            days: studio.promises.days,
            ..setup.grid
        };
        let at = |slot: i64| At::try_from(slot).unwrap_or(At::MAX);
        let instance = &setup.instance;
        let stretches = work_stretches(&grid, studio, now).into_iter();
        let collections = collections(&grid, studio, now).into_iter();
        Work {
            grid,
            now: at(setup.now_slot()),
            stretches: stretches
                .map(|(from, until)| (at(from), at(until)))
                .collect(),
            hands: studio.hands.min(100) as u8,
            collections: collections.map(at).collect(),
            frames: studio
                .frames
                .iter()
                .map(|f| f.count.min(200) as u8)
                .collect(),
            dark: [instance.capacity.dark_sheet, instance.capacity.dark_line],
            open: [instance.capacity.open_sheet, instance.capacity.open_line],
            trays: instance.capacity.tray,
            session: (
                at(instance.session.setup),
                at(instance.session.mix_life),
                instance.session.max_per_day,
            ),
            round: (
                at(instance.load),
                at(instance.unload),
                at(instance.wash_gap),
            ),
            exposure_most: studio.weather.exposure_max_minutes as f32 / 5.0,
            classes: setup.tables.iter().map(|table| light(&table.key)).collect(),
            lots: (0..setup.lots.len())
                .map(|lot| lot_work(&setup, lot, studio))
                .collect(),
            orders: order_works(&setup),
            remakes: remakes_of(orders, studio),
        }
    }
}

/// Returns the experience with paper and with cloth.
pub fn remakes_of(orders: &[Order], studio: &Studio) -> [Remakes; 2] {
    [MaterialKind::Paper, MaterialKind::Cloth].map(|kind| remakes(orders, studio, kind))
}

fn remakes(orders: &[Order], studio: &Studio, kind: MaterialKind) -> Remakes {
    let record = remake_record(orders, studio, kind);
    Remakes {
        share: remake_share(record, kind, &studio.planning),
        pieces: f64::from(record.tries + studio.planning.remake_start_pieces),
    }
}

fn light(key: &ClassKey) -> Light {
    match key.lamp {
        None => Light::Sun {
            dose: key.dose.joules() as f32,
            loose: key.loose,
        },
        Some(rate) => {
            let slots = (rate.minutes_to(key.dose) / 5.0 - 1e-9).ceil();
            if slots.is_finite() && slots < PER_DAY as f64 {
                Light::Lamp((slots as At).max(1))
            } else {
                Light::Never
            }
        }
    }
}

fn lot_work(setup: &Setup, index: usize, studio: &Studio) -> LotWork {
    let (core, lot) = (&setup.instance.lots[index], &setup.lots[index]);
    let at = |slot: i64| slot.clamp(i64::from(At::MIN / 4), i64::from(At::MAX / 4)) as At;
    let stands = match lot.pieces[0].standing {
        Standing::Uncoated { release } => Stands::Bare(at(release)),
        Standing::Coated { dry, .. } => Stands::Coated(at(dry)),
        Standing::Exposed { exposed_end } => Stands::Exposed(at(exposed_end)),
        Standing::Finished => Stands::Exposed(at(setup.now_slot())),
        Standing::Washed { washed_end } => {
            Stands::Washed(at(washed_end + core.open.max(core.cure)))
        }
    };
    let due = lot.pieces.iter().map(|piece| {
        let planned = setup.planned.iter().position(|order| *order == piece.order);
        planned.map_or(At::MAX, |order| at(setup.instance.orders[order].promise))
    });
    LotWork {
        class: setup.table_of[index],
        frame: lot.frame.unwrap_or(0),
        space: match core.space {
            Space::Sheet => 0,
            Space::Line => 1,
        },
        pieces: lot
            .pieces
            .iter()
            .map(|waiting| PieceWork {
                order: waiting.order,
                number: waiting.piece.number,
                places: places(waiting, studio),
            })
            .collect(),
        coat: at(core.coat),
        // For a lot that dries now the planner counts what is left of its hours.
        dark: match lot.pieces[0].standing {
            Standing::Coated { .. } => dark_slots(lot.pieces[0].material),
            _ => at(core.dark),
        },
        attended: core.attended,
        wash: at(core.wash),
        trays: core.tray,
        open: at(core.open),
        cure: at(core.cure),
        finish: at(core.finish),
        stands,
        dries_from: core.coated_end.map(at),
        due: due.min().unwrap_or(At::MAX),
    }
}

fn dark_slots(material: &crate::studio::Material) -> At {
    let hours = material.dark_dry_hours * f64::from(material.coats);
    crate::plan::grid::slots_of_hours(hours) as At
}

fn order_works(setup: &Setup) -> Vec<Option<OrderWork>> {
    let mut works = vec![None; setup.orders.len()];
    for (index, order) in setup.planned.iter().enumerate() {
        let core = &setup.instance.orders[index];
        let pieces = setup.lots.iter().flat_map(|lot| &lot.pieces);
        works[*order] = Some(OrderWork {
            pack: core.pack.max(1) as At,
            at_the_door: core.handover,
            can_leave: setup.can_leave(index),
            pieces: pieces.filter(|piece| piece.order == *order).count() as u32,
        });
    }
    works
}
