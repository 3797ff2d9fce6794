//! Planning again without upsetting the day.
//!
//! Two things keep the steps of today and tomorrow morning where they were. While
//! plans are searched, an exposure that leaves its kept start costs what the studio
//! says that a moved step costs, so that it moves only for a gain above that. When a
//! plan is found, its other near steps go back to their kept start wherever every rule
//! allows it and the plan is no worse: a search moves washes and coats about without
//! meaning anything by it.

use std::collections::BTreeSet;

use chrono::{Days, NaiveDateTime, NaiveTime};

use super::audit::{Start, audit_from};
use super::model::{Instance, LotTiming, Session, Slot, Timing};
use super::setup::Setup;
use crate::stage::Stage;

/// A step that begins this much earlier or later is where it was. [slots]
///
/// A quarter of an hour: an exposure that takes five minutes more pushes on what comes
/// behind it, and nobody calls that another plan. Own choice.
pub const NEAR: Slot = 3;
/// How much later a plan's slots may let a thing end than it does. [slots]
pub const ROUNDING: Slot = 2;

/// Returns the end of tomorrow morning, up to which steps are kept.
pub fn near_until(now: NaiveDateTime) -> NaiveDateTime {
    let noon = NaiveTime::from_hms_opt(12, 0, 0).expect("noon is a time");
    (now.date() + Days::new(1)).and_time(noon)
}

/// Returns the problem in which no order that `plan` has packed is left out for nothing.
///
/// An order that is promised for later than the problem looks may wait for the next
/// plan, and loses nothing by it there. Whoever goes by a plan would see it come and go
/// with every small change; so once planned it is promised for the last day that counts.
pub fn held(instance: &Instance, plan: &Timing) -> Instance {
    let mut instance = instance.clone();
    let last = instance.unserved_day * instance.per_day - 1;
    for order in &mut instance.orders {
        if plan.orders.contains_key(&order.id) {
            order.promise = order.promise.min(last);
        }
    }
    instance
}

/// Returns the problem with a price on every exposure that leaves its kept start, and
/// with every kept order [`held`]. What waits for the water is washed when it was to be.
///
/// `kept` is laid over this setup; `price` is in units of cost. The lots are the same
/// ones in the same order, so that a timing of one is a timing of the other.
pub fn priced(setup: &Setup, kept: &Timing, price: i64) -> Instance {
    let mut instance = held(&setup.instance, kept);
    wash_as_kept(setup, &mut instance, kept);
    if instance.weights.risk <= 0 {
        instance.weights.risk = 1;
        let rows = instance
            .classes
            .iter_mut()
            .flat_map(|class| &mut class.options);
        rows.for_each(|row| row.3 = 0);
    }
    let extra = (price.max(0) + instance.weights.risk - 1) / instance.weights.risk;
    let until = setup.grid.slot_until(near_until(setup.now));
    for index in 0..instance.lots.len() {
        let lot = &instance.lots[index];
        let steps = kept.lots.get(&lot.id);
        let Some(at) = steps
            .and_then(|steps| steps.expose)
            .filter(|at| *at < until)
        else {
            continue;
        };
        let mut class = instance.classes[lot.cls].clone();
        if !class
            .options
            .iter()
            .any(|row| (row.0..=row.1).contains(&at))
        {
            continue;
        }
        class.name = format!("{} kept {at}", class.name);
        class.options = class
            .options
            .iter()
            .flat_map(|&row| split(row, at, extra))
            .collect();
        instance.lots[index].cls = instance.classes.len();
        instance.classes.push(class);
    }
    instance
}

/// Lets prints that are out of the frame wait for their kept wash, as far as a plan may:
/// a search washes them as soon as it can, and that may be when something else was to be.
fn wash_as_kept(setup: &Setup, instance: &mut Instance, kept: &Timing) {
    for lot in 0..instance.lots.len() {
        let core = &mut instance.lots[lot];
        let wash = kept.lots.get(&core.id).and_then(|steps| steps.wash);
        if let (Some(out), Some(wash), Some(last)) = (core.exposed_end, wash, last_wash(setup, lot))
            && (out..=last).contains(&wash)
        {
            core.exposed_end = Some(wash);
        }
    }
}

