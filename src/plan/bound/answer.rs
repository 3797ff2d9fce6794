//! The cheapest answer to given prices, every order for itself.

use super::facts::{Facts, LotFacts, OrderFacts};
use super::prices::Prices;
use super::room::Rows;
use super::tables::{NEVER, Tables};
use crate::plan::model::{Slot, Space};

/// What the orders do at given prices.
#[derive(Debug, Clone)]
pub(super) struct Answer {
    /// A bound on the cost of every plan, in the counting of prices.
    pub(super) value: i64,
    /// What is asked of each row above the room that it has.
    pub(super) over: Vec<f64>,
}

impl Answer {
    /// Joins what is asked for with what was asked for before, so that prices do not
    /// swing to and fro.
    pub(super) fn joined(&self, before: Option<&Answer>) -> Answer {
        let mut joined = self.clone();
        for (over, before) in joined
            .over
            .iter_mut()
            .zip(before.iter().flat_map(|b| &b.over))
        {
            *over += 0.6 * before;
        }
        joined
    }
}

/// Finds the cheapest way of every order and the value of the bound.
pub(super) fn cheapest(facts: &Facts, prices: &Prices) -> Answer {
    let room = &facts.room.room;
    let mut asked = Asked(vec![0; room.len()]);
    let sums = Sums::new(facts, prices);
    let mut value = sums.sessions(facts, prices, &mut asked);
    for order in &facts.orders {
        value += sums.order(order, &mut asked);
    }
    for (price, room) in prices.0.iter().zip(room) {
        value -= price * room;
    }
    let over = asked.0.iter().zip(room);
    Answer {
        value,
        over: over.map(|(asked, room)| (asked - room) as f64).collect(),
    }
}

/// What is asked of each row.
struct Asked(Vec<i64>);

impl Asked {
    fn add(&mut self, rows: &Rows, from: Slot, until: Slot) {
        for row in (from..until).filter_map(|slot| rows.find(slot)) {
            self.0[row] += 1;
        }
    }
}

/// The way of a lot, if its order leaves by a given moment.
#[derive(Debug, Clone, Copy)]
struct Way {
    price: i64,
    /// Index of its exposure; none past the frame.
    start: Option<u32>,
    /// Start of finishing.
    finish: Slot,
}

/// Prices summed up from the first slot on.
struct Sums<'a> {
    facts: &'a Facts<'a>,
    hands: Tables,
    frames: Vec<Vec<i64>>,
    /// Per day: of a slot of coating, of a dark place for sheets and on lines.
    session: [Vec<i64>; 3],
    /// Of there being a session at all, by lot, then by day.
    links: Vec<i64>,
}

