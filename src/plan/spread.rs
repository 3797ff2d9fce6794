//! Between which minutes the exposures of a plan end, in nine of ten cases.
//!
//! A plan takes the median of what is known of dose and sky; here is how far off that
//! may be. Nothing is placed by it.

use std::collections::BTreeMap;

use super::model::Slot;
use super::setup::Setup;
use super::starts::Outdoors;
use crate::light::MinutesRange;

/// What the minutes of a plan rest on.
#[derive(Debug, Clone)]
pub struct Spreads<'a> {
    /// The problem whose lots are asked for.
    pub setup: &'a Setup<'a>,
    /// The light that it was made with.
    pub outdoors: Outdoors<'a>,
    /// Standard deviation of the logarithm of the dose, by material; zero for one that
    /// is missing.
    pub dose: BTreeMap<String, f64>,
}

impl Spreads<'_> {
    /// Returns between which minutes the exposure of a lot ends that goes into the sun
    /// at a slot; none under a lamp, or where there is no light for it.
    pub fn find(&self, lot: usize, at: Slot) -> Option<MinutesRange> {
        let key = &self.setup.table(lot).key;
        if key.lamp.is_some() {
            return None;
        }
        let material = &self.setup.lots[lot].pieces.first()?.material.key;
        let spread = self.dose.get(material).copied().unwrap_or(0.0);
        let from = self.setup.grid.find_instant(at)?;
        let light = self.outdoors.light;
        light.minutes_range(from, key.dose, spread).ok()
    }
}
