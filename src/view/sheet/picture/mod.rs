//! The picture of a day: light, weather, hands, frames and racks on one time axis.
//!
//! ```text
//!          6   7   8   9  10 …          hours, on the studio's clock
//!   light  ▁▂▄▆███▇▅▃▁                  curve, clear sky dashed, window on top
//!   rain   ▂▁      █                    chance by hour; hatched above the limit
//!   wind   2 2 3 4 5                    figures by hour; boxed above the limit
//!   gusts  4 5 5 7 9
//!   coat      ▭▮▮                       steps, numbered as in the lists below
//!   large   ▭▮▮▮▭                       one lane a frame
//!   …
//!   dark    ▂▂▅▅▅▂                      what is on each rack, hour by hour
//! ```
//!
//! Nothing covers anything: a lane has as many rows as its blocks and their numbers need.
//! Nothing is told by colour alone: what is above a limit is hatched or boxed, a full
//! rack is named, every block has its number and says its words when pointed at.

mod lanes;
mod light;
mod racks;
mod rows;
mod weather;

use chrono::{NaiveDate, NaiveDateTime, Timelike};

use super::SheetScreen;
use super::svg::{Anchor, Area, Drawing};
use super::width::width;
use crate::plan::daylight::DayLight;
use crate::plan::sky::DaySky;
use crate::plan::week::Step;
use crate::view::dates::full_day;

/// Size of figures, as in `sheet.style`. [drawing units]
const FIGURE: f64 = 10.5;
/// Between the label of a lane and the axis. [drawing units]
const LABEL_GAP: f64 = 6.0;

/// What a picture is drawn for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// A page of paper or a wide screen.
    Wide,
    /// A phone held upright.
    Narrow,
}

/// The day to draw.
#[derive(Debug, Clone, Copy)]
pub struct Subject<'a> {
    /// Everything known.
    pub screen: &'a SheetScreen<'a>,
    /// The day's light in words.
    pub light: &'a DayLight,
    /// The day's sky.
    pub sky: &'a DaySky,
    /// Its steps.
    pub steps: &'a [Step],
    /// First and last hour of the axis.
    pub hours: (u32, u32),
}

/// A picture that is done.
#[derive(Debug, Clone)]
pub struct Picture {
    /// The drawing.
    pub image: String,
    /// Its height as a share of its width.
    pub height: f64,
}

/// A figure that belongs to an hour.
struct Figure {
    class: &'static str,
    /// Where its middle stands. [drawing units]
    middle: f64,
    /// On which height. [drawing units]
    baseline: f64,
    text: String,
}

/// A drawing with a time axis, filled from the top.
struct Canvas {
    drawing: Drawing,
    date: NaiveDate,
    format: Format,
    hours: (u32, u32),
    /// Left and right end of the axis. [drawing units]
    axis: (f64, f64),
    /// Where the next lane begins. [drawing units]
    y: f64,
}

/// Draws a day.
pub fn day_picture(subject: &Subject, format: Format) -> Picture {
    // Wide: on paper a unit is 0.6 pt, so that no figure is below 6 pt.
    let (across, axis) = match format {
        Format::Wide => (900.0, (104.0, 892.0)),
        Format::Narrow => (360.0, (56.0, 356.0)),
    };
    let mut canvas = Canvas {
        drawing: Drawing::default(),
        date: subject.light.date,
        format,
        hours: subject.hours,
        axis,
        y: 0.0,
    };
    canvas.hour_figures();
    let top = canvas.y;
    light::draw(&mut canvas, subject);
    weather::draw(&mut canvas, subject);
    lanes::draw(&mut canvas, subject);
    racks::draw(&mut canvas, subject);
    let hours_lines = canvas.hour_lines(top);
    let size = (across, canvas.y + 2.0);
    let title = format!(
        "{}: light, weather, work and racks",
        full_day(subject.light.date)
    );
    let class = match format {
        Format::Wide => "picture wide",
        Format::Narrow => "picture narrow",
    };
    let mut whole = hours_lines;
    whole.append(canvas.drawing);
    let about = super::words::picture_words(subject);
    Picture {
        image: whole.into_image(class, size, &title, &about),
        height: size.1 / size.0,
    }
}

impl Canvas {
    /// Returns where a moment lies on the axis, inside its ends. [drawing units]
    fn x(&self, at: NaiveDateTime) -> f64 {
        let day = (at.date() - self.date).num_days() as f64;
        let hour = day * 24.0 + f64::from(at.hour()) + f64::from(at.minute()) / 60.0;
        let (first, last) = (f64::from(self.hours.0), f64::from(self.hours.1));
        let share = ((hour - first) / (last - first)).clamp(0.0, 1.0);
        self.axis.0 + share * (self.axis.1 - self.axis.0)
    }

