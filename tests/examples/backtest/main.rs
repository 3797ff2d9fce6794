//! Are the dates that hold kept? Promises made in years that are known to the end.
//!
//! `FAIRDAY_WEATHER=… cargo run --release --example backtest -- [--every DAYS]
//! [--planner] [--stories] [--ranks] [--weathers N] [--steps N] [--year-spread S] [--duller S]
//! [--ship N] [--second-go N] [FILE…]`
//!
//! For each year of weather (EPW, TMY3, or hours in the form of a forecast, packed or
//! not; all below the folder unless files are named) and every so many days: an invented studio with a random load is
//! asked for the dates of a random order, under a forecast made from what comes with
//! an error that grows by lead day. The climate is another file of the same place, or
//! the same file without the days that come. Then the days come as they did, the
//! promised order is worked on with the others, prints fail, and the promise is kept or not: by the rollout that made it, or,
//! with `--planner`, by the planner itself, which plans anew each morning.
//!
//! Two ways of making forecasts: `ranks`, errors as the promises assume them; and
//! `days`, the day as it comes or any other of the season, which they do not assume.
//!
//! `--duller 0.3` makes every day that comes less usable than the file has it, by 0.3 of
//! what days differ: a bad year that the climate does not know. `--ship N` has the
//! planner hurry (`planning.ship`), `--second-go N` leave time to make a print again, and
//! `--steps N` think longer each morning. `--stories` tells for each date how the planner
//! came to it. `--ranks` makes forecasts in that way alone.
//!
//! `kept` is how often the promised day was kept and `said` how often the promise said
//! it would be; days are whole, so the second is near the level and not the level itself.
//! The interval is that of the mean of months. `rolled` is how often the rollouts keep
//! the same days, under several lucks with the prints, and `same` with the planner's luck
//! alone; `even` is what the planner kept with its luck evened out by these two: kept less
//! same, and rolled. The share of prints that fail is drawn for each question from what the studio's
//! record leaves open.

mod maker;
mod sky;
mod studio;
mod tally;

use std::collections::BTreeMap;
use std::io::Write;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use chrono::{Datelike, Days as DayCount, NaiveDate};
use fairday::climate::days::day_of_year;
use fairday::climate::{Days, TypicalYear, Usual, parse};
use fairday::forecast::{Forecast, Hour, distance_km};
use fairday::light::Site;
use fairday::light::sun::Observer;
use fairday::odds::{HeldDate, LEVELS, Luck, Scene, honest_dates, leaves_if_certain, remade_under};
use fairday::order::{Order, Promise, PromiseKind};
use rand::SeedableRng;
use rand::rngs::SmallRng;
use rayon::prelude::*;

use maker::{Maker, Story};
use sky::{Forecaster, Truth};
use tally::Case;

/// Share of hours with rain, since the files are not to be trusted in it.
const WET_SHARE: f64 = 0.1;
/// Days before and from the promise on that a climate of the same year must not know.
const UNSEEN: (u32, u32) = (1, 26);
/// Ways that luck with the prints may go, for each case under rollouts.
const LUCKS: u64 = 8;
/// So long the planner goes on, from the promised day on. [d]
const LATEST_DAYS: i64 = 8;
/// Farther away it is another place. [km]
const SAME_PLACE_KM: f64 = 60.0;

/// What was typed.
#[derive(Debug)]
struct Options {
    every: usize,
    planner: bool,
    weathers: u32,
    year_spread: Option<f64>,
    duller: f64,
    ship: Option<u32>,
    second_go: Option<u32>,
    steps: u64,
    stories: bool,
    only_ranks: bool,
    files: Vec<PathBuf>,
}

/// A year with its days.
struct Year {
    name: String,
    year: TypicalYear,
    days: Days,
}

fn main() -> Result<()> {
    let options = options()?;
    let years = read_years(&options.files)?;
    let mut out = std::io::stdout().lock();
    for year in &years {
        writeln!(out, "{} · {} days", year.name, year.days.days.len())?;
    }
    let starts: Vec<(usize, usize)> = (0..years.len())
        .flat_map(|year| {
            // Another first day for each year.
            let first = year % options.every;
            (first..365)
                .step_by(options.every)
                .map(move |day| (year, day))
        })
        .collect();
    let cases: Vec<Vec<Case>> = starts
        .par_iter()
        .map(|(year, day)| cases(&years, *year, *day, &options))
        .collect::<Result<_>>()?;
    let cases = cases.concat();
    for story in cases.iter().filter_map(|case| case.story.as_ref()) {
        if options.stories {
            writeln!(out, "{story}")?;
        }
    }
    write!(out, "{}", tally::table(&cases))?;
    judge(&cases, options.planner)
}

