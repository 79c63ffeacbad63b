//! What every document shares: the sheet it lies on, whose it is, when it was made; and what comes of it.

use muster_core::{calendar::Moment, hash};
use serde_json::Value;

/// The size of a sheet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Size {
    /// 210 × 297 mm.
    #[default]
    A4,
    /// 8.5 × 11 in.
    Letter,
}

impl Size {
    /// The name typesetting knows it by.
    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::A4 => "a4",
            Self::Letter => "us-letter",
        }
    }
}

/// What a document is printed on and for whom.
#[derive(Clone, Debug, PartialEq)]
pub struct Paper {
    /// The sheet.
    pub size: Size,
    /// The school's name.
    pub school: String,
    /// The school's mark, as SVG, PNG or JPEG.
    pub mark: Option<Vec<u8>>,
    /// The address of the school's own server, for QR codes: `https://muster.local:8443`.
    pub address: Option<String>,
    /// When it is made.
    pub made: Moment,
}

/// What a QR code says: a place on the school's own server, and the hash of what the paper rests on. Nothing else.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Seal {
    /// The path on the server: `/machines/H-07`.
    pub path: String,
    /// SHA-256 of the record's event, or of the files, the paper rests on; 64 hexadecimal digits.
    pub hash: String,
}

impl Seal {
    /// The text of its code.
    pub(crate) fn text(&self, address: &str) -> String {
        // Digits and capitals alone: such a stretch takes two thirds of the room in a code.
        format!("{}{}#{}", address.trim_end_matches('/'), self.path, self.hash.to_uppercase())
    }
}

/// A document laid out as data, ready to be typeset alone or with others.
#[derive(Clone, Debug, PartialEq)]
pub struct Leaf {
    /// Its template.
    pub(crate) kind: &'static str,
    /// Its title, as readers' windows show it.
    pub(crate) title: String,
    /// Whose it is, for who has to put a text right: `machine H-07`.
    pub(crate) whose: String,
    /// What its template is given.
    pub(crate) data: Value,
    /// Drawings its data names by index.
    pub(crate) drawings: Vec<String>,
    /// Photos its data names by index.
    pub(crate) photos: Vec<Vec<u8>>,
    /// What its code says.
    pub(crate) seal: Option<Seal>,
}

impl Leaf {
    /// What its code says.
    #[must_use]
    pub const fn seal(&self) -> Option<&Seal> {
        self.seal.as_ref()
    }

    /// The number of the hold tag it is, where it has one.
    #[must_use]
    pub fn tag_number(&self) -> Option<&str> {
        self.data.get("number").and_then(Value::as_str).filter(|_| self.kind == "tag")
    }
}

/// A typeset document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pdf {
    /// The file.
    pub bytes: Vec<u8>,
    /// How many pages it has.
    pub pages: usize,
}

impl Pdf {
    /// SHA-256 of the file, 64 hexadecimal digits: what issuing it records.
    #[must_use]
    pub fn sha256(&self) -> String {
        hash::of_bytes(&self.bytes)
    }
}

/// Why a document was not made.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// A text in a script no font on board has.
    #[error("the fonts on board have no {characters}, as in `{text}`, {whose}: write it in Latin letters")]
    Script {
        /// The characters.
        characters: String,
        /// The text they stand in.
        text: String,
        /// Whose text it is.
        whose: String,
    },
    /// A picture that cannot be drawn.
    #[error("the mark is no SVG, PNG or JPEG: give another file")]
    Mark,
    /// A code that holds less than the address.
    #[error("the address {address} is too long for a QR code: give a shorter one")]
    Address {
        /// The address.
        address: String,
    },
    /// Typesetting failed, or found what would not be archival or accessible.
    #[error("cannot be typeset: {0}")]
    Typeset(String),
}
