//! What is on each rack, hour by hour; a full one is hatched and its figure bold.

use chrono::TimeDelta;

use super::super::svg::Area;
use super::{Canvas, Figure, Subject};
use crate::plan::model::Space;
use crate::plan::racks::{Rack, RackFill};
use crate::view::dates::time;

/// A rack's lane. [drawing units]
const HEIGHT: f64 = 25.0;
/// What of it the figures take. [drawing units]
const FIGURES: f64 = 12.5;

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
    let (label, under) = rack_label(fill);
    let area = canvas.lane_of(label, &under, HEIGHT);
    // Figures stand above the line of a full rack, where no bar reaches.
    let full_line = area.y + FIGURES;
    canvas.drawing.line(
        "level",
        (area.x, full_line),
        (area.x + area.width, full_line),
    );
    let width = canvas.hour_width();
    let mut free_from = f64::MIN;
    let mut before = None;
    for (index, amount) in hours.iter().enumerate() {
        let new = before.replace(*amount) != Some(*amount);
        if *amount <= 0 {
            continue;
        }
        let share = (*amount as f64 / fill.places.max(1) as f64).min(1.0);
        let height = share * (HEIGHT - FIGURES);
        let bar = Area {
            x: area.x + width * index as f64 + 0.5,
            y: area.y + area.height - height,
            width: width - 1.0,
            height,
        };
        let full = *amount >= fill.places;
        let words = words(canvas, fill, index, *amount);
        canvas.drawing.told(&words, |drawing| {
            drawing.rect(if full { "fill full" } else { "fill" }, bar);
        });
        let figure = Figure {
            class: if full { "figure strong" } else { "figure" },
            middle: bar.x + bar.width / 2.0,
            baseline: full_line - 2.0,
            text: amount.to_string(),
        };
        // Where hours are narrower than their figures, changes count.
        if new || super::super::width::width(&figure.text, full) * super::FIGURE <= width {
            canvas.figure(&figure, &mut free_from);
        }
    }
}

fn words(canvas: &Canvas, fill: &RackFill, index: usize, amount: i64) -> String {
    let midnight = canvas.date.and_time(chrono::NaiveTime::MIN);
    let hour = i64::from(canvas.hours.0) + index as i64;
    format!(
        "{} at {}: {amount} of {}{}",
        rack_name(fill.rack),
        time(midnight + TimeDelta::hours(hour)),
        fill.places,
        if amount >= fill.places { ", full" } else { "" }
    )
}

/// Names a rack, and says what it holds.
fn rack_label(fill: &RackFill) -> (&'static str, String) {
    let places = fill.places;
    match (fill.rack.dark, fill.rack.space) {
        (true, Space::Sheet) => ("dark", format!("of {places}")),
        (true, Space::Line) => ("dark line", format!("of {places} cm")),
        (false, Space::Sheet) => ("wet", format!("of {places}")),
        (false, Space::Line) => ("wet line", format!("of {places} cm")),
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
