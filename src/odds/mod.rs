//! Dates that hold, and with what chance: many weathers, and the work under each.
//!
//! A *weather* is drawn day by day from the forecast with its error and from whole
//! days of the climate (`weather`, `season`); under each the studio's work is gone
//! through as a maker would (`rollout`, `work`, `desk`), remakes included. What share
//! of the weathers an order leaves in by a day is the chance of that day.
//!
//! The same orders, studio, forecast, climate, moment and seed give the same answer on
//! any number of threads. Nothing here is a plan, and no plan rests on it.
//!
//! What it does not know: illness, a lost negative, a carrier that fails, a material
//! that runs out, and a dose that is wrong.

mod desk;
mod normal;
mod rollout;
mod season;
mod weather;
mod work;

pub use normal::{normal_at, share_of};
pub use season::{NEAR_DAYS, wanted_days};

use std::collections::BTreeMap;

use chrono::{Days as DayCount, NaiveDate, NaiveDateTime};
use rayon::prelude::*;

use crate::climate::Days;
use crate::climate::days::day_of_year;
use crate::forecast::Forecast;
use crate::light::Site;
use crate::order::{Order, Promise, PromiseKind};
use crate::plan::grid::{Grid, PER_DAY};
use crate::promise::{arrival, leave_by};
use crate::studio::Studio;

pub use rollout::Luck;
use rollout::roll;
use season::Season;
use weather::{DayLight, Weather};
use work::{At, Remakes, Work};

/// The chances that dates are found for.
pub const LEVELS: [f64; 3] = [0.50, 0.80, SAFE];

/// The chance from which on a day counts as safe to promise.
pub const SAFE: f64 = 0.95;

/// A day that holds less often is of no use to anybody. [own choice]
const USEFUL_FROM: f64 = 0.20;

/// Days that are shown of many, about. [own choice]
const DAYS_MAX: usize = 10;

/// A studio at a moment, with what is known of its weather.
#[derive(Debug, Clone, Copy)]
pub struct Scene<'a> {
    /// Its orders, closed ones too.
    pub orders: &'a [Order],
    /// The studio.
    pub studio: &'a Studio,
    /// Its light.
    pub site: &'a Site,
    /// The service's forecast as it came, not carried on; none without one.
    pub forecast: Option<&'a Forecast>,
    /// Whole days of the place; [`wanted_days`] says which.
    pub climate: &'a Days,
    /// The moment, on the studio's clock.
    pub now: NaiveDateTime,
    /// How many times their usual hours things take to dry.
    pub dry_factor: f64,
}

/// When the orders of a studio leave, over many weathers.
#[derive(Debug, Clone, PartialEq)]
pub struct Odds {
    grid: Grid,
    /// For each order given, the day of every weather, ascending; the number of days
    /// for one that does not leave within them. None for a closed order.
    days: Vec<Option<Vec<u32>>>,
}

/// A day by which an order leaves with a chance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeldDate {
    /// The chance that was asked for, as a share.
    pub level: f64,
    /// The day it has left by.
    pub leaves_on: NaiveDate,
    /// The day it is with its customer then.
    pub arrives_on: NaiveDate,
    /// The share of weathers in which it has left by that day: days are whole, so it
    /// is a little more or less than was asked for.
    pub share: f64,
}

/// A day that one could promise for an order that is not taken yet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DayShare {
    /// The day it has left by.
    pub leaves_on: NaiveDate,
    /// The day it is with its customer then.
    pub arrives_on: NaiveDate,
    /// The share of weathers in which it has left by that day if that was promised.
    pub share: f64,
}

/// An open order whose chance to be on time changes with a new one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crowded {
    /// Index into the orders of the scene.
    pub order: usize,
    /// Share of weathers in which it is on time without the new one.
    pub before: f64,
    /// And with it.
    pub after: f64,
}

/// The dates of an order that is not taken yet.
#[derive(Debug, Clone, PartialEq)]
pub struct HonestDates {
    /// One for each of [`LEVELS`]; none where it does not hold within `until`.
    pub held: Vec<Option<HeldDate>>,
    /// The chance of the order's own promise; none if it has none.
    pub own: Option<f64>,
    /// Open orders that lose by it: five in a hundred weathers or more.
    pub crowded: Vec<Crowded>,
    /// The day that is promised for it when they lose: the order's own, else the first
    /// that is safe, else the last that was found; none if it holds on no day.
    pub crowded_by: Option<NaiveDate>,
    /// Whether it can leave at all: nothing on hold, every piece fits a frame.
    pub can_leave: bool,
    /// The weathers that were drawn.
    pub weathers: u32,
    /// The last day that was looked at.
    pub until: NaiveDate,
}

