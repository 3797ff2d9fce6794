//! How the program stands: versions, folder, clock, forecast, letters, screen.
//!
//! Facts come from outside; no secret is among them, only whether it is there.

use chrono::{NaiveDateTime, TimeDelta};

use super::dates::{count, day, time};
use super::page::{Page, Setting, Tone};
use crate::studio::{
    ClimateSource, MailSecurity, OpenMeteoUse, Secret, Service, Studio, Transport,
};

/// What the report is made of.
#[derive(Debug)]
pub struct AboutScreen<'a> {
    /// Version of the program.
    pub version: &'a str,
    /// Operating system and processor.
    pub machine: &'a str,
    /// Edition of the time zone rules that are built in.
    pub zone_rules: &'a str,
    /// The studio folder.
    pub folder: &'a str,
    /// What cannot be written there: the folder itself, or files of it.
    pub write_protected: &'a [String],
    /// Errors and warnings in the files.
    pub problems: (usize, usize),
    /// The studio and what hangs on it; none if its file has errors.
    pub studio: Option<StudioFacts<'a>>,
    /// Columns, colour and pager in words.
    pub screen: &'a str,
}

/// What can be said once the studio is known.
#[derive(Debug)]
pub struct StudioFacts<'a> {
    /// The studio.
    pub studio: &'a Studio,
    /// All orders and those still open.
    pub orders: (usize, usize),
    /// The machine's clock, in the studio's zone.
    pub clock: NaiveDateTime,
    /// The moment that commands take for now.
    pub now: NaiveDateTime,
    /// The saved forecast, if it can be used.
    pub forecast: Option<ForecastFacts<'a>>,
    /// Why it cannot be used, if there is one that cannot.
    pub forecast_fault: Option<&'a str>,
    /// Whether the variable that holds the key of the weather service is set.
    pub key_is_set: bool,
    /// Whether the variable that holds the mail password is set.
    pub password_is_set: bool,
    /// Letters told, in doubt and refused; what went wrong if they cannot be read.
    pub outbox: Result<(usize, usize, usize), String>,
    /// Names of the studio's own templates.
    pub templates: &'a [String],
}

/// The saved forecast.
#[derive(Debug)]
pub struct ForecastFacts<'a> {
    /// Who made it.
    pub service: &'a str,
    /// When it was made or fetched, on the studio's clock; none if nobody knows.
    pub made_at: Option<NaiveDateTime>,
    /// Where it ends.
    pub until: Option<NaiveDateTime>,
}

const LABEL: usize = 11;

/// Writes the report; also tells whether something in it wants a look.
pub fn render_about(screen: &AboutScreen, setting: Setting) -> (String, bool) {
    let mut report = Report {
        page: Page::new(setting),
        look: false,
    };
    let head = format!("Fairday {}", screen.version);
    report.page.heading(&head, screen.machine);
    folder(screen, &mut report);
    let rules = format!("edition {}, built into the program", screen.zone_rules);
    report.fine("zone rules", &rules);
    match &screen.studio {
        Some(facts) => studio(facts, &mut report),
        None => report.look("studio", "studio.yaml cannot be used: fairday check"),
    }
    report.fine("screen", screen.screen);
    (report.page.into_text(), report.look)
}

struct Report {
    page: Page,
    look: bool,
}

impl Report {
    fn fine(&mut self, label: &str, words: &str) {
        let label = [(LABEL, Tone::Strong, label)];
        self.page.row(&label, Tone::Plain, words);
    }

    fn look(&mut self, label: &str, words: &str) {
        self.look = true;
        let label = [(LABEL, Tone::Look, label)];
        self.page.row(&label, Tone::Look, &format!("look: {words}"));
    }
}

fn folder(screen: &AboutScreen, report: &mut Report) {
    match screen.write_protected {
        [] => report.fine("folder", &format!("{}, may be written", screen.folder)),
        files => {
            let words = format!("{}, write-protected: {}", screen.folder, files.join(", "));
            report.look("folder", &words);
        }
    }
    match screen.problems {
        (0, 0) => report.fine("files", "nothing to mend"),
        (errors, warnings) => {
            let words = [(errors, "error"), (warnings, "warning")]
                .into_iter()
                .filter(|(number, _)| *number > 0)
                .map(|(number, noun)| count(number, noun))
                .collect::<Vec<_>>();
            let words = format!("{}; which: fairday check", words.join(", "));
            report.look("files", &words);
        }
    }
}

fn studio(facts: &StudioFacts, report: &mut Report) {
    let studio = facts.studio;
    let (all, open) = facts.orders;
    let words = format!("{}, {}, {open} open", studio.name, count(all, "order"));
    report.fine("studio", &words);
    clock(facts, report);
    forecast(facts, report);
    fetching(facts, report);
    let climate = match studio.climate.as_ref().map(|climate| &climate.source) {
        Some(ClimateSource::File(file)) => format!("`{file}` beyond the forecast"),
        Some(ClimateSource::ByLatitude) => "roughly by latitude beyond the forecast".to_owned(),
        None => "none; nothing is planned outdoors beyond the forecast".to_owned(),
    };
    report.fine("climate", &climate);
    let drying = match &studio.drying {
        Some(drying) if drying.now.is_some() => "estimated by the air of the room",
        Some(_) => "estimated by the air of the forecast",
        None => "as the materials say",
    };
    report.fine("drying", drying);
    letters(facts, report);
}

