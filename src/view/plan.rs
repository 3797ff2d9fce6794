//! The plan on a screen: what matters this morning, then day by day what to do.

use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate, NaiveDateTime};

use super::coating::{each_words, grams, learned_words, mix_words};
use super::course::course_line;
use super::dates::{amount, count, day, full_day, minutes, moment, near_day, ranges, time};
use super::going_on::going_on_lines;
use super::page::{Page, Setting, Tone};
use super::pieces::{batch_words, merge, parcel_words, pieces_of, pieces_words, size};
use super::stock::{Errand, errands, shortage_words};
use super::weather::{
    RANGE_NOTE, dark_words, light_minutes, origin_words, range_words, unfit_words, uv_caution,
    uv_short,
};
use crate::coverage::Coverage;
use crate::keeping::{Aged, Keeping};
use crate::light::MinutesRange;
use crate::order::Order;
use crate::plan::bound::Proof;
use crate::plan::course::{Course, OrderCourse};
use crate::plan::daylight::DayLight;
use crate::plan::spread::Spreads;
use crate::plan::under_way::UnderWay;
use crate::plan::week::{Batch, Coat, Day, OrderPieces, Parcel, Round, Session, Step, Week, What};
use crate::problem::Problem;
use crate::spare::{Offer, offers};
use crate::stage::Stage;
use crate::studio::Studio;
use crate::supply::Outlook;

/// Everything that the screen shows.
#[derive(Debug, Clone, Copy)]
pub struct PlanScreen<'a> {
    /// The studio.
    pub studio: &'a Studio,
    /// All orders; indices of the plan point here.
    pub orders: &'a [Order],
    /// The moment the plan is made for.
    pub now: NaiveDateTime,
    /// What the plan rests on, in one line.
    pub forecast_note: &'a str,
    /// The steps.
    pub week: &'a Week,
    /// What goes on at that moment.
    pub under_way: &'a UnderWay,
    /// Light and weather of each day of the plan.
    pub daylight: &'a [DayLight],
    /// How far off the minutes of its rounds may be.
    pub spreads: &'a Spreads<'a>,
    /// How the open orders stand.
    pub courses: &'a [OrderCourse],
    /// Coated pieces that have waited long.
    pub aged: &'a [Aged],
    /// What each material drinks, and what that rests on.
    pub coverage: &'a BTreeMap<String, Coverage>,
    /// What the plan uses of the stock, and what runs out.
    pub outlook: &'a Outlook,
    /// Names of order files that gave no order.
    pub unread: &'a [String],
    /// What is to be mended, in all files.
    pub problems: &'a [Problem],
    /// What is proven about the plan.
    pub proof: &'a Proof,
    /// How many days are shown in full.
    pub days_shown: usize,
}

const TIME: usize = 13;
const VERB: usize = 9;

/// Writes the plan.
pub fn render_plan(screen: &PlanScreen, setting: Setting) -> String {
    let mut page = Page::new(setting);
    let head = format!(
        "{} · plan for {}",
        screen.studio.name,
        full_day(screen.now.date())
    );
    page.heading(&head, &format!("made {}", time(screen.now)));
    page.text(Tone::Quiet, 2, screen.forecast_note);
    let outdoors = |step: &Step| round(step).is_some_and(|round| !round.lamp);
    if screen
        .week
        .days
        .iter()
        .any(|day| day.steps.iter().any(outdoors))
    {
        page.text(Tone::Quiet, 2, RANGE_NOTE);
    }
    let errands = errands(screen.outlook, screen.studio, screen.orders, screen.now);
    this_morning(screen, &errands, &mut page);
    going_on(screen, &mut page);
    cautions(screen, &mut page);
    short(screen, &mut page);
    not_read(screen, &mut page);
    not_on_course(screen, &mut page);
    // Idle days at the end are nobody's news; today and tomorrow always are.
    let last = screen.week.last_day().unwrap_or(screen.now.date());
    let shown =
        |light: &&DayLight| light.date <= last || (light.date - screen.now.date()).num_days() <= 1;
    let days = screen.daylight.iter().take(screen.days_shown);
    for light in days.filter(shown) {
        page.gap();
        day_heading(screen, light, &mut page);
        errand_rows(&errands, light.date, &mut page);
        match screen.week.find_day(light.date) {
            Some(day) => steps(screen, day, &mut page),
            None => page.text(Tone::Quiet, 2, idle_words(screen, light.date)),
        }
    }
    page.into_text()
}