/// An order loses chance by another from this share of weathers on. [own choice]
const CROWDED_FROM: f64 = 0.05;

/// Goes through the work of the studio under many weathers.
///
/// Cost: 0.2 ms or so a weather for fifty orders.
pub fn odds(scene: &Scene) -> Odds {
    odds_in(scene, &scene.season())
}

/// Finds the dates of an order that is not among those of the scene.
///
/// The order stands behind all others at first; the day that holds in 95 of 100
/// weathers then is taken for its promise, since a promise of its own moves it forward.
/// For each level the days are looked at from there on, each as the promise itself: who
/// is promised a day is worked for by then. So no date counts on more of pushing in
/// front than its own promise asks for.
pub fn honest_dates(scene: &Scene, order: &Order) -> HonestDates {
    Asked::new(scene, order).dates()
}

/// Finds the dates, and beside them the days that one could promise, each with the
/// share of weathers in which it holds if it is what was promised.
///
/// The days run from the first that holds in one of five weathers to the first that
/// holds in at least the last of [`LEVELS`] or comes nearest to it, and pass over those
/// on which nothing more would leave; where there are many, those that bring little are
/// left out. A level's own day is among them if it holds in one of five. A later day
/// never has a lesser share, since one may work for the earlier.
///
/// Cost: that of [`odds`] once more for each day.
pub fn honest_days(scene: &Scene, order: &Order) -> (HonestDates, Vec<DayShare>) {
    let mut asked = Asked::new(scene, order);
    let mut dates = asked.dates();
    let days = asked.days(&dates);
    if let (None, Some(safe)) = (order.promise, first_with(&days, SAFE)) {
        asked.crowd(&mut dates, safe.leaves_on);
    }
    (dates, days)
}

/// Returns the first of some days that holds in at least a share of the weathers.
pub fn first_with(days: &[DayShare], level: f64) -> Option<&DayShare> {
    // A hair below a whole weather is rounding.
    days.iter().find(|day| day.share >= level - 1e-9)
}

/// An order that is not taken yet, and what was found out about it so far.
struct Asked<'a> {
    scene: &'a Scene<'a>,
    order: &'a Order,
    season: Season<'a>,
    until: NaiveDate,
    /// With the order behind all others.
    behind: Odds,
    /// With the careful day as its promise.
    found: Odds,
    /// With other days as its promise.
    aimed: BTreeMap<NaiveDate, Odds>,
}

