//! How many pieces come out of a sheet or a row of cloth.
//!
//! Rows and columns of one size, as one cuts with a knife and a ruler; what is left over
//! counts for nothing. Nothing is kept free between the cuts.

use crate::size::Size;
use crate::stock::Form;
use crate::units::Length;

/// What is cut at once: a sheet, or a row across the cloth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// Pieces that come out of it.
    pub pieces: u32,
    /// What it takes: one sheet, or so much of the length. [sheets, 0.1 mm]
    pub takes: u32,
    /// Material that goes for one piece, off-cuts included. [m²]
    pub m2_each: f64,
}

/// Returns how pieces of a size are cut; none if not even one comes out.
///
/// # Example
/// ```
/// use fairday::size::Size;
/// use fairday::stock::Form;
/// use fairday::supply::cut::cut;
/// let sheet = Form::Sheets { size: Size::parse("56x76 cm").unwrap(), count: 5 };
/// let a4 = Size::parse("A4").unwrap();
/// // Two rows of two upright; lying, three rows of one.
/// assert_eq!(cut(sheet, a4).unwrap().pieces, 4);
/// assert_eq!(cut(sheet, Size::parse("A1").unwrap()), None);
/// ```
pub fn cut(form: Form, piece: Size) -> Option<Cut> {
    match form {
        Form::Sheets { size, .. } => {
            let upright = grid(size, piece);
            let pieces = upright.max(grid(size, piece.turned()));
            (pieces > 0).then(|| Cut {
                pieces,
                takes: 1,
                m2_each: size.area_m2() / f64::from(pieces),
            })
        }
        Form::Roll { width, .. } => {
            let rows = [piece, piece.turned()];
            let rows = rows.iter().filter_map(|piece| row(width, *piece));
            rows.min_by(|a, b| a.m2_each.total_cmp(&b.m2_each))
        }
    }
}

fn grid(sheet: Size, piece: Size) -> u32 {
    (sheet.width.0 / piece.width.0.max(1)) * (sheet.height.0 / piece.height.0.max(1))
}

/// Lays the width of a piece across the cloth.
fn row(width: Length, piece: Size) -> Option<Cut> {
    let pieces = width.0 / piece.width.0.max(1);
    (pieces > 0).then(|| Cut {
        pieces,
        takes: piece.height.0,
        m2_each: width.mm() * piece.height.mm() / 1e6 / f64::from(pieces),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Cloth 140 cm wide: 50 × 61 cm lie two across with 61 cm each row, or turned two
    /// with 50 cm: the second takes less.
    #[test]
    fn cloth_is_cut_in_the_rows_that_take_least() {
        let roll = Form::Roll {
            width: Length::from_mm(1400.0),
            length: Length::from_mm(3000.0),
        };
        let found = cut(roll, Size::from_mm(500.0, 610.0)).unwrap();
        assert_eq!((found.pieces, found.takes), (2, 5000));
        assert_eq!(cut(roll, Size::from_mm(1500.0, 1500.0)), None);
    }
}
