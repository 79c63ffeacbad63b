//! Draws what a judgement says: margin rulers, glyphs, sources; as SVG and markup that every page shares.
//!
//! Whatever a person wrote is escaped here. Nothing carries a style of its own: classes are the page's.

pub mod chart;
pub mod draw;
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
