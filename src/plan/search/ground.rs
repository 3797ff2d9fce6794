//! The instance made ready for searching: names become indices, lengths are
//! clipped, and what never changes during a search is worked out once.
//!
//! For every lot this holds the table of its admissible exposures with the
//! earliest moment at which the lot could then be finished if nothing else were
//! to be done in the studio. The table is cut into *tiers*: exposures after which
//! every order of the lot leaves on the same days. Inside a tier only risk counts,
//! so a tier is kept in ascending order of risk.

use std::collections::{BTreeMap, HashMap};

use super::At;
use super::hands::{Hands, Task};
use super::places::Places;
use crate::plan::model::{Held, Instance, Lot, Order, Space};

/// Longest horizon that is looked at. [slots]
const HORIZON_MAX: i64 = 1 << 20;
/// No step is longer and no moment is farther away. [slots]
const FAR: i64 = 1 << 22;
/// The tray's place among the resources; frames follow it.
pub(super) const TRAY: usize = 4;

/// An admissible exposure of a lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Start {
    /// When the light is let in.
    pub(super) at: At,
    /// How long it takes.
    pub(super) length: At,
    /// Weighted risk.
    pub(super) price: i64,
    /// End of finishing if nothing else had to be done.
    pub(super) done: At,
}

/// A run of a lot's exposures after which its orders leave on the same days.
#[derive(Debug, Clone)]
pub(super) struct Tier {
    /// Where its exposures are in [`LotFacts::starts`].
    pub(super) starts: std::ops::Range<usize>,
    /// Day of leaving for each order in [`LotFacts::orders`], at best.
    pub(super) days: Vec<i64>,
}

/// How far a lot has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Come {
    /// Nothing is done.
    Fresh,
    /// Coated, dry at this slot.
    Coated(At),
    /// Exposed before the plan begins; its wash is settled.
    Washing {
        /// Start of the wash.
        at: At,
        /// When it may be finished.
        ready: At,
    },
    /// Washed; it may be finished from this slot on.
    Washed(At),
    /// It cannot be planned at all: its class or frame is not there, or its wash
    /// finds no place.
    Never,
}

/// A lot with everything the search asks for.
#[derive(Debug, Clone)]
pub(super) struct LotFacts {
    pub(super) come: Come,
    pub(super) amount: i32,
    pub(super) trays: i32,
    /// Resource of dark-drying.
    pub(super) dark_rack: usize,
    /// Resource of wet-drying.
    pub(super) open_rack: usize,
    /// Resource of its frame.
    pub(super) frame: usize,
    pub(super) coat: At,
    pub(super) dark: At,
    pub(super) keep: At,
    pub(super) attended: bool,
    pub(super) wash: At,
    pub(super) open: At,
    /// Least wait from the end of the wash to finishing.
    pub(super) rest: At,
    pub(super) finish: At,
    pub(super) release: At,
    /// The orders that wait for it, ascending.
    pub(super) orders: Vec<usize>,
    pub(super) starts: Vec<Start>,
    /// Least price of an exposure, weighted.
    pub(super) least: i64,
    /// Earliest end of finishing if nothing else had to be done.
    pub(super) soonest: At,
    pub(super) tiers: Vec<Tier>,
}

/// An order with everything the search asks for.
#[derive(Debug, Clone)]
pub(super) struct OrderFacts {
    /// Its lots, ascending, each once.
    pub(super) lots: Vec<usize>,
    pub(super) pack: At,
    /// Whether every lot that it names exists and can be planned.
    pub(super) possible: bool,
    handover: bool,
    /// Not packed before.
    pub(super) release: At,
    weight: i64,
    promise_day: i64,
    /// Which table in [`Ground::leave`] belongs to it.
    leave: usize,
    /// Weighted lateness that it has even if nothing else is to be done.
    pub(super) least_late: i64,
}

/// The instance made ready.
#[derive(Debug)]
pub(super) struct Ground<'a> {
    pub(super) instance: &'a Instance,
    pub(super) horizon: At,
    pub(super) per_day: At,
    pub(super) setup: At,
    pub(super) mix_life: At,
    pub(super) sessions_per_day: i64,
    pub(super) load: At,
    pub(super) unload: At,
    pub(super) wash_gap: At,
    pub(super) lots: Vec<LotFacts>,
    pub(super) orders: Vec<OrderFacts>,
    /// Hands and places with what is settled before the search begins.
    pub(super) hands: Hands,
    pub(super) places: Vec<Places>,
    /// Per kind of parcel and slot: the day on which it leaves if packing may
    /// begin then and nobody else needs hands.
    leave: Vec<Vec<Option<i64>>>,
    /// Per kind of parcel and day: the last start of packing with which it leaves on
    /// that day or before.
    last_pack: Vec<Vec<At>>,
    /// Day of the first collection at or after each slot.
    collected: Vec<Option<i64>>,
}