impl<'a> Asked<'a> {
    fn new(scene: &'a Scene<'a>, order: &'a Order) -> Asked<'a> {
        let until = scene.now.date() + DayCount::new(u64::from(scene.studio.promises.days) - 1);
        let season = scene.season();
        let last = until + DayCount::new(366);
        let behind = with_promise(scene, order, &season, last);
        let careful = behind.day_of(scene.orders.len(), SAFE);
        let found = with_promise(scene, order, &season, careful.map_or(until, |(day, _)| day));
        Asked {
            scene,
            order,
            season,
            until,
            behind,
            found,
            aimed: BTreeMap::new(),
        }
    }

    /// Returns the place of the order among the orders of every draw.
    fn index(&self) -> usize {
        self.scene.orders.len()
    }

    /// Returns when everything leaves if the order is promised for `day`.
    fn aimed_at(&mut self, day: NaiveDate) -> &Odds {
        let (scene, order, season) = (self.scene, self.order, &self.season);
        let draw = || with_promise(scene, order, season, day);
        self.aimed.entry(day).or_insert_with(draw)
    }

    fn dates(&mut self) -> HonestDates {
        let shipping = &self.scene.studio.shipping;
        let own_day = self
            .order
            .promise
            .map(|_| leave_by(self.order, shipping).day);
        let held: Vec<Option<HeldDate>> =
            LEVELS.into_iter().map(|level| self.held(level)).collect();
        let last = held.iter().rev().flatten().next();
        let promised = own_day.or(last.map(|held| held.leaves_on));
        let mut dates = HonestDates {
            held,
            own: own_day.map(|day| self.own_share(day)),
            crowded: Vec::new(),
            crowded_by: None,
            can_leave: self.found.days[self.index()].is_some(),
            weathers: self.scene.studio.promises.weathers,
            until: self.until,
        };
        if let Some(day) = promised {
            self.crowd(&mut dates, day);
        }
        dates
    }

    /// Notes who loses when the order is promised for `day`.
    fn crowd(&mut self, dates: &mut HonestDates, day: NaiveDate) {
        self.aimed_at(day);
        dates.crowded = crowded(self.scene, &self.behind, &self.aimed[&day]);
        dates.crowded_by = Some(day);
    }

    /// Finds the day whose own share, with itself as the promise, comes nearest to a
    /// level.
    fn held(&mut self, level: f64) -> Option<HeldDate> {
        let index = self.index();
        let (mut day, _) = self.found.day_near(index, level)?;
        let mut share = self.own_share(day);
        // Who promises a day works for it, so a day before may hold often enough too.
        while share > level {
            let Some(sooner) = self.aimed_at(day).day_before(index, day) else {
                break;
            };
            let less = self.own_share(sooner);
            if level - less >= share - level - 1e-9 {
                break;
            }
            (day, share) = (sooner, less);
        }
        Some(HeldDate {
            level,
            leaves_on: day,
            arrives_on: arrival(self.order, day, &self.scene.studio.shipping),
            share,
        })
    }

    /// Returns the share of weathers in which the order has left by `day` if that is
    /// its promise, or the careful day if that does more.
    fn own_share(&mut self, day: NaiveDate) -> f64 {
        let index = self.index();
        let careful = self.found.share_by(index, day);
        self.aimed_at(day).share_by(index, day).max(careful)
    }

    fn days(&mut self, dates: &HonestDates) -> Vec<DayShare> {
        let held: Vec<NaiveDate> = dates.held.iter().flatten().map(|h| h.leaves_on).collect();
        let mut days: Vec<DayShare> = Vec::new();
        for day in self.candidates(&held) {
            let before = days.last().map_or(0.0, |day| day.share);
            days.push(DayShare {
                leaves_on: day,
                arrives_on: arrival(self.order, day, &self.scene.studio.shipping),
                share: self.own_share(day).max(before),
            });
            let is_safe = days.last().is_some_and(|day| day.share >= SAFE - 1e-9);
            if is_safe && held.iter().all(|other| *other <= day) {
                break;
            }
        }
        days.retain(|day| day.share >= USEFUL_FROM);
        // A later day that holds no oftener is no choice, unless it stands for a level.
        days.dedup_by(|later, day| later.share <= day.share && !held.contains(&later.leaves_on));
        days
    }

    /// Returns the days to look at: those on which the order leaves in some weather, up
    /// to the first that is safe, or else to the surest.
    fn candidates(&self, held: &[NaiveDate]) -> Vec<NaiveDate> {
        let (grid, index) = (&self.found.grid, self.index());
        let Some(left) = &self.found.days[index] else {
            return Vec::new();
        };
        let mut left: Vec<u32> = left
            .iter()
            .copied()
            .filter(|day| *day < grid.days)
            .collect();
        left.dedup();
        let days = left
            .into_iter()
            .map(|day| grid.day(i64::from(day) * PER_DAY));
        let mut shares: Vec<(NaiveDate, f64)> = days
            .map(|day| (day, self.found.share_by(index, day)))
            .collect();
        let safe = shares.partition_point(|(_, share)| *share < SAFE - 1e-9);
        shares.truncate(safe + 1);
        // A bold promise may bring a day nearer than any on which it leaves without it.
        let first = shares.iter().position(|(_, share)| *share >= USEFUL_FROM);
        shares.drain(..first.unwrap_or(shares.len()).saturating_sub(1));
        let step = match shares.len() {
            ..=DAYS_MAX => 0.0,
            _ => 1.0 / DAYS_MAX as f64,
        };
        let count = shares.len();
        let mut kept: Vec<NaiveDate> = held.to_vec();
        let mut last = f64::NEG_INFINITY;
        for (place, (day, share)) in shares.into_iter().enumerate() {
            // The day before the last is kept, so that the last is the first that is safe.
            if share - last >= step || place + 2 >= count {
                kept.push(day);
                last = share;
            }
        }
        kept.sort_unstable();
        kept.dedup();
        kept
    }
}

/// Draws the weathers for all orders of the scene and one more with `day` as its promise.
fn with_promise(scene: &Scene, order: &Order, season: &Season, day: NaiveDate) -> Odds {
    let mut orders = scene.orders.to_vec();
    orders.push(promised(order, day));
    odds_in(&scene.with_orders(&orders), season)
}

/// Returns the true shares of paper and of cloth that are made again under some luck.
pub fn remade_under(scene: &Scene, luck: Luck) -> [f64; 2] {
    work::remakes_of(scene.orders, scene.studio).map(|kind| kind.share_under(luck))
}

/// Returns when each order leaves if every day comes as the climate has it on that
/// date, none for one that does not leave within the days; one list for each of `lucks`.
///
/// For checks against plans and for back-tests: the weather is certain. Luck decides
/// about remakes alone; where it is none nothing fails.
pub fn leaves_if_certain(scene: &Scene, lucks: &[Option<u64>]) -> Vec<Vec<Option<NaiveDate>>> {
    let season = Season::new(scene.studio, scene.site, scene.climate, None, &scene.grid());
    let mut work = Work::new(
        scene.orders,
        scene.studio,
        scene.site,
        scene.now,
        scene.dry_factor,
    );
    let known = work.remakes;
    let one = |luck: &Option<u64>| {
        work.remakes = match luck {
            Some(_) => known,
            None => known.map(|kind| Remakes { share: 0.0, ..kind }),
        };
        certain(&season, &work, luck.unwrap_or(0), scene)
    };
    lucks.iter().map(one).collect()
}

fn certain(season: &Season, work: &Work, number: u64, scene: &Scene) -> Vec<Option<NaiveDate>> {
    let seed = u64::from(scene.studio.promises.seed);
    let mut index = 0;
    let left = roll(work, Luck { seed, number }, || {
        let day = index.min(season.days.len() - 1);
        index += 1;
        let date = work.grid.day(day as i64 * PER_DAY);
        match season.sky_on_date(day, day_of_year(date)) {
            Some(sky) => DayLight::new(season, day, &sky),
            None => DayLight::dark(),
        }
    });
    let inside = |slot: &At| i64::from(*slot) < work.grid.horizon();
    let left = left.into_iter().map(|slot| slot.filter(inside));
    left.map(|slot| Some(work.grid.day(i64::from(slot?))))
        .collect()
}

fn crowded(scene: &Scene, before: &Odds, after: &Odds) -> Vec<Crowded> {
    let chance = |odds: &Odds, order: usize| odds.on_time(scene, order);
    let orders = (0..scene.orders.len()).filter_map(|order| {
        Some(Crowded {
            order,
            before: chance(before, order)?,
            after: chance(after, order)?,
        })
    });
    let loses = |crowded: &Crowded| crowded.before - crowded.after >= CROWDED_FROM;
    orders.filter(loses).collect()
}

fn promised(order: &Order, day: NaiveDate) -> Order {
    Order {
        promise: Some(Promise {
            kind: PromiseKind::ShipBy,
            date: day,
            essential: false,
        }),
        ..order.clone()
    }
}

fn odds_in(scene: &Scene, season: &Season) -> Odds {
    let settings = &scene.studio.promises;
    let (studio, seed) = (scene.studio, u64::from(settings.seed));
    let work = Work::new(
        scene.orders,
        studio,
        scene.site,
        scene.now,
        scene.dry_factor,
    );
    let one = |number: u64| {
        let mut weather = Weather::new(season, settings.year_spread, seed, number);
        roll(&work, Luck { seed, number }, || weather.next_day())
    };
    let weathers: Vec<Vec<Option<At>>> = (0..u64::from(settings.weathers))
        .into_par_iter()
        .map(one)
        .collect();
    let last = work.grid.days;
    let day = |left: Option<At>| {
        left.map_or(last, |slot| {
            ((slot / PER_DAY as At).max(0) as u32).min(last)
        })
    };
    let days = work.orders.iter().enumerate().map(|(index, order)| {
        order.filter(|order| order.can_leave)?;
        let mut days: Vec<u32> = weathers.iter().map(|left| day(left[index])).collect();
        days.sort_unstable();
        Some(days)
    });
    Odds {
        grid: work.grid,
        days: days.collect(),
    }
}

impl<'a> Scene<'a> {
    fn season(&self) -> Season<'a> {
        let grid = self.grid();
        Season::new(self.studio, self.site, self.climate, self.forecast, &grid)
    }

