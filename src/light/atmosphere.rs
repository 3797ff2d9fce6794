//! Plain formulas of the air: pressure, air mass, distance of the sun, ozone,
//! global shortwave under a clear sky.
//!
//! Each is one closed form from the literature. Not here: the light by
//! wavelength (`spectrum`) and clouds (`cloud`).

use chrono::{DateTime, Datelike, TimeDelta, Utc};

/// Returns the air pressure of the standard atmosphere at an altitude [m]. [Pa]
///
/// # Sources
/// Standard atmosphere, as written in pvlib `atmosphere.alt2pres`. Values
/// checked against `tests/reference/light/atmosphere.csv`.
pub fn pressure_pa(altitude_m: f64) -> f64 {
    100.0 * ((44_331.514 - altitude_m) / 11_880.516).powf(1.0 / 0.190_263_2)
}

/// Returns the relative optical air mass for an apparent zenith angle [°].
///
/// Valid for zenith angles below 96°; the light model asks up to 89° only.
///
/// # Sources
/// Kasten & Young, "Revised optical air mass tables and approximation formula",
/// Applied Optics 28 (1989) 4735. Values checked against
/// `tests/reference/light/atmosphere.csv`.
pub fn air_mass(zenith_deg: f64) -> f64 {
    1.0 / (zenith_deg.to_radians().cos() + 0.505_72 * (96.079_95 - zenith_deg).powf(-1.636_4))
}

/// Returns the factor by which sunlight exceeds its yearly mean on a day of the
/// year (1–366), for the changing distance of the sun.
///
/// # Sources
/// Spencer, "Fourier series representation of the position of the sun", Search
/// 2 (1971) 172. Values checked against `tests/reference/light/atmosphere.csv`.
pub fn distance_factor(day_of_year: u32) -> f64 {
    let b = std::f64::consts::TAU * (f64::from(day_of_year) - 1.0) / 365.0;
    1.000_11
        + 0.034_221 * b.cos()
        + 0.001_28 * b.sin()
        + 0.000_719 * (2.0 * b).cos()
        + 0.000_077 * (2.0 * b).sin()
}

/// Returns the total ozone that is usual at a place on a day of the year. [DU]
///
/// Valid as a rough climate mean only: it was made before 1979 and is off by
/// tens of units in places. Ozone 20 % off changes a printing time by under 1 %.
///
/// # Sources
/// van Heuklon, "Estimating atmospheric ozone for solar radiation models", Solar
/// Energy 22 (1979) 63–68. Values checked against
/// `tests/reference/light/ozone_van_heuklon.csv`.
pub fn usual_ozone_du(latitude_deg: f64, longitude_deg: f64, day_of_year: u32) -> f64 {
    let sine = |degrees: f64| degrees.to_radians().sin();
    let north = latitude_deg > 0.0;
    let (mean, swing, day_shift) = if north {
        (150.0, 40.0, -30.0)
    } else {
        (100.0, 30.0, 152.625)
    };
    let (width, waves) = if north { (1.28, 3.0) } else { (1.5, 2.0) };
    let longitude_shift = match (north, longitude_deg > 0.0) {
        (true, true) => 20.0,
        (true, false) => 0.0,
        (false, _) => -75.0,
    };
    let by_season = swing * sine(0.9865 * (f64::from(day_of_year) + day_shift));
    let by_longitude = 20.0 * sine(waves * (longitude_deg + longitude_shift));
    235.0 + (mean + by_season + by_longitude) * sine(width * latitude_deg).powi(2)
}

/// Returns global shortwave on the horizontal under a clear sky, for an apparent
/// zenith angle [°]. [W/m²]
///
/// Valid as a yardstick for a forecast's own value; 2 % low to 12 % high against
/// better models in clean air, more in haze and at low sun. Zero at the horizon
/// and below.
///
/// # Sources
/// Haurwitz, "Insolation in relation to cloudiness and cloud density", Journal of
/// Meteorology 2 (1945) 154–166, with the exponent 0.059 of pvlib
/// `clearsky.haurwitz`. Values checked against
/// `tests/reference/light/atmosphere.csv` and `ghi_hourly.csv`.
pub fn clear_global_w_m2(zenith_deg: f64) -> f64 {
    let cosine = zenith_deg.to_radians().cos();
    if cosine <= 0.0 {
        return 0.0;
    }
    1098.0 * cosine * (-0.059 / cosine).exp()
}

/// Returns the day of the year (1–366) by the mean sun at a longitude [°].
///
/// The day changes at mean solar midnight, so that nothing jumps by daylight,
/// whatever the clocks of the place say.
pub fn solar_day_of_year(at: DateTime<Utc>, longitude_deg: f64) -> u32 {
    let shift = TimeDelta::seconds((longitude_deg * 240.0).round() as i64);
    at.checked_add_signed(shift).unwrap_or(at).ordinal()
}