/// What a tired maker wants first: today in a few lines, and what to look at.
fn this_morning(screen: &PlanScreen, errands: &[Errand], page: &mut Page) {
    page.gap();
    let today = screen.week.find_day(screen.now.date());
    let mut lines = today.map(today_lines).unwrap_or_default();
    let due = errands
        .iter()
        .filter(|errand| errand.by.date() == screen.now.date());
    lines.extend(due.map(|errand| errand.what.clone()));
    if lines.is_empty() {
        page.row(
            &[(VERB, Tone::Strong, "Today")],
            Tone::Plain,
            "nothing to do",
        );
    }
    for (index, line) in lines.iter().enumerate() {
        let label = if index == 0 { "Today" } else { "" };
        page.row(&[(VERB, Tone::Strong, label)], Tone::Plain, line);
    }
}

/// What is taken to be under way, since nothing of it is planned anew.
fn going_on(screen: &PlanScreen, page: &mut Page) {
    let lines = going_on_lines(screen.under_way, screen.orders, screen.now);
    for (index, line) in lines.iter().enumerate() {
        let label = if index == 0 { "Going on" } else { "" };
        page.row(&[(VERB, Tone::Strong, label)], Tone::Plain, line);
    }
}

/// What to mind today besides the steps: old coats, strong sun.
fn cautions(screen: &PlanScreen, page: &mut Page) {
    for (order, mut numbers) in unwashed(screen.orders) {
        numbers.retain(|piece| !screen.under_way.washes(order, *piece));
        if numbers.is_empty() {
            continue;
        }
        let text = format!(
            "{order}/{} exposed and not washed: into the water first",
            ranges(&numbers)
        );
        page.row(&[(VERB, Tone::Alarm, "Mind")], Tone::Strong, &text);
    }
    for text in aged_groups(screen.aged) {
        page.row(&[(VERB, Tone::Look, "Mind")], Tone::Plain, &text);
    }
    let today = screen.week.find_day(screen.now.date());
    let mut rounds = today.iter().flat_map(|day| &day.steps).filter_map(round);
    let light = screen.daylight.first().and_then(|light| light.uv_index);
    if let Some(text) = light.and_then(uv_caution)
        && rounds.any(|round| !round.lamp)
    {
        page.row(&[(VERB, Tone::Look, "Mind")], Tone::Plain, &text);
    }
}

/// What runs out before the plan is done; no weather changes that.
fn short(screen: &PlanScreen, page: &mut Page) {
    let today = screen.now.date();
    let of_the_plan = screen.outlook.shortages.iter();
    for shortage in of_the_plan.filter(|shortage| shortage.on.is_some()) {
        let words = shortage_words(shortage, screen.studio, screen.orders, today);
        let on = shortage
            .on
            .map_or_else(String::new, |on| near_day(on, today));
        let text = format!("not weather: {on} {words}");
        page.row(&[(VERB, Tone::Alarm, "Short")], Tone::Plain, &text);
    }
}

/// What to make or to order on a day, above its steps.
fn errand_rows(errands: &[Errand], date: NaiveDate, page: &mut Page) {
    for errand in errands.iter().filter(|errand| errand.by.date() == date) {
        let by = errand.by_time();
        let text = format!("{}: {}", errand.what, errand.why);
        page.row(
            &[(TIME, Tone::Plain, &by), (VERB, Tone::Look, "prepare")],
            Tone::Plain,
            &text,
        );
    }
}

/// Orders that nobody sees because their files have errors.
fn not_read(screen: &PlanScreen, page: &mut Page) {
    for file in screen.unread {
        let text = format!("could not be read: {file}; its order is not in this plan");
        page.row(&[(VERB, Tone::Alarm, "Mind")], Tone::Strong, &text);
    }
}

