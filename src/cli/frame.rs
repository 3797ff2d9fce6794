//! The frame that was named: which one it is, and whether it can take the pieces.

use anyhow::{Result, bail};

use super::load::Loaded;
use super::mark::Meant;
use super::typed;
use crate::exposing::{InTheLight, NoRoom, PieceId, Running, find_no_room};
use crate::order::{LightSource, Order, Piece};
use crate::size::Size;
use crate::studio::Frame;
use crate::units::Length;

/// Finds the frame of a name that was typed, if one was.
///
/// # Errors
/// The studio has none of that name.
pub(super) fn find_frame<'a>(loaded: &'a Loaded, typed: Option<&str>) -> Result<Option<&'a Frame>> {
    let Some(typed) = typed else {
        return Ok(None);
    };
    let frames = &loaded.studio.frames;
    let names: Vec<&str> = frames.iter().map(|frame| frame.name.as_str()).collect();
    let name = typed::one_of("frame", typed, &names)?;
    Ok(frames.iter().find(|frame| frame.name == name))
}

/// # Errors
/// The pieces cannot go into the frame.
pub(super) fn may_take(
    loaded: &Loaded,
    light: &InTheLight,
    frame: &Frame,
    meant: &[Meant],
) -> Result<()> {
    let running = light.running.iter();
    let loadings: Vec<&Running> = running.filter(|of| of.is_in(&frame.name)).collect();
    let sizes: Vec<Vec<Size>> = loadings
        .iter()
        .map(|running| sizes(loaded, &running.pieces))
        .collect();
    let of_orders: Vec<(&Order, &Piece)> = meant
        .iter()
        .flat_map(|meant| meant.pieces().map(|piece| (meant.order, piece)))
        .collect();
    let pieces: Vec<&Piece> = of_orders.iter().map(|(_, piece)| *piece).collect();
    let margin = Length::from_mm(loaded.studio.frame_margin_mm);
    let why = match find_no_room(frame, margin, &pieces, &sizes) {
        None => return Ok(()),
        Some(NoRoom::OtherLight(index)) => other_light(loaded, frame, of_orders[index]),
        Some(NoRoom::TooLarge(index)) => too_large(loaded, frame, of_orders[index]),
        Some(NoRoom::Full { needed, free }) => {
            let names: Vec<String> = of_orders.iter().map(|of| name(*of)).collect();
            full(frame, &names.join(" "), (needed, free), &loadings)
        }
    };
    bail!("{why}; nothing was started")
}

fn sizes(loaded: &Loaded, pieces: &[PieceId]) -> Vec<Size> {
    let size = |id: &PieceId| Some(id.find(&loaded.orders)?.1.size);
    pieces.iter().filter_map(size).collect()
}

fn name((order, piece): (&Order, &Piece)) -> String {
    format!("{}/{}", order.number, piece.number)
}

fn other_light(loaded: &Loaded, frame: &Frame, of: (&Order, &Piece)) -> String {
    let (order, piece) = of;
    let (is, other) = match piece.light {
        LightSource::Sun => (
            format!(
                "is to be exposed in the sun, and `{}` has a lamp",
                frame.name
            ),
            "write `light: lamp` for it",
        ),
        LightSource::Lamp => (
            format!("is promised under the lamp, and `{}` has none", frame.name),
            "take `light: lamp` out",
        ),
    };
    format!(
        "{} {is}; {}, or {other} in `{}`",
        name(of),
        better(loaded, piece),
        order.file
    )
}

fn too_large(loaded: &Loaded, frame: &Frame, of: (&Order, &Piece)) -> String {
    format!(
        "{} is {} and does not fit into `{}`, which is {} inside; {}",
        name(of),
        of.1.size,
        frame.name,
        frame.inside,
        better(loaded, of.1)
    )
}

/// Names the frames that a piece goes into.
fn better(loaded: &Loaded, piece: &Piece) -> String {
    let frames = loaded.studio.frames_for(piece.light);
    let fit: Vec<String> = frames
        .filter(|frame| piece.size.fits_in(frame.inside))
        .map(|frame| format!("`--frame {}`", frame.name))
        .collect();
    match fit.is_empty() {
        true => "the studio has no frame for it".to_owned(),
        false => format!("it goes into {}", fit.join(" or ")),
    }
}

fn full(
    frame: &Frame,
    names: &str,
    (needed, free): (usize, usize),
    loadings: &[&Running],
) -> String {
    let Frame { name, count, .. } = frame;
    let lying = |running: &&Running| super::expose::names(&running.pieces);
    let (first, all): (Option<String>, Vec<String>) = (
        loadings.first().map(lying),
        loadings.iter().map(lying).collect(),
    );
    let Some(first) = first else {
        return format!(
            "{names} take {needed} frames `{name}`, and the studio has {count}; name fewer pieces"
        );
    };
    let free = match free {
        0 => format!("no frame `{name}` is free for {names}"),
        free => format!("{names} take {needed} frames `{name}`, and {free} of {count} are free"),
    };
    format!(
        "{free}: in the light lie {}; take them in first, such as: fairday mark exposed {first}",
        all.join(", ")
    )
}
