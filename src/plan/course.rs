//! How every open order stands against its promise, given a timing.
//!
//! Only facts: on course, late, left out, not yet needed, held. Why an order is
//! not on course is found by `reason`.

use chrono::NaiveDate;
use serde::Serialize;

use super::model::Timing;
use super::setup::Setup;
use crate::order::Order;
use crate::promise::arrival;
use crate::studio::Studio;

/// How an order stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Course {
    /// It leaves in time.
    OnCourse,
    /// Nothing of it needs a place yet: its day is beyond the plan.
    Waiting,
    /// It leaves after its day, inside the plan.
    Late,
    /// Its day is inside the plan, and no place was found for it at all.
    LeftOut,
    /// It is on hold, by the maker's word.
    Held,
    /// A piece of it fits no frame.
    TooLarge,
}

/// An open order with its dates.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderCourse {
    /// Index into the orders of the setup.
    pub order: usize,
    /// How it stands.
    pub course: Course,
    /// The day it leaves, or stands ready at the door; none if the plan has none.
    pub leaves_on: Option<NaiveDate>,
    /// The day the customer has it, where that can be said.
    pub arrives_on: Option<NaiveDate>,
    /// The last good day to leave, whether the carrier comes on it or not.
    pub due_on: NaiveDate,
    /// The day by which it must leave: the last collection up to `due_on`, or that
    /// day itself for a pickup.
    pub leave_by: NaiveDate,
}

impl OrderCourse {
    /// Returns the days between the last good day and the day it leaves; none if unknown.
    pub fn days_late(&self) -> Option<i64> {
        self.leaves_on
            .map(|leaves| (leaves - self.due_on).num_days().max(0))
    }
}

/// Says how every open order stands, in the order given.
pub fn courses(setup: &Setup, studio: &Studio, timing: &Timing) -> Vec<OrderCourse> {
    let open = setup
        .orders
        .iter()
        .enumerate()
        .filter(|(_, order)| !order.is_closed());
    open.map(|(index, order)| course(setup, studio, timing, index, order))
        .collect()
}

fn course(
    setup: &Setup,
    studio: &Studio,
    timing: &Timing,
    index: usize,
    order: &Order,
) -> OrderCourse {
    let due_on = setup.leave_by[index].day;
    let leave_by = setup.leave_by[index].collection.unwrap_or(due_on);
    let leaves_on = setup.leaves_on(index, timing);
    let course = if setup.waiting.is_held(index) {
        Course::Held
    } else if setup.too_large.iter().any(|piece| piece.order == index) {
        Course::TooLarge
    } else {
        match leaves_on {
            Some(leaves) if leaves <= due_on => Course::OnCourse,
            Some(_) => Course::Late,
            None if due_on > setup.end().date() => Course::Waiting,
            None => Course::LeftOut,
        }
    };
    let arrives_on = leaves_on.map(|leaves| arrival(order, leaves, &studio.shipping));
    OrderCourse {
        order: index,
        course,
        leaves_on,
        arrives_on,
        due_on,
        leave_by,
    }
}

impl Setup<'_> {
    /// Finds the first collection at or after `slot`.
    pub fn collection_after(&self, slot: super::model::Slot) -> Option<super::model::Slot> {
        self.instance
            .collections
            .iter()
            .copied()
            .find(|collection| *collection >= slot)
    }

    /// Finds the day on which the order leaves by a timing; none if it does not.
    pub fn leaves_on(&self, order: usize, timing: &Timing) -> Option<NaiveDate> {
        let index = self.planned.iter().position(|planned| *planned == order)?;
        if !self.can_leave(index) {
            return None;
        }
        let core = &self.instance.orders[index];
        let end = timing.orders.get(&core.id)?.pack + core.pack;
        let leaves = if core.handover {
            Some(end - 1)
        } else {
            self.collection_after(end)
        };
        leaves.map(|slot| self.grid.day(slot))
    }
}
