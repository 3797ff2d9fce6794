//! What lies in the light as JSON, `fairday-expose/1`.

use chrono::{DateTime, Utc};
use serde::Serialize;

use super::{Wall, plain, tenth};
use crate::exposing::PieceId;
use crate::view::exposing::{ExposeScreen, Lying};
use crate::window::Unfit;

/// The whole answer.
#[derive(Debug, Serialize)]
pub struct ExposeJson {
    format: &'static str,
    studio: String,
    now: Wall,
    forecast: String,
    sky_factor: Option<f64>,
    uv_index: Option<f64>,
    frames: Vec<FrameJson>,
}

#[derive(Debug, Serialize)]
struct FrameJson {
    frame: Option<String>,
    pieces: Vec<PieceId>,
    material: String,
    started_at: Option<Wall>,
    paused: bool,
    minutes: f64,
    gathered_kj_m2: f64,
    target_kj_m2: f64,
    planned_minutes: Option<f64>,
    minutes_left: Option<f64>,
    least_minutes_left: Option<f64>,
    most_minutes_left: Option<f64>,
    take_in_at: Option<Wall>,
    against: Option<Unfit>,
}

/// Says what lies in the light for other programs.
pub fn expose_json(screen: &ExposeScreen) -> ExposeJson {
    let zone = screen.studio.place.zone;
    let wall = |at: DateTime<Utc>| Wall(at.with_timezone(&zone).naive_local());
    let frame = |lying: &Lying| {
        let (running, counted) = (&lying.running, &lying.counted);
        let to_go = counted.to_go.ok();
        FrameJson {
            frame: running.frame.clone(),
            pieces: running.pieces.clone(),
            material: running.material.clone(),
            started_at: running.started_at().map(wall),
            paused: running.is_paused(),
            minutes: tenth(counted.minutes),
            gathered_kj_m2: tenth(counted.gathered.0),
            target_kj_m2: tenth(running.target.0),
            planned_minutes: running.planned_minutes.map(tenth),
            minutes_left: to_go.map(|to_go| tenth(to_go.minutes)),
            least_minutes_left: to_go.map(|to_go| tenth(to_go.least)),
            most_minutes_left: to_go.and_then(|to_go| to_go.most).map(tenth),
            take_in_at: to_go
                .filter(|_| !running.is_paused())
                .map(|to_go| wall(to_go.ends_at)),
            against: lying.unfit,
        }
    };
    ExposeJson {
        format: "fairday-expose/1",
        studio: screen.studio.name.clone(),
        now: wall(screen.now),
        forecast: plain(&screen.forecast_note),
        sky_factor: screen.sky.map(|sky| sky.factor),
        uv_index: screen.uv_index.map(tenth),
        frames: screen.lying.iter().map(frame).collect(),
    }
}
