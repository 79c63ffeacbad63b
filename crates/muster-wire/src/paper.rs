//! Papers: what is to be printed, and what is known of one that was.

use serde::{Deserialize, Serialize};

/// What is to be printed, and on what. Which fields count depends on the document.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(default, deny_unknown_fields)]
pub struct PaperAsked {
    /// Fleet number; needed but for the yard's papers, stickers and numbered tags.
    #[cfg_attr(feature = "schema", schema(example = "H-07"))]
    pub machine: Option<String>,
    /// The machines to print stickers for; without any all of them.
    pub machines: Vec<String>,
    /// The sheet: a4 or letter; without it a4.
    pub size: Option<String>,
    /// The figures: si or us; without it the yard's own.
    pub units: Option<String>,
    /// Of a form: how far; without it before-ride.
    pub depth: Option<String>,
    /// Of a form: what it is to go out for; without it as its last walk-round planned.
    #[serde(rename = "use")]
    pub planned: Option<String>,
    /// Of a completed walk-round: the event that opened it; without it the newest one closed.
    pub event: Option<String>,
    /// Of tags without a machine: the first number.
    pub number: Option<u32>,
    /// Of tags without a machine: how many, up to 200; without it one.
    pub count: Option<u32>,
    /// Of a dossier: buyer, warranty or inspector; without it inspector.
    pub reader: Option<String>,
    /// Print it and write nothing down: it is not known again.
    pub draft: bool,
}

/// What the record knows of a file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PaperVerdict {
    /// Whether exactly these bytes were printed from this record.
    pub genuine: bool,
    /// SHA-256 of the file, 64 hexadecimal digits.
    pub sha256: String,
    /// Each time they were, the oldest first.
    pub issued: Vec<IssuedView>,
    /// What this does not prove, in sentences.
    pub proves_not: Vec<String>,
}

/// The papers that rest on something, by the hash their code says.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PapersResting {
    /// The hash, 64 hexadecimal digits.
    pub hash: String,
    /// Whether it is the hash of the yard's files as they are now.
    pub is_the_yard_now: bool,
    /// The papers, the oldest first.
    pub issued: Vec<IssuedView>,
    /// What this does not prove, in sentences.
    pub proves_not: Vec<String>,
}

/// A paper that was printed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct IssuedView {
    /// The event that says so.
    pub event: String,
    /// What it is: form, walk-round, tag, slip, dossier, yard, sheet, stickers.
    pub document: String,
    /// The machine it is about.
    pub machine: Option<String>,
    /// Who printed it.
    pub person: String,
    /// Their name, for who may see it.
    pub name: Option<String>,
    /// When, ISO 8601.
    pub at: String,
    /// What the device is called that wrote it down.
    pub device: String,
    /// The sheet it lies on: a4 or letter.
    pub size: String,
    /// Size of the file in bytes.
    pub bytes: u64,
    /// The hash it rests on, which its code says.
    pub rests_on: Option<String>,
    /// The event of that hash; none where it is that of the yard's files.
    pub rests_on_event: Option<String>,
    /// Numbers of the hold tags it prints.
    pub tags: Vec<String>,
    /// What has come after it, in words: it is not the newest word.
    pub since: Vec<String>,
}

/// What is known of a hold tag by the number printed on it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct TagNumber {
    /// The number, as it was asked for.
    pub number: String,
    /// Where it hangs; none where it is free.
    pub hangs: Option<TagHung>,
    /// Where it hung before and was lifted, the newest first.
    pub lifted: Vec<TagHung>,
}

/// A hold tag of a number, on a machine.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct TagHung {
    /// The machine.
    pub machine: String,
    /// The tagging.
    pub event: String,
    /// Why it was hung.
    pub why: String,
    /// Who hung it.
    pub person: String,
    /// When, ISO 8601.
    pub at: String,
    /// The untagging, if it was lifted.
    pub lifted_by: Option<String>,
}
