//! Rain and wind by the hour; what is above the studio's limit is hatched or boxed.

use super::super::svg::{Anchor, Area};
use super::{Canvas, Subject};
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
    draw_wind(canvas, subject);
}

fn draw_rain(canvas: &mut Canvas, subject: &Subject) {
    let limits = &subject.screen.studio.weather;
    let area = canvas.lane("rain %", 26.0);
    for hour in &subject.sky.hours {
        let Some(middle) = canvas.hour_middle(hour.at) else {
            continue;
        };
        let wet = hour.rain_mm.is_some_and(|mm| mm >= limits.rain_max_mm);
        let chance = hour.rain_chance.unwrap_or(if wet { 1.0 } else { 0.0 });
        let above = wet || chance > limits.rain_chance_max;
        if chance < 0.005 {
            continue;
        }
        let width = canvas.hour_width() - 2.0;
        let height = chance * 13.0;
        let bar = Area {
            x: middle - width / 2.0,
            y: area.y + area.height - height,
            width,
            height,
        };
        let class = if above { "rain above" } else { "rain" };
        let figure = format!("{:.0}", chance * 100.0);
        canvas.drawing.told(&rain_words(hour, above), |drawing| {
            drawing.rect(class, bar);
            let class = if above { "figure strong" } else { "figure" };
            drawing.text(class, Anchor::Middle, (middle, bar.y - 2.0), &figure);
        });
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

fn draw_wind(canvas: &mut Canvas, subject: &Subject) {
    let limits = &subject.screen.studio.weather;
    let gusts = subject.sky.hours.iter().any(|hour| hour.gust_m_s.is_some());
    let label = if gusts { "gusts m/s" } else { "wind m/s" };
    let label = match canvas.format {
        super::Format::Wide => label,
        super::Format::Narrow => label.split(' ').next().unwrap_or(label),
    };
    let area = canvas.lane(label, 17.0);
    for hour in &subject.sky.hours {
        let value = if gusts { hour.gust_m_s } else { hour.wind_m_s };
        let (Some(middle), Some(value)) = (canvas.hour_middle(hour.at), value) else {
            continue;
        };
        let above = hour.gust_m_s.is_some_and(|gust| gust > limits.gust_max_m_s)
            || hour.wind_m_s.is_some_and(|wind| wind > limits.wind_max_m_s);
        let above_words = if above { ": too windy to expose" } else { "" };
        let words = format!("{}, {label} {value:.0}{above_words}", time(hour.at));
        canvas.drawing.told(&words, |drawing| {
            if above {
                let frame = Area {
                    x: middle - 9.0,
                    y: area.y + 1.0,
                    width: 18.0,
                    height: 15.0,
                };
                drawing.rect("boxed", frame);
            }
            let class = if above { "figure strong" } else { "figure" };
            let figure = format!("{value:.0}");
            drawing.text(class, Anchor::Middle, (middle, area.y + 12.5), &figure);
        });
    }
}
