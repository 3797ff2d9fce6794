//! R18: nothing is ever fuller than it has places.
//!
//! For each resource the ends and beginnings of its uses are put in order of
//! time; what leaves at a slot makes room for what comes at it. The first slot
//! at which too much is in there is the verdict, one for each resource.

use std::collections::BTreeMap;

use super::verdict::{Broken, Resource, Span};
use crate::plan::model::{Instance, Slot, Space};

/// Places taken for a stretch of time.
#[derive(Debug, Clone)]
pub(super) struct Use<'a> {
    pub(super) resource: Resource,
    pub(super) who: &'a str,
    pub(super) at: Span,
    pub(super) amount: i64,
    /// It was there before the plan and is not the plan's doing.
    pub(super) given: bool,
}

/// What changes in a place at one slot.
#[derive(Debug, Clone, Copy, Default)]
struct Change {
    all: i64,
    planned: i64,
}

/// Finds the first overfull slot of each resource.
///
/// A slot counts only if something that is not given takes a place there.
pub(super) fn find_overfull(instance: &Instance, uses: &[Use]) -> Vec<Broken> {
    let mut by_resource: BTreeMap<&Resource, Vec<&Use>> = BTreeMap::new();
    for taken in uses.iter().filter(|taken| taken.at.from < taken.at.until) {
        by_resource.entry(&taken.resource).or_default().push(taken);
    }
    by_resource
        .into_iter()
        .filter_map(|(resource, uses)| {
            let places = places_of(instance, resource);
            let (at, taken) = first_overfull(places, &uses)?;
            let there = uses
                .iter()
                .filter(|taken| taken.at.from <= at && at < taken.at.until && taken.amount > 0);
            Some(Broken::OverCapacity {
                resource: resource.clone(),
                at,
                taken,
                places,
                by: there.map(|taken| taken.who.to_owned()).collect(),
            })
        })
        .collect()
}

/// The first slot with more than `places` taken, and how many.
fn first_overfull(places: i64, uses: &[&Use]) -> Option<(Slot, i64)> {
    let mut changes: BTreeMap<Slot, Change> = BTreeMap::new();
    for taken in uses {
        let planned = if taken.given { 0 } else { taken.amount };
        let comes = changes.entry(taken.at.from).or_default();
        comes.all += taken.amount;
        comes.planned += planned;
        let goes = changes.entry(taken.at.until).or_default();
        goes.all -= taken.amount;
        goes.planned -= planned;
    }
    let (mut all, mut planned) = (0, 0);
    for (slot, change) in changes {
        all += change.all;
        planned += change.planned;
        if all > places && planned > 0 {
            return Some((slot, all));
        }
    }
    None
}

/// How many places there are.
fn places_of(instance: &Instance, resource: &Resource) -> i64 {
    let capacity = &instance.capacity;
    match resource {
        Resource::Hands => instance.operators,
        Resource::Dark(Space::Sheet) => capacity.dark_sheet,
        Resource::Dark(Space::Line) => capacity.dark_line,
        Resource::Open(Space::Sheet) => capacity.open_sheet,
        Resource::Open(Space::Line) => capacity.open_line,
        Resource::Trays => capacity.tray,
        Resource::Frame(name) => instance.frames.get(name).copied().unwrap_or(0),
    }
}