    /// Returns the width of an hour. [drawing units]
    fn hour_width(&self) -> f64 {
        (self.axis.1 - self.axis.0) / f64::from(self.hours.1 - self.hours.0)
    }

    /// Returns the middle of an hour that begins at a moment, and whether it is on the axis.
    fn hour_middle(&self, at: NaiveDateTime) -> Option<f64> {
        let shown = self.hours.0 <= at.hour() && at.hour() < self.hours.1;
        shown.then(|| self.x(at) + self.hour_width() / 2.0)
    }

    /// Writes a figure over an hour unless the one before it reaches there; `free_from` is
    /// where that ends.
    fn figure(&mut self, figure: &Figure, free_from: &mut f64) {
        let bold = figure.class.contains("strong");
        let half = width(&figure.text, bold) * FIGURE / 2.0;
        if figure.middle - half < *free_from {
            return;
        }
        *free_from = figure.middle + half + 1.0;
        let at = (figure.middle, figure.baseline);
        self.drawing
            .text(figure.class, Anchor::Middle, at, &figure.text);
    }

    fn hour_figures(&mut self) {
        let step = match self.format {
            Format::Wide => 1,
            Format::Narrow => 3,
        };
        for hour in (self.hours.0..=self.hours.1).filter(|hour| hour % step == 0) {
            let x = self.axis.0 + self.hour_width() * f64::from(hour - self.hours.0);
            let anchor = match hour {
                hour if hour == self.hours.0 => Anchor::Start,
                hour if hour == self.hours.1 => Anchor::End,
                _ => Anchor::Middle,
            };
            self.drawing
                .text("hour", anchor, (x, 11.0), &format!("{hour}"));
        }
        self.y = 16.0;
    }

    /// Draws the lines of the hours from `top` to the end, to lie below everything.
    fn hour_lines(&self, top: f64) -> Drawing {
        let mut lines = Drawing::default();
        for hour in self.hours.0..=self.hours.1 {
            let x = self.axis.0 + self.hour_width() * f64::from(hour - self.hours.0);
            lines.line("grid", (x, top), (x, self.y));
        }
        lines
    }

    /// Returns how wide the label of a lane may be. [em]
    fn label_room(&self) -> f64 {
        let size = match self.format {
            Format::Wide => 12.5,
            Format::Narrow => 11.0,
        };
        (self.axis.0 - LABEL_GAP) / size
    }

    /// Returns the right end of the drawing. [drawing units]
    fn right(&self) -> f64 {
        match self.format {
            Format::Wide => 900.0,
            Format::Narrow => 360.0,
        }
    }

    /// Opens a lane of a height with its label, and returns its area.
    fn lane(&mut self, label: &str, height: f64) -> Area {
        let baseline = self.y + (height / 2.0 + 4.5).min(height - 3.0);
        self.label("lane", baseline, label);
        self.open(height)
    }

    /// Opens a lane whose label has a second line.
    fn lane_of(&mut self, label: &str, under: &str, height: f64) -> Area {
        self.label("lane", self.y + height / 2.0 - 1.5, label);
        self.label("figure", self.y + height / 2.0 + 9.5, under);
        self.open(height)
    }

    fn label(&mut self, class: &str, baseline: f64, label: &str) {
        let end = (self.axis.0 - LABEL_GAP, baseline);
        self.drawing.text(class, Anchor::End, end, label);
    }

    fn open(&mut self, height: f64) -> Area {
        let area = Area {
            x: self.axis.0,
            y: self.y,
            width: self.axis.1 - self.axis.0,
            height,
        };
        self.y += height;
        let bottom = self.y + 1.5;
        self.drawing
            .line("rule", (0.0, bottom), (self.axis.1, bottom));
        self.y += 3.0;
        area
    }
}

/// Draws the light of a day in a strip, for the page of the week.
pub fn day_strip(screen: &SheetScreen, light: &DayLight, sky: &DaySky) -> String {
    let subject = Subject {
        screen,
        light,
        sky,
        steps: &[],
        hours: screen.hours(),
    };
    let mut canvas = Canvas {
        drawing: Drawing::default(),
        date: light.date,
        format: Format::Narrow,
        hours: subject.hours,
        axis: (0.0, 240.0),
        y: 0.0,
    };
    light::draw_strip(&mut canvas, &subject);
    let title = format!("Light on {}", full_day(light.date));
    let about = super::words::light_words(screen, light);
    canvas
        .drawing
        .into_image("strip", (240.0, 46.0), &title, &about)
}
