//! Studios small enough that the answer can be worked out by hand.
//!
//! All of them stand on Monday 11 May 2026, 09:00, near Amsterdam; work is from nine
//! to five on weekdays, the carrier comes at four, Thursday is a holiday. Paper dries
//! twelve hours in the dark and twelve on the wet-dry rack, and its colour takes a
//! day: what is coated on Monday leaves on Wednesday at the earliest.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDateTime, NaiveTime, TimeDelta, TimeZone, Utc};
use fairday::forecast::{Forecast, Hour};
use fairday::light::{ClearLight, CurveRules, LightCurve, Site, Step};
use fairday::order::{Delivery, LightSource, Order, Promise, PromiseKind};
use fairday::plan::model::Timing;
use fairday::plan::reason::{Asked, Findings, findings};
use fairday::plan::search::{Effort, solve};
use fairday::plan::setup::{Setup, setup};
use fairday::plan::spread::Spreads;
use fairday::plan::starts::Outdoors;
use fairday::plan::under_way::UnderWay;
use fairday::size::Size;
use fairday::studio::{Frame, Studio, defaults};
use fairday::units::DoseRate;
use fairday::view::blocked::{BlockedScreen, action_words, reason_words, render_blocked};
use fairday::view::page::Setting;

use crate::desk;

/// A studio, its orders and its weather at a moment.
#[derive(Debug, Clone)]
pub struct Small {
    pub studio: Studio,
    pub orders: Vec<Order>,
    pub now: NaiveDateTime,
    pub forecast: Forecast,
}

/// What was found about a [`Small`] studio, with its words.
pub struct Found {
    pub findings: Findings,
    /// Order, reasons in words, action.
    pub words: Vec<(String, Vec<String>, String)>,
    pub page: String,
}

pub const EFFORT: Effort = Effort {
    iterations: Some(1200),
    seed: 1,
    threads: 1,
};

/// One frame for A3 outdoors, plenty of everything else, fair weather all week.
pub fn small(orders: Vec<Order>) -> Small {
    let studio = Studio {
        frames: vec![frame("small", "31x43 cm", None)],
        planning: fairday::studio::Planning {
            days: 8,
            ..defaults::planning()
        },
        ..desk::studio()
    };
    Small {
        studio,
        orders,
        now: at("2026-05-11 09:00"),
        forecast: forecast(|_| fair()),
    }
}

pub fn frame(name: &str, inside: &str, lamp: Option<f64>) -> Frame {
    Frame {
        name: name.to_owned(),
        inside: Size::parse(inside).unwrap(),
        count: 1,
        lamp: lamp.map(DoseRate),
    }
}

pub fn at(text: &str) -> NaiveDateTime {
    NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M").unwrap()
}

/// An order of A3 sheets, taken on 4 May, to be sent off by a day.
pub fn order(number: &str, sheets: u32, by: &str) -> Order {
    let piece = |index| desk::piece(index + 1, 0, "Fern", "A3", "rag");
    Order {
        promise: Some(Promise {
            kind: PromiseKind::ShipBy,
            date: desk::date(by),
            essential: false,
        }),
        delivery: Delivery::Carrier {
            destination: "home".to_owned(),
        },
        pieces: (0..sheets).map(piece).collect(),
        ..desk::order(number)
    }
}

pub fn under_lamp(mut order: Order) -> Order {
    for piece in &mut order.pieces {
        piece.light = LightSource::Lamp;
    }
    order
}

/// A clear, still, dry hour.
pub fn fair() -> Hour {
    Hour {
        cloud_pct: Some(0.0),
        rain_mm: Some(0.0),
        rain_chance: Some(0.0),
        wind_m_s: Some(1.0),
        gust_m_s: Some(2.0),
        ..Hour::default()
    }
}

/// An hour of clear sky and rain, so that light alone is not what is missing.
pub fn rain() -> Hour {
    Hour {
        rain_mm: Some(2.0),
        rain_chance: Some(0.9),
        ..fair()
    }
}

