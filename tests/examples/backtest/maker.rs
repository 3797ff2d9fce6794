//! A maker who goes by the planner: plans each morning, and does what the day allows.
//!
//! Exposures begin when planned or at the first moment after at which the light of the
//! day allows them and the wash still fits into the hours of work; if there is none,
//! the coated pieces wait. Everything else is done when planned.

use std::cell::Cell;

use chrono::{Datelike, NaiveDate, NaiveDateTime, TimeDelta};
use fairday::climate::{Beyond, Usual, extend};
use fairday::forecast::Forecast;
use fairday::light::{ClearLight, CurveRules, LightCurve, Site, Step};
use fairday::order::{Dispatch, Done, Event, Order};
use fairday::plan::grid::Grid;
use fairday::plan::model::Timing;
use fairday::plan::search::{Effort, solve};
use fairday::plan::setup::{Setup, setup};
use fairday::plan::starts::{Outdoors, start_table};
use fairday::plan::under_way::UnderWay;
use fairday::stage::Stage;
use fairday::studio::Studio;

use crate::sky::{Forecaster, Truth};

const SLOTS_MIN: i64 = 5;

pub struct Maker<'a> {
    pub studio: &'a Studio,
    pub site: &'a Site,
    pub usual: &'a Usual,
    pub truth: &'a Truth<'a>,
    pub way: Forecaster,
    /// Steps of improvement each morning.
    pub steps: u64,
    /// Whether a piece of an order fails at its try.
    pub fails: &'a dyn Fn(usize, u32, u32) -> bool,
    /// Planned exposures that the day did not allow, of all orders.
    pub sunless: Cell<u32>,
}

/// What became of the order that was asked about.
pub struct Story {
    /// The day it left; none if it did not within the days.
    pub left: Option<NaiveDate>,
    /// The order with all that was done.
    pub order: Order,
    /// Planned exposures that the day did not allow, of all orders.
    pub sunless: u32,
}

impl Story {
    /// Tells what was done on which month and day, in one line.
    pub fn line(&self) -> String {
        let mut events: Vec<&Event> = self
            .order
            .pieces
            .iter()
            .flat_map(|piece| &piece.progress.events)
            .collect();
        events.sort_by_key(|event| event.at);
        let mut words: Vec<String> = Vec::new();
        for event in events {
            let what = match &event.what {
                Done::Remake { .. } => "FAILED".to_owned(),
                Done::Stage { stage, .. } if *stage == Stage::Drying => continue,
                Done::Stage { stage, .. } => format!("{stage:?}").to_lowercase(),
                Done::Judged { .. } => continue,
            };
            let word = format!("{what} {}/{}", event.at.month(), event.at.day());
            if words.last() != Some(&word) {
                words.push(word);
            }
        }
        format!("{} · sunless {}", words.join(", "), self.sunless)
    }
}

