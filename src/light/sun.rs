//! Where the sun stands, and when it rises, culminates and sets.
//!
//! The only file that calls the crate `solar-positioning`; its interface has
//! changed before, so nothing of it leaves here. Not here: how much light the
//! sun gives (`spectrum`), and any horizon other than the level one.

use chrono::{DateTime, TimeDelta, Utc};
use solar_positioning::{Horizon, Location, RefractionCorrection, SolarEvents, SolarPositions};

use super::atmosphere;
use crate::studio::Place;

/// TT − UT1. [s]
///
/// Near enough for decades: an error of 10 s moves the sun by 1e-4°.
pub const DELTA_T_S: f64 = 69.2;

/// Air temperature that refraction is computed with. [°C]
///
/// A mean of the year; 20 °C more or less moves a sun at 5° by 0.012°. [calc]
pub const REFRACTION_TEMPERATURE_C: f64 = 12.0;

/// Somebody who looks at the sun from one spot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observer {
    latitude_deg: f64,
    longitude_deg: f64,
    altitude_m: f64,
    pressure_pa: f64,
    temperature_c: f64,
    delta_t_s: f64,
}

/// The sun as seen by an observer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SunPosition {
    /// From straight up, lifted by refraction. [°]
    pub zenith_deg: f64,
    /// From north over east. [°]
    pub azimuth_deg: f64,
}

/// What the sun does between two instants, each list ascending.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SunEvents {
    /// Upper edge of the sun comes over a level horizon.
    pub rises: Vec<DateTime<Utc>>,
    /// Highest points.
    pub transits: Vec<DateTime<Utc>>,
    /// Upper edge of the sun goes under a level horizon.
    pub sets: Vec<DateTime<Utc>>,
}

impl SunPosition {
    /// Returns the height over the horizon, lifted by refraction. [°]
    pub fn elevation_deg(self) -> f64 {
        90.0 - self.zenith_deg
    }

    /// Returns the angle between the sun and the normal of a tilted frame. [°]
    ///
    /// `azimuth_deg` is where the tilted side looks, from north over east.
    ///
    /// # Sources
    /// Reda & Andreas, "Solar Position Algorithm for Solar Radiation
    /// Applications", NREL/TP-560-34302, 2003, step 3.15 (rewritten for azimuth
    /// from north).
    pub fn incidence_deg(self, tilt_deg: f64, azimuth_deg: f64) -> f64 {
        let (zenith, tilt) = (self.zenith_deg.to_radians(), tilt_deg.to_radians());
        let turn = (self.azimuth_deg - azimuth_deg).to_radians();
        let cosine = zenith.cos() * tilt.cos() + zenith.sin() * tilt.sin() * turn.cos();
        cosine.clamp(-1.0, 1.0).acos().to_degrees()
    }
}

impl Observer {
    /// Puts an observer at a latitude [°], a longitude [°] and an altitude [m].
    ///
    /// Air pressure follows from the altitude. Out of range values are brought
    /// back (latitude held at the pole, longitude turned round), so that asking
    /// for the sun cannot fail later.
    pub fn new(latitude_deg: f64, longitude_deg: f64, altitude_m: f64) -> Observer {
        let altitude_m = altitude_m.clamp(-500.0, 9000.0);
        Observer {
            latitude_deg: latitude_deg.clamp(-90.0, 90.0),
            longitude_deg: (longitude_deg + 180.0).rem_euclid(360.0) - 180.0,
            altitude_m,
            pressure_pa: atmosphere::pressure_pa(altitude_m),
            temperature_c: REFRACTION_TEMPERATURE_C,
            delta_t_s: DELTA_T_S,
        }
    }

    /// Puts an observer into the studio's place.
    pub fn at_place(place: &Place) -> Observer {
        Observer::new(place.latitude_deg, place.longitude_deg, place.altitude_m)
    }

