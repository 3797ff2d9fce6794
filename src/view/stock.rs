//! What lies on the shelf, what the plan will use of it, and what to make or buy.

use std::collections::BTreeMap;

use chrono::{NaiveDate, NaiveDateTime};

use super::coating::grams;
use super::dates::{amount, count, day, full_day, moment, near_day, ranges, time};
use super::page::{NO_BREAK, Page, Setting, Tone};
use super::pieces::pieces_words;
use crate::coverage::Coverage;
use crate::keeping::{Coated, Keeping};
use crate::order::Order;
use crate::size::Size;
use crate::stock::{Form, Part};
use crate::studio::Studio;
use crate::supply::{
    BottleState, DayUse, Make, Missing, Outlook, PackingState, SaltState, Shortage, SupplyState,
};
use crate::units::Length;

/// Everything that the screen shows.
#[derive(Debug, Clone, Copy)]
pub struct StockScreen<'a> {
    /// The studio.
    pub studio: &'a Studio,
    /// All orders; indices of the outlook point here.
    pub orders: &'a [Order],
    /// The moment it is asked.
    pub now: NaiveDateTime,
    /// Whether there is a `stock.yaml` that could be read.
    pub is_counted: bool,
    /// What was worked out.
    pub outlook: &'a Outlook,
    /// Coated sheets in the dark, the oldest first.
    pub coated: &'a [Coated],
    /// What each material drinks, by its key.
    pub coverage: &'a BTreeMap<String, Coverage>,
}

/// Something to do by a moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Errand {
    /// By when; now where it should have been done already.
    pub by: NaiveDateTime,
    /// Whether any time of that day will do.
    pub any_time: bool,
    /// What it is about, the same whatever the plan does: `make-a`.
    pub key: String,
    /// What to do in a few words: `make 100 ml of stock A`.
    pub what: String,
    /// What it is for, and of what.
    pub why: String,
    /// Whether it is later than it should be.
    pub is_late: bool,
}

const LABEL: usize = 14;

/// Writes the page.
pub fn render_stock(screen: &StockScreen, setting: Setting) -> String {
    let mut page = Page::new(setting);
    let today = screen.now.date();
    page.heading(
        &format!("{} · stock, {}", screen.studio.name, full_day(today)),
        "",
    );
    let rests = match screen.is_counted {
        true => "As counted in stock.yaml, less what the orders' records have used since.",
        false => {
            "Nothing is counted yet. Write down what there is in stock.yaml beside studio.yaml; \
             `fairday new DIR` writes one to begin with. Below is what the plan will use."
        }
    };
    page.text(Tone::Quiet, 2, rests);
    short(screen, &mut page);
    errands_section(screen, &mut page);
    supplies(screen, &mut page);
    solutions(screen, &mut page);
    drinks(screen, &mut page);
    coated(screen, &mut page);
    packing(screen, &mut page);
    days(screen, &mut page);
    page.into_text()
}

fn short(screen: &StockScreen, page: &mut Page) {
    let shortages = &screen.outlook.shortages;
    if shortages.is_empty() {
        return;
    }
    page.gap();
    page.heading(
        "Runs out",
        "the plan counts on it; nothing of this is weather",
    );
    for shortage in shortages {
        let when = match shortage.on {
            Some(on) => near_day(on, screen.now.date()),
            None => "later".to_owned(),
        };
        let tone = match shortage.on {
            Some(_) => Tone::Alarm,
            None => Tone::Look,
        };
        let words = shortage_words(shortage, screen.studio, screen.orders, screen.now.date());
        page.row(&[(LABEL, tone, &when)], Tone::Plain, &words);
    }
}

fn errands_section(screen: &StockScreen, page: &mut Page) {
    let errands = errands(screen.outlook, screen.studio, screen.orders, screen.now);
    if errands.is_empty() {
        return;
    }
    page.gap();
    page.heading("To do", "");
    for errand in &errands {
        let by = errand_by(errand, screen.now.date());
        let tone = if errand.is_late {
            Tone::Alarm
        } else {
            Tone::Strong
        };
        let words = format!("{}: {}", errand.what, errand.why);
        page.row(&[(LABEL, tone, &by)], Tone::Plain, &words);
    }
}

