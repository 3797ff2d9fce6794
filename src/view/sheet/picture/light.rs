//! The printing light: what is forecast, what a clear sky would give, when it is fit.

use super::super::svg::{Anchor, Area};
use super::{Canvas, Format, Subject};
use crate::forecast::Origin;
use crate::light::Quality;
use crate::plan::sky::LightAt;
use crate::units::DoseRate;
use crate::view::dates::{minutes, time};

/// Room above the best light, for its words and the bar of the window. [drawing units]
const ABOVE_BEST: f64 = 27.0;

/// A day of more steps is a full one.
const FULL: usize = 16;

/// Minutes of exposure that get a line, if they lie apart enough. [min]
const MINUTES: [f64; 8] = [5.0, 7.5, 10.0, 15.0, 20.0, 30.0, 60.0, 120.0];

/// Draws the light of the day with the hours without hands hatched.
pub(super) fn draw(canvas: &mut Canvas, subject: &Subject) {
    let height = match canvas.format {
        // A full day leaves more of the page to its lists.
        Format::Wide if subject.steps.len() > FULL => 78.0,
        Format::Wide => 116.0,
        Format::Narrow => 120.0,
    };
    let area = canvas.lane("", height);
    draw_hands(canvas, subject, area);
    let headroom = area.height / (area.height - ABOVE_BEST);
    let most = subject.screen.rate_max().0.max(1e-9) * headroom;
    let y = |rate: DoseRate| area.y + area.height - (rate.0 / most).min(1.0) * area.height;
    draw_curves(canvas, subject, area, &y);
    draw_minutes(canvas, subject, area, &y);
    draw_windows(canvas, subject, area);
    draw_best(canvas, subject, area, &y);
}

/// Draws curve and window alone, in a strip of 46 units.
pub(super) fn draw_strip(canvas: &mut Canvas, subject: &Subject) {
    let area = Area {
        x: canvas.axis.0,
        y: 0.0,
        width: canvas.axis.1 - canvas.axis.0,
        height: 46.0,
    };
    let most = subject.screen.rate_max().0.max(1e-9) * 1.22;
    let y = |rate: DoseRate| area.height - (rate.0 / most).min(1.0) * area.height;
    draw_hands(canvas, subject, area);
    draw_curves(canvas, subject, area, &y);
    draw_windows(canvas, subject, area);
}

/// Hatches the time in which nobody works.
fn draw_hands(canvas: &mut Canvas, subject: &Subject, area: Area) {
    let day = subject.light.date;
    let mut from = canvas.axis.0;
    let mut off = Vec::new();
    for (begin, end) in subject.screen.work_on(day) {
        off.push((from, canvas.x(begin)));
        from = canvas.x(end);
    }
    off.push((from, canvas.axis.1));
    for (from, until) in off.into_iter().filter(|(from, until)| until - from > 1.0) {
        let area = Area {
            x: from,
            width: until - from,
            ..area
        };
        canvas
            .drawing
            .told("Outside work hours", |drawing| drawing.rect("off", area));
    }
}

fn draw_curves(canvas: &mut Canvas, subject: &Subject, area: Area, y: &impl Fn(DoseRate) -> f64) {
    let shown: Vec<&LightAt> = subject
        .sky
        .light
        .iter()
        .step_by(2)
        .filter(|light| {
            let x = canvas.x(light.at);
            x > canvas.axis.0 && x < canvas.axis.1
        })
        .collect();
    let clear: Vec<(f64, f64)> = shown
        .iter()
        .map(|light| (canvas.x(light.at), y(light.clear)))
        .collect();
    let bottom = area.y + area.height;
    let rough = subject.light.quality != Quality::Good || subject.light.origin != Origin::Forecast;
    let class = if rough { "light rough" } else { "light" };
    for known in shown.split(|light| light.rate.is_none()) {
        let (Some(first), Some(last)) = (known.first(), known.last()) else {
            continue;
        };
        let curve = known
            .iter()
            .map(|light| (canvas.x(light.at), y(light.rate.unwrap_or(DoseRate(0.0)))));
        let mut outline = vec![(canvas.x(first.at), bottom)];
        outline.extend(curve);
        outline.push((canvas.x(last.at), bottom));
        canvas.drawing.told("Printing light by the forecast", |d| {
            d.path(class, &outline, true);
        });
    }
    canvas
        .drawing
        .told("Printing light under a clear sky", |d| {
            d.path("clear", &clear, false);
        });
}

/// Draws a scale that a printer reads: how long the usual paper takes in such light.
fn draw_minutes(canvas: &mut Canvas, subject: &Subject, area: Area, y: &impl Fn(DoseRate) -> f64) {
    let Some((dose, _)) = subject.screen.usual else {
        return;
    };
    let mut above = area.y + 2.0;
    for value in MINUTES {
        let at = y(DoseRate(dose.joules() / (value * 60.0)));
        if at < above || at > area.y + area.height - 3.0 {
            continue;
        }
        canvas
            .drawing
            .line("level", (canvas.axis.0, at), (canvas.axis.1, at));
        let label = match canvas.format {
            Format::Wide => minutes(value),
            Format::Narrow => format!("{value}′"),
        };
        let place = (canvas.axis.0 - 6.0, at + 4.0);
        canvas
            .drawing
            .text("level-name", Anchor::End, place, &label);
        above = at + 15.0;
    }
}

fn draw_windows(canvas: &mut Canvas, subject: &Subject, area: Area) {
    for (from, until) in &subject.light.windows {
        let (left, right) = (canvas.x(*from), canvas.x(*until));
        let words = format!("Fit to start {}–{}", time(*from), time(*until));
        canvas.drawing.told(&words, |drawing| {
            let bar = Area {
                x: left,
                y: area.y,
                width: (right - left).max(2.0),
                height: 5.0,
            };
            drawing.rect("window", bar);
        });
    }
}

fn draw_best(canvas: &mut Canvas, subject: &Subject, area: Area, y: &impl Fn(DoseRate) -> f64) {
    let Some((at, value)) = subject.light.best else {
        return;
    };
    let light = subject.sky.light.iter().find(|light| light.at == at);
    let rate = light.and_then(|light| light.rate).unwrap_or(DoseRate(0.0));
    let (x, y) = (canvas.x(at), y(rate));
    canvas.drawing.dot("best", x, y, 3.5);
    let words = format!("{} at {}", minutes(value), time(at));
    let anchor = match x {
        x if x > canvas.axis.1 - 60.0 => Anchor::End,
        x if x < canvas.axis.0 + 60.0 => Anchor::Start,
        _ => Anchor::Middle,
    };
    let above = (y - 8.0).max(area.y + 18.0);
    canvas.drawing.text("best-name", anchor, (x, above), &words);
}
