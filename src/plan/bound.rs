//! What no plan can be better than.
//!
//! A bound from below on lateness and on cost, found without searching for a plan.
//! Whoever wants to check it needs no trust in the search: the limits that lots and
//! orders share (hands, frames, mixes, dark places) are given a price per slot, every
//! order then takes its cheapest way alone, and what the prices bring in for the room
//! there is, is given back. Whatever the prices, no plan costs less (weak duality);
//! better prices only make the bound higher. Everything is counted in whole numbers,
//! so that no rounding can lift it above the truth.
//!
//! # What is kept of the rules
//! For an order alone everything but trays and wet-dry places. Between orders: hands,
//! frames (summed over stretches of at most [`STRETCH`] slots), sessions with the life
//! of their mix and their dark-dry places, and that nothing is coated without one.
//!
//! # Sources
//! Lagrangian relaxation with subgradient steps: Held, Wolfe & Crowder 1974,
//! "Validation of subgradient optimization"; step length after Polyak 1969.

mod answer;
mod facts;
mod prices;
mod room;
mod tables;

use super::model::{Cost, Instance};
use answer::Answer;
use facts::Facts;
use prices::{Prices, SCALE};

/// Longest stretch over which a shared limit is summed. [slots]
pub const STRETCH: i64 = 12;

/// What no plan for an instance can be better than.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bound {
    /// Weighted order-days after the promise, at least.
    pub late: i64,
    /// Cost, at least.
    pub cost: i64,
}

/// What a plan has, beside what no plan can be better than.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Proof {
    /// The plan's weighted order-days after the promise.
    pub late: i64,
    /// The plan's cost.
    pub cost: i64,
    /// What no plan can be better than.
    pub bound: Bound,
}

impl Proof {
    /// Bounds the plans of `instance`, of which one costs `cost`.
    pub fn of(instance: &Instance, cost: Cost, rounds: u32) -> Proof {
        Proof {
            late: cost.late,
            cost: cost.total(&instance.weights),
            bound: bound(instance, &cost, rounds),
        }
    }

    /// Tells whether no plan can be more punctual.
    pub fn is_most_punctual(&self) -> bool {
        self.late <= self.bound.late
    }

    /// Tells whether no plan can be better in anything that counts.
    pub fn is_best(&self) -> bool {
        self.cost <= self.bound.cost
    }

    /// Returns how much of its cost a better plan could save at most; 0 to 1.
    pub fn gap(&self) -> f64 {
        match self.cost {
            0 => 0.0,
            cost => (self.cost - self.bound.cost).max(0) as f64 / cost as f64,
        }
    }
}

/// Bounds lateness and cost from below.
///
/// `known` is the cost of any plan, `rounds` how often the prices are mended: more
/// rounds, a higher bound. Never fails; of an instance without orders the bound is 0.
pub fn bound(instance: &Instance, known: &Cost, rounds: u32) -> Bound {
    let facts = Facts::new(instance);
    let late = only_late(instance);
    let late_facts = Facts::new(&late);
    Bound {
        late: raise(&late_facts, known.late, rounds),
        cost: raise(&facts, known.total(&instance.weights), rounds),
    }
}

/// Returns how many rounds are worth it for an instance of that size, so that a bound
/// takes a fraction of a second.
pub fn usual_rounds(instance: &Instance) -> u32 {
    let options: usize = instance
        .classes
        .iter()
        .map(|class| class.options.len())
        .sum();
    let size = instance.lots.len() * (options / instance.classes.len().max(1) + 1_000);
    (8_000_000 / size.max(1)).clamp(20, 200) as u32
}

fn only_late(instance: &Instance) -> Instance {
    let mut late = instance.clone();
    late.weights = super::model::Weights {
        late: 1,
        risk: 0,
        session: 0,
        ship: 0,
    };
    late
}