impl<'a> Ground<'a> {
    /// Makes `instance` ready.
    pub(super) fn new(instance: &'a Instance) -> Self {
        let horizon = instance.horizon.clamp(0, HORIZON_MAX) as At;
        let work: Vec<(At, At)> = instance
            .work
            .iter()
            .map(|&(begin, end)| (slots(begin).max(0), slots(end).min(horizon)))
            .filter(|(begin, end)| begin < end)
            .collect();
        let frames: HashMap<&str, usize> = instance
            .frames
            .keys()
            .enumerate()
            .map(|(index, name)| (name.as_str(), TRAY + 1 + index))
            .collect();
        let capacity = &instance.capacity;
        let places = [
            capacity.dark_sheet,
            capacity.dark_line,
            capacity.open_sheet,
            capacity.open_line,
            capacity.tray,
        ];
        let mut ground = Self {
            instance,
            horizon,
            per_day: slots(instance.per_day).max(1),
            setup: length(instance.session.setup),
            mix_life: length(instance.session.mix_life),
            sessions_per_day: instance.session.max_per_day,
            load: length(instance.load),
            unload: length(instance.unload),
            wash_gap: length(instance.wash_gap),
            lots: instance
                .lots
                .iter()
                .map(|lot| lot_facts(lot, &frames))
                .collect(),
            orders: Vec::new(),
            hands: Hands::new(&work, instance.operators, horizon),
            places: places
                .iter()
                .chain(instance.frames.values())
                .map(|&count| Places::new(count, horizon))
                .collect(),
            leave: Vec::new(),
            last_pack: Vec::new(),
            collected: Vec::new(),
        };
        ground.collected = ground.collection_days();
        ground.settle();
        ground.link_orders();
        ground.tabulate_leaving();
        ground.tabulate_starts();
        ground.tabulate_lateness();
        ground
    }

    /// Returns weighted lateness and weighted day of an order that leaves on `day`,
    /// `None` if it is left out.
    pub(super) fn order_terms(&self, order: usize, day: Option<i64>) -> (i64, i64) {
        let facts = &self.orders[order];
        let day = day.unwrap_or(self.instance.unserved_day);
        let late = (day - facts.promise_day).max(0);
        (facts.weight * late, facts.weight * day)
    }

    /// Returns the weighted lateness that no plan can avoid, each order looked at alone.
    pub(super) fn least_late(&self) -> i64 {
        self.orders.iter().map(|order| order.least_late).sum()
    }

    /// Returns the earliest promise among the orders of a lot. [day]
    pub(super) fn first_promise(&self, lot: usize) -> i64 {
        let promises = self.lots[lot].orders.iter();
        let promises = promises.map(|&order| self.orders[order].promise_day);
        promises.min().unwrap_or(i64::MAX)
    }

    /// Returns the risk of exposing a lot at `at`. [per mille]
    pub(super) fn risk_at(&self, lot: usize, at: At) -> i64 {
        let class = self.instance.classes.get(self.instance.lots[lot].cls);
        let rows = class.map_or(&[][..], |class| &class.options);
        let at = i64::from(at);
        let row = rows.iter().find(|row| (row.0..=row.1).contains(&at));
        row.map_or(0, |row| row.3)
    }

    /// Returns the earliest day on which an order leaves if its lots are done at
    /// `done` and nobody else needs hands.
    pub(super) fn day_at_best(&self, order: usize, done: At) -> Option<i64> {
        let table = &self.leave[self.orders[order].leave];
        table.get(done.max(0) as usize).copied().flatten()
    }

    /// Returns the day on which an order leaves that is packed from `pack` on.
    pub(super) fn day_of_pack(&self, order: usize, pack: At) -> Option<i64> {
        let facts = &self.orders[order];
        self.day_of_parcel(facts.pack, facts.handover, pack)
    }