/// Says of coated pieces that have waited long how long it was, those alike together.
pub(super) fn aged_groups(aged: &[Aged]) -> Vec<String> {
    let mut groups = Vec::new();
    let mut aged = aged.iter().peekable();
    while let Some(first) = aged.next() {
        let mut numbers = vec![first.piece];
        let alike =
            |next: &&Aged| next.order == first.order && aged_words(next) == aged_words(first);
        while let Some(next) = aged.next_if(|next| alike(next)) {
            numbers.push(next.piece);
        }
        numbers.sort_unstable();
        let pieces = format!("{}/{}", first.order, ranges(&numbers));
        groups.push(format!("{pieces} {}", aged_words(first)));
    }
    groups
}

/// Lists the pieces of open orders that are exposed and still dry.
pub(super) fn unwashed(orders: &[Order]) -> Vec<(&str, Vec<u32>)> {
    let open = orders.iter().filter(|order| !order.is_closed());
    open.map(|order| {
        let pieces = order.pieces.iter();
        let dry = pieces.filter(|piece| piece.progress.stage() == Some(Stage::Washing));
        (
            order.number.as_str(),
            dry.map(|piece| piece.number).collect(),
        )
    })
    .filter(|(_, numbers): &(_, Vec<u32>)| !numbers.is_empty())
    .collect()
}

/// UV index from which skin and eyes want cover.
///
/// # Sources
/// World Health Organization's categories, as given by national weather services:
/// from 3 on, protection is asked for.
pub(super) const UV_ASKS_FOR_COVER: f64 = 2.5;

fn aged_words(aged: &Aged) -> String {
    let days = (aged.age_hours / 24.0).floor();
    let ask = match aged.keeping {
        Keeping::Fresh | Keeping::Ageing => "use it before others",
        Keeping::Old => "look at it before you use it",
        Keeping::NeedsStrip => "make a test strip before you use it",
    };
    format!("was coated {days} days ago: {ask}")
}

fn today_lines(day: &Day) -> Vec<String> {
    let mut lines = Vec::new();
    let steps = &day.steps;
    let rounds: Vec<&Round> = steps.iter().filter_map(round).collect();
    if let (Some(first), Some(last)) = (rounds.first(), rounds.last()) {
        let pieces: usize = rounds.iter().map(|round| size(&round.batch)).sum();
        let span = if rounds.len() == 1 {
            format!("at {}", time(first.light_from))
        } else {
            format!(
                "from {} to {}",
                time(first.light_from),
                time(last.light_from)
            )
        };
        let what = format!(
            "expose {} in {}",
            count(pieces, "piece"),
            count(rounds.len(), "round")
        );
        lines.push(format!("{what}, {span}"));
    }
    for step in steps {
        if let What::Coat(session) = &step.what {
            let pieces: usize = session.coats.iter().map(|coat| size(&coat.batch)).sum();
            let pieces = count(pieces, "piece");
            let (ml, at) = (amount(session.mix.volume_ml), time(session.mixed_at));
            lines.push(match session.stands {
                true => format!("coat {pieces} with the mix of {at}"),
                false => format!("mix {ml} ml and coat {pieces} at {at}"),
            });
        }
    }
    let finish: usize = steps.iter().filter_map(finishing).map(size).sum();
    if finish > 0 {
        lines.push(format!("finish {}", count(finish, "piece")));
    }
    for step in steps {
        if let What::Leave(parcels) = &step.what {
            let pickup = parcels.iter().all(|parcel| parcel.pickup);
            let who = if pickup {
                "ready for collection"
            } else {
                "to the carrier"
            };
            lines.push(format!(
                "{} {who} at {}",
                count(parcels.len(), "order"),
                time(step.from)
            ));
        }
    }
    lines
}

fn round(step: &Step) -> Option<&Round> {
    match &step.what {
        What::Expose(round) => Some(round),
        _ => None,
    }
}

fn finishing(step: &Step) -> Option<&Batch> {
    match &step.what {
        What::Finish(batch) => Some(batch),
        _ => None,
    }
}

