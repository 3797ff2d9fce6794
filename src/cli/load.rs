//! Loading what commands need: the folder, the moment, the light, the plan.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use anyhow::{Context, Result, bail};
use chrono::{DateTime, Days, FixedOffset, NaiveDate, NaiveDateTime, TimeDelta, Utc};

use super::beyond::carry_on;
use super::lit::taken_in;
use super::progress::while_doing;
use super::{Common, output, typed};
use crate::coverage::{Coverage, coverage};
use crate::dry::{Estimate, estimate};
use crate::experience::{Taught, taught};
use crate::forecast::Forecast;
use crate::forecast::{Expectation, Hour, check};
use crate::intake::name::likely_number;
use crate::light::uv::highest_index;
use crate::light::{ClearLight, CurveRules, LightCurve, Site, Step, UnknownSky};
use crate::notice::Sent;
use crate::order::Order;
use crate::outside::clock::{self, Stopwatch};
use crate::outside::exposing::read_exposing;
use crate::outside::fetch::find_fetched_at;
use crate::outside::forecast::read_forecast;
use crate::outside::kept::read_kept;
use crate::outside::orders as folder;
use crate::outside::outbox::read_sent;
use crate::plan::audit::{Start, audit_from};
use crate::plan::calm::{felt, held, priced, recalled, settle, wash_sooner};
use crate::plan::grid::Grid;
use crate::plan::kept::KeptPlan;
use crate::plan::model::{Instance, Timing};
use crate::plan::search::{Effort, solve};
use crate::plan::setup::{Setup, setup};
use crate::plan::starts::Outdoors;
use crate::plan::under_way::{Scene, UnderWay};
use crate::problem::{Problem, did_you_mean};
use crate::stock::Stock;
use crate::studio::Studio;
use crate::supply::run_out;
use crate::view::dates;
use crate::yaml::leaf::Scalar;

/// A studio folder as read, at a moment.
#[derive(Debug)]
pub struct Loaded {
    /// The folder.
    pub folder: PathBuf,
    /// The studio; doses of its materials are what its own prints have taught, and
    /// millilitres per area what was measured.
    pub studio: Studio,
    /// What they have taught, by material.
    pub taught: BTreeMap<String, Taught>,
    /// What they drink, by material.
    pub coverage: BTreeMap<String, Coverage>,
    /// What lies on the shelf, if somebody counted.
    pub stock: Option<Stock>,
    /// Its orders.
    pub orders: Vec<Order>,
    kept: OnceLock<Option<KeptPlan>>,
    /// Whether what the kept plan has under way is taken to be so.
    pub kept_has_begun: bool,
    /// What goes on, and the orders as they stand once it is over; found when it is
    /// first asked for.
    begun: OnceLock<(UnderWay, Vec<Order>)>,
    /// Names of all studio and order files.
    pub files: Vec<String>,
    /// Names of order files that gave no order.
    pub unread: Vec<String>,
    /// What is to be mended.
    pub problems: Vec<Problem>,
    /// The saved forecast, if there is one that can be read.
    pub forecast: Option<Forecast>,
    /// The same as the service gave it, not carried on.
    pub service: Option<Forecast>,
    /// Where the service's own hours end.
    pub forecast_until: Option<DateTime<Utc>>,
    /// What the days after the fifth rest on more and more, in words.
    pub beyond: Option<String>,
    /// When it was fetched; none if it was saved by hand.
    pub fetched_at: Option<DateTime<Utc>>,
    /// The moment everything is asked for, on the studio's clock.
    pub now: NaiveDateTime,
}

/// Light over the days of a plan, real and fair.
#[derive(Debug)]
pub struct Sky {
    /// With the forecast's clouds.
    pub light: LightCurve,
    /// Under a clear sky.
    pub fair: LightCurve,
    /// The clear light that both rest on.
    pub clear: ClearLight,
}