/// Fails when a level is missed by more than is allowed, over all seasons: by the
/// rollouts that made the promise, under several lucks; or by the planner beside the
/// rollouts with the same luck, which tells more than a share of its own of so few. What
/// chance alone may do to so few questions is allowed on top.
fn judge(cases: &[Case], planner: bool) -> Result<()> {
    for (level, most) in [(1, 0.05), (2, 0.03)] {
        let wanted = LEVELS[level];
        let (off, chance) = tally::mean(cases, level, |case| case.rolled - wanted);
        if off.abs() > most + chance {
            let (wanted, off) = (100.0 * wanted, 100.0 * off);
            bail!("{wanted:.0} in 100 were to be kept; by rollouts it was {off:+.1}");
        }
        let (off, chance) = tally::mean(cases, level, |case| case.kept - case.same_luck);
        if planner && off.abs() > most + chance {
            let (wanted, off) = (100.0 * wanted, 100.0 * off);
            bail!("of {wanted:.0} in 100 the planner kept {off:+.1} beside rollouts with its luck");
        }
    }
    Ok(())
}

fn options() -> Result<Options> {
    let mut options = Options {
        every: 5,
        planner: false,
        weathers: 500,
        year_spread: None,
        duller: 0.0,
        ship: None,
        second_go: None,
        steps: 400,
        stories: false,
        only_ranks: false,
        files: Vec::new(),
    };
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        let mut value = || {
            words
                .next()
                .with_context(|| format!("`{word}` needs a value"))
        };
        match word.as_str() {
            "--every" => options.every = value()?.parse::<usize>()?.max(1),
            "--weathers" => options.weathers = value()?.parse()?,
            "--year-spread" => options.year_spread = Some(value()?.parse()?),
            "--duller" => options.duller = value()?.parse()?,
            "--ship" => options.ship = Some(value()?.parse()?),
            "--second-go" => options.second_go = Some(value()?.parse()?),
            "--steps" => options.steps = value()?.parse()?,
            "--planner" => options.planner = true,
            "--stories" => options.stories = true,
            "--ranks" => options.only_ranks = true,
            file => options.files.push(PathBuf::from(file)),
        }
    }
    if options.files.is_empty() {
        let folder = std::env::var("FAIRDAY_WEATHER")
            .context("name files, or the folder of other people's weather in FAIRDAY_WEATHER")?;
        list(Path::new(&folder), &mut options.files)?;
        options.files.sort();
    }
    Ok(options)
}

/// Lists all files below a folder that may be years.
fn list(folder: &Path, files: &mut Vec<PathBuf>) -> Result<()> {
    let shown = folder.display();
    for entry in std::fs::read_dir(folder).with_context(|| format!("reading `{shown}`"))? {
        let path = entry?.path();
        let name = path.to_string_lossy().to_lowercase();
        let bare = name.trim_end_matches(".gz");
        if path.is_dir() {
            list(&path, files)?;
        } else if [".epw", ".csv", ".json"]
            .iter()
            .any(|end| bare.ends_with(end))
        {
            files.push(path);
        }
    }
    Ok(())
}

/// Reads those files that are years.
fn read_years(files: &[PathBuf]) -> Result<Vec<Year>> {
    let mut years = Vec::new();
    for path in files {
        let name = path
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        let bytes = std::fs::read(path).with_context(|| format!("reading `{name}`"))?;
        let mut text = Vec::new();
        if bytes.starts_with(&[0x1f, 0x8b]) {
            let mut unpacked = flate2::read::GzDecoder::new(bytes.as_slice());
            std::io::Read::read_to_end(&mut unpacked, &mut text)?;
        } else {
            text = bytes;
        }
        let text = String::from_utf8_lossy(&text);
        if let Ok(year) = parse(&text, &name) {
            let days = Days::of_year(&year, WET_SHARE, |_| true);
            years.push(Year { name, year, days });
        } else {
            years.extend(years_of_hours(&text, &name));
        }
    }
    if years.is_empty() {
        bail!("no year of weather was found");
    }
    Ok(years)
}

