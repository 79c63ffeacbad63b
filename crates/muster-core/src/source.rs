//! Where a figure comes from: a document, a place in it, and how it is known.

use alloc::{collections::BTreeMap, format, string::String};
use core::fmt;

use crate::words::Known;

/// A document of the bibliography.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    /// Title as printed.
    pub title: String,
    /// Edition or state, if one is named.
    pub edition: Option<String>,
    /// Law, standard, handbook, book, paper, practice or house.
    pub kind: String,
}

/// Every document the data names, by key.
pub type Bibliography = BTreeMap<String, Source>;

/// Where one row comes from. A limit never loses it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Provenance {
    /// Title of the document.
    pub title: String,
    /// Clause or page.
    pub place: Option<String>,
    /// How it is known.
    pub known: Known,
}

impl fmt::Display for Provenance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.title)?;
        if let Some(place) = &self.place {
            write!(f, ", {place}")?;
        }
        match self.known.caveat() {
            Some(caveat) if !caveat.eq_ignore_ascii_case(&self.title) => f.write_str(&format!(" ({caveat})")),
            _ => Ok(()),
        }
    }
}
