//! A timing as days that a person follows: when, what, which pieces, where to.
//!
//! Slots become wall times and lots become pieces; a coating session is told
//! with its mix, a round with the very frame that it takes. Nothing is decided
//! here and no words are made: that is `view`.

mod going_on;

use std::collections::BTreeMap;

use chrono::{NaiveDate, NaiveDateTime, TimeDelta};

pub use self::going_on::by_order;
use self::going_on::going_on;
use super::lay::Laid;
use super::model::{Slot, Timing};
use super::setup::Setup;
use super::waiting::Waiting;
use crate::forecast::Origin;
use crate::light::Quality;
use crate::mix::{Coating, Mix, mix};
use crate::order::Delivery;
use crate::studio::Studio;

/// A plan, told by days.
#[derive(Debug, Clone)]
pub struct Week {
    /// Days with at least one step, ascending.
    pub days: Vec<Day>,
}

/// One local day.
#[derive(Debug, Clone)]
pub struct Day {
    /// The day.
    pub date: NaiveDate,
    /// Its steps by time.
    pub steps: Vec<Step>,
}

/// Something to do at a time.
#[derive(Debug, Clone)]
pub struct Step {
    /// When it begins.
    pub from: NaiveDateTime,
    /// When it ends.
    pub until: NaiveDateTime,
    /// What it is.
    pub what: What,
}

/// What a step is.
#[derive(Debug, Clone)]
pub enum What {
    /// Mixing, then coating everything of one session.
    Coat(Session),
    /// A round of one frame, from loading to unloading.
    Expose(Round),
    /// Pieces into the water and then onto the wet-dry rack.
    Wash(Batch),
    /// Press or iron, sign, number.
    Finish(Batch),
    /// Packing of an order.
    Pack(Parcel),
    /// The carrier comes, or the customer may: orders that leave at this moment.
    Leave(Vec<Parcel>),
}

/// A coating session.
#[derive(Debug, Clone)]
pub struct Session {
    /// What to mix.
    pub mix: Mix,
    /// When mixing begins, or began.
    pub mixed_at: NaiveDateTime,
    /// When the mix is ready; its life begins.
    pub ready: NaiveDateTime,
    /// When the mix is past its life.
    pub mix_until: NaiveDateTime,
    /// The mix was made before the plan; `mix` is what the coats left take of it.
    pub stands: bool,
    /// What is coated, in its order.
    pub coats: Vec<Coat>,
}

/// One lot under the brush.
#[derive(Debug, Clone)]
pub struct Coat {
    /// When it begins.
    pub from: NaiveDateTime,
    /// When it goes into the dark.
    pub until: NaiveDateTime,
    /// When it is dry.
    pub dry: NaiveDateTime,
    /// The pieces.
    pub batch: Batch,
}

/// Pieces that go through together.
#[derive(Debug, Clone)]
pub struct Batch {
    /// Index into the lots of the setup.
    pub lot: usize,
    /// Key of their material.
    pub material: String,
    /// The pieces by order.
    pub pieces: Vec<OrderPieces>,
    /// When they may come off the wet-dry rack, for a wash.
    pub free: Option<NaiveDateTime>,
}

/// Some pieces of one order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderPieces {
    /// Index into the orders of the setup.
    pub order: usize,
    /// Numbers of its pieces, ascending.
    pub numbers: Vec<u32>,
}

/// One loading of a frame.
#[derive(Debug, Clone)]
pub struct Round {
    /// The pieces.
    pub batch: Batch,
    /// Name of the frame.
    pub frame: String,
    /// Which of the frames alike, from 1.
    pub which: u32,
    /// How many frames alike there are.
    pub of: u32,
    /// When it goes into the light.
    pub light_from: NaiveDateTime,
    /// How long it stays there. [min]
    pub minutes: f64,
    /// Chance that the weather spoils it. [‰]
    pub risk_per_mille: i64,
    /// What its weather rests on.
    pub origin: Origin,
    /// How far its minutes are to be trusted.
    pub quality: Quality,
    /// Whether a person stays with it.
    pub watch: bool,
    /// Under the lamp, not outdoors.
    pub lamp: bool,
    /// How the pieces lie, in the order of the lot's pieces.
    pub laid: Vec<Laid>,
}

/// An order made ready.
#[derive(Debug, Clone)]
pub struct Parcel {
    /// Index into the orders of the setup.
    pub order: usize,
    /// It is handed over at the door.
    pub pickup: bool,
}

