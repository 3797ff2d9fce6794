//! What would be different if: a day off, a rainy day, one more frame, an urgent order.
//!
//! A question changes copies of what the studio knows, never a file. Both plans are
//! thought about alike and from the same start, so that a question that changes
//! nothing is answered with nothing. How the answer reads is `view`.

use chrono::{Days, NaiveDate, TimeZone, Utc};

use super::course::OrderCourse;
use super::week::Week;
use crate::forecast::Forecast;
use crate::order::{
    Cover, Customer, Delivery, Image, Jurisdiction, LightSource, Order, Piece, Progress, Promise,
    PromiseKind,
};
use crate::size::Size;
use crate::studio::Studio;
use crate::yaml::leaf::Scalar;

/// Number of an order that exists in a question only.
const ASKED_ORDER: &str = "what-if";
/// Copies that an asked order may have.
const COPIES_MAX: u32 = 500;

/// One thing that is taken to be different.
#[derive(Debug, Clone, PartialEq)]
pub enum Question {
    /// Nobody works on a day.
    Off(NaiveDate),
    /// It rains on a day, from midnight to midnight.
    Rain(NaiveDate),
    /// Other numbers of a frame.
    Frame {
        /// Its name.
        name: String,
        /// How many more, or fewer.
        more: i64,
    },
    /// So many people work at once.
    Hands(u32),
    /// One more order, to leave by a day.
    Order {
        /// Key of its material.
        material: String,
        /// Its size.
        size: Size,
        /// How many prints.
        copies: u32,
        /// The last day to leave.
        by: NaiveDate,
    },
}

/// What questions look like, for those who type one wrongly.
pub const FORMS: &str = "`off 2026-05-14`, `rain 2026-05-14`, `frame large +1`, `hands 2`, \
                         `order rag-300 A4 x2 by 2026-05-20`";

impl Question {
    /// Parses a question; none for words that are none.
    ///
    /// # Example
    /// ```
    /// use fairday::plan::what_if::Question;
    /// assert_eq!(Question::parse("hands 2"), Some(Question::Hands(2)));
    /// assert!(Question::parse("order rag-300 8x10 in x2 by 2026-05-20").is_some());
    /// assert_eq!(Question::parse("rain on Thursday"), None);
    /// assert_eq!(Question::parse("frame large 2"), None);
    /// ```
    pub fn parse(text: &str) -> Option<Question> {
        let words: Vec<&str> = text.split_whitespace().collect();
        match words.as_slice() {
            ["off", day] => NaiveDate::parse(day).map(Question::Off),
            ["rain", day] => NaiveDate::parse(day).map(Question::Rain),
            // `frame large 2` could mean two more or two in all.
            ["frame", name @ .., more] if !name.is_empty() && more.starts_with(['+', '-']) => {
                Some(Question::Frame {
                    name: name.join(" "),
                    more: more.parse().ok().filter(|more: &i64| more.abs() <= 100)?,
                })
            }
            ["hands", count] => {
                let count: u32 = count.parse().ok()?;
                (1..=20).contains(&count).then_some(Question::Hands(count))
            }
            ["order", material, size @ .., copies, "by", by] => {
                let copies: u32 = copies.strip_prefix('x')?.parse().ok()?;
                Some(Question::Order {
                    material: (*material).to_owned(),
                    size: Size::parse(&size.join(" "))?,
                    copies: Some(copies).filter(|copies| (1..=COPIES_MAX).contains(copies))?,
                    by: NaiveDate::parse(by)?,
                })
            }
            _ => None,
        }
    }
}

/// What the studio knows, to be changed by questions.
#[derive(Debug, Clone)]
pub struct Known {
    /// The studio.
    pub studio: Studio,
    /// Its orders.
    pub orders: Vec<Order>,
    /// The forecast, if there is one.
    pub forecast: Option<Forecast>,
}

/// Why a question cannot be asked of a studio.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotAsked {
    /// It has no frame of that name.
    NoFrame(String),
    /// It has no material of that key.
    NoMaterial(String),
    /// The day is over, or beyond the plan.
    NotPlanned(NaiveDate),
}

