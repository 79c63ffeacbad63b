//! JSON as the record reads it: each value stays the piece of text it was read from, so that an event costs no tree of its
//! bytes. What is split here is not judged: an event is read if what it says, written in its one form, is these same bytes.

use alloc::{borrow::Cow, string::String};
use core::fmt;

/// The text of one value.
#[derive(Clone, Copy)]
pub(crate) struct Json<'a>(&'a str);

/// What a value begins as.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Shape {
    Null,
    Text,
    List,
    Object,
    /// A number, true or false.
    Word,
}

impl<'a> Json<'a> {
    /// A text without blanks around it.
    pub(crate) fn of(text: &'a str) -> Self {
        Self(text)
    }

    pub(crate) fn shape(self) -> Shape {
        match self.0.as_bytes().first() {
            Some(b'"') => Shape::Text,
            Some(b'[') => Shape::List,
            Some(b'{') => Shape::Object,
            Some(b'n') => Shape::Null,
            _ => Shape::Word,
        }
    }

    /// What a text says; none if it is no text.
    pub(crate) fn text(self) -> Option<Cow<'a, str>> {
        let inner = self.0.strip_prefix('"')?.strip_suffix('"')?;
        if inner.as_bytes().contains(&b'\\') {
            return serde_json::from_str::<String>(self.0).ok().map(Cow::Owned);
        }
        Some(Cow::Borrowed(inner))
    }

    /// A whole number; none for any other.
    pub(crate) fn number(self) -> Option<u64> {
        if self.0.bytes().all(|byte| byte.is_ascii_digit()) { self.0.parse().ok() } else { None }
    }

    /// A finite number; none for anything else.
    pub(crate) fn figure(self) -> Option<f64> {
        self.0.parse().ok().filter(|value: &f64| value.is_finite())
    }

    /// True or false; none for anything else.
    pub(crate) fn truth(self) -> Option<bool> {
        match self.0 {
            "true" => Some(true),
            "false" => Some(false),
            _ => None,
        }
    }

    /// The pieces of a list.
    pub(crate) fn items(self) -> Pieces<'a> {
        Pieces(self.0.get(1..).unwrap_or_default())
    }

    /// The pieces of an object, each behind its name.
    pub(crate) fn fields(self) -> Fields<'a> {
        Fields(self.items())
    }
}

/// What it is, for a message.
impl fmt::Display for Json<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self.shape() {
            Shape::List => "a list",
            Shape::Object => "an object",
            _ => self.0,
        })
    }
}

/// The pieces of a list, as they follow each other.
pub(crate) struct Pieces<'a>(&'a str);

impl<'a> Pieces<'a> {
    fn until(&mut self, end: usize) -> Option<Json<'a>> {
        let (piece, behind) = self.0.split_at_checked(end).filter(|(piece, _)| !piece.is_empty())?;
        // A comma, a colon, or the end of what it lies in.
        self.0 = behind.get(1..).unwrap_or_default();
        Some(Json(piece))
    }
}

impl<'a> Iterator for Pieces<'a> {
    type Item = Json<'a>;

    fn next(&mut self) -> Option<Json<'a>> {
        self.until(length(self.0.as_bytes()))
    }
}

/// The fields of an object, as they follow each other.
pub(crate) struct Fields<'a>(Pieces<'a>);

impl<'a> Iterator for Fields<'a> {
    type Item = (Cow<'a, str>, Json<'a>);

    fn next(&mut self) -> Option<Self::Item> {
        Some((self.0.next()?.text()?, self.0.next()?))
    }
}

/// How many bytes a value takes at the beginning of a text.
fn length(bytes: &[u8]) -> usize {
    let (mut at, mut depth) = (0, 0_usize);
    while let Some(byte) = bytes.get(at) {
        match byte {
            b'"' => {
                at += text_length(bytes.get(at..).unwrap_or_default());
                if depth == 0 {
                    return at;
                }
                continue;
            }
            b'[' | b'{' => depth += 1,
            b']' | b'}' => match depth {
                0 => return at,
                1 => return at + 1,
                _ => depth -= 1,
            },
            b',' | b':' if depth == 0 => return at,
            _ => {}
        }
        at += 1;
    }
    at
}

/// How many bytes a text takes, its quotes included.
fn text_length(bytes: &[u8]) -> usize {
    let mut at = 1;
    while let Some(found) = bytes.get(at..).and_then(|rest| rest.iter().position(|byte| matches!(byte, b'"' | b'\\'))) {
        at += found;
        if bytes.get(at) == Some(&b'"') {
            return at + 1;
        }
        at += 2;
    }
    bytes.len()
}

#[cfg(test)]
mod tests {
    use super::*;
    use alloc::{string::ToString, vec::Vec};

    fn pieces(text: &str) -> Vec<String> {
        Json::of(text).items().map(|piece| piece.0.to_string()).collect()
    }

    #[test]
    fn a_list_is_split_between_its_values_and_nowhere_else() {
        assert_eq!(
            pieces(r#"[1,"a,b]\"",[2,[3]],{"x":[4,5]},null,true]"#),
            ["1", r#""a,b]\"""#, "[2,[3]]", r#"{"x":[4,5]}"#, "null", "true"]
        );
        assert!(pieces("[]").is_empty() && pieces("").is_empty() && pieces("[").is_empty());
    }

    #[test]
    fn a_field_has_its_name_as_it_is_meant() {
        let fields: Vec<_> = Json::of(r#"{"a\n":"b\"c","d":{"e":1}}"#).fields().collect();
        assert_eq!((&*fields[0].0, fields[0].1.text().as_deref()), ("a\n", Some("b\"c")));
        assert_eq!((&*fields[1].0, fields[1].1.0), ("d", r#"{"e":1}"#));
    }

    #[test]
    fn what_is_no_json_is_split_too_and_ends() {
        for text in ["[1,,2]", "[\"", "[\"a\\", "]]]", "{\"a\"", "{:}", "[é,\"é", "{\"a\":[}"] {
            assert!(pieces(text).len() < 5 && Json::of(text).fields().count() < 5, "{text}");
        }
    }
}
