//! The one byte form of an event: JSON as RFC 8785 orders and writes it, with whole numbers alone.
//!
//! RFC 8785 (JSON Canonicalization Scheme) sorts the keys of an object by UTF-16 code units, writes no blanks and one
//! escape for each character that needs one. Floating point, its hard part, is not in here: a figure is kept as it was
//! typed, as text with its unit, so that a corrected formula can judge it again.

use alloc::{format, string::String, vec::Vec};
use core::fmt;

use serde_json::Value;

use crate::sorted::sort_by;

/// The largest whole number written: beyond it two programs may read one text as two numbers (RFC 8785, section 3.2.2.3).
pub const MAX_NUMBER: u64 = (1 << 53) - 1;

/// How deep lists and objects may lie in each other.
pub const MAX_DEPTH: usize = 16;

/// Why a value has no canonical form here.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotCanonical {
    /// A number that is not whole, is below zero or too large.
    #[error(
        "number {number} at `{at}`: whole numbers from 0 to {MAX_NUMBER} are kept, figures as text with their unit"
    )]
    Number {
        /// The number.
        number: String,
        /// The key it stands under.
        at: String,
    },
    /// Nested too deeply.
    #[error("`{at}` lies deeper than {MAX_DEPTH} lists and objects")]
    Depth {
        /// The key it stands under.
        at: String,
    },
    /// No JSON.
    #[error("not JSON: {0}")]
    NotJson(String),
    /// JSON, and another byte form than the canonical one.
    #[error("JSON, not in its canonical form (RFC 8785): write keys sorted, no blanks, each key once")]
    OtherBytes,
}

/// Writes a value in its one byte form.
///
/// # Errors
/// [`NotCanonical`] for numbers that are not whole and for what lies too deep.
pub fn write(value: &Value) -> Result<String, NotCanonical> {
    let mut out = String::new();
    put(&mut out, value, "", 0)?;
    Ok(out)
}

/// A text in its one byte form, written piece by piece from types that know their own.
#[derive(Default)]
pub(super) struct Writing {
    text: String,
    refused: Option<NotCanonical>,
}

/// What is written so.
pub(super) trait Write {
    /// Writes it; `at` is the key it stands under.
    fn write(&self, out: &mut Writing, at: &str);
}

impl Writing {
    /// One with room for so many bytes.
    pub(super) fn with_room(bytes: usize) -> Self {
        Self { text: String::with_capacity(bytes), refused: None }
    }

    /// Writes what is in its form already.
    pub(super) fn raw(&mut self, text: &str) {
        self.text.push_str(text);
    }

    /// Writes a text.
    pub(super) fn string(&mut self, text: &str) {
        string(&mut self.text, text);
    }

    /// Writes the name of something: it has no character that needs an escape.
    pub(super) fn name(&mut self, name: &dyn fmt::Display) {
        self.text.push('"');
        put_shown(&mut self.text, name);
        self.text.push('"');
    }

    /// Writes a whole number.
    pub(super) fn number(&mut self, whole: u64, at: &str) {
        if let Err(error) = write_number(&mut self.text, whole, at) {
            self.refused.get_or_insert(error);
        }
    }

    /// Writes a list.
    pub(super) fn list(&mut self, items: &mut dyn Iterator<Item = &dyn Write>, at: &str) {
        self.text.push('[');
        for (index, item) in items.enumerate() {
            if index > 0 {
                self.text.push(',');
            }
            item.write(self, at);
        }
        self.text.push(']');
    }

    /// Writes an object.
    pub(super) fn object(&mut self, fields: &mut [(&str, &dyn Write)]) {
        in_order(fields);
        self.text.push('{');
        for (index, (name, value)) in fields.iter().enumerate() {
            if index > 0 {
                self.text.push(',');
            }
            self.string(name);
            self.text.push(':');
            value.write(self, name);
        }
        self.text.push('}');
    }

    /// What was written so far.
    pub(super) fn text(&self) -> &str {
        &self.text
    }