    /// Returns the last start of packing with which `order` is no later than when it
    /// is packed at `pack`: on the promised day, or on the same day if that is over.
    pub(super) fn last_pack(&self, order: usize, pack: At) -> At {
        let facts = &self.orders[order];
        let day = self.day_of_pack(order, pack).unwrap_or(0);
        let table = &self.last_pack[facts.leave];
        let day = day.max(facts.promise_day).clamp(0, table.len() as i64 - 1);
        table[day as usize].max(pack)
    }

    fn day_of_parcel(&self, length: At, handover: bool, pack: At) -> Option<i64> {
        if handover {
            let last = (pack + length - 1).max(pack);
            return Some(i64::from(last / self.per_day));
        }
        self.collected
            .get((pack + length) as usize)
            .copied()
            .flatten()
    }

    fn collection_days(&self) -> Vec<Option<i64>> {
        let mut collections = self.instance.collections.clone();
        collections.sort_unstable();
        let mut next = collections.into_iter().peekable();
        let mut days = Vec::with_capacity(self.horizon as usize + 1);
        for slot in 0..=i64::from(self.horizon) {
            while next.next_if(|&at| at < slot).is_some() {}
            days.push(next.peek().map(|at| at.div_euclid(i64::from(self.per_day))));
        }
        days
    }

    /// Fills in what cannot be moved: racks with lots under way, and the washes of
    /// what is already exposed, each as early as it may be.
    fn settle(&mut self) {
        self.settle_begun();
        for index in 0..self.lots.len() {
            let lot = &self.lots[index];
            let given = &self.instance.lots[index];
            if let Come::Coated(dry) = lot.come {
                self.places[lot.dark_rack].take(dry - lot.dark, lot.dark, lot.amount);
            } else if let (Come::Washed(_), Some(end)) = (lot.come, given.washed_end) {
                self.places[lot.open_rack].take(slots(end), lot.open, lot.amount);
            }
        }
        let mut exposed: Vec<(i64, usize)> = (0..self.lots.len())
            .filter(|&index| matches!(self.lots[index].come, Come::Washing { .. }))
            .filter_map(|index| Some((self.instance.lots[index].exposed_end?, index)))
            .collect();
        exposed.sort_unstable();
        for (_, index) in exposed {
            self.settle_wash(index);
        }
    }

    /// Takes what work under way keeps; a frame that the studio has no more is nobody's.
    fn settle_begun(&mut self) {
        let instance = self.instance;
        for taken in &instance.begun.taken {
            let from = slots(taken.from).clamp(0, self.horizon);
            let length = slots(taken.until).clamp(from, self.horizon) - from;
            let amount = places(taken.amount);
            match &taken.what {
                Held::Hands => (0..amount).for_each(|_| self.hands.block(from, length)),
                Held::Trays => self.places[TRAY].take(from, length, amount),
                Held::Frame(name) => {
                    if let Some(index) = instance.frames.keys().position(|known| known == name) {
                        self.places[TRAY + 1 + index].take(from, length, amount);
                    }
                }
            }
        }
    }

    fn settle_wash(&mut self, index: usize) {
        let lot = &mut self.lots[index];
        let Come::Washing { at: from, .. } = lot.come else {
            return;
        };
        let mut next = self.hands.find_first(from, self.horizon, lot.wash);
        while let Some(at) = next {
            let end = at + lot.wash;
            if self.places[TRAY].fits(at, lot.wash, lot.trays)
                && self.places[lot.open_rack].fits(end, lot.open, lot.amount)
            {
                self.hands.take(at, lot.wash, Task::Fixed);
                self.places[TRAY].take(at, lot.wash, lot.trays);
                self.places[lot.open_rack].take(end, lot.open, lot.amount);
                let ready = end + lot.rest;
                lot.come = Come::Washing { at, ready };
                return;
            }
            next = self.hands.find_first(at + 1, self.horizon, lot.wash);
        }
        lot.come = Come::Never;
    }

    fn link_orders(&mut self) {
        let mut by_name = HashMap::new();
        for (index, lot) in self.instance.lots.iter().enumerate() {
            by_name.entry(lot.id.as_str()).or_insert(index);
        }
        let mut kinds = BTreeMap::new();
        for order in &self.instance.orders {
            let count = kinds.len();
            let kind = (length(order.pack), order.handover);
            let leave = *kinds.entry(kind).or_insert(count);
            let mut facts = order_facts(order, &by_name, leave);
            facts.promise_day = order.promise.div_euclid(i64::from(self.per_day));
            facts.possible &= facts
                .lots
                .iter()
                .all(|&lot| self.lots[lot].come != Come::Never);
            for &lot in &facts.lots {
                self.lots[lot].orders.push(self.orders.len());
            }
            self.orders.push(facts);
        }
    }

