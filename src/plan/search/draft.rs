//! A plan in the making: what is placed, what it takes, what it costs.
//!
//! Lots and orders are put in and taken out whole; hands, racks, trays, frames and
//! coating sessions follow. Every change is noted in a journal, so that a step of
//! the search that did not pay is undone in the time that it took.

use super::At;
use super::ground::{Come, Ground, TRAY};
use super::hands::{Hands, Task};
use super::places::Places;
use super::zeal::Zeal;

/// When the steps of a lot start.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Steps {
    /// Coating and the start of its session, unless it is coated already.
    pub(super) coat: Option<Coat>,
    /// The exposure, unless it is exposed already.
    pub(super) sun: Option<Sun>,
    /// Start of finishing.
    pub(super) finish: At,
}

/// When a lot is coated, and in which session.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Coat {
    /// Start of coating.
    pub(super) at: At,
    /// Start of the session's setup.
    pub(super) session: At,
}

/// When a lot is exposed and washed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Sun {
    /// When the light is let in.
    pub(super) at: At,
    /// How long it takes.
    pub(super) length: At,
    /// Weighted risk.
    pub(super) price: i64,
    /// Start of the wash.
    pub(super) wash: At,
}

/// Everything that is decided, without what follows from it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Decision {
    /// Steps of each lot that is placed.
    pub(super) lots: Vec<Option<Steps>>,
    /// Start of packing of each order that is packed.
    pub(super) packs: Vec<Option<At>>,
    /// Weighted order-days after the promise.
    pub(super) late: i64,
    /// Weighted cost.
    pub(super) cost: i64,
}

/// A change, as it must be known to take it back.
#[derive(Debug, Clone, Copy)]
enum Change {
    PutLot(usize),
    TookLot(usize, Steps),
    PutOrder(usize),
    TookOrder(usize, At),
    Opened(At),
    Closed(At),
}

/// A plan in the making.
#[derive(Debug, Clone)]
pub(super) struct Draft<'g> {
    pub(super) ground: &'g Ground<'g>,
    pub(super) hands: Hands,
    pub(super) places: Vec<Places>,
    /// Starts of coating sessions, ascending, and how many hold each open.
    pub(super) sessions: Vec<(At, usize)>,
    sessions_on: Vec<i64>,
    pub(super) lots: Vec<Option<Steps>>,
    pub(super) packs: Vec<Option<At>>,
    /// Weighted order-days after the promise; an order that is not packed is charged
    /// as left out.
    pub(super) late: i64,
    /// Weighted cost of everything but lateness.
    pub(super) fine: i64,
    /// What a weighted order-day of lateness counts while searching.
    pub(super) pressure: i64,
    /// How much the lateness of each order counts beside the others'.
    pub(super) zeal: Zeal,
    /// The plan that the search began with.
    pub(super) home: Option<&'g Decision>,
    journal: Vec<Change>,
}

impl<'g> Draft<'g> {
    /// Makes the empty draft.
    pub(super) fn new(ground: &'g Ground<'g>) -> Self {
        let left_out: Vec<(i64, i64)> = (0..ground.orders.len())
            .map(|order| ground.order_terms(order, None))
            .collect();
        let late = left_out.iter().map(|terms| terms.0).sum();
        let mut sessions_on = vec![0; (ground.horizon / ground.per_day) as usize + 1];
        sessions_on[0] = ground.instance.begun.sessions;
        Self {
            ground,
            hands: ground.hands.clone(),
            places: ground.places.clone(),
            sessions: Vec::new(),
            sessions_on,
            lots: vec![None; ground.lots.len()],
            packs: vec![None; ground.orders.len()],
            late,
            fine: left_out
                .iter()
                .map(|terms| terms.1 * ground.instance.weights.ship)
                .sum(),
            pressure: ground.instance.weights.late,
            zeal: Zeal::new(ground.orders.len(), late),
            home: None,
            journal: Vec::new(),
        }
    }

    /// Returns what is decided.
    pub(super) fn decision(&self) -> Decision {
        Decision {
            lots: self.lots.clone(),
            packs: self.packs.clone(),
            late: self.late,
            cost: self.cost(),
        }
    }

    /// Puts everything of `decision` in place of what is there.
    pub(super) fn restore(&mut self, decision: &Decision) {
        for lot in 0..self.lots.len() {
            if self.lots[lot] != decision.lots[lot] {
                self.take_lot(lot);
            }
        }
        for order in 0..self.packs.len() {
            if self.packs[order] != decision.packs[order] {
                self.take_order(order);
            }
        }
        for (lot, steps) in decision.lots.iter().enumerate() {
            if let (None, Some(steps)) = (self.lots[lot], steps) {
                self.put_lot(lot, *steps);
            }
        }
        for (order, pack) in decision.packs.iter().enumerate() {
            if let (None, Some(pack)) = (self.packs[order], pack) {
                self.put_order(order, *pack);
            }
        }
        self.keep();
    }