fn errand_by(errand: &Errand, today: NaiveDate) -> String {
    match (errand.is_late, near_day(errand.by.date(), today).as_str()) {
        (true, _) => "now".to_owned(),
        (false, near @ ("today" | "tomorrow")) => near.to_owned(),
        (false, day) => format!("by {day}"),
    }
}

impl Errand {
    /// Returns by when of its day: `now`, `by 08:20`, or nothing for any time.
    pub fn by_time(&self) -> String {
        match (self.is_late, self.any_time) {
            (true, _) => "now".to_owned(),
            (false, true) => String::new(),
            (false, false) => format!("by {}", time(self.by)),
        }
    }
}

fn supplies(screen: &StockScreen, page: &mut Page) {
    let outlook = screen.outlook;
    if outlook.supplies.is_empty() && outlook.uncounted.is_empty() {
        return;
    }
    page.gap();
    page.heading("Paper and cloth", "");
    let mut last = "";
    for state in &outlook.supplies {
        let key = state.supply.material.as_str();
        let name = if key == last { "" } else { key };
        last = key;
        let words = supply_words(state, screen.now.date());
        let tone = match state.left_then {
            0 => Tone::Look,
            _ => Tone::Plain,
        };
        page.row(&[(LABEL, Tone::Strong, name)], tone, &words);
    }
    for key in &outlook.uncounted {
        page.row(
            &[(LABEL, Tone::Strong, key)],
            Tone::Quiet,
            "not counted in stock.yaml",
        );
    }
}

fn supply_words(state: &SupplyState, today: NaiveDate) -> String {
    let supply = &state.supply;
    let (what, left, then) = match supply.form {
        Form::Sheets { size, .. } => (
            size.to_string(),
            count(state.left_now as usize, "sheet"),
            state.left_then.to_string(),
        ),
        Form::Roll { width, .. } => (
            format!("{} cm wide", amount(width.mm() / 10.0)),
            format!("{} cm", centimetres(state.left_now)),
            format!("{} cm", centimetres(state.left_then)),
        ),
    };
    let mut words = match supply.ordered {
        true => format!("{what}: comes {}", day(supply.from.date(), today)),
        false => format!("{what}: {left} left"),
    };
    if state.planned > 0 {
        let pieces = count(state.planned as usize, "piece");
        words.push_str(&format!(", {then} after the {pieces} of the plan"));
    }
    if let Some(at) = state.empty_at {
        words.push_str(&format!("; the last goes {}", near_day(at.date(), today)));
    }
    if let Some(batch) = &supply.batch {
        words.push_str(&format!(" · batch {batch}"));
    }
    if state.overdrawn > 0 {
        words.push_str(&format!(
            " · {} more coated than were there: count again",
            state.overdrawn
        ));
    }
    words
}

fn centimetres(tenths_of_mm: u32) -> String {
    amount((Length(tenths_of_mm).mm() / 10.0).round())
}

fn solutions(screen: &StockScreen, page: &mut Page) {
    let outlook = screen.outlook;
    if outlook.bottles.is_empty() && outlook.salts.is_empty() && outlook.mix.is_none() {
        return;
    }
    page.gap();
    page.heading("Solutions and salts", &screen.studio.sensitizer.name);
    for state in &outlook.bottles {
        let label = format!("stock {}", state.bottle.part.letter());
        let (words, tone) = bottle_words(state, screen.now);
        page.row(&[(LABEL, Tone::Strong, &label)], tone, &words);
    }
    if let Some(mix) = outlook.mix {
        let today = screen.now.date();
        let (words, tone) = match mix.until > screen.now {
            true => (
                format!(
                    "of about {}, use it by {}",
                    moment(mix.since, today),
                    moment(mix.until, today)
                ),
                Tone::Plain,
            ),
            false => (
                format!(
                    "of about {}: past its time since {}, do not coat with it",
                    moment(mix.since, today),
                    moment(mix.until, today)
                ),
                Tone::Look,
            ),
        };
        page.row(&[(LABEL, Tone::Strong, "mix")], tone, &words);
    }
    for state in &outlook.salts {
        let label = format!("salt of {}", state.salt.part.letter());
        page.row(
            &[(LABEL, Tone::Strong, &label)],
            Tone::Plain,
            &salt_words(state),
        );
    }
}

