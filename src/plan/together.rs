//! From waiting pieces to lots: what goes into one frame together.
//!
//! Like with like: pieces share a lot only if they are of one material, under
//! the same cover and light, and stand at the same point. How rectangles lie in
//! a frame is `lay`, who shares one is `lots`; when a lot goes out is the search. Pieces that are past
//! the frame go on with those that lay in it with them, or by order if that is not known.

use std::collections::BTreeMap;

use super::grid::slots_of_minutes;
use super::lay::Laid;
use super::lots::{LotRules, ToLay, lots as divide};
use super::model::Slot;
use super::waiting::{Standing, Waiting};
use crate::order::{Cover, LightSource, Piece};
use crate::size::Size;
use crate::studio::{MaterialKind, Studio};
use crate::units::Length;

/// Pieces that go through together.
#[derive(Debug, Clone)]
pub struct Together<'a> {
    /// Its pieces, by order and number.
    pub pieces: Vec<Waiting<'a>>,
    /// Index of its frame in the studio's list; none once it is past the frame.
    pub frame: Option<usize>,
    /// How the pieces lie in the frame, in the order of `pieces`.
    pub laid: Vec<Laid>,
}

/// What came of grouping.
#[derive(Debug, Clone, Default)]
pub struct Grouped<'a> {
    /// Lots, in a stable order.
    pub lots: Vec<Together<'a>>,
    /// Pieces that fit no frame for their light.
    pub too_large: Vec<Waiting<'a>>,
}

/// Tells whether the wind can take what lies on the piece.
pub fn is_loose(waiting: &Waiting) -> bool {
    waiting.piece.cover == Cover::None
}

/// Tells whether somebody stays with the piece in the light.
pub fn is_watched(piece: &Piece, studio: &Studio) -> bool {
    piece.cover == Cover::None && piece.light == LightSource::Sun && studio.weather.watch_loose
}

/// Whom a piece goes on with past the frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Company {
    /// Those that lay in the frame with it, by the number of the loading.
    Loading(usize),
    /// Those of its order, by index.
    Order(usize),
}

/// Groups the pieces into lots; `due_day` gives each order's promised day number, and
/// `company` whom a piece past the frame goes on with.
pub fn group<'a>(
    pieces: &[Waiting<'a>],
    studio: &Studio,
    due_day: &[i64],
    company: impl Fn(&Waiting) -> Company,
) -> Grouped<'a> {
    let mut grouped = Grouped::default();
    let mut framed: BTreeMap<LightSource, Vec<Waiting<'a>>> = BTreeMap::new();
    let mut past: BTreeMap<Past, Vec<Waiting<'a>>> = BTreeMap::new();
    let mut exposed: BTreeMap<(Company, &str), Vec<(Slot, Waiting<'a>)>> = BTreeMap::new();
    for waiting in pieces {
        match waiting.standing {
            Standing::Uncoated { .. } | Standing::Coated { .. } => {
                framed
                    .entry(waiting.piece.light)
                    .or_default()
                    .push(*waiting);
            }
            Standing::Exposed { exposed_end } => {
                let key = (company(waiting), waiting.material.key.as_str());
                exposed
                    .entry(key)
                    .or_default()
                    .push((exposed_end, *waiting));
            }
            Standing::Washed { .. } => {
                let key = (
                    company(waiting),
                    waiting.material.key.as_str(),
                    waiting.standing,
                );
                past.entry(key).or_default().push(*waiting);
            }
            Standing::Finished => {}
        }
    }
    for (light, pieces) in &framed {
        lay(*light, pieces, studio, due_day, &mut grouped);
    }
    past.extend(taken_in_together(exposed, studio));
    let past = past.into_values();
    grouped.lots.extend(past.map(|pieces| Together {
        pieces,
        frame: None,
        laid: Vec::new(),
    }));
    grouped
}

/// What lots past the frame have in common, and come in the order of.
type Past<'k> = (Company, &'k str, Standing);

/// Puts pieces of one company together that come out of the frame one after the other, as
/// long as the first can wait for the last.
fn taken_in_together<'k, 'a>(
    exposed: BTreeMap<(Company, &'k str), Vec<(Slot, Waiting<'a>)>>,
    studio: &Studio,
) -> Vec<(Past<'k>, Vec<Waiting<'a>>)> {
    let wait = slots_of_minutes(studio.minutes.wash_within);
    let mut groups = Vec::new();
    for ((company, material), mut pieces) in exposed {
        pieces.sort_by_key(|(end, _)| *end);
        let mut rest = pieces.as_slice();
        while let [(first, _), ..] = rest {
            let count = rest.partition_point(|(end, _)| end - first <= wait);
            let standing = Standing::Exposed {
                exposed_end: rest[count - 1].0,
            };
            let mut group: Vec<Waiting> = rest[..count].iter().map(|piece| piece.1).collect();
            group.sort_by_key(|piece| (piece.order, piece.piece.number));
            for piece in &mut group {
                piece.standing = standing;
            }
            groups.push(((company, material, standing), group));
            rest = &rest[count..];
        }
    }
    groups
}

