//! Weather, light and limits in words.

use super::dates::minutes;
use crate::plan::reason::Limit;
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

/// Names a limit in the middle of a sentence.
pub fn limit_words(limit: Limit) -> &'static str {
    match limit {
        Limit::Weather => "weather",
        Limit::DarkDry => "dark-dry places",
        Limit::WetDry => "wet-dry places",
        Limit::Frames => "frames",
        Limit::Hands => "hands",
        Limit::Trays => "wash trays",
        Limit::Sessions => "coating sessions",
        Limit::Material => "material",
        Limit::Collections => "collection days",
    }
}
