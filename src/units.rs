//! Quantities as types: light, lengths, volumes.
//!
//! Plain `f64` is for the inside of a formula; what crosses a border between
//! modules carries its unit in its type or in its name. No formatting for
//! people here: that is `view`.

use serde::{Deserialize, Serialize};

/// Energy per area that prints, weighted by the sensitivity of the coat. [kJ/m²]
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Dose(pub f64);

impl Dose {
    /// Returns the dose in joules per square metre. [J/m²]
    pub fn joules(self) -> f64 {
        self.0 * 1000.0
    }

    /// Returns the dose scaled by a factor, for another sensitizer or glass.
    pub fn scaled(self, factor: f64) -> Dose {
        Dose(self.0 * factor)
    }

    /// Returns the dose that must fall on a glass for this one to fall behind it.
    ///
    /// `transmittance` is the share of UV that the glass lets through, above 0.
    ///
    /// # Example
    /// ```
    /// use fairday::units::Dose;
    /// assert_eq!(Dose(18.0).outside_glass(0.80), Dose(22.5));
    /// ```
    pub fn outside_glass(self, transmittance: f64) -> Dose {
        self.scaled(1.0 / transmittance)
    }

    /// Returns what is still wanted after some was gathered; never below zero.
    ///
    /// # Example
    /// ```
    /// use fairday::units::Dose;
    /// assert_eq!(Dose(18.0).left_after(Dose(12.0)), Dose(6.0));
    /// assert_eq!(Dose(18.0).left_after(Dose(20.0)), Dose(0.0));
    /// ```
    pub fn left_after(self, gathered: Dose) -> Dose {
        Dose((self.0 - gathered.0).max(0.0))
    }
}

/// Dose gathered per time. [W/m²]
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct DoseRate(pub f64);

impl DoseRate {
    /// Returns the minutes that a constant rate needs for `dose`. [min]
    ///
    /// Infinite for a rate of zero: no light never prints.
    ///
    /// # Example
    /// ```
    /// use fairday::units::{Dose, DoseRate};
    /// assert_eq!(DoseRate(30.0).minutes_to(Dose(18.0)), 10.0);
    /// assert!(DoseRate(0.0).minutes_to(Dose(18.0)).is_infinite());
    /// ```
    pub fn minutes_to(self, dose: Dose) -> f64 {
        dose.joules() / self.0 / 60.0
    }

    /// Returns the dose that a constant rate gives in some minutes. [min]
    ///
    /// # Example
    /// ```
    /// use fairday::units::{Dose, DoseRate};
    /// assert_eq!(DoseRate(30.0).over(10.0), Dose(18.0));
    /// ```
    pub fn over(self, minutes: f64) -> Dose {
        Dose(self.0 * minutes * 60.0 / 1000.0)
    }
}

/// A length in whole tenths of a millimetre, so that inch formats stay exact
/// enough (8 in = 203.2 mm). [0.1 mm]
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Length(pub u32);

impl Length {
    /// Returns the length that is nearest to `mm`. [mm]
    pub fn from_mm(mm: f64) -> Length {
        Length((mm * 10.0).round() as u32)
    }

    /// Returns the length in millimetres. [mm]
    pub fn mm(self) -> f64 {
        f64::from(self.0) / 10.0
    }
}