/// Tells a timing by days.
pub fn week(setup: &Setup, studio: &Studio, timing: &Timing) -> Week {
    let mut steps = sessions(setup, studio, timing);
    steps.extend(going_on(setup, studio));
    steps.extend(rounds(setup, studio, timing));
    steps.extend(after_the_frame(setup, timing));
    steps.extend(parcels(setup, timing));
    steps.sort_by_key(|step| (step.from, step.until, rank(&step.what)));
    let mut days: Vec<Day> = Vec::new();
    for step in steps {
        let date = step.from.date();
        match days.last_mut() {
            Some(day) if day.date == date => day.steps.push(step),
            _ => days.push(Day {
                date,
                steps: vec![step],
            }),
        }
    }
    Week { days }
}

fn rank(what: &What) -> u8 {
    match what {
        What::Expose(_) => 0,
        What::Wash(_) => 1,
        What::Coat(_) => 2,
        What::Finish(_) => 3,
        What::Pack(_) => 4,
        What::Leave(_) => 5,
    }
}

fn sessions(setup: &Setup, studio: &Studio, timing: &Timing) -> Vec<Step> {
    let mut steps = Vec::new();
    for (index, session) in timing.sessions.iter().enumerate() {
        let coats = placed(setup, timing)
            .filter(|(_, at)| at.session == Some(index))
            .filter_map(|(lot, at)| Some(coat(setup, lot, at.coat?)))
            .collect();
        steps.push(session_step(setup, studio, session.start, coats));
    }
    steps
}

fn session_step(setup: &Setup, studio: &Studio, start: Slot, mut coats: Vec<Coat>) -> Step {
    coats.sort_by_key(|coat| (coat.from, coat.batch.lot));
    let rule = &setup.instance.session;
    let ready = setup.grid.wall(start + rule.setup);
    let until = coats.iter().map(|coat| coat.until).max();
    Step {
        from: setup.grid.wall(start),
        until: until.unwrap_or(ready),
        what: What::Coat(Session {
            mix: mix(&coating_list(setup, &coats), &studio.sensitizer),
            mixed_at: setup.grid.wall(start),
            ready,
            mix_until: setup.grid.wall(start + rule.setup + rule.mix_life),
            stands: start < setup.now_slot() && ready <= setup.now,
            coats,
        }),
    }
}

fn coat(setup: &Setup, lot: usize, at: Slot) -> Coat {
    let core = &setup.instance.lots[lot];
    let until = at + core.coat;
    Coat {
        from: setup.grid.wall(at),
        until: setup.grid.wall(until),
        dry: setup.grid.wall(until + core.dark),
        batch: batch(setup, lot),
    }
}

/// Lists what is coated, piece by piece, for the volume of the mix.
fn coating_list(setup: &Setup, coats: &[Coat]) -> Vec<Coating> {
    let mut list = Vec::new();
    for coat in coats {
        let lot = setup.lots[coat.batch.lot].pieces.iter();
        let meant = lot.filter(|waiting| coat.batch.has(waiting));
        list.extend(meant.map(|waiting| Coating::sheet(waiting.piece.size, waiting.material)));
    }
    list
}

fn rounds(setup: &Setup, studio: &Studio, timing: &Timing) -> Vec<Step> {
    let instance = &setup.instance;
    let mut by_frame: BTreeMap<usize, Vec<(Slot, Slot, usize, Slot)>> = BTreeMap::new();
    for (lot, at) in placed(setup, timing) {
        let (Some(expose), Some(frame)) = (at.expose, setup.lots[lot].frame) else {
            continue;
        };
        let duration = setup.table(lot).duration(expose);
        let (from, until) = (expose - instance.load, expose + duration + instance.unload);
        by_frame
            .entry(frame)
            .or_default()
            .push((from, until, lot, expose));
    }
    let mut steps = Vec::new();
    for (frame, mut uses) in by_frame {
        uses.sort_unstable();
        let mut free_from: Vec<Slot> = vec![Slot::MIN; studio.frames[frame].count as usize];
        for (from, until, lot, expose) in uses {
            let which = free_from.iter().position(|free| *free <= from);
            let which = which.expect("the audit has counted the frames");
            free_from[which] = until;
            let frame = &studio.frames[frame];
            let start = setup.table(lot).find(expose);
            let start = start.expect("the audit has seen that the start is admissible");
            steps.push(Step {
                from: setup.grid.wall(from),
                until: setup.grid.wall(until),
                what: What::Expose(Round {
                    batch: batch(setup, lot),
                    frame: frame.name.clone(),
                    which: which as u32 + 1,
                    of: frame.count,
                    light_from: setup.grid.wall(expose),
                    minutes: start.minutes,
                    risk_per_mille: start.risk,
                    origin: start.origin,
                    quality: start.quality,
                    watch: instance.lots[lot].attended,
                    lamp: frame.lamp.is_some(),
                    laid: setup.lots[lot].laid.clone(),
                }),
            });
        }
    }
    steps
}