fn clock(facts: &StudioFacts, report: &mut Report) {
    let clock = format!(
        "{} {} in {}",
        day(facts.clock.date(), facts.now.date()),
        time(facts.clock),
        facts.studio.place.zone
    );
    if facts.studio.pinned_now.is_some() {
        let words = format!(
            "{clock}; `today` in studio.yaml pins {} {}",
            day(facts.now.date(), facts.clock.date()),
            time(facts.now)
        );
        report.fine("clock", &words);
    } else {
        report.fine("clock", &clock);
    }
}

fn forecast(facts: &StudioFacts, report: &mut Report) {
    let Some(file) = &facts.studio.forecast_file else {
        let words = "none is named; nothing that needs the sun can be planned";
        return report.look("forecast", words);
    };
    let Some(forecast) = &facts.forecast else {
        let words = match facts.forecast_fault {
            Some(fault) => format!("`{file}`: {fault}; next: fairday fetch, or fairday check"),
            None => format!("`{file}` cannot be used; why: fairday check"),
        };
        return report.look("forecast", &words);
    };
    let stale = TimeDelta::minutes((facts.studio.weather.forecast_stale_hours * 60.0) as i64);
    let age = forecast.made_at.map(|at| facts.now - at);
    let age_words = age.map_or("of unknown age".to_owned(), age_words);
    let until = forecast.until.map(|until| {
        let on = day(until.date(), facts.now.date());
        format!(", reaches to {on}")
    });
    let words = format!(
        "`{file}`: {}, {age_words}{}",
        forecast.service,
        until.unwrap_or_default()
    );
    if age.is_some_and(|age| age > stale) {
        report.look("forecast", &format!("{words}; newer: fairday fetch"));
    } else {
        report.fine("forecast", &words);
    }
}

fn age_words(age: TimeDelta) -> String {
    match age.num_minutes() {
        ..0 => "made later than now".to_owned(),
        minutes @ 0..120 => format!("{minutes} min old"),
        minutes @ 120..2880 => format!("{} h old", minutes / 60),
        minutes => format!("{} days old", minutes / 1440),
    }
}

fn fetching(facts: &StudioFacts, report: &mut Report) {
    let Some(fetch) = &facts.studio.fetch else {
        return report.fine("fetching", "not set up; the forecast is saved by hand");
    };
    let words = format!("{}, as {}", fetch.host, fetch.contact);
    match &fetch.service {
        Service::OpenMeteo(OpenMeteoUse::Key(name)) if !facts.key_is_set => {
            let words = format!("{words}; the variable {name} for the key is not set");
            report.look("fetching", &words);
        }
        Service::OpenMeteo(OpenMeteoUse::Key(name)) => {
            report.fine("fetching", &format!("{words}, key in {name}"));
        }
        Service::OpenMeteo(OpenMeteoUse::NonCommercial)
        | Service::MetNorway
        | Service::BrightSky => report.fine("fetching", &words),
    }
}

fn letters(facts: &StudioFacts, report: &mut Report) {
    match &facts.studio.letters.transport {
        Transport::Folder(folder) => {
            report.fine(
                "letters",
                &format!("files into `{folder}`, nothing is sent"),
            );
        }
        Transport::Sendmail(program) => {
            report.fine("letters", &format!("through the program `{program}`"));
        }
        Transport::Smtp {
            host,
            port,
            security,
            user,
            secret,
        } => {
            let line = match security {
                MailSecurity::StartTls => "STARTTLS",
                MailSecurity::Tls => "TLS",
                MailSecurity::None => "no TLS",
            };
            let login = user.as_ref().map(|user| format!(" as {user}"));
            let words = format!("{host}:{port}, {line}{}", login.unwrap_or_default());
            match secret {
                Some(Secret::Env(name)) if !facts.password_is_set => {
                    let words = format!("{words}; the variable {name} is not set");
                    report.look("letters", &words);
                }
                Some(Secret::Env(name)) => {
                    report.fine("letters", &format!("{words}, password in {name}"));
                }
                Some(Secret::File(_)) => {
                    report.fine("letters", &format!("{words}, password in a file"));
                }
                Some(Secret::Command(_)) => {
                    report.fine("letters", &format!("{words}, password from a command"));
                }
                Some(Secret::TokenCommand(_)) => {
                    report.fine("letters", &format!("{words}, token from a command"));
                }
                None => report.fine("letters", &words),
            }
        }
    }
    match &facts.outbox {
        Ok((told, doubt, refused)) => {
            let words = format!("{told} told, {doubt} in doubt, {refused} refused for good");
            match doubt {
                0 => report.fine("outbox", &words),
                _ => report.look("outbox", &format!("{words}; which: fairday send")),
            }
        }
        Err(why) => report.look("outbox", why),
    }
    if !facts.templates.is_empty() {
        let words = format!("of your own: {}", facts.templates.join(", "));
        report.fine("templates", &words);
    }
}