impl Known {
    /// Changes what a question asks to be different; `today` is the day it is asked.
    ///
    /// # Errors
    /// The question is about a frame or a material that the studio has not, or about a day
    /// that no plan is made for.
    pub fn suppose(&mut self, question: &Question, today: NaiveDate) -> Result<(), NotAsked> {
        let last = today + Days::new(u64::from(self.studio.planning.days.max(1)) - 1);
        match question {
            Question::Off(day) | Question::Rain(day) if !(today..=last).contains(day) => {
                return Err(NotAsked::NotPlanned(*day));
            }
            Question::Order { by, .. } if *by < today => return Err(NotAsked::NotPlanned(*by)),
            Question::Off(day) => self.studio.days_off.push(*day),
            Question::Rain(day) => self.rain(*day),
            Question::Hands(count) => self.studio.hands = *count,
            Question::Frame { name, more } => {
                let mut frames = self.studio.frames.iter_mut();
                let frame = frames.find(|frame| frame.name == *name);
                let frame = frame.ok_or_else(|| NotAsked::NoFrame(name.clone()))?;
                frame.count = (i64::from(frame.count) + more).max(0) as u32;
            }
            Question::Order {
                material,
                size,
                copies,
                by,
            } => {
                if !self.studio.materials.contains_key(material) {
                    return Err(NotAsked::NoMaterial(material.clone()));
                }
                let order = asked_order(material, *size, *copies, *by, today, self.orders.len());
                self.orders.push(order);
            }
        }
        Ok(())
    }

    fn rain(&mut self, day: NaiveDate) {
        let zone = self.studio.place.zone;
        for hour in self.forecast.iter_mut().flat_map(|f| &mut f.hours) {
            let local = zone.from_utc_datetime(&hour.start.with_timezone(&Utc).naive_utc());
            if local.date_naive() == day {
                (hour.rain_mm, hour.rain_chance) = (Some(5.0), Some(1.0));
            }
        }
    }
}

/// Makes the order that a question is about: like prints to leave by a day.
pub fn asked_order(
    material: &str,
    size: Size,
    copies: u32,
    by: NaiveDate,
    today: NaiveDate,
    before: usize,
) -> Order {
    let piece = |copy: u32| Piece {
        number: copy,
        entry: 0,
        copy,
        copies,
        title: "asked".to_owned(),
        material: material.to_owned(),
        size,
        image: Image::Negative("asked".to_owned()),
        cover: Cover::Glass,
        light: LightSource::Sun,
        hold: None,
        progress: Progress::default(),
    };
    Order {
        number: format!("{ASKED_ORDER}-{before}"),
        file: String::new(),
        customer: Customer {
            name: "an order that is asked about".to_owned(),
            email: None,
            copies_to: vec![],
            address: Vec::new(),
            language: "en".to_owned(),
        },
        ordered_on: today,
        promise: Some(Promise {
            kind: PromiseKind::ShipBy,
            date: by,
            essential: false,
        }),
        jurisdiction: Jurisdiction::Other,
        delivery: Delivery::Carrier {
            destination: String::new(),
        },
        weight: 1,
        hold: None,
        pieces: (1..=copies).map(piece).collect(),
        notified: Vec::new(),
        dispatch: None,
        cancelled_on: None,
    }
}

/// An order that stands otherwise in the second plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Moved {
    /// Index into the orders of the second plan.
    pub order: usize,
    /// How it stands in the first; none if it is not there.
    pub before: Option<OrderCourse>,
    /// How it stands in the second.
    pub after: OrderCourse,
}

/// What differs between two plans.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Difference {
    /// Orders that leave on another day or stand otherwise, in the order given.
    pub moved: Vec<Moved>,
    /// Steps of the first day that are not in the second plan.
    pub steps_gone: usize,
    /// Steps of the first day in the first plan.
    pub steps: usize,
}

/// Compares how orders stand in two plans, and the steps of `today`.
///
/// The orders of the first plan are the first ones of the second.
pub fn difference(
    (before, week_before): (&[OrderCourse], &Week),
    (after, week_after): (&[OrderCourse], &Week),
    today: NaiveDate,
) -> Difference {
    let moved = after.iter().filter_map(|after| {
        let before = before.iter().find(|before| before.order == after.order);
        let same = before.is_some_and(|before| {
            (before.course, before.leaves_on) == (after.course, after.leaves_on)
        });
        (!same).then(|| Moved {
            order: after.order,
            before: before.cloned(),
            after: after.clone(),
        })
    });
    let steps = |week: &Week| -> Vec<String> {
        let day = week.find_day(today);
        let steps = day.map(|day| day.steps.as_slice()).unwrap_or_default();
        steps.iter().map(super::week::Step::summary).collect()
    };
    let (old, new) = (steps(week_before), steps(week_after));
    Difference {
        moved: moved.collect(),
        steps_gone: old.iter().filter(|step| !new.contains(step)).count(),
        steps: old.len(),
    }
}
