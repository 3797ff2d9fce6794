//! Dates that hold, on a screen: for an order not yet taken, and for all that are.

use chrono::{NaiveDate, NaiveDateTime};

use super::course::NUMBER;
use super::dates::{count, day, full_day};
use super::page::{Page, Setting, Tone};
use crate::letter::verb;
use crate::odds::{DayShare, HonestDates, LEVELS, OrderChance, SAFE, first_with};
use crate::order::{Delivery, Order, PromiseKind};
use crate::studio::Studio;

/// What dates are drawn from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GroundNote {
    /// The forecast's credit; none without a forecast.
    pub credit: Option<String>,
    /// The last day that it reaches.
    pub forecast_until: Option<NaiveDate>,
    /// Where the days of the climate come from.
    pub climate: String,
    /// They are made up by latitude.
    pub is_rough: bool,
}

/// Everything that the screen of a new order shows.
#[derive(Debug, Clone, Copy)]
pub struct PromiseScreen<'a> {
    /// The studio.
    pub studio: &'a Studio,
    /// The orders it has already.
    pub orders: &'a [Order],
    /// The order that is asked about.
    pub order: &'a Order,
    /// The moment it is asked.
    pub now: NaiveDateTime,
    /// What the dates rest on.
    pub ground: &'a GroundNote,
    /// The dates.
    pub dates: &'a HonestDates,
    /// Days that one could promise.
    pub days: &'a [DayShare],
}

/// Everything that the screen of all open orders shows.
#[derive(Debug, Clone, Copy)]
pub struct RiskScreen<'a> {
    /// The studio.
    pub studio: &'a Studio,
    /// All orders; indices of the chances point here.
    pub orders: &'a [Order],
    /// The moment it is asked.
    pub now: NaiveDateTime,
    /// What the chances rest on.
    pub ground: &'a GroundNote,
    /// The open orders, the least sure first.
    pub chances: &'a [OrderChance],
    /// The order that most wants looking after.
    pub most_at_risk: Option<usize>,
}

/// What dates count on.
const BEGIN_WORDS: &str = "They count on work by each morning's plan; a print that fails begins \
                           again the morning after.";

/// Column of a day, at least. [characters]
const DAY: usize = 12;

/// Column of a chance. [characters]
const CHANCE: usize = 12;

/// Writes the dates of an order that is not taken yet.
pub fn render_promise(screen: &PromiseScreen, setting: Setting) -> String {
    let mut page = Page::new(setting);
    let today = screen.now.date();
    page.heading(
        &format!(
            "{} · dates that hold, {}",
            screen.studio.name,
            full_day(today)
        ),
        "",
    );
    page.text(Tone::Plain, 2, &subject_words(screen.order, screen.studio));
    page.text(Tone::Quiet, 2, &load_words(screen));
    page.gap();
    if !screen.dates.can_leave {
        let words = format!("No date: {}.", stopped_words(screen.order));
        page.text(Tone::Alarm, 2, &words);
        return page.into_text();
    }
    page.text(Tone::Quiet, 2, day_kind(screen.order));
    let labels = screen.days.iter().map(|shown| day(shown.leaves_on, today));
    let column = labels.map(|label| label.chars().count() + 2).max();
    let column = column.unwrap_or(0).max(DAY);
    for shown in screen.days {
        let label = day(shown.leaves_on, today);
        let tone = match shown.share {
            share if share >= SAFE => Tone::Good,
            _ => Tone::Plain,
        };
        page.row(
            &[(column, Tone::Strong, &label)],
            tone,
            &held_words(shown, screen),
        );
    }
    if let Some(words) = beyond_words(screen) {
        page.text(Tone::Alarm, 2, &words);
    }
    page.gap();
    page.text(Tone::Plain, 2, &advice_words(screen));
    page.text(Tone::Plain, 2, BEGIN_WORDS);
    if let Some(words) = own_words(screen) {
        page.text(Tone::Look, 2, &words);
    }
    for crowded in &screen.dates.crowded {
        let order = &screen.orders[crowded.order];
        let promised = screen.dates.crowded_by.map_or(String::new(), |by| {
            format!("With {} promised, ", day(by, today))
        });
        let words = format!(
            "{promised}{} ({}) would be on time in {} instead of {} of 100 weathers.",
            order.number,
            order.customer.name,
            hundred(crowded.after),
            hundred(crowded.before)
        );
        page.text(Tone::Look, 2, &words);
    }
    page.gap();
    page.text(
        Tone::Quiet,
        2,
        &ground_words(screen.ground, screen.dates.weathers, today),
    );
    page.into_text()
}

