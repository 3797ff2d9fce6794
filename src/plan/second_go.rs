//! Time for a second go: what it is worth to expose while a print that fails can still
//! be made again by its date.
//!
//! A start of an exposure costs its weather risk. Here the chance is added that a print
//! fails and its order is late for it: little where days are left on which it can be
//! coated and exposed again, all of the chance to fail where none is. So a plan does
//! not wait for the day before the promise because one day is as good as another.
//!
//! # How the chance is found
//! ```text
//! chance(start) = q · late(r)               r  morning after the print is finished
//! late(r)       = Σ over days d that serve: Π earlier ρ · (1 − ρd) · q₂ · late(r of d)
//!                 + Π ρ                     nothing served
//! ```
//! `q` is the chance that one of the order's pieces in the lot fails, `q₂` that one of
//! those made again does, `ρd` the risk of the least risky start of a day after which
//! the order still leaves in time. Days beyond the plan serve as often as those in it.
//! The lot is looked at alone, as in `earliest.rs`: a full rack or a busy day are not
//! in the chance.

use super::earliest::{day_after, done_after, dry_between};
use super::model::{Instance, Lot, Order, Slot};

/// How likely the pieces of an order in a lot are to fail.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pieces {
    /// Index into `instance.orders`.
    pub order: usize,
    /// How many pieces of it are in the lot.
    pub count: u32,
    /// Share of such pieces that is made again.
    pub share: f64,
}

/// A start with what follows from it.
#[derive(Debug, Clone, Copy)]
struct Start {
    at: Slot,
    length: Slot,
    risk: i64,
    /// When the lot would be finished, if hands are there on the way.
    done: Option<Slot>,
}

/// Puts the chance that a print fails and makes its order late onto the starts of all
/// lots, at `price` for each per mille. `pieces` are those of each lot.
///
/// A lot whose starts change gets a class of its own at the end of the list.
pub fn add_second_go(instance: &mut Instance, pieces: &[Vec<Pieces>], price: i64) {
    if price <= 0 {
        return;
    }
    if instance.weights.risk <= 0 {
        instance.weights.risk = 1;
        let rows = instance.classes.iter_mut().flat_map(|c| &mut c.options);
        rows.for_each(|row| row.3 = 0);
    }
    for (index, pieces) in pieces.iter().enumerate() {
        let priced = priced(instance, &instance.lots[index], pieces, price);
        if let Some(options) = priced {
            let mut class = instance.classes[instance.lots[index].cls].clone();
            class.name = format!("{} of {}", class.name, instance.lots[index].id);
            class.options = options;
            instance.lots[index].cls = instance.classes.len();
            instance.classes.push(class);
        }
    }
}

/// Returns the rows of a lot with the chance on top of their risk; none if nothing
/// changes.
fn priced(
    instance: &Instance,
    lot: &Lot,
    pieces: &[Pieces],
    price: i64,
) -> Option<Vec<(Slot, Slot, Slot, i64)>> {
    dry_between(instance, lot)?;
    let starts = starts(instance, lot);
    let mut in_time = vec![1.0; starts.len()];
    for pieces in pieces.iter().filter(|pieces| pieces.share > 0.0) {
        let outlook = Outlook::new(instance, lot, pieces, &starts);
        for (start, good) in starts.iter().zip(&mut in_time) {
            *good *= 1.0 - outlook.chance(start);
        }
    }
    let per_mille = |good: &f64| (1000.0 * (1.0 - good)).round() as i64;
    if in_time.iter().all(|good| per_mille(good) == 0) {
        return None;
    }
    let weight = instance.weights.risk;
    let mut rows: Vec<(Slot, Slot, Slot, i64)> = Vec::new();
    for (start, good) in starts.iter().zip(&in_time) {
        let risk = start.risk + (per_mille(good) * price + weight - 1) / weight;
        match rows.last_mut() {
            Some(row) if row.1 + 1 == start.at && row.2 == start.length && row.3 == risk => {
                row.1 = start.at;
            }
            _ => rows.push((start.at, start.at, start.length, risk)),
        }
    }
    Some(rows)
}

fn starts(instance: &Instance, lot: &Lot) -> Vec<Start> {
    let rows = instance.classes[lot.cls].options.iter();
    rows.flat_map(|&(first, last, length, risk)| {
        (first..=last).map(move |at| Start {
            at,
            length,
            risk,
            done: done_after(instance, lot, at, length),
        })
    })
    .collect()
}

/// What becomes of an order whose print begins again on a morning.
struct Outlook {
    per_day: Slot,
    /// Chance that a piece of the first go fails.
    fails: f64,
    /// By day of the morning: chance that the order is late. Beyond the plan the last.
    late: Vec<f64>,
    /// End of the finishing with which the order still leaves in time.
    last_done: Slot,
}

/// The least risky start of a day that still serves.
#[derive(Debug, Clone, Copy)]
struct Best {
    risk: f64,
    done: Slot,
}

