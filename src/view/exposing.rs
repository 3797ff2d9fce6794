//! The frames in the light: start, what they have got, when to take them in.

use chrono::{DateTime, NaiveDateTime, Utc};

use super::dates::{full_day, minutes, near_day, ranges, time};
use super::dose::dose;
use super::page::{Page, Setting, Tone};
use super::weather::{unfit_words, uv_caution};
use crate::exposing::{Counted, PieceId, Running, ToGo};
use crate::light::{Barrier, CloudMethod, Quality, Sky};
use crate::order::Order;
use crate::studio::Studio;
use crate::window::Unfit;

/// Everything that the screen shows.
#[derive(Debug, Clone)]
pub struct ExposeScreen<'a> {
    /// The studio.
    pub studio: &'a Studio,
    /// Its orders.
    pub orders: &'a [Order],
    /// The moment.
    pub now: DateTime<Utc>,
    /// The sky as it is taken to be.
    pub sky: Option<Sky>,
    /// What the light rests on, in one line.
    pub forecast_note: String,
    /// The frames.
    pub lying: Vec<Lying>,
    /// Highest UV index of the time shown, if anything lies outdoors.
    pub uv_index: Option<f64>,
}

/// A frame in the light.
#[derive(Debug, Clone)]
pub struct Lying {
    /// The frame.
    pub running: Running,
    /// What it has got.
    pub counted: Counted,
    /// What the weather has against it.
    pub unfit: Option<Unfit>,
}

impl Lying {
    /// Tells whether it has its dose.
    pub fn is_done(&self) -> bool {
        self.counted.left.0 <= 0.0
    }
}

const LABEL: usize = 10;

/// Writes the page.
pub fn render_exposing(screen: &ExposeScreen, setting: Setting) -> String {
    let mut page = Page::new(setting);
    let now = wall(screen, screen.now);
    let head = format!(
        "{} · in the light, {}",
        screen.studio.name,
        full_day(now.date())
    );
    page.heading(&head, &now.format("%H:%M:%S").to_string());
    if screen.lying.is_empty() {
        page.text(
            Tone::Plain,
            2,
            "Nothing lies in the light. Begin with: fairday expose ORDER/PIECES",
        );
        return page.into_text();
    }
    page.text(Tone::Quiet, 2, &screen.forecast_note);
    page.text(Tone::Quiet, 2, &sky_words(screen.sky));
    for lying in &screen.lying {
        page.gap();
        frame(screen, lying, &mut page);
    }
    if let Some(caution) = screen.uv_index.and_then(uv_caution) {
        page.gap();
        page.text(Tone::Look, 2, &format!("{caution}."));
    }
    page.into_text()
}

fn wall(screen: &ExposeScreen, at: DateTime<Utc>) -> NaiveDateTime {
    at.with_timezone(&screen.studio.place.zone).naive_local()
}

fn sky_words(sky: Option<Sky>) -> String {
    let percent = |sky: Sky| (sky.factor * 100.0).round();
    match sky {
        None => "Of this hour's sky nothing is known: counted as clear, so all minutes are the \
                 least there can be."
            .to_owned(),
        Some(sky) if sky.method == CloudMethod::Seen => format!(
            "The sky as you saw it: {} % of clear light, until you say otherwise.",
            percent(sky)
        ),
        Some(sky) => format!(
            "The sky by the forecast: {} % of clear light. If it looks otherwise: fairday expose \
             --sky overcast",
            percent(sky).min(100.0)
        ),
    }
}

fn frame(screen: &ExposeScreen, lying: &Lying, page: &mut Page) {
    let running = &lying.running;
    let name = running.frame.as_deref().unwrap_or("frame");
    let material = screen.studio.materials.get(&running.material);
    let material = material.map_or(running.material.as_str(), |material| &material.name);
    let pieces = pieces_words(screen, &running.pieces, ", ");
    let text = format!("{pieces} · {material}");
    page.row(&[(LABEL, Tone::Strong, name)], Tone::Strong, &text);
    let (tone, text) = take_in_words(screen, lying);
    page.row(&[(LABEL, Tone::Quiet, "")], tone, &text);
    let counted = &lying.counted;
    let share = 100.0 * counted.gathered.0 / running.target.0;
    let text = format!(
        "got {} of {}, {share:.0} %, in {}",
        dose(counted.gathered),
        dose(running.target),
        minutes(counted.minutes)
    );
    page.row(&[(LABEL, Tone::Quiet, "")], Tone::Plain, &text);
    if let Some(unfit) = &lying.unfit {
        let text = format!("the weather turns: {}", unfit_words(unfit));
        page.row(&[(LABEL, Tone::Alarm, "mind")], Tone::Alarm, &text);
    }
    let targets = pieces_words(screen, &running.pieces, " ");
    let text = format!("fairday mark exposed {targets}");
    page.row(&[(LABEL, Tone::Quiet, "taken in?")], Tone::Quiet, &text);
}