/// Reads measured hours in the form of a forecast, each calendar year by itself; years
/// that are not whole are left out.
fn years_of_hours(text: &str, name: &str) -> Vec<Year> {
    let Some(hours) = fairday::forecast::parse(text, name).0 else {
        return Vec::new();
    };
    let offset_h = (hours.longitude_deg / 15.0).round();
    let place = TypicalYear {
        name: name.to_owned(),
        latitude_deg: hours.latitude_deg,
        longitude_deg: hours.longitude_deg,
        altitude_m: 0.0,
        offset_h,
        rows: Vec::new(),
    };
    let observer = Observer::new(hours.latitude_deg, hours.longitude_deg, 0.0);
    let mut by_year: BTreeMap<i32, Vec<Hour>> = BTreeMap::new();
    for hour in hours.hours {
        let local = hour.start + place.offset();
        by_year.entry(local.year()).or_default().push(hour);
    }
    let year = |(number, of_year): (i32, Vec<Hour>)| {
        let measured = Forecast {
            credit: hours.credit.clone(),
            latitude_deg: place.latitude_deg,
            longitude_deg: place.longitude_deg,
            issued_at: None,
            hours: of_year,
        };
        let days = Days::of_hours(&measured, &observer, place.offset(), WET_SHARE);
        (days.days.len() > 360).then(|| Year {
            name: format!("{name}, {number}"),
            year: place.clone(),
            days,
        })
    };
    by_year.into_iter().filter_map(year).collect()
}

/// Returns a climate that does not know what comes from `day` on.
fn climate(years: &[Year], index: usize, day: u32) -> Days {
    let here = &years[index].year;
    let place = |year: &TypicalYear| (year.latitude_deg, year.longitude_deg);
    let mut others = years
        .iter()
        .enumerate()
        .filter(|(other, _)| *other != index);
    let near =
        others.find(|(_, other)| distance_km(place(here), place(&other.year)) < SAME_PLACE_KM);
    match near {
        Some((_, other)) => other.days.clone(),
        None => years[index]
            .days
            .without(day + 365 - UNSEEN.0, UNSEEN.0 + UNSEEN.1),
    }
}

/// Asks on one day, and sees what becomes of it.
fn cases(years: &[Year], index: usize, day: usize, options: &Options) -> Result<Vec<Case>> {
    let year = &years[index];
    let mut studio = studio::studio(&year.year)?;
    studio.promises.weathers = options.weathers;
    let spread = &mut studio.promises.year_spread;
    *spread = options.year_spread.unwrap_or(*spread);
    let ship = &mut studio.planning.ship;
    *ship = options.ship.unwrap_or(*ship);
    let second_go = &mut studio.planning.second_go;
    *second_go = options.second_go.unwrap_or(*second_go);
    let first = NaiveDate::from_ymd_opt(2025, 1, 1).expect("the first of January");
    let today = first + DayCount::new(day as u64);
    let climate = climate(years, index, day_of_year(today));
    let seed = (index * 1000 + day) as u64;
    // The same few hundred weathers for each question would err all the same way.
    studio.promises.seed = seed as u32;
    let load = studio::load(&mut SmallRng::seed_from_u64(seed), today);
    let site = Site::new(&studio.place, &studio.stand);
    let observer = Observer::at_place(&studio.place);
    let duller = sky::duller(&year.days, options.duller);
    let days = duller.as_ref().unwrap_or(&year.days);
    let truth = Truth::new(days, observer, today, seed);
    let mut cases = Vec::new();
    let ways = [Forecaster::Ranks, Forecaster::Days];
    let ways = &ways[..if options.only_ranks { 1 } else { 2 }];
    for &way in ways {
        let table = &studio.promises.forecast_correlation;
        let forecast = truth.foretold(today, way, table);
        let scene = Scene {
            orders: &load.orders,
            studio: &studio,
            site: &site,
            forecast: Some(&forecast),
            climate: &climate,
            now: today.and_hms_opt(8, 0, 0).expect("eight o'clock is there"),
            dry_factor: 1.0,
        };
        let dates = honest_dates(&scene, &load.asked);
        for (level, held) in dates.held.iter().enumerate() {
            if options.planner && level == 0 {
                continue;
            }
            let mut case = Case {
                way: match way {
                    Forecaster::Ranks => "ranks",
                    Forecaster::Days => "days",
                },
                season: season(today, year.year.latitude_deg),
                month: (index, today.month()),
                level,
                promised: held.is_some(),
                kept: 0.0,
                rolled: 0.0,
                same_luck: 0.0,
                even: 0.0,
                said: 0.0,
                ahead: 0.0,
                story: None,
            };
            if let Some(held) = held {
                let outcome = Outcome {
                    scene: Scene {
                        climate: days,
                        ..scene
                    },
                    truth: &truth,
                    way,
                    asked: &load.asked,
                    held,
                    seed,
                };
                outcome.tell(&mut case, &year.year, options);
            }
            cases.push(case);
        }
    }
    Ok(cases)
}