impl<'a> Sums<'a> {
    fn new(facts: &'a Facts, prices: &Prices) -> Sums<'a> {
        let room = &facts.room;
        let sum = |rows: &Rows| -> Vec<i64> {
            let mut sums = vec![0; facts.horizon as usize + 1];
            for slot in 0..facts.horizon {
                let price = rows.find(slot).map_or(0, |row| prices.0[row]);
                sums[slot as usize + 1] = sums[slot as usize] + price;
            }
            sums
        };
        let daily = |first: usize| prices.0[first..first + facts.days].to_vec();
        Sums {
            facts,
            hands: Tables::new(facts, &sum(&room.hands)),
            frames: room.frames.iter().map(sum).collect(),
            links: prices.0[room.link..].to_vec(),
            session: [daily(room.coat), daily(room.dark[0]), daily(room.dark[1])],
        }
    }

    /// Opens the sessions that bring in more than they cost.
    fn sessions(&self, facts: &Facts, prices: &Prices, asked: &mut Asked) -> i64 {
        let rule = &facts.instance.session;
        let per_day = facts.instance.per_day.max(1);
        let room = &facts.room;
        let setup_price = self.hands.step(rule.setup);
        let mut value = 0;
        for day in 0..facts.days {
            let from = day as Slot * per_day;
            let setups = (from..from + per_day).map(|at| (setup_price.at(at), at));
            let Some((setup, at)) = setups.min().filter(|(price, _)| *price < NEVER) else {
                continue;
            };
            let rows = [room.coat + day, room.dark[0] + day, room.dark[1] + day];
            let brought = rows.iter().zip(&room.brings);
            let brought: i64 = brought.map(|(&row, room)| prices.0[row] * room).sum();
            let links = (0..facts.lots.len()).map(|lot| room.link + lot * facts.days + day);
            let brought = brought + links.clone().map(|row| prices.0[row]).sum::<i64>();
            let each = facts.session + setup - brought;
            if each >= 0 {
                continue;
            }
            let count = rule.max_per_day.max(0);
            value += each * count;
            for (row, room) in rows.iter().zip(&room.brings) {
                asked.0[*row] -= room * count;
            }
            links.for_each(|row| asked.0[row] -= count);
            for slot in at..at + rule.setup {
                let row = facts.room.hands.find(slot);
                row.into_iter().for_each(|row| asked.0[row] += count);
            }
        }
        value
    }

    /// Takes the cheapest way of an order and returns its price.
    fn order(&self, order: &OrderFacts, asked: &mut Asked) -> i64 {
        let mut totals: Vec<i64> = order.leaves.iter().map(|leave| leave.price).collect();
        let packs = self.packs(order);
        for (total, pack) in totals.iter_mut().zip(&packs) {
            *total = total.saturating_add(pack.0).min(NEVER);
        }
        let mut ways = Vec::with_capacity(order.own.len());
        for &lot in &order.own {
            let lot = &self.facts.lots[lot];
            let coats = self.coats(lot);
            let limits = order.leaves.iter().map(|leave| leave.by - order.pack);
            let way = self.ways(lot, &coats, limits);
            for (total, way) in totals.iter_mut().zip(&way) {
                *total = total.saturating_add(way.price).min(NEVER);
            }
            ways.push((lot, coats, way));
        }
        let best = (0..totals.len()).min_by_key(|&leave| totals[leave]);
        let Some(best) = best.filter(|&leave| totals[leave] < order.left_out) else {
            return order.left_out;
        };
        asked.add(
            &self.facts.room.hands,
            packs[best].1,
            packs[best].1 + order.pack,
        );
        for (lot, coats, way) in &ways {
            self.ask(lot, coats, &way[best], asked);
        }
        totals[best]
    }

    /// Returns price and start of the cheapest packing for each day of leaving.
    fn packs(&self, order: &OrderFacts) -> Vec<(i64, Slot)> {
        let table = self.hands.step(order.pack);
        let mut best = (NEVER, 0);
        let mut at = order.done;
        let mut packs = Vec::with_capacity(order.leaves.len());
        for leave in &order.leaves {
            at = self.facts.next_start(at, order.pack);
            while at + order.pack <= leave.by {
                best = best.min((table.at(at), at));
                at = self.facts.next_start(at + 1, order.pack);
            }
            packs.push(best);
        }
        packs
    }

    /// Returns price and start of the cheapest coating before each exposure.
    fn coats(&self, lot: &LotFacts) -> Vec<(i64, Slot)> {
        if !lot.fresh {
            return vec![(0, 0); lot.options.len()];
        }
        let facts = self.facts;
        let mut best = (NEVER, 0);
        let mut at = lot.release.max(facts.instance.session.setup);
        let mut coats = Vec::with_capacity(lot.options.len());
        for option in &lot.options {
            at = facts.next_start(at, lot.coat);
            while at + lot.coat + lot.dark + facts.instance.load <= option.at {
                best = best.min((self.coat(lot, at).0, at));
                at = facts.next_start(at + 1, lot.coat);
            }
            coats.push(best);
        }
        coats
    }

    /// Returns the price of a coat at `at` and the day of the session that it is from.
    fn coat(&self, lot: &LotFacts, at: Slot) -> (i64, usize) {
        let facts = self.facts;
        let per_day = facts.instance.per_day.max(1);
        let rule = &facts.instance.session;
        let hands = self.hands.step(lot.coat).at(at);
        if hands >= NEVER {
            return (NEVER, 0);
        }
        let mixed = (at - rule.mix_life - rule.setup).max(0) / per_day;
        let [coat, sheets, lines] = &self.session;
        let places = match lot.space {
            Space::Sheet => sheets,
            Space::Line => lines,
        };
        let days = mixed as usize..=(at / per_day) as usize;
        let link = &self.links[lot.index * facts.days..];
        let session = days.map(|day| {
            let price = coat[day] * lot.coat + places[day] * lot.amount + link[day];
            (price, day)
        });
        let (session, day) = session.min().unwrap_or((0, 0));
        (hands.saturating_add(session).min(NEVER), day)
    }

    /// Returns the price of everything about an exposure but the coat before it.
    fn light(&self, lot: &LotFacts, index: usize) -> i64 {
        let instance = self.facts.instance;
        let option = &lot.options[index];
        let load = option.at - instance.load;
        let out = option.at + option.length;
        let gone = out + instance.unload;
        let hands = match lot.attended {
            true => self.hands.step(gone - load).at(load),
            false => {
                let load = self.hands.step(instance.load).at(load);
                load + self.hands.step(instance.unload).at(out)
            }
        };
        let frame = &self.frames[lot.frame];
        let last = (gone.min(self.facts.horizon)) as usize;
        let frame = frame[last] - frame[load as usize];
        option.risk + hands + frame + self.hands.wash(lot.wash).at(gone)
    }

    /// Returns the cheapest way of a lot for each moment (ascending) by which its
    /// finishing must have ended.
    fn ways(
        &self,
        lot: &LotFacts,
        coats: &[(i64, Slot)],
        limits: impl Iterator<Item = Slot>,
    ) -> Vec<Way> {
        let table = self.hands.step(lot.finish);
        let prices: Vec<i64> = (0..lot.options.len())
            .map(|index| self.light(lot, index).saturating_add(coats[index].0))
            .collect();
        let mut ready = lot.by_ready.iter().copied().peekable();
        let mut cheapest = match lot.past {
            Some(_) => (0, None),
            None => (NEVER, None),
        };
        let first = ready.peek().map(|&index| lot.options[index as usize].ready);
        let Some(mut at) = lot.past.or(first).map(|at| at.max(0)) else {
            return limits.map(|_| never()).collect();
        };
        let mut best = never();
        let mut ways = Vec::new();
        for limit in limits {
            at = self.facts.next_start(at, lot.finish);
            while at + lot.finish <= limit {
                while let Some(index) = ready.next_if(|&i| lot.options[i as usize].ready <= at) {
                    cheapest = cheapest.min((prices[index as usize], Some(index)));
                }
                let price = cheapest.0.saturating_add(table.at(at));
                if price < best.price {
                    best = Way {
                        price,
                        start: cheapest.1,
                        finish: at,
                    };
                }
                at = self.facts.next_start(at + 1, lot.finish);
            }
            ways.push(best);
        }
        ways
    }

    /// Adds what a way asks for.
    fn ask(&self, lot: &LotFacts, coats: &[(i64, Slot)], way: &Way, asked: &mut Asked) {
        let facts = self.facts;
        let hands = &facts.room.hands;
        asked.add(hands, way.finish, way.finish + lot.finish);
        let Some(index) = way.start.map(|index| index as usize) else {
            return;
        };
        let option = &lot.options[index];
        let load = option.at - facts.instance.load;
        let out = option.at + option.length;
        let gone = out + facts.instance.unload;
        if lot.attended {
            asked.add(hands, load, gone);
        } else {
            asked.add(hands, load, option.at);
            asked.add(hands, out, gone);
        }
        asked.add(&facts.room.frames[lot.frame], load, gone);
        let wash = self.hands.wash_start(lot.wash, gone);
        asked.add(hands, wash, wash + lot.wash);
        if lot.fresh {
            let at = coats[index].1;
            asked.add(hands, at, at + lot.coat);
            let day = self.coat(lot, at).1;
            asked.0[facts.room.link + lot.index * facts.days + day] += 1;
            asked.0[facts.room.coat + day] += lot.coat;
            asked.0[facts.room.dark_row(lot.space, day)] += lot.amount;
        }
    }
}

fn never() -> Way {
    Way {
        price: NEVER,
        start: None,
        finish: 0,
    }
}
