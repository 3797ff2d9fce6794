//! The week and its days on paper and on a screen: a page with a picture and lists.
//!
//! Values in, one self-contained page of HTML out. The page's form stands in
//! `templates/` (`sheet.….hbs`), each of which a studio may replace; drawings are made
//! here, since no template could. Nothing is planned or written to disk here.

mod day;
mod fit;
mod frame;
mod lists;
mod measure;
mod numbered;
mod overview;
mod picture;
mod svg;
mod width;
mod words;

use std::collections::BTreeMap;

use chrono::{NaiveDate, NaiveDateTime, Timelike};
use serde::Serialize;

use crate::coverage::Coverage;
use crate::keeping::Aged;
use crate::letter::Templates;
use crate::order::Order;
use crate::plan::course::OrderCourse;
use crate::plan::daylight::DayLight;
use crate::plan::grid::Grid;
use crate::plan::racks::RackFill;
use crate::plan::sky::DaySky;
use crate::plan::week::{Step, Week};
use crate::problem::Problem;
use crate::studio::Studio;
use crate::units::{Dose, DoseRate};
use crate::view::dates::{full_day, time};
use crate::view::stock::Errand;

pub use svg::escape;

/// The paper that a sheet is printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// ISO 216, 210 × 297 mm.
    A4,
    /// 8.5 × 11 in.
    Letter,
}

/// Everything that a sheet shows.
#[derive(Debug, Clone, Copy)]
pub struct SheetScreen<'a> {
    /// The studio.
    pub studio: &'a Studio,
    /// All orders; indices of the plan point here.
    pub orders: &'a [Order],
    /// The moment the plan is made for.
    pub now: NaiveDateTime,
    /// Whether there is a forecast at all.
    pub has_forecast: bool,
    /// What the plan rests on, in one line.
    pub forecast_note: &'a str,
    /// The steps.
    pub week: &'a Week,
    /// The days shown, ascending, with their light in words.
    pub daylight: &'a [DayLight],
    /// The light and weather of the same days.
    pub skies: &'a [DaySky],
    /// What is on the racks.
    pub racks: &'a [RackFill],
    /// The grid of the plan.
    pub grid: &'a Grid,
    /// How the open orders stand.
    pub courses: &'a [OrderCourse],
    /// Coated pieces that have waited long.
    pub aged: &'a [Aged],
    /// What each material drinks, and what that rests on.
    pub coverage: &'a BTreeMap<String, Coverage>,
    /// What to make and to order.
    pub errands: &'a [Errand],
    /// The dose and the materials that most pieces wait for.
    pub usual: Option<&'a (Dose, Vec<String>)>,
    /// What it is printed on.
    pub paper: Paper,
}

/// A page of HTML as its template sees it.
#[derive(Debug, Serialize)]
struct PageData {
    title: String,
    paper: &'static str,
    studio: String,
    made: String,
    rests_on: String,
    weeks: Vec<overview::OverviewData>,
    days: Vec<day::DayData>,
}

/// Writes the sheet of all days given: an overview, then each day with work on a page.
///
/// # Errors
/// A mistake in a template of the studio's own, with its place.
pub fn render_week(screen: &SheetScreen, templates: &Templates) -> Result<String, Problem> {
    let working: Vec<&DayLight> = screen
        .daylight
        .iter()
        .filter(|light| {
            let errand = |errand: &Errand| errand.by.date() == light.date;
            screen.week.find_day(light.date).is_some() || screen.errands.iter().any(errand)
        })
        .collect();
    let first = screen
        .daylight
        .first()
        .map_or(screen.now.date(), |d| d.date);
    let days = working.iter().enumerate();
    let of = working.len() + 1;
    let data = PageData {
        weeks: vec![overview::overview(screen, of)],
        days: days
            .filter_map(|(index, light)| day::day(screen, light, (index + 2, of)))
            .collect(),
        ..page_data(screen, format!("Week of {}", full_day(first)))
    };
    templates.page("sheet.page", &data)
}

/// Writes the sheet of one day, which must be among the days given.
///
/// # Errors
/// A mistake in a template of the studio's own, with its place.
pub fn render_day(
    screen: &SheetScreen,
    date: NaiveDate,
    templates: &Templates,
) -> Result<String, Problem> {
    let light = screen.daylight.iter().find(|light| light.date == date);
    let data = PageData {
        days: light
            .and_then(|light| day::day(screen, light, (1, 1)))
            .into_iter()
            .collect(),
        ..page_data(screen, full_day(date))
    };
    templates.page("sheet.page", &data)
}

fn page_data(screen: &SheetScreen, title: String) -> PageData {
    PageData {
        title: format!("{title} · {}", screen.studio.name),
        paper: screen.paper.name(),
        studio: screen.studio.name.clone(),
        made: format!("{} {}", screen.now.format("%-d %b"), time(screen.now)),
        rests_on: screen.forecast_note.to_owned(),
        weeks: Vec::new(),
        days: Vec::new(),
    }
}

impl Paper {
    /// Returns its name as style sheets know it.
    pub fn name(self) -> &'static str {
        match self {
            Paper::A4 => "A4",
            Paper::Letter => "letter",
        }
    }
}

impl SheetScreen<'_> {
    /// Returns the steps of a day, by time.
    fn steps_on(&self, date: NaiveDate) -> &[Step] {
        let day = self.week.find_day(date);
        day.map(|day| day.steps.as_slice()).unwrap_or_default()
    }

    /// Returns the stretches of a day in which somebody works, ascending.
    fn work_on(&self, date: NaiveDate) -> Vec<(NaiveDateTime, NaiveDateTime)> {
        if self.studio.days_off.contains(&date) {
            return Vec::new();
        }
        use chrono::Datelike;
        let today = self.studio.work.iter();
        let mut spans: Vec<_> = today
            .filter(|hours| hours.days.contains(&date.weekday()))
            .map(|hours| (date.and_time(hours.from), date.and_time(hours.until)))
            .collect();
        spans.sort_unstable();
        spans
    }

    /// Returns the strongest clear light of all days, for one scale throughout.
    fn rate_max(&self) -> DoseRate {
        let light = self.skies.iter().flat_map(|sky| &sky.light);
        let rates = light.flat_map(|light| [light.clear.0, light.rate.map_or(0.0, |rate| rate.0)]);
        DoseRate(rates.fold(0.0, f64::max))
    }

    /// Returns first and last hour that hold the work and the steps of all days.
    fn hours(&self) -> (u32, u32) {
        let work = self.studio.work.iter();
        let work = work.flat_map(|hours| [(hours.from.hour(), false), (end(hours.until), true)]);
        let steps = self.daylight.iter().flat_map(|day| self.steps_on(day.date));
        let steps =
            steps.flat_map(|step| [(step.from.hour(), false), (end(step.until.time()), true)]);
        let (mut first, mut last) = (7, 19);
        for (hour, is_end) in work.chain(steps) {
            match is_end {
                true => last = last.max(hour),
                false => first = first.min(hour),
            }
        }
        (first.saturating_sub(1), (last + 1).min(24))
    }
}

/// Returns the hour at which everything up to `time` is over.
fn end(time: chrono::NaiveTime) -> u32 {
    time.hour() + u32::from(time.minute() > 0)
}
