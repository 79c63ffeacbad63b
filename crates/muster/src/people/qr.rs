//! A link as a QR code in SVG.

use muster_wire::people::Link;
use qrcode::{EcLevel, QrCode, render::svg};

/// The fewest units a side has; it is drawn to any size.
const MIN_SIDE: u32 = 200;

/// A link and how long it works.
#[must_use]
pub fn link(link: &str, lasts_s: i64) -> Link {
    Link { link: link.to_string(), svg: svg(link), lasts_s }
}

/// Draws a link; none if it is longer than a QR code holds.
#[must_use]
pub fn svg(link: &str) -> Option<String> {
    let code = QrCode::with_error_correction_level(link.as_bytes(), EcLevel::M).ok()?;
    Some(code.render::<svg::Color<'_>>().min_dimensions(MIN_SIDE, MIN_SIDE).build())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_link_is_drawn_and_a_book_is_not() {
        let drawn = svg("https://yard.example/enrol#0123456789abcdef0123456789abcdef").unwrap();
        assert!(drawn.starts_with("<?xml") && drawn.ends_with("</svg>"), "{drawn}");
        // Nothing of the text is in it but as modules, so nothing of it can be markup.
        assert!(!drawn.contains("enrol"));
        assert!(svg(&"a".repeat(4000)).is_none());
    }
}
