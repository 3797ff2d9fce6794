//! The work of a studio under one weather, day by day, as a maker would go about it.
//!
//! No search: whoever is due first goes first, at every moment with the first thing
//! that can be done, in this order: what makes the carrier of today; into the sun;
//! into the water; coating; finishing; packing. The sky of the day is seen as it is,
//! so a cloud is waited out and rain keeps the frames in. What fails is found when it
//! is finished, and begins again with the plan of the next morning.
//!
//! It is no plan: a planner finds better ways through a full week. How far apart the
//! two are is measured in `tests/it/odds`.

use super::desk::{Desk, RackKind};
use super::normal::share_of;
use super::weather::DayLight;
use super::work::{At, Light, LotWork, Stands, Work};
use crate::plan::grid::PER_DAY;

/// Slots of a day.
const DAY: At = PER_DAY as At;
/// So long before the carrier comes, what can still go with him goes first. [slots]
const BEFORE_PICKUP: At = 24;
/// Exposures begin at whole quarters of an hour. [slots]
const QUARTER: At = 3;

/// A number that belongs to a weather and to nothing else.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Luck {
    /// Seed of all weathers.
    pub seed: u64,
    /// The weather.
    pub number: u64,
}

impl Luck {
    /// Returns the luck of a piece at a try, even from 0 to 1: it fails if this is less
    /// than the share that is made again.
    pub fn of_try(&self, order: usize, piece: u32, tries: u32) -> f64 {
        let names = [order as u64, u64::from(piece), u64::from(tries)];
        share_of(&[&[self.seed, self.number][..], &names].concat())
    }
}

/// A lot on its way.
#[derive(Debug, Clone, Copy)]
struct Way {
    /// Index of its lot.
    lot: usize,
    /// The pieces still in it, one bit each; those from the 128th on share the last.
    pieces: u128,
    /// How many they are.
    count: u32,
    /// How often it began again.
    tries: u32,
    stands: Stands,
}

/// A rollout on its way.
struct Rollout<'a> {
    work: &'a Work,
    luck: Luck,
    /// Shares that are made again: paper, cloth.
    remade: [f64; 2],
    desk: Desk,
    /// By due day.
    ways: Vec<Way>,
    /// Pieces of each order that are not finished.
    left: Vec<u32>,
    /// When the last piece was finished.
    finished: Vec<At>,
    left_at: Vec<Option<At>>,
    sessions_today: i64,
    /// Until when the mix of today lives.
    mix_until: At,
    light: DayLight,
    durations: Vec<Option<Vec<u16>>>,
}

/// Returns when each order leaves, by the orders given; none for one that does not
/// leave within the days. [slots]
///
/// `next_day` gives the light of the days from today on, one after the other.
pub fn roll(work: &Work, luck: Luck, mut next_day: impl FnMut() -> DayLight) -> Vec<Option<At>> {
    let mut rollout = Rollout::new(work, luck);
    let mut stretches = work.stretches.as_slice();
    for day in 0..work.grid.days as At {
        let light = next_day();
        let first = day * DAY;
        let count = stretches.partition_point(|(from, _)| *from < first + DAY);
        let (today, later) = stretches.split_at(count);
        stretches = later;
        rollout.begin_day(first, light, today);
        for (from, until) in today {
            rollout.work_through(*from, *until);
        }
        if rollout.is_done() {
            break;
        }
    }
    rollout.left_at
}

