//! The fonts that are on board, and which characters they can set.

use std::{collections::BTreeSet, sync::OnceLock};

use serde_json::Value;
use typst::{foundations::Bytes, text::Font};

use crate::paper::Refused;

/// Atkinson Hyperlegible Next in four weights, and Mono for frame numbers and hashes.
const FILES: [&[u8]; 5] = [
    include_bytes!("../fonts/next-400.ttf"),
    include_bytes!("../fonts/next-600.ttf"),
    include_bytes!("../fonts/next-700.ttf"),
    include_bytes!("../fonts/next-800.ttf"),
    include_bytes!("../fonts/mono-400.ttf"),
];

/// Every font on board.
pub(crate) fn all() -> Vec<Font> {
    FILES.iter().flat_map(|bytes| Font::iter(Bytes::new(*bytes))).collect()
}

/// The characters every font has a shape for.
fn known() -> &'static BTreeSet<char> {
    static KNOWN: OnceLock<BTreeSet<char>> = OnceLock::new();
    KNOWN.get_or_init(|| {
        let sets = all().into_iter().map(|font| {
            let coverage = &font.info().coverage;
            (0..=0xFFFF_u32).filter_map(char::from_u32).filter(|c| coverage.contains(u32::from(*c))).collect()
        });
        sets.reduce(|a: BTreeSet<char>, b| a.intersection(&b).copied().collect()).unwrap_or_default()
    })
}

/// A text as the fonts can set it: composed, with the spaces and hyphens they have.
pub(crate) fn settable(text: &str) -> String {
    use unicode_normalization::UnicodeNormalization as _;
    let plain = |c: char| match c {
        '\u{202f}' | '\u{2007}' => '\u{a0}',
        '\u{2010}' | '\u{2011}' => '-',
        '\u{b5}' => 'μ',
        '\r' | '\n' | '\t' => ' ',
        c => c,
    };
    text.nfc().map(plain).collect()
}

/// Makes every text of a document one the fonts can set.
///
/// # Errors
/// [`Refused::Script`] with the text and its characters, and where it stands.
pub(crate) fn fit(value: &mut Value, whose: &str) -> Result<(), Refused> {
    match value {
        Value::String(text) => {
            *text = settable(text);
            check(text, whose)
        }
        Value::Array(items) => items.iter_mut().try_for_each(|item| fit(item, whose)),
        // Drawings are named by a key of their own and were made from texts that were looked at before.
        Value::Object(fields) => fields.values_mut().try_for_each(|field| fit(field, whose)),
        Value::Null | Value::Bool(_) | Value::Number(_) => Ok(()),
    }
}

/// Refuses a text with a character no font on board has.
fn check(text: &str, whose: &str) -> Result<(), Refused> {
    let mut missing: Vec<char> = text.chars().filter(|c| !known().contains(c) && !c.is_control()).collect();
    missing.sort_unstable();
    missing.dedup();
    if missing.is_empty() {
        return Ok(());
    }
    let characters = missing.iter().map(|c| format!("{c} (U+{:04X})", u32::from(*c))).collect::<Vec<_>>().join(", ");
    Err(Refused::Script { characters, text: text.to_string(), whose: whose.to_string() })
}