    /// What was written.
    ///
    /// # Errors
    /// [`NotCanonical`] for a number that is too large.
    pub(super) fn end(self) -> Result<String, NotCanonical> {
        self.refused.map_or(Ok(self.text), Err)
    }
}

/// Sorts by insertion: they are few and nearly in order, and the library's sort would be one more to download.
fn in_order(fields: &mut [(&str, &dyn Write)]) {
    // ASCII sorts the same by bytes and by UTF-16 units.
    let is_plain = fields.iter().all(|(name, _)| name.is_ascii());
    let is_less = |a: &str, b: &str| if is_plain { a < b } else { a.encode_utf16().lt(b.encode_utf16()) };
    for end in 1..fields.len() {
        let mut at = end;
        while let Some([before, after]) = at.checked_sub(1).and_then(|from| fields.get_mut(from..=at)) {
            if !is_less(after.0, before.0) {
                break;
            }
            core::mem::swap(before, after);
            at -= 1;
        }
    }
}

/// Writes a whole number that stands under a key.
fn write_number(out: &mut String, whole: u64, key: &str) -> Result<(), NotCanonical> {
    if whole > MAX_NUMBER {
        return Err(NotCanonical::Number { number: format!("{whole}"), at: key.into() });
    }
    put_shown(out, &whole);
    Ok(())
}

fn put_shown(out: &mut String, shown: &dyn fmt::Display) {
    // A text refuses nothing.
    let _ = fmt::Write::write_fmt(out, format_args!("{shown}"));
}

/// Reads a text that must be in the one byte form.
///
/// # Errors
/// [`NotCanonical`] for any other text, one with a key twice included.
pub fn read(text: &str) -> Result<Value, NotCanonical> {
    let value: Value = serde_json::from_str(text).map_err(|error| NotCanonical::NotJson(format!("{error}")))?;
    if write(&value)? == text { Ok(value) } else { Err(NotCanonical::OtherBytes) }
}

fn put(out: &mut String, value: &Value, at: &str, depth: usize) -> Result<(), NotCanonical> {
    if depth > MAX_DEPTH {
        return Err(NotCanonical::Depth { at: at.into() });
    }
    match value {
        Value::Null => out.push_str("null"),
        Value::Bool(true) => out.push_str("true"),
        Value::Bool(false) => out.push_str("false"),
        Value::Number(number) => match number.as_u64() {
            Some(whole) => write_number(out, whole, at)?,
            None => return Err(NotCanonical::Number { number: format!("{number}"), at: at.into() }),
        },
        Value::String(text) => string(out, text),
        Value::Array(items) => list(out, '[', ']', items, |out, item| put(out, item, at, depth + 1))?,
        Value::Object(map) => {
            let mut entries: Vec<(&String, &Value)> = map.iter().collect();
            // ASCII sorts the same by bytes and by UTF-16 units, and a map is sorted by bytes.
            if !entries.iter().all(|(key, _)| key.is_ascii()) || !entries.is_sorted_by_key(|(key, _)| *key) {
                sort_by(&mut entries, |(a, _), (b, _)| a.encode_utf16().cmp(b.encode_utf16()));
            }
            list(out, '{', '}', &entries, |out, (key, value)| {
                string(out, key);
                out.push(':');
                put(out, value, key, depth + 1)
            })?;
        }
    }
    Ok(())
}

fn list<T>(
    out: &mut String,
    open: char,
    close: char,
    items: &[T],
    mut each: impl FnMut(&mut String, &T) -> Result<(), NotCanonical>,
) -> Result<(), NotCanonical> {
    out.push(open);
    for (index, item) in items.iter().enumerate() {
        if index > 0 {
            out.push(',');
        }
        each(out, item)?;
    }
    out.push(close);
    Ok(())
}

