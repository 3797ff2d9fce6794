//! Whether a promise was too short from the day of the order.
//!
//! The order as new, on the morning of that day, in an empty studio with every
//! material there and light at any hour: if even that is too late, it never could be
//! kept.

use chrono::{NaiveDate, NaiveTime};

use super::Asked;
use super::lift::{Limit, lift_all, lifted};
use crate::order::{Order, Progress};
use crate::plan::earliest::earliest_day;
use crate::plan::setup::setup;
use crate::plan::under_way::UnderWay;
use crate::studio::Studio;

/// Longest time from order to promise that is looked at. [d]
const DAYS_MAX: i64 = 60;

/// Tells whether nothing could have made the order leave by `due_on`.
pub(super) fn is_too_short(order: &Order, asked: &Asked, due_on: NaiveDate) -> bool {
    let days = (due_on - order.ordered_on).num_days() + 1;
    if days < 1 {
        return true;
    }
    if days > DAYS_MAX {
        return false;
    }
    let orders = [as_new(order)];
    let studio = at_its_best(asked.studio, days as u32);
    let morning = order.ordered_on.and_time(NaiveTime::MIN);
    let empty = setup(
        &orders,
        &studio,
        &asked.outdoors,
        morning,
        &UnderWay::default(),
    );
    let lifts: Vec<_> = Limit::ALL
        .into_iter()
        .filter(|limit| *limit != Limit::Weather)
        .flat_map(|limit| lift_all(limit, &empty, &studio))
        .collect();
    let mut instance = lifted(&empty, &empty, &lifts);
    for class in &mut instance.classes {
        class.options = vec![(0, instance.horizon - 1, 1, 0)];
    }
    let due = empty.grid.day_index(due_on);
    earliest_day(&instance, 0).is_none_or(|day| day > due)
}

fn as_new(order: &Order) -> Order {
    let mut new = order.clone();
    new.hold = None;
    for piece in &mut new.pieces {
        piece.hold = None;
        piece.progress = Progress::default();
    }
    new
}

fn at_its_best(studio: &Studio, days: u32) -> Studio {
    let mut studio = studio.clone();
    studio.planning.days = days;
    for material in studio.materials.values_mut() {
        material.available_on = None;
    }
    studio
}