/// A promise, and the days as they come.
struct Outcome<'a> {
    scene: Scene<'a>,
    truth: &'a Truth<'a>,
    way: Forecaster,
    asked: &'a Order,
    held: &'a HeldDate,
    seed: u64,
}

impl Outcome<'_> {
    fn tell(&self, case: &mut Case, year: &TypicalYear, options: &Options) {
        let held = self.held;
        let rolled = self.by_rollout();
        let in_time = |left: &Option<NaiveDate>| left.is_some_and(|on| on <= held.leaves_on);
        let share = rolled.iter().filter(|left| in_time(left)).count() as f64;
        case.rolled = share / rolled.len() as f64;
        case.same_luck = f64::from(in_time(&rolled[0]));
        (case.kept, case.even) = (case.rolled, case.rolled);
        if options.planner {
            let story = self.by_planner(year, options.steps);
            case.kept = f64::from(in_time(&story.left));
            case.even = case.kept - case.same_luck + case.rolled;
            let shown = |on: Option<NaiveDate>| on.map_or("never".to_owned(), |on| on.to_string());
            case.story = Some(format!(
                "{:.0} {} asked {}, {} of {}, behind {}: promised {}, rolled {}, left {}: {}",
                held.level * 100.0,
                year.name,
                self.scene.now.date(),
                self.asked.pieces.len(),
                self.asked.pieces[0].material,
                self.scene.orders.len(),
                held.leaves_on,
                shown(rolled[0]),
                shown(story.left),
                story.line()
            ));
        }
        case.said = held.share;
        case.ahead = (held.leaves_on - self.scene.now.date()).num_days() as f64;
    }

    fn orders(&self) -> Vec<Order> {
        let mut orders = self.scene.orders.to_vec();
        orders.push(Order {
            promise: Some(Promise {
                kind: PromiseKind::ShipBy,
                date: self.held.leaves_on,
                essential: false,
            }),
            ..self.asked.clone()
        });
        orders
    }

    fn by_rollout(&self) -> Vec<Option<NaiveDate>> {
        let orders = self.orders();
        let scene = Scene {
            orders: &orders,
            ..self.scene
        };
        let lucks: Vec<Option<u64>> = (0..LUCKS).map(|luck| Some(self.luck(luck))).collect();
        let left = leaves_if_certain(&scene, &lucks);
        left.into_iter()
            .map(|left| *left.last().expect("there are orders"))
            .collect()
    }

    /// Returns the number of a luck with the prints: none of the promise's own weathers.
    fn luck(&self, luck: u64) -> u64 {
        1_000_000 + self.seed * LUCKS + luck
    }

    /// Has the planner work until the order has left, a few days after its date at most.
    fn by_planner(&self, year: &TypicalYear, steps: u64) -> Story {
        let months: Vec<u32> = (1..=12).collect();
        let studio = self.scene.studio;
        let usual = if year.rows.is_empty() {
            Usual::by_latitude(year.latitude_deg, year.longitude_deg)
        } else {
            Usual::of_year(year, &months)
        };
        let orders = self.orders();
        let luck = Luck {
            seed: u64::from(studio.promises.seed),
            number: self.luck(0),
        };
        let shares = remade_under(&self.scene, luck);
        let shares: Vec<f64> = orders
            .iter()
            .map(|order| match order.pieces[0].material.as_str() {
                "lawn" => shares[1],
                _ => shares[0],
            })
            .collect();
        let maker = Maker {
            studio,
            site: self.scene.site,
            usual: &usual,
            truth: self.truth,
            way: self.way,
            steps,
            fails: &|order, piece, tries| luck.of_try(order, piece, tries) < shares[order],
            sunless: std::cell::Cell::new(0),
        };
        let index = orders.len() - 1;
        let today = self.scene.now.date();
        let days = (self.held.leaves_on - today).num_days() + LATEST_DAYS;
        maker.work_on(orders, index, today, days)
    }
}

/// Winter 0 to autumn 3, by the hemisphere.
fn season(day: NaiveDate, latitude_deg: f64) -> usize {
    let month = if latitude_deg < 0.0 {
        day.month() + 6
    } else {
        day.month()
    };
    (month % 12 / 3) as usize
}