fn bottle_words(state: &BottleState, now: NaiveDateTime) -> (String, Tone) {
    let today = now.date();
    let mut words = format!(
        "{} of {} ml, made {}, {}",
        amount(state.left_now_ml.round()),
        amount(state.bottle.made_ml),
        day(state.bottle.made_at.date(), today),
        age_words(state.age_days)
    );
    let taken = state.left_now_ml - state.left_then_ml;
    if taken >= 0.5 {
        words.push_str(&format!("; the plan takes {} ml", amount(taken.round())));
    }
    let (keeping, tone) = if now > state.keeps_until {
        (
            format!(
                "past its keeping time since {}: throw it out as your local authority says",
                day(state.keeps_until.date(), today)
            ),
            Tone::Alarm,
        )
    } else if now < state.rested_at {
        let from = moment(state.rested_at, today);
        (format!("rests until {from}"), Tone::Look)
    } else {
        let until = day(state.keeps_until.date(), today);
        (format!("keeps till {until}"), Tone::Plain)
    };
    words.push_str(&format!(" · {keeping}"));
    (words, tone)
}

fn age_words(days: i64) -> String {
    match usize::try_from(days).unwrap_or(0) {
        0 => "of today".to_owned(),
        days => format!("{} old", count(days, "day")),
    }
}

fn salt_words(state: &SaltState) -> String {
    let planned = grams(state.planned_g);
    let plan = if state.making_g > 0.0 {
        format!(
            "; {} g go into the stock that is to be made, {} g of it into the plan's mixes; {} g \
             left then",
            grams(state.making_g),
            planned,
            grams((state.left_now_g - state.making_g).max(0.0))
        )
    } else if state.planned_g > 0.0 {
        format!("; the plan takes {planned} g")
    } else {
        String::new()
    };
    let left = grams(state.left_now_g);
    format!("{}: {left} g left{plan}", state.salt.name)
}

/// Says what the mixes reckon with for each material, and what that rests on.
fn drinks(screen: &StockScreen, page: &mut Page) {
    let (measured, others): (Vec<_>, Vec<_>) =
        screen.coverage.iter().partition(|(_, of)| of.sessions > 0);
    if measured.is_empty() && !screen.is_counted {
        return;
    }
    page.gap();
    page.heading("Coating", "ml for each m², first coat");
    for (key, of) in measured {
        let words = format!(
            "{} by {}, in place of the {} of studio.yaml",
            amount(of.ml_per_m2),
            count(of.sessions, "measured session"),
            amount(of.before)
        );
        page.row(&[(LABEL, Tone::Strong, key)], Tone::Plain, &words);
    }
    let set: Vec<String> = others
        .into_iter()
        .map(|(key, of)| format!("{key}{NO_BREAK}{}", amount(of.before)))
        .collect();
    if !set.is_empty() {
        let words = format!(
            "{}; measure with `fairday mark coated ORDER --poured ML --left ML`",
            set.join(", ")
        );
        page.row(&[(LABEL, Tone::Quiet, "not measured")], Tone::Quiet, &words);
    }
}

fn coated(screen: &StockScreen, page: &mut Page) {
    if screen.coated.is_empty() {
        return;
    }
    page.gap();
    page.heading("Coated, in the dark", "");
    let today = screen.now.date();
    let mut rest = screen.coated;
    while let Some(first) = rest.first() {
        let alike = |coat: &&Coated| {
            coat.order == first.order
                && coat.coated_at == first.coated_at
                && coat.keeping == first.keeping
                && coat.best_until == first.best_until
        };
        let length = rest.iter().take_while(alike).count();
        let (own, others) = rest.split_at(length);
        let numbers: Vec<u32> = own.iter().map(|coat| coat.piece).collect();
        let label = format!("{}/{}", first.order, ranges(&numbers));
        let (what, tone) = keeping_words(first, today);
        let words = format!(
            "coated {} {}, {what}",
            day(first.coated_at.date(), today),
            time(first.coated_at)
        );
        page.row(&[(LABEL, Tone::Strong, &label)], tone, &words);
        rest = others;
    }
}

