//! Every order that is not on course: why, on what evidence, and the one thing to do.

use chrono::{NaiveDate, NaiveDateTime};

use super::course::{COURSE, NUMBER, course_line};
use super::dates::{day, full_day, minutes, near_day, time};
use super::need::{do_words, easiest, in_words, needs_words, pieces_words};
use super::page::{Page, Setting, Tone};
use super::stock::shortage_words;
use super::weather::{RANGE_NOTE, dark_words, range_words, unfit_words};
use crate::order::{LightSource, Order};
use crate::plan::course::Course;
use crate::plan::grid::Grid;
use crate::plan::reason::{Blocked, Evidence, Findings, Limit, NoSun, Reason};
use crate::plan::spread::Spreads;
use crate::plan::starts::Start;
use crate::studio::Studio;
use crate::supply::Outlook;

/// Everything that the screen shows.
#[derive(Debug, Clone, Copy)]
pub struct BlockedScreen<'a> {
    /// The studio.
    pub studio: &'a Studio,
    /// All orders; indices of the findings point here.
    pub orders: &'a [Order],
    /// The moment it is asked.
    pub now: NaiveDateTime,
    /// How far off the minutes of the evidence may be.
    pub spreads: &'a Spreads<'a>,
    /// The grid of the starts in the evidence.
    pub grid: &'a Grid,
    /// What the plan rests on, in one line.
    pub forecast_note: &'a str,
    /// Whether there is a forecast at all.
    pub has_forecast: bool,
    /// What was found.
    pub findings: &'a Findings,
    /// The orders that were asked about; none for all.
    pub only: &'a [String],
    /// What the plan uses of the stock, and what runs out.
    pub outlook: &'a Outlook,
}

/// Writes the list.
pub fn render_blocked(screen: &BlockedScreen, setting: Setting) -> String {
    let mut page = Page::new(setting);
    let today = screen.now.date();
    page.heading(
        &format!(
            "{} · not on course, {}",
            screen.studio.name,
            full_day(today)
        ),
        "",
    );
    page.text(Tone::Quiet, 2, screen.forecast_note);
    let found = screen.findings;
    if found.blocked.is_empty() {
        page.gap();
        page.text(Tone::Good, 2, &fine_words(screen));
    }
    let (weather, other): (Vec<&Blocked>, Vec<&Blocked>) = found
        .blocked
        .iter()
        .partition(|blocked| is_weather(blocked));
    let name = if screen.has_forecast {
        "Blocked by weather"
    } else {
        "Blocked because there is no forecast"
    };
    section(screen, name, &weather, &mut page);
    if weather.iter().any(|blocked| !blocked.evidence.is_empty()) {
        page.text(Tone::Quiet, 2, RANGE_NOTE);
    }
    section(screen, "Blocked by something else", &other, &mut page);
    short(screen, &mut page);
    if screen.has_forecast {
        held_up(screen, &mut page);
    }
    waiting(screen, &mut page);
    page.into_text()
}

/// Says that nothing is late of what was asked about.
fn fine_words(screen: &BlockedScreen) -> String {
    match (screen.only, screen.findings.waiting.is_empty()) {
        ([], true) => "Every order of this plan leaves in time.".to_owned(),
        ([one], _) => format!("Nothing makes {one} late."),
        ([], false) => "No order is late.".to_owned(),
        (some, _) => format!("Nothing makes any of {} late.", some.join(", ")),
    }
}

/// Columns of a day.
const DAY: usize = 12;

/// Orders that will be blocked by something else unless somebody buys it.
fn short(screen: &BlockedScreen, page: &mut Page) {
    let today = screen.now.date();
    let of_the_plan: Vec<_> = screen
        .outlook
        .shortages
        .iter()
        .filter_map(|short| Some((short.on?, short)))
        .collect();
    if of_the_plan.is_empty() {
        return;
    }
    page.gap();
    page.heading("Will run out", "not weather; the plan counts on it");
    for (on, shortage) in of_the_plan {
        let words = shortage_words(shortage, screen.studio, screen.orders, today);
        page.row(
            &[(DAY, Tone::Alarm, &near_day(on, today))],
            Tone::Plain,
            &words,
        );
    }
}

