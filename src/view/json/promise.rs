//! Dates that hold as JSON, `fairday-promise/1` and `fairday-risk/1`.

use chrono::NaiveDate;
use serde::Serialize;

use super::Wall;
use crate::odds::LEVELS;
use crate::order::Delivery;
use crate::view::promise::{GroundNote, PromiseScreen, RiskScreen};

/// The dates of an order that is not taken yet.
#[derive(Debug, Serialize)]
pub struct PromiseJson {
    format: &'static str,
    studio: String,
    now: Wall,
    order: String,
    pieces: usize,
    dates: Vec<DateJson>,
    days: Vec<DayJson>,
    own_share: Option<f64>,
    crowded: Vec<CrowdedJson>,
    /// The day that is promised when they lose.
    crowded_by: Option<NaiveDate>,
    can_leave: bool,
    weathers: u32,
    until: NaiveDate,
    rests_on: GroundJson,
}

#[derive(Debug, Serialize)]
struct DateJson {
    level: f64,
    leaves_on: Option<NaiveDate>,
    arrives_on: Option<NaiveDate>,
    share: Option<f64>,
}

#[derive(Debug, Serialize)]
struct DayJson {
    leaves_on: NaiveDate,
    arrives_on: Option<NaiveDate>,
    share: f64,
}

#[derive(Debug, Serialize)]
struct CrowdedJson {
    order: String,
    share_before: f64,
    share_after: f64,
}

#[derive(Debug, Serialize)]
struct GroundJson {
    forecast: Option<String>,
    forecast_until: Option<NaiveDate>,
    climate: String,
    rough: bool,
}

/// How sure all open orders are.
#[derive(Debug, Serialize)]
pub struct RiskJson {
    format: &'static str,
    studio: String,
    now: Wall,
    most_at_risk: Option<String>,
    orders: Vec<ChanceJson>,
    weathers: u32,
    rests_on: GroundJson,
}

#[derive(Debug, Serialize)]
struct ChanceJson {
    order: String,
    due_on: NaiveDate,
    on_time_share: Option<f64>,
    leaves_by: Vec<LeavesJson>,
}

#[derive(Debug, Serialize)]
struct LeavesJson {
    level: f64,
    leaves_on: Option<NaiveDate>,
}

impl GroundJson {
    fn new(ground: &GroundNote) -> GroundJson {
        GroundJson {
            forecast: ground.credit.clone(),
            forecast_until: ground.forecast_until,
            climate: ground.climate.clone(),
            rough: ground.is_rough,
        }
    }
}

/// Says the dates of a new order for other programs.
pub fn promise_json(screen: &PromiseScreen) -> PromiseJson {
    let dates = screen.dates;
    let has_way = match &screen.order.delivery {
        Delivery::Pickup => true,
        Delivery::Carrier { destination } => !destination.is_empty(),
    };
    let held = LEVELS
        .iter()
        .zip(&dates.held)
        .map(|(level, held)| DateJson {
            level: *level,
            leaves_on: held.map(|held| held.leaves_on),
            arrives_on: held.filter(|_| has_way).map(|held| held.arrives_on),
            share: held.map(|held| held.share),
        });
    let days = screen.days.iter().map(|day| DayJson {
        leaves_on: day.leaves_on,
        arrives_on: has_way.then_some(day.arrives_on),
        share: day.share,
    });
    let crowded = dates.crowded.iter().map(|crowded| CrowdedJson {
        order: screen.orders[crowded.order].number.clone(),
        share_before: crowded.before,
        share_after: crowded.after,
    });
    PromiseJson {
        format: "fairday-promise/1",
        studio: screen.studio.name.clone(),
        now: Wall(screen.now),
        order: screen.order.number.clone(),
        pieces: screen.order.pieces.len(),
        dates: held.collect(),
        days: days.collect(),
        own_share: dates.own,
        crowded: crowded.collect(),
        crowded_by: dates.crowded_by,
        can_leave: dates.can_leave,
        weathers: dates.weathers,
        until: dates.until,
        rests_on: GroundJson::new(screen.ground),
    }
}

/// Says how sure all open orders are for other programs.
pub fn risk_json(screen: &RiskScreen) -> RiskJson {
    let number = |order: usize| screen.orders[order].number.clone();
    let orders = screen.chances.iter().map(|chance| ChanceJson {
        order: number(chance.order),
        due_on: chance.due_on,
        on_time_share: chance.on_time,
        leaves_by: LEVELS
            .iter()
            .zip(&chance.leaves_by)
            .map(|(level, leaves_on)| LeavesJson {
                level: *level,
                leaves_on: *leaves_on,
            })
            .collect(),
    });
    RiskJson {
        format: "fairday-risk/1",
        studio: screen.studio.name.clone(),
        now: Wall(screen.now),
        most_at_risk: screen.most_at_risk.map(number),
        orders: orders.collect(),
        weathers: screen.studio.promises.weathers,
        rests_on: GroundJson::new(screen.ground),
    }
}