/// What a studio folder turned out to be.
#[derive(Debug)]
pub enum Found {
    /// A studio to work with, and whatever else could be read.
    Whole(Box<Loaded>),
    /// The studio's file has errors; orders were looked at all the same.
    NoStudio {
        /// Names of all studio and order files.
        files: Vec<String>,
        /// Names of order files that gave no order.
        unread: Vec<String>,
        /// What was not looked at for it, in words.
        unjudged: Vec<&'static str>,
        /// What is to be mended.
        problems: Vec<Problem>,
    },
}

/// Reads the studio folder with its orders and forecast.
///
/// None if there is no studio to work with; the problems have been shown then.
pub fn load(common: &Common) -> Result<Option<Loaded>> {
    match find(common)? {
        Found::Whole(loaded) => Ok(Some(*loaded)),
        Found::NoStudio { problems, .. } => {
            output::show_problems(common, &problems);
            Ok(None)
        }
    }
}

/// Reads the studio folder with its orders and forecast, and shows nothing.
pub fn find(common: &Common) -> Result<Found> {
    let folder = find_folder(common)?;
    let clock = clock::now();
    let now = |studio: &Studio| moment(common, studio, clock).unwrap_or_default();
    let read = while_doing("reading the orders", || folder::read_folder(&folder, now))?;
    let mut problems = read.problems;
    let Some(mut studio) = read.studio else {
        return Ok(Found::NoStudio {
            files: read.files,
            unread: read.unread,
            unjudged: read.unjudged,
            problems,
        });
    };
    let now = moment(common, &studio, clock)?;
    let taught = taught(&read.orders, &studio, now);
    for (key, taught) in taught.iter().filter(|(_, taught)| taught.has_evidence()) {
        if let Some(material) = studio.materials.get_mut(key) {
            material.target_dose = taught.learned.median;
        }
    }
    let coverage = coverage(&read.orders, &studio, now);
    for (key, coverage) in &coverage {
        if let Some(material) = studio.materials.get_mut(key) {
            material.coat_ml_per_m2 = coverage.ml_per_m2;
        }
    }
    if let Some(stock) = &read.stock {
        for (key, from) in run_out(stock, &studio, &read.orders, now) {
            if let Some(material) = studio.materials.get_mut(&key) {
                material.available_on = material.available_on.max(Some(from));
            }
        }
    }
    let file = studio.forecast_file.as_deref();
    let fetched_at = file.and_then(|file| find_fetched_at(&folder, file));
    let mut forecast = read_saved(&folder, &studio, now, fetched_at, &mut problems);
    let service = forecast.clone();
    let forecast_until = forecast.as_ref().and_then(Forecast::ends_at);
    let end = now.date() + Days::new(u64::from(studio.planning.days) + 1);
    let (at, until) = (
        instant(&studio, now),
        instant(&studio, end.and_time(chrono::NaiveTime::MIN)),
    );
    let beyond = carry_on(&folder, &studio, &mut forecast, at, until, &mut problems);
    problems.sort_by(|a, b| a.sort_key().cmp(&b.sort_key()));
    Ok(Found::Whole(Box::new(Loaded {
        folder,
        studio,
        taught,
        coverage,
        stock: read.stock,
        orders: read.orders,
        kept: OnceLock::new(),
        kept_has_begun: true,
        begun: OnceLock::new(),
        files: read.files,
        unread: read.unread,
        problems,
        forecast,
        service,
        forecast_until,
        beyond,
        fetched_at,
        now,
    })))
}

/// Finds the studio folder: the one named, this one, or `orders` in this one.
pub fn find_folder(common: &Common) -> Result<PathBuf> {
    if let Some(folder) = &common.dir {
        return Ok(folder.clone());
    }
    let found = [".", "orders"].into_iter().map(Path::new);
    match found
        .into_iter()
        .find(|folder| folder.join("studio.yaml").exists())
    {
        Some(folder) => Ok(folder.to_owned()),
        None => bail!(
            "no `studio.yaml` here or in `orders`; go to the studio folder, name it with \
             `--dir DIR`, or start one with `fairday new DIR`"
        ),
    }
}

