//! The answers for other programs: JSON with a `format` name and version each.
//!
//! Days are `2026-05-11`, times `2026-05-11T09:15` on the studio's clock,
//! minutes are minutes, chances per mille. Fields are only ever added within a
//! version. The shapes are described in the README.

mod blocked;
mod expose;
mod fetched;
mod light;
mod notices;
mod plan;
mod problems;
mod promise;
mod review;
mod since;
mod stock;
mod strip;
mod what_if;

pub use blocked::{BlockedJson, blocked_json};
pub use expose::{ExposeJson, expose_json};
pub use fetched::{FetchAnswer, FetchJson, fetch_json};
pub use light::{LightJson, light_json};
pub use notices::{NoticesJson, notices_json};
pub use plan::{PlanJson, plan_json};
pub use problems::{CheckJson, ProblemJson, check_json};
pub use promise::{PromiseJson, RiskJson, promise_json, risk_json};
pub use review::{ReviewJson, review_json};
pub use since::{SinceJson, since_json};
pub use stock::{ShortJson, StockJson, short_json, stock_json};
pub use strip::{StripJson, strip_json};
pub use what_if::{WhatIfJson, what_if_json};

use chrono::NaiveDateTime;
use serde::{Serialize, Serializer};

use super::page::NO_BREAK;
use crate::window::Unfit;

/// A wall time, written without seconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wall(pub NaiveDateTime);

impl Serialize for Wall {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(&self.0.format("%Y-%m-%dT%H:%M"))
    }
}

/// Rounds to one decimal, as much as minutes are worth.
fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// Takes the protected spaces out of words made for pages.
fn plain(words: &str) -> String {
    words.replace(NO_BREAK, " ")
}

/// Rounds the figures of what stands against a start, as all others are.
fn rounded(unfit: Unfit) -> Unfit {
    match unfit {
        Unfit::NoForecast => Unfit::NoForecast,
        Unfit::TooLong { minutes } => Unfit::TooLong {
            minutes: tenth(minutes),
        },
        Unfit::Rain { chance } => Unfit::Rain {
            chance: (chance * 1000.0).round() / 1000.0,
        },
        Unfit::Wind { m_s } => Unfit::Wind { m_s: tenth(m_s) },
        Unfit::Gust { m_s } => Unfit::Gust { m_s: tenth(m_s) },
    }
}
