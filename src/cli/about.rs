//! `fairday about`: how the program stands on this machine.

use std::path::Path;

use anyhow::Result;
use chrono::{DateTime, NaiveDateTime, Utc};
use clap::Args;

use super::load::{Found, Loaded, find, find_folder};
use super::{Common, Ended, output};
use crate::notice::Standing;
use crate::outside::clock;
use crate::outside::disk::write_protected;
use crate::outside::templates::read_templates;
use crate::problem::{Problem, Severity};
use crate::studio::{OpenMeteoUse, Secret, Service, Transport};
use crate::view::about::{AboutScreen, ForecastFacts, StudioFacts, render_about};

/// Report on the program and the folder.
///
/// Version, time zone rules, clock, age of the forecast, climate, how letters leave,
/// what the outbox holds and what may be written; secrets are looked for and never
/// shown. Good to add to a question about the program.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday about
  fairday about --dir my-studio")]
pub struct AboutArgs {}

/// Looks around and reports.
pub fn run(common: &Common, _args: &AboutArgs) -> Result<Ended> {
    let folder = find_folder(common)?;
    let found = find(common)?;
    let problems = match &found {
        Found::NoStudio { problems, .. } => problems,
        Found::Whole(loaded) => &loaded.problems,
    };
    let templates: Vec<String> = read_templates(&folder)?.into_keys().collect();
    let facts = match &found {
        Found::Whole(loaded) => Some(studio_facts(loaded, &templates)),
        Found::NoStudio { .. } => None,
    };
    let screen = AboutScreen {
        version: env!("CARGO_PKG_VERSION"),
        machine: &format!("{} {}", std::env::consts::OS, std::env::consts::ARCH),
        zone_rules: chrono_tz::IANA_TZDB_VERSION,
        folder: &shown(&folder),
        write_protected: &write_protected(&folder),
        problems: counts(problems),
        studio: facts,
        screen: &output::describe(common),
    };
    let (text, look) = render_about(&screen, output::setting(common));
    output::show(common, &text)?;
    Ok(Ended::look_if(look))
}

fn shown(folder: &Path) -> String {
    let whole = std::fs::canonicalize(folder);
    whole.as_deref().unwrap_or(folder).display().to_string()
}

fn counts(problems: &[Problem]) -> (usize, usize) {
    let of = |severity| problems.iter().filter(|p| p.severity == severity).count();
    (of(Severity::Error), of(Severity::Warning))
}

fn is_set(name: &str) -> bool {
    std::env::var_os(name).is_some_and(|value| !value.is_empty())
}

fn studio_facts<'a>(loaded: &'a Loaded, templates: &'a [String]) -> StudioFacts<'a> {
    let studio = &loaded.studio;
    let zone = studio.place.zone;
    let wall = |at: DateTime<Utc>| -> NaiveDateTime { at.with_timezone(&zone).naive_local() };
    let open = loaded.orders.iter().filter(|order| !order.is_closed());
    let key_is_set = match studio.fetch.as_ref().map(|fetch| &fetch.service) {
        Some(Service::OpenMeteo(OpenMeteoUse::Key(name))) => is_set(name),
        Some(_) | None => false,
    };
    let password_is_set = match &studio.letters.transport {
        Transport::Smtp {
            secret: Some(Secret::Env(name)),
            ..
        } => is_set(name),
        Transport::Smtp { .. } | Transport::Folder(_) | Transport::Sendmail(_) => false,
    };
    StudioFacts {
        studio,
        orders: (loaded.orders.len(), open.count()),
        clock: wall(clock::now()),
        now: loaded.now,
        forecast: loaded.forecast.as_ref().map(|forecast| ForecastFacts {
            service: &forecast.credit,
            made_at: forecast.issued_at.or(loaded.fetched_at).map(wall),
            until: loaded.forecast_until.map(wall),
        }),
        forecast_fault: forecast_fault(loaded),
        key_is_set,
        password_is_set,
        outbox: outbox(loaded),
        templates,
    }
}

/// Says why the forecast that is named cannot be used.
fn forecast_fault(loaded: &Loaded) -> Option<&str> {
    let file = loaded.studio.forecast_file.as_ref()?;
    let is_of_it = |p: &&Problem| p.severity == Severity::Error && p.file == *file;
    let problem = loaded.problems.iter().find(is_of_it);
    problem.map(|problem| problem.what.as_str())
}

/// Counts letters that were told, are in doubt, and were refused.
fn outbox(loaded: &Loaded) -> Result<(usize, usize, usize), String> {
    let sent = loaded.sent().map_err(|failure| format!("{failure:#}"))?;
    let of = |standing| sent.iter().filter(|sent| sent.standing == standing).count();
    Ok((
        of(Standing::Told),
        of(Standing::Unsure),
        of(Standing::Refused),
    ))
}