/// Returns the moment that was typed, else the one that the studio pins, else now.
fn moment(common: &Common, studio: &Studio, clock: DateTime<Utc>) -> Result<NaiveDateTime> {
    if let Some(typed) = &common.today {
        return parse_moment(typed, studio).with_context(|| {
            format!(
                "`--today {typed}`: expected a day or a day and time, such as \"2026-05-11 07:00\""
            )
        });
    }
    let clock = clock.with_timezone(&studio.place.zone).naive_local();
    Ok(studio.pinned_now.unwrap_or(clock))
}

/// Parses `2026-05-11`, `2026-05-11 07:00` or `2026-05-11T07:00`; a day alone begins
/// with its work.
fn parse_moment(text: &str, studio: &Studio) -> Option<NaiveDateTime> {
    let text = text.trim();
    if let Some(at) = NaiveDateTime::parse(text) {
        return Some(at);
    }
    let day = NaiveDate::parse(text)?;
    let first = studio.work.iter().map(|hours| hours.from).min();
    Some(day.and_time(first.unwrap_or(chrono::NaiveTime::MIN)))
}

fn read_saved(
    folder: &Path,
    studio: &Studio,
    now: NaiveDateTime,
    fetched_at: Option<DateTime<Utc>>,
    problems: &mut Vec<Problem>,
) -> Option<Forecast> {
    let Some(file) = &studio.forecast_file else {
        let mut what = "no forecast is named, so nothing can be exposed in the sun".to_owned();
        if studio.climate.is_some() {
            what += "; `climate` stands in only beyond the end of a forecast";
        }
        problems.push(Problem::warning("studio.yaml", what).hint(
            "name one, `forecast: forecast.json`, and get it with `fairday fetch` or save it \
                 there",
        ));
        return None;
    };
    let (forecast, found) = read_forecast(folder, file);
    problems.extend(found);
    let forecast = forecast?;
    let expected = Expectation {
        place: &studio.place,
        file,
        now: instant(studio, now),
        fetched_at,
        stale_hours: studio.weather.forecast_stale_hours,
        until: instant(studio, now + TimeDelta::days(1)),
    };
    let mut found = check(&forecast, &expected);
    if !is_sky_told(&forecast) {
        let what = "the forecast says nothing of cloud or light; a clear sky is taken, so all \
                    minutes are the least there can be";
        found.push(
            Problem::warning(file, what).hint("save one with cloud cover or shortwave radiation"),
        );
    }
    // An error means that the forecast speaks of another place or time.
    let usable = !output::has_errors(&found);
    problems.extend(found);
    usable.then_some(forecast)
}

/// Tells whether the forecast says anything of the sky at all.
///
/// If not, every sky is taken as clear: a plan on the least minutes there can be,
/// with a warning, is more use than none.
fn is_sky_told(forecast: &Forecast) -> bool {
    forecast.hours.iter().any(tells_the_sky)
}

fn tells_the_sky(hour: &Hour) -> bool {
    let of_uv = hour.uv_index.is_some() && hour.uv_index_clear.is_some();
    let cover = [
        hour.cloud_pct,
        hour.cloud_low_pct,
        hour.cloud_mid_pct,
        hour.cloud_high_pct,
    ];
    hour.global_w_m2.is_some() || of_uv || cover.iter().any(Option::is_some)
}

/// Returns the instant of a reading of the studio's clock; one that the spring change
/// skips counts as after it.
pub fn instant(studio: &Studio, wall: NaiveDateTime) -> DateTime<Utc> {
    let local = wall.and_local_timezone(studio.place.zone);
    let shifted = || {
        (wall + TimeDelta::hours(2))
            .and_local_timezone(studio.place.zone)
            .earliest()
    };
    let at = local.earliest().or_else(shifted);
    at.map_or_else(|| wall.and_utc(), |at| at.with_timezone(&Utc))
}