fn after_the_frame(setup: &Setup, timing: &Timing) -> Vec<Step> {
    let mut steps = Vec::new();
    for (lot, at) in placed(setup, timing) {
        let core = &setup.instance.lots[lot];
        if let Some(wash) = at.wash {
            let out = wash + core.wash;
            let free = Some(setup.grid.wall(out + core.open));
            steps.push(Step {
                from: setup.grid.wall(wash),
                until: setup.grid.wall(out),
                what: What::Wash(Batch {
                    free,
                    ..batch(setup, lot)
                }),
            });
        }
        steps.push(Step {
            from: setup.grid.wall(at.finish),
            until: setup.grid.wall(at.finish + core.finish),
            what: What::Finish(batch(setup, lot)),
        });
    }
    steps
}

fn parcels(setup: &Setup, timing: &Timing) -> Vec<Step> {
    let mut steps = Vec::new();
    let mut leaving: BTreeMap<Slot, Vec<Parcel>> = BTreeMap::new();
    for (index, core) in setup.instance.orders.iter().enumerate() {
        let Some(at) = timing.orders.get(&core.id) else {
            continue;
        };
        if !setup.can_leave(index) {
            continue;
        }
        let order = setup.planned[index];
        let pickup = setup.orders[order].delivery == Delivery::Pickup;
        let end = at.pack + core.pack;
        steps.push(Step {
            from: setup.grid.wall(at.pack),
            until: setup.grid.wall(end),
            what: What::Pack(Parcel { order, pickup }),
        });
        let leaves = if pickup {
            Some(end)
        } else {
            setup.collection_after(end)
        };
        leaving
            .entry(leaves.unwrap_or(end))
            .or_default()
            .push(Parcel { order, pickup });
    }
    for (slot, parcels) in leaving {
        let at = setup.grid.wall(slot);
        steps.push(Step {
            from: at,
            until: at,
            what: What::Leave(parcels),
        });
    }
    steps
}

/// Lists the lots that are in the plan, by index.
fn placed<'a>(
    setup: &'a Setup,
    timing: &'a Timing,
) -> impl Iterator<Item = (usize, &'a super::model::LotTiming)> {
    setup
        .instance
        .lots
        .iter()
        .enumerate()
        .filter_map(|(index, lot)| Some((index, timing.lots.get(&lot.id)?)))
}

fn batch(setup: &Setup, lot: usize) -> Batch {
    let mut pieces = Vec::new();
    add_pieces(&mut pieces, setup, lot);
    Batch {
        lot,
        material: setup.lots[lot].pieces[0].material.key.clone(),
        pieces,
        free: None,
    }
}

/// Adds the pieces of a lot to a list by order, numbers ascending.
pub(super) fn add_pieces(list: &mut Vec<OrderPieces>, setup: &Setup, lot: usize) {
    let mut by_order: BTreeMap<usize, Vec<u32>> = std::mem::take(list)
        .into_iter()
        .map(|pieces| (pieces.order, pieces.numbers))
        .collect();
    for waiting in &setup.lots[lot].pieces {
        let numbers = by_order.entry(waiting.order).or_default();
        numbers.push(waiting.piece.number);
        numbers.sort_unstable();
    }
    let pieces = |(order, numbers)| OrderPieces { order, numbers };
    list.extend(by_order.into_iter().map(pieces));
}

impl Batch {
    fn has(&self, waiting: &Waiting) -> bool {
        let mut pieces = self.pieces.iter();
        pieces.any(|of| of.order == waiting.order && of.numbers.contains(&waiting.piece.number))
    }
}

impl Week {
    /// Finds the steps of a day.
    pub fn find_day(&self, date: NaiveDate) -> Option<&Day> {
        self.days.iter().find(|day| day.date == date)
    }

    /// Returns the last day with a step.
    pub fn last_day(&self) -> Option<NaiveDate> {
        self.days.last().map(|day| day.date)
    }
}

impl Step {
    /// Returns start, kind and pieces or orders as text, to compare steps of two plans.
    pub fn summary(&self) -> String {
        let what = match &self.what {
            What::Coat(session) => {
                let coats = session.coats.iter();
                let pieces: Vec<_> = coats.flat_map(|coat| &coat.batch.pieces).collect();
                format!("coat {pieces:?}")
            }
            What::Expose(round) => format!("expose {} {:?}", round.frame, round.batch.pieces),
            What::Wash(batch) => format!("wash {:?}", batch.pieces),
            What::Finish(batch) => format!("finish {:?}", batch.pieces),
            What::Pack(parcel) => format!("pack {}", parcel.order),
            What::Leave(parcels) => format!("leave {parcels:?}"),
        };
        format!("{} {what}", self.from)
    }

    /// Returns how long it takes.
    pub fn length(&self) -> TimeDelta {
        self.until - self.from
    }
}
