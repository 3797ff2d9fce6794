//! Minutes and windows against the tables of the reference integration.

use std::collections::BTreeMap;
use std::ops::Range;

use chrono::{DateTime, NaiveDate, TimeDelta, Timelike, Utc};
use fairday::light::{
    Barrier, ClearLight, CloudMethod, CurveRules, LightCurve, Sky, SkyHour, Step,
};

use super::{Row, Table, Worst, at_utc_plus_1, flat_site, reference_dose};

/// The table's day: from 23:00 UTC of the day before, 24 hours.
fn day_of(date: NaiveDate) -> Range<DateTime<Utc>> {
    let start = at_utc_plus_1(date, "00:00");
    start..start + TimeDelta::days(1)
}

/// The clear light of the latest day asked for; rows of one day stand together.
struct Days {
    step: Step,
    latest: Option<(f64, NaiveDate, ClearLight)>,
}

impl Days {
    fn new(step: Step) -> Days {
        Days { step, latest: None }
    }

    /// A day under one unchanging sky.
    fn under(&mut self, latitude: f64, date: NaiveDate, factor: f64) -> LightCurve {
        let day = day_of(date);
        let known = self
            .latest
            .as_ref()
            .is_some_and(|(at, on, _)| *at == latitude && *on == date);
        if !known {
            let clear = ClearLight::over(flat_site(latitude), day.clone(), self.step);
            self.latest = Some((latitude, date, clear));
        }
        let (_, _, clear) = self.latest.as_ref().expect("just set");
        LightCurve::under(clear, &hours(day, |_| factor), &CurveRules::default())
    }
}

fn hours(day: Range<DateTime<Utc>>, factor: impl Fn(DateTime<Utc>) -> f64) -> Vec<SkyHour> {
    let starts = (0..24).map(|hour| day.start + TimeDelta::hours(hour));
    starts
        .map(|start| SkyHour {
            start,
            sky: Some(Sky::with_factor(factor(start), CloudMethod::CloudCover)),
            barrier: None,
        })
        .collect()
}

/// Goes through the 2,880 rows of `exposure_minutes.csv`, one curve a day and sky.
fn each_start(step: Step, mut check: impl FnMut(Row, &LightCurve, DateTime<Utc>)) {
    let table = Table::read("exposure_minutes.csv", 2880);
    let mut days = Days::new(step);
    let mut current: Option<(String, LightCurve)> = None;
    for row in table.rows() {
        let key = ["lat_deg", "date", "sky"].map(|c| row.text(c)).join(" ");
        if current.as_ref().is_none_or(|(known, _)| *known != key) {
            let (latitude, date) = (row.number("lat_deg"), row.date("date"));
            let curve = days.under(latitude, date, row.number("cmf"));
            current = Some((key, curve));
        }
        let (_, curve) = current.as_ref().expect("just set");
        let start = at_utc_plus_1(row.date("date"), row.text("start_local_utc+1"));
        check(row, curve, start);
    }
}

/// Same grid, same formulas; the table's minutes have two decimals and its cloud
/// factors six, which at 160 min is another 0.001 min.
#[test]
fn minutes_agree_at_one_minute_steps() {
    let dose = reference_dose();
    let mut worst = Worst::default();
    let (mut reached, mut never) = (0, 0);
    each_start(Step::ONE_MINUTE, |row, curve, start| {
        match (curve.exposure(start, dose), row.find_number("minutes")) {
            (Ok(found), Some(expected)) => {
                reached += 1;
                worst.see(found.minutes - expected, row);
            }
            (Err(barrier), None) => {
                never += 1;
                assert_eq!(barrier, Barrier::LowSun, "{row}");
            }
            (found, _) => panic!("{row}: {found:?}"),
        }
    });
    worst.within(0.02, "minutes at 1 min steps [min]");
    assert_eq!(
        (reached, never),
        (1800, 1080),
        "rows with and without minutes"
    );
}

/// The larger of 0.1 min and 0.5 %. A day ends up to one step earlier with coarse steps,
/// so a start whose exposure ends within the day's last step may find no end.
#[test]
fn minutes_agree_at_five_minute_steps() {
    let dose = reference_dose();
    let mut worst = Worst::default();
    let mut cut_short = 0;
    each_start(Step::FIVE_MINUTES, |row, curve, start| {
        match (curve.exposure(start, dose), row.find_number("minutes")) {
            (Ok(found), Some(expected)) => {
                let allowed = (0.005 * expected).max(0.1);
                worst.see((found.minutes - expected) / allowed, row);
            }
            (Err(_), None) => (),
            (Err(_), Some(expected)) => {
                cut_short += 1;
                let end = start + TimeDelta::seconds((expected * 60.0) as i64);
                let next_step = end + TimeDelta::minutes(5);
                assert_eq!(
                    curve.find_barrier(next_step),
                    Some(Barrier::LowSun),
                    "{row}"
                );
            }
            (Ok(found), None) => panic!("{row}: {found:?}"),
        }
    });
    worst.within(1.0, "minutes at 5 min steps, share of what is allowed");
    assert!(cut_short <= 5, "{cut_short} starts near sunset find no end");
}

