//! Start values for what a studio file leaves out, every one of them a setting.
//!
//! Each carries where it comes from. "Common practice" means that no source was
//! found; those are places to begin from, to be replaced by what the studio
//! learns about itself.

use std::collections::BTreeMap;

use chrono::{NaiveTime, Weekday};

use super::{
    Drying, HandlingMinutes, KeepingLimits, LEAD_DAYS, Learning, LotPrices, Material, MaterialKind,
    Planning, Promises, RoomAir, Sensitizer, Shipping, Stand, WeatherLimits, WorkHours,
};
use crate::size::Size;
use crate::units::Dose;

/// Weekdays of work and of collections. Common practice, no source.
pub const WEEK: [Weekday; 5] = [
    Weekday::Mon,
    Weekday::Tue,
    Weekday::Wed,
    Weekday::Thu,
    Weekday::Fri,
];

/// Gap between pieces and to the frame's edge. Common practice, no source. [mm]
pub const FRAME_MARGIN_MM: f64 = 5.0;

/// Folder that takes the letters until a mail server is named.
pub const LETTER_FOLDER: &str = "outbox";

/// How long before its date the customer of an order on hold is written to: the
/// shortest chain from coating to collection. Common practice, no source. [d]
pub const HOLD_DAYS: u32 = 4;

/// Weather risk from which a date is told with a word of doubt. Common practice,
/// no source.
pub const DOUBT_SHARE: f64 = 0.3;

/// Nine to five on weekdays. Common practice, no source.
pub fn work() -> Vec<WorkHours> {
    vec![WorkHours {
        days: WEEK.to_vec(),
        from: clock(9, 0),
        until: clock(17, 0),
    }]
}

/// Frames that lie flat under a clean sky over dark ground.
///
/// # Sources
/// Albedo in the ultraviolet over soil and vegetation: Feister & Grewe 1995.
/// Aerosol: middle of the range of European towns, Atmos. Chem. Phys. 23, 2023.
pub fn stand() -> Stand {
    Stand {
        tilt_deg: 0.0,
        azimuth_deg: 180.0,
        albedo: 0.05,
        aerosol: 0.15,
    }
}

/// One place of the racks takes an A3 sheet. Common practice, no source.
pub fn sheet_place() -> Size {
    Size::parse("A3").expect("A3 is an ISO size")
}

/// What paper and cloth need when nothing else is known; the dose is never
/// assumed, a test strip has to give it.
///
/// # Sources
/// Coating 3–5 min, drying overnight, finishing 8 and 5 min: common practice, no
/// source. Brush on paper 45 ml/m², between published 15 (rod) and 64; brush on
/// cloth 90: common practice, no source. Coated sheets are used within 3 days:
/// common practice, no source. A second coat takes 60 % of the first: common practice,
/// no source. Washing: most salt leaves paper in 5 to 10 min
/// (kirby, "Making of a cyanotype", part three); three changes of 5 min for cloth
/// ("The influence of water hardness", 2012). Full colour within 24 h: a studio's
/// own account. Wet-drying 2 to 12 h: common practice, no source.
pub fn material(kind: MaterialKind) -> Material {
    let paper = Material {
        key: String::new(),
        name: String::new(),
        kind,
        target_dose: Dose(0.0),
        coat_ml_per_m2: 45.0,
        coats: 1,
        later_coat_share: 0.6,
        coat_minutes: 4.0,
        dark_dry_hours: 12.0,
        keep_hours: 72.0,
        wash_minutes: 10.0,
        wet_dry_hours: 8.0,
        cure_hours: 24.0,
        finish_minutes: 8.0,
        buffered: false,
        available_on: None,
        strips: Vec::new(),
    };
    match kind {
        MaterialKind::Paper => paper,
        MaterialKind::Cloth => Material {
            coat_ml_per_m2: 90.0,
            coat_minutes: 5.0,
            wash_minutes: 15.0,
            finish_minutes: 5.0,
            ..paper
        },
    }
}

/// The classic recipe, mixed in equal volumes.
///
/// # Sources
/// 25 % and 10 %: the most frequent of the published classic recipes, among them
/// Ware, "The Traditional Cyanotype Process". Life of the mix 4 h, margin 20 %,
/// 15 min to lay out, two sessions a day: common practice, no source.
pub fn sensitizer() -> Sensitizer {
    Sensitizer {
        name: "classic 25/10".to_owned(),
        a_percent: 25.0,
        b_percent: 10.0,
        a_parts: 1.0,
        b_parts: 1.0,
        exposure_factor: 1.0,
        margin: 0.2,
        dead_ml: 0.0,
        step_ml: 1.0,
        setup_minutes: 15.0,
        mix_life_hours: 4.0,
        sessions_per_day: 2,
    }
}

/// Coated sheets are spoken of after a week and tested after two, in damp air after
/// half of that. Common practice, no source; published experience runs from sheets
/// that spoiled in the dark bag to sheets usable after a year.
pub fn keeping() -> KeepingLimits {
    KeepingLimits {
        warn_days: 7.0,
        strip_days: 14.0,
        damp_above_pct: 65.0,
        damp_share: 0.5,
    }
}

/// Six minutes of hands around an exposure, eight to pack. Common practice, no source.
pub fn minutes() -> HandlingMinutes {
    HandlingMinutes {
        load: 4.0,
        unload: 2.0,
        wash_within: 60.0,
        pack: 8.0,
    }
}