/// Returns by when a lot that is out of the frame, or will be, is to be in the water; the
/// slots of the plan before may have been a little longer than the time.
fn last_wash(setup: &Setup, lot: usize) -> Option<Slot> {
    let pieces = setup.lots[lot].pieces.iter();
    let out = pieces.filter_map(|w| w.piece.progress.done_at(Stage::Exposing));
    Some(setup.grid.slot_until(out.min()?) + setup.instance.wash_gap + ROUNDING)
}

/// Counts the prints whose wash comes too late.
fn lying_too_long(setup: &Setup, timing: &Timing) -> i64 {
    let late = |lot: &usize| {
        let steps = timing.lots.get(&setup.instance.lots[*lot].id);
        let wash = steps.and_then(|steps| steps.wash);
        wash.zip(last_wash(setup, *lot))
            .is_some_and(|(wash, last)| wash > last)
    };
    (0..setup.lots.len()).filter(late).count() as i64
}

/// Takes back that lots wait for their kept wash which then find no place in time.
///
/// `priced` is what [`priced`] made of `setup`, `timing` a plan of it.
pub fn wash_sooner(setup: &Setup, priced: &mut Instance, timing: &Timing) {
    for lot in 0..priced.lots.len() {
        let core = &mut priced.lots[lot];
        let wash = timing.lots.get(&core.id).and_then(|steps| steps.wash);
        if wash
            .zip(last_wash(setup, lot))
            .is_some_and(|(wash, last)| wash > last)
        {
            core.exposed_end = setup.instance.lots[lot].exposed_end;
        }
    }
}

/// Splits a row of starts at the kept one; all others cost `extra` more.
fn split(
    (first, last, length, risk): (Slot, Slot, Slot, i64),
    at: Slot,
    extra: i64,
) -> Vec<(Slot, Slot, Slot, i64)> {
    let dear = (first, last, length, risk + extra);
    if !(first..=last).contains(&at) {
        return vec![dear];
    }
    let parts = [
        (first, at - 1, length, risk + extra),
        (at, at, length, risk),
        (at + 1, last, length, risk + extra),
    ];
    parts.into_iter().filter(|row| row.0 <= row.1).collect()
}

/// Returns what a plan costs with every near step that moved, and with a late day for
/// every kept order that it leaves out and every print that lies too long before its
/// wash; none if it breaks a rule.
pub fn felt(setup: &Setup, timing: &Timing, kept: &Timing, price: i64) -> Option<i64> {
    let audit = audit_from(&setup.instance, timing, Start::Given);
    let stayed = stayed(setup, timing, kept);
    let moved = price.saturating_mul((stayed.all - stayed.same) as i64);
    let orders = setup.instance.orders.iter();
    let dropped = orders.filter(|order| {
        kept.orders.contains_key(&order.id) && !timing.orders.contains_key(&order.id)
    });
    let dropped = dropped.map(|order| order.weight * setup.instance.weights.late);
    let lying = lying_too_long(setup, timing).saturating_mul(setup.instance.weights.late);
    let cost = audit.cost.total(&setup.instance.weights);
    audit.is_kept().then(|| {
        cost.saturating_add(moved)
            .saturating_add(dropped.sum())
            .saturating_add(lying)
    })
}

