//! The time grid of a plan: slots on the studio's wall clock.
//!
//! Slot 0 is local midnight of the first day and every day has the same number
//! of slots, so that "day 3, 10:40" is plain arithmetic. The price is paid at
//! clock changes: a wall time that does not exist has no instant, one that
//! exists twice means its first. Waits over the night of the spring change are
//! an hour shorter than they look; [`Grid::lost_slots`] says how much a careful
//! plan must add.

use chrono::{DateTime, Datelike, NaiveDate, NaiveDateTime, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;

use super::model::Slot;
use crate::studio::Studio;

/// Length of a slot. [min]
pub const SLOT_MIN: u32 = 5;
/// Slots in a day.
pub const PER_DAY: Slot = 24 * 60 / SLOT_MIN as Slot;

/// A run of local days cut into slots.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Grid {
    /// The studio's zone.
    pub zone: Tz,
    /// The first day.
    pub first_day: NaiveDate,
    /// How many days.
    pub days: u32,
}

impl Grid {
    /// Returns the number of slots in all.
    pub fn horizon(&self) -> Slot {
        Slot::from(self.days) * PER_DAY
    }

    /// Returns the wall time at the start of `slot`.
    pub fn wall(&self, slot: Slot) -> NaiveDateTime {
        let midnight = self.first_day.and_time(chrono::NaiveTime::MIN);
        midnight + TimeDelta::minutes(slot * Slot::from(SLOT_MIN))
    }

    /// Returns the local day of `slot`.
    pub fn day(&self, slot: Slot) -> NaiveDate {
        self.wall(slot).date()
    }

    /// Returns the day's number, 0 for the first; negative before it.
    pub fn day_index(&self, day: NaiveDate) -> i64 {
        (day - self.first_day).num_days()
    }

    /// Returns the first slot that starts at `wall` or later.
    pub fn slot_from(&self, wall: NaiveDateTime) -> Slot {
        -(-self.minutes(wall)).div_euclid(Slot::from(SLOT_MIN))
    }

    /// Returns the last slot that starts at `wall` or earlier.
    pub fn slot_until(&self, wall: NaiveDateTime) -> Slot {
        self.minutes(wall).div_euclid(Slot::from(SLOT_MIN))
    }

    /// Finds the instant of `slot`; none in the hour that a clock change skips.
    pub fn find_instant(&self, slot: Slot) -> Option<DateTime<Utc>> {
        let local = self.zone.from_local_datetime(&self.wall(slot));
        local.earliest().map(|at| at.with_timezone(&Utc))
    }

    /// Returns the slots that clock changes take out of the whole run.
    ///
    /// Zero for most runs; 12 when the clock goes forward an hour in it.
    pub fn lost_slots(&self) -> Slot {
        let offset = |slot| {
            let instant = self
                .find_instant(slot)
                .or_else(|| self.find_instant(slot + PER_DAY / 8));
            let instant = instant.expect("a clock change skips at most a few hours");
            let local = instant.with_timezone(&self.zone).naive_local();
            (local - instant.naive_utc()).num_minutes()
        };
        let gained = offset(self.horizon()) - offset(0);
        (gained / i64::from(SLOT_MIN)).max(0)
    }

    fn minutes(&self, wall: NaiveDateTime) -> i64 {
        let midnight = self.first_day.and_time(chrono::NaiveTime::MIN);
        (wall - midnight).num_minutes()
    }
}

/// Returns the slots that `minutes` take, rounded up; none for no time. [slots]
pub fn slots_of_minutes(minutes: f64) -> Slot {
    // A hair below the next slot is rounding, not work.
    (minutes / f64::from(SLOT_MIN) - 1e-9).ceil().max(0.0) as Slot
}

/// Returns the slots that `hours` take, rounded up. [slots]
pub fn slots_of_hours(hours: f64) -> Slot {
    slots_of_minutes(hours * 60.0)
}

