//! What is not on course as JSON, `fairday-blocked/1`.

use chrono::NaiveDate;
use serde::Serialize;

use super::plan::OrderJson;
use super::{ShortJson, Wall, plain, rounded, short_json, tenth};
use crate::plan::dark::Dark;
use crate::plan::reason::{Blocked, Evidence, Lift, Limit, NoSun, Reason};
use crate::plan::starts::Start;
use crate::view::blocked::{BlockedScreen, action_words, is_weather, no_sun_words, reason_words};
use crate::window::Unfit;

/// The whole answer.
#[derive(Debug, Serialize)]
pub struct BlockedJson {
    format: &'static str,
    studio: String,
    now: Wall,
    forecast: String,
    blocked: Vec<EntryJson>,
    held_up_by_weather: Vec<HeldUpJson>,
    waiting: Vec<OrderJson>,
    sunless: Vec<SunlessJson>,
    #[serde(flatten)]
    short: ShortJson,
}

/// An order that waits, and that no sky of these days prints.
#[derive(Debug, Serialize)]
struct SunlessJson {
    order: String,
    #[serde(flatten)]
    facts: FactsJson,
    words: String,
}

#[derive(Debug, Serialize)]
struct EntryJson {
    #[serde(flatten)]
    order: OrderJson,
    by_weather: bool,
    reasons: Vec<ReasonJson>,
    light: Vec<EvidenceJson>,
    action: String,
}

#[derive(Debug, Serialize)]
struct ReasonJson {
    #[serde(flatten)]
    facts: FactsJson,
    words: String,
}

#[derive(Debug, Serialize)]
#[serde(tag = "reason", rename_all = "snake_case")]
enum FactsJson {
    Hold {
        piece: Option<u32>,
    },
    TooLarge {
        piece: u32,
    },
    Limits {
        limits: Vec<Limit>,
        needs: Vec<Lift>,
        then_on: NaiveDate,
        smallest: &'static str,
        lamp: Option<LampJson>,
    },
    Overlooked {
        then_on: NaiveDate,
    },
    TooShort {
        earliest_on: Option<NaiveDate>,
        from_start: bool,
        proven: bool,
    },
    NoSun {
        pieces: Vec<u32>,
        shortest_minutes: Option<f64>,
        most_minutes: f64,
        #[serde(skip_serializing_if = "Option::is_none")]
        dark: Option<Dark>,
        first_on: Option<NaiveDate>,
    },
    NotLookedAt,
}

#[derive(Debug, Serialize)]
struct LampJson {
    pieces: Vec<u32>,
    then_on: NaiveDate,
}

#[derive(Debug, Serialize)]
struct EvidenceJson {
    pieces: Vec<u32>,
    by: NaiveDate,
    best: Option<StartJson>,
    best_unfit: Option<StartJson>,
    next: Option<StartJson>,
}

#[derive(Debug, Serialize)]
struct StartJson {
    at: Wall,
    minutes: f64,
    least_minutes: Option<f64>,
    most_minutes: Option<f64>,
    risk_per_mille: i64,
    #[serde(skip_serializing_if = "Option::is_none")]
    against: Option<Unfit>,
}

#[derive(Debug, Serialize)]
struct HeldUpJson {
    order: String,
    leaves_on: NaiveDate,
    in_fair_weather_on: NaiveDate,
}

/// Says what is not on course for other programs.
pub fn blocked_json(screen: &BlockedScreen) -> BlockedJson {
    let number = |order: usize| screen.orders[order].number.as_str();
    let found = screen.findings;
    BlockedJson {
        format: "fairday-blocked/1",
        studio: screen.studio.name.clone(),
        now: Wall(screen.now),
        forecast: plain(screen.forecast_note),
        blocked: found
            .blocked
            .iter()
            .map(|blocked| entry(screen, blocked))
            .collect(),
        held_up_by_weather: found
            .held_up
            .iter()
            .map(|held| HeldUpJson {
                order: number(held.order).to_owned(),
                leaves_on: held.leaves_on,
                in_fair_weather_on: held.fair_on,
            })
            .collect(),
        waiting: found
            .waiting
            .iter()
            .map(|course| OrderJson::new(course, number(course.order)))
            .collect(),
        sunless: found
            .sunless
            .iter()
            .map(|(order, no_sun)| SunlessJson {
                order: number(*order).to_owned(),
                facts: no_sun_facts(no_sun),
                words: plain(&no_sun_words(no_sun)),
            })
            .collect(),
        short: short_json(screen.outlook, screen.studio, screen.orders, screen.now),
    }
}

fn entry(screen: &BlockedScreen, blocked: &Blocked) -> EntryJson {
    let number = &screen.orders[blocked.course.order].number;
    EntryJson {
        order: OrderJson::new(&blocked.course, number),
        by_weather: is_weather(blocked),
        reasons: blocked
            .reasons
            .iter()
            .map(|reason| ReasonJson {
                facts: facts(reason),
                words: plain(&reason_words(screen, blocked, reason)),
            })
            .collect(),
        light: blocked
            .evidence
            .iter()
            .map(|evidence| light(screen, evidence))
            .collect(),
        action: plain(&action_words(screen, blocked)),
    }
}

fn facts(reason: &Reason) -> FactsJson {
    match reason {
        Reason::Hold { piece, .. } => FactsJson::Hold { piece: *piece },
        Reason::TooLarge { piece } => FactsJson::TooLarge { piece: *piece },
        Reason::Limits(needed) => FactsJson::Limits {
            limits: needed.limits.clone(),
            needs: needed.lifts.clone(),
            then_on: needed.then_on,
            smallest: if needed.smallest { "proven" } else { "found" },
            lamp: needed.lamp.as_ref().map(|lamp| LampJson {
                pieces: lamp.pieces.clone(),
                then_on: lamp.then_on,
            }),
        },
        Reason::Overlooked { then_on } => FactsJson::Overlooked { then_on: *then_on },
        Reason::TooShort {
            earliest_on,
            from_start,
            proven,
        } => FactsJson::TooShort {
            earliest_on: *earliest_on,
            from_start: *from_start,
            proven: *proven,
        },
        Reason::NoSun(no_sun) => no_sun_facts(no_sun),
        Reason::NotLookedAt => FactsJson::NotLookedAt,
    }
}

fn no_sun_facts(no_sun: &NoSun) -> FactsJson {
    FactsJson::NoSun {
        pieces: no_sun.pieces.clone(),
        shortest_minutes: no_sun.shortest.map(tenth),
        most_minutes: no_sun.most,
        dark: no_sun.dark,
        first_on: no_sun.first_on,
    }
}

fn light(screen: &BlockedScreen, evidence: &Evidence) -> EvidenceJson {
    let range = |start: &Start| screen.spreads.find(evidence.lot, start.slot);
    let start = |start: &Start| StartJson {
        at: Wall(screen.grid.wall(start.slot)),
        minutes: tenth(start.minutes),
        least_minutes: range(start).map(|range| tenth(range.least)),
        most_minutes: range(start).and_then(|range| range.most).map(tenth),
        risk_per_mille: start.risk,
        against: start.unfit.map(rounded),
    };
    EvidenceJson {
        pieces: evidence.pieces.clone(),
        by: evidence.by,
        best: evidence.best.as_ref().map(start),
        best_unfit: evidence.best_unfit.as_ref().map(start),
        next: evidence.next.as_ref().map(start),
    }
}
