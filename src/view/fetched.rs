//! How fetching the forecast ended, in words.

use chrono::{DateTime, NaiveDateTime, Utc};
use chrono_tz::Tz;

use super::dates::{count, day, near_day, time};
use super::page::{Page, Setting, Tone};
use crate::forecast::Forecast;
use crate::forecast::fetch::{Outcome, Refusal};
use crate::studio::{Fetch, OpenMeteoUse, Service};

/// Everything that the screen shows.
#[derive(Debug, Clone, Copy)]
pub struct FetchScreen<'a> {
    /// How it was fetched.
    pub fetch: &'a Fetch,
    /// Host that was asked.
    pub host: &'a str,
    /// File that the forecast is kept in.
    pub file: &'a str,
    /// The studio's zone.
    pub zone: Tz,
    /// The present instant.
    pub now: DateTime<Utc>,
    /// The moment that the studio pins its plans to, if it does.
    pub pinned: Option<NaiveDateTime>,
    /// How it ended.
    pub outcome: &'a Outcome,
}

/// Writes what came of it.
pub fn render_fetched(screen: &FetchScreen, setting: Setting) -> String {
    let mut page = Page::new(setting);
    match screen.outcome {
        Outcome::StillHolds { until } => {
            let words = format!(
                "The forecast in {} is the newest: {} has no other before {}.",
                screen.file,
                screen.host,
                moment(screen, *until)
            );
            page.text(Tone::Good, 0, &words);
        }
        Outcome::Unchanged { until } => {
            let words = format!(
                "{} has nothing newer than the forecast in {}.",
                screen.host, screen.file
            );
            page.text(Tone::Good, 0, &words);
            page.text(Tone::Quiet, 2, &again(screen, *until));
        }
        Outcome::New {
            forecast,
            deprecated,
            until,
            ..
        } => new(screen, forecast, *deprecated, *until, &mut page),
        Outcome::Refused(refusal) => refused(screen, refusal, &mut page),
        Outcome::Unusable(_) => {
            let words = format!(
                "error: the answer of {} is not used, for what is said above",
                screen.host
            );
            page.text(Tone::Alarm, 0, &words);
        }
    }
    page.into_text()
}

fn new(
    screen: &FetchScreen,
    forecast: &Forecast,
    deprecated: bool,
    until: DateTime<Utc>,
    page: &mut Page,
) {
    let mut words = format!("A new forecast is in {}", screen.file);
    if let Some(made) = forecast.issued_at {
        words.push_str(&format!(", made {}", moment(screen, made)));
    }
    if let Some(end) = forecast.ends_at() {
        let hours = count(forecast.hours.len(), "hour");
        let last = day(
            end.with_timezone(&screen.zone).date_naive(),
            screen.now.with_timezone(&screen.zone).date_naive(),
        );
        words.push_str(&format!(": {hours}, to {last}"));
    }
    words.push('.');
    page.text(Tone::Good, 0, &words);
    page.text(
        Tone::Quiet,
        2,
        &format!("{}. {}", forecast.credit, again(screen, until)),
    );
    if screen.fetch.service == Service::OpenMeteo(OpenMeteoUse::NonCommercial) {
        page.text(Tone::Quiet, 2, NON_COMMERCIAL);
    }
    if deprecated {
        let words = format!(
            "{} says that this way of asking is about to go (203): look for a newer version of \
             this program.",
            screen.host
        );
        page.text(Tone::Look, 2, &words);
    }
    if let Some(pinned) = screen.pinned {
        let words = format!(
            "studio.yaml pins `today` to {} {}, so plans are made for then and not for now.",
            pinned.date(),
            time(pinned)
        );
        page.text(Tone::Look, 2, &words);
    }
}

/// What the declared use means.
const NON_COMMERCIAL: &str = "You have declared that you sell nothing: without a key Open-Meteo \
    is for non-commercial use alone, and for fewer than 10,000 questions a day.";

