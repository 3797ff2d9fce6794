//! What a bound needs to know of an instance, worked out once.

use std::collections::BTreeSet;

use super::prices::SCALE;
use super::room::Room;
use crate::plan::earliest::dry_between;
use crate::plan::model::{Instance, Lot, Order, Slot, Space};

/// An exposure that a lot may have.
#[derive(Debug, Clone, Copy)]
pub(super) struct Start {
    /// When the light is let in.
    pub(super) at: Slot,
    /// How long it takes. [slots]
    pub(super) length: Slot,
    /// Price of its risk.
    pub(super) risk: i64,
    /// When finishing may begin.
    pub(super) ready: Slot,
}

/// What a lot still has to go through.
#[derive(Debug, Clone)]
pub(super) struct LotFacts {
    /// Its place in the list of lots.
    pub(super) index: usize,
    /// Exposures, ascending; empty if it is past the frame.
    pub(super) options: Vec<Start>,
    /// The same, in the order in which they are ready.
    pub(super) by_ready: Vec<u32>,
    /// When finishing may begin, for a lot that is past the frame.
    pub(super) past: Option<Slot>,
    /// Whether it is still to be coated.
    pub(super) fresh: bool,
    pub(super) frame: usize,
    pub(super) space: Space,
    pub(super) amount: i64,
    pub(super) coat: Slot,
    pub(super) dark: Slot,
    pub(super) release: Slot,
    pub(super) attended: bool,
    pub(super) wash: Slot,
    pub(super) finish: Slot,
    /// End of finishing at the earliest; none if it cannot be planned.
    pub(super) done: Option<Slot>,
}

/// A day on which an order may leave.
#[derive(Debug, Clone, Copy)]
pub(super) struct Leave {
    /// Packing ends by this slot.
    pub(super) by: Slot,
    /// What leaving on that day costs.
    pub(super) price: i64,
}

/// What an order waits for.
#[derive(Debug, Clone)]
pub(super) struct OrderFacts {
    /// Lots whose way is charged to this order.
    pub(super) own: Vec<usize>,
    /// When all its lots are done at the earliest.
    pub(super) done: Slot,
    pub(super) pack: Slot,
    /// Days on which it may leave, ascending.
    pub(super) leaves: Vec<Leave>,
    /// What leaving it out costs.
    pub(super) left_out: i64,
}

/// What a bound needs to know.
#[derive(Debug)]
pub(super) struct Facts<'a> {
    pub(super) instance: &'a Instance,
    pub(super) days: usize,
    pub(super) horizon: Slot,
    /// End of the stretch of work hours that a slot is in; 0 outside of them.
    pub(super) until: Vec<Slot>,
    /// The first slot inside work hours from each slot on; the horizon after the last.
    next: Vec<Slot>,
    pub(super) room: Room,
    pub(super) lots: Vec<LotFacts>,
    pub(super) orders: Vec<OrderFacts>,
    /// Every length of a step that needs hands. [slots]
    pub(super) lengths: BTreeSet<Slot>,
    /// Every length of a wash. [slots]
    pub(super) washes: BTreeSet<Slot>,
    /// Price of a session.
    pub(super) session: i64,
}

