//! A test strip: which step to cover when, and what a strip that was read says.

use chrono::{NaiveDate, NaiveDateTime};

use super::dates::{near_day, time};
use super::dose::{dose, learned_dose, taught_words};
use super::page::{Page, Setting, Tone};
use super::weather::{clear_taken_words, uv_caution};
use crate::experience::Taught;
use crate::light::Barrier;
use crate::studio::{Material, Strip};
use crate::units::Dose;

/// Everything that the screen shows.
#[derive(Debug, Clone, Copy)]
pub struct StripScreen<'a> {
    /// Name of the studio.
    pub studio: &'a str,
    /// What is tried.
    pub material: &'a Material,
    /// What is known of its dose.
    pub taught: Option<&'a Taught>,
    /// Dose of the sensitizer beside that of the classic one.
    pub exposure_factor: f64,
    /// The day.
    pub today: NaiveDate,
    /// When the strip goes out, on the studio's clock.
    pub at: NaiveDateTime,
    /// What the light rests on, in one line.
    pub forecast_note: &'a str,
    /// Whether there is a forecast.
    pub has_forecast: bool,
    /// Whether nothing is known of the sky for some of its time, so that a clear one is
    /// taken.
    pub clear_taken: bool,
    /// The steps, the shortest first.
    pub steps: &'a [StripStep],
    /// Why there are not more of them.
    pub stopped: Option<Barrier>,
    /// When the sun is high enough, if it is not when the strip goes out.
    pub low_sun: Option<LowSun>,
    /// Highest UV index meanwhile.
    pub uv_index: f64,
}

/// A sun that is too low to print by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LowSun {
    /// Whether it is below the horizon.
    pub is_down: bool,
    /// From which elevation on the studio prints. [°]
    pub limit_deg: f64,
    /// From when until when it is next that high, on the studio's clock; none if not
    /// within two days.
    pub high_enough: Option<(NaiveDateTime, NaiveDateTime)>,
}

/// One step of a strip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StripStep {
    /// How long it lies in the light. [min]
    pub minutes: f64,
    /// When it is covered, on the studio's clock.
    pub cover_at: NaiveDateTime,
    /// What it gets.
    pub dose: Dose,
}

const STEP: usize = 6;
const MINUTES: usize = 10;
const COVER: usize = 14;

/// Writes how to expose the strip.
pub fn render_strip(screen: &StripScreen, setting: Setting) -> String {
    let mut page = Page::new(setting);
    let at = format!(
        "{} · test strip for {}, {} {}",
        screen.studio,
        screen.material.name,
        near_day(screen.at.date(), screen.today),
        time(screen.at)
    );
    page.heading(&at, "");
    page.text(Tone::Quiet, 2, screen.forecast_note);
    if let Some(taught) = screen.taught {
        let words = format!(
            "{}; {}",
            learned_dose(taught, screen.exposure_factor),
            taught_words(taught)
        );
        page.text(Tone::Quiet, 2, &words);
    }
    if screen.clear_taken {
        let words = format!(
            "{} Say how it was when you read the strip: --sky",
            clear_taken_words(screen.has_forecast)
        );
        page.text(Tone::Look, 2, &words);
    }
    page.gap();
    steps(screen, &mut page);
    if screen.steps.len() >= 2 {
        page.gap();
        how(screen, &mut page);
    }
    if let Some(caution) = uv_caution(screen.uv_index) {
        page.gap();
        page.text(Tone::Look, 2, &format!("{caution}."));
    }
    page.into_text()
}

fn steps(screen: &StripScreen, page: &mut Page) {
    let head = [
        (STEP, Tone::Quiet, "step"),
        (MINUTES, Tone::Quiet, "in light"),
        (COVER, Tone::Quiet, "cover it at"),
    ];
    if !screen.steps.is_empty() {
        page.row(&head, Tone::Quiet, "gets");
    }
    for (number, step) in (1..).zip(screen.steps) {
        let (number, minutes) = (format!("{number}"), format!("{} min", step.minutes));
        let cover = step.cover_at.format("%H:%M:%S").to_string();
        let row = [
            (STEP, Tone::Strong, number.as_str()),
            (MINUTES, Tone::Plain, minutes.as_str()),
            (COVER, Tone::Plain, cover.as_str()),
        ];
        page.row(&row, Tone::Plain, &dose(step.dose));
    }
    if let Some(low_sun) = &screen.low_sun {
        page.text(Tone::Alarm, 2, &low_sun_words(screen, low_sun));
    } else if let Some(barrier) = screen.stopped {
        let words = match barrier {
            Barrier::LowSun => "The sun goes before a longer step has its dose; begin earlier.",
            Barrier::Rain | Barrier::UnknownSky | Barrier::OutOfSpan => {
                "A longer step does not get its dose in the next twelve hours."
            }
        };
        page.text(Tone::Alarm, 2, words);
    }
}

