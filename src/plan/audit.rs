//! The second judge: does a timing keep every rule of the core problem?
//!
//! [`audit`] looks at an instance and a timing alone and works everything out
//! again: when things are dry, who is at work, what is in which rack. It shares
//! no code with the search, only the types of `model`, so that a mistake there
//! cannot hide here. The rules carry numbers, R0 to R18; R0 is "this makes no
//! sense", the others are the variants of [`Broken`] one by one.
//!
//! # Broken chains
//! A lot whose session or admissible start cannot be found is not followed any
//! further: when it is washed and finished is then unknown, so it fills no more
//! places, and an order that needs it counts as packed too early (R16).
//!
//! # Work in progress
//! A lot coated, exposed or washed before the plan begins has only its remaining
//! steps. What hangs in the racks because of it is a fact, not a decision; how
//! far R18 blames the plan for it is [`Start`].
//!
//! # Cost
//! Terms count what could be judged: a start that is not admissible carries no
//! risk, an order that no collection takes has neither lateness nor shipping.

mod chain;
mod places;
mod sense;
mod verdict;

use std::collections::BTreeMap;

use self::places::Use;
pub use self::verdict::{Broken, Fault, FrameWork, Resource, Span, Step};
use super::model::{Cost, Held, Instance, Lot, Order, Slot, Timing};

/// What the audit found.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Audit {
    /// Broken rules: senseless things, sessions, lots by name, orders as listed,
    /// then places.
    pub broken: Vec<Broken>,
    /// The parts of the cost.
    pub cost: Cost,
}

impl Audit {
    /// Tells whether every rule is kept.
    pub fn is_kept(&self) -> bool {
        self.broken.is_empty()
    }
}

/// How to judge racks that were overfull before the plan placed anything.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Start {
    /// Work in progress is like any other step: it counts while its lot is in
    /// the plan, and a rack that it overfills breaks R18.
    Judged,
    /// Work in progress hangs there, planned or not, and alone never breaks
    /// R18; a step that the plan adds to an overfull rack does.
    Given,
}

/// Judges a timing; the instance decides how its start is looked at.
///
/// An instance in the plain format, without anything that goes on when the plan begins
/// and without orders handed over at the door, is [`Start::Judged`], as any
/// other checker of that format would; the rest is [`Start::Given`]. For a real
/// studio, whose racks are as full as they are, say [`Start::Given`] yourself and
/// call [`audit_from`].
pub fn audit(instance: &Instance, timing: &Timing) -> Audit {
    let begun = |lot: &Lot| lot.exposed_end.is_some() || lot.washed_end.is_some();
    let unlike = |order: &Order| order.handover || order.release != 0;
    let extended = instance.lots.iter().any(begun)
        || instance.orders.iter().any(unlike)
        || !instance.begun.is_nothing();
    let start = if extended {
        Start::Given
    } else {
        Start::Judged
    };
    audit_from(instance, timing, start)
}

/// Judges a timing with its start looked at as told. Never panics.
///
/// An instance that makes no sense (an unknown frame or class, a negative
/// duration, a number out of range) gets its R0 faults and no further judgement.
pub fn audit_from(instance: &Instance, timing: &Timing, start: Start) -> Audit {
    let faults = sense::faults_that_end_it(instance, timing);
    if !faults.is_empty() {
        return Audit {
            broken: faults.into_iter().map(Broken::Senseless).collect(),
            cost: Cost::default(),
        };
    }
    let mut judge = Judge {
        instance,
        timing,
        broken: Vec::new(),
        uses: Vec::new(),
        finished: BTreeMap::new(),
        cost: Cost::default(),
    };
    judge.timing_makes_sense();
    judge.judge_sessions();
    judge.judge_begun();
    judge.judge_work_in_progress(start);
    judge.judge_lots();
    judge.judge_orders();
    let overfull = places::find_overfull(instance, &judge.uses);
    judge.broken.extend(overfull);
    Audit {
        broken: judge.broken,
        cost: judge.cost,
    }
}

/// What is known so far about one timing.
struct Judge<'a> {
    instance: &'a Instance,
    timing: &'a Timing,
    broken: Vec<Broken>,
    uses: Vec<Use<'a>>,
    /// End of finishing, by lot.
    finished: BTreeMap<&'a str, Slot>,
    cost: Cost,
}

impl<'a> Judge<'a> {
    /// Notes the verdict unless the rule is kept.
    fn rule(&mut self, kept: bool, broken: impl FnOnce() -> Broken) {
        if !kept {
            self.broken.push(broken());
        }
    }

    /// Takes one person for `at`; `outside` is the verdict outside work hours.
    fn take_hands(&mut self, who: &'a str, at: Span, outside: impl FnOnce(Span) -> Broken) {
        let covers = |&(begin, end): &(Slot, Slot)| begin <= at.from && at.until <= end;
        let at_work = self.instance.work.iter().any(covers);
        self.rule(at_work, || outside(at));
        self.occupy(Resource::Hands, who, at, 1);
    }

    /// Takes places that the plan decides about.
    fn occupy(&mut self, resource: Resource, who: &'a str, at: Span, amount: i64) {
        let given = false;
        self.uses.push(Use {
            resource,
            who,
            at,
            amount,
            given,
        });
    }

