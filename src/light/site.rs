//! A place with its frames: all that light depends on besides time and clouds.

use chrono::{DateTime, Utc};

use super::atmosphere;
use super::bands::Sensitivity;
use super::spectrum::{Air, Facing, PrintingLight, printing_light};
use super::sun::{Observer, SunPosition};
use crate::forecast::Forecast;
use crate::studio::{Place, Stand};

/// Where frames stand, how, and what prints in them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Site {
    /// Who looks at the sun.
    pub observer: Observer,
    /// How frames stand.
    pub stand: Stand,
    /// What prints.
    pub sensitivity: Sensitivity,
    /// Total ozone; the usual one of place and day if none. [DU]
    pub ozone_du: Option<f64>,
}

impl Site {
    /// Puts frames into a place, with usual ozone and a coated sheet.
    pub fn new(place: &Place, stand: &Stand) -> Site {
        Site {
            observer: Observer::at_place(place),
            stand: *stand,
            sensitivity: Sensitivity::COATED_SHEET,
            ozone_du: None,
        }
    }

    /// Returns the site with the mean ozone of a forecast, where it tells any.
    ///
    /// One mean is enough: a fifth more ozone changes a printing time by under 1 %.
    pub fn with_ozone_of(self, forecast: &Forecast) -> Site {
        let plausible = |ozone: &f64| (50.0..=700.0).contains(ozone);
        let ozone: Vec<f64> = forecast
            .hours
            .iter()
            .filter_map(|hour| hour.ozone_du)
            .filter(plausible)
            .collect();
        let mean = ozone.iter().sum::<f64>() / ozone.len() as f64;
        Site {
            ozone_du: if ozone.is_empty() {
                self.ozone_du
            } else {
                Some(mean)
            },
            ..self
        }
    }

    /// Returns the total ozone on a day of the year. [DU]
    pub fn ozone_on(&self, day_of_year: u32) -> f64 {
        let (latitude, longitude) = (self.observer.latitude_deg(), self.observer.longitude_deg());
        self.ozone_du
            .unwrap_or_else(|| atmosphere::usual_ozone_du(latitude, longitude, day_of_year))
    }

    /// Returns the sun and the light that prints under a clear sky. [W/m²]
    ///
    /// # Example
    /// ```
    /// use fairday::light::Site;
    /// use fairday::studio::{Place, Stand};
    /// let zone = chrono_tz::Europe::Prague;
    /// let place = Place { latitude_deg: 51.0, longitude_deg: 15.0, altitude_m: 100.0, zone };
    /// let stand = Stand { tilt_deg: 0.0, azimuth_deg: 180.0, albedo: 0.05, aerosol: 0.15 };
    /// let site = Site::new(&place, &stand);
    /// let (_, noon) = site.clear_light_at("2027-06-21T11:00:00Z".parse().unwrap());
    /// let (_, night) = site.clear_light_at("2027-06-21T23:00:00Z".parse().unwrap());
    /// assert!((noon.frame() - 60.2).abs() < 0.1);
    /// assert_eq!(night.frame(), 0.0);
    /// ```
    pub fn clear_light_at(&self, at: DateTime<Utc>) -> (SunPosition, PrintingLight) {
        let sun = self.observer.sun_at(at);
        let day_of_year = atmosphere::solar_day_of_year(at, self.observer.longitude_deg());
        let air = Air {
            pressure_pa: self.observer.pressure_pa(),
            ozone_du: self.ozone_on(day_of_year),
            aerosol: self.stand.aerosol,
            albedo: self.stand.albedo,
            day_of_year,
        };
        let facing = Facing::of(sun, self.stand.tilt_deg, self.stand.azimuth_deg);
        let light = printing_light(sun.zenith_deg, facing, &air, &self.sensitivity);
        (sun, light)
    }
}
