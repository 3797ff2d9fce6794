//! Quantities of a forecast, the units services write them in, and what can be.

/// What a column speaks of; decides the units it may have and its limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// Air temperature or dew point. [°C]
    Temperature,
    /// Cover or humidity. [%]
    Percent,
    /// A chance, 0 to 1.
    Chance,
    /// Wind. [m/s]
    Speed,
    /// Water that fell. [mm]
    Depth,
    /// Mean of the hour. [W/m²]
    Irradiance,
    /// UV index.
    UvIndex,
}

/// From the unit of the file to ours: first the factor, then the offset.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conversion {
    factor: f64,
    offset: f64,
}

impl Conversion {
    const fn times(factor: f64) -> Conversion {
        Conversion {
            factor,
            offset: 0.0,
        }
    }

    /// Returns `value` in our unit.
    pub fn apply(self, value: f64) -> f64 {
        value * self.factor + self.offset
    }
}

impl Quantity {
    /// Finds the conversion for a unit as services write it, case ignored.
    ///
    /// `None` for a unit that is unknown or belongs to another quantity.
    pub fn find_conversion(self, unit: &str) -> Option<Conversion> {
        let unit = unit.trim().to_lowercase();
        let times = |factor| Some(Conversion::times(factor));
        match (self, unit.as_str()) {
            (Quantity::Temperature, "°c" | "c" | "celsius" | "degc") => times(1.0),
            (Quantity::Temperature, "°f" | "f" | "fahrenheit") => Some(Conversion {
                factor: 5.0 / 9.0,
                offset: -160.0 / 9.0,
            }),
            (Quantity::Temperature, "k" | "kelvin") => Some(Conversion {
                factor: 1.0,
                offset: -273.15,
            }),
            (Quantity::Percent, "%") => times(1.0),
            (Quantity::Chance, "%") => times(0.01),
            (Quantity::Speed, "m/s" | "ms") => times(1.0),
            (Quantity::Speed, "km/h" | "kmh") => times(1.0 / 3.6),
            // 1 mile = 1609.344 m, 1 nautical mile = 1852 m, by definition.
            (Quantity::Speed, "mp/h" | "mph") => times(1609.344 / 3600.0),
            (Quantity::Speed, "kn" | "kt" | "knots") => times(1852.0 / 3600.0),
            (Quantity::Depth, "mm" | "kg/m²" | "kg/m2") => times(1.0),
            (Quantity::Depth, "cm") => times(10.0),
            (Quantity::Depth, "inch" | "in") => times(25.4),
            (Quantity::Irradiance, "w/m²" | "w/m2") => times(1.0),
            // A sum over one hour, as a mean over the same hour.
            (Quantity::Irradiance, "kwh/m²") => times(1000.0),
            (Quantity::UvIndex, "" | "1" | "index") => times(1.0),
            _ => None,
        }
    }

    /// Returns the units that may stand in a file, for people.
    pub fn units(self) -> &'static str {
        match self {
            Quantity::Temperature => "°C, °F or K",
            Quantity::Percent | Quantity::Chance => "%",
            Quantity::Speed => "m/s, km/h, mph or kn",
            Quantity::Depth => "mm, cm or inch",
            Quantity::Irradiance => "W/m²",
            Quantity::UvIndex => "a plain number",
        }
    }

    /// Returns `value`, in our unit, if it can be on Earth; `None` if it cannot.
    ///
    /// What lies outside by no more than rounding is put on the limit.
    pub fn settle(self, value: f64) -> Option<f64> {
        // (tolerated from, limits, tolerated up to): wide of every record, so that
        // only a broken file or a wrong unit falls outside. [own choice]
        let (from, low, high, up_to) = match self {
            Quantity::Temperature => (-90.0, -90.0, 60.0, 60.0),
            Quantity::Percent => (-1.0, 0.0, 100.0, 105.0),
            Quantity::Chance => (-0.01, 0.0, 1.0, 1.01),
            Quantity::Speed => (-0.1, 0.0, 120.0, 120.0),
            Quantity::Depth => (-0.01, 0.0, 500.0, 500.0),
            Quantity::Irradiance => (-20.0, 0.0, 1500.0, 1500.0),
            Quantity::UvIndex => (-0.1, 0.0, 45.0, 45.0),
        };
        (from..=up_to)
            .contains(&value)
            .then(|| value.clamp(low, high))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(quantity: Quantity, unit: &str, value: f64, expected: f64) {
        let ours = quantity.find_conversion(unit).unwrap().apply(value);
        assert!((ours - expected).abs() < 1e-9, "{value} {unit}: {ours}");
    }

    #[test]
    fn every_unit_comes_out_in_ours() {
        check(Quantity::Temperature, "°F", 32.0, 0.0);
        check(Quantity::Temperature, "°F", 212.0, 100.0);
        check(Quantity::Temperature, "K", 273.15, 0.0);
        check(Quantity::Temperature, "celsius", 18.8, 18.8);
        check(Quantity::Speed, "km/h", 36.0, 10.0);
        check(Quantity::Speed, "mp/h", 10.0, 4.4704);
        check(Quantity::Speed, "kn", 3600.0 / 1852.0, 1.0);
        check(Quantity::Depth, "inch", 0.5, 12.7);
        check(Quantity::Chance, "%", 35.0, 0.35);
        check(Quantity::Irradiance, "kWh/m²", 0.197, 197.0);
    }

    #[test]
    fn a_unit_of_another_quantity_is_not_taken() {
        assert_eq!(Quantity::Speed.find_conversion("°C"), None);
        assert_eq!(Quantity::Depth.find_conversion("furlong"), None);
        assert_eq!(Quantity::Temperature.find_conversion(""), None);
    }

    #[test]
    fn rounding_is_forgiven_and_nonsense_is_not() {
        assert_eq!(Quantity::Percent.settle(100.4), Some(100.0));
        assert_eq!(Quantity::Irradiance.settle(-3.0), Some(0.0));
        assert_eq!(Quantity::Percent.settle(250.0), None);
        assert_eq!(Quantity::Temperature.settle(f64::NAN), None);
        assert_eq!(Quantity::Speed.settle(-4.0), None);
    }
}