/// Returns the stretches in which hands are there, from `now` on, ascending and apart.
pub fn work_stretches(grid: &Grid, studio: &Studio, now: NaiveDateTime) -> Vec<(Slot, Slot)> {
    let first = grid.slot_from(now);
    let mut stretches = Vec::new();
    for index in 0..grid.days {
        let day = grid.first_day + TimeDelta::days(i64::from(index));
        if studio.days_off.contains(&day) {
            continue;
        }
        for hours in studio
            .work
            .iter()
            .filter(|hours| hours.days.contains(&day.weekday()))
        {
            let from = grid.slot_from(day.and_time(hours.from)).max(first);
            let until = grid.slot_until(day.and_time(hours.until));
            if from < until {
                stretches.push((from, until));
            }
        }
    }
    merged(stretches)
}

/// Returns the slots at which the carrier takes parcels, from `now` on, ascending.
pub fn collections(grid: &Grid, studio: &Studio, now: NaiveDateTime) -> Vec<Slot> {
    let first = grid.slot_from(now);
    let shipping = &studio.shipping;
    (0..grid.days)
        .map(|index| grid.first_day + TimeDelta::days(i64::from(index)))
        .filter(|day| shipping.collection_days.contains(&day.weekday()))
        .filter(|day| !shipping.holidays.contains(day))
        .map(|day| grid.slot_until(day.and_time(shipping.cut_off)))
        .filter(|slot| *slot >= first)
        .collect()
}

fn merged(mut stretches: Vec<(Slot, Slot)>) -> Vec<(Slot, Slot)> {
    stretches.sort_unstable();
    let mut out: Vec<(Slot, Slot)> = Vec::new();
    for (from, until) in stretches {
        match out.last_mut() {
            Some(last) if from <= last.1 => last.1 = last.1.max(until),
            _ => out.push((from, until)),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(zone: Tz, day: &str) -> Grid {
        Grid {
            zone,
            first_day: day.parse().unwrap(),
            days: 3,
        }
    }

    fn wall(text: &str) -> NaiveDateTime {
        NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M").unwrap()
    }

    #[test]
    fn slots_count_five_minutes_from_local_midnight() {
        let grid = grid(Tz::Europe__London, "2026-05-11");
        assert_eq!(grid.slot_from(wall("2026-05-11 07:00")), 84);
        assert_eq!(grid.slot_from(wall("2026-05-11 07:01")), 85);
        assert_eq!(grid.slot_until(wall("2026-05-11 07:04")), 84);
        assert_eq!(grid.slot_until(wall("2026-05-10 23:59")), -1);
        assert_eq!(grid.wall(288 + 12), wall("2026-05-12 01:00"));
        assert_eq!(
            grid.find_instant(0).unwrap().to_rfc3339(),
            "2026-05-10T23:00:00+00:00"
        );
    }

    /// The clock of Berlin skips 02:00 to 03:00 on 29 March 2026 (IANA tz database).
    #[test]
    fn the_skipped_hour_has_no_instant_and_is_counted_as_lost() {
        let grid = grid(Tz::Europe__Berlin, "2026-03-28");
        assert_eq!(
            grid.find_instant(grid.slot_from(wall("2026-03-29 02:30"))),
            None
        );
        assert_eq!(grid.lost_slots(), 12);
    }

    /// The clock of Berlin repeats 02:00 to 03:00 on 25 October 2026 (IANA tz database).
    #[test]
    fn the_repeated_hour_means_its_first() {
        let grid = grid(Tz::Europe__Berlin, "2026-10-24");
        let at = grid
            .find_instant(grid.slot_from(wall("2026-10-25 02:30")))
            .unwrap();
        assert_eq!(at.to_rfc3339(), "2026-10-25T00:30:00+00:00");
        assert_eq!(grid.lost_slots(), 0);
    }

    #[test]
    fn minutes_round_up_to_slots_but_not_for_a_hair() {
        assert_eq!(slots_of_minutes(0.0), 0);
        assert_eq!(slots_of_minutes(5.0), 1);
        assert_eq!(slots_of_minutes(5.000_000_001), 1);
        assert_eq!(slots_of_minutes(5.1), 2);
        assert_eq!(slots_of_hours(24.0), 288);
    }
}