/// Puts near steps back to where they were kept, where that breaks no rule and loses
/// less than `price` for each.
pub fn settle(setup: &Setup, timing: Timing, kept: &Timing, price: i64) -> Timing {
    let until = setup.grid.slot_until(near_until(setup.now));
    let mut settling = Settling {
        setup,
        kept,
        price,
        felt: felt(setup, &timing, kept, price).unwrap_or(i64::MAX),
        timing,
    };
    let near: Vec<&String> = kept
        .lots
        .iter()
        .filter(|(_, steps)| first_step(steps) < until)
        .map(|(id, _)| id)
        .collect();
    settling.sessions(kept, until);
    // All at once first: two coats that changed places can only go back together.
    settling.lots(&near, kept, until, &[Back::Coat]);
    settling.lots(&near, kept, until, &[Back::Wash, Back::Finish]);
    for id in &near {
        settling.lots(&[*id], kept, until, &[Back::Coat, Back::Wash, Back::Finish]);
        for back in [Back::Coat, Back::Wash, Back::Finish] {
            settling.lots(&[*id], kept, until, &[back]);
        }
    }
    for (id, order) in kept.orders.iter().filter(|(_, order)| order.pack < until) {
        let mut tried = settling.timing.clone();
        if let Some(now) = tried
            .orders
            .get_mut(id)
            .filter(|now| now.pack != order.pack)
        {
            now.pack = order.pack;
            settling.accept(tried);
        }
    }
    settling.timing
}

/// Returns `timing` with the lots and packings of today and tomorrow morning as kept.
///
/// What then stands in each other's way is left for a search to mend.
pub fn recalled(setup: &Setup, timing: &Timing, kept: &Timing) -> Timing {
    let until = setup.grid.slot_until(near_until(setup.now));
    let starts: BTreeSet<Slot> = [timing, kept]
        .iter()
        .flat_map(|plan| plan.sessions.iter().map(|session| session.start))
        .collect();
    let at_home = |plan: &Timing, mut lot: LotTiming| {
        let session = lot.session.and_then(|index| plan.sessions.get(index));
        lot.session = session.map(|session| starts.range(..session.start).count());
        lot
    };
    let mut back = Timing {
        sessions: starts.iter().map(|&start| Session { start }).collect(),
        lots: timing
            .lots
            .iter()
            .map(|(id, lot)| (id.clone(), at_home(timing, *lot)))
            .collect(),
        orders: timing.orders.clone(),
    };
    let near = kept.lots.iter().filter(|(_, was)| first_step(was) < until);
    for (id, was) in near {
        back.lots.insert(id.clone(), at_home(kept, *was));
    }
    for (id, was) in kept.orders.iter().filter(|(_, was)| was.pack < until) {
        back.orders.insert(id.clone(), *was);
    }
    back
}

/// How many near steps stayed where they were kept, and how many there were.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Stayed {
    /// Steps at the same moment, give or take [`NEAR`].
    pub same: usize,
    /// Steps that could have been.
    pub all: usize,
}

/// Counts the steps of today and tomorrow morning that stayed.
///
/// Steps that are done meanwhile, and pieces that go together differently, do not
/// count: `kept` is laid over this setup.
pub fn stayed(setup: &Setup, timing: &Timing, kept: &Timing) -> Stayed {
    let until = setup.grid.slot_until(near_until(setup.now));
    let mut stayed = Stayed::default();
    let mut count = |was: Option<Slot>, is: Option<Slot>| {
        if was.is_some_and(|at| at < until) {
            stayed.all += 1;
            let apart = was.zip(is).map(|(was, is)| (was - is).abs());
            stayed.same += usize::from(apart.is_some_and(|apart| apart <= NEAR));
        }
    };
    for (id, was) in &kept.lots {
        let is = timing.lots.get(id).copied();
        count(was.coat, is.and_then(|is| is.coat));
        count(was.expose, is.and_then(|is| is.expose));
        count(was.wash, is.and_then(|is| is.wash));
        count(Some(was.finish), is.map(|is| is.finish));
    }
    for (id, was) in &kept.orders {
        count(Some(was.pack), timing.orders.get(id).map(|is| is.pack));
    }
    stayed
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Back {
    Coat,
    Wash,
    Finish,
}

#[derive(Debug)]
struct Settling<'a> {
    setup: &'a Setup<'a>,
    kept: &'a Timing,
    price: i64,
    timing: Timing,
    felt: i64,
}