    fn grid(&self) -> Grid {
        Grid {
            zone: self.studio.place.zone,
            first_day: self.now.date(),
            days: self.studio.promises.days,
        }
    }

    fn with_orders<'b>(&self, orders: &'b [Order]) -> Scene<'b>
    where
        'a: 'b,
    {
        Scene { orders, ..*self }
    }
}

impl Odds {
    /// Returns the share of weathers in which an order has left by a day, by its index
    /// among those given; zero for one that cannot leave: closed, held, too large.
    pub fn share_by(&self, order: usize, day: NaiveDate) -> f64 {
        let Some(days) = self.days.get(order).and_then(Option::as_ref) else {
            return 0.0;
        };
        let last = self.grid.day_index(day).min(i64::from(self.grid.days) - 1);
        let in_time = days.partition_point(|left| i64::from(*left) <= last);
        in_time as f64 / days.len().max(1) as f64
    }

    /// Returns the first day by which the order leaves in at least a share of the
    /// weathers, and in what share of them; none if there is none within the days.
    pub fn day_of(&self, order: usize, level: f64) -> Option<(NaiveDate, f64)> {
        let days = self.days.get(order)?.as_ref()?;
        // A hair below a whole weather is rounding.
        let wanted = (level * days.len() as f64 - 1e-9).ceil().max(1.0) as usize;
        let day = *days.get(wanted - 1)?;
        if day >= self.grid.days {
            return None;
        }
        let day = self.grid.day(i64::from(day) * PER_DAY);
        Some((day, self.share_by(order, day)))
    }