fn take_in_words(screen: &ExposeScreen, lying: &Lying) -> (Tone, String) {
    let now = wall(screen, screen.now);
    let start = lying.running.started_at().map(|at| wall(screen, at));
    let start = start.map_or_else(String::new, |at| match at.date() == now.date() {
        true => time(at),
        false => format!("{} {}", near_day(at.date(), now.date()), time(at)),
    });
    if lying.is_done() {
        let over = 100.0 * (lying.counted.gathered.0 / lying.running.target.0 - 1.0);
        let text = format!("since {start} · take it in now: it has its dose and {over:.0} % more");
        return (Tone::Alarm, text);
    }
    match &lying.counted.to_go {
        Err(barrier) => {
            let text = format!("since {start} · {}", barrier_words(*barrier));
            (Tone::Alarm, text)
        }
        Ok(to_go) if lying.running.is_paused() => {
            // Without a name it would be all of them.
            let which = match screen.lying.len() {
                1 => String::new(),
                _ => format!("{} ", pieces_words(screen, &lying.running.pieces, " ")),
            };
            let text = format!(
                "covered · {} to go, {}; back into the light: fairday expose {which}--resume",
                left_words(to_go.minutes),
                range_words(to_go)
            );
            (Tone::Look, text)
        }
        Ok(to_go) => {
            // A frame cannot be taken in a second early: the next full minute it is.
            let ends = wall(screen, to_go.ends_at);
            let rough = match to_go.quality {
                Quality::Good => "",
                Quality::Rough => " · rough figure",
                Quality::WeakLight => " · weak light, rough figure",
                Quality::ClearSkyOnly => " · at least, under a clear sky",
            };
            let text = format!(
                "{start} → take in at {} · {} to go, {}{rough}",
                time(ends + chrono::TimeDelta::seconds(30)),
                left_words(to_go.minutes),
                range_words(to_go)
            );
            (Tone::Good, text)
        }
    }
}

/// `5:40 min`: a countdown wants seconds.
fn left_words(left: f64) -> String {
    let seconds = (left * 60.0).ceil() as i64;
    format!("{}:{:02}\u{a0}min", seconds / 60, seconds % 60)
}

fn range_words(to_go: &ToGo) -> String {
    let most = match to_go.most {
        Some(most) => format!("{most:.0}"),
        None => "…".to_owned(),
    };
    format!("{:.0}–{most} in nine of ten", to_go.least)
}

fn barrier_words(barrier: Barrier) -> &'static str {
    match barrier {
        Barrier::LowSun => {
            "the sun goes before it has its dose: cover it, and go on another day with --resume"
        }
        Barrier::Rain => "rain comes before it has its dose",
        Barrier::UnknownSky | Barrier::OutOfSpan => {
            "it does not get its dose within the next twelve hours"
        }
    }
}

/// `2026-021/1,2`, orders apart.
fn pieces_words(screen: &ExposeScreen, pieces: &[PieceId], gap: &str) -> String {
    let mut orders: Vec<&str> = pieces.iter().map(|id| id.order.as_str()).collect();
    orders.dedup();
    let words = orders.into_iter().map(|number| {
        let of = pieces.iter().filter(|id| id.order == number);
        let numbers: Vec<u32> = of.map(|id| id.piece).collect();
        let order = screen.orders.iter().find(|order| order.number == number);
        match order.is_some_and(|order| order.pieces.len() == numbers.len()) {
            true => number.to_owned(),
            false => format!("{number}/{}", ranges(&numbers)),
        }
    });
    words.collect::<Vec<_>>().join(gap)
}