fn day_heading(screen: &PlanScreen, light: &DayLight, page: &mut Page) {
    let name = match (light.date - screen.now.date()).num_days() {
        0 => format!("Today, {}", day(light.date, screen.now.date())),
        1 => format!("Tomorrow, {}", day(light.date, screen.now.date())),
        _ => day(light.date, screen.now.date()),
    };
    page.heading(&name, &light_words(light));
}

/// Says what the sky offers on a day in a few words.
fn light_words(light: &DayLight) -> String {
    let mut words = Vec::new();
    match (&light.best, &light.against) {
        (Some((at, value)), _) => {
            let spans: Vec<String> = light
                .windows
                .iter()
                .map(|(from, until)| format!("{}–{}", time(*from), time(*until)))
                .collect();
            let spans = match spans.len() {
                0..=2 => spans.join(", "),
                _ => format!("{} and {} more", spans[..2].join(", "), spans.len() - 2),
            };
            words.push(format!(
                "light {spans}, best {} at {}",
                light_minutes(*value, light.quality),
                time(*at)
            ));
        }
        (None, Some(against)) => words.push(format!("no light: {}", unfit_words(against))),
        (None, None) => {
            let dark = light.dark.as_ref().and_then(dark_words);
            words.extend(dark.map(|dark| format!("no light: {dark}")));
        }
    }
    words.extend(origin_words(light.origin).map(str::to_owned));
    words.extend(uv_short(light.uv_index));
    words.join(" · ")
}

fn idle_words(screen: &PlanScreen, date: NaiveDate) -> &'static str {
    if is_day_off(screen.studio, date) {
        "day off"
    } else {
        "nothing planned"
    }
}

fn is_day_off(studio: &Studio, date: NaiveDate) -> bool {
    let works = studio
        .work
        .iter()
        .any(|hours| hours.days.contains(&date.weekday()));
    !works || studio.days_off.contains(&date)
}

/// A row of a day: when, what kind of work, what exactly.
struct Row {
    from: NaiveDateTime,
    until: NaiveDateTime,
    verb: &'static str,
    tone: Tone,
    lines: Vec<String>,
}

fn steps(screen: &PlanScreen, day: &Day, page: &mut Page) {
    let mut rows = Vec::new();
    let mut index = 0;
    while let Some(step) = day.steps.get(index) {
        let mut same = 1;
        while let Some(next) = day.steps.get(index + same)
            && joins(step, next)
            && next.from == day.steps[index + same - 1].until
        {
            same += 1;
        }
        rows.extend(rows_of(screen, &day.steps[index..index + same]));
        index += same;
    }
    // Other work may lie between the coats of a session.
    rows.sort_by_key(|row| row.from);
    for row in &rows {
        add_row(row, page);
    }
}

/// Tells whether two steps that follow each other without a pause are told in one row.
///
/// Washes are not: each wet print has its own moment to come off the rack.
fn joins(first: &Step, next: &Step) -> bool {
    matches!(
        (&first.what, &next.what),
        (What::Finish(_), What::Finish(_)) | (What::Pack(_), What::Pack(_))
    )
}

fn rows_of(screen: &PlanScreen, steps: &[Step]) -> Vec<Row> {
    let (verb, tone, lines) = match &steps[0].what {
        What::Coat(session) => return session_rows(screen, &steps[0], session),
        What::Expose(round) => ("expose", Tone::Good, vec![round_words(screen, round)]),
        What::Wash(_) => ("wash", Tone::Plain, vec![wash_words(screen, steps)]),
        What::Finish(_) => ("finish", Tone::Plain, vec![batches_words(screen, steps)]),
        What::Pack(_) => ("pack", Tone::Plain, vec![parcels_words(screen, steps)]),
        What::Leave(parcels) => leave_words(screen, parcels),
    };
    let from = steps[0].from;
    vec![Row {
        from,
        until: steps.iter().map(|step| step.until).max().unwrap_or(from),
        verb,
        tone,
        lines,
    }]
}

