//! From the text of `studio.yaml` to the studio it means.

use chrono::{Datelike, NaiveDateTime, NaiveTime};

use super::file::{FrameFile, StudioFile, Today, WorkFile, known_keys};
use super::section::Section;
use super::stand_in::{self, StandIn};
use super::{Frame, Place, Racks, Stand, Studio, Trays, WorkHours, defaults, letters, materials};
use crate::problem::Problem;
use crate::size::Size;
use crate::units::DoseRate;
use crate::yaml::reader::Reader;

/// Parses `studio.yaml`, which the maker knows as `file`.
///
/// Returns no studio if a value is wrong or a needed one is missing. A key that
/// is not known is a problem, but the rest is used.
///
/// # Example
/// ```
/// use fairday::studio::parse::parse;
/// let (studio, problems) = parse("studio: The Blue Shed\n", "studio.yaml");
/// assert!(studio.is_none());
/// assert_eq!(problems[0].what, "the key `frames` is missing");
/// ```
pub fn parse(text: &str, file: &str) -> (Option<Studio>, Vec<Problem>) {
    let reading = read(text, file);
    (reading.studio, reading.problems)
}

/// What came of reading `studio.yaml`.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The studio; none if something in its file is wrong.
    pub studio: Option<Studio>,
    /// What orders can be held against all the same, if the studio is none.
    pub stand_in: Option<StandIn>,
    /// What is to be mended.
    pub problems: Vec<Problem>,
}

/// Parses `studio.yaml` as [`parse`] does; a file with errors still says what it can, so
/// that what is wrong with the orders is not hidden behind it.
pub fn read(text: &str, file: &str) -> Reading {
    let mut reader = Reader::new(text, file);
    let shape = reader.read_shape::<StudioFile>(known_keys);
    let unknown_keys = reader.error_count();
    let parts = shape.as_ref().map(|shape| studio(shape, &mut reader));
    let is_whole = reader.error_count() == unknown_keys;
    let (studio, stand_in) = match (shape, parts) {
        (Some(_), Some(studio)) if is_whole => (Some(studio), None),
        (Some(shape), Some(studio)) => (None, StandIn::new(studio, &shape)),
        _ => (None, None),
    };
    Reading {
        studio,
        stand_in,
        problems: reader.finish(),
    }
}

/// Reads all parts; one that is wrong has left an error and is filled with whatever does
/// no harm.
fn studio(shape: &StudioFile, reader: &mut Reader) -> Studio {
    let top = &mut Section::top(reader);
    let name = top.need(&shape.studio, "studio", "The Blue Shed");
    let place = place(shape, top);
    let hands = top.count(&shape.hands, "hands", 1, 1..=20);
    let work = work(shape, top);
    let days_off = top.list(&shape.days_off, "days_off");
    let stand = stand(shape, top);
    let frames = frames(shape, top);
    let frame_margin_mm = top.number(
        &shape.frame_margin_mm,
        "frame_margin_mm",
        defaults::FRAME_MARGIN_MM,
        0.0..=200.0,
    );
    let racks = racks(shape, top);
    let trays = trays(shape, top);
    let materials = materials::materials(shape, top);
    let sensitizer = materials::sensitizer(shape, top);
    let keeping = materials::keeping(shape, top);
    let minutes = materials::minutes(shape, top);
    let weather = super::limits::weather(shape, top);
    let shipping = super::limits::shipping(shape, top);
    let planning = super::limits::planning(shape, top);
    let letters = letters::letters(shape, name.as_deref(), top);
    let drying = super::drying::drying(shape, top);
    let climate = super::climate::climate(shape, top);
    let promises = super::promises::promises(shape, top);
    let import = super::import::import(shape, top);
    let learning = super::learning::learning(shape, top);
    let fetch = super::fetch::fetch(shape, top);
    let today = top.take(&shape.today, "today");
    Studio {
        name: name.unwrap_or_default(),
        place: place.unwrap_or_else(stand_in::place),
        pinned_now: today.map(|today| moment(today, &work)),
        hands,
        work,
        days_off,
        stand,
        frames,
        frame_margin_mm,
        racks: racks.unwrap_or_else(stand_in::racks),
        trays: trays.unwrap_or_else(stand_in::trays),
        materials,
        sensitizer,
        keeping,
        minutes,
        weather,
        shipping,
        letters: letters.unwrap_or_else(stand_in::letters),
        forecast_file: top.take(&shape.forecast, "forecast"),
        drying,
        climate,
        learning,
        fetch,
        planning,
        promises,
        import,
    }
}

/// Returns the moment that `today` means: a day alone begins with its first work
/// hour, a day without work with the earliest of the week.
fn moment(today: Today, work: &[WorkHours]) -> NaiveDateTime {
    let day = match today {
        Today::At(moment) => return moment,
        Today::On(day) => day,
    };
    let earliest = |hours: &mut dyn Iterator<Item = &WorkHours>| hours.map(|h| h.from).min();
    let on_the_day = earliest(&mut work.iter().filter(|h| h.days.contains(&day.weekday())));
    let from = on_the_day.or_else(|| earliest(&mut work.iter()));
    day.and_time(from.unwrap_or(NaiveTime::MIN))
}