fn refused(screen: &FetchScreen, refusal: &Refusal, page: &mut Page) {
    let at = |until: DateTime<Utc>| moment(screen, until);
    let (words, hint) = refusal_words(refusal, screen.host, &screen.fetch.service, &at);
    page.text(Tone::Alarm, 0, &format!("error: {words}"));
    page.text(Tone::Plain, 0, &format!("hint: {hint}"));
}

/// Returns how a service said no, and what to do about it; `moment` writes a time.
pub fn refusal_words(
    refusal: &Refusal,
    host: &str,
    service: &Service,
    moment: &dyn Fn(DateTime<Utc>) -> String,
) -> (String, &'static str) {
    match refusal {
        Refusal::Forbidden { status, words } => (
            format!(
                "{host} does not let this caller in ({status}){}",
                said(words)
            ),
            forbidden_hint(service),
        ),
        Refusal::NotFound => (
            format!("{host} knows nothing of this place or address (404)"),
            "check `host` and `service` below `fetch`, and `place`",
        ),
        Refusal::TooMany { until } => (
            format!(
                "{host} was asked too often (429) and is left in peace until {}",
                moment(*until)
            ),
            "fetch less often; a machine that fetches does so at an odd minute of the hour",
        ),
        Refusal::OutOfOrder { status, until } => {
            let rest = until.map(|until| format!(", until {} at least", moment(until)));
            let rest = rest.unwrap_or_default();
            (
                format!("{host} is out of order ({status}){rest}"),
                "try again later",
            )
        }
        Refusal::Other { status, words } => (
            format!(
                "{host} did not answer the question ({status}){}",
                said(words)
            ),
            "check `host`, `service` and `place` in studio.yaml",
        ),
        Refusal::Resting { until } => (
            format!(
                "{host} asked for a rest until {} and was not asked",
                moment(*until)
            ),
            "try again then",
        ),
    }
}

fn forbidden_hint(service: &Service) -> &'static str {
    match service {
        Service::MetNorway | Service::BrightSky => {
            "check that `contact` below `fetch` is yours, and that you fetch at most every half hour"
        }
        Service::OpenMeteo(OpenMeteoUse::Key(_)) => "check the key in its variable, and its plan",
        Service::OpenMeteo(OpenMeteoUse::NonCommercial) => {
            "Open-Meteo may want a key for your use: `key_env` below `fetch`"
        }
    }
}

fn said(words: &Option<String>) -> String {
    words.as_ref().map_or_else(String::new, |words| {
        format!(" and says `{}`", words.replace('`', "'"))
    })
}

fn again(screen: &FetchScreen, until: DateTime<Utc>) -> String {
    format!("It may be asked again from {} on.", moment(screen, until))
}

/// Says which forecast stays when none was fetched.
pub fn kept_words(
    kept: Option<&Forecast>,
    fetched_at: Option<DateTime<Utc>>,
    file: &str,
    zone: Tz,
    now: DateTime<Utc>,
) -> String {
    let Some(forecast) = kept else {
        return format!("There is no forecast in {file} to go on with.");
    };
    let local = |at: DateTime<Utc>| at.with_timezone(&zone).naive_local();
    let today = local(now).date();
    let Some(of) = forecast.issued_at.or(fetched_at) else {
        return format!("The forecast in {file} stays as it was.");
    };
    let hours = (now - of).num_hours();
    let age = if hours < 1 {
        String::new()
    } else {
        format!(", {} old", count(hours as usize, "hour"))
    };
    let of = local(of);
    format!(
        "The forecast in {file} stays as it was: of {} {}{age}.",
        near_day(of.date(), today),
        time(of)
    )
}

fn moment(screen: &FetchScreen, at: DateTime<Utc>) -> String {
    let local = |at: DateTime<Utc>| at.with_timezone(&screen.zone).naive_local();
    let (at, now) = (local(at), local(screen.now));
    if at.date() == now.date() {
        time(at)
    } else {
        format!("{} {}", day(at.date(), now.date()), time(at))
    }
}
