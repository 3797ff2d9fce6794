//! From "no end of it" to how much is enough: one more frame, an evening till eight.
//!
//! Sizes are tried from small to large, each by planning again, up to what the plan
//! with plenty of it really takes. The first that saves the order is named; that a
//! smaller one does not is found, not proven.

use chrono::{NaiveDate, NaiveTime, TimeDelta};

use super::Desk;
use super::again::{Answer, Saved};
use super::lift::{Lift, Limit, end_of_work, lifted};
use super::usage::{Peaks, Work, handwork, peaks};
use crate::plan::model::{Instance, Slot, Space};
use crate::plan::waiting::Standing;
use crate::plan::week::OrderPieces;

/// What is done in the longer part of a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Evening {
    /// The day.
    pub on: NaiveDate,
    /// When it ends.
    pub until: NaiveTime,
    /// The pieces that are coated in it.
    pub coats: Vec<OrderPieces>,
    /// Whether nothing but coating is done in it.
    pub coating_alone: bool,
}

/// Counts that are tried below the one that is known to be enough.
const COUNTS: [i64; 9] = [1, 2, 3, 4, 6, 8, 12, 16, 24];
/// Steps in which line is asked for. [cm]
const LINE_STEP_CM: i64 = 10;
/// Longer evenings that are tried, the longest allowed one after them. [min]
const EVENINGS_MIN: [i64; 7] = [15, 30, 45, 60, 90, 120, 150];

/// Returns lifts that are enough, one or more for each limit, and the plan with them.
pub(super) fn narrow(
    desk: &mut Desk,
    order: usize,
    due: i64,
    limits: &[Limit],
    saved: Saved,
) -> (Vec<Lift>, Saved) {
    let mut lifts: Vec<Vec<Lift>> = limits.iter().map(|limit| desk.all_of(&[*limit])).collect();
    let mut best = saved;
    for (index, limit) in limits.iter().enumerate() {
        let with_plenty = lifted(desk.asked.setup, desk.asked.fair, &lifts.concat());
        for smaller in smaller(desk, order, *limit, &with_plenty, &best) {
            let mut trial = lifts.clone();
            trial[index] = smaller;
            if let Answer::Saved(saved) = desk.save(order, &trial.concat(), due) {
                lifts = trial;
                best = saved;
                break;
            }
        }
    }
    (lifts.concat(), best)
}

/// Lists smaller lifts of a limit, ascending; the last is what the plan takes.
fn smaller(
    desk: &Desk,
    order: usize,
    limit: Limit,
    instance: &Instance,
    saved: &Saved,
) -> Vec<Vec<Lift>> {
    let has = &desk.asked.setup.instance;
    let takes = peaks(instance, &saved.timing);
    match limit {
        Limit::Weather => Vec::new(),
        Limit::Material => materials(desk, order, saved),
        Limit::DarkDry => racks(
            &takes,
            has,
            |space, more| Lift::DarkDry { space, more },
            true,
        ),
        Limit::WetDry => racks(
            &takes,
            has,
            |space, more| Lift::WetDry { space, more },
            false,
        ),
        Limit::Frames => frames(&takes, has),
        Limit::Trays => counts(takes.trays - has.capacity.tray)
            .map(|more| vec![Lift::Trays { more }])
            .collect(),
        Limit::Sessions => counts(takes.sessions - has.session.max_per_day)
            .map(|more| vec![Lift::Sessions { more }])
            .collect(),
        Limit::Collections => vec![vec![Lift::Collection {
            on: desk.day(saved.day),
        }]],
        Limit::Hours => hours(desk, instance, saved),
        Limit::Hands => counts(takes.hands - has.operators)
            .map(|more| vec![Lift::Hands { more }])
            .collect(),
    }
}

/// Lists counts up to `enough`, which is the last.
fn counts(enough: i64) -> impl Iterator<Item = i64> {
    let below = COUNTS.into_iter().filter(move |count| *count < enough);
    below.chain((enough > 0).then_some(enough))
}

fn racks(
    takes: &Peaks,
    has: &Instance,
    lift: impl Fn(Space, i64) -> Lift,
    dark: bool,
) -> Vec<Vec<Lift>> {
    let capacity = &has.capacity;
    let (taken, sheets, line) = match dark {
        true => (&takes.dark, capacity.dark_sheet, capacity.dark_line),
        false => (&takes.open, capacity.open_sheet, capacity.open_line),
    };
    let taken = |space| taken.get(&space).copied().unwrap_or(0);
    let sheets = taken(Space::Sheet) - sheets;
    let line = (taken(Space::Line) - line + LINE_STEP_CM - 1) / LINE_STEP_CM * LINE_STEP_CM;
    let mut all = Vec::new();
    all.extend(counts(sheets).map(|more| vec![lift(Space::Sheet, more)]));
    let steps = counts(line / LINE_STEP_CM).map(|steps| steps * LINE_STEP_CM);
    all.extend(steps.map(|more| vec![lift(Space::Line, more)]));
    if sheets > 0 && line > 0 {
        all.push(vec![lift(Space::Sheet, sheets), lift(Space::Line, line)]);
    }
    all
}

