//! The twenty-one wavelengths of the light model, and how much each one prints.
//!
//! 300–450 nm, in 5 nm steps up to 350 nm and 10 nm steps above. Tables only.

/// How many wavelengths the model has.
pub const BAND_COUNT: usize = 21;

/// The wavelengths. [nm]
pub const WAVELENGTH_NM: [f64; BAND_COUNT] = [
    300.0, 305.0, 310.0, 315.0, 320.0, 325.0, 330.0, 335.0, 340.0, 345.0, 350.0, 360.0, 370.0,
    380.0, 390.0, 400.0, 410.0, 420.0, 430.0, 440.0, 450.0,
];

/// Sunlight outside the atmosphere at the mean distance. [W/m²/nm]
///
/// # Sources
/// First 21 rows of the table in Bird & Riordan, "Simple solar spectral model for
/// direct and diffuse irradiance", SERI/TR-215-2436 (1984).
pub const EXTRATERRESTRIAL: [f64; BAND_COUNT] = [
    0.5359, 0.5583, 0.6220, 0.6927, 0.7151, 0.8329, 0.9619, 0.9319, 0.9006, 0.9113, 0.9755, 0.9759,
    1.1199, 1.1038, 1.0338, 1.4791, 1.7013, 1.7404, 1.5872, 1.8370, 2.0050,
];

/// Absorption by ozone. [1/cm]
///
/// # Sources
/// Same table. Its columns for water vapour and mixed gases are zero in these
/// rows, so both are left out of the model.
pub const OZONE_PER_CM: [f64; BAND_COUNT] = [
    10.0, 4.8, 2.7, 1.35, 0.8, 0.38, 0.16, 0.075, 0.04, 0.019, 0.007, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0,
    0.0, 0.0, 0.0, 0.003,
];

/// How strongly light of each wavelength prints, per energy, 1 at most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sensitivity(pub [f64; BAND_COUNT]);

impl Sensitivity {
    /// What we take for a sheet coated with iron(III) citrate and ferricyanide.
    ///
    /// An assumption, not a measurement: no measured sensitivity of a coated sheet
    /// was found. Four other shapes, each tied to the same noon in June, move a
    /// noon in December at 51° N by −4 to +5 %
    /// (`tests/reference/light/action_sensitivity.csv`).
    pub const COATED_SHEET: Sensitivity = Sensitivity([
        0.70, 0.74, 0.78, 0.82, 0.86, 0.90, 0.93, 0.96, 0.98, 1.0, 1.0, 1.0, 0.97, 0.90, 0.80,
        0.65, 0.48, 0.33, 0.20, 0.10, 0.05,
    ]);

    /// Returns the integral of a spectrum [W/m²/nm] weighted by the sensitivity,
    /// by the trapezoid rule over the wavelengths. [W/m²]
    pub fn weigh(&self, spectrum: impl Fn(usize) -> f64) -> f64 {
        let value = |band: usize| self.0[band] * spectrum(band);
        (1..BAND_COUNT)
            .map(|band| {
                let width = WAVELENGTH_NM[band] - WAVELENGTH_NM[band - 1];
                (value(band - 1) + value(band)) / 2.0 * width
            })
            .sum()
    }
}
