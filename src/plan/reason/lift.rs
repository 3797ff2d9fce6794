//! What can stand in an order's way, and how each of it is lifted in an instance.
//!
//! A [`Limit`] is a kind of thing; a [`Lift`] is a definite change, from "no end of
//! dark-dry places" down to "one more". Lifts only ever loosen an instance: each
//! plan that held before still holds after.
//!
//! Two limits are about people. *Hands* is how many work at once in the hours that
//! there are. *Hours* is how long the working day may last, by
//! `planning.extra_hours` at most; days off stay days off, since no plan should ask
//! for them.

use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate, NaiveTime, TimeDelta, Timelike, Weekday};
use serde::Serialize;

use crate::plan::grid::SLOT_MIN;
use crate::plan::model::{Instance, Slot, Space};
use crate::plan::setup::Setup;
use crate::plan::waiting::Standing;
use crate::studio::Studio;

/// What can stand in an order's way and could be lifted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Limit {
    /// Sun, cloud, wind and rain.
    Weather,
    /// Paper or cloth that is not there yet.
    Material,
    /// Dark-dry places.
    DarkDry,
    /// Wet-dry places.
    WetDry,
    /// Contact frames.
    Frames,
    /// Wash trays.
    Trays,
    /// Coating sessions in a day.
    Sessions,
    /// Days and hours at which the carrier comes.
    Collections,
    /// The end of the working day.
    Hours,
    /// How many people work at once.
    Hands,
}

impl Limit {
    /// All limits, in the order in which they are asked.
    pub const ALL: [Limit; 10] = [
        Limit::Weather,
        Limit::Material,
        Limit::DarkDry,
        Limit::WetDry,
        Limit::Frames,
        Limit::Trays,
        Limit::Sessions,
        Limit::Collections,
        Limit::Hours,
        Limit::Hands,
    ];
}

/// One thing that is different from what the studio has.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(tag = "lift", rename_all = "snake_case")]
pub enum Lift {
    /// A clear, still, dry sky on all days.
    FairSky,
    /// A material is there from a day on.
    Material {
        /// Its key.
        material: String,
        /// The first day with some of it.
        from: NaiveDate,
    },
    /// More dark-dry places, or centimetres of dark line.
    DarkDry {
        /// The kind of rack.
        space: Space,
        /// How many more.
        more: i64,
    },
    /// More wet-dry places, or centimetres of line.
    WetDry {
        /// The kind of rack.
        space: Space,
        /// How many more.
        more: i64,
    },
    /// More frames of a name.
    Frame {
        /// Its name.
        name: String,
        /// How many more.
        more: i64,
    },
    /// More wash trays.
    Trays {
        /// How many more.
        more: i64,
    },
    /// More coating sessions on any day.
    Sessions {
        /// How many more a day.
        more: i64,
    },
    /// The parcel is brought to the carrier, till the end of a day.
    Collection {
        /// The day.
        on: NaiveDate,
    },
    /// A working day lasts longer.
    Hours {
        /// The day.
        on: NaiveDate,
        /// When its work ends.
        until: NaiveTime,
    },
    /// More people at work.
    Hands {
        /// How many more.
        more: i64,
    },
}

/// More than any studio of two people has of anything.
const PLENTY: i64 = 1000;
/// The same for line. [cm]
const PLENTY_OF_LINE: i64 = 100_000;

/// Lifts a limit altogether.
pub fn lift_all(limit: Limit, setup: &Setup, studio: &Studio) -> Vec<Lift> {
    let spaces = [(Space::Sheet, PLENTY), (Space::Line, PLENTY_OF_LINE)];
    match limit {
        Limit::Weather => vec![Lift::FairSky],
        Limit::Material => materials(setup),
        Limit::DarkDry => spaces
            .map(|(space, more)| Lift::DarkDry { space, more })
            .to_vec(),
        Limit::WetDry => spaces
            .map(|(space, more)| Lift::WetDry { space, more })
            .to_vec(),
        Limit::Frames => frame_names(setup)
            .into_iter()
            .map(|name| Lift::Frame { name, more: PLENTY })
            .collect(),
        Limit::Trays => vec![Lift::Trays { more: PLENTY }],
        Limit::Sessions => vec![Lift::Sessions { more: PLENTY }],
        Limit::Collections => collections(setup, studio),
        Limit::Hours => evenings(setup, studio),
        Limit::Hands => vec![Lift::Hands { more: PLENTY }],
    }
}

impl Lift {
    /// Returns the limit that it is about.
    pub fn limit(&self) -> Limit {
        match self {
            Lift::FairSky => Limit::Weather,
            Lift::Material { .. } => Limit::Material,
            Lift::DarkDry { .. } => Limit::DarkDry,
            Lift::WetDry { .. } => Limit::WetDry,
            Lift::Frame { .. } => Limit::Frames,
            Lift::Trays { .. } => Limit::Trays,
            Lift::Sessions { .. } => Limit::Sessions,
            Lift::Collection { .. } => Limit::Collections,
            Lift::Hours { .. } => Limit::Hours,
            Lift::Hands { .. } => Limit::Hands,
        }
    }
}

/// Returns the instance of `setup` with all of `lifts` made; `fair` is the same
/// situation under a clear, still sky.
pub fn lifted(setup: &Setup, fair: &Setup, lifts: &[Lift]) -> Instance {
    let mut instance = setup.instance.clone();
    for lift in lifts {
        make(lift, setup, fair, &mut instance);
    }
    instance.collections.sort_unstable();
    instance.collections.dedup();
    instance
}