/// Writes how sure all open orders are.
pub fn render_risk(screen: &RiskScreen, setting: Setting) -> String {
    let mut page = Page::new(setting);
    let today = screen.now.date();
    page.heading(
        &format!(
            "{} · how sure are the dates, {}",
            screen.studio.name,
            full_day(today)
        ),
        "",
    );
    page.text(Tone::Plain, 2, &worst_words(screen));
    page.gap();
    if screen.chances.is_empty() {
        page.text(Tone::Quiet, 2, "There is no open order.");
    }
    for chance in screen.chances {
        let order = &screen.orders[chance.order];
        let (tone, share) = chance_words(chance);
        page.row(
            &[
                (NUMBER, Tone::Strong, &order.number),
                (CHANCE, tone, &share),
            ],
            Tone::Plain,
            &format!(
                "{} · {}",
                order.customer.name,
                leaves_words(chance, order, today)
            ),
        );
    }
    page.gap();
    let weathers = screen.studio.promises.weathers;
    page.text(
        Tone::Quiet,
        2,
        &ground_words(screen.ground, weathers, today),
    );
    page.into_text()
}

/// Says what is asked about: `2 prints A4 on cotton rag, 300 g, for home`.
pub fn subject_words(order: &Order, studio: &Studio) -> String {
    let mut kinds: Vec<(String, usize)> = Vec::new();
    for piece in &order.pieces {
        let material = studio.materials.get(&piece.material);
        let material = material.map_or(piece.material.as_str(), |known| known.name.as_str());
        let kind = format!("{} on {material}", piece.size);
        match kinds.iter_mut().find(|(known, _)| *known == kind) {
            Some((_, count)) => *count += 1,
            None => kinds.push((kind, 1)),
        }
    }
    let kinds: Vec<String> = kinds
        .into_iter()
        .map(|(kind, number)| format!("{} {kind}", count(number, "print")))
        .collect();
    let to = match &order.delivery {
        Delivery::Pickup => ", to be picked up".to_owned(),
        Delivery::Carrier { destination } if destination.is_empty() => String::new(),
        Delivery::Carrier { destination } => format!(", for {destination}"),
    };
    format!("{}{to}", kinds.join("; "))
}

fn load_words(screen: &PromiseScreen) -> String {
    let open = screen
        .orders
        .iter()
        .filter(|order| !order.is_closed())
        .count();
    format!(
        "Behind {} with their present dates.",
        count(open, "open order")
    )
}

/// Says what happens by the days: `Ready by`, `Leaves by`.
fn day_kind(order: &Order) -> &'static str {
    match order.delivery {
        Delivery::Pickup => "Ready by; the days nearest to 50, 80 and 95 of 100 are marked:",
        Delivery::Carrier { .. } => {
            "Leaves by; the days nearest to 50, 80 and 95 of 100 are marked:"
        }
    }
}

fn held_words(shown: &DayShare, screen: &PromiseScreen) -> String {
    let today = screen.now.date();
    let mut words = format!("holds in {} of 100", hundred(shown.share));
    if let Delivery::Carrier { destination } = &screen.order.delivery
        && !destination.is_empty()
    {
        let arrives = day(shown.arrives_on, today);
        words += &format!(" · arrives by {arrives}");
    }
    let levels: Vec<String> = LEVELS
        .iter()
        .filter(|&&level| nearest(screen.days, level) == Some(shown))
        .map(|level| format!("{:.0}", level * 100.0))
        .collect();
    if !levels.is_empty() {
        words += &format!(" · nearest to {}", levels.join(", "));
    }
    words
}

/// Returns the day whose share, as it is shown, comes nearest to `level`; the later of
/// two alike.
fn nearest(days: &[DayShare], level: f64) -> Option<&DayShare> {
    let away = |day: &DayShare| (whole_hundred(day.share) - 100.0 * level).abs();
    days.iter().rev().min_by(|a, b| away(a).total_cmp(&away(b)))
}

/// Names the levels that no day reaches within the days that were looked at.
fn beyond_words(screen: &PromiseScreen) -> Option<String> {
    let held = LEVELS.iter().zip(&screen.dates.held);
    let levels = held.filter(|(_, held)| held.is_none());
    let levels: Vec<String> = levels
        .map(|(level, _)| format!("{:.0}", level * 100.0))
        .collect();
    let until = day(screen.dates.until, screen.now.date());
    (!levels.is_empty()).then(|| {
        format!(
            "No day until {until} holds in {} of 100 weathers.",
            levels.join(" or ")
        )
    })
}

fn advice_words(screen: &PromiseScreen) -> String {
    let today = screen.now.date();
    let named = |shown: &DayShare| day(promise_day(shown, screen.order), today);
    let (safe, likely) = (
        first_with(screen.days, SAFE),
        first_with(screen.days, LEVELS[1]),
    );
    match (safe, likely) {
        (Some(safe), _) => format!(
            "Promise {} or later: it is the first day that holds in at least 95 of 100 weathers; \
             an earlier one breaks more than once in twenty times.",
            named(safe)
        ),
        (None, Some(likely)) => format!(
            "Promise no day as sure; {} holds in {} of 100 weathers.",
            named(likely),
            hundred(likely.share)
        ),
        (None, None) => "Promise no day: the weather of this season does not bear one.".to_owned(),
    }
}