impl Outlook {
    fn new(instance: &Instance, lot: &Lot, pieces: &Pieces, starts: &[Start]) -> Outlook {
        let order = &instance.orders[pieces.order];
        let fails = 1.0 - (1.0 - pieces.share).powi(pieces.count as i32);
        let again = f64::from(pieces.count) * pieces.share / fails;
        let per_day = instance.per_day;
        let days = instance.horizon / per_day;
        let last_done = last_done(instance, order);
        let mut outlook = Outlook {
            per_day,
            fails,
            late: vec![1.0; days as usize + 1],
            last_done,
        };
        let again = 1.0 - (1.0 - pieces.share).powf(again);
        let beyond = Beyond::new(instance, lot, order, starts);
        // Coating takes the first of those days.
        outlook.late[days as usize] = beyond.missed(1);
        for day in (0..days).rev() {
            let late = outlook.late_from(instance, lot, day, starts, again);
            outlook.late[day as usize] = match late {
                Some((late, nothing_served)) => late + nothing_served * beyond.missed(0),
                None => outlook.late[day as usize + 1],
            };
        }
        outlook
    }

    /// Returns the chance that a print fails that is exposed at a start, and its order
    /// is late for it.
    fn chance(&self, start: &Start) -> f64 {
        match start.done {
            Some(done) if done <= self.last_done => self.fails * self.late_after(done),
            _ => self.fails,
        }
    }

    /// Returns the chance for what is found to have failed at a moment.
    fn late_after(&self, done: Slot) -> f64 {
        let morning = (done.div_euclid(self.per_day) + 1).max(0) as usize;
        self.late[morning.min(self.late.len() - 1)]
    }

    /// Returns the chance for what begins again on the morning of `day`, and the chance
    /// that no day of the plan serves; none where the plan has no time to coat.
    fn late_from(
        &self,
        instance: &Instance,
        lot: &Lot,
        day: i64,
        starts: &[Start],
        again: f64,
    ) -> Option<(f64, f64)> {
        let bare = Lot {
            release: day * self.per_day,
            coated_end: None,
            ..lot.clone()
        };
        let (dry, _) = dry_between(instance, &bare)?;
        let first = dry + instance.load;
        let from = starts.partition_point(|start| start.at < first);
        let (mut waits, mut late) = (1.0, 0.0);
        for today in starts[from..].chunk_by(|a, b| a.at / self.per_day == b.at / self.per_day) {
            if let Some(best) = self.best(today) {
                late += waits * (1.0 - best.risk) * again * self.late_after(best.done);
                waits *= best.risk;
            }
        }
        Some((late, waits))
    }

    fn best(&self, today: &[Start]) -> Option<Best> {
        let serving = today.iter().filter_map(|start| {
            let done = start.done.filter(|done| *done <= self.last_done)?;
            let risk = start.risk.clamp(0, 1000) as f64 / 1000.0;
            Some(Best { risk, done })
        });
        serving.min_by(|a, b| a.risk.total_cmp(&b.risk))
    }
}

