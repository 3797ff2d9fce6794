//! What orders can be held against while `studio.yaml` has errors.
//!
//! Nothing is planned on it. Where a part is wrong it knows too much rather than too
//! little, so that no order is blamed for what the studio's file lacks; what cannot be
//! judged by it is said.

use chrono_tz::Tz;

use super::defaults;
use super::file::StudioFile;
use super::{Frame, Letters, Material, MaterialKind, Place, Racks, Studio, Transport, Trays};
use crate::size::Size;
use crate::units::DoseRate;

/// A studio with harmless values where its file is wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct StandIn {
    /// The studio.
    pub studio: Studio,
    /// Whether its clock is known.
    pub has_clock: bool,
    /// Whether its frames and trays are known.
    pub has_sizes: bool,
}

/// Larger than any sheet. [mm]
const ANY_SIDE: f64 = 100_000.0;

impl StandIn {
    /// Completes a studio by what its file names; none where no material is named.
    pub(super) fn new(studio: Studio, shape: &StudioFile) -> Option<StandIn> {
        let mut studio = studio;
        for (key, _) in &shape.materials.as_ref()?.0 {
            let any = || any_material(key);
            studio.materials.entry(key.clone()).or_insert_with(any);
        }
        let ways = shape.shipping.iter().flat_map(|s| s.transit_days.iter());
        for (destination, _) in ways.flat_map(|ways| &ways.0) {
            let days = &mut studio.shipping.transit_days;
            days.entry(destination.clone()).or_insert(0);
        }
        let named = shape.frames.as_ref().map_or(0, Vec::len);
        let has_frames = named > 0 && studio.frames.len() == named;
        if !has_frames {
            studio.frames.extend(any_frames());
        }
        let has_trays = studio.trays.inside != any_size();
        let place = shape.place.as_ref();
        let zone = place.and_then(|place| place.zone.as_ref()?.parse());
        Some(StandIn {
            has_clock: zone.is_some(),
            has_sizes: has_frames && has_trays,
            studio: Studio {
                place: Place {
                    zone: zone.unwrap_or(Tz::UTC),
                    ..studio.place
                },
                ..studio
            },
        })
    }
}

fn any_size() -> Size {
    Size::from_mm(ANY_SIDE, ANY_SIDE)
}

/// A material of which nothing is wrong: no tray is too small for it, no wait too short.
fn any_material(key: &str) -> Material {
    Material {
        key: key.to_owned(),
        name: key.to_owned(),
        dark_dry_hours: 0.0,
        wet_dry_hours: 0.0,
        cure_hours: 0.0,
        ..defaults::material(MaterialKind::Cloth)
    }
}

fn any_frames() -> [Frame; 2] {
    let frame = |name: &str, lamp| Frame {
        name: name.to_owned(),
        inside: any_size(),
        count: 1,
        lamp,
    };
    [frame("any", None), frame("any lamp", Some(DoseRate(1.0)))]
}

pub(super) fn place() -> Place {
    Place {
        latitude_deg: 0.0,
        longitude_deg: 0.0,
        altitude_m: 0.0,
        zone: Tz::UTC,
    }
}

pub(super) fn racks() -> Racks {
    Racks {
        dark_dry_sheets: 0,
        dark_dry_line_cm: 0,
        wet_dry_sheets: 0,
        wet_dry_line_cm: 0,
        sheet_place: defaults::sheet_place(),
    }
}

pub(super) fn trays() -> Trays {
    Trays {
        count: 1,
        inside: any_size(),
    }
}

pub(super) fn letters() -> Letters {
    Letters {
        from: String::new(),
        reply_to: None,
        person: String::new(),
        transport: Transport::Folder(String::new()),
        planned: false,
        remade: false,
        hold_days: defaults::HOLD_DAYS,
        doubt_share: defaults::DOUBT_SHARE,
    }
}