    /// Forgets how to undo.
    pub(super) fn keep(&mut self) {
        self.journal.clear();
    }

    /// Returns a mark to which `undo_to` can come back.
    pub(super) fn mark(&self) -> usize {
        self.journal.len()
    }

    /// Takes back everything since the last `keep`.
    pub(super) fn undo(&mut self) {
        self.undo_to(0);
    }

    /// Takes back everything since `mark`.
    pub(super) fn undo_to(&mut self, mark: usize) {
        while self.journal.len() > mark {
            let Some(change) = self.journal.pop() else {
                return;
            };
            match change {
                Change::PutLot(lot) => drop(self.lift_lot(lot)),
                Change::TookLot(lot, steps) => self.lay_lot(lot, steps),
                Change::PutOrder(order) => drop(self.lift_order(order)),
                Change::TookOrder(order, pack) => self.lay_order(order, pack),
                Change::Opened(start) => self.leave_session(start),
                Change::Closed(start) => self.join_session(start),
            }
        }
    }

    /// Places a lot that is not placed.
    pub(super) fn put_lot(&mut self, lot: usize, steps: Steps) {
        self.lay_lot(lot, steps);
        self.journal.push(Change::PutLot(lot));
    }

    /// Takes a lot out, and the orders that were packed with it.
    pub(super) fn take_lot(&mut self, lot: usize) {
        for index in 0..self.ground.lots[lot].orders.len() {
            self.take_order(self.ground.lots[lot].orders[index]);
        }
        if let Some(steps) = self.lift_lot(lot) {
            self.journal.push(Change::TookLot(lot, steps));
        }
    }

    /// Gives a placed lot other steps and leaves the packing of its orders alone.
    pub(super) fn move_lot(&mut self, lot: usize, steps: Steps) {
        if let Some(old) = self.lift_lot(lot) {
            self.journal.push(Change::TookLot(lot, old));
        }
        self.put_lot(lot, steps);
    }

    /// Packs an order that is not packed.
    pub(super) fn put_order(&mut self, order: usize, pack: At) {
        self.lay_order(order, pack);
        self.journal.push(Change::PutOrder(order));
    }

    /// Takes the packing of an order out.
    pub(super) fn take_order(&mut self, order: usize) {
        if let Some(pack) = self.lift_order(order) {
            self.journal.push(Change::TookOrder(order, pack));
        }
    }

    /// Holds a session open although no lot needs it yet.
    pub(super) fn open_session(&mut self, start: At) {
        self.join_session(start);
        self.journal.push(Change::Opened(start));
    }

    /// Ends what `open_session` began.
    pub(super) fn close_session(&mut self, start: At) {
        self.leave_session(start);
        self.journal.push(Change::Closed(start));
    }

    /// Whether one more session may start on the day of `start`.
    pub(super) fn session_left(&self, start: At) -> bool {
        let day = (start / self.ground.per_day) as usize;
        self.sessions_on[day] < self.ground.sessions_per_day
    }

    /// Whether a session is open that starts at `start`.
    pub(super) fn has_session(&self, start: At) -> bool {
        self.sessions.binary_search_by_key(&start, |s| s.0).is_ok()
    }

    /// Whether a new session may start at `start`, as far as days and sessions go.
    pub(super) fn admits_session(&self, start: At) -> bool {
        !self.has_session(start) && self.session_left(start)
    }

    /// Returns the first moment from `start` on, on a day that has a session left.
    pub(super) fn next_session_from(&self, start: At) -> Option<At> {
        let start = start.max(0);
        let day = (start / self.ground.per_day) as usize;
        let left = |&count: &i64| count < self.ground.sessions_per_day;
        let days = self.sessions_on.get(day..)?.iter().position(left)?;
        match days {
            0 => Some(start),
            _ => Some((day + days) as At * self.ground.per_day),
        }
    }

    /// Returns when finishing of a placed lot ends.
    pub(super) fn done(&self, lot: usize) -> Option<At> {
        self.lots[lot].map(|steps| steps.finish + self.ground.lots[lot].finish)
    }

