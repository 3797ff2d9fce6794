//! Dates that hold, from a loaded studio: its climate, and progress on the way.

use chrono::NaiveDate;

use super::load::Loaded;
use super::progress::while_doing;
use crate::climate::Days;
use crate::light::Site;
use crate::odds::{DayShare, HonestDates, Odds, Scene, honest_days, odds, wanted_days};
use crate::order::Order;
use crate::outside::climate::read_climate;
use crate::problem::Problem;
use crate::studio::{ClimateSource, defaults};
use crate::view::promise::GroundNote;

/// What goes on while it takes long.
const DRAWING: &str = "drawing weathers";

/// What dates are drawn from, for one loaded studio.
#[derive(Debug)]
pub struct Chances<'a> {
    loaded: &'a Loaded,
    site: Site,
    climate: Days,
    orders: Vec<Order>,
    problems: Vec<Problem>,
}

impl<'a> Chances<'a> {
    /// Makes ready to draw: reads the climate that the studio names, or takes the
    /// rough one by latitude.
    pub fn of(loaded: &'a Loaded) -> Chances<'a> {
        let (climate, problem) = climate(loaded);
        // Beside a forecast the plan needs the file too and has told of it.
        let untold = problem.filter(|_| loaded.forecast.is_none());
        Chances {
            loaded,
            site: loaded.site(),
            climate,
            problems: untold.into_iter().collect(),
            orders: loaded.begun().to_vec(),
        }
    }

    /// Finds the dates that hold for an order that is not taken yet, and the days that
    /// one could promise.
    ///
    /// If an order of its number is in the folder, it is taken out of it for the
    /// question. Shows progress on the error channel when it takes long.
    pub fn dates(&mut self, order: &Order) -> (HonestDates, Vec<DayShare>) {
        self.orders.retain(|other| other.number != order.number);
        while_doing(DRAWING, || honest_days(&self.scene(), order))
    }

    /// Finds how sure every open order is. Shows progress when it takes long.
    pub fn odds(&self) -> Odds {
        while_doing(DRAWING, || odds(&self.scene()))
    }

    /// Returns what is to be mended and nobody was told of yet.
    pub fn problems(&self) -> &[Problem] {
        &self.problems
    }

    /// Returns the studio as dates are drawn from it.
    pub fn scene(&self) -> Scene<'_> {
        Scene {
            orders: &self.orders,
            studio: &self.loaded.studio,
            site: &self.site,
            forecast: self.loaded.service.as_ref(),
            climate: &self.climate,
            now: self.loaded.now,
            dry_factor: self.loaded.dry_factor(),
        }
    }

    /// Says what the dates rest on.
    pub fn ground(&self) -> GroundNote {
        let until = self.loaded.forecast_until;
        let zone = self.loaded.studio.place.zone;
        let day = |at: chrono::DateTime<chrono::Utc>| -> NaiveDate {
            at.with_timezone(&zone).date_naive()
        };
        GroundNote {
            credit: self
                .loaded
                .service
                .as_ref()
                .map(|service| service.credit.clone()),
            forecast_until: until.map(day),
            climate: self.climate.origin.clone(),
            is_rough: self.climate.is_rough,
        }
    }
}

/// Reads the days of the climate; the rough one stands in for a file that cannot be
/// read, and for none.
fn climate(loaded: &Loaded) -> (Days, Option<Problem>) {
    let place = &loaded.studio.place;
    let named = loaded.studio.climate.as_ref();
    let wet_share = named.map_or(defaults::WET_SHARE, |climate| climate.wet_share);
    let rough = || Days::by_latitude(place.latitude_deg, place.longitude_deg, wet_share);
    let Some(ClimateSource::File(file)) = named.map(|climate| &climate.source) else {
        return (rough(), None);
    };
    match read_climate(&loaded.folder, file) {
        Ok(year) => {
            let wanted = wanted_days(loaded.now, loaded.studio.promises.days);
            (Days::of_year(&year, wet_share, wanted), None)
        }
        Err(problem) => (rough(), Some(*problem)),
    }
}