/// Tells whether fair weather alone, or with others, would bring the order in time or
/// sooner.
pub fn is_weather(blocked: &Blocked) -> bool {
    blocked.reasons.iter().any(|reason| match reason {
        Reason::Limits(needed) => needed.limits.contains(&Limit::Weather),
        Reason::Hold { .. }
        | Reason::TooLarge { .. }
        | Reason::Overlooked { .. }
        | Reason::TooShort { .. }
        | Reason::NoSun(_)
        | Reason::NotLookedAt => false,
    })
}

fn section(screen: &BlockedScreen, name: &str, blocked: &[&Blocked], page: &mut Page) {
    if blocked.is_empty() {
        return;
    }
    page.gap();
    page.heading(name, "");
    for blocked in blocked {
        let today = screen.now.date();
        course_line(screen.orders, &blocked.course, today, page);
        reasons(screen, blocked, page);
        if is_weather(blocked) {
            for evidence in &blocked.evidence {
                detail(
                    "light",
                    Tone::Plain,
                    &evidence_words(screen, evidence),
                    page,
                );
            }
        }
        detail("do", Tone::Strong, &action_words(screen, blocked), page);
    }
}

/// Ways out that are shown; the rest is in the JSON.
const WAYS_SHOWN: usize = 3;
/// How what an order needs begins.
const NEEDS: &str = "needs ";

fn reasons(screen: &BlockedScreen, blocked: &Blocked, page: &mut Page) {
    let mut ways = 0;
    for reason in &blocked.reasons {
        let way = matches!(reason, Reason::Limits(_));
        ways += usize::from(way);
        let words = reason_words(screen, blocked, reason);
        if !way || ways == 1 {
            detail("why", Tone::Plain, &words, page);
        } else if ways <= WAYS_SHOWN {
            let words = words.strip_prefix(NEEDS).unwrap_or(&words);
            detail("or", Tone::Plain, words, page);
        }
    }
}

fn detail(label: &str, tone: Tone, text: &str, page: &mut Page) {
    page.row(
        &[(NUMBER, Tone::Plain, ""), (COURSE, Tone::Quiet, label)],
        tone,
        text,
    );
}

/// Tells whether there is any frame for the light of a piece.
fn has_frame(screen: &BlockedScreen, blocked: &Blocked, piece: u32) -> bool {
    let order = &screen.orders[blocked.course.order];
    let piece = order.pieces.iter().find(|other| other.number == piece);
    let mut frames = piece
        .into_iter()
        .flat_map(|p| screen.studio.frames_for(p.light));
    frames.any(|frame| frame.count > 0)
}

/// Says why an order is not on course.
pub fn reason_words(screen: &BlockedScreen, blocked: &Blocked, reason: &Reason) -> String {
    let today = screen.now.date();
    match reason {
        Reason::Hold { piece: None, words } => format!("on hold: {words}"),
        Reason::Hold {
            piece: Some(piece),
            words,
        } => format!("piece {piece} on hold: {words}"),
        Reason::TooLarge { piece } if has_frame(screen, blocked, *piece) => {
            format!("piece {piece} is larger than every frame for its light")
        }
        Reason::TooLarge { piece } => format!("there is no frame for the light of piece {piece}"),
        Reason::Limits(needed) => format!(
            "{NEEDS}{}; then it leaves {}",
            needs_words(needed, screen.studio, today),
            day(needed.then_on, today)
        ),
        Reason::Overlooked { then_on } => format!(
            "nothing stands in its way: a longer search finds a plan in which it leaves {}",
            day(*then_on, today)
        ),
        Reason::TooShort {
            earliest_on,
            from_start,
            proven,
        } => too_short_words(screen, blocked, *earliest_on, *from_start, *proven),
        Reason::NoSun(no_sun) => no_sun_words(no_sun),
        Reason::NotLookedAt => "too many orders are late to look into each of them".to_owned(),
    }
}