impl Loaded {
    /// Finds an open or closed order by its number.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn find_order(&self, number: &str) -> Result<&Order> {
        if let Some(order) = self.orders.iter().find(|order| order.number == number) {
            return Ok(order);
        }
        let known: Vec<&str> = self
            .orders
            .iter()
            .map(|order| order.number.as_str())
            .collect();
        if let Some(file) = self.find_unread(number) {
            bail!("order `{number}` cannot be read; mend `{file}` first: fairday check");
        }
        let meant = did_you_mean(number, &known).map(|word| format!("; did you mean `{word}`?"));
        bail!("there is no order `{number}`{}", meant.unwrap_or_default())
    }

    /// Finds the file with errors that holds an order of this number.
    fn find_unread(&self, number: &str) -> Option<&String> {
        let mut unread = self.unread.iter();
        unread.find(|file| self.likely_number_of(file).as_deref() == Some(number))
    }

    fn likely_number_of(&self, file: &str) -> Option<String> {
        let bytes = std::fs::read(self.folder.join(file)).unwrap_or_default();
        likely_number(file, &String::from_utf8_lossy(&bytes))
    }

    /// Returns the numbers that no new order may have, those in files with errors too.
    pub fn numbers_in_use(&self) -> Vec<String> {
        let unread = self.unread.iter();
        let unread = unread.filter_map(|file| self.likely_number_of(file));
        let known = self.orders.iter().map(|order| order.number.clone());
        known.chain(unread).collect()
    }

    /// Returns the present instant, or the one asked for, in the studio's zone.
    pub fn instant(&self) -> DateTime<FixedOffset> {
        instant(&self.studio, self.now)
            .with_timezone(&self.studio.place.zone)
            .fixed_offset()
    }

    /// Returns the time grid of its plan.
    pub fn grid(&self) -> Grid {
        Grid {
            zone: self.studio.place.zone,
            first_day: self.now.date(),
            days: self.studio.planning.days,
        }
    }

    /// Returns the studio's place and frames, with the ozone of the forecast.
    pub fn site(&self) -> Site {
        let site = Site::new(&self.studio.place, &self.studio.stand);
        match &self.forecast {
            Some(forecast) => site.with_ozone_of(forecast),
            None => site,
        }
    }

    /// Computes the light over the days of its plan.
    pub fn sky(&self) -> Sky {
        let site = self.site();
        let from = instant(
            &self.studio,
            self.now.date().and_time(chrono::NaiveTime::MIN),
        );
        let days = i64::from(self.studio.planning.days);
        let span = from..from + TimeDelta::days(days) + TimeDelta::hours(2);
        let clear = ClearLight::over(site, span, Step::FIVE_MINUTES);
        // Rain is judged hour by hour with its chance, not by the light.
        let rules = CurveRules {
            rain_max_mm: f64::INFINITY,
            unknown_sky: match &self.forecast {
                Some(forecast) if !is_sky_told(forecast) => UnknownSky::IsTakenAsClear,
                Some(_) | None => UnknownSky::Stops,
            },
            ..CurveRules::of(&self.studio.weather)
        };
        let fair = LightCurve::fair(&clear, &rules);
        let light = match &self.forecast {
            Some(forecast) => LightCurve::new(&clear, Some(forecast), &rules),
            None => LightCurve::under(&clear, &[], &rules),
        };
        Sky { light, fair, clear }
    }

    /// Returns the plan that the studio goes by; read when it is first asked for.
    ///
    /// # Errors
    /// It cannot be read.
    pub fn kept(&self) -> Result<Option<&KeptPlan>> {
        if self.kept.get().is_none() {
            let read = read_kept(&self.folder)?;
            drop(self.kept.set(read));
        }
        Ok(self.kept.get().and_then(Option::as_ref))
    }

    /// Returns what goes on at its moment. Notes on disk that cannot be read are for the
    /// commands that write them to tell of.
    pub fn under_way(&self) -> &UnderWay {
        &self.find_begun().0
    }

    /// Returns the orders as they stand once what goes on is over; plans begin there.
    pub fn begun(&self) -> &[Order] {
        &self.find_begun().1
    }

    fn find_begun(&self) -> &(UnderWay, Vec<Order>) {
        self.begun.get_or_init(|| {
            let light = read_exposing(&self.folder).unwrap_or_default();
            let kept = self.kept().unwrap_or_default();
            let under_way = UnderWay::find(&Scene {
                orders: &self.orders,
                studio: &self.studio,
                light: &light,
                kept: kept.filter(|_| self.kept_has_begun),
                now: instant(&self.studio, self.now),
                taken_in: &taken_in(self, &light),
            });
            let orders = under_way.done(&self.orders);
            (under_way, orders)
        })
    }

    /// Makes the planning problem under the forecast.
    pub fn setup<'a>(&'a self, sky: &'a Sky) -> Setup<'a> {
        setup(
            self.begun(),
            &self.studio,
            &self.outdoors(sky),
            self.now,
            self.under_way(),
        )
    }

    /// Plans: calmly if the studio goes by a kept plan.
    ///
    /// # Errors
    /// The kept plan cannot be read, or the plan broke a rule.
    pub fn plan(&self, setup: &Setup, thinking: &Thinking) -> Result<Timing> {
        match self.kept()? {
            Some(kept) => thinking.plan_calmly(setup, kept, self.studio.planning.moved),
            None => thinking.plan(setup),
        }
    }

    /// Returns the light outdoors with the weather that is forecast.
    pub fn outdoors<'a>(&'a self, sky: &'a Sky) -> Outdoors<'a> {
        Outdoors {
            light: &sky.light,
            forecast: self.forecast.as_ref(),
            dry_factor: self.dry_factor(),
        }
    }

    /// Makes the planning problem under a clear, still sky.
    pub fn fair_setup<'a>(&'a self, sky: &'a Sky) -> Setup<'a> {
        let outdoors = Outdoors {
            light: &sky.fair,
            forecast: None,
            dry_factor: self.dry_factor(),
        };
        setup(
            self.begun(),
            &self.studio,
            &outdoors,
            self.now,
            self.under_way(),
        )
    }

    /// Returns how drying hours are estimated; none if they are as the materials say.
    pub fn drying(&self) -> Option<Estimate> {
        let drying = self.studio.drying.as_ref()?;
        let now = instant(&self.studio, self.now);
        estimate(drying, self.forecast.as_ref(), now)
    }

    /// Returns how many times their usual hours things take to dry.
    pub fn dry_factor(&self) -> f64 {
        self.drying().map_or(1.0, |estimate| estimate.factor)
    }

    /// Returns what the outbox remembers.
    pub fn sent(&self) -> Result<Vec<Sent>> {
        read_sent(&self.folder)
    }

    /// Says in one line what a plan rests on.
    pub fn forecast_note(&self) -> String {
        let Some(forecast) = &self.forecast else {
            let beyond = match self.studio.climate {
                Some(_) => " The climate stands in only beyond the end of a forecast.",
                None => "",
            };
            return format!("No forecast: nothing that needs sun can be planned.{beyond}");
        };
        let zone = self.studio.place.zone;
        let wall = |at: DateTime<Utc>| at.with_timezone(&zone).naive_local();
        let at = |verb: &str, at: Option<DateTime<Utc>>| {
            let at = at.map(wall)?;
            let day = dates::near_day(at.date(), self.now.date());
            Some(format!(", {verb} {day} {}", dates::time(at)))
        };
        let made = at("made", forecast.issued_at);
        let fetched = at("fetched", self.fetched_at);
        let beyond = self.beyond.as_ref().map(|words| {
            format!(" From the sixth day on by {words}, from the eighth by that alone.")
        });
        let drying = self.drying().map(|estimate| {
            format!(
                " Drying hours times {:.1}, an estimate for air of {:.0} °C and {:.0} %.",
                estimate.factor, estimate.air.temperature_c, estimate.air.humidity_pct
            )
        });
        let until = self.forecast_until.map(wall);
        let until =
            until.map(|at| format!(", reaches to {}", dates::day(at.date(), self.now.date())));
        format!(
            "{}{}{}{}.{}{}",
            forecast.credit,
            made.unwrap_or_default(),
            fetched.unwrap_or_default(),
            until.unwrap_or_default(),
            beyond.unwrap_or_default(),
            drying.unwrap_or_default()
        )
    }

    /// Returns the highest clear-sky UV index of a day.
    pub fn uv_index(&self, sky: &Sky, date: NaiveDate) -> Option<f64> {
        let from = instant(&self.studio, date.and_time(chrono::NaiveTime::MIN));
        let span = from..from + TimeDelta::days(1);
        Some(highest_index(&sky.clear, self.forecast.as_ref(), span))
    }
}