/// RFC 8785, section 3.2.2.2: the short escapes where there are any, `\u00xx` for other control characters, no others.
pub(super) fn string(out: &mut String, text: &str) {
    out.push('"');
    let escaped = |byte: u8| matches!(byte, b'"' | b'\\' | 0..=0x1f);
    let mut rest = text;
    while let Some((plain, behind)) = rest.bytes().position(escaped).and_then(|at| rest.split_at_checked(at)) {
        out.push_str(plain);
        let mut characters = behind.chars();
        match characters.next() {
            Some('"') => out.push_str("\\\""),
            Some('\\') => out.push_str("\\\\"),
            Some('\u{8}') => out.push_str("\\b"),
            Some('\t') => out.push_str("\\t"),
            Some('\n') => out.push_str("\\n"),
            Some('\u{c}') => out.push_str("\\f"),
            Some('\r') => out.push_str("\\r"),
            Some(control) => out.push_str(&format!("\\u{:04x}", u32::from(control))),
            None => {}
        }
        rest = characters.as_str();
    }
    out.push_str(rest);
    out.push('"');
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn keys_are_sorted_as_the_standard_sorts_them() {
        // RFC 8785, section 3.2.3: the test data of its sorting rule and the order it asks for.
        let given = "{\"\\u20ac\":\"Euro Sign\",\"\\r\":\"Carriage Return\",\"\\ufb33\":\"Hebrew Letter Dalet With Dagesh\",\
                     \"1\":\"One\",\"\\ud83d\\ude00\":\"Emoji: Grinning Face\",\"\\u0080\":\"Control\",\
                     \"\\u00f6\":\"Latin Small Letter O With Diaeresis\"}";
        let written = write(&serde_json::from_str(given).unwrap()).unwrap();
        let order = [
            "Carriage Return",
            "One",
            "Control",
            "Latin Small Letter O With Diaeresis",
            "Euro Sign",
            "Emoji: Grinning Face",
            "Hebrew Letter Dalet With Dagesh",
        ];
        let places: Vec<usize> = order.iter().map(|name| written.find(name).unwrap()).collect();
        assert!(places.is_sorted(), "{written}");
    }

    #[test]
    fn strings_are_escaped_as_the_standard_escapes_them() {
        // RFC 8785, section 3.2.2: the string of its sample and the bytes it becomes.
        let given = "{\"string\":\"\\u20ac$\\u000F\\u000aA'\\u0042\\u0022\\u005c\\\\\\\"\\/\"}";
        let written = write(&serde_json::from_str(given).unwrap()).unwrap();
        assert_eq!(written, "{\"string\":\"€$\\u000f\\nA'B\\\"\\\\\\\\\\\"/\"}");
    }

    #[test]
    fn only_the_one_form_is_read() {
        assert!(read("{\"a\":1,\"b\":[true,null]}").is_ok());
        for other in ["{\"b\":1,\"a\":2}", "{\"a\": 1}", "{\"a\":1,\"a\":1}", "{\"a\":\"\\u0041\"}", "{\"a\":01}", "{"]
        {
            assert!(read(other).is_err(), "{other}");
        }
        for number in ["1.5", "-1", "1e3", "9007199254740992"] {
            let error = read(&format!("{{\"a\":{number}}}")).unwrap_err();
            assert!(matches!(error, NotCanonical::Number { .. }), "{number}: {error}");
        }
        let deep = format!("{}{}", "[".repeat(20), "]".repeat(20));
        assert!(matches!(read(&deep), Err(NotCanonical::Depth { .. })));
    }

    fn value() -> impl Strategy<Value = Value> {
        let leaf = prop_oneof![
            Just(Value::Null),
            any::<bool>().prop_map(Value::Bool),
            (0..=MAX_NUMBER).prop_map(Value::from),
            ".*".prop_map(Value::from),
        ];
        leaf.prop_recursive(4, 24, 4, |inner| {
            prop_oneof![
                prop::collection::vec(inner.clone(), 0..4).prop_map(Value::from),
                prop::collection::btree_map(".*", inner, 0..4).prop_map(|map| Value::Object(map.into_iter().collect())),
            ]
        })
    }

    proptest! {
        #[test]
        fn what_is_written_is_read_again(value in value()) {
            let text = write(&value).unwrap();
            prop_assert_eq!(read(&text).unwrap(), value);
        }
    }
}
