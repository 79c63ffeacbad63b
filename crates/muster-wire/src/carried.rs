//! What a phone carries, read piece by piece from the text the server sent: read at once it would keep a slow phone from
//! painting, and kept as that text it need not be taken apart to be stored.

use std::collections::BTreeMap;

use serde::de::DeserializeOwned;

use crate::sync::End;

/// A piece of [`crate::sync::Carried`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Piece {
    /// SHA-256 of the catalogue it was chosen by.
    Catalogue(String),
    /// The ends of the series.
    Ends(Vec<End>),
    /// One event in its one byte form.
    Event(String),
    /// Names of people by their ids.
    Names(BTreeMap<String, String>),
}

/// A text that is not what a phone carries.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("what is carried cannot be read from byte {at} on: {why}; fetch it anew")]
pub struct NotCarried {
    /// Where, from 0.
    pub at: usize,
    /// What is wrong there.
    pub why: String,
}

/// The pieces in their order. After a fault there are no more.
#[derive(Clone, Debug)]
pub struct Pieces<'t> {
    text: &'t str,
    at: usize,
    next: Next,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Next {
    /// The object begins.
    Start,
    /// A field, or the object's end.
    Field,
    /// An event, or the list's end.
    Event,
    /// Nothing.
    Over,
}

impl<'t> Pieces<'t> {
    /// The pieces of this text.
    #[must_use]
    pub const fn of(text: &'t str) -> Self {
        Self { text, at: 0, next: Next::Start }
    }

    fn read(&mut self) -> Result<Option<Piece>, NotCarried> {
        loop {
            match self.next {
                Next::Over => return Ok(None),
                Next::Start => {
                    self.mark(b'{')?;
                    self.next = Next::Field;
                }
                Next::Event => {
                    self.skip(b',');
                    if !self.skip(b']') {
                        return self.value().map(|event| Some(Piece::Event(event)));
                    }
                    self.next = Next::Field;
                }
                Next::Field => {
                    self.skip(b',');
                    if self.skip(b'}') {
                        self.next = Next::Over;
                        return Ok(None);
                    }
                    let name: String = self.value()?;
                    self.mark(b':')?;
                    match name.as_str() {
                        "catalogue" => return self.value().map(|hash| Some(Piece::Catalogue(hash))),
                        "ends" => return self.value().map(|ends| Some(Piece::Ends(ends))),
                        "names" => return self.value().map(|names| Some(Piece::Names(names))),
                        "events" => {
                            self.mark(b'[')?;
                            self.next = Next::Event;
                        }
                        other => return Err(self.fault(format!("a field `{other}`"))),
                    }
                }
            }
        }
    }

    fn value<T: DeserializeOwned>(&mut self) -> Result<T, NotCarried> {
        let rest = self.text.get(self.at..).unwrap_or_default();
        let mut values = serde_json::Deserializer::from_str(rest).into_iter::<T>();
        let value = match values.next() {
            Some(Ok(value)) => value,
            Some(Err(error)) => return Err(self.fault(error.to_string())),
            None => return Err(self.fault("it ends".into())),
        };
        self.at += values.byte_offset();
        Ok(value)
    }

    /// Passes over blanks and one byte behind them, if it is there.
    fn skip(&mut self, byte: u8) -> bool {
        let rest = self.text.as_bytes().get(self.at..).unwrap_or_default();
        let blanks = rest.iter().take_while(|byte| byte.is_ascii_whitespace()).count();
        let there = rest.get(blanks) == Some(&byte);
        if there {
            self.at += blanks + 1;
        }
        there
    }

    fn mark(&mut self, byte: u8) -> Result<(), NotCarried> {
        if self.skip(byte) { Ok(()) } else { Err(self.fault(format!("`{}` is not there", char::from(byte)))) }
    }

    fn fault(&self, why: String) -> NotCarried {
        NotCarried { at: self.at, why }
    }
}

impl Iterator for Pieces<'_> {
    type Item = Result<Piece, NotCarried>;

    fn next(&mut self) -> Option<Self::Item> {
        let read = self.read();
        if read.is_err() {
            self.next = Next::Over;
        }
        read.transpose()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sync::Carried;

    fn carried() -> Carried {
        Carried {
            catalogue: "c0ffee".into(),
            ends: vec![End { device: "0123456789abcdef".into(), seq: 7, hash: "ab".into(), height: 9 }],
            events: vec![r#"{"note":"\"low\" at é, \\ ]"}"#.into(), String::new(), "{}".into()],
            names: BTreeMap::from([("p-1".into(), "A [B], {C}".into())]),
        }
    }

    /// The whole is read by serde_json; the pieces have to say the same.
    #[test]
    fn the_pieces_are_the_whole() {
        let Carried { catalogue, ends, events, names } = carried();
        for text in [serde_json::to_string(&carried()).unwrap(), serde_json::to_string_pretty(&carried()).unwrap()] {
            let pieces: Vec<Piece> = Pieces::of(&text).collect::<Result<_, _>>().unwrap();
            let mut wanted = vec![Piece::Catalogue(catalogue.clone()), Piece::Ends(ends.clone())];
            wanted.extend(events.iter().cloned().map(Piece::Event));
            wanted.push(Piece::Names(names.clone()));
            assert_eq!(pieces, wanted);
        }
    }

    #[test]
    fn what_is_cut_off_is_not_taken_for_the_whole() {
        let text = serde_json::to_string(&carried()).unwrap();
        for end in (0..text.len()).filter(|end| text.is_char_boundary(*end)) {
            let read: Result<Vec<Piece>, _> = Pieces::of(&text[..end]).collect();
            assert!(read.is_err(), "{end} bytes");
        }
    }
}