/// How long and how a command thinks.
#[derive(Debug, Clone, Copy, clap::Args)]
pub struct Thinking {
    /// Seconds to think about the plan [default: as long as the steps take]
    #[arg(long, value_name = "S", value_parser = typed::value::<f64>)]
    seconds: Option<f64>,
    /// Steps of improvement; the same number gives the same plan
    #[arg(long, value_name = "N", value_parser = typed::whole::<u64>)]
    steps: Option<u64>,
    /// Another number, another way of looking for a plan
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = typed::whole::<u64>)]
    seed: u64,
}

/// Steps of improvement for a plan, so many that it takes well under a second.
///
/// A step costs about as much as the plan has lots. Counting steps and not time
/// gives the same plan on every machine.
fn usual_steps(setup: &Setup) -> u64 {
    const LOT_STEPS: u64 = 600_000;
    (LOT_STEPS / setup.lots.len().max(1) as u64).clamp(1_500, 30_000)
}

/// Has a plan judged a second time.
fn judged(setup: &Setup, timing: Timing) -> Result<Timing> {
    let verdict = audit_from(&setup.instance, &timing, Start::Given);
    if !verdict.is_kept() {
        bail!(
            "the plan broke a rule of the studio and is not shown ({:?}); \
             please report this with the studio folder",
            verdict.broken.first()
        );
    }
    Ok(timing)
}