    /// Returns when the last lot of an order is done, if all are placed.
    pub(super) fn ready(&self, order: usize) -> Option<At> {
        let facts = &self.ground.orders[order];
        if !facts.possible {
            return None;
        }
        facts
            .lots
            .iter()
            .try_fold(facts.release, |ready: At, &lot| {
                Some(ready.max(self.done(lot)?))
            })
    }

    pub(super) fn lay_lot(&mut self, lot: usize, steps: Steps) {
        self.occupy(lot, &steps, true);
        self.lots[lot] = Some(steps);
    }

    pub(super) fn lift_lot(&mut self, lot: usize) -> Option<Steps> {
        let steps = self.lots[lot].take()?;
        self.occupy(lot, &steps, false);
        Some(steps)
    }

    fn lay_order(&mut self, order: usize, pack: At) {
        let ground = self.ground;
        self.hands
            .take(pack, ground.orders[order].pack, Task::Pack(order as u32));
        self.packs[order] = Some(pack);
        self.charge(order, pack, 1);
    }

    fn lift_order(&mut self, order: usize) -> Option<At> {
        let pack = self.packs[order].take()?;
        self.hands.give(
            pack,
            self.ground.orders[order].pack,
            Task::Pack(order as u32),
        );
        self.charge(order, pack, -1);
        Some(pack)
    }

    /// Charges `times` the difference between packing at `pack` and leaving out.
    fn charge(&mut self, order: usize, pack: At, times: i64) {
        let day = self.ground.day_of_pack(order, pack);
        let (late, ship) = self.ground.order_terms(order, day);
        let (late_out, ship_out) = self.ground.order_terms(order, None);
        self.late += times * (late - late_out);
        self.zeal.charge(order, times * (late - late_out));
        self.fine += times * (ship - ship_out) * self.ground.instance.weights.ship;
    }

    /// Returns the weighted cost.
    pub(super) fn cost(&self) -> i64 {
        self.late * self.ground.instance.weights.late + self.fine
    }

    /// Returns the cost as it is felt under the present pressure.
    pub(super) fn felt(&self) -> i64 {
        self.zeal.total(self.pressure) + self.fine
    }

    /// Returns what an order that leaves on `day` costs under the present pressure.
    pub(super) fn felt_of_order(&self, order: usize, day: Option<i64>) -> i64 {
        let (late, ship) = self.ground.order_terms(order, day);
        self.zeal.of(order, late, self.pressure) + ship * self.ground.instance.weights.ship
    }

    /// Returns the weighted lateness of an order.
    pub(super) fn late_of(&self, order: usize) -> i64 {
        let pack = self.packs[order];
        let day = pack.and_then(|pack| self.ground.day_of_pack(order, pack));
        self.ground.order_terms(order, day).0
    }

    /// Whether an order is later than it need be, or left out though it could be packed.
    pub(super) fn is_needlessly_late(&self, order: usize) -> bool {
        self.late_of(order) > self.ground.orders[order].least_late
    }

    /// Returns the orders that are later than they need be; none of them is impossible.
    pub(super) fn needlessly_late(&self) -> Vec<usize> {
        let late = |&order: &usize| self.is_needlessly_late(order);
        (0..self.packs.len()).filter(late).collect()
    }

    /// Takes or gives back all that a lot needs.
    fn occupy(&mut self, lot: usize, steps: &Steps, take: bool) {
        let ground = self.ground;
        let facts = &ground.lots[lot];
        let name = lot as u32;
        if let Some(coat) = steps.coat {
            if take {
                self.join_session(coat.session);
            }
            self.hand(coat.at, facts.coat, Task::Coat(name), take);
            let end = coat.at + facts.coat;
            self.place(facts.dark_rack, end, facts.dark, facts.amount, take);
            if !take {
                self.leave_session(coat.session);
            }
        }
        if let Some(sun) = steps.sun {
            let (load, taken) = (sun.at - ground.load, sun.at + sun.length);
            let gone = taken + ground.unload;
            if facts.attended {
                self.hand(load, gone - load, Task::Fixed, take);
            } else {
                self.hand(load, ground.load, Task::Fixed, take);
                self.hand(taken, ground.unload, Task::Fixed, take);
            }
            self.place(facts.frame, load, gone - load, 1, take);
            self.hand(sun.wash, facts.wash, Task::Wash(name), take);
            self.place(TRAY, sun.wash, facts.wash, facts.trays, take);
            let end = sun.wash + facts.wash;
            self.place(facts.open_rack, end, facts.open, facts.amount, take);
            self.fine += if take { sun.price } else { -sun.price };
        }
        self.hand(steps.finish, facts.finish, Task::Finish(name), take);
    }

