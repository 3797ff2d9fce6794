//! Sizes of pieces and frames: ISO 216, inches, free millimetres.
//!
//! A size is what the maker writes (`A4`, `8x10 in`, `150x200 mm`). It knows
//! nothing of margins or of how pieces lie in a frame; that is `plan/lay.rs`.

use std::fmt;

use crate::units::Length;

/// Width and height of a sheet or of the inside of a frame, as written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Size {
    /// The first of the two numbers. [0.1 mm]
    pub width: Length,
    /// The second of the two numbers. [0.1 mm]
    pub height: Length,
}

/// Widths and heights of ISO 216, series A. [mm]
///
/// # Sources
/// ISO 216 tables, encyclopaedia copies.
const ISO_216_A: [(&str, u32, u32); 7] = [
    ("A0", 841, 1189),
    ("A1", 594, 841),
    ("A2", 420, 594),
    ("A3", 297, 420),
    ("A4", 210, 297),
    ("A5", 148, 210),
    ("A6", 105, 148),
];

/// Millimetres in an inch, by definition. [mm]
const INCH_MM: f64 = 25.4;

/// The largest side that is taken for a size and not for a slip. [mm]
const SIDE_MAX_MM: f64 = 5000.0;

impl Size {
    /// Returns the size with the two sides given. [mm]
    pub fn from_mm(width: f64, height: f64) -> Size {
        Size {
            width: Length::from_mm(width),
            height: Length::from_mm(height),
        }
    }

    /// Parses `A4`, `8x10 in`, `200x150 mm` or `20x15 cm`; `×` is as good as `x`.
    ///
    /// `None` for anything else, for a side of zero and for sides above 5 m.
    ///
    /// # Example
    /// ```
    /// use fairday::size::Size;
    /// assert_eq!(Size::parse("8x10 in"), Some(Size::from_mm(203.2, 254.0)));
    /// assert_eq!(Size::parse("a4"), Some(Size::from_mm(210.0, 297.0)));
    /// assert_eq!(Size::parse("8x10"), None); // no unit, no guess
    /// ```
    pub fn parse(text: &str) -> Option<Size> {
        let text = text.trim();
        let named = ISO_216_A
            .iter()
            .find(|(name, ..)| name.eq_ignore_ascii_case(text));
        if let Some(&(_, width, height)) = named {
            return Some(Size::from_mm(f64::from(width), f64::from(height)));
        }
        let lower = text.to_lowercase().replace('×', "x");
        let (sides, unit_mm) = [("mm", 1.0), ("cm", 10.0), ("in", INCH_MM)]
            .iter()
            .find_map(|(unit, mm)| Some((lower.strip_suffix(unit)?, *mm)))?;
        let (width, height) = sides.split_once('x')?;
        let side = |text: &str| {
            let mm = text.trim().parse::<f64>().ok()? * unit_mm;
            (1.0..=SIDE_MAX_MM).contains(&mm).then_some(mm)
        };
        Some(Size::from_mm(side(width)?, side(height)?))
    }

    /// Returns the area. [m²]
    pub fn area_m2(self) -> f64 {
        self.width.mm() * self.height.mm() / 1e6
    }

    /// Returns the size with its sides exchanged.
    pub fn turned(self) -> Size {
        Size {
            width: self.height,
            height: self.width,
        }
    }

    /// Tells whether the size lies inside `frame`, turned if need be.
    pub fn fits_in(self, frame: Size) -> bool {
        let upright = self.width <= frame.width && self.height <= frame.height;
        let turned = self.height <= frame.width && self.width <= frame.height;
        upright || turned
    }

    /// Returns the shorter side. [0.1 mm]
    pub fn short_side(self) -> Length {
        self.width.min(self.height)
    }
}

impl fmt::Display for Size {
    /// Writes the ISO name, whole inches as inches, anything else in millimetres.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (w, h) = (self.width.mm(), self.height.mm());
        let iso = ISO_216_A.iter().find(|(_, iw, ih)| {
            (f64::from(*iw), f64::from(*ih)) == (w, h) || (f64::from(*ih), f64::from(*iw)) == (w, h)
        });
        if let Some((name, ..)) = iso {
            return f.write_str(name);
        }
        let inches = |mm: f64| {
            let whole = (mm / INCH_MM).round();
            ((mm - whole * INCH_MM).abs() < 0.06 && whole > 0.0).then_some(whole)
        };
        match (inches(w), inches(h)) {
            (Some(w), Some(h)) => write!(f, "{w}×{h} in"),
            _ => write!(f, "{w}×{h} mm"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, mm: (f64, f64), area_m2: f64) {
        let size = Size::parse(text).unwrap();
        assert_eq!(size, Size::from_mm(mm.0, mm.1), "{text}");
        assert!(
            (size.area_m2() - area_m2).abs() < 5.1e-6,
            "{text}: {}",
            size.area_m2()
        );
    }

    /// Formats [calc] of the trade: ISO 216 and 1 in = 25.4 mm, areas to 5 decimals.
    #[test]
    fn formats_have_their_published_sides_and_areas() {
        check("A6", (105.0, 148.0), 0.01554);
        check("A5", (148.0, 210.0), 0.03108);
        check("A4", (210.0, 297.0), 0.06237);
        check("A3", (297.0, 420.0), 0.12474);
        check("A2", (420.0, 594.0), 0.24948);
        check("A1", (594.0, 841.0), 0.49955);
        check("A0", (841.0, 1189.0), 0.99995);
        check("5x7 in", (127.0, 177.8), 0.02258);
        check("8x10 in", (203.2, 254.0), 0.05161);
        check("11x14 in", (279.4, 355.6), 0.09935);
        check("12x16 in", (304.8, 406.4), 0.12387);
        check("16x20 in", (406.4, 508.0), 0.20645);
        check("20x24 in", (508.0, 609.6), 0.30968);
        check("22x30 in", (558.8, 762.0), 0.42581);
    }

    #[test]
    fn a_size_reads_back_as_it_is_shown() {
        for text in ["A4", "8×10 in", "150×200 mm", "152.5×40 mm"] {
            assert_eq!(Size::parse(text).unwrap().to_string(), text);
        }
    }

    #[test]
    fn what_is_no_size_is_not_guessed() {
        for text in [
            "", "A7", "8x10", "0x10 in", "x in", "-5x10 mm", "9e9x1 mm", "NaNx1 mm",
        ] {
            assert_eq!(Size::parse(text), None, "{text}");
        }
    }
}