/// Mends the prices `rounds` times and returns the best bound met, in units of cost.
fn raise(facts: &Facts, known: i64, rounds: u32) -> i64 {
    let mut prices = Prices::free(facts);
    let mut best = i64::MIN;
    let (mut pace, mut idle) = (1.0, 0);
    let mut drift: Option<Answer> = None;
    for _ in 0..rounds.max(1) {
        let answer = answer::cheapest(facts, &prices);
        if answer.value > best {
            (best, idle) = (answer.value, 0);
        } else {
            idle += 1;
        }
        if idle >= 12 {
            (pace, idle) = (pace / 2.0, 0);
        }
        let gap = known.saturating_mul(SCALE).saturating_sub(answer.value);
        if best.div_euclid(SCALE) >= known || gap <= 0 {
            break;
        }
        let way = answer.joined(drift.as_ref());
        prices.mend(&way, pace * gap as f64);
        drift = Some(way);
    }
    // A cost is a whole number: what is above 12.01 is at least 13.
    -(-best).div_euclid(SCALE)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Work from 09:00 to 17:00 on three days, collections at 16:00, one small frame.
    /// Light from 12:00 to 12:20 only, ten minutes needed, so one lot a day. Lots are
    /// coated already; each needs 10 + 25 + 5 minutes of hands after the light.
    fn instance(orders: i64) -> Instance {
        let lots: Vec<_> = (0..orders)
            .map(|order| {
                serde_json::json!({
                    "id": format!("L{order}"), "cls": 0, "frame": "S", "space": "sheet",
                    "amount": 1, "coat": 1, "dark": 12, "box": 2000, "attended": false,
                    "wash": 2, "tray": 1, "open": 12, "cure": 12, "finish": 5,
                    "release": 0, "coated_end": -24,
                })
            })
            .collect();
        let wanted: Vec<_> = (0..orders)
            .map(|order| {
                serde_json::json!({
                    "id": format!("O{order}"), "lots": [format!("L{order}")], "pack": 1,
                    "weight": 1, "promise": 0,
                })
            })
            .collect();
        serde_json::from_value(serde_json::json!({
            "format": "studio-plan-instance/1", "name": "by hand", "slot_min": 5,
            "per_day": 288, "horizon": 864,
            "work": [[108, 204], [396, 492], [684, 780]], "operators": 1,
            "collections": [192, 480, 768], "unserved_day": 6,
            "capacity": {"dark_sheet": 9, "dark_line": 0, "open_sheet": 9,
                         "open_line": 0, "tray": 2},
            "frames": {"S": 1}, "session": {"setup": 3, "mix_life": 24, "max_per_day": 1},
            "load": 1, "unload": 1, "wash_gap": 12,
            "weights": {"late": 100, "risk": 1, "session": 7, "ship": 1},
            "classes": [{"name": "sun", "options":
                [[144, 146, 2, 5], [432, 434, 2, 3], [720, 722, 2, 0]]}],
            "lots": lots, "orders": wanted,
        }))
        .expect("the instance is well formed")
    }

    fn known(late: i64, risk: i64, ship: i64) -> Cost {
        Cost {
            late,
            risk,
            session: 0,
            ship,
        }
    }

    /// By hand: in the light at 12:00 of day 0, collected the same day; risk 5, day 0.
    #[test]
    fn one_order_alone_is_bounded_by_its_own_way() {
        let bound = bound(&instance(1), &known(0, 5, 0), 10);
        assert_eq!(bound, Bound { late: 0, cost: 5 });
    }

    /// By hand: four slots in the frame of the six that are lit on a day, so one lot a
    /// day and a half when summed up; three orders are late by 0, 1 and 2 days.
    #[test]
    fn a_frame_that_is_full_makes_others_late() {
        let bound = bound(&instance(3), &known(3, 8, 3), 400);
        assert!((1..=3).contains(&bound.late), "{bound:?}");
        assert!((110..=311).contains(&bound.cost), "{bound:?}");
    }

    #[test]
    fn nothing_to_do_costs_nothing() {
        let bound = bound(&instance(0), &Cost::default(), 5);
        assert_eq!(bound, Bound { late: 0, cost: 0 });
    }
}