/// What takes its time, in words.
const THINKING: &str = "thinking about the plan";

/// Parts into which the thinking is divided when a kept plan is to be left in peace.
const CALM_ROUNDS: u64 = 8;

impl Thinking {
    /// Plans, and has the plan judged a second time.
    pub fn plan(&self, setup: &Setup) -> Result<Timing> {
        let think = || self.think(setup, &setup.instance, None, (1, 0));
        judged(setup, while_doing(THINKING, think))
    }

    /// Plans on from a plan, as far as it still holds; what it has planned stays planned.
    pub fn plan_on(&self, setup: &Setup, start: &Timing) -> Result<Timing> {
        let held = held(&setup.instance, start);
        let think = || self.think(setup, &held, Some(start), (1, 0));
        judged(setup, while_doing(THINKING, think))
    }

    /// Plans on from a plan of another problem: as it was where it still holds, unless
    /// another plan gains more than the studio says that a moved step costs, for each
    /// near step and each order that leaves on another day.
    pub fn plan_otherwise(&self, setup: &Setup, before: &Timing, price: u32) -> Result<Timing> {
        let price = i64::from(price);
        let as_it_was = judged(
            setup,
            self.think(setup, &setup.instance, Some(before), (0, 0)),
        )?;
        let found = self.plan_on(setup, before)?;
        let orders = |timing: &Timing| {
            let all = 0..setup.orders.len();
            let day = |order: usize, timing: &Timing| setup.leaves_on(order, timing);
            let moved = all.filter(|&order| day(order, timing) != day(order, before));
            price.saturating_mul(moved.count() as i64)
        };
        let felt = |timing: &Timing| {
            let felt = felt(setup, timing, before, price);
            felt.map_or(i64::MAX, |felt| felt.saturating_add(orders(timing)))
        };
        Ok(match felt(&found) < felt(&as_it_was) {
            true => found,
            false => as_it_was,
        })
    }