fn frames(takes: &Peaks, has: &Instance) -> Vec<Vec<Lift>> {
    let missing: Vec<(&String, i64)> = takes
        .frames
        .iter()
        .map(|(name, taken)| (name, taken - has.frames.get(name).copied().unwrap_or(0)))
        .filter(|(_, more)| *more > 0)
        .collect();
    let lift = |name: &String, more| Lift::Frame {
        name: name.clone(),
        more,
    };
    let mut all: Vec<Vec<Lift>> = Vec::new();
    let most = missing.iter().map(|(_, more)| *more).max().unwrap_or(0);
    for count in counts(most) {
        let enough = missing.iter().filter(|(_, more)| *more >= count);
        all.extend(enough.map(|(name, _)| vec![lift(name, count)]));
    }
    if missing.len() > 1 {
        let together = missing.iter().map(|(name, more)| lift(name, *more));
        all.push(together.collect());
    }
    all
}

/// Lists materials with the day on which the plan coats them.
fn materials(desk: &Desk, order: usize, saved: &Saved) -> Vec<Vec<Lift>> {
    let setup = desk.asked.setup;
    let (mut own, mut others): (Vec<Lift>, Vec<Lift>) = (Vec::new(), Vec::new());
    for (lot, core) in setup.lots.iter().zip(&setup.instance.lots) {
        let coat = saved.timing.lots.get(&core.id).and_then(|at| at.coat);
        let Some(coat) = coat.filter(|coat| *coat < core.release) else {
            continue;
        };
        debug_assert!(matches!(lot.pieces[0].standing, Standing::Uncoated { .. }));
        let list = match lot.pieces.iter().any(|piece| piece.order == order) {
            true => &mut own,
            false => &mut others,
        };
        earlier(list, &lot.pieces[0].material.key, setup.grid.day(coat));
    }
    let mut all: Vec<Vec<Lift>> = own.iter().map(|lift| vec![lift.clone()]).collect();
    all.push(own.clone());
    for lift in others {
        if let Lift::Material { material, from } = lift {
            earlier(&mut own, &material, from);
        }
    }
    all.push(own);
    all
}

/// Notes that a material is wanted on a day; the earliest counts.
fn earlier(list: &mut Vec<Lift>, key: &str, on: NaiveDate) {
    let known = list.iter_mut().find_map(|lift| match lift {
        Lift::Material { material, from } if material == key => Some(from),
        _ => None,
    });
    match known {
        Some(from) => *from = on.min(*from),
        None => list.push(Lift::Material {
            material: key.to_owned(),
            from: on,
        }),
    }
}

/// Lists longer evenings: one day, a little longer first; then all that the plan takes.
fn hours(desk: &Desk, instance: &Instance, saved: &Saved) -> Vec<Vec<Lift>> {
    let late = late_work(desk, instance, saved);
    let mut days: Vec<(NaiveDate, NaiveTime)> = Vec::new();
    for (on, work) in &late {
        let until = desk.asked.setup.grid.wall(work.until).time();
        match days.last_mut() {
            Some((day, last)) if day == on => *last = until.max(*last),
            _ => days.push((*on, until)),
        }
    }
    let lift = |on: NaiveDate, until: NaiveTime| Lift::Hours { on, until };
    let mut all: Vec<Vec<Lift>> = Vec::new();
    for minutes in EVENINGS_MIN {
        for (on, last) in &days {
            let end = end_of_work(desk.asked.studio, *on);
            let until = end.map(|end| end.overflowing_add_signed(TimeDelta::minutes(minutes)));
            let until = until.filter(|(until, days)| *days == 0 && until < last);
            all.extend(until.map(|(until, _)| vec![lift(*on, until)]));
        }
    }
    all.extend(days.iter().map(|(on, last)| vec![lift(*on, *last)]));
    all.push(days.iter().map(|(on, last)| lift(*on, *last)).collect());
    all
}

/// Lists work that ends after the usual end of its day, by time.
fn late_work(desk: &Desk, instance: &Instance, saved: &Saved) -> Vec<(NaiveDate, Work)> {
    let work = handwork(instance, &saved.timing);
    work.into_iter()
        .filter_map(|work| Some((late_on(desk, &work)?, work)))
        .collect()
}

/// Returns the day of the work if it ends after the usual end of that day.
fn late_on(desk: &Desk, work: &Work) -> Option<NaiveDate> {
    let grid = desk.asked.setup.grid;
    let on = grid.day(work.from);
    let end = end_of_work(desk.asked.studio, on)?;
    let end: Slot = grid.slot_until(on.and_time(end));
    (work.until > end && work.until > work.from).then_some(on)
}

/// Says what is done in each longer evening among the lifts.
pub(super) fn evenings(
    desk: &Desk,
    lifts: &[Lift],
    timing: &crate::plan::model::Timing,
) -> Vec<Evening> {
    let instance = lifted(desk.asked.setup, desk.asked.fair, lifts);
    let work = handwork(&instance, timing);
    let evening = |lift: &Lift| {
        let Lift::Hours { on, until } = lift else {
            return None;
        };
        let late: Vec<&Work> = work
            .iter()
            .filter(|work| late_on(desk, work) == Some(*on))
            .collect();
        let mut coats: Vec<OrderPieces> = Vec::new();
        for lot in late.iter().filter_map(|work| work.coats) {
            crate::plan::week::add_pieces(&mut coats, desk.asked.setup, lot);
        }
        Some(Evening {
            on: *on,
            until: *until,
            coating_alone: late.iter().all(|work| work.mixes || work.coats.is_some()),
            coats,
        })
    };
    lifts.iter().filter_map(evening).collect()
}