    /// R0, of the timing: unknown names, steps too few or too many, negative starts.
    fn timing_makes_sense(&mut self) {
        let faults = sense::faults_of_timing(self.instance, self.timing);
        self.broken
            .extend(faults.into_iter().map(Broken::Senseless));
    }

    /// R1 and R2.
    fn judge_sessions(&mut self) {
        let begun = self.instance.begun.sessions;
        let mut on_day: BTreeMap<i64, i64> = BTreeMap::from([(0, begun)]);
        for (session, made) in self.timing.sessions.iter().enumerate() {
            let at = Span::new(made.start, self.instance.session.setup);
            self.take_hands("setup", at, |at| Broken::SetupOutsideWork { session, at });
            *on_day.entry(self.day_of(made.start)).or_default() += 1;
        }
        let max = self.instance.session.max_per_day;
        for (day, count) in on_day {
            let planned = count - if day == 0 { begun } else { 0 };
            self.rule(count <= max || planned == 0, || Broken::TooManySessions {
                day,
                count,
                max,
            });
        }
        self.cost.session = self.timing.sessions.len() as i64;
    }

    /// Takes what work that began before the plan keeps until it is done.
    fn judge_begun(&mut self) {
        for taken in &self.instance.begun.taken {
            self.uses.push(Use {
                resource: match &taken.what {
                    Held::Hands => Resource::Hands,
                    Held::Trays => Resource::Trays,
                    Held::Frame(name) => Resource::Frame(name.clone()),
                },
                who: "under way",
                at: Span {
                    from: taken.from,
                    until: taken.until,
                },
                amount: taken.amount,
                given: true,
            });
        }
    }

    /// Fills the racks with what was begun before the plan.
    fn judge_work_in_progress(&mut self, start: Start) {
        for lot in &self.instance.lots {
            let planned = self.timing.lots.contains_key(&lot.id);
            if start == Start::Judged && !planned {
                continue;
            }
            let Some((resource, at)) = chain::hanging(lot) else {
                continue;
            };
            self.uses.push(Use {
                resource,
                who: &lot.id,
                at,
                amount: lot.amount,
                given: start == Start::Given,
            });
        }
    }

    /// R3 to R14.
    fn judge_lots(&mut self) {
        for lot in sense::lots_by_name(self.instance).into_values() {
            if let Some(steps) = self.timing.lots.get(&lot.id) {
                self.judge_lot(lot, steps);
            }
        }
    }

    /// R15 to R17, R14 for what is handed over, and what lateness costs.
    fn judge_orders(&mut self) {
        let (mut late, mut ship) = (0_i128, 0_i128);
        for order in &self.instance.orders {
            let Some(leaves) = self.day_it_leaves(order) else {
                continue;
            };
            let late_days = (leaves - self.day_of(order.promise)).max(0);
            late += i128::from(order.weight) * i128::from(late_days);
            ship += i128::from(order.weight) * i128::from(leaves);
        }
        self.cost.late = narrowed(late);
        self.cost.ship = narrowed(ship);
    }

    /// The day on which an order leaves, or is charged for; none if nobody takes it.
    fn day_it_leaves(&mut self, order: &'a Order) -> Option<i64> {
        let Some(packing) = self.timing.orders.get(&order.id) else {
            return Some(self.instance.unserved_day);
        };
        let at = Span::new(packing.pack, order.pack);
        let name = || order.id.clone();
        let free = order.release <= 0 || at.from >= order.release;
        self.rule(free, || Broken::PackedBeforeRelease {
            order: name(),
            pack: at.from,
            release: order.release,
        });
        self.take_hands(&order.id, at, |at| Broken::PackingOutsideWork {
            order: name(),
            at,
        });
        for lot in &order.lots {
            let finished = self.finished.get(lot.as_str()).copied();
            let kept = finished.is_some_and(|end| end <= at.from);
            self.rule(kept, || Broken::PackedBeforeFinished {
                order: name(),
                lot: lot.clone(),
                pack: at.from,
                finished,
            });
        }
        if order.handover {
            self.ends_inside_horizon(&order.id, at.until);
            return Some(self.day_of(at.from.max(at.until - 1)));
        }
        let later = |collection: &&Slot| **collection >= at.until;
        let collection = self.instance.collections.iter().find(later);
        self.rule(collection.is_some(), || Broken::NeverCollected {
            order: name(),
            packed: at.until,
        });
        collection.map(|slot| self.day_of(*slot))
    }

    /// R14.
    fn ends_inside_horizon(&mut self, of: &str, end: Slot) {
        let horizon = self.instance.horizon;
        self.rule(end <= horizon, || Broken::EndsAfterHorizon {
            of: of.to_owned(),
            end,
            horizon,
        });
    }

    fn day_of(&self, slot: Slot) -> i64 {
        slot.div_euclid(self.instance.per_day)
    }
}

/// The nearest number that an `i64` can hold.
fn narrowed(wide: i128) -> i64 {
    wide.clamp(i128::from(i64::MIN), i128::from(i64::MAX)) as i64
}
