//! Weather and light in words.

use super::dates::minutes;
use super::page::NO_BREAK;
use crate::forecast::Origin;
use crate::light::Quality;
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

/// Says what the weather rests on, where it is not a forecast alone.
pub fn origin_words(origin: Origin) -> Option<&'static str> {
    match origin {
        Origin::Forecast => None,
        Origin::Mixed => Some("half by forecast, half by the climate"),
        Origin::Typical => Some("by the climate, not by a forecast"),
    }
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
