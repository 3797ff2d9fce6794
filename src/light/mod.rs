//! What the sun gives: light that prints, dose over time, minutes to a dose.
//!
//! From a place and a stand to minutes:
//!
//! ```text
//! sun ─> spectrum ─> ClearLight ─┐
//!            atmosphere          ├─> LightCurve ─> exposure, windows
//! forecast hour ─> cloud ─> Sky ─┘
//! ```
//!
//! Dose is weighted by what prints and is calibrated by the studio's own strips;
//! only its change with sun, season and cloud matters, and W/m² of this module are
//! no measurement. Not modelled: walls and trees, glass of the frame, temperature,
//! humidity and age of the coat, light that fails to add up over time.
//!
//! Wind, working hours and racks are not light: `window` and `plan`.

pub mod atmosphere;
pub mod bands;
pub mod cloud;
mod curve;
mod exposure;
pub mod learn;
mod rules;
mod seen;
mod site;
pub mod spectrum;
pub mod strip;
pub mod sun;
pub mod uv;

pub use bands::Sensitivity;
pub use cloud::{
    CloudMethod, Sky, clear_global_over_hour, factor_from_global, global_of_factor, sky_of,
};
pub use curve::{ClearLight, LightCurve, SkyHour, read_skies};
pub use exposure::{Exposure, Gathered, LightWindow, MinutesRange, Quality, shown_minutes};
pub use rules::{Barrier, CurveRules, Step, UnknownSky};
pub use seen::SeenSky;
pub use site::Site;
