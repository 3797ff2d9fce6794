//! How fetching the forecast ended as JSON, `fairday-fetch/1`.

use chrono::{DateTime, Utc};
use serde::Serialize;

use super::{ProblemJson, Wall, plain};
use crate::forecast::Forecast;
use crate::forecast::fetch::{Outcome, Refusal};
use crate::problem::Problem;
use crate::studio::{Place, Service};
use crate::view::fetched::refusal_words;

/// What was asked, what came of it, and what lies in the file now.
#[derive(Debug, Clone, Copy)]
pub struct FetchAnswer<'a> {
    /// The service.
    pub service: &'a Service,
    /// Host that was to be asked.
    pub host: &'a str,
    /// File that the forecast is kept in.
    pub file: &'a str,
    /// The studio's place.
    pub place: &'a Place,
    /// The present instant.
    pub now: DateTime<Utc>,
    /// How it ended; or why there was no answer.
    pub outcome: Result<&'a Outcome, &'a str>,
    /// The forecast that is in the file now, if it can be read.
    pub kept: Option<&'a Forecast>,
    /// When that one was fetched; none if it was put there by hand.
    pub fetched_at: Option<DateTime<Utc>>,
}

/// The whole answer.
#[derive(Debug, Serialize)]
pub struct FetchJson {
    format: &'static str,
    now: Wall,
    service: &'static str,
    host: String,
    file: String,
    /// `new`, `unchanged`, `still_holds`, `refused`, `unusable`, `no_answer`.
    outcome: &'static str,
    deprecated: bool,
    status: Option<u16>,
    why: Option<String>,
    ask_again_from: Option<Wall>,
    forecast: Option<KeptJson>,
    problems: Vec<ProblemJson>,
}

#[derive(Debug, Serialize)]
struct KeptJson {
    credit: String,
    issued_at: Option<Wall>,
    fetched_at: Option<Wall>,
    age_hours: Option<i64>,
    hours: usize,
    until: Option<Wall>,
}

/// Says how fetching ended for other programs.
pub fn fetch_json(answer: &FetchAnswer) -> FetchJson {
    let wall = |at: DateTime<Utc>| Wall(at.with_timezone(&answer.place.zone).naive_local());
    let told = told(answer);
    FetchJson {
        format: "fairday-fetch/1",
        now: wall(answer.now),
        service: service_word(answer.service),
        host: answer.host.to_owned(),
        file: answer.file.to_owned(),
        outcome: told.word,
        deprecated: told.deprecated,
        status: told.status,
        why: told.why,
        ask_again_from: told.until.map(wall),
        forecast: answer.kept.map(|forecast| kept(forecast, answer, &wall)),
        problems: told.problems.iter().map(ProblemJson::new).collect(),
    }
}

fn kept(
    forecast: &Forecast,
    answer: &FetchAnswer,
    wall: &dyn Fn(DateTime<Utc>) -> Wall,
) -> KeptJson {
    let made = forecast.issued_at.or(answer.fetched_at);
    KeptJson {
        credit: plain(&forecast.credit),
        issued_at: forecast.issued_at.map(wall),
        fetched_at: answer.fetched_at.map(wall),
        age_hours: made.map(|made| (answer.now - made).num_hours()),
        hours: forecast.hours.len(),
        until: forecast.ends_at().map(wall),
    }
}

/// An outcome by its parts.
struct Told<'a> {
    word: &'static str,
    status: Option<u16>,
    why: Option<String>,
    until: Option<DateTime<Utc>>,
    deprecated: bool,
    problems: &'a [Problem],
}

fn told<'a>(answer: &FetchAnswer<'a>) -> Told<'a> {
    let plainly = |word: &'static str| Told {
        word,
        status: None,
        why: None,
        until: None,
        deprecated: false,
        problems: &[],
    };
    match answer.outcome {
        Err(why) => Told {
            why: Some(plain(why)),
            ..plainly("no_answer")
        },
        Ok(Outcome::StillHolds { until }) => Told {
            until: Some(*until),
            ..plainly("still_holds")
        },
        Ok(Outcome::Unchanged { until }) => Told {
            status: Some(304),
            until: Some(*until),
            ..plainly("unchanged")
        },
        Ok(Outcome::New {
            problems,
            deprecated,
            until,
            ..
        }) => Told {
            status: Some(if *deprecated { 203 } else { 200 }),
            until: Some(*until),
            deprecated: *deprecated,
            problems,
            ..plainly("new")
        },
        Ok(Outcome::Unusable(problems)) => Told {
            problems,
            ..plainly("unusable")
        },
        Ok(Outcome::Refused(refusal)) => {
            let (status, until) = facts(refusal);
            let moment = |at: DateTime<Utc>| {
                let at = at.with_timezone(&answer.place.zone).naive_local();
                at.format("%Y-%m-%dT%H:%M").to_string()
            };
            let (why, _) = refusal_words(refusal, answer.host, answer.service, &moment);
            Told {
                status,
                until,
                why: Some(plain(&why)),
                ..plainly("refused")
            }
        }
    }
}

fn facts(refusal: &Refusal) -> (Option<u16>, Option<DateTime<Utc>>) {
    match refusal {
        Refusal::Forbidden { status, .. } => (Some(*status), None),
        Refusal::NotFound => (Some(404), None),
        Refusal::TooMany { until } => (Some(429), Some(*until)),
        Refusal::OutOfOrder { status, until } => (Some(*status), *until),
        Refusal::Other { status, .. } => (Some(*status), None),
        Refusal::Resting { until } => (None, Some(*until)),
    }
}

fn service_word(service: &Service) -> &'static str {
    match service {
        Service::MetNorway => "met_norway",
        Service::OpenMeteo(_) => "open_meteo",
        Service::BrightSky => "bright_sky",
    }
}