fn make(lift: &Lift, setup: &Setup, fair: &Setup, instance: &mut Instance) {
    let capacity = &mut instance.capacity;
    match lift {
        Lift::FairSky => instance.classes.clone_from(&fair.instance.classes),
        Lift::Material { material, from } => release(material, *from, setup, instance),
        Lift::DarkDry { space, more } => match space {
            Space::Sheet => capacity.dark_sheet += more,
            Space::Line => capacity.dark_line += more,
        },
        Lift::WetDry { space, more } => match space {
            Space::Sheet => capacity.open_sheet += more,
            Space::Line => capacity.open_line += more,
        },
        Lift::Frame { name, more } => {
            if let Some(count) = instance.frames.get_mut(name) {
                *count += more;
            }
        }
        Lift::Trays { more } => capacity.tray += more,
        Lift::Sessions { more } => instance.session.max_per_day += more,
        Lift::Collection { on } => instance.collections.push(end_of_day(*on, setup) - 1),
        Lift::Hours { on, until } => lengthen(*on, *until, setup, instance),
        Lift::Hands { more } => instance.operators += more,
    }
}

fn end_of_day(on: NaiveDate, setup: &Setup) -> Slot {
    (setup.grid.day_index(on) + 1) * setup.instance.per_day
}

fn release(material: &str, from: NaiveDate, setup: &Setup, instance: &mut Instance) {
    let from = setup.grid.slot_from(from.and_time(NaiveTime::MIN));
    let from = from.max(setup.now_slot());
    for (lot, core) in setup.lots.iter().zip(&mut instance.lots) {
        if lot.pieces[0].material.key == material {
            core.release = core.release.min(from);
        }
    }
}

/// Moves the end of a working day; a day without work stays without.
fn lengthen(on: NaiveDate, until: NaiveTime, setup: &Setup, instance: &mut Instance) {
    let day = setup.grid.day_index(on) * setup.instance.per_day;
    let until = day + Slot::from(until.num_seconds_from_midnight() / 60 / SLOT_MIN);
    let end = day + instance.per_day;
    let last = instance
        .work
        .iter_mut()
        .rfind(|(from, _)| (day..end).contains(from));
    match last {
        Some((_, last)) => *last = until.max(*last),
        None => {
            // The day's hours are over already, so what is left of it begins now.
            let from = setup.now_slot();
            if (day..until).contains(&from) {
                instance.work.push((from, until));
                instance.work.sort_unstable();
            }
        }
    }
}

/// Lists the materials that are still to come, as if they were there.
fn materials(setup: &Setup) -> Vec<Lift> {
    let now = setup.now_slot();
    let mut late = BTreeMap::new();
    for waiting in setup.lots.iter().flat_map(|lot| &lot.pieces) {
        match waiting.standing {
            Standing::Uncoated { release } if release > now => {
                late.insert(waiting.material.key.clone(), setup.now.date());
            }
            _ => {}
        }
    }
    late.into_iter()
        .map(|(material, from)| Lift::Material { material, from })
        .collect()
}

/// Lists the frames that some lot goes into.
fn frame_names(setup: &Setup) -> Vec<String> {
    let used = |name: &String| {
        let mut lots = setup.lots.iter().zip(&setup.instance.lots);
        lots.any(|(lot, core)| lot.frame.is_some() && core.frame == *name)
    };
    let names = setup.instance.frames.keys().cloned();
    names.filter(used).collect()
}

/// Lists the days on which a parcel could be brought to the carrier: no Sunday and no
/// holiday, since counters are closed then.
fn collections(setup: &Setup, studio: &Studio) -> Vec<Lift> {
    let open =
        |day: &NaiveDate| day.weekday() != Weekday::Sun && !studio.shipping.holidays.contains(day);
    days(setup)
        .filter(open)
        .map(|on| Lift::Collection { on })
        .collect()
}

/// Lists the working days, each with the longest evening that may be asked for.
fn evenings(setup: &Setup, studio: &Studio) -> Vec<Lift> {
    let extra = TimeDelta::minutes((studio.planning.extra_hours * 60.0) as i64);
    if extra < TimeDelta::minutes(i64::from(SLOT_MIN)) {
        return Vec::new();
    }
    let last = NaiveTime::from_hms_opt(23, 55, 0).expect("a time of day");
    days(setup)
        .filter_map(|on| {
            let (longer, days) = end_of_work(studio, on)?.overflowing_add_signed(extra);
            let until = if days > 0 { last } else { longer };
            (on.and_time(until) > setup.now).then_some(Lift::Hours { on, until })
        })
        .collect()
}

/// Returns when work ends on a day; none for a day off.
pub fn end_of_work(studio: &Studio, on: NaiveDate) -> Option<NaiveTime> {
    if studio.days_off.contains(&on) {
        return None;
    }
    let hours = studio
        .work
        .iter()
        .filter(|hours| hours.days.contains(&on.weekday()));
    hours.map(|hours| hours.until).max()
}

fn days(setup: &Setup) -> impl Iterator<Item = NaiveDate> {
    let first = setup.grid.first_day;
    (0..i64::from(setup.grid.days)).map(move |day| first + TimeDelta::days(day))
}