fn keeping_words(coat: &Coated, today: NaiveDate) -> (String, Tone) {
    let until = day(coat.best_until.date(), today);
    match coat.keeping {
        Keeping::Fresh => (format!("best till {until}"), Tone::Plain),
        Keeping::Ageing => (
            format!("was best till {until}: use it before others"),
            Tone::Look,
        ),
        Keeping::Old => ("look at it before you use it".to_owned(), Tone::Look),
        Keeping::NeedsStrip => (
            "make a test strip before you use it".to_owned(),
            Tone::Alarm,
        ),
    }
}

fn packing(screen: &StockScreen, page: &mut Page) {
    let packing = &screen.outlook.packing;
    if packing.is_empty() {
        return;
    }
    page.gap();
    page.heading("Packing", "");
    for state in packing {
        let words = packing_words(state, screen.now.date());
        page.row(
            &[(LABEL, Tone::Strong, &state.packing.name)],
            Tone::Plain,
            &words,
        );
    }
}

fn packing_words(state: &PackingState, today: NaiveDate) -> String {
    let holds = match state.packing.holds {
        Some(size) => format!("up to {size}: "),
        None => String::new(),
    };
    let left = match state.packing.ordered {
        true => format!("comes {}", day(state.packing.counted_at.date(), today)),
        false => format!("{} left", state.left_now),
    };
    match state.left_now == state.left_then {
        true => format!("{holds}{left}"),
        false => format!("{holds}{left}, {} after the plan", state.left_then),
    }
}

fn days(screen: &StockScreen, page: &mut Page) {
    page.gap();
    page.heading("What the plan uses", "");
    if screen.outlook.days.is_empty() {
        page.text(Tone::Quiet, 2, "nothing");
    }
    for used in &screen.outlook.days {
        let label = day(used.date, screen.now.date());
        page.row(
            &[(LABEL, Tone::Strong, &label)],
            Tone::Plain,
            &day_words(used),
        );
    }
}

fn day_words(used: &DayUse) -> String {
    let mut parts: Vec<String> = used
        .materials
        .iter()
        .map(|(key, (pieces, m2))| {
            format!(
                "{} of {key} ({m2:.2}{NO_BREAK}m²)",
                count(*pieces as usize, "piece")
            )
        })
        .collect();
    if used.mix.volume_ml > 0.0 {
        parts.push(format!(
            "{} ml A + {} ml B ({} + {} g)",
            amount(used.mix.a_ml),
            amount(used.mix.b_ml),
            grams(used.mix.a_g),
            grams(used.mix.b_g)
        ));
    }
    if used.parcels > 0 {
        parts.push(count(used.parcels as usize, "parcel"));
    }
    parts.join(", ")
}

/// Says what is missing, for whom, and by when to order it.
pub fn shortage_words(
    shortage: &Shortage,
    studio: &Studio,
    orders: &[Order],
    today: NaiveDate,
) -> String {
    let for_whom = pieces_words(orders, &shortage.pieces);
    let what = match &shortage.what {
        Missing::Material { material, sizes } => {
            let name = studio.materials.get(material);
            let name = name.map_or(material.as_str(), |material| &material.name);
            format!("no {name} left for {}: {for_whom}", sizes_words(sizes))
        }
        Missing::Salt(part) => format!(
            "{} g of the salt of stock {} too little, for {for_whom}",
            grams(shortage.amount),
            part.letter()
        ),
        Missing::Packing => {
            let parcels = count(shortage.amount as usize, "parcel");
            format!("no packing that holds {parcels}: {for_whom}")
        }
    };
    format!("{what}; {}", buying_words(shortage, today))
}