/// What pieces of one lot have in common.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Alike {
    standing: Standing,
    material: String,
    cover: Cover,
    light: LightSource,
}

impl Alike {
    fn of(waiting: &Waiting) -> Alike {
        Alike {
            standing: waiting.standing,
            material: waiting.material.key.clone(),
            cover: waiting.piece.cover,
            light: waiting.piece.light,
        }
    }
}

/// Divides pieces that may share a frame into lots, in the frames for their light.
fn lay<'a>(
    light: LightSource,
    pieces: &[Waiting<'a>],
    studio: &Studio,
    due_day: &[i64],
    grouped: &mut Grouped<'a>,
) {
    let lamp = light == LightSource::Lamp;
    let usable: Vec<usize> = (0..studio.frames.len())
        .filter(|index| studio.frames[*index].count > 0)
        .filter(|index| studio.frames[*index].lamp.is_some() == lamp)
        .collect();
    let insides: Vec<Size> = usable
        .iter()
        .map(|index| studio.frames[*index].inside)
        .collect();
    let to_lay: Vec<ToLay<Alike>> = pieces
        .iter()
        .map(|waiting| ToLay {
            size: waiting.piece.size,
            key: Alike::of(waiting),
            order: waiting.order,
            due: Some(due_day[waiting.order]),
        })
        .collect();
    let rules = LotRules {
        frames: &insides,
        margin: Length::from_mm(studio.frame_margin_mm),
        prices: studio.planning.lots,
        together: &|indices| has_room(indices.iter().map(|index| &pieces[*index]), studio),
    };
    let (lots, left) = divide(&to_lay, &rules);
    grouped
        .too_large
        .extend(left.into_iter().map(|index| pieces[index]));
    for lot in lots {
        let (indices, laid): (Vec<usize>, Vec<Laid>) = lot.pieces.into_iter().unzip();
        grouped.lots.push(Together {
            pieces: indices.into_iter().map(|index| pieces[index]).collect(),
            frame: Some(usable[lot.frame]),
            laid,
        });
    }
}

/// Tells whether racks and the life of a mix have room for the pieces at once.
fn has_room<'p, 'a: 'p>(pieces: impl Iterator<Item = &'p Waiting<'a>>, studio: &Studio) -> bool {
    let pieces: Vec<&Waiting> = pieces.collect();
    let minutes = |w: &&Waiting| w.material.coat_minutes * f64::from(w.material.coats);
    let coat_minutes: f64 = pieces.iter().map(minutes).sum();
    let kinds = pieces.iter().map(|w| (w.piece.size, w.material.kind));
    let (sheets, line_cm) = rack_places(kinds, studio);
    let racks = &studio.racks;
    sheets <= i64::from(racks.dark_dry_sheets.min(racks.wet_dry_sheets))
        && line_cm <= i64::from(racks.dark_dry_line_cm.min(racks.wet_dry_line_cm))
        && coat_minutes <= studio.sensitizer.mix_life_hours * 60.0
}

/// Returns the shelves that the sheets among pieces take, and the line of the cloths. [cm]
pub fn rack_places(
    pieces: impl Iterator<Item = (Size, MaterialKind)>,
    studio: &Studio,
) -> (i64, i64) {
    let (mut sheets, mut line_cm) = (0, 0);
    for (size, kind) in pieces {
        let places = places_of_piece(size, kind, studio);
        match kind {
            MaterialKind::Paper => sheets += places,
            MaterialKind::Cloth => line_cm += places,
        }
    }
    (sheets, line_cm)
}

/// Line that the pegs take beside a cloth itself. [cm]
const PEGS_CM: f64 = 2.0;

/// Returns the rack places of a piece: shelves for a sheet, centimetres of line for a cloth.
pub fn places(waiting: &Waiting, studio: &Studio) -> i64 {
    places_of_piece(waiting.piece.size, waiting.material.kind, studio)
}

/// Returns the rack places of a piece of a size, as [`places`] does.
pub fn places_of_piece(size: Size, kind: MaterialKind, studio: &Studio) -> i64 {
    match kind {
        MaterialKind::Cloth => (size.short_side().mm() / 10.0 + PEGS_CM).ceil() as i64,
        MaterialKind::Paper if size.fits_in(studio.racks.sheet_place) => 1,
        MaterialKind::Paper => (size.area_m2() / studio.racks.sheet_place.area_m2())
            .ceil()
            .max(2.0) as i64,
    }
}
