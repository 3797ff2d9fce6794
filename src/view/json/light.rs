//! The light as JSON, `fairday-light/1`.

use chrono::NaiveDate;
use serde::Serialize;

use super::{Wall, plain, rounded, tenth};
use crate::experience::Taught;
use crate::light::{CloudMethod, Quality};
use crate::plan::dark::Dark;
use crate::plan::hours::{LightDay, LightHour, LightSpan};
use crate::units::Dose;
use crate::view::light::LightScreen;
use crate::window::Unfit;

/// The whole answer.
#[derive(Debug, Serialize)]
pub struct LightJson {
    format: &'static str,
    studio: String,
    subject: String,
    forecast: String,
    dose: Option<DoseJson>,
    days: Vec<DayJson>,
}

/// What is known of the dose of a material.
#[derive(Debug, Serialize)]
pub struct DoseJson {
    kj_m2: f64,
    least_kj_m2: f64,
    most_kj_m2: f64,
    prints: usize,
    strips: usize,
    forgotten: usize,
    leans_on_file: bool,
}

/// Says what is known of a dose, for the classic sensitizer.
pub fn dose_json(taught: &Taught) -> DoseJson {
    let hundredth = |dose: Dose| (dose.0 * 100.0).round() / 100.0;
    DoseJson {
        kj_m2: hundredth(taught.learned.median),
        least_kj_m2: hundredth(taught.learned.least),
        most_kj_m2: hundredth(taught.learned.most),
        prints: taught.prints,
        strips: taught.strips,
        forgotten: taught.forgotten,
        leans_on_file: taught.learned.leans_on_prior,
    }
}

#[derive(Debug, Serialize)]
struct DayJson {
    date: NaiveDate,
    uv_index: Option<f64>,
    dark: Option<Dark>,
    unknown: Vec<Wall>,
    windows: Vec<SpanJson>,
    hours: Vec<HourJson>,
}

#[derive(Debug, Serialize)]
struct SpanJson {
    from: Wall,
    until: Wall,
    best_at: Wall,
    best_minutes: f64,
}

#[derive(Debug, Serialize)]
struct HourJson {
    at: Wall,
    minutes: f64,
    least_minutes: Option<f64>,
    most_minutes: Option<f64>,
    quality: Quality,
    cloud_from: Option<CloudMethod>,
    against: Option<Unfit>,
}

/// Says the light for other programs.
pub fn light_json(screen: &LightScreen) -> LightJson {
    LightJson {
        format: "fairday-light/1",
        studio: screen.studio.to_owned(),
        subject: screen.subject.to_owned(),
        forecast: plain(screen.forecast_note),
        dose: screen.taught.map(dose_json),
        days: screen
            .days
            .iter()
            .zip(screen.uv_index)
            .map(|(light, uv_index)| day(light, *uv_index))
            .collect(),
    }
}

fn day(light: &LightDay, uv_index: Option<f64>) -> DayJson {
    DayJson {
        date: light.date,
        uv_index: uv_index.map(tenth),
        dark: light.dark,
        unknown: light.unknown.iter().map(|at| Wall(*at)).collect(),
        windows: light.windows.iter().map(span).collect(),
        hours: light.hours.iter().map(hour).collect(),
    }
}

fn span(span: &LightSpan) -> SpanJson {
    SpanJson {
        from: Wall(span.from),
        until: Wall(span.until),
        best_at: Wall(span.best_at),
        best_minutes: tenth(span.best_minutes),
    }
}

fn hour(hour: &LightHour) -> HourJson {
    HourJson {
        at: Wall(hour.at),
        minutes: tenth(hour.minutes),
        least_minutes: hour.between.map(|(least, _)| tenth(least)),
        most_minutes: hour.between.and_then(|(_, most)| most).map(tenth),
        quality: hour.quality,
        cloud_from: hour.cloud,
        against: hour.unfit.map(rounded),
    }
}
