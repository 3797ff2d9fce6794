//! How the pieces lie in their frame, drawn to scale.

use super::svg::{Anchor, Area, Drawing};
use crate::order::Piece;
use crate::plan::lay::Laid;
use crate::size::Size;

/// Longer side of the drawing, the frame's wall left out. [drawing units]
const LONG_SIDE: f64 = 96.0;
/// The frame's wall. [drawing units]
const WALL: f64 = 4.0;

/// Draws a frame with its pieces, each with its mark; to scale, so that the hand
/// finds the corner.
pub fn frame_drawing(inside: Size, pieces: &[(&Piece, Laid, String)]) -> String {
    let (width, height) = (inside.width.mm(), inside.height.mm());
    let scale = LONG_SIDE / width.max(height).max(1.0);
    let size = (width * scale + 2.0 * WALL, height * scale + 2.0 * WALL);
    let mut drawing = Drawing::default();
    drawing.rect(
        "wall",
        Area {
            x: 0.5,
            y: 0.5,
            width: size.0 - 1.0,
            height: size.1 - 1.0,
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
            let middle = (area.x + area.width / 2.0, area.y + area.height / 2.0 + 5.0);
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