    fn hand(&mut self, at: At, length: At, task: Task, take: bool) {
        if take {
            self.hands.take(at, length, task);
        } else {
            self.hands.give(at, length, task);
        }
    }

    fn place(&mut self, resource: usize, at: At, length: At, amount: i32, take: bool) {
        if take {
            self.places[resource].take(at, length, amount);
        } else {
            self.places[resource].give(at, length, amount);
        }
    }

    fn join_session(&mut self, start: At) {
        match self
            .sessions
            .binary_search_by_key(&start, |session| session.0)
        {
            Ok(index) => self.sessions[index].1 += 1,
            Err(index) => {
                self.sessions.insert(index, (start, 1));
                self.sessions_on[(start / self.ground.per_day) as usize] += 1;
                self.hands.take(start, self.ground.setup, Task::Fixed);
                self.fine += self.ground.instance.weights.session;
            }
        }
    }

    fn leave_session(&mut self, start: At) {
        let index = self
            .sessions
            .binary_search_by_key(&start, |session| session.0)
            .expect("a session that is left was joined");
        self.sessions[index].1 -= 1;
        if self.sessions[index].1 == 0 {
            self.sessions.remove(index);
            self.sessions_on[(start / self.ground.per_day) as usize] -= 1;
            self.hands.give(start, self.ground.setup, Task::Fixed);
            self.fine -= self.ground.instance.weights.session;
        }
    }

    /// Whether nothing more is to be placed for this lot.
    pub(super) fn is_settled(&self, lot: usize) -> bool {
        self.lots[lot].is_some() || self.ground.lots[lot].come == Come::Never
    }
}

/// Whether given steps may be put in; used for plans that come from outside.
impl Draft<'_> {
    /// Whether the steps keep every rule beside what is placed already.
    pub(super) fn admits(&self, lot: usize, steps: &Steps) -> bool {
        let facts = &self.ground.lots[lot];
        let mut trial = self.hands.clone();
        let mut takes = |at: At, length: At| {
            let fits = trial.fits(at, length);
            if fits {
                trial.take(at, length, Task::Fixed);
            }
            fits
        };
        let (dry, ready) = match (facts.come, steps.coat, steps.sun) {
            (Come::Fresh, Some(coat), Some(_)) => {
                let mixed = coat.session + self.ground.setup;
                let open = self.has_session(coat.session);
                let end = coat.at + facts.coat;
                let session = open
                    || (coat.session >= 0
                        && coat.session < self.ground.horizon
                        && self.session_left(coat.session)
                        && takes(coat.session, self.ground.setup));
                let timely = coat.at >= facts.release.max(mixed)
                    && end <= mixed + self.ground.mix_life
                    && takes(coat.at, facts.coat)
                    && self.places[facts.dark_rack].fits(end, facts.dark, facts.amount);
                if !session || !timely {
                    return false;
                }
                (Some(end + facts.dark), None)
            }
            (Come::Coated(dry), None, Some(_)) => (Some(dry), None),
            (Come::Washing { ready, .. } | Come::Washed(ready), None, None) => (None, Some(ready)),
            _ => return false,
        };
        let ready = match (dry, steps.sun, ready) {
            (Some(dry), Some(sun), _) => {
                let load = sun.at - self.ground.load;
                let gone = sun.at + sun.length + self.ground.unload;
                let manned = if facts.attended {
                    takes(load, gone - load)
                } else {
                    takes(load, self.ground.load) && takes(sun.at + sun.length, self.ground.unload)
                };
                let end = sun.wash + facts.wash;
                let fits = (dry..=dry + facts.keep).contains(&load)
                    && manned
                    && self.places[facts.frame].fits(load, gone - load, 1)
                    && (gone..=gone + self.ground.wash_gap).contains(&sun.wash)
                    && takes(sun.wash, facts.wash)
                    && self.places[TRAY].fits(sun.wash, facts.wash, facts.trays)
                    && self.places[facts.open_rack].fits(end, facts.open, facts.amount);
                if !fits {
                    return false;
                }
                end + facts.rest
            }
            (_, _, Some(ready)) => ready,
            _ => return false,
        };
        steps.finish >= ready && takes(steps.finish, facts.finish)
    }

    /// Whether an order may be packed at `pack` beside what is placed already.
    pub(super) fn admits_pack(&self, order: usize, pack: At) -> bool {
        self.ready(order).is_some_and(|ready| ready <= pack)
            && self.hands.fits(pack, self.ground.orders[order].pack)
            && self.ground.day_of_pack(order, pack).is_some()
    }
}
