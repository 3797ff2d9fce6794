//! The first page of a week: every day in a line, what to have ready, what is not in time.

use serde::Serialize;

use super::SheetScreen;
use super::measure::week_size;
use super::picture::day_strip;
use super::words::light_words;
use crate::plan::course::{Course, OrderCourse};
use crate::plan::daylight::DayLight;
use crate::plan::week::{Step, What};
use crate::view::coating::grams;
use crate::view::course::{course_word, dates_words};
use crate::view::dates::{amount, count, day, full_day, near_day, time};
use crate::view::page::keep_units;
use crate::view::pieces::size;

/// A week as its template sees it.
#[derive(Debug, Serialize)]
pub(super) struct OverviewData {
    first: String,
    last: String,
    sheets: usize,
    pub(super) days: Vec<StripData>,
    pub(super) stock: Option<String>,
    pub(super) errands: Vec<ErrandLine>,
    /// Whether stocks or errands are to be had ready.
    ready: bool,
    pub(super) in_time: String,
    pub(super) not_in_time: Vec<CourseRow>,
    /// How many more are not in time than the page has room for, in words.
    pub(super) more: Option<String>,
    /// What to mind with the chemicals and the sun.
    care: &'static str,
    /// Size of the lists on paper. [pt]
    lists_pt: String,
}

/// What to mind with the chemicals and the sun.
pub(super) const CARE: &str = "Follow the safety data sheets on your bottles, local codes and a qualified person’s advice. Never heat anything that holds ferricyanide and never bring it near strong acid: it gives off hydrogen cyanide. Gloves and eye protection; no food vessels; a label on every container. Cover skin and eyes from strong sun and from UV lamps. Wash water and left-overs go where your local authority says.";

/// Entries of the lists that a page has room for, set as tightly as can be read.
const ENTRIES_MAX: usize = 32;

/// A day in a line.
#[derive(Debug, Serialize)]
pub(super) struct StripData {
    /// Id of the day's page; none for a day without work.
    page: Option<String>,
    number: String,
    weekday: String,
    pub(super) light: String,
    picture: String,
    pub(super) tasks: Vec<String>,
    idle: Option<&'static str>,
}

/// An order that is not in time.
#[derive(Debug, Serialize)]
pub(super) struct CourseRow {
    pub(super) order: String,
    pub(super) customer: String,
    pub(super) course: &'static str,
    pub(super) dates: String,
}

/// What to make or to order, and on which day.
#[derive(Debug, Serialize)]
pub(super) struct ErrandLine {
    pub(super) day: String,
    pub(super) what: String,
}

/// Describes the days of the sheet, which has so many pages.
pub(super) fn overview(screen: &SheetScreen, sheets: usize) -> OverviewData {
    let today = screen.now.date();
    let date = |light: Option<&DayLight>| full_day(light.map_or(today, |light| light.date));
    let looks = screen.courses.iter().filter(|course| match course.course {
        Course::Late | Course::LeftOut | Course::Held | Course::TooLarge => true,
        Course::OnCourse | Course::Waiting => false,
    });
    let in_time = screen
        .courses
        .iter()
        .filter(|course| course.course == Course::OnCourse)
        .count();
    let mut not_in_time: Vec<CourseRow> = looks.map(|course| course_row(screen, course)).collect();
    let room = ENTRIES_MAX.saturating_sub(screen.errands.len()).max(5);
    let more = not_in_time.len().saturating_sub(room);
    not_in_time.truncate(room);
    let stock = stock_words(screen);
    let mut data = OverviewData {
        ready: stock.is_some() || !screen.errands.is_empty(),
        more: (more > 0).then(|| format!("and {}", count(more, "more order"))),
        first: date(screen.daylight.first()),
        last: date(screen.daylight.last()),
        sheets,
        days: screen
            .daylight
            .iter()
            .map(|light| strip(screen, light))
            .collect(),
        stock,
        errands: screen
            .errands
            .iter()
            .map(|errand| ErrandLine {
                day: near_day(errand.by.date(), today),
                what: keep_units(&errand.what),
            })
            .collect(),
        care: CARE,
        lists_pt: String::new(),
        in_time: format!("{} in time", count(in_time, "order")),
        not_in_time,
    };
    data.lists_pt = week_size(&data, screen.forecast_note, screen.paper);
    data
}