/// Returns the last end of finishing with which an order leaves by its promise, as far
/// as the plan reaches.
fn last_done(instance: &Instance, order: &Order) -> Slot {
    let promised = order.promise.div_euclid(instance.per_day);
    let leaves = |done: Slot| {
        let day = day_after(instance, order, done);
        day.is_some_and(|day| day <= promised)
    };
    let (mut low, mut high) = (-1, instance.horizon);
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        if leaves(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

/// Days beyond the plan on which an order may still be saved.
struct Beyond {
    /// Chance that a day serves.
    serves: f64,
    /// Days between the last that the plan sees and the last that serves.
    days: i64,
}

impl Beyond {
    fn new(instance: &Instance, lot: &Lot, order: &Order, starts: &[Start]) -> Beyond {
        let per_day = instance.per_day;
        let days = (instance.horizon / per_day).max(1);
        let by_day = starts.chunk_by(|a, b| a.at / per_day == b.at / per_day);
        let serving = by_day.map(|today| {
            let risks = today.iter().filter(|start| start.done.is_some());
            let least = risks.map(|start| start.risk).min();
            least.map_or(0.0, |risk| 1.0 - risk.clamp(0, 1000) as f64 / 1000.0)
        });
        let serves: f64 = serving.sum::<f64>() / days as f64;
        // From the light to the door, at best.
        let after = (lot.open.max(lot.cure) + per_day - 1) / per_day;
        let promised = order.promise.div_euclid(per_day);
        Beyond {
            serves: serves.clamp(0.0, 0.99),
            days: promised - after - (days - 1),
        }
    }

    /// Returns the chance that no day serves, `spent` of them being gone with coating.
    fn missed(&self, spent: i64) -> f64 {
        let left = (self.days - spent).clamp(0, 365);
        (1.0 - self.serves).powi(left as i32)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::model::{Begun, Capacity, Class, SessionRule, Space, Weights};

    const DAY: Slot = 288;

    /// Work from 09:00 to 17:00 on six days, a collection at 16:00 of each; one start a
    /// day, at 15:00, that goes wrong one time in five. Exposed on one day a print is
    /// finished at 15:40 of the next and leaves; coated on a morning it is dry at 13:20.
    fn instance(promised: Slot) -> Instance {
        Instance {
            format: "studio-plan-instance/1".to_owned(),
            name: "test".to_owned(),
            slot_min: 5,
            per_day: DAY,
            horizon: 6 * DAY,
            work: (0..6).map(|d| (d * DAY + 108, d * DAY + 204)).collect(),
            operators: 1,
            collections: (0..6).map(|d| d * DAY + 192).collect(),
            unserved_day: 9,
            capacity: Capacity {
                dark_sheet: 2,
                dark_line: 0,
                open_sheet: 2,
                open_line: 0,
                tray: 1,
            },
            frames: [("small".to_owned(), 1)].into(),
            session: SessionRule {
                setup: 3,
                mix_life: 48,
                max_per_day: 1,
            },
            load: 1,
            unload: 1,
            wash_gap: 12,
            weights: Weights {
                late: 100_000,
                risk: 10,
                session: 300,
                ship: 1,
            },
            classes: vec![Class {
                name: "sun".to_owned(),
                options: (0..6)
                    .map(|d| (d * DAY + 180, d * DAY + 180, 3, 200))
                    .collect(),
            }],
            lots: vec![Lot {
                id: "L0".to_owned(),
                cls: 0,
                frame: "small".to_owned(),
                space: Space::Sheet,
                amount: 1,
                coat: 1,
                dark: 48,
                keep: 864,
                attended: false,
                wash: 2,
                tray: 1,
                open: 96,
                cure: 288,
                finish: 2,
                release: 0,
                coated_end: None,
                exposed_end: None,
                washed_end: None,
            }],
            orders: vec![Order {
                id: "A".to_owned(),
                lots: vec!["L0".to_owned()],
                pack: 2,
                weight: 1,
                promise: promised * DAY + 192,
                handover: false,
                release: 0,
            }],
            begun: Begun::default(),
        }
    }

    /// One of ten such pieces fails.
    fn pieces(count: u32) -> Vec<Vec<Pieces>> {
        vec![vec![Pieces {
            order: 0,
            count,
            share: 0.1,
        }]]
    }

    fn added(promised: Slot, count: u32, price: i64) -> Vec<i64> {
        let mut instance = instance(promised);
        add_second_go(&mut instance, &pieces(count), price);
        let class = &instance.classes[instance.lots[0].cls];
        class.options.iter().map(|row| row.3 - 200).collect()
    }

    /// By hand, promised for day 4, so exposed on day 3 at the latest. Begun again on the
    /// morning of day 4 it is late; on that of day 3: 0.8 · 0.1 + 0.2 = 0.28; of day 2:
    /// 0.8 · 0.1 + 0.2 · 0.8 · 0.1 + 0.04 = 0.136. A print of day 0 begins again on day
    /// 2, one of day 1 on day 3; those of later days are late if they fail.
    #[test]
    fn a_start_costs_the_chance_that_nothing_can_be_made_again() {
        assert_eq!(added(4, 1, 10), [14, 28, 100, 100, 100, 100]);
    }

    /// Two prints: one of them fails in 0.19 of cases, 1.053 of them then, and of these
    /// again one in 1 − 0.9^1.053 = 0.105. Late from day 3: 0.284; from day 2: 0.141. The
    /// chance is in whole per mille before it is priced.
    #[test]
    fn more_pieces_fail_more_often() {
        assert_eq!(added(4, 2, 10), [27, 54, 190, 190, 190, 190]);
        assert_eq!(added(4, 2, 100), [270, 540, 1900, 1900, 1900, 1900]);
    }

    /// Five of the six days serve in four of five cases, so a day beyond them in two of
    /// three; promised for day 8, there are two such days. Begun again after the plan, one
    /// of them goes for the coat: late in 1/3; on day 5: in 1/9; on day 4 in 0.049, which
    /// is 0.8 · 0.1 · 1/3 and 0.2 · 1/9; on day 3: 0.019; on day 2: 0.008. The start of
    /// day 5 is finished after the plan, so no plan has it.
    #[test]
    fn days_beyond_the_plan_are_days_too() {
        assert_eq!(added(30, 1, 10)[..5], [0; 5]);
        assert_eq!(added(8, 1, 10)[..5], [1, 2, 5, 11, 33]);
    }

    #[test]
    fn what_costs_nothing_or_cannot_fail_changes_nothing() {
        let before = instance(4);
        let mut after = before.clone();
        add_second_go(&mut after, &pieces(1), 0);
        let sure = [vec![Pieces {
            share: 0.0,
            ..pieces(1)[0][0]
        }]];
        add_second_go(&mut after, &sure, 10);
        after.lots[0].washed_end = Some(0);
        add_second_go(&mut after, &pieces(1), 10);
        after.lots[0].washed_end = None;
        assert_eq!(before, after);
    }
}
