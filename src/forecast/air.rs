//! Water in the air: saturation, humidity from the dew point, vapour pressure deficit.
//!
//! Over water, at any pressure of the lower air; below freezing the values are
//! those over supercooled water. How fast a coat dries by it is not here.

/// Returns the saturation vapour pressure over water. [hPa]
///
/// Valid for −45 to 60 °C.
///
/// # Sources
/// Magnus form with the coefficients 6.112 hPa, 17.62 and 243.12 °C of the WMO
/// guide to instruments (No. 8), annex on humidity formulas, from memory.
pub fn saturation_hpa(temperature_c: f64) -> f64 {
    6.112 * (17.62 * temperature_c / (243.12 + temperature_c)).exp()
}

/// Returns the relative humidity, 0 to 100, that belongs to a dew point. [%]
///
/// # Example
/// ```
/// use fairday::forecast::air::humidity_pct;
/// assert_eq!(humidity_pct(12.0, 12.0), 100.0);
/// assert_eq!(humidity_pct(12.0, 12.4), 100.0); // rounding of the service, no mist of 103 %
/// assert!((humidity_pct(20.0, 9.26) - 50.0).abs() < 0.1);
/// ```
pub fn humidity_pct(temperature_c: f64, dew_point_c: f64) -> f64 {
    let share = saturation_hpa(dew_point_c) / saturation_hpa(temperature_c);
    (100.0 * share).clamp(0.0, 100.0)
}

/// Returns how much vapour the air could still take up. [hPa]
pub fn deficit_hpa(temperature_c: f64, humidity_pct: f64) -> f64 {
    saturation_hpa(temperature_c) * (1.0 - humidity_pct / 100.0)
}