    /// Returns the day by which the order leaves in a share of the weathers that comes
    /// nearest to `level`, and that share; the later of two alike. None if there is no
    /// day with at least so much.
    ///
    /// The first day with at least so much would hold more often than was asked for, by
    /// seven in a hundred at a level of 80.
    pub fn day_near(&self, order: usize, level: f64) -> Option<(NaiveDate, f64)> {
        let surer = self.day_of(order, level)?;
        let days = self.days.get(order)?.as_ref()?;
        let last = self.grid.day_index(surer.0);
        let before = days.partition_point(|day| i64::from(*day) < last);
        let Some(day) = days[..before].last() else {
            return Some(surer);
        };
        let share = before as f64 / days.len() as f64;
        let sooner = (self.grid.day(i64::from(*day) * PER_DAY), share);
        let is_nearer = level - share < surer.1 - level - 1e-9;
        Some(if is_nearer { sooner } else { surer })
    }

    /// Returns the last day before `day` on which the order leaves in some weather.
    fn day_before(&self, order: usize, day: NaiveDate) -> Option<NaiveDate> {
        let days = self.days.get(order)?.as_ref()?;
        let before = days.partition_point(|left| i64::from(*left) < self.grid.day_index(day));
        let sooner = *days[..before].last()?;
        Some(self.grid.day(i64::from(sooner) * PER_DAY))
    }

    /// Returns the share of weathers in which an order leaves in time; none for one
    /// that cannot leave.
    pub fn on_time(&self, scene: &Scene, order: usize) -> Option<f64> {
        self.days.get(order)?.as_ref()?;
        let last = leave_by(&scene.orders[order], &scene.studio.shipping).day;
        Some(self.share_by(order, last))
    }
}

/// How sure an open order is.
#[derive(Debug, Clone, PartialEq)]
pub struct OrderChance {
    /// Index into the orders of the scene.
    pub order: usize,
    /// The last good day to leave.
    pub due_on: NaiveDate,
    /// Share of weathers in which it leaves in time; none for an order that something
    /// else holds: a hold, a piece that fits no frame.
    pub on_time: Option<f64>,
    /// The days it leaves by, one for each of [`LEVELS`].
    pub leaves_by: Vec<Option<NaiveDate>>,
}

/// Tells how sure every open order is, the least sure first; what cannot leave last.
pub fn chances(scene: &Scene, odds: &Odds) -> Vec<OrderChance> {
    let open = scene
        .orders
        .iter()
        .enumerate()
        .filter(|(_, order)| !order.is_closed());
    let mut chances: Vec<OrderChance> = open
        .map(|(index, order)| OrderChance {
            order: index,
            due_on: leave_by(order, &scene.studio.shipping).day,
            on_time: odds.on_time(scene, index),
            leaves_by: LEVELS
                .iter()
                .map(|level| Some(odds.day_of(index, *level)?.0))
                .collect(),
        })
        .collect();
    chances.sort_by(|one, other| {
        let key = |chance: &OrderChance| chance.on_time.unwrap_or(2.0);
        key(one)
            .total_cmp(&key(other))
            .then(one.due_on.cmp(&other.due_on))
    });
    chances
}

/// Finds the one order that most wants looking after: the least sure of those that can
/// still be on time and are not as good as sure.
///
/// Among equals the one that counts more, then the one that is due first.
pub fn most_at_risk(scene: &Scene, chances: &[OrderChance]) -> Option<usize> {
    let doubtful = chances.iter().filter(|chance| {
        chance
            .on_time
            .is_some_and(|share| share > 0.0 && share < SURE_FROM)
    });
    let key = |chance: &&OrderChance| {
        let weight = u64::from(scene.orders[chance.order].weight);
        let missed = 1.0 - chance.on_time.unwrap_or(1.0);
        (
            (missed * 1000.0).round() as u64,
            weight,
            std::cmp::Reverse(chance.due_on),
        )
    };
    doubtful.max_by_key(key).map(|chance| chance.order)
}

/// From here on an order counts as good as sure. [own choice]
const SURE_FROM: f64 = 0.99;
