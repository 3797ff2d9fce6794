//! `fairday fetch`.

use anyhow::{Context, Result, bail};
use chrono::{DateTime, Utc};
use clap::Args;

use super::load::find_folder;
use super::progress::while_doing;
use super::{Common, Ended, output};
use crate::forecast::fetch::Outcome;
use crate::outside::clock;
use crate::outside::fetch::{Errand, fetch, find_fetched_at, host_name};
use crate::outside::forecast::read_forecast;
use crate::outside::orders::read_studio_alone;
use crate::problem::Problem;
use crate::studio::{Fetch, OpenMeteoUse, Service, Studio};
use crate::view::fetched::{FetchScreen, kept_words, render_fetched};
use crate::view::json::{FetchAnswer, fetch_json};

/// Get the forecast and keep it in the file that studio.yaml names.
///
/// Asks the weather service of `fetch:` in studio.yaml for the studio's place,
/// at most once a run, and not at all while its last answer still holds. An
/// answer that is broken or for another place never replaces the forecast that
/// is kept. Always goes by the real clock. When a machine runs it, let it be at
/// an odd minute and not on the hour: services ask for that.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday fetch
  fairday fetch --dir my-studio
  fairday fetch --json")]
pub struct FetchArgs {
    /// Answer as JSON
    #[arg(long)]
    json: bool,
}

/// Fetches the forecast and says how it went.
pub fn run(common: &Common, args: &FetchArgs) -> Result<Ended> {
    let folder = find_folder(common)?;
    let (studio, problems) = read_studio_alone(&folder)?;
    output::show_problems(common, &problems);
    let Some(studio) = studio else {
        return Ok(Ended::NotDone);
    };
    let (settings, file) = match wanted(&studio) {
        Ok(wanted) => wanted,
        Err(problem) => {
            output::show_problems(common, &[*problem]);
            return Ok(Ended::NotDone);
        }
    };
    let now = clock::now();
    let key = key(settings)?;
    let trusted = trusted()?;
    let errand = Errand {
        folder: &folder,
        file,
        fetch: settings,
        place: &studio.place,
        key: key.as_deref(),
        trusted: trusted.as_deref(),
        now,
    };
    let words = format!("asking {}", host_name(&settings.host));
    let outcome = while_doing(&words, || fetch(&errand));
    if args.json {
        return answer_for_programs(&errand, outcome);
    }
    let outcome = match outcome {
        Ok(outcome) => outcome,
        Err(failure) => {
            output::say_failure(&failure);
            say_what_stays(&errand);
            return Ok(Ended::NotDone);
        }
    };
    answer(common, &studio, &errand, &outcome)
}

/// Returns how and into which file to fetch.
fn wanted(studio: &Studio) -> Result<(&Fetch, &str), Box<Problem>> {
    let problem = |what: &str, hint: &str| {
        let problem = Problem::error("studio.yaml", what);
        Err(Box::new(problem.hint(hint)))
    };
    let Some(settings) = &studio.fetch else {
        return problem(
            "it does not say who asks for the forecast",
            "weather services want to know whom they serve: add `fetch: {contact: ADDRESS}` with \
             a mail address that you read, or your web page",
        );
    };
    match &studio.forecast_file {
        Some(file) => Ok((settings, file)),
        None => problem(
            "no file is named to keep the forecast in",
            "add `forecast: forecast.json`",
        ),
    }
}

/// Returns the user's key from the environment, for a service that wants one.
fn key(settings: &Fetch) -> Result<Option<String>> {
    let Service::OpenMeteo(OpenMeteoUse::Key(variable)) = &settings.service else {
        return Ok(None);
    };
    match std::env::var(variable) {
        Ok(key) if !key.trim().is_empty() => Ok(Some(key.trim().to_owned())),
        _ => bail!("the environment variable `{variable}`, which holds your key, is not set"),
    }
}

/// Returns the certificates that the environment wants trusted.
fn trusted() -> Result<Option<Vec<u8>>> {
    let Some(path) = std::env::var_os("SSL_CERT_FILE") else {
        return Ok(None);
    };
    let shown = path.to_string_lossy().into_owned();
    let pem =
        std::fs::read(&path).with_context(|| format!("reading the certificates in `{shown}`"))?;
    Ok(Some(pem))
}

fn answer(common: &Common, studio: &Studio, errand: &Errand, outcome: &Outcome) -> Result<Ended> {
    let screen = FetchScreen {
        fetch: errand.fetch,
        host: host_name(&errand.fetch.host),
        file: errand.file,
        zone: studio.place.zone,
        now: errand.now,
        pinned: studio.pinned_now,
        outcome,
    };
    match outcome {
        Outcome::StillHolds { .. } | Outcome::Unchanged { .. } => {
            output::answer(&render_fetched(&screen, output::setting(common)))?;
            Ok(Ended::Done)
        }
        Outcome::New {
            problems,
            deprecated,
            ..
        } => {
            output::show_problems(common, problems);
            output::answer(&render_fetched(&screen, output::setting(common)))?;
            Ok(Ended::look_if(*deprecated || !problems.is_empty()))
        }
        Outcome::Unusable(problems) => {
            output::show_problems(common, problems);
            refuse(common, &screen, errand)
        }
        Outcome::Refused(_) => refuse(common, &screen, errand),
    }
}

/// Says how it ended for other programs, whatever it was.
fn answer_for_programs(errand: &Errand, outcome: Result<Outcome>) -> Result<Ended> {
    let failure = outcome.as_ref().err().map(|failure| format!("{failure:#}"));
    let (kept, _) = read_forecast(errand.folder, errand.file);
    output::answer_json(&fetch_json(&FetchAnswer {
        service: &errand.fetch.service,
        host: host_name(&errand.fetch.host),
        file: errand.file,
        place: errand.place,
        now: errand.now,
        outcome: outcome
            .as_ref()
            .map_err(|_| failure.as_deref().unwrap_or_default()),
        kept: kept.as_ref(),
        fetched_at: find_fetched_at(errand.folder, errand.file),
    }))?;
    Ok(match &outcome {
        Ok(Outcome::StillHolds { .. } | Outcome::Unchanged { .. }) => Ended::Done,
        Ok(Outcome::New {
            problems,
            deprecated,
            ..
        }) => Ended::look_if(*deprecated || !problems.is_empty()),
        Ok(Outcome::Unusable(_) | Outcome::Refused(_)) | Err(_) => Ended::NotDone,
    })
}

fn refuse(common: &Common, screen: &FetchScreen, errand: &Errand) -> Result<Ended> {
    output::remark(&render_fetched(screen, output::remark_setting(common)));
    say_what_stays(errand);
    Ok(Ended::NotDone)
}

/// Says which forecast there still is.
fn say_what_stays(errand: &Errand) {
    let (kept, _) = read_forecast(errand.folder, errand.file);
    let fetched_at: Option<DateTime<Utc>> = find_fetched_at(errand.folder, errand.file);
    output::remark(&kept_words(
        kept.as_ref(),
        fetched_at,
        errand.file,
        errand.place.zone,
        errand.now,
    ));
}