fn low_sun_words(screen: &StripScreen, low_sun: &LowSun) -> String {
    let at = format!(
        "{} {}",
        near_day(screen.at.date(), screen.today),
        time(screen.at)
    );
    let limit = low_sun.limit_deg;
    let now = match low_sun.is_down {
        true => "the sun is down",
        false => "the sun is too low",
    };
    match low_sun.high_enough {
        Some((from, until)) => format!(
            "At that time, {at}, {now}. It is high enough to print by ({limit}° and more) {} from \
             {} to {}: fairday strip {} --at \"{}\"",
            near_day(from.date(), screen.today),
            time(from),
            time(until),
            screen.material.key,
            (from + (until - from) / 2).format("%Y-%m-%d %H:%M")
        ),
        None => format!(
            "At that time, {at}, {now}, and it does not come high enough to print by ({limit}° \
             and more) in the two days after."
        ),
    }
}

fn how(screen: &StripScreen, page: &mut Page) {
    let minutes: Vec<String> = screen
        .steps
        .iter()
        .map(|step| step.minutes.to_string())
        .collect();
    let lines = [
        "Lay a coated strip of the same batch into the frame with your negative, all of it open \
         to the sky. Cover step 1 first with card, then one step more each time."
            .to_owned(),
        "Wash and dry it as usual and judge it dry, best on the next day: the best step is the \
         shortest in which the deepest shadow is as dark as it gets and the highlights are clean."
            .to_owned(),
        format!(
            "Then: fairday strip {} --at \"{}\" --minutes {} --best STEP",
            screen.material.key,
            screen.at.format("%Y-%m-%d %H:%M"),
            minutes.join(",")
        ),
    ];
    for line in lines {
        page.text(Tone::Plain, 2, &line);
    }
}

/// A strip that was read.
#[derive(Debug, Clone, Copy)]
pub struct StripRead<'a> {
    /// What was tried.
    pub material: &'a Material,
    /// What was entered.
    pub strip: &'a Strip,
    /// What is known of its dose now.
    pub taught: Option<&'a Taught>,
    /// Dose of the sensitizer beside that of the classic one.
    pub exposure_factor: f64,
    /// Its best step, and how many it has.
    pub place: (usize, usize),
    /// Whether there is a forecast.
    pub has_forecast: bool,
    /// Whether nothing is known of the sky it lay under, so that a clear one was taken.
    pub clear_taken: bool,
}

/// Writes what a strip that was read has taught.
pub fn render_read(read: &StripRead, setting: Setting) -> String {
    let StripRead {
        material, strip, ..
    } = read;
    let mut page = Page::new(setting);
    let text = format!(
        "{}: the best step got {} (entered below `strips` in studio.yaml)",
        material.name,
        dose(strip.best)
    );
    page.text(Tone::Plain, 0, &text);
    if read.clear_taken {
        let text = format!(
            "{} That is the most the step can have got. If you know how it was, take the line out \
             from below `strips` of `{}` in studio.yaml and read the strip again with --sky …",
            clear_taken_words(read.has_forecast),
            material.key
        );
        page.text(Tone::Look, 0, &text);
    }
    if let Some(taught) = read.taught {
        let text = format!(
            "planned with from now on: {}; {}",
            learned_dose(taught, read.exposure_factor),
            taught_words(taught)
        );
        page.text(Tone::Good, 0, &text);
    }
    let (best, count) = read.place;
    if best == 1 || best == count {
        let side = if best == 1 { "shorter" } else { "longer" };
        let text = format!(
            "The best step is the last on its side, so the right one may lie beyond: print \
             another strip with {side} steps."
        );
        page.text(Tone::Look, 0, &text);
    }
    page.into_text()
}