impl Settling<'_> {
    /// Takes a timing that keeps every rule and is felt no worse.
    fn accept(&mut self, tried: Timing) -> bool {
        let felt = felt(self.setup, &tried, self.kept, self.price);
        let felt = felt.filter(|felt| *felt <= self.felt);
        if let Some(felt) = felt {
            (self.timing, self.felt) = (tried, felt);
        }
        felt.is_some()
    }

    /// Moves sessions back to kept starts at which there is none now.
    fn sessions(&mut self, kept: &Timing, until: Slot) {
        let per_day = self.setup.instance.per_day.max(1);
        for start in kept.sessions.iter().map(|session| session.start) {
            let now = &self.timing.sessions;
            if start >= until || now.iter().any(|session| session.start == start) {
                continue;
            }
            let same_day = |at: Slot| at.div_euclid(per_day) == start.div_euclid(per_day);
            let candidates: Vec<usize> = (0..now.len())
                .filter(|&index| same_day(now[index].start))
                .collect();
            for index in candidates {
                let tried = with_session_at(&self.timing, index, start, kept);
                if self.accept(tried) {
                    break;
                }
            }
        }
    }

    fn lots(&mut self, ids: &[&String], kept: &Timing, until: Slot, backs: &[Back]) {
        let mut tried = self.timing.clone();
        for id in ids {
            let (Some(was), Some(is)) = (kept.lots.get(*id), tried.lots.get(*id).copied()) else {
                continue;
            };
            let back = backs.iter().fold(is, |is, back| {
                put_back(&self.timing, kept, is, was, *back, until)
            });
            tried.lots.insert((*id).clone(), back);
        }
        if tried != self.timing {
            self.accept(tried);
        }
    }
}

fn put_back(
    timing: &Timing,
    kept: &Timing,
    mut is: LotTiming,
    was: &LotTiming,
    back: Back,
    until: Slot,
) -> LotTiming {
    let near = |at: Option<Slot>| at.filter(|at| *at < until);
    match back {
        Back::Coat => {
            let start = was.session.and_then(|index| kept.sessions.get(index));
            let session = start.and_then(|start| timing.sessions.iter().position(|s| s == start));
            if let (Some(at), Some(session), true) = (near(was.coat), session, is.coat.is_some()) {
                (is.coat, is.session) = (Some(at), Some(session));
            }
        }
        Back::Wash if is.wash.is_some() => is.wash = near(was.wash).or(is.wash),
        Back::Wash => {}
        Back::Finish => is.finish = near(Some(was.finish)).unwrap_or(is.finish),
    }
    is
}

/// Moves a session; its lots take their kept coats, or move along with it.
fn with_session_at(timing: &Timing, index: usize, start: Slot, kept: &Timing) -> Timing {
    let moved = start - timing.sessions[index].start;
    let mut tried = timing.clone();
    tried.sessions[index].start = start;
    for (id, lot) in &mut tried.lots {
        if lot.session == Some(index) {
            let was = kept.lots.get(id).and_then(|was| was.coat);
            lot.coat = was.or(lot.coat.map(|at| at + moved));
        }
    }
    let mut order: Vec<usize> = (0..tried.sessions.len()).collect();
    order.sort_by_key(|&session| tried.sessions[session].start);
    tried.sessions = order.iter().map(|&old| tried.sessions[old]).collect();
    for lot in tried.lots.values_mut() {
        let place = |old: usize| order.iter().position(|&session| session == old);
        lot.session = lot.session.and_then(place);
    }
    tried
}

fn first_step(steps: &LotTiming) -> Slot {
    let steps = [steps.coat, steps.expose, steps.wash];
    let first = steps.into_iter().flatten().min();
    first.unwrap_or(Slot::MIN)
}