fn add_row(row: &Row, page: &mut Page) {
    let span = if row.from == row.until {
        time(row.from)
    } else {
        format!("{}–{}", time(row.from), moment(row.until, row.from.date()))
    };
    for (index, line) in row.lines.iter().enumerate() {
        let (span, verb) = match index {
            0 => (span.as_str(), row.verb),
            _ => ("", ""),
        };
        page.row(
            &[(TIME, Tone::Plain, span), (VERB, row.tone, verb)],
            Tone::Plain,
            line,
        );
    }
}

/// Tells a session as it goes: the mix, then each lot under the brush at its own time.
fn session_rows(screen: &PlanScreen, step: &Step, session: &Session) -> Vec<Row> {
    let lines = match session.stands {
        true => vec![format!("stands, use by {}", time(session.mix_until))],
        false => mix_lines(screen, session),
    };
    let mixing = Row {
        from: step.from,
        until: session.ready,
        verb: "mix",
        tone: Tone::Plain,
        lines,
    };
    let mut told: Vec<&str> = Vec::new();
    let coats = session.coats.iter().map(|coat| {
        let mut lines = vec![coat_words(screen, coat)];
        let material = coat.batch.material.as_str();
        if !told.contains(&material) {
            told.push(material);
            lines.extend(screen.coverage.get(material).and_then(learned_words));
        }
        Row {
            from: coat.from,
            until: coat.until,
            verb: "coat",
            tone: Tone::Plain,
            lines,
        }
    });
    let coats: Vec<Row> = coats.collect();
    std::iter::once(mixing).chain(coats).collect()
}

fn mix_lines(screen: &PlanScreen, session: &Session) -> Vec<String> {
    let mix = &session.mix;
    let first = session.coats.first().map(|coat| coat.from);
    let stands = first.filter(|first| *first > session.ready);
    let stands = stands.map(|first| format!("first coat at {}, ", time(first)));
    let mut lines = vec![format!(
        "{} ml: {} ml A ({} g) + {} ml B ({} g), {}use by {}",
        amount(mix.volume_ml),
        amount(mix.a_ml),
        grams(mix.a_g),
        amount(mix.b_ml),
        grams(mix.b_g),
        stands.unwrap_or_default(),
        time(session.mix_until),
    )];
    lines.push(mix_words(mix, &screen.studio.sensitizer));
    let offers = offers(session, screen.orders, screen.studio);
    if !offers.is_empty() {
        lines.push(offers_words(screen, &offers));
    }
    lines
}

/// `offer spares: 1 of 2026-030/1-3, 2 of 2026-031`.
fn offers_words(screen: &PlanScreen, offers: &[Offer]) -> String {
    let words = offers.iter().map(|offer| {
        let pieces = pieces_words(screen.orders, std::slice::from_ref(&offer.pieces));
        format!("{} of {pieces}", offer.spares)
    });
    let words: Vec<String> = words.collect();
    format!("offer spares: {}", words.join(", "))
}

fn coat_words(screen: &PlanScreen, coat: &Coat) -> String {
    let what = batch_words(screen.orders, screen.studio, &coat.batch);
    let dry = moment(coat.dry, coat.until.date());
    let material = screen.studio.materials.get(&coat.batch.material);
    let pieces = pieces_of(screen.orders, &coat.batch);
    let each = material.and_then(|material| each_words(pieces, material));
    let each = each.map(|each| format!(", {each}"));
    format!("{what}{} → dark till {dry}", each.unwrap_or_default())
}

fn round_words(screen: &PlanScreen, round: &Round) -> String {
    let frame = if round.of > 1 {
        format!("{} {}", round.frame, round.which)
    } else {
        round.frame.clone()
    };
    let range = range_words(round.minutes, range_of(screen, round));
    let mut words = format!(
        "{frame}, {} from {} · {}",
        match round.lamp {
            true => minutes(round.minutes),
            false => light_minutes(round.minutes, round.quality) + &range,
        },
        time(round.light_from),
        batch_words(screen.orders, screen.studio, &round.batch)
    );
    if round.watch {
        words.push_str(" · stay with it");
    }
    if let Some(origin) = origin_words(round.origin) {
        words.push_str(&format!(" · {origin}"));
    }
    if round.risk_per_mille >= RISK_WORTH_SAYING {
        words.push_str(&format!(
            " · weather risk {} %",
            (round.risk_per_mille + 5) / 10
        ));
    }
    words
}