/// Edges within one step; the table knows one stretch a day.
#[test]
fn windows_agree() {
    let factors = factors_of_skies();
    let dose = reference_dose();
    for (step, allowed) in [(Step::ONE_MINUTE, 1), (Step::FIVE_MINUTES, 5)] {
        let mut days = Days::new(step);
        for row in Table::read("exposure_windows.csv", 384).rows() {
            let (latitude, date) = (row.number("lat_deg"), row.date("date"));
            let factor = factors[row.text("sky")];
            let curve = days.under(latitude, date, factor);
            let windows = curve.windows(dose, row.number("max_minutes"), day_of(date));
            check_window(row, &windows, allowed);
        }
    }
}

fn factors_of_skies() -> BTreeMap<String, f64> {
    let table = Table::read("exposure_minutes.csv", 2880);
    let sky = |row: Row| (row.text("sky").to_owned(), row.number("cmf"));
    table.rows().map(sky).collect()
}

fn check_window(row: Row, windows: &[fairday::light::LightWindow], allowed: i64) {
    if row.text("first_start_utc+1").is_empty() {
        assert!(windows.is_empty(), "{row}: {windows:?}");
        return;
    }
    let date = row.date("date");
    let expected =
        ["first_start_utc+1", "last_start_utc+1"].map(|c| at_utc_plus_1(date, row.text(c)));
    let width = (expected[1] - expected[0]).num_minutes();
    let [window] = windows else {
        // A window narrower than a step can fall between two starts.
        assert!(windows.is_empty() && width < allowed, "{row}: {windows:?}");
        return;
    };
    for (found, expected) in [window.first_start, window.last_start].iter().zip(expected) {
        let off = (*found - expected).num_minutes().abs();
        assert!(off <= allowed, "{row}: {found} for {expected}");
    }
    let off = (window.best.minutes - row.number("shortest_exposure_min")).abs();
    assert!(off < 0.1, "{row}: {window:?}");
}

/// 21 April 2027 at 51° N: factors by the hour from 06:00 at UTC+1.
fn broken_day(step: Step) -> LightCurve {
    const FACTORS: [f64; 13] = [
        1.0, 1.0, 0.9, 0.5, 0.31, 0.31, 0.6, 0.95, 1.0, 0.4, 0.3, 0.8, 1.0,
    ];
    let day = day_of(broken_date());
    let factor = |start: DateTime<Utc>| {
        let local = start.hour() as usize + 1;
        let listed = local.checked_sub(6).and_then(|hour| FACTORS.get(hour));
        *listed.unwrap_or(&1.0)
    };
    let clear = ClearLight::over(flat_site(51.0), day.clone(), step);
    LightCurve::under(&clear, &hours(day, factor), &CurveRules::default())
}

fn broken_date() -> NaiveDate {
    NaiveDate::from_ymd_opt(2027, 4, 21).expect("a date")
}

#[test]
fn a_day_of_changing_cloud_agrees() {
    for (step, allowed) in [(Step::ONE_MINUTE, 0.002), (Step::FIVE_MINUTES, 0.1)] {
        let curve = broken_day(step);
        let mut worst = Worst::default();
        for row in Table::read("exposure_hourly_cloud.csv", 78).rows() {
            let start = at_utc_plus_1(broken_date(), row.text("start_local_utc+1"));
            let found = curve.exposure(start, reference_dose()).ok();
            match (found, row.find_number("minutes")) {
                (Some(found), Some(expected)) => worst.see(found.minutes - expected, row),
                (None, None) => (),
                // Sunrise falls into this step of five minutes; the next one is open.
                (None, Some(_)) if step == Step::FIVE_MINUTES => {
                    let barriers = [0, 5].map(|minutes| start + TimeDelta::minutes(minutes));
                    let barriers = barriers.map(|at| curve.find_barrier(at));
                    assert_eq!(barriers, [Some(Barrier::LowSun), None], "{row}");
                }
                (found, _) => panic!("{row}: {found:?}"),
            }
        }
        worst.within(allowed, "minutes under hourly cloud [min]");
    }
}

#[test]
fn several_windows_in_a_day_agree() {
    let table = Table::read("exposure_hourly_cloud_windows.csv", 6);
    for (step, allowed) in [(Step::ONE_MINUTE, 1), (Step::FIVE_MINUTES, 5)] {
        let curve = broken_day(step);
        for limit in [12.0, 15.0, 20.0, 30.0] {
            let windows = curve.windows(reference_dose(), limit, day_of(broken_date()));
            let rows: Vec<Row> = table
                .rows()
                .filter(|row| row.number("max_minutes") == limit)
                .collect();
            assert_eq!(windows.len(), rows.len(), "at most {limit} min");
            for (window, row) in windows.iter().zip(&rows) {
                for (found, column) in [
                    (window.first_start, "first_start_utc+1"),
                    (window.last_start, "last_start_utc+1"),
                ] {
                    let expected = at_utc_plus_1(broken_date(), row.text(column));
                    let off = (found - expected).num_minutes().abs();
                    assert!(off <= allowed, "{row}: {found}");
                }
            }
        }
    }
}