impl Maker<'_> {
    /// Works until the order at `index` has left, `days` at most.
    pub fn work_on(
        &self,
        mut orders: Vec<Order>,
        index: usize,
        today: NaiveDate,
        days: i64,
    ) -> Story {
        for day in 0..days {
            let date = today + TimeDelta::days(day);
            let now = date.and_hms_opt(8, 0, 0).expect("eight o'clock is there");
            self.work(&mut orders, now);
            if orders[index].dispatch.is_some() {
                break;
            }
        }
        let order = orders.swap_remove(index);
        Story {
            left: order.dispatch.as_ref().map(|dispatch| dispatch.on),
            order,
            sunless: self.sunless.get(),
        }
    }

    fn work(&self, orders: &mut [Order], now: NaiveDateTime) {
        let weather = self.foreseen(now);
        let real = self.truth.certain(now.date(), 2);
        let before = orders.to_vec();
        let light = self.light(now, i64::from(self.studio.planning.days), &weather);
        let outdoors = Outdoors {
            light: &light,
            forecast: Some(&weather),
            dry_factor: 1.0,
        };
        let setup = setup(&before, self.studio, &outdoors, now, &UnderWay::default());
        let effort = Effort {
            iterations: Some(self.steps),
            seed: 1,
            threads: 1,
        };
        let timing = solve(&setup.instance, &effort, &|| 0.0, None).timing;
        let real_light = self.light(now, 1, &real);
        let real = Outdoors {
            light: &real_light,
            forecast: Some(&real),
            dry_factor: 1.0,
        };
        for (lot, _) in setup.lots.iter().enumerate() {
            self.carry_out(&setup, &timing, lot, &real, now, orders);
        }
        self.pack(&setup, &timing, now, orders);
    }

    /// The forecast of the morning, carried on by what is usual.
    fn foreseen(&self, now: NaiveDateTime) -> Forecast {
        let table = &self.studio.promises.forecast_correlation;
        let mut weather = self.truth.foretold(now.date(), self.way, table);
        let utc = (now - self.truth.days.offset).and_utc();
        extend(
            &mut weather,
            &Beyond {
                usual: self.usual,
                observer: &self.truth.observer,
                global_scale: 1.0,
                wet_share: 0.1,
                now: utc,
                until: utc + TimeDelta::days(i64::from(self.studio.planning.days) + 1),
            },
        );
        weather
    }

    fn light(&self, now: NaiveDateTime, days: i64, weather: &Forecast) -> LightCurve {
        let midnight = now.date().and_time(chrono::NaiveTime::MIN) - self.truth.days.offset;
        let span = midnight.and_utc()..midnight.and_utc() + TimeDelta::days(days);
        let step = Step::of_minutes(10).expect("ten divides sixty");
        let clear = ClearLight::over(*self.site, span, step);
        let rules = CurveRules {
            rain_max_mm: f64::INFINITY,
            ..CurveRules::of(&self.studio.weather)
        };
        LightCurve::new(&clear, Some(weather), &rules)
    }

    fn carry_out(
        &self,
        setup: &Setup,
        timing: &Timing,
        lot: usize,
        real: &Outdoors,
        now: NaiveDateTime,
        orders: &mut [Order],
    ) {
        let core = &setup.instance.lots[lot];
        let Some(steps) = timing.lots.get(&core.id) else {
            return;
        };
        let today = 0..setup.instance.per_day;
        let wall = |slot: i64| setup.grid.wall(slot);
        let mut note = |stage: Stage, slot: i64| {
            for waiting in &setup.lots[lot].pieces {
                let piece = orders[waiting.order].pieces.iter_mut();
                let piece = piece
                    .into_iter()
                    .find(|piece| piece.number == waiting.piece.number);
                let piece = piece.expect("the plan is of these orders");
                piece.progress.events.push(Event {
                    at: wall(slot),
                    what: Done::stage(stage),
                });
            }
        };
        if let Some(coat) = steps.coat.filter(|slot| today.contains(slot)) {
            note(Stage::Coating, coat + core.coat);
        }
        if let Some(expose) = steps.expose.filter(|slot| today.contains(slot)) {
            let Some((from, length)) = self.find_sun(setup, lot, expose, real, now) else {
                self.sunless.set(self.sunless.get() + 1);
                return;
            };
            let out = from + length + setup.instance.unload;
            note(Stage::Drying, (from - setup.instance.load).max(0));
            note(Stage::Exposing, out);
            note(Stage::Washing, out + core.wash);
            return;
        }
        if steps.expose.is_none() && core.washed_end.is_none() {
            if let Some(wash) = steps.wash.filter(|slot| today.contains(slot)) {
                note(Stage::Washing, wash + core.wash);
            }
            return;
        }
        if today.contains(&steps.finish) && core.washed_end.is_some() {
            self.inspect(setup, lot, wall(steps.finish + core.finish), orders);
        }
    }

    /// Finds the first start from the planned one on that the real day allows.
    fn find_sun(
        &self,
        setup: &Setup,
        lot: usize,
        planned: i64,
        real: &Outdoors,
        now: NaiveDateTime,
    ) -> Option<(i64, i64)> {
        let core = &setup.instance.lots[lot];
        let key = &setup.table(lot).key;
        let grid = Grid {
            days: 1,
            ..setup.grid
        };
        let table = start_table(key, &grid, real, &self.studio.weather, now);
        let close = 17 * 12 + 6;
        let fit = table
            .starts
            .iter()
            .filter(|start| start.unfit.is_none() && start.slot >= planned);
        let ends = |start: &&fairday::plan::starts::Start| {
            let length = (start.minutes / SLOTS_MIN as f64).ceil() as i64;
            start.slot + length + setup.instance.unload + core.wash <= close
        };
        let start = fit.into_iter().find(ends)?;
        Some((start.slot, (start.minutes / SLOTS_MIN as f64).ceil() as i64))
    }

    fn inspect(&self, setup: &Setup, lot: usize, at: NaiveDateTime, orders: &mut [Order]) {
        for waiting in &setup.lots[lot].pieces {
            let pieces = &mut orders[waiting.order].pieces;
            let piece = pieces
                .iter_mut()
                .find(|piece| piece.number == waiting.piece.number);
            let piece = piece.expect("the plan is of these orders");
            let tries = piece.progress.remakes().count() as u32;
            let what = if (self.fails)(waiting.order, piece.number, tries) {
                Done::Remake {
                    reason: "luck".to_owned(),
                }
            } else {
                Done::stage(Stage::Finishing)
            };
            piece.progress.events.push(Event { at, what });
        }
    }

    fn pack(&self, setup: &Setup, timing: &Timing, now: NaiveDateTime, orders: &mut [Order]) {
        for (core, index) in setup.planned.iter().enumerate() {
            let order = &mut orders[*index];
            let finished = order
                .pieces
                .iter()
                .all(|piece| piece.progress.stage() == Some(Stage::Shipping));
            let id = &setup.instance.orders[core].id;
            let packed = timing.orders.get(id).map(|at| setup.grid.day(at.pack));
            if finished && packed == Some(now.date()) && order.dispatch.is_none() {
                let on = setup.leaves_on(*index, timing).unwrap_or(now.date());
                order.dispatch = Some(Dispatch {
                    on,
                    carrier: None,
                    tracking: None,
                });
            }
        }
    }
}