/// Calm and dry enough for frames in the open.
///
/// # Sources
/// Mean wind and gusts: lower bounds of Beaufort 5 and 6; 20 km/h for loose
/// objects, a rain chance of 35 % or 0.1 mm in the hour, 45 min, 12 h of forecast age:
/// common practice, no source. Gusts of 1.8 times the mean wind: measured over a
/// European plain at 3 to 6 m/s. Below 5° of sun the clear-sky model has no support.
pub fn weather() -> WeatherLimits {
    WeatherLimits {
        wind_max_m_s: 8.0,
        gust_max_m_s: 10.8,
        loose_gust_max_m_s: 5.6,
        gust_ratio: 1.8,
        rain_chance_max: 0.35,
        rain_max_mm: 0.1,
        elevation_min_deg: 5.0,
        exposure_max_minutes: 45.0,
        watch_loose: true,
        forecast_stale_hours: 12.0,
    }
}

/// A collection each weekday afternoon; upper ends of usual transit times.
/// Common practice, no source.
pub fn shipping() -> Shipping {
    let days = [("home", 3), ("neighbours", 7), ("overseas", 20)];
    Shipping {
        collection_days: WEEK.to_vec(),
        cut_off: clock(16, 0),
        holidays: Vec::new(),
        transit_days: BTreeMap::from(days.map(|(name, days)| (name.to_owned(), days))),
        carrier: None,
        sender: Vec::new(),
    }
}

/// Hours that were found at 20 °C and 50 %, never shortened, at most four times as
/// long. Common practice, no source.
pub fn drying() -> Drying {
    Drying {
        usual: RoomAir {
            temperature_c: 20.0,
            humidity_pct: 50.0,
        },
        now: None,
        factor_min: 1.0,
        factor_max: 4.0,
    }
}

/// A dose of the file may be twice or half of what is right; a quarter more or less
/// still passes as good; what is right drifts by a tenth in a month, and what is older
/// than two years is forgotten. The millilitres per area of the file count as much as
/// three measured sessions. Our own choices.
pub fn learning() -> Learning {
    Learning {
        first_spread: 2.0,
        good_band: 1.25,
        drift_pct_per_month: 10.0,
        forget_after_days: 730.0,
        coat_start_sessions: 3,
    }
}

/// Spread of the dose of a strip whose entry does not say it: a sky that was seen to be
/// clear. Our own choice.
pub const STRIP_SPREAD: f64 = 0.15;

/// Chance of rain in an hour of the day, beyond the forecast.
///
/// # Sources
/// 10 to 11 % of daylight hours with rain, measured in hourly series of the
/// Netherlands.
pub const WET_SHARE: f64 = 0.1;

/// Public host of Locationforecast 2.0.
pub const MET_NORWAY_HOST: &str = "https://api.met.no";

/// Public host of Open-Meteo for those who have declared non-commercial use.
pub const OPEN_METEO_HOST: &str = "https://api.open-meteo.com";

/// Host of Open-Meteo for those with a key.
pub const OPEN_METEO_KEY_HOST: &str = "https://customer-api.open-meteo.com";

/// Public host of Bright Sky.
pub const BRIGHT_SKY_HOST: &str = "https://api.brightsky.dev";

/// Decimals of the coordinates that are sent: about a kilometre, so that the
/// service learns the village and not the house. Our own choice.
pub const FETCH_DECIMALS: u32 = 2;

/// Longest wait for a whole answer. Our own choice. [s]
pub const FETCH_TIMEOUT_SECONDS: f64 = 30.0;

/// Correlation of a forecast of light with the truth, by lead day from today on.
///
/// # Sources
/// Own assumption between published anchors: "How good is the cloud cover
/// forecast?", Mon. Not. R. Astron. Soc. 428, 2013, abstract; ECMWF forecast user
/// guide, section 6.4.
pub const FORECAST_CORRELATION: [f64; LEAD_DAYS] = [
    0.85, 0.85, 0.80, 0.73, 0.65, 0.55, 0.45, 0.35, 0.25, 0.17, 0.10,
];

/// A thousand weathers, two months ahead. Our own choice. A season of one year differs
/// from the same of another by a fifth of what days differ. Own assumption.
pub fn promises() -> Promises {
    Promises {
        weathers: 1000,
        seed: 1,
        days: 60,
        forecast_correlation: FORECAST_CORRELATION,
        year_spread: 0.2,
    }
}

/// Two weeks ahead; lateness always decides first, then risk, then the number of
/// coating sessions. An evening of three hours more is the longest that a reason asks
/// for. Our own choice. One sheet in ten and one cloth in seven is made again, spare
/// copies for four times in five: common practice, no source.
pub fn planning() -> Planning {
    Planning {
        days: 14,
        late: 100_000,
        risk: 10,
        second_go: 10,
        session: 300,
        ship: 1,
        moved: 500,
        extra_hours: 3.0,
        spare_confidence: 0.8,
        remake_share_paper: 0.10,
        remake_share_cloth: 0.15,
        remake_start_pieces: 20,
        lots: lots(),
    }
}

/// Two orders share a frame when that saves a lot and their promises are less than a
/// week apart. Own choice.
fn lots() -> LotPrices {
    LotPrices {
        lot: 100,
        frame_dm2: 1,
        mixed: 30,
        share: 5,
        day_apart: 10,
    }
}

fn clock(hour: u32, minute: u32) -> NaiveTime {
    NaiveTime::from_hms_opt(hour, minute, 0).expect("hours below 24, minutes below 60")
}