    /// Plans so that today and tomorrow morning stay as kept unless moving them gains
    /// more than the studio says a moved step costs.
    ///
    /// Short searches from the best plan so far, each settled back: a long one would
    /// wander off and could not be led back step by step.
    pub fn plan_calmly(&self, setup: &Setup, kept: &KeptPlan, price: u32) -> Result<Timing> {
        while_doing(THINKING, || self.plan_in_rounds(setup, kept, price))
    }

    fn plan_in_rounds(&self, setup: &Setup, kept: &KeptPlan, price: u32) -> Result<Timing> {
        let price = i64::from(price);
        let kept = kept.timing(setup);
        let mut priced = priced(setup, &kept, price);
        let mut best: Option<(i64, Timing)> = None;
        for round in 0..CALM_ROUNDS {
            // Every other round tries the kept day with the later days of the best plan.
            let from = match &best {
                None => kept.clone(),
                Some((_, timing)) if round % 2 == 0 => recalled(setup, timing, &kept),
                Some((_, timing)) => timing.clone(),
            };
            // The first round only mends what no longer holds.
            let share = if round == 0 { 0 } else { CALM_ROUNDS };
            let timing = self.think(setup, &priced, Some(&from), (share, round));
            if round == 0 {
                wash_sooner(setup, &mut priced, &timing);
            }
            let timing = settle(setup, judged(setup, timing)?, &kept, price);
            let felt = felt(setup, &timing, &kept, price).unwrap_or(i64::MAX);
            if best.as_ref().is_none_or(|(least, _)| felt < *least) {
                best = Some((felt, timing));
            }
        }
        judged(setup, best.map(|(_, timing)| timing).unwrap_or_default())
    }

    /// Searches with one of `share` parts of the effort, none at all for no part, in
    /// the way of `round`.
    fn think(
        &self,
        setup: &Setup,
        instance: &Instance,
        start: Option<&Timing>,
        (share, round): (u64, u64),
    ) -> Timing {
        let steps = match (self.steps, self.seconds) {
            (Some(steps), _) => Some(steps),
            (None, Some(_)) => None,
            (None, None) => Some(usual_steps(setup)),
        };
        let effort = Effort {
            iterations: match share {
                0 => Some(0),
                share => steps.map(|steps| steps / share),
            },
            seed: self.seed.wrapping_add(round),
            threads: 2,
        };
        let seconds = self.seconds.map(|seconds| seconds / share.max(1) as f64);
        let watch = seconds.map(Stopwatch::of_seconds);
        let used = move || watch.map_or(0.0, |watch| watch.used());
        solve(instance, &effort, &used, start).timing
    }

    /// Returns how hard each further plan is thought about: an eighth of the steps asked
    /// for, or a small part of the usual ones, as many times as there are `--seconds`.
    pub fn second_look(&self, setup: &Setup) -> Effort {
        let usual = || {
            let times = self.seconds.unwrap_or(1.0).clamp(0.1, 60.0);
            (usual_steps(setup) as f64 / 24.0 * times) as u64
        };
        Effort {
            iterations: Some(self.steps.map_or_else(usual, |steps| steps / 8)),
            seed: self.seed,
            threads: 2,
        }
    }
}