impl<'a> Facts<'a> {
    /// Works out what a bound needs to know of `instance`.
    pub(super) fn new(instance: &'a Instance) -> Facts<'a> {
        let horizon = instance.horizon.max(0);
        let days = (horizon / instance.per_day.max(1) + 1) as usize;
        let until = stretches(instance);
        let mut facts = Facts {
            instance,
            days,
            horizon,
            next: next_work(&until, horizon),
            until,
            room: Room::new(instance, days),
            lots: Vec::new(),
            orders: Vec::new(),
            lengths: BTreeSet::new(),
            washes: instance.lots.iter().map(|lot| lot.wash).collect(),
            session: instance.weights.session.saturating_mul(SCALE),
        };
        facts.lots = (0..instance.lots.len()).map(|lot| facts.lot(lot)).collect();
        let mut owned = vec![false; facts.lots.len()];
        for order in &instance.orders {
            let order = facts.order(order, &mut owned);
            facts.orders.push(order);
        }
        facts.lengths = facts.lengths();
        facts
    }

    /// Tells whether hands may be busy from `at` for `length`.
    pub(super) fn manned(&self, at: Slot, length: Slot) -> bool {
        length == 0 || self.stretch_end(at) >= at + length
    }

    /// Returns the first slot from `at` on at which a step of that length might begin;
    /// one that takes no time may begin at any.
    pub(super) fn next_start(&self, at: Slot, length: Slot) -> Slot {
        match length {
            0 => at,
            _ => self
                .next
                .get(at as usize)
                .copied()
                .unwrap_or(self.horizon.max(at)),
        }
    }

    fn lengths(&self) -> BTreeSet<Slot> {
        let instance = self.instance;
        let mut lengths = BTreeSet::from([instance.session.setup, instance.load, instance.unload]);
        for lot in &self.lots {
            lengths.extend([lot.coat, lot.wash, lot.finish]);
            let stays = lot.options.iter().filter(|_| lot.attended);
            lengths.extend(stays.map(|start| instance.load + start.length + instance.unload));
        }
        lengths.extend(instance.orders.iter().map(|order| order.pack));
        lengths
    }

    fn stretch_end(&self, at: Slot) -> Slot {
        let at = usize::try_from(at).ok();
        at.and_then(|at| self.until.get(at)).copied().unwrap_or(0)
    }

    /// Returns the first slot from `from` on at which hands may be busy for `length`.
    fn first_manned(&self, from: Slot, length: Slot) -> Option<Slot> {
        (from.max(0)..=self.horizon - length).find(|&at| self.manned(at, length))
    }

    fn lot(&self, index: usize) -> LotFacts {
        let lot = &self.instance.lots[index];
        let frame = self.instance.frames.keys().position(|f| *f == lot.frame);
        let rest = lot.open.max(lot.cure);
        let past = match (lot.washed_end, lot.exposed_end) {
            (Some(washed), _) => Some(washed + rest),
            (None, Some(exposed)) => self
                .first_manned(exposed, lot.wash)
                .map(|wash| wash + lot.wash + rest),
            (None, None) => None,
        };
        let gone = lot.washed_end.is_some() || lot.exposed_end.is_some();
        let options = match (gone, frame) {
            (false, Some(_)) => self.options(lot),
            _ => Vec::new(),
        };
        let mut by_ready: Vec<u32> = (0..options.len() as u32).collect();
        by_ready.sort_by_key(|&index| options[index as usize].ready);
        let ready = options.iter().map(|option| option.ready).min();
        let done = past
            .or(ready)
            .and_then(|ready| self.first_manned(ready, lot.finish));
        LotFacts {
            index,
            options,
            by_ready,
            past,
            fresh: !gone && lot.coated_end.is_none(),
            frame: frame.unwrap_or(0),
            space: lot.space,
            amount: lot.amount,
            coat: lot.coat,
            dark: lot.dark,
            release: lot.release,
            attended: lot.attended,
            wash: lot.wash,
            finish: lot.finish,
            done: done.map(|at| at + lot.finish),
        }
    }

    fn options(&self, lot: &Lot) -> Vec<Start> {
        let Some((first, last)) = dry_between(self.instance, lot) else {
            return Vec::new();
        };
        let rows = self.instance.classes.get(lot.cls).into_iter();
        let rows = rows.flat_map(|class| &class.options);
        let starts = rows.flat_map(|&(from, until, length, risk)| {
            let from = from.max(first + self.instance.load);
            let until = until.min(last.saturating_add(self.instance.load));
            (from..=until).map(move |at| (at, length, risk))
        });
        let mut options: Vec<Start> = starts
            .filter_map(|(at, length, risk)| self.option(lot, at, length, risk))
            .collect();
        options.sort_by_key(|option| option.at);
        options
    }

    fn option(&self, lot: &Lot, at: Slot, length: Slot, risk: i64) -> Option<Start> {
        let load = at - self.instance.load;
        let gone = at + length + self.instance.unload;
        let manned = match lot.attended {
            true => self.manned(load, gone - load),
            false => {
                self.manned(load, self.instance.load)
                    && self.manned(at + length, self.instance.unload)
            }
        };
        let wash = (gone..=gone + self.instance.wash_gap).find(|&at| self.manned(at, lot.wash))?;
        (manned && load >= 0 && wash + lot.wash <= self.horizon).then_some(Start {
            at,
            length,
            risk: self.instance.weights.risk.saturating_mul(risk) * SCALE,
            ready: wash + lot.wash + lot.open.max(lot.cure),
        })
    }

    fn order(&self, order: &Order, owned: &mut [bool]) -> OrderFacts {
        let index = |id: &String| self.instance.lots.iter().position(|lot| lot.id == *id);
        let lots: Option<Vec<usize>> = order.lots.iter().map(index).collect();
        let ends = |lots: &Vec<usize>| -> Option<Slot> {
            let mut latest = 0;
            for &lot in lots {
                latest = latest.max(self.lots[lot].done?);
            }
            Some(latest)
        };
        let done = lots.as_ref().and_then(ends);
        let mut own = lots.unwrap_or_default();
        own.sort_unstable();
        own.dedup();
        own.retain(|&lot| !std::mem::replace(&mut owned[lot], true));
        OrderFacts {
            own,
            done: done.unwrap_or(0),
            pack: order.pack,
            leaves: match done {
                Some(done) => self.leaves(order, done + order.pack),
                None => Vec::new(),
            },
            left_out: self.price(order, self.instance.unserved_day),
        }
    }

    /// Returns the days on which an order may leave if it is packed at `packed` at
    /// the earliest.
    fn leaves(&self, order: &Order, packed: Slot) -> Vec<Leave> {
        let per_day = self.instance.per_day.max(1);
        let ends: Vec<Slot> = match order.handover {
            true => (0..self.days as Slot)
                .map(|day| ((day + 1) * per_day).min(self.horizon))
                .collect(),
            false => self.instance.collections.clone(),
        };
        let mut leaves: Vec<(i64, Slot)> = ends
            .into_iter()
            .filter(|&by| by >= packed.max(1))
            .map(|by| (if order.handover { by - 1 } else { by }, by))
            .map(|(at, by)| (at.div_euclid(per_day), by.min(self.horizon)))
            .collect();
        leaves.sort_unstable();
        // Of several collections on a day the last one leaves most room.
        leaves.reverse();
        leaves.dedup_by_key(|(day, _)| *day);
        leaves.reverse();
        leaves
            .into_iter()
            .map(|(day, by)| Leave {
                by,
                price: self.price(order, day),
            })
            .collect()
    }

    fn price(&self, order: &Order, day: i64) -> i64 {
        let weights = &self.instance.weights;
        let promised = order.promise.div_euclid(self.instance.per_day.max(1));
        let late = weights.late.saturating_mul((day - promised).max(0));
        let each = late.saturating_add(weights.ship.saturating_mul(day));
        order.weight.saturating_mul(each).saturating_mul(SCALE)
    }
}

fn stretches(instance: &Instance) -> Vec<Slot> {
    let end = instance.horizon.max(0);
    let mut until = vec![0; end as usize];
    for &(from, to) in &instance.work {
        let to = to.min(end);
        for slot in from.clamp(0, end)..to.max(0) {
            until[slot as usize] = to.max(until[slot as usize]);
        }
    }
    until
}

fn next_work(until: &[Slot], horizon: Slot) -> Vec<Slot> {
    let mut next = vec![horizon; until.len()];
    let mut first = horizon;
    for at in (0..until.len()).rev() {
        if until[at] > 0 {
            first = at as Slot;
        }
        next[at] = first;
    }
    next
}
