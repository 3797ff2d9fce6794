//! What is on each rack, hour by hour; a full one is hatched and its figure bold.

use chrono::TimeDelta;

use super::super::svg::{Anchor, Area};
use super::{Canvas, Format, Subject};
use crate::plan::model::Space;
use crate::plan::racks::{Rack, RackFill};
use crate::view::dates::time;

/// A rack's lane. [drawing units]
const HEIGHT: f64 = 25.0;

/// Draws the racks that hold something on this day.
pub(super) fn draw(canvas: &mut Canvas, subject: &Subject) {
    for fill in subject.screen.racks {
        let hours = by_hour(canvas, subject, fill);
        if hours.iter().any(|amount| *amount > 0) {
            draw_rack(canvas, fill, &hours);
        }
    }
}

/// Returns the most on the rack in each hour of the axis.
fn by_hour(canvas: &Canvas, subject: &Subject, fill: &RackFill) -> Vec<i64> {
    let grid = subject.screen.grid;
    let midnight = canvas.date.and_time(chrono::NaiveTime::MIN);
    let slot = |hour: u32| grid.slot_from(midnight + TimeDelta::hours(i64::from(hour)));
    (canvas.hours.0..canvas.hours.1)
        .map(|hour| fill.most_between(slot(hour), slot(hour + 1)))
        .collect()
}

fn draw_rack(canvas: &mut Canvas, fill: &RackFill, hours: &[i64]) {
    let area = canvas.lane(&rack_label(fill, canvas.format), HEIGHT);
    let top = area.y + 11.0;
    let width = canvas.hour_width();
    let room = (width / 6.2) as usize;
    let midnight = canvas.date.and_time(chrono::NaiveTime::MIN);
    let mut told = None;
    for (index, amount) in hours.iter().enumerate() {
        let before = told.replace(*amount);
        if *amount <= 0 {
            continue;
        }
        let hour = i64::from(canvas.hours.0) + index as i64;
        let share = (*amount as f64 / fill.places.max(1) as f64).min(1.0);
        let height = share * (HEIGHT - 12.0);
        let bar = Area {
            x: area.x + width * index as f64 + 0.5,
            y: area.y + area.height - height,
            width: width - 1.0,
            height,
        };
        let full = *amount >= fill.places;
        let words = format!(
            "{} at {}: {amount} of {}{}",
            rack_name(fill.rack),
            time(midnight + TimeDelta::hours(hour)),
            fill.places,
            if full { ", full" } else { "" }
        );
        canvas.drawing.told(&words, |drawing| {
            drawing.rect(if full { "fill full" } else { "fill" }, bar);
            let figure = amount.to_string();
            let new = before != Some(*amount);
            if figure.len() <= room || (new && figure.len() <= 2 * room) {
                let class = if full { "figure strong" } else { "figure" };
                let middle = bar.x + bar.width / 2.0;
                drawing.text(class, Anchor::Middle, (middle, bar.y - 1.5), &figure);
            }
        });
    }
    canvas
        .drawing
        .line("level", (area.x, top), (area.x + area.width, top));
}

fn rack_label(fill: &RackFill, format: Format) -> String {
    let short = if fill.rack.dark { "dark" } else { "wet" };
    match (format, fill.rack.space) {
        (Format::Wide, Space::Sheet) => format!("{short}, of {}", fill.places),
        (Format::Wide, Space::Line) => format!("{short} line, cm"),
        (Format::Narrow, Space::Sheet) => short.to_owned(),
        (Format::Narrow, Space::Line) => format!("{short} cm"),
    }
}

fn rack_name(rack: Rack) -> &'static str {
    match (rack.dark, rack.space) {
        (true, Space::Sheet) => "Dark-dry places",
        (true, Space::Line) => "Dark-dry line, cm",
        (false, Space::Sheet) => "Wet-dry places",
        (false, Space::Line) => "Wet-dry line, cm",
    }
}
