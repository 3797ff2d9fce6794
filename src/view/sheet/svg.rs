//! Writing SVG: shapes in classes, text escaped, numbers short. No meaning here.

use std::fmt::Write;

use crate::letter::turns;

/// Where a text is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// At its begin.
    Start,
    /// In its middle.
    Middle,
    /// At its end.
    End,
}

/// A rectangle. [drawing units]
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// From the left.
    pub x: f64,
    /// From the top.
    pub y: f64,
    /// To the right.
    pub width: f64,
    /// Downwards.
    pub height: f64,
}

/// A drawing being made.
#[derive(Debug, Clone, Default)]
pub struct Drawing {
    out: String,
}

impl Drawing {
    /// Adds a rectangle.
    pub fn rect(&mut self, class: &str, area: Area) {
        let Area {
            x,
            y,
            width,
            height,
        } = area;
        self.push(format_args!(
            r#"<rect class="{class}" x="{}" y="{}" width="{}" height="{}"/>"#,
            short(x),
            short(y),
            short(width.max(0.0)),
            short(height.max(0.0))
        ));
    }

    /// Adds a straight line.
    pub fn line(&mut self, class: &str, from: (f64, f64), to: (f64, f64)) {
        self.push(format_args!(
            r#"<line class="{class}" x1="{}" y1="{}" x2="{}" y2="{}"/>"#,
            short(from.0),
            short(from.1),
            short(to.0),
            short(to.1)
        ));
    }

    /// Adds an open line through points, or, with `closed`, the area that it bounds.
    pub fn path(&mut self, class: &str, points: &[(f64, f64)], closed: bool) {
        let Some((first, rest)) = points.split_first() else {
            return;
        };
        let mut d = format!("M{} {}", short(first.0), short(first.1));
        for (x, y) in rest {
            let _ = write!(d, "L{} {}", short(*x), short(*y));
        }
        if closed {
            d.push('Z');
        }
        self.push(format_args!(r#"<path class="{class}" d="{d}"/>"#));
    }

    /// Adds a dot.
    pub fn dot(&mut self, class: &str, x: f64, y: f64, radius: f64) {
        self.push(format_args!(
            r#"<circle class="{class}" cx="{}" cy="{}" r="{}"/>"#,
            short(x),
            short(y),
            short(radius)
        ));
    }

    /// Adds a text, whatever stands in it.
    pub fn text(&mut self, class: &str, anchor: Anchor, at: (f64, f64), text: &str) {
        let anchor = match anchor {
            Anchor::Start => "",
            Anchor::Middle => r#" text-anchor="middle""#,
            Anchor::End => r#" text-anchor="end""#,
        };
        self.push(format_args!(
            r#"<text class="{class}"{anchor} x="{}" y="{}">{}</text>"#,
            short(at.0),
            short(at.1),
            escape(text)
        ));
    }

    /// Adds what `draw` draws as a group that tells its meaning when it is pointed at.
    pub fn told(&mut self, title: &str, draw: impl FnOnce(&mut Drawing)) {
        self.push(format_args!("<g><title>{}</title>", escape(title)));
        draw(self);
        self.out.push_str("</g>");
    }

    /// Adds another drawing on top of this one.
    pub fn append(&mut self, other: Drawing) {
        self.out.push_str(&other.out);
    }

    /// Returns the drawing as an image of a size, with its title and description.
    pub fn into_image(self, class: &str, size: (f64, f64), title: &str, about: &str) -> String {
        let about = match about {
            "" => String::new(),
            about => format!("<desc>{}</desc>", escape(about)),
        };
        let label = escape(title);
        format!(
            r#"<svg class="{class}" viewBox="0 0 {} {}" role="img" aria-label="{label}"><title>{label}</title>{about}{}</svg>"#,
            short(size.0),
            short(size.1),
            self.out
        )
    }

    fn push(&mut self, shape: std::fmt::Arguments) {
        let _ = self.out.write_fmt(shape);
    }
}

/// Makes a text harmless between tags and in quotes; marks that turn the direction
/// of writing and control characters are dropped.
///
/// # Example
/// ```
/// use fairday::view::sheet::escape;
/// assert_eq!(escape("<b>\"5 & 6\"</b>"), "&lt;b&gt;&quot;5 &amp; 6&quot;&lt;/b&gt;");
/// ```
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c if turns(c) => {}
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// Writes a number to a tenth of a unit, which no eye tells apart.
fn short(value: f64) -> String {
    let tenths = (value * 10.0).round() as i64;
    match (tenths / 10, tenths % 10) {
        (whole, 0) => whole.to_string(),
        (0, part) if tenths < 0 => format!("-0.{}", part.abs()),
        (whole, part) => format!("{whole}.{}", part.abs()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_keep_their_sign() {
        for (value, text) in [
            (12.0, "12"),
            (12.34, "12.3"),
            (-0.26, "-0.3"),
            (-2.5, "-2.5"),
        ] {
            assert_eq!(short(value), text);
        }
    }

    #[test]
    fn what_a_customer_typed_stays_text() {
        let mut drawing = Drawing::default();
        drawing.text("t", Anchor::Middle, (1.0, 2.0), "</svg><script>\u{202e}x");
        let image = drawing.into_image("c", (10.0, 5.0), "a \"b\"", "");
        assert_eq!(
            image,
            "<svg class=\"c\" viewBox=\"0 0 10 5\" role=\"img\" aria-label=\"a &quot;b&quot;\">\
             <title>a &quot;b&quot;</title><text class=\"t\" text-anchor=\"middle\" x=\"1\" y=\"2\">\
             &lt;/svg&gt;&lt;script&gt;x</text></svg>"
        );
    }
}