    /// Returns the observer with measured air instead of the mean one.
    ///
    /// `pressure_pa` in Pa, `temperature_c` in °C, `delta_t_s` in s; held inside
    /// 1–200,000 Pa and −100–100 °C.
    pub fn with_air(self, pressure_pa: f64, temperature_c: f64, delta_t_s: f64) -> Observer {
        Observer {
            pressure_pa: pressure_pa.clamp(1.0, 200_000.0),
            temperature_c: temperature_c.clamp(-100.0, 100.0),
            delta_t_s,
            ..self
        }
    }

    /// Returns the latitude, north positive. [°]
    pub fn latitude_deg(&self) -> f64 {
        self.latitude_deg
    }

    /// Returns the longitude, east positive. [°]
    pub fn longitude_deg(&self) -> f64 {
        self.longitude_deg
    }

    /// Returns the air pressure. [Pa]
    pub fn pressure_pa(&self) -> f64 {
        self.pressure_pa
    }

    /// Returns where the sun stands at an instant.
    ///
    /// Outside the years −2000 to 6000, for which the algorithm makes no claim,
    /// the sun is straight down: no light rather than a wrong one.
    ///
    /// # Sources
    /// Reda & Andreas, NREL/TP-560-34302, 2003. Values checked against
    /// `tests/reference/light/sun_positions.csv` and `spa_example.csv`.
    ///
    /// # Example
    /// ```
    /// use fairday::light::sun::Observer;
    /// let observer = Observer::new(51.0, 15.0, 100.0);
    /// let noon = observer.sun_at("2027-06-21T11:01:00Z".parse().unwrap());
    /// assert!((noon.elevation_deg() - 62.44).abs() < 0.01);
    /// let night = observer.sun_at("2027-06-21T23:00:00Z".parse().unwrap());
    /// assert!(night.elevation_deg() < 0.0);
    /// ```
    pub fn sun_at(&self, at: DateTime<Utc>) -> SunPosition {
        let air = RefractionCorrection::new(self.pressure_pa / 100.0, self.temperature_c).ok();
        let sun =
            SolarPositions::new().at(&at, self.location(), self.altitude_m, self.delta_t_s, air);
        match sun {
            Ok(sun) => SunPosition {
                zenith_deg: sun.zenith_angle(),
                azimuth_deg: sun.azimuth(),
            },
            Err(_) => SunPosition {
                zenith_deg: 180.0,
                azimuth_deg: 0.0,
            },
        }
    }

    /// Returns what the sun does from `from` up to, not including, `until`.
    ///
    /// Times are to about a second; in reality the air shifts a sunrise by much
    /// more. Empty lists in polar day and night. A span of more than a year, or
    /// outside the years −2000 to 6000, gives nothing.
    ///
    /// # Sources
    /// Sun's centre at −50′ for rise and set, the usual convention. Values
    /// checked against `tests/reference/light/sun_rise_set.csv`.
    pub fn sun_events(&self, from: DateTime<Utc>, until: DateTime<Utc>) -> SunEvents {
        if until - from > TimeDelta::days(366) {
            return SunEvents::default();
        }
        let events = SolarEvents::new();
        let step = TimeDelta::milliseconds(1);
        let collect = |find: &dyn Fn(DateTime<Utc>) -> Option<DateTime<Utc>>| {
            // The search leaves out its start and includes its end; ours is the other way round.
            std::iter::successors(find(from - step), |&found| find(found))
                .take_while(|&found| found < until)
                .collect::<Vec<_>>()
        };
        let (location, delta_t) = (self.location(), self.delta_t_s);
        let horizon = Horizon::SunriseSunset;
        SunEvents {
            rises: collect(&|start| {
                let found = events.next_rise(&start, &until, location, delta_t, horizon);
                found.ok().flatten()
            }),
            transits: collect(&|start| {
                let found = events.next_transit(&start, &until, location.longitude, delta_t);
                found.ok().flatten()
            }),
            sets: collect(&|start| {
                let found = events.next_set(&start, &until, location, delta_t, horizon);
                found.ok().flatten()
            }),
        }
    }

    fn location(&self) -> Location {
        Location {
            latitude: self.latitude_deg,
            longitude: self.longitude_deg,
        }
    }
}
