//! A test strip as JSON, `fairday-strip/1`.

use serde::Serialize;

use super::light::{DoseJson, dose_json};
use super::{Wall, plain, tenth};
use crate::view::strip::{StripScreen, StripStep};

/// The whole answer.
#[derive(Debug, Serialize)]
pub struct StripJson {
    format: &'static str,
    studio: String,
    material: String,
    at: Wall,
    forecast: String,
    dose: Option<DoseJson>,
    clear_sky_taken: bool,
    uv_index: f64,
    steps: Vec<StepJson>,
    complete: bool,
    sun_high_enough: Option<StretchJson>,
}

#[derive(Debug, Serialize)]
struct StretchJson {
    from: Wall,
    until: Wall,
}

#[derive(Debug, Serialize)]
struct StepJson {
    minutes: f64,
    cover_at: Wall,
    dose_kj_m2: f64,
}

/// Says for other programs how to expose a strip.
pub fn strip_json(screen: &StripScreen) -> StripJson {
    let step = |step: &StripStep| StepJson {
        minutes: step.minutes,
        cover_at: Wall(step.cover_at),
        dose_kj_m2: tenth(step.dose.0),
    };
    let high = screen.low_sun.and_then(|low_sun| low_sun.high_enough);
    StripJson {
        format: "fairday-strip/1",
        studio: screen.studio.to_owned(),
        material: screen.material.key.clone(),
        at: Wall(screen.at),
        forecast: plain(screen.forecast_note),
        dose: screen.taught.map(dose_json),
        clear_sky_taken: screen.clear_taken,
        uv_index: tenth(screen.uv_index),
        steps: screen.steps.iter().map(step).collect(),
        complete: screen.stopped.is_none(),
        sun_high_enough: high.map(|(from, until)| StretchJson {
            from: Wall(from),
            until: Wall(until),
        }),
    }
}