fn place(shape: &StudioFile, top: &mut Section) -> Option<Place> {
    let example = "{latitude_deg: 53.9, longitude_deg: -2.9, zone: Europe/London}";
    let shape = top.need_part(&shape.place, "place", example)?;
    let at = &mut top.below("place");
    let latitude = at.need_within(&shape.latitude_deg, "latitude_deg", "53.9", -90.0..=90.0);
    let longitude = at.need_within(
        &shape.longitude_deg,
        "longitude_deg",
        "-2.9",
        -180.0..=180.0,
    );
    let altitude_m = at.number(&shape.altitude_m, "altitude_m", 0.0, -450.0..=6000.0);
    let zone = at.need(&shape.zone, "zone", "Europe/London");
    Some(Place {
        latitude_deg: latitude?,
        longitude_deg: longitude?,
        altitude_m,
        zone: zone?,
    })
}

fn work(shape: &StudioFile, top: &mut Section) -> Vec<WorkHours> {
    let Some(entries) = &shape.work else {
        return defaults::work();
    };
    let list = top.trail.key("work");
    let mut work = Vec::new();
    for (index, entry) in entries.iter().enumerate() {
        let trail = list.index(index);
        work.extend(hours(entry, &mut Section::new(trail, top.reader)));
    }
    if entries.is_empty() {
        top.wrong_key(
            "work",
            "`work` lists no hours",
            "add `{days: [mon], from: 9:00, until: 17:00}`",
        );
    }
    work
}

fn hours(entry: &WorkFile, at: &mut Section) -> Option<WorkHours> {
    let days = at.need_list(&entry.days, "days", "[mon, tue, wed, thu, fri]");
    let from = at.need(&entry.from, "from", "9:00");
    let until = at.need(&entry.until, "until", "17:00");
    let (from, until) = (from?, until?);
    if until <= from {
        at.wrong_value(
            "until",
            "the work ends before it begins",
            "write a later time of the same day",
        );
    }
    Some(WorkHours {
        days: days?,
        from,
        until,
    })
}

fn stand(shape: &StudioFile, top: &mut Section) -> Stand {
    let d = defaults::stand();
    let Some(shape) = &shape.stand else { return d };
    let at = &mut top.below("stand");
    Stand {
        tilt_deg: at.number(&shape.tilt_deg, "tilt_deg", d.tilt_deg, 0.0..=90.0),
        azimuth_deg: at.number(
            &shape.azimuth_deg,
            "azimuth_deg",
            d.azimuth_deg,
            0.0..=360.0,
        ),
        albedo: at.number(&shape.albedo, "albedo", d.albedo, 0.0..=1.0),
        aerosol: at.number(&shape.aerosol, "aerosol", d.aerosol, 0.0..=3.0),
    }
}

fn frames(shape: &StudioFile, top: &mut Section) -> Vec<Frame> {
    let example = "[{name: large, inside: 42x52 cm, count: 1}]";
    let Some(entries) = top.need_part(&shape.frames, "frames", example) else {
        return Vec::new();
    };
    let list = top.trail.key("frames");
    let mut frames: Vec<Frame> = Vec::new();
    for (index, entry) in entries.iter().enumerate() {
        let trail = list.index(index);
        let at = &mut Section::new(trail, top.reader);
        let Some(frame) = frame(entry, at) else {
            continue;
        };
        if frames.iter().any(|other| other.name == frame.name) {
            let what = format!("two frames have the name `{}`", frame.name);
            at.wrong_value(
                "name",
                &what,
                "give it another name, or raise `count` of the first",
            );
        }
        frames.push(frame);
    }
    if entries.is_empty() {
        top.wrong_key(
            "frames",
            "`frames` lists nothing",
            &format!("write `frames: {example}`"),
        );
    }
    frames
}

fn frame(entry: &FrameFile, at: &mut Section) -> Option<Frame> {
    let name = at.need(&entry.name, "name", "large");
    let inside: Option<Size> = at.need(&entry.inside, "inside", "42x52 cm");
    let count = at.count(&entry.count, "count", 1, 1..=100);
    let lamp = at.take_within(&entry.lamp_w_m2, "lamp_w_m2", 0.1..=2000.0);
    Some(Frame {
        name: name?,
        inside: inside?,
        count,
        lamp: lamp.map(DoseRate),
    })
}

fn racks(shape: &StudioFile, top: &mut Section) -> Option<Racks> {
    let example = "{dark_dry_sheets: 12, wet_dry_sheets: 16}";
    let shape = top.need_part(&shape.racks, "racks", example)?;
    let at = &mut top.below("racks");
    let dark = at.need_within(&shape.dark_dry_sheets, "dark_dry_sheets", "12", 0..=10_000);
    let wet = at.need_within(&shape.wet_dry_sheets, "wet_dry_sheets", "16", 0..=10_000);
    let dark_line = at.count(&shape.dark_dry_line_cm, "dark_dry_line_cm", 0, 0..=100_000);
    let wet_line = at.count(&shape.wet_dry_line_cm, "wet_dry_line_cm", 0, 0..=100_000);
    let sheet_place = at.take(&shape.sheet_place, "sheet_place");
    Some(Racks {
        dark_dry_sheets: dark?,
        dark_dry_line_cm: dark_line,
        wet_dry_sheets: wet?,
        wet_dry_line_cm: wet_line,
        sheet_place: sheet_place.unwrap_or_else(defaults::sheet_place),
    })
}

fn trays(shape: &StudioFile, top: &mut Section) -> Option<Trays> {
    let shape = top.need_part(&shape.trays, "trays", "{inside: 45x60 cm, count: 2}")?;
    let at = &mut top.below("trays");
    let count = at.count(&shape.count, "count", 1, 1..=100);
    let inside = at.need(&shape.inside, "inside", "45x60 cm");
    Some(Trays {
        count,
        inside: inside?,
    })
}