    fn tabulate_leaving(&mut self) {
        let kinds = self.orders.iter().map(|order| order.leave + 1).max();
        let mut tables = vec![Vec::new(); kinds.unwrap_or(0)];
        for order in &self.orders {
            if !tables[order.leave].is_empty() {
                continue;
            }
            let mut table = vec![None; self.horizon as usize + 1];
            let mut day = None;
            for at in (0..=self.horizon - order.pack).rev() {
                if self.hands.in_work(at, order.pack) {
                    day = self.day_of_parcel(order.pack, order.handover, at);
                }
                table[at as usize] = day;
            }
            tables[order.leave] = table;
        }
        self.leave = tables;
        let days = (self.horizon / self.per_day) as usize + 2;
        self.last_pack = vec![Vec::new(); self.leave.len()];
        for order in &self.orders {
            let table = &mut self.last_pack[order.leave];
            if !table.is_empty() {
                continue;
            }
            let mut last = vec![-1; days];
            for at in 0..=self.horizon - order.pack {
                let day = match order.handover {
                    true => Some(i64::from((at + order.pack - 1).max(at) / self.per_day)),
                    false => self.collected[(at + order.pack) as usize],
                };
                if let Some(day) = day {
                    last[day.clamp(0, days as i64 - 1) as usize] = at;
                }
            }
            for day in 1..days {
                last[day] = last[day].max(last[day - 1]);
            }
            *table = last;
        }
    }

    fn tabulate_starts(&mut self) {
        for index in 0..self.lots.len() {
            let mut starts = self.starts_of(index);
            let lot = &self.lots[index];
            let days = |start: &Start| -> Vec<i64> {
                let day = |&order: &usize| self.day_at_best(order, start.done);
                let never = i64::MAX;
                lot.orders.iter().map(|o| day(o).unwrap_or(never)).collect()
            };
            starts.sort_by_cached_key(|start| (days(start), start.price, start.at));
            let mut tiers: Vec<Tier> = Vec::new();
            for (at, start) in starts.iter().enumerate() {
                let days = days(start);
                match tiers.last_mut() {
                    Some(tier) if tier.days == days => tier.starts.end = at + 1,
                    Some(_) | None => tiers.push(Tier {
                        starts: at..at + 1,
                        days,
                    }),
                }
            }
            let lot = &mut self.lots[index];
            lot.least = starts.iter().map(|start| start.price).min().unwrap_or(0);
            lot.soonest = match lot.come {
                Come::Washing { ready, .. } | Come::Washed(ready) => ready + lot.finish,
                _ => starts.iter().map(|start| start.done).min().unwrap_or(0),
            };
            lot.starts = starts;
            lot.tiers = tiers;
        }
    }

    fn tabulate_lateness(&mut self) {
        for order in 0..self.orders.len() {
            let ready = self.soonest_ready(order);
            let day = ready.and_then(|ready| self.day_at_best(order, ready));
            self.orders[order].least_late = self.order_terms(order, day).0;
        }
    }

    /// Returns when all lots of an order are done if nothing else is to be done.
    fn soonest_ready(&self, order: usize) -> Option<At> {
        let facts = &self.orders[order];
        let soonest = |&lot: &usize| {
            let lot = &self.lots[lot];
            let open = matches!(lot.come, Come::Fresh | Come::Coated(_));
            (!open || !lot.starts.is_empty()).then_some(lot.soonest)
        };
        let mut lots = facts.lots.iter().map(soonest);
        let ready = lots.try_fold(facts.release, |ready: At, lot| Some(ready.max(lot?)));
        ready.filter(|_| facts.possible)
    }

