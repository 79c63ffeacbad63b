//! Draws what a judgement says: margin rulers, glyphs, sources; as SVG and markup that every page shares.
//!
//! Whatever a person wrote is escaped here. Nothing carries a style of its own: classes are the page's.

pub mod chart;
pub mod draw;
pub mod fan;
pub mod gauge;
pub mod merge;
pub mod number;
pub mod plan;
pub mod ready;
pub mod ruler;

/// The glyphs' symbols and the hatches rulers use; once on each page, never hidden by `display`.
pub const GLYPHS: &str = include_str!("glyphs.svg");

/// A verdict's or a step's glyph; the word stands beside it.
#[must_use]
pub fn glyph(name: &str, px: u32) -> String {
    format!("<svg class=\"glyph\" width=\"{px}\" height=\"{px}\" aria-hidden=\"true\"><use href=\"#g-{name}\"/></svg>")
}

/// A glyph with its shapes in it: for rows by the hundred, where a browser takes longer to refer to a symbol than to draw one.
/// Nothing for a name that is no glyph's.
#[must_use]
pub fn glyph_drawn(name: &str, px: u32) -> String {
    let symbol = GLYPHS.lines().find_map(|line| {
        let symbol = line.strip_prefix("<symbol id=\"g-")?.strip_prefix(name)?.strip_prefix("\" ")?;
        symbol.strip_suffix("</symbol>")
    });
    let Some(symbol) = symbol else { return String::new() };
    format!("<svg class=\"glyph\" width=\"{px}\" height=\"{px}\" aria-hidden=\"true\" {symbol}</svg>")
}

#[cfg(test)]
mod tests {
    use super::{GLYPHS, glyph_drawn};

    #[test]
    fn a_drawn_glyph_has_the_shapes_of_its_symbol() {
        for name in ["fit", "watch", "unseen", "hold"] {
            let drawn = glyph_drawn(name, 16);
            let (head, shapes) = drawn.split_once(" viewBox").unwrap_or_default();
            let svg = format!(" viewBox{shapes}");
            let inside = svg.strip_suffix("</svg>").unwrap_or_default();
            assert!(GLYPHS.contains(&format!("<symbol id=\"g-{name}\"{inside}</symbol>")), "{drawn}");
            assert!(head.ends_with("aria-hidden=\"true\""), "{head}");
        }
        assert_eq!(glyph_drawn("no-such", 16), "");
    }
}
