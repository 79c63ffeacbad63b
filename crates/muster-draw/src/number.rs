//! Figures, units, dates and text as the page shows them, with everything a form brought in escaped.

use muster_core::quantity::show;

/// A figure with its decimals, thin groups and a true minus.
#[must_use]
pub fn figure_text(value: f64, decimals: usize) -> String {
    show::grouped(&format!("{value:.decimals$}"))
}

/// A figure and its unit, which never break apart.
#[must_use]
pub fn with_unit(figure: &str, unit: &str) -> String {
    match unit {
        "" => figure.to_owned(),
        "°" => format!("{figure}°"),
        unit => format!("{figure}{}{unit}", show::UNIT_SPACE),
    }
}

/// Text safe between tags and in a quoted attribute.
#[must_use]
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // What no document may hold, and what would turn the text about for everybody but its writer.
            '\0'..='\x08' | '\x0b' | '\x0c' | '\x0e'..='\x1f' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => {
                out.push('\u{fffd}');
            }
            other => out.push(other),
        }
    }
    out
}

/// A sentence as it stands on the page: days as people say them, ± tight to its figure, a capital and a full stop.
#[must_use]
pub fn sentence(text: &str) -> String {
    let text = text.trim().replace(" ± ", "\u{a0}±");
    // A symbol keeps its case: u is not U.
    let mut out = if text.get(1..3) == Some(" =") { text } else { capital(&text) };
    if !out.is_empty() && !out.ends_with(['.', '!', '?', '…']) {
        out.push('.');
    }
    out
}

/// The text with its first letter large.
#[must_use]
pub fn capital(text: &str) -> String {
    let mut characters = text.chars();
    characters.next().map_or_else(String::new, |first| first.to_uppercase().chain(characters).collect())
}

/// The text with its first letter small, but for a word in capitals: `Mirrors`, not `ABS`.
#[must_use]
pub fn small(text: &str) -> String {
    let mut characters = text.chars();
    match (characters.next(), characters.clone().next()) {
        (Some(first), Some(second)) if second.is_lowercase() => first.to_lowercase().chain(characters).collect(),
        _ => text.to_owned(),
    }
}

/// A moment, `2026-11-24T07:25:00+00:00`, short of its seconds: 2026-11-24 07:25 +00:00; as it stands where it is none.
#[must_use]
pub fn moment(text: &str) -> String {
    let parts = text.split_once('T').and_then(|(date, time)| Some((date, time.get(..5)?, time.get(8..)?)));
    match parts {
        Some((date, time, zone)) if is_clock(time) => format!("{date}\u{a0}{time}\u{a0}{zone}"),
        _ => text.to_owned(),
    }
}

fn is_clock(time: &str) -> bool {
    time.chars()
        .enumerate()
        .all(|(index, character)| if index == 2 { character == ':' } else { character.is_ascii_digit() })
}

/// A count and its noun: one check, 2 checks.
#[must_use]
pub fn counted(count: usize, one: &str, many: &str) -> String {
    let word = match count {
        1 => "one",
        2 => "two",
        3 => "three",
        4 => "four",
        5 => "five",
        6 => "six",
        _ => return format!("{count}\u{a0}{many}"),
    };
    format!("{word} {}", if count == 1 { one } else { many })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_from_a_form_cannot_leave_its_place() {
        assert_eq!(escaped("<script>alert('x')</script>"), "&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt;");
        assert_eq!(escaped("Nuts & \"bolts\""), "Nuts &amp; &quot;bolts&quot;");
        assert_eq!(escaped("a\u{202e}b\u{0}c\nd"), "a\u{fffd}b\u{fffd}c\nd");
    }

    #[test]
    fn a_moment_keeps_its_zone_and_loses_its_seconds() {
        assert_eq!(moment("2026-11-24T07:25:00+00:00"), "2026-11-24\u{a0}07:25\u{a0}+00:00");
        assert_eq!(moment("this morning"), "this morning");
        assert_eq!(moment("2026-11-24Tsoon"), "2026-11-24Tsoon");
    }

    #[test]
    fn a_sentence_has_a_capital_a_stop_and_a_tight_uncertainty() {
        assert_eq!(sentence("80 ± 16 %, within 0 to 100 %"), "80\u{a0}±16 %, within 0 to 100 %.");
        assert_eq!(sentence("could not see: no stand free."), "Could not see: no stand free.");
        assert_eq!(sentence("u = 0.027 mm"), "u = 0.027 mm.");
        assert_eq!(small("Mirrors"), "mirrors");
        assert_eq!(small("ABS lamp"), "ABS lamp");
    }
}