    /// Returns the admissible exposures of a lot that fit work hours, release and
    /// drying when nothing else is going on.
    fn starts_of(&self, index: usize) -> Vec<Start> {
        let lot = &self.lots[index];
        let (first, last) = match lot.come {
            Come::Fresh => (self.first_load(lot), self.horizon),
            Come::Coated(dry) => (dry, dry + lot.keep),
            Come::Washing { .. } | Come::Washed(_) | Come::Never => return Vec::new(),
        };
        let Some(class) = self.instance.classes.get(self.instance.lots[index].cls) else {
            return Vec::new();
        };
        let mut starts = Vec::new();
        for &(begin, end, duration, risk) in &class.options {
            let price = risk * self.instance.weights.risk;
            for at in slots(begin).max(0)..=slots(end).min(self.horizon) {
                let load = at - self.load;
                if load < first || load > last {
                    continue;
                }
                let length = length(duration);
                starts.extend(self.start_at(lot, at, length).map(|done| Start {
                    at,
                    length,
                    price,
                    done,
                }));
            }
        }
        starts
    }

    /// Returns the earliest slot at which a fresh lot can be dry.
    fn first_load(&self, lot: &LotFacts) -> At {
        let setup = self.hands.find_first(0, self.horizon, self.setup);
        let from = setup.map_or(self.horizon, |at| at + self.setup);
        let from = from.max(lot.release);
        match self.hands.find_first(from, self.horizon, lot.coat) {
            Some(coat) => coat + lot.coat + lot.dark,
            None => self.horizon + 1,
        }
    }

    /// Returns the end of finishing after an exposure at `at`, if hands allow it.
    fn start_at(&self, lot: &LotFacts, at: At, length: At) -> Option<At> {
        let (load, taken) = (at - self.load, at + length);
        let gone = taken + self.unload;
        let manned = if lot.attended {
            self.hands.in_work(load, gone - load)
        } else {
            self.hands.in_work(load, self.load) && self.hands.in_work(taken, self.unload)
        };
        if !manned {
            return None;
        }
        let wash = self
            .hands
            .find_first(gone, gone + self.wash_gap, lot.wash)?;
        let ready = wash + lot.wash + lot.rest;
        let finish = self.hands.find_first(ready, self.horizon, lot.finish)?;
        Some(finish + lot.finish)
    }
}

/// Clips a moment to what can be counted with.
pub(super) fn slots(moment: i64) -> At {
    moment.clamp(-FAR, FAR) as At
}

/// Clips a length to what can be counted with; no length is negative.
pub(super) fn length(slots: i64) -> At {
    slots.clamp(0, FAR) as At
}

fn lot_facts(lot: &Lot, frames: &HashMap<&str, usize>) -> LotFacts {
    let rack = match lot.space {
        Space::Sheet => 0,
        Space::Line => 1,
    };
    let frame = frames.get(lot.frame.as_str()).copied();
    let rest = length(lot.open).max(length(lot.cure));
    let come = if let Some(end) = lot.washed_end {
        Come::Washed(slots(end) + rest)
    } else if let Some(end) = lot.exposed_end {
        Come::Washing {
            at: slots(end).max(0),
            ready: 0,
        }
    } else if frame.is_none() {
        Come::Never
    } else if let Some(end) = lot.coated_end {
        Come::Coated(slots(end) + length(lot.dark))
    } else {
        Come::Fresh
    };
    LotFacts {
        come,
        amount: places(lot.amount),
        trays: places(lot.tray),
        dark_rack: rack,
        open_rack: 2 + rack,
        frame: frame.unwrap_or(TRAY),
        coat: length(lot.coat),
        dark: length(lot.dark),
        keep: length(lot.keep),
        attended: lot.attended,
        wash: length(lot.wash),
        open: length(lot.open),
        rest,
        finish: length(lot.finish),
        release: slots(lot.release),
        orders: Vec::new(),
        starts: Vec::new(),
        least: 0,
        soonest: 0,
        tiers: Vec::new(),
    }
}

fn places(count: i64) -> i32 {
    count.clamp(0, super::places::PLACES_MAX + 1) as i32
}

fn order_facts(order: &Order, by_name: &HashMap<&str, usize>, leave: usize) -> OrderFacts {
    let found = order
        .lots
        .iter()
        .map(|name| by_name.get(name.as_str()).copied());
    let mut lots: Vec<usize> = found.clone().flatten().collect();
    lots.sort_unstable();
    lots.dedup();
    OrderFacts {
        possible: found.clone().all(|lot| lot.is_some()),
        lots,
        pack: length(order.pack),
        handover: order.handover,
        release: slots(order.release),
        weight: order.weight,
        promise_day: 0,
        leave,
        least_late: 0,
    }
}