fn course_row(screen: &SheetScreen, course: &OrderCourse) -> CourseRow {
    CourseRow {
        order: screen.orders[course.order].number.clone(),
        customer: screen.orders[course.order].customer.name.clone(),
        course: course_word(course.course).0,
        dates: dates_words(course, screen.now.date()),
    }
}

fn strip(screen: &SheetScreen, light: &DayLight) -> StripData {
    let steps = screen.steps_on(light.date);
    let sky = screen.skies.iter().find(|sky| sky.date == light.date);
    StripData {
        page: (!steps.is_empty()).then(|| format!("day-{}", light.date)),
        number: light.date.format("%-d").to_string(),
        weekday: light.date.format("%A").to_string(),
        light: light_words(screen, light),
        picture: sky
            .map(|sky| day_strip(screen, light, sky))
            .unwrap_or_default(),
        tasks: tasks(steps),
        idle: steps
            .is_empty()
            .then(|| match screen.work_on(light.date).is_empty() {
                true => "day off",
                false => "nothing planned",
            }),
    }
}

/// Says the work of a day in a few words each.
fn tasks(steps: &[Step]) -> Vec<String> {
    let mut tasks = Vec::new();
    for step in steps {
        if let What::Coat(session) = &step.what {
            let pieces: usize = session.coats.iter().map(|coat| size(&coat.batch)).sum();
            let pieces = count(pieces, "piece");
            let (ml, at) = (amount(session.mix.volume_ml), time(session.mixed_at));
            tasks.push(match session.stands {
                true => format!("coat {pieces} with the mix of {at}"),
                false => format!("mix {ml} ml, coat {pieces} from {at}"),
            });
        }
    }
    let rounds = steps
        .iter()
        .filter(|step| matches!(step.what, What::Expose(_)));
    let rounds = rounds.count();
    let pieces = |which: fn(&What) -> Option<usize>| -> usize {
        steps.iter().filter_map(|step| which(&step.what)).sum()
    };
    let exposed = pieces(|what| match what {
        What::Expose(round) => Some(size(&round.batch)),
        _ => None,
    });
    let finished = pieces(|what| match what {
        What::Finish(batch) => Some(size(batch)),
        _ => None,
    });
    if rounds > 0 {
        tasks.push(format!(
            "expose {} in {}",
            count(exposed, "piece"),
            count(rounds, "round")
        ));
    }
    if finished > 0 {
        tasks.push(format!("finish {}", count(finished, "piece")));
    }
    for step in steps {
        if let What::Leave(parcels) = &step.what {
            let pickup = parcels.iter().all(|parcel| parcel.pickup);
            let how = if pickup {
                "for collection from"
            } else {
                "to the carrier at"
            };
            tasks.push(format!(
                "{} {how} {}",
                count(parcels.len(), "order"),
                time(step.from)
            ));
        }
    }
    tasks
}

/// Says how much of each stock the days take, and when the first of it is needed.
fn stock_words(screen: &SheetScreen) -> Option<String> {
    let days = screen.daylight.iter();
    let steps = days.flat_map(|light| screen.steps_on(light.date));
    let sessions: Vec<_> = steps
        .filter_map(|step| match &step.what {
            What::Coat(session) if !session.stands => Some((step.from, &session.mix)),
            _ => None,
        })
        .collect();
    let (first, _) = sessions.first()?;
    let sum = |part: fn(&crate::mix::Mix) -> f64| -> f64 {
        sessions.iter().map(|(_, mix)| part(mix)).sum()
    };
    Some(format!(
        "{} ml of stock A ({} g of its salt) and {} ml of stock B ({} g), the first of it on {} at {}. Stocks want to be made a day ahead.",
        amount(sum(|mix| mix.a_ml)),
        grams(sum(|mix| mix.a_g)),
        amount(sum(|mix| mix.b_ml)),
        grams(sum(|mix| mix.b_g)),
        day(first.date(), screen.now.date()),
        time(*first)
    ))
}
