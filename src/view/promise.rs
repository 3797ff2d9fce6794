//! Dates that hold, on a screen: for an order not yet taken, and for all that are.

use chrono::{NaiveDate, NaiveDateTime};

use super::course::NUMBER;
use super::dates::{count, day, full_day};
use super::page::{NO_BREAK, Page, Setting, Tone};
use crate::odds::{HeldDate, HonestDates, LEVELS, OrderChance};
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
        let words = "No date: a piece of it is on hold, or fits no frame of the studio.";
        page.text(Tone::Alarm, 2, words);
        return page.into_text();
    }
    for (level, held) in LEVELS.iter().zip(&screen.dates.held) {
        let label = format!("{:.0}{NO_BREAK}in{NO_BREAK}100", level * 100.0);
        let (tone, words) = match held {
            Some(held) => (Tone::Plain, held_words(held, screen)),
            None => (Tone::Alarm, beyond_words(screen)),
        };
        page.row(&[(CHANCE, Tone::Strong, &label)], tone, &words);
    }
    page.gap();
    page.text(Tone::Plain, 2, &advice_words(screen));
    page.text(Tone::Plain, 2, BEGIN_WORDS);
    if let Some(words) = own_words(screen) {
        page.text(Tone::Look, 2, &words);
    }
    for crowded in &screen.dates.crowded {
        let order = &screen.orders[crowded.order];
        let words = format!(
            "{} ({}) would be on time in {} instead of {} of 100 weathers.",
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
            &format!("{} · {}", order.customer.name, leaves_words(chance, today)),
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

fn held_words(held: &HeldDate, screen: &PromiseScreen) -> String {
    let today = screen.now.date();
    let leaves = day(held.leaves_on, today);
    let arrives = day(held.arrives_on, today);
    let words = match &screen.order.delivery {
        Delivery::Pickup => format!("ready by {leaves}"),
        Delivery::Carrier { destination } if destination.is_empty() => {
            format!("leaves by {leaves}")
        }
        Delivery::Carrier { .. } => format!("leaves by {leaves}, arrives by {arrives}"),
    };
    // A day is whole: what it holds is at least what was asked, often more.
    format!("{words}  (holds in {})", hundred(held.share))
}

fn beyond_words(screen: &PromiseScreen) -> String {
    let until = day(screen.dates.until, screen.now.date());
    format!("no day until {until} holds so often")
}

fn advice_words(screen: &PromiseScreen) -> String {
    let today = screen.now.date();
    match (screen.dates.held.get(1), screen.dates.held.last()) {
        (_, Some(Some(careful))) => format!(
            "Promise {} or later; an earlier day breaks more than once in twenty times.",
            day(promise_day(careful, screen.order), today)
        ),
        (Some(Some(likely)), _) => format!(
            "Promise no day as sure; {} would break about once in five times.",
            day(promise_day(likely, screen.order), today)
        ),
        _ => "Promise no day: the weather of this season does not bear one.".to_owned(),
    }
}

/// The day that a promise of the usual kind would name.
fn promise_day(held: &HeldDate, order: &Order) -> NaiveDate {
    match order.promise.map(|promise| promise.kind) {
        Some(PromiseKind::DeliverBy) => held.arrives_on,
        Some(PromiseKind::ShipBy) | None => held.leaves_on,
    }
}

fn own_words(screen: &PromiseScreen) -> Option<String> {
    let (promise, share) = (screen.order.promise?, screen.dates.own?);
    let verb = match promise.kind {
        PromiseKind::ShipBy => "to leave by",
        PromiseKind::DeliverBy => "to arrive by",
    };
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

fn leaves_words(chance: &OrderChance, today: NaiveDate) -> String {
    let due = day(chance.due_on, today);
    if chance.on_time.is_none() {
        return format!("due {due}; on hold, or a piece fits no frame");
    }
    let by = |level: usize| chance.leaves_by[level].map(|date| day(date, today));
    match (by(0), by(2)) {
        (Some(half), Some(most)) if half == most => format!("due {due}; leaves by {half}"),
        (Some(half), Some(most)) => format!("due {due}; leaves by {half}, at worst {most}"),
        (Some(half), None) => format!("due {due}; leaves by {half}, no limit found"),
        (None, _) => format!("due {due}; more often than not it does not leave at all"),
    }
}

/// Says a share as whole weathers in a hundred, never more than there are.
pub fn hundred(share: f64) -> String {
    // A hair below a whole weather is rounding.
    let whole = (share * 100.0 + 1e-9).floor();
    if share > 0.0 && whole < 1.0 {
        "<1".to_owned()
    } else {
        format!("{whole}")
    }
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