/// Returns between which minutes a round ends in nine of ten cases; none for a lamp.
pub(super) fn range_of(screen: &PlanScreen, round: &Round) -> Option<MinutesRange> {
    let at = screen.spreads.setup.grid.slot_from(round.light_from);
    screen.spreads.find(round.batch.lot, at)
}

/// Below this the risk is not worth a word. [‰]
const RISK_WORTH_SAYING: i64 = 200;

fn wash_words(screen: &PlanScreen, steps: &[Step]) -> String {
    let free = steps.iter().filter_map(|step| match &step.what {
        What::Wash(batch) => batch.free,
        _ => None,
    });
    let on = steps[0].from.date();
    let free = free
        .max()
        .map(|free| format!(" → wet-dry till {}", moment(free, on)));
    format!(
        "{}{}",
        batches_words(screen, steps),
        free.unwrap_or_default()
    )
}

fn batches_words(screen: &PlanScreen, steps: &[Step]) -> String {
    let mut pieces: Vec<OrderPieces> = Vec::new();
    for step in steps {
        if let What::Wash(batch) | What::Finish(batch) = &step.what {
            merge(&mut pieces, &batch.pieces);
        }
    }
    pieces_words(screen.orders, &pieces)
}

fn parcels_words(screen: &PlanScreen, steps: &[Step]) -> String {
    let words = steps.iter().filter_map(|step| match &step.what {
        What::Pack(parcel) => Some(parcel_words(screen.orders, parcel)),
        _ => None,
    });
    words.collect::<Vec<_>>().join(", ")
}

fn leave_words(screen: &PlanScreen, parcels: &[Parcel]) -> (&'static str, Tone, Vec<String>) {
    let names: Vec<String> = parcels
        .iter()
        .map(|parcel| parcel_words(screen.orders, parcel))
        .collect();
    let verb = if parcels.iter().all(|parcel| parcel.pickup) {
        "ready"
    } else {
        "leaves"
    };
    (verb, Tone::Strong, vec![names.join(", ")])
}

/// Orders that need a look, right below today: nobody scrolls at seven.
fn not_on_course(screen: &PlanScreen, page: &mut Page) {
    let needs_look = |course: &&OrderCourse| match course.course {
        Course::Late | Course::LeftOut | Course::Held | Course::TooLarge => true,
        Course::OnCourse | Course::Waiting => false,
    };
    let courses: Vec<&OrderCourse> = screen.courses.iter().filter(needs_look).collect();
    let count_of = |course| screen.courses.iter().filter(|c| c.course == course).count();
    let waiting = match count_of(Course::Waiting) {
        0 => String::new(),
        waiting => format!(" · {waiting} waiting for a later plan"),
    };
    let others = format!("{} in time{waiting}", count_of(Course::OnCourse));
    if courses.is_empty() {
        if !waiting.is_empty() {
            page.gap();
            page.text(Tone::Quiet, 2, &others);
        }
        return;
    }
    page.gap();
    page.heading("Not in time", &format!("why: fairday blocked · {others}"));
    for course in courses {
        course_line(screen.orders, course, screen.now.date(), page);
    }
    page.text(Tone::Quiet, 2, &proof_words(screen.proof));
}

/// Says how much of the lateness no plan could have avoided.
fn proof_words(proof: &Proof) -> String {
    let days = |number: i64| count(number.max(0) as usize, "late day");
    if proof.late == 0 {
        return "What can be planned is in time.".to_owned();
    }
    if proof.is_most_punctual() {
        return "Proven: no plan for these pieces can be more punctual.".to_owned();
    }
    match proof.bound.late.max(0) {
        0 => format!(
            "Not proven to be the best: a plan with less than {}, counted by weight, may exist.",
            days(proof.late)
        ),
        least => format!(
            "Proven: of {}, counted by weight, {least} cannot be avoided by any plan.",
            days(proof.late)
        ),
    }
}