impl<'a> Rollout<'a> {
    fn new(work: &'a Work, luck: Luck) -> Rollout<'a> {
        let mut desk = Desk::new(work);
        let mut ways: Vec<Way> = work
            .lots
            .iter()
            .enumerate()
            .map(|(index, lot)| Way {
                lot: index,
                pieces: u128::MAX >> (128 - lot.pieces.len().clamp(1, 128)),
                count: lot.pieces.len() as u32,
                tries: 0,
                stands: lot.stands,
            })
            .collect();
        ways.sort_by_key(|way| (work.lots[way.lot].due, way.lot));
        for way in &ways {
            occupy_at_first(&mut desk, &work.lots[way.lot]);
        }
        let orders = work.orders.len();
        Rollout {
            work,
            luck,
            remade: work.remakes.map(|kind| kind.share_under(luck)),
            desk,
            ways,
            left: work
                .orders
                .iter()
                .map(|order| order.map_or(0, |o| o.pieces))
                .collect(),
            finished: vec![0; orders],
            left_at: vec![None; orders],
            sessions_today: 0,
            mix_until: 0,
            light: DayLight::dark(),
            durations: vec![None; work.classes.len()],
        }
    }

    fn begin_day(&mut self, first: At, light: DayLight, stretches: &[(At, At)]) {
        self.desk.begin_day(first, stretches);
        self.light = light;
        self.sessions_today = 0;
        self.durations.iter_mut().for_each(|table| *table = None);
    }

    fn is_done(&self) -> bool {
        let orders = self.work.orders.iter().zip(&self.left_at);
        orders
            .filter_map(|(order, left)| Some((order.as_ref()?, left)))
            .all(|(order, left)| !order.can_leave || left.is_some())
    }

    fn work_through(&mut self, from: At, until: At) {
        let mut at = from.max(self.work.now);
        while at < until {
            if !self.desk.is_free(at, 1) || !self.do_something(at) {
                at += 1;
            }
        }
    }

    /// Begins the first thing that can be begun at a moment; false if nothing can.
    fn do_something(&mut self, at: At) -> bool {
        let pickup = self.work.collections.partition_point(|slot| *slot < at);
        let pickup = self.work.collections.get(pickup).copied();
        let hurries = pickup.is_some_and(|slot| slot - at <= BEFORE_PICKUP);
        (hurries && (self.pack(at) || self.finish(at)))
            || self.expose(at)
            || self.wash_what_waits(at)
            || self.coat(at)
            || self.finish(at)
            || self.pack(at)
    }

    fn expose(&mut self, at: At) -> bool {
        let (load, unload, _) = self.work.round;
        let light_at = (at + load + QUARTER - 1).div_euclid(QUARTER) * QUARTER;
        let load_at = light_at - load;
        for index in 0..self.ways.len() {
            let Stands::Coated(dry) = self.ways[index].stands else {
                continue;
            };
            let lot = &self.work.lots[self.ways[index].lot];
            if dry > load_at {
                continue;
            }
            let Some(duration) = self.duration(lot.class, light_at) else {
                continue;
            };
            let out = light_at + duration;
            let whole = load + duration + unload;
            let manned = if lot.attended {
                self.desk.is_free(load_at, whole)
            } else {
                self.desk.is_free(load_at, load) && self.desk.is_free(out, unload)
            };
            if !manned || !self.desk.has_frame(lot.frame, load_at, whole) {
                continue;
            }
            if lot.attended {
                self.desk.take(load_at, whole);
            } else {
                self.desk.take(load_at, load);
                self.desk.take(out, unload);
            }
            if self.wash(index, out + unload) {
                self.desk.take_frame(lot.frame, load_at, whole);
                return true;
            }
            if lot.attended {
                self.desk.give_back(load_at, whole);
            } else {
                self.desk.give_back(load_at, load);
                self.desk.give_back(out, unload);
            }
        }
        false
    }

    /// Returns how long an exposure of a class takes from a moment of today.
    fn duration(&mut self, class: usize, at: At) -> Option<At> {
        let (dose, loose) = match self.work.classes[class] {
            Light::Lamp(slots) => return Some(slots),
            Light::Never => return None,
            Light::Sun { dose, loose } => (dose, loose),
        };
        let (light, most) = (&self.light, self.work.exposure_most);
        let table = self.durations[class].get_or_insert_with(|| {
            (0..(DAY / QUARTER) as u16)
                .map(|quarter| light.find_duration(dose, loose, quarter * QUARTER as u16, most))
                .map(|slots| slots.unwrap_or(0))
                .collect()
        });
        let quarter = at.rem_euclid(DAY) / QUARTER;
        Some(At::from(table[quarter as usize])).filter(|slots| *slots > 0)
    }

    /// Puts a lot into the water at `from` or soon after; false if it cannot be.
    fn wash(&mut self, index: usize, from: At) -> bool {
        let lot = &self.work.lots[self.ways[index].lot];
        let places = self.places(index);
        for at in from..=from + self.work.round.2 {
            let fits = self.desk.is_free(at, lot.wash)
                && self.desk.has_trays(lot.trays, at, lot.wash)
                && self
                    .desk
                    .has_places(RackKind::Open(lot.space), places, at + lot.wash);
            if fits {
                self.desk.take(at, lot.wash);
                self.desk.take_trays(lot.trays, at, lot.wash);
                let out = at + lot.wash;
                self.desk
                    .take_places(RackKind::Open(lot.space), places, out + lot.open);
                self.ways[index].stands = Stands::Washed(out + lot.open.max(lot.cure));
                return true;
            }
        }
        false
    }

    fn wash_what_waits(&mut self, at: At) -> bool {
        let waits = |way: &Way| matches!(way.stands, Stands::Exposed(from) if from <= at);
        let Some(index) = self.ways.iter().position(waits) else {
            return false;
        };
        self.wash(index, at)
    }

    fn places(&self, index: usize) -> i64 {
        let way = &self.ways[index];
        let pieces = self.work.lots[way.lot].pieces.iter().enumerate();
        let there = pieces.filter(|(bit, _)| way.pieces >> bit.min(&127) & 1 == 1);
        there.map(|(_, piece)| piece.places).sum()
    }

    fn coat(&mut self, at: At) -> bool {
        let (setup, life, sessions) = self.work.session;
        let is_open = self.mix_until > at;
        if !is_open && self.sessions_today >= sessions {
            return false;
        }
        let begin = if is_open { at } else { at + setup };
        let mix_until = if is_open {
            self.mix_until
        } else {
            begin + life
        };
        for index in 0..self.ways.len() {
            let way = self.ways[index];
            let lot = &self.work.lots[way.lot];
            let Stands::Bare(release) = way.stands else {
                continue;
            };
            let coat = scaled(lot.coat, way.count, lot);
            let (end, places) = (begin + coat, self.places(index));
            let dark = RackKind::Dark(lot.space);
            let fits = release <= begin
                && end <= mix_until
                && self.desk.has_places(dark, places, end)
                && self.desk.is_free(at, end - at);
            if fits {
                self.desk.take(at, end - at);
                self.desk.take_places(dark, places, end + lot.dark);
                self.ways[index].stands = Stands::Coated(end + lot.dark);
                self.sessions_today += i64::from(!is_open);
                self.mix_until = mix_until;
                return true;
            }
        }
        false
    }

    fn finish(&mut self, at: At) -> bool {
        for index in 0..self.ways.len() {
            let way = self.ways[index];
            let lot = &self.work.lots[way.lot];
            let length = scaled(lot.finish, way.count, lot);
            let ready = matches!(way.stands, Stands::Washed(from) if from <= at);
            if ready && self.desk.is_free(at, length) {
                self.desk.take(at, length);
                self.inspect(index, at + length);
                return true;
            }
        }
        false
    }

    /// Passes the good pieces of a lot and sends the others back to coating.
    fn inspect(&mut self, index: usize, at: At) {
        let way = self.ways.remove(index);
        let lot = &self.work.lots[way.lot];
        let (mut again, mut count) = (0u128, 0);
        for (place, piece) in lot.pieces.iter().enumerate() {
            let bit = 1u128 << place.min(127);
            if way.pieces & bit == 0 {
                continue;
            }
            let draw = self.luck.of_try(piece.order, piece.number, way.tries);
            // Pieces beyond the 127th share a bit; they are taken to come out well.
            if place < 127 && draw < self.remade[lot.space] {
                again |= bit;
                count += 1;
            } else {
                self.left[piece.order] -= 1;
                self.finished[piece.order] = self.finished[piece.order].max(at);
            }
        }
        if count > 0 {
            let way = Way {
                pieces: again,
                count,
                tries: way.tries + 1,
                stands: Stands::Bare((at.div_euclid(DAY) + 1) * DAY),
                ..way
            };
            self.ways.insert(index, way);
        }
    }

    fn pack(&mut self, at: At) -> bool {
        for (index, order) in self.work.orders.iter().enumerate() {
            let Some(order) = order else { continue };
            let ready = order.can_leave
                && self.left_at[index].is_none()
                && self.left[index] == 0
                && self.finished[index] <= at;
            if ready && self.desk.is_free(at, order.pack) {
                self.desk.take(at, order.pack);
                let end = at + order.pack;
                self.left_at[index] = if order.at_the_door {
                    Some(end - 1)
                } else {
                    let next = self.work.collections.partition_point(|slot| *slot < end);
                    let never = self.work.grid.horizon() as At;
                    Some(self.work.collections.get(next).copied().unwrap_or(never))
                };
                return true;
            }
        }
        false
    }
}

/// Returns what a part of a lot takes of the time for the whole of it.
fn scaled(whole: At, count: u32, lot: &LotWork) -> At {
    let pieces = lot.pieces.len().max(1) as At;
    (whole * count as At + pieces - 1) / pieces
}

/// Puts what hangs on the racks at first onto them.
fn occupy_at_first(desk: &mut Desk, lot: &LotWork) {
    let places = lot.pieces.iter().map(|piece| piece.places).sum();
    match (lot.stands, lot.dries_from) {
        (Stands::Coated(dry), Some(_)) => desk.take_places(RackKind::Dark(lot.space), places, dry),
        (Stands::Washed(ready), _) => {
            let until = ready - lot.open.max(lot.cure) + lot.open;
            desk.take_places(RackKind::Open(lot.space), places, until);
        }
        _ => {}
    }
}
