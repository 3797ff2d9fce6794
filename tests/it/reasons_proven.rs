//! What is named as needed is enough, on variations of the demonstration.
//!
//! Each reason carries the plan that shows it. Here that plan is judged again from
//! outside: the lifted studio is made once more, the audit judges, and the days are
//! read off by code of its own.

use std::path::Path;

use chrono::{TimeDelta, Timelike};
use fairday::forecast::Forecast;
use fairday::order::Order;
use fairday::outside::forecast::read_forecast;
use fairday::outside::orders::read_folder;
use fairday::plan::audit::{Start, audit_from};
use fairday::plan::model::{Instance, Timing};
use fairday::plan::reason::{Asked, Needed, Reason, findings, lifted};
use fairday::studio::Studio;
use rand::rngs::SmallRng;
use rand::{Rng, SeedableRng};

use crate::small_studio::{Small, at};

fn demo() -> (Studio, Vec<Order>, Forecast) {
    let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("orders");
    let folder = read_folder(&dir, |studio| studio.pinned_now.unwrap()).unwrap();
    let (forecast, _) = read_forecast(&dir, "forecast.json");
    (folder.studio.unwrap(), folder.orders, forecast.unwrap())
}

/// Fewer places, earlier promises and more rain, by chance.
fn variation(seed: u64) -> Small {
    let mut rng = SmallRng::seed_from_u64(seed);
    let (mut studio, mut orders, mut forecast) = demo();
    studio.planning.days = 9;
    studio.racks.dark_dry_sheets = rng.random_range(3..=12);
    studio.racks.wet_dry_sheets = rng.random_range(4..=14);
    studio.racks.dark_dry_line_cm = rng.random_range(80..=300);
    studio.sensitizer.sessions_per_day = rng.random_range(1..=2);
    studio.frames[0].count = rng.random_range(1..=2);
    for order in &mut orders {
        if let Some(promise) = &mut order.promise {
            promise.date -= TimeDelta::days(rng.random_range(0..=6));
        }
    }
    let mut wet = false;
    for hour in &mut forecast.hours {
        if hour.start.hour() % 6 == 0 {
            wet = rng.random_bool(0.3);
        }
        if wet {
            (hour.rain_mm, hour.rain_chance) = (Some(1.0), Some(0.8));
        }
    }
    Small {
        studio,
        orders,
        now: at("2026-05-11 07:00"),
        forecast,
    }
}

/// The day on which an order leaves, read off by hand of the rules R15 to R17.
fn day(instance: &Instance, id: &str, timing: &Timing) -> Option<i64> {
    let order = instance.orders.iter().find(|order| order.id == id)?;
    let packed = timing.orders.get(id)?.pack + order.pack;
    let leaves = match order.handover {
        true => packed - 1,
        false => *instance
            .collections
            .iter()
            .filter(|c| **c >= packed)
            .min()?,
    };
    Some(leaves / instance.per_day)
}

fn check(asked: &Asked, needed: &Needed, number: &str, by: i64, seed: u64) {
    let instance = lifted(asked.setup, asked.fair, &needed.lifts);
    let verdict = audit_from(&instance, &needed.proof, Start::Given);
    assert!(verdict.is_kept(), "{seed} {number}: {:?}", verdict.broken);
    let leaves = day(&instance, number, &needed.proof).expect("a saved order leaves");
    assert!(
        leaves <= by,
        "{seed} {number}: leaves on day {leaves}, not by {by}"
    );
    let then_on = asked.setup.grid.day(leaves * instance.per_day);
    assert_eq!(then_on, needed.then_on, "{seed} {number}");
    for other in instance.orders.iter().filter(|other| other.id != number) {
        let before = day(&asked.setup.instance, &other.id, asked.timing);
        let after = day(&instance, &other.id, &needed.proof);
        let due = other.promise / instance.per_day;
        let before = before.unwrap_or(instance.unserved_day);
        let after = after.unwrap_or(instance.unserved_day);
        assert!(
            after <= due.max(before),
            "{seed} {number} pushes {}",
            other.id
        );
    }
    let mut limits: Vec<_> = needed.lifts.iter().map(|lift| lift.limit()).collect();
    limits.dedup();
    assert_eq!(limits, needed.limits, "{seed} {number}");
}

#[test]
fn every_named_need_is_enough_and_nobody_pays_for_it() {
    let mut checked = 0;
    for seed in 0..6 {
        variation(seed).with_plan(|asked| {
            for blocked in findings(asked).blocked {
                let number = &asked.setup.orders[blocked.course.order].number;
                let due = asked.setup.grid.day_index(blocked.course.due_on);
                let mut by = due;
                for reason in &blocked.reasons {
                    match reason {
                        Reason::Limits(needed) => {
                            check(asked, needed, number, by, seed);
                            checked += 1;
                        }
                        // What follows is asked for the earliest day.
                        Reason::TooShort { earliest_on, .. } => {
                            let day = earliest_on.map(|on| asked.setup.grid.day_index(on));
                            by = day.unwrap_or(due);
                        }
                        Reason::Hold { .. }
                        | Reason::TooLarge { .. }
                        | Reason::NoSun(_)
                        | Reason::Overlooked { .. }
                        | Reason::NotLookedAt => {}
                    }
                }
            }
        });
    }
    assert!(checked >= 10, "only {checked} needs were checked");
}