fn too_short_words(
    screen: &BlockedScreen,
    blocked: &Blocked,
    earliest_on: Option<NaiveDate>,
    from_start: bool,
    proven: bool,
) -> String {
    let today = screen.now.date();
    let due_on = blocked.course.due_on;
    let too_short = if from_start {
        "the promise was too short from the start".to_owned()
    } else if due_on < today {
        format!("{} is past", day(due_on, today))
    } else {
        "the promise is too short by now".to_owned()
    };
    let rest = match (earliest_on, proven) {
        (Some(earliest), true) => format!(
            "with nothing else to do it leaves {} at the earliest, by the days of work and \
             collection",
            day(earliest, today)
        ),
        (Some(_), false) => "no plan was found that keeps it, whatever is lifted".to_owned(),
        (None, _) => {
            let end = screen.grid.day(screen.grid.horizon() - 1);
            format!("what is left to do does not fit before {}", day(end, today))
        }
    };
    format!("{too_short}: {rest}")
}

/// Says what light the pieces could get: `best window in time: 14 min at 12:40 ...`.
fn evidence_words(screen: &BlockedScreen, evidence: &Evidence) -> String {
    let at = |start: &Start| start_words(screen, evidence.lot, start);
    let next = evidence.next.as_ref().map(|next| {
        let other = if evidence.best.is_some() {
            "later"
        } else {
            "first fit"
        };
        format!("; {other} {}", at(next))
    });
    let against = |start: &Start| {
        let words = start.unfit.as_ref().map(unfit_words).unwrap_or_default();
        format!("{} but {words}", at(start))
    };
    let in_time = match (&evidence.best, &evidence.best_unfit) {
        (Some(best), Some(unfit)) => {
            format!("best window in time {}, not {}", at(best), against(unfit))
        }
        (Some(best), None) => format!("best window in time {}", at(best)),
        (None, Some(unfit)) => format!("no fit window in time, best {}", against(unfit)),
        (None, None) => {
            let by = day(evidence.by, screen.now.date());
            format!("no light in which it could still leave by {by}")
        }
    };
    let pieces = pieces_words(&evidence.pieces);
    format!("{pieces}: {in_time}{}", next.unwrap_or_default())
}

fn start_words(screen: &BlockedScreen, lot: usize, start: &Start) -> String {
    let at = screen.grid.wall(start.slot);
    let day = near_day(at.date(), screen.now.date());
    let range = range_words(start.minutes, screen.spreads.find(lot, start.slot));
    format!("{}{range} at {} {day}", minutes(start.minutes), time(at))
}

/// Says the one thing to do about an order.
pub fn action_words(screen: &BlockedScreen, blocked: &Blocked) -> String {
    if !screen.has_forecast && is_weather(blocked) {
        return "get a forecast: fairday fetch, or save one as studio.yaml names it".to_owned();
    }
    let order = &screen.orders[blocked.course.order];
    match blocked.reasons.first() {
        Some(Reason::Hold { piece, .. }) => {
            let place = piece.map_or_else(|| "its".to_owned(), |piece| format!("piece {piece}'s"));
            format!(
                "when settled, delete {place} `hold:` line in {}",
                order.file
            )
        }
        Some(Reason::TooLarge { piece }) => {
            format!("add a frame to studio.yaml that holds piece {piece}, or agree a smaller size")
        }
        Some(Reason::Limits(_)) => match easiest(blocked) {
            Some(needed) => do_words(screen, blocked.course.order, needed),
            None => tell_words(screen, blocked),
        },
        Some(Reason::Overlooked { .. }) => "plan longer: fairday plan --steps 100000".to_owned(),
        Some(Reason::NoSun(no_sun)) => no_sun_action(screen, blocked, no_sun),
        Some(Reason::NotLookedAt) => format!("ask for it alone: fairday blocked {}", order.number),
        Some(Reason::TooShort { .. }) | None => tell_words(screen, blocked),
    }
}

