//! How the pieces lie in their frame, drawn to scale.

use super::svg::{Anchor, Area, Drawing};
use crate::order::Piece;
use crate::plan::lay::Laid;
use crate::size::Size;

/// Longer side of the drawing, the frame's wall left out. [drawing units]
const LONG_SIDE: f64 = 96.0;
/// The frame's wall. [drawing units]
const WALL: f64 = 4.0;

/// Returns the height of a frame's drawing as a share of its width.
pub fn drawing_height(inside: Size) -> f64 {
    let (width, height) = outside(inside);
    height / width
}

/// Returns width and height of a frame's drawing, its wall included. [drawing units]
fn outside(inside: Size) -> (f64, f64) {
    let scale = scale(inside);
    let length = |mm: f64| mm * scale + 2.0 * WALL;
    (length(inside.width.mm()), length(inside.height.mm()))
}

/// Returns drawing units for a millimetre. [1/mm]
fn scale(inside: Size) -> f64 {
    LONG_SIDE / inside.width.mm().max(inside.height.mm()).max(1.0)
}

/// Draws a frame with its pieces, each with its mark; to scale, so that the hand
/// finds the corner.
pub fn frame_drawing(inside: Size, pieces: &[(&Piece, Laid, String)]) -> String {
    let (width, height) = (inside.width.mm(), inside.height.mm());
    let (scale, size) = (scale(inside), outside(inside));
    let mut drawing = Drawing::default();
    drawing.rect(
        "wall",
        Area {
            // Well inside: a printer's page clips half a point off the edge of a drawing.
            x: WALL / 2.0,
            y: WALL / 2.0,
            width: size.0 - WALL,
            height: size.1 - WALL,
        },
    );
    drawing.rect(
        "glass",
        Area {
            x: WALL,
            y: WALL,
            width: width * scale,
            height: height * scale,
        },
    );
    for (piece, laid, mark) in pieces {
        let (across, down) = match laid.turned {
            true => (piece.size.height, piece.size.width),
            false => (piece.size.width, piece.size.height),
        };
        let area = Area {
            x: WALL + laid.x.mm() * scale,
            y: WALL + laid.y.mm() * scale,
            width: across.mm() * scale,
            height: down.mm() * scale,
        };
        let name = format!("{mark}: {} {}", piece.size, piece.title);
        drawing.told(&name, |drawing| {
            drawing.rect("sheet-of-paper", area);
            let middle = (area.x + area.width / 2.0, area.y + area.height / 2.0 + 7.0);
            drawing.text("mark", Anchor::Middle, middle, mark);
        });
    }
    let names = pieces.iter().map(|(piece, laid, mark)| {
        let turned = if laid.turned { ", turned" } else { "" };
        format!(
            "{mark}: {}{turned}, {:.0} mm from the left and {:.0} mm from the top",
            piece.size,
            laid.x.mm(),
            laid.y.mm()
        )
    });
    let about: Vec<String> = names.collect();
    drawing.into_image("frame", size, "How the pieces lie", &about.join("; "))
}
