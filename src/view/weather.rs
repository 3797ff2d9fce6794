//! Weather and light in words.

use super::dates::minutes;
use super::page::NO_BREAK;
use crate::forecast::Origin;
use crate::light::uv::UvCategory;
use crate::light::{MinutesRange, Quality, shown_minutes};
use crate::plan::dark::Dark;
use crate::window::Unfit;

/// Says what stands against a start.
pub fn unfit_words(unfit: &Unfit) -> String {
    match unfit {
        Unfit::NoForecast => "the forecast does not reach there".to_owned(),
        Unfit::TooLong { minutes: value } => {
            format!("light too weak, at best {}", minutes(*value))
        }
        Unfit::Rain { chance } => format!("rain, chance {:.0} %", chance * 100.0),
        Unfit::Wind { m_s } => format!("wind {m_s:.0} m/s"),
        Unfit::Gust { m_s } => format!("gusts of {m_s:.0} m/s"),
    }
}

/// Says how to mind the sun when the UV index reaches `index`; none below 3, as the
/// index is told, in whole numbers.
///
/// # Sources
/// As [`CAUTION_FROM`](crate::light::uv::CAUTION_FROM). From 8 on the same services ask
/// to keep out of the midday sun.
pub fn uv_caution(index: f64) -> Option<String> {
    let told = index.round();
    let category = UvCategory::of(told);
    let more = match category >= UvCategory::VeryHigh {
        true => ", and keep out of the midday sun but for handling the frames",
        false => "",
    };
    category.asks_for_cover().then(|| {
        format!(
            "UV index up to {told} (from 3 on the WHO asks for protection): cover \
             skin and eyes, wait in the shade{more}"
        )
    })
}

/// `UV 6`, where the index asks for protection.
pub fn uv_short(index: Option<f64>) -> Option<String> {
    let told = index?.round();
    let asks = UvCategory::of(told).asks_for_cover();
    asks.then(|| format!("UV {told}"))
}

/// Says why a day has no light; none for a day off, which is said otherwise.
pub fn dark_words(dark: &Dark) -> Option<String> {
    Some(match dark {
        Dark::DayOff => return None,
        Dark::ForecastEnds => "the forecast does not reach there".to_owned(),
        Dark::NotInHours => "none in the hours of work".to_owned(),
        Dark::SunLeaves { limit_deg } => {
            format!("the sun sinks below {limit_deg}° before the dose is reached")
        }
        Dark::SunLow { limit_deg } => format!("the sun stays below {limit_deg}°"),
    })
}

/// Says what the weather rests on, where it is not a forecast alone.
pub fn origin_words(origin: Origin) -> Option<&'static str> {
    match origin {
        Origin::Forecast => None,
        Origin::Mixed => Some("half by forecast, half by the climate"),
        Origin::Typical => Some("by the climate, not by a forecast"),
    }
}

/// Says that a clear sky is taken where nothing is known of it.
pub fn clear_taken_words(has_forecast: bool) -> &'static str {
    match has_forecast {
        true => "The forecast does not cover that time, so a clear sky is taken.",
        false => "Without a forecast a clear sky is taken.",
    }
}

/// What the brackets behind minutes mean.
pub const RANGE_NOTE: &str = "Minutes in brackets: nine of ten exposures end between them.";

/// ` (7–13)`: between which minutes an exposure ends in nine of ten cases; nothing
/// where that is the same as shown in the middle. [min]
pub fn range_words(middle: f64, range: Option<MinutesRange>) -> String {
    let Some(range) = range else {
        return String::new();
    };
    let shown = shown_minutes;
    if range.most.map(shown) == Some(shown(middle)) && shown(range.least) == shown(middle) {
        return String::new();
    }
    let most = range
        .most
        .map_or_else(|| "…".to_owned(), |most| shown(most).to_string());
    format!("{NO_BREAK}({}–{most})", shown(range.least))
}

/// Says how long an exposure takes in the sun, and by one word how sure that is. [min]
pub fn light_minutes(value: f64, quality: Quality) -> String {
    let shown = minutes(value);
    match quality {
        Quality::Good => shown,
        Quality::Rough | Quality::WeakLight => format!("about{NO_BREAK}{shown}"),
        Quality::ClearSkyOnly => format!("at{NO_BREAK}least{NO_BREAK}{shown}"),
    }
}
