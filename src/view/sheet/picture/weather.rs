//! Rain and wind by the hour; what is above the studio's limit is hatched or boxed.

use super::super::svg::{Anchor, Area};
use super::{Canvas, Figure, Format, Subject};
use crate::plan::sky::HourSky;
use crate::view::dates::time;

/// Draws the two lanes, as far as the forecast reaches.
pub(super) fn draw(canvas: &mut Canvas, subject: &Subject) {
    if subject.sky.hours.is_empty() {
        let area = canvas.lane("weather", 16.0);
        let place = (area.x + 4.0, area.y + 12.0);
        canvas
            .drawing
            .text("quiet", Anchor::Start, place, "no forecast for this day");
        return;
    }
    draw_rain(canvas, subject);
    let limits = &subject.screen.studio.weather;
    let winds = [
        Wind {
            label: "wind m/s",
            value: |hour| hour.wind_m_s,
            most: limits.wind_max_m_s,
        },
        Wind {
            label: "gusts m/s",
            value: |hour| hour.gust_m_s,
            most: limits.gust_max_m_s,
        },
    ];
    for wind in winds {
        draw_wind(canvas, subject, &wind);
    }
}

/// Wind of a kind, each with a limit of its own.
struct Wind {
    label: &'static str,
    value: fn(&HourSky) -> Option<f64>,
    /// The studio's limit. [m/s]
    most: f64,
}

fn draw_rain(canvas: &mut Canvas, subject: &Subject) {
    let limits = &subject.screen.studio.weather;
    let hours: Vec<(f64, &HourSky, f64, bool)> = subject
        .sky
        .hours
        .iter()
        .filter_map(|hour| {
            let wet = hour.rain_mm.is_some_and(|mm| mm >= limits.rain_max_mm);
            let chance = hour.rain_chance.unwrap_or(if wet { 1.0 } else { 0.0 });
            let above = wet || chance > limits.rain_chance_max;
            let middle = canvas.hour_middle(hour.at)?;
            (chance >= 0.005).then_some((middle, hour, chance, above))
        })
        .collect();
    if hours.is_empty() {
        let area = canvas.lane("rain %", 17.0);
        let place = (area.x + 4.0, area.y + 12.5);
        canvas
            .drawing
            .text("figure", Anchor::Start, place, "none forecast");
        return;
    }
    let area = canvas.lane("rain %", 26.0);
    let mut free_from = f64::MIN;
    for (middle, hour, chance, above) in hours {
        let width = canvas.hour_width() - 2.0;
        let height = chance * 13.0;
        let bar = Area {
            x: middle - width / 2.0,
            y: area.y + area.height - height,
            width,
            height,
        };
        canvas.drawing.told(&rain_words(hour, above), |drawing| {
            drawing.rect(if above { "rain above" } else { "rain" }, bar);
        });
        let figure = Figure {
            class: if above { "figure strong" } else { "figure" },
            middle,
            baseline: bar.y - 2.0,
            text: format!("{:.0}", chance * 100.0),
        };
        canvas.figure(&figure, &mut free_from);
    }
}

fn rain_words(hour: &HourSky, above: bool) -> String {
    let chance = hour
        .rain_chance
        .map(|chance| format!(", chance of rain {:.0} %", chance * 100.0));
    let amount = hour.rain_mm.map(|mm| format!(", {mm:.1} mm"));
    let above = if above { ": too wet to expose" } else { "" };
    format!(
        "{}{}{}{above}",
        time(hour.at),
        chance.unwrap_or_default(),
        amount.unwrap_or_default()
    )
}

fn draw_wind(canvas: &mut Canvas, subject: &Subject, wind: &Wind) {
    let hours: Vec<(f64, &HourSky, f64)> = subject
        .sky
        .hours
        .iter()
        .filter_map(|hour| Some((canvas.hour_middle(hour.at)?, hour, (wind.value)(hour)?)))
        .collect();
    if hours.is_empty() {
        return;
    }
    let name = wind.label.split(' ').next().unwrap_or(wind.label);
    let area = match canvas.format {
        Format::Wide => canvas.lane(wind.label, 17.0),
        Format::Narrow => canvas.lane(name, 17.0),
    };
    let mut free_from = f64::MIN;
    for (middle, hour, value) in hours {
        let above = value > wind.most;
        let above_words = if above { ": too windy to expose" } else { "" };
        let words = format!("{}, {name} {value:.0} m/s{above_words}", time(hour.at));
        let width = (canvas.hour_width() - 1.0).min(18.0);
        let frame = Area {
            x: middle - width / 2.0,
            y: area.y + 1.0,
            width,
            height: 15.0,
        };
        let class = if above { "boxed" } else { "calm" };
        canvas
            .drawing
            .told(&words, |drawing| drawing.rect(class, frame));
        let figure = Figure {
            class: if above { "figure strong" } else { "figure" },
            middle,
            baseline: area.y + 12.5,
            text: format!("{value:.0}"),
        };
        canvas.figure(&figure, &mut free_from);
    }
}