/// Makes a forecast of ten days from Monday's midnight; `hour` is given local times.
pub fn forecast(hour: impl Fn(NaiveDateTime) -> Hour) -> Forecast {
    let first = at("2026-05-11 00:00");
    Forecast {
        credit: "Invented weather".to_owned(),
        latitude_deg: 52.1,
        longitude_deg: 5.1,
        issued_at: None,
        hours: (0..240)
            .map(|index| first + TimeDelta::hours(index))
            .map(|wall| Hour {
                start: instant(wall),
                ..hour(wall)
            })
            .collect(),
    }
}

fn instant(wall: NaiveDateTime) -> DateTime<Utc> {
    let local = chrono_tz::Europe::Amsterdam.from_local_datetime(&wall);
    local.unwrap().with_timezone(&Utc)
}

/// The light of a studio over its plan: under its forecast, and fair.
pub fn light(small: &Small) -> (LightCurve, LightCurve) {
    let site = Site::new(&small.studio.place, &small.studio.stand);
    let from = instant(small.now.date().and_time(NaiveTime::MIN));
    let days = i64::from(small.studio.planning.days);
    let span = from..from + TimeDelta::days(days) + TimeDelta::hours(2);
    let clear = ClearLight::over(site, span, Step::FIVE_MINUTES);
    let rules = CurveRules {
        rain_max_mm: f64::INFINITY,
        ..CurveRules::of(&small.studio.weather)
    };
    let real = LightCurve::new(&clear, Some(&small.forecast), &rules);
    (real, LightCurve::fair(&clear, &rules))
}

impl Small {
    /// Calls `ask` with the situation, the fair one, and the plan.
    pub fn with_plan<T>(&self, ask: impl FnOnce(&Asked) -> T) -> T {
        let (real, fair) = light(self);
        let outdoors = Outdoors {
            light: &real,
            forecast: Some(&self.forecast),
            dry_factor: 1.0,
        };
        let calm = Outdoors {
            light: &fair,
            forecast: None,
            dry_factor: 1.0,
        };
        let none = UnderWay::default();
        let real: Setup = setup(&self.orders, &self.studio, &outdoors, self.now, &none);
        let fair: Setup = setup(&self.orders, &self.studio, &calm, self.now, &none);
        let timing: Timing = solve(&real.instance, &EFFORT, &|| 0.0, None).timing;
        ask(&Asked {
            setup: &real,
            fair: &fair,
            outdoors,
            studio: &self.studio,
            site: Site::new(&self.studio.place, &self.studio.stand),
            timing: &timing,
            effort: EFFORT,
            only: &[],
        })
    }

    /// Plans and asks why.
    pub fn found(&self) -> Found {
        self.with_plan(|asked| {
            let findings = findings(asked);
            let screen = BlockedScreen {
                outlook: &Default::default(),
                has_forecast: true,
                studio: &self.studio,
                orders: &self.orders,
                now: self.now,
                spreads: &Spreads {
                    setup: asked.setup,
                    outdoors: asked.outdoors,
                    dose: BTreeMap::new(),
                },
                grid: &asked.setup.grid,
                forecast_note: "Invented weather.",
                findings: &findings,
                only: &[],
            };
            let plain = |words: String| words.replace('\u{a0}', " ");
            let words = findings.blocked.iter().map(|blocked| {
                let number = self.orders[blocked.course.order].number.clone();
                let reasons = blocked.reasons.iter();
                let reasons = reasons.map(|reason| plain(reason_words(&screen, blocked, reason)));
                let action = plain(action_words(&screen, blocked));
                (number, reasons.collect(), action)
            });
            let setting = Setting {
                width: 80,
                color: false,
            };
            Found {
                words: words.collect(),
                page: render_blocked(&screen, setting),
                findings: findings.clone(),
            }
        })
    }
}