/// The day that a promise of the usual kind would name.
fn promise_day(shown: &DayShare, order: &Order) -> NaiveDate {
    match order.promise.map(|promise| promise.kind) {
        Some(PromiseKind::DeliverBy) => shown.arrives_on,
        Some(PromiseKind::ShipBy) | None => shown.leaves_on,
    }
}

fn own_words(screen: &PromiseScreen) -> Option<String> {
    let (promise, share) = (screen.order.promise?, screen.dates.own?);
    let verb = verb(&screen.order.delivery, promise.kind);
    Some(format!(
        "The date in the file, {verb} {}, holds in {} of 100 weathers.",
        day(promise.date, screen.now.date()),
        hundred(share)
    ))
}

fn worst_words(screen: &RiskScreen) -> String {
    let lost = screen
        .chances
        .iter()
        .filter(|chance| chance.on_time == Some(0.0))
        .count();
    let lost = match lost {
        0 => String::new(),
        1 => " One is late in every weather.".to_owned(),
        many => format!(" {many} are late in every weather."),
    };
    let Some(worst) = screen.most_at_risk else {
        return format!("No order is in doubt for the weather or a remake.{lost}");
    };
    let order = &screen.orders[worst];
    let chance = screen.chances.iter().find(|chance| chance.order == worst);
    let share = chance.and_then(|chance| chance.on_time).unwrap_or(0.0);
    format!(
        "Most at risk: {} ({}), on time in {} of 100 weathers.{lost}",
        order.number,
        order.customer.name,
        hundred(share)
    )
}

fn chance_words(chance: &OrderChance) -> (Tone, String) {
    let Some(share) = chance.on_time else {
        return (Tone::Look, "cannot go".to_owned());
    };
    let tone = match share {
        share if share >= 0.95 => Tone::Good,
        share if share >= 0.50 => Tone::Look,
        _ => Tone::Alarm,
    };
    (tone, format!("{} in 100", hundred(share)))
}

/// Says what keeps an order from leaving at all.
fn stopped_words(order: &Order) -> &'static str {
    let pieces_held = order.pieces.iter().any(|piece| piece.hold.is_some());
    match (order.hold.is_some(), pieces_held) {
        (true, _) => "it is on hold",
        (false, true) => "a piece of it is on hold",
        (false, false) => "a piece of it fits no frame of the studio",
    }
}

fn leaves_words(chance: &OrderChance, order: &Order, today: NaiveDate) -> String {
    let due = day(chance.due_on, today);
    if chance.on_time.is_none() {
        return format!("due {due}; {}", stopped_words(order));
    }
    let verb = verb(&order.delivery, PromiseKind::ShipBy);
    let by = |level: usize| chance.leaves_by[level].map(|date| day(date, today));
    match (by(0), by(2)) {
        (Some(half), Some(most)) if half == most => format!("due {due}; {verb} {half}"),
        (Some(half), Some(most)) => format!("due {due}; {verb} {half}, at worst {most}"),
        (Some(half), None) => format!("due {due}; {verb} {half}, no limit found"),
        (None, _) => format!("due {due}; more often than not it does not leave at all"),
    }
}

/// Says a share as whole weathers in a hundred, never more than there are.
pub fn hundred(share: f64) -> String {
    let whole = whole_hundred(share);
    if share > 0.0 && whole < 1.0 {
        "<1".to_owned()
    } else {
        format!("{whole}")
    }
}

fn whole_hundred(share: f64) -> f64 {
    // A hair below a whole weather is rounding.
    (share * 100.0 + 1e-9).floor()
}

/// Says what the figures rest on, and how far to trust them.
pub fn ground_words(ground: &GroundNote, weathers: u32, today: NaiveDate) -> String {
    let forecast = match (&ground.credit, ground.forecast_until) {
        (Some(credit), Some(until)) => format!(
            "{credit}, reaches to {}, taken with its usual errors; then {}.",
            day(until, today),
            ground.climate
        ),
        _ => format!("No forecast: from today on {}.", ground.climate),
    };
    let rough = if ground.is_rough {
        " So these dates are rough: name a typical year of the place, `climate: {file: …}` \
         in studio.yaml."
    } else {
        ""
    };
    format!(
        "Drawn from {weathers} weathers, remakes included. {forecast}{rough} How forecasts err \
         is an assumption (`promises` in studio.yaml). Illness, lost post and a wrong dose are \
         not in it."
    )
}