/// `2 × A2, 1 × 11×14 in`.
fn sizes_words(sizes: &[(Size, u32)]) -> String {
    let words = sizes
        .iter()
        .map(|(size, count)| format!("{count}{NO_BREAK}×{NO_BREAK}{size}"));
    words.collect::<Vec<_>>().join(", ")
}

fn buying_words(shortage: &Shortage, today: NaiveDate) -> String {
    let coming = |arrives: NaiveDate| format!("more comes {}", day(arrives, today));
    match (shortage.arrives_on, shortage.buy_by, shortage.on) {
        (Some(arrives), _, Some(on)) if arrives > on => {
            format!("{}, too late for that day", coming(arrives))
        }
        (Some(arrives), _, _) => format!("{}, and that is not enough", coming(arrives)),
        (None, Some(by), _) if by >= today => format!("order it by {}", near_day(by, today)),
        (None, Some(by), _) => format!(
            "order it today, it was due {}; by post it may come too late",
            day(by, today)
        ),
        (None, None, _) => "no day of the plan needs it yet".to_owned(),
    }
}

/// Lists what to make and to order, by its moment.
pub fn errands(
    outlook: &Outlook,
    studio: &Studio,
    orders: &[Order],
    now: NaiveDateTime,
) -> Vec<Errand> {
    let makes = outlook
        .makes
        .iter()
        .map(|make| make_errand(make, outlook, now));
    let buys = outlook.shortages.iter().filter_map(|shortage| {
        let by = shortage.buy_by?;
        let is_late = by < now.date();
        let (key, what) = buy_words(shortage, studio)?;
        Some(Errand {
            by: by.max(now.date()).and_time(now.time()),
            any_time: true,
            key,
            what,
            why: format!(
                "for {}, needed {}",
                pieces_words(orders, &shortage.pieces),
                near_day(shortage.on?, now.date())
            ),
            is_late,
        })
    });
    let mut errands: Vec<Errand> = makes.chain(buys).collect();
    errands.sort_by(|a, b| (a.by, &a.key).cmp(&(b.by, &b.key)));
    errands
}

fn make_errand(make: &Make, outlook: &Outlook, now: NaiveDateTime) -> Errand {
    let letter = make.part.letter();
    let salt = outlook
        .salts
        .iter()
        .find(|state| state.salt.part == make.part);
    let salt = salt.map_or("salt", |state| state.salt.name.as_str());
    let rest = match make.is_late {
        true => "; it should rest a day and will not",
        false => "",
    };
    Errand {
        by: make.make_by,
        any_time: false,
        key: format!("make-{}", letter.to_lowercase()),
        what: format!("make stock {letter}, {} ml", amount(make.ml)),
        why: format!(
            "{} g of {salt} in water up to {} ml; the mix of {} {} lacks {} ml{rest}",
            grams(make.grams),
            amount(make.ml),
            near_day(make.needed_at.date(), now.date()),
            time(make.needed_at),
            amount(make.lacking_ml.ceil()),
        ),
        is_late: make.is_late,
    }
}

fn buy_words(shortage: &Shortage, studio: &Studio) -> Option<(String, String)> {
    if shortage.arrives_on.is_some() {
        return None;
    }
    Some(match &shortage.what {
        Missing::Material { material, sizes } => {
            let name = studio.materials.get(material);
            let name = name.map_or(material.as_str(), |material| &material.name);
            (
                format!("order-{material}"),
                format!("order {name} for {}", sizes_words(sizes)),
            )
        }
        Missing::Salt(part) => (
            format!("order-salt-{}", part_key(*part)),
            format!(
                "order {} g or more of the salt of stock {}",
                grams(shortage.amount),
                part.letter()
            ),
        ),
        Missing::Packing => (
            "order-packing".to_owned(),
            format!(
                "order packing for {}",
                count(shortage.amount as usize, "parcel")
            ),
        ),
    })
}

fn part_key(part: Part) -> &'static str {
    match part {
        Part::A => "a",
        Part::B => "b",
    }
}