/// Says which limit keeps the sun from pieces, and from when on it does no more.
pub fn no_sun_words(no_sun: &NoSun) -> String {
    let pieces = pieces_words(&no_sun.pieces);
    let limit = match (no_sun.shortest, &no_sun.dark) {
        (Some(shortest), _) => format!(
            "{pieces}: {} at best, even under a clear sky, and {} are allowed \
             (`weather: {{exposure_max_minutes: {}}}`)",
            minutes(shortest),
            minutes(no_sun.most),
            no_sun.most
        ),
        (None, Some(dark)) => format!(
            "{pieces}: even under a clear sky {}",
            dark_words(dark).unwrap_or_default()
        ),
        (None, None) => format!("{pieces}: no sun in the hours of work of this plan"),
    };
    let first = match no_sun.first_on {
        Some(first) => format!("; the first clear day that would do is {}", full_day(first)),
        None => "; no clear day of the coming year would do".to_owned(),
    };
    limit + &first
}

/// Says what lets pieces be printed that no sun of these days prints.
fn no_sun_action(screen: &BlockedScreen, blocked: &Blocked, no_sun: &NoSun) -> String {
    let number = &screen.orders[blocked.course.order].number;
    let mut ways: Vec<String> = Vec::new();
    if let Some(shortest) = no_sun.shortest {
        let enough = (shortest / 5.0).ceil() * 5.0;
        ways.push(format!(
            "allow {} with `exposure_max_minutes: {enough}`",
            minutes(enough)
        ));
    }
    let mut lamps = screen.studio.frames_for(LightSource::Lamp);
    if lamps.next().is_some() {
        ways.push("agree to print under the lamp (`light: lamp`)".to_owned());
    }
    ways.push(format!("ask for time: fairday notices {number}"));
    ways.join(", or ")
}

/// The letter that the delay calls for.
fn tell_words(screen: &BlockedScreen, blocked: &Blocked) -> String {
    let number = &screen.orders[blocked.course.order].number;
    match blocked.course.days_late() {
        Some(late) if late > 0 => {
            let noun = if late == 1 { "day" } else { "days" };
            format!(
                "ask for {} {noun}: fairday notices {number}",
                in_words(late)
            )
        }
        Some(_) | None => {
            format!("tell the customer that no date can be given: fairday notices {number}")
        }
    }
}

fn held_up(screen: &BlockedScreen, page: &mut Page) {
    if screen.findings.held_up.is_empty() {
        return;
    }
    let today = screen.now.date();
    page.gap();
    page.heading("In time, though slowed by the weather", "");
    for held in &screen.findings.held_up {
        let order = &screen.orders[held.order];
        let text = format!(
            "{} · {}, in fair weather {}",
            order.customer.name,
            day(held.leaves_on, today),
            day(held.fair_on, today)
        );
        page.row(
            &[
                (NUMBER, Tone::Strong, &order.number),
                (COURSE, Tone::Good, "in time"),
            ],
            Tone::Plain,
            &text,
        );
    }
}

fn waiting(screen: &BlockedScreen, page: &mut Page) {
    if screen.findings.waiting.is_empty() {
        return;
    }
    page.gap();
    page.heading("Waiting, not needed in this plan yet", "");
    let today = screen.now.date();
    for course in &screen.findings.waiting {
        debug_assert_eq!(course.course, Course::Waiting);
        course_line(screen.orders, course, today, page);
        if let Some(no_sun) = screen.findings.sunless.get(&course.order) {
            detail("light", Tone::Look, &no_sun_words(no_sun), page);
        }
    }
}
