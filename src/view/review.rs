//! Promises, minutes and remakes of the past on a screen.

use chrono::NaiveDate;

use super::dates::{count, day};
use super::page::{NO_BREAK, Page, Setting, Tone};
use crate::review::{Broken, Exposures, Review};
use crate::studio::Studio;

/// Everything that the screen shows.
#[derive(Debug, Clone, Copy)]
pub struct ReviewScreen<'a> {
    /// The studio.
    pub studio: &'a Studio,
    /// The first day looked at; none for all there are.
    pub since: Option<NaiveDate>,
    /// The last day.
    pub today: NaiveDate,
    /// What happened.
    pub review: &'a Review,
}

const LABEL: usize = 11;

/// Writes the page.
pub fn render_review(screen: &ReviewScreen, setting: Setting) -> String {
    let mut page = Page::new(setting);
    let until = day(screen.today, screen.today);
    let span = match screen.since {
        Some(since) => format!("{} to {until}", day(since, screen.today)),
        None => format!("up to {until}"),
    };
    page.heading(&format!("{} · how it went, {span}", screen.studio.name), "");
    page.gap();
    promises(screen, &mut page);
    page.gap();
    exposures(screen, &mut page);
    page.gap();
    remakes(screen, &mut page);
    page.into_text()
}

fn row(label: &str, tone: Tone, text: &str, page: &mut Page) {
    page.row(&[(LABEL, Tone::Strong, label)], tone, text);
}

fn promises(screen: &ReviewScreen, page: &mut Page) {
    let promises = &screen.review.promises;
    let Some(share) = promises.share_kept() else {
        row("Promises", Tone::Quiet, "none came due yet", page);
        return;
    };
    let all = promises.kept + promises.broken.len();
    let text = format!(
        "{} of {} kept, {:.0}{NO_BREAK}%",
        promises.kept,
        count(all, "date"),
        share * 100.0
    );
    row("Promises", Tone::Plain, &text, page);
    for broken in &promises.broken {
        row("", Tone::Look, &broken_words(broken, screen.today), page);
    }
}

fn broken_words(broken: &Broken, today: NaiveDate) -> String {
    let by = day(broken.leave_by, today);
    let law = if broken.agreed {
        ""
    } else {
        ", the law's date"
    };
    let end = broken.left_on.unwrap_or(today);
    let late = count((end - broken.leave_by).num_days().max(0) as usize, "day");
    match broken.left_on {
        Some(on) => format!(
            "{} left {}, {late} after {by}{law}",
            broken.order,
            day(on, today)
        ),
        None => format!("{} is still here, {late} after {by}{law}", broken.order),
    }
}

fn exposures(screen: &ReviewScreen, page: &mut Page) {
    let exposures = &screen.review.exposures;
    if exposures.is_empty() {
        let text = "none noted yet: fairday expose counts them, fairday mark keeps them";
        row("Exposures", Tone::Quiet, text, page);
    }
    for (index, (key, of)) in exposures.iter().enumerate() {
        let material = screen.studio.materials.get(key);
        let name = material.map_or(key.as_str(), |material| material.name.as_str());
        let label = if index == 0 { "Exposures" } else { "" };
        let text = format!("{name}: {}", exposure_words(of));
        row(label, Tone::Plain, &text, page);
    }
}

fn exposure_words(of: &Exposures) -> String {
    let mut words = Vec::new();
    if of.count > 0 {
        let more = 100.0 * (of.used_minutes / of.planned_minutes - 1.0);
        let beside = match more.round() {
            more if more > 0.0 => format!("{more:.0}{NO_BREAK}% more"),
            more if more < 0.0 => format!("{:.0}{NO_BREAK}% less", -more),
            _ => "as planned".to_owned(),
        };
        words.push(format!(
            "{}, {:.0} min used of {:.0} planned ({beside})",
            count(of.count, "exposure"),
            of.used_minutes,
            of.planned_minutes
        ));
    }
    if of.pale + of.good + of.deep > 0 {
        words.push(format!(
            "{} good, {} pale, {} deep",
            of.good, of.pale, of.deep
        ));
    }
    words.join(" · ")
}

fn remakes(screen: &ReviewScreen, page: &mut Page) {
    let review = screen.review;
    let all: usize = review.remakes.iter().map(|remakes| remakes.count).sum();
    let finished = format!("{} finished", count(review.finished, "piece"));
    if all == 0 {
        let text = format!("none, {finished}");
        row("Remakes", Tone::Good, &text, page);
        return;
    }
    let share = 100.0 * all as f64 / (all + review.finished) as f64;
    let text = format!("{all}, {finished}: {share:.0}{NO_BREAK}% of tries");
    row("Remakes", Tone::Plain, &text, page);
    for remakes in &review.remakes {
        let text = format!("{} × {}", remakes.count, remakes.reason);
        row("", Tone::Plain, &text, page);
    }
}
