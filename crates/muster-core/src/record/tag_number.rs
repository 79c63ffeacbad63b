//! The number printed on a hold tag, as people write it: `0087`, `87` and `No. 87` are one.

use alloc::string::String;

/// The letters and digits of a number, small, without zeros before them.
#[must_use]
pub fn plain(number: &str) -> String {
    let number = number.trim();
    let number = number.strip_prefix("No.").unwrap_or(number);
    let signs = number.chars().filter(|sign| sign.is_alphanumeric());
    let plain: String = signs.map(|sign| sign.to_ascii_lowercase()).collect();
    let bare = plain.trim_start_matches('0');
    // Of zeros alone one stays.
    if bare.is_empty() && !plain.is_empty() { "0".into() } else { bare.into() }
}

/// Whether two texts name one tag; a text without letter or digit names none.
#[must_use]
pub fn is_same(one: &str, other: &str) -> bool {
    let plain = plain(one);
    !plain.is_empty() && plain == self::plain(other)
}
