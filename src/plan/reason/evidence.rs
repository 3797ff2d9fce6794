//! What light the coming days offer the pieces of an order, as evidence.
//!
//! Looked at are the starts after which the order could still leave by a day, as far
//! as hands and waits go, and then the first one after those.

use chrono::NaiveDate;

use crate::plan::earliest::{day_after, done_after, dry_between};
use crate::plan::grid::slots_of_minutes;
use crate::plan::setup::Setup;
use crate::plan::starts::Start;

/// What the coming days offer some pieces of an order.
#[derive(Debug, Clone, PartialEq)]
pub struct Evidence {
    /// Index of their lot among those of the setup, the first of several alike.
    pub lot: usize,
    /// Numbers of the pieces of the order.
    pub pieces: Vec<u32>,
    /// The last day on which the order is to leave.
    pub by: NaiveDate,
    /// The shortest fit exposure after which it still does.
    pub best: Option<Start>,
    /// The shortest of those that something stands against, if shorter than the best.
    pub best_unfit: Option<Start>,
    /// The first fit exposure after which it does not.
    pub next: Option<Start>,
}

/// Lists what the sky offers the pieces that still need sun, alike ones together.
pub(super) fn evidence(setup: &Setup, order: usize, by: NaiveDate) -> Vec<Evidence> {
    let mut found: Vec<Evidence> = Vec::new();
    for (index, lot) in setup.lots.iter().enumerate() {
        let pieces: Vec<u32> = lot
            .pieces
            .iter()
            .filter(|waiting| waiting.order == order)
            .map(|waiting| waiting.piece.number)
            .collect();
        if pieces.is_empty() || lot.frame.is_none() || setup.table(index).key.lamp.is_some() {
            continue;
        }
        let new = of_lot(setup, index, order, by);
        let alike = found.iter_mut().find(|known| {
            (&known.best, &known.best_unfit, &known.next) == (&new.best, &new.best_unfit, &new.next)
        });
        match alike {
            Some(known) => {
                known.pieces.extend(pieces);
                known.pieces.sort_unstable();
            }
            None => found.push(Evidence { pieces, ..new }),
        }
    }
    found.sort_by_key(|evidence| evidence.pieces.first().copied());
    found
}

fn of_lot(setup: &Setup, lot: usize, order: usize, by: NaiveDate) -> Evidence {
    let instance = &setup.instance;
    let core = &instance.lots[lot];
    let planned = setup.planned.iter().position(|planned| *planned == order);
    let by_day = setup.grid.day_index(by);
    let (first, last) = dry_between(instance, core).unwrap_or((0, instance.horizon));
    let leaves = |start: &Start| {
        let duration = slots_of_minutes(start.minutes).max(1);
        let done = done_after(instance, core, start.slot, duration)?;
        day_after(instance, &instance.orders[planned?], done)
    };
    let shorter = |best: &Option<Start>, start: &Start| {
        best.is_none_or(|best: Start| start.minutes < best.minutes)
    };
    let (mut best, mut best_unfit, mut next) = (None, None, None);
    for start in &setup.table(lot).starts {
        let load = start.slot - instance.load;
        if !(first..=last).contains(&load) {
            continue;
        }
        let in_time = leaves(start).map(|day| day <= by_day);
        match (in_time, start.unfit) {
            (Some(true), None) if shorter(&best, start) => best = Some(*start),
            (Some(true), Some(_)) if shorter(&best_unfit, start) => best_unfit = Some(*start),
            (Some(false), None) if next.is_none() => next = Some(*start),
            _ => {}
        }
    }
    Evidence {
        lot,
        pieces: Vec::new(),
        by,
        best_unfit: best_unfit.filter(|unfit| shorter(&best, unfit)),
        best,
        next,
    }
}
