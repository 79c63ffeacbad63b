//! Resolves source keys, and notices the ones nobody used.

use alloc::{
    collections::{BTreeMap, BTreeSet},
    format,
    string::{String, ToString},
};

use super::{Reader, Row, Text};
use crate::{
    source::{Bibliography, Provenance, Source},
    words::Known,
};

/// The bibliography while files are read.
pub(super) struct Sources<'b> {
    known: &'b Bibliography,
    used: BTreeSet<String>,
}

/// Reads `sources.toml`.
pub(super) fn bibliography(reader: &mut Reader<'_>, mut file: Row<'_>) -> Bibliography {
    let mut out = BTreeMap::new();
    let mut last = String::new();
    for mut row in file.rows(reader, "source") {
        let span = row.span();
        let Some(key) = row.need::<String>(reader, "key") else { continue };
        let title = row.need::<String>(reader, "title");
        let edition = row.take(reader, "edition");
        let kind = row.need::<String>(reader, "kind");
        let _known: Option<Known> = row.word(reader, "known");
        let _url: Option<String> = row.take(reader, "url");
        let _retrieved = row.date(reader, "retrieved");
        row.finish(reader, "key, title, edition, kind, known, url, retrieved");
        if key <= last {
            reader.say(span, format!("source `{key}` is out of order or twice: keys are sorted"));
        }
        last.clone_from(&key);
        if let (Some(title), Some(kind)) = (title, kind) {
            out.insert(key, Source { title, edition, kind });
        }
    }
    file.finish(reader, "source");
    out
}

impl<'b> Sources<'b> {
    /// Begins with the bibliography.
    pub(super) fn new(known: &'b Bibliography) -> Self {
        Self { known, used: BTreeSet::new() }
    }

    /// Reads where a row comes from; `handbook` stands in where the row names no source.
    pub(super) fn provenance(
        &mut self,
        reader: &mut Reader<'_>,
        row: &mut Row<'_>,
        handbook: Option<(&str, Known)>,
    ) -> Option<Provenance> {
        let key = row.text(reader, "source");
        let clause: Option<String> = row.take(reader, "clause");
        let page: Option<String> = row.take(reader, "page");
        let known = row.word::<Known>(reader, "known");
        let place = clause.or(page);
        match (key, handbook) {
            (Some(key), _) => {
                Some(Provenance { title: self.title(reader, &key)?, place, known: known.unwrap_or(Known::Owner) })
            }
            (None, Some((title, usual))) => {
                Some(Provenance { title: title.to_string(), place, known: known.unwrap_or(usual) })
            }
            (None, None) if known == Some(Known::Practice) => {
                Some(Provenance { title: "Common practice".to_string(), place, known: Known::Practice })
            }
            (None, None) => {
                reader.say(row.span(), "a limit never loses its source: name `source`, or known = \"practice\"");
                None
            }
        }
    }

    fn title(&mut self, reader: &mut Reader<'_>, key: &Text) -> Option<String> {
        self.used.insert(key.get_ref().clone());
        let found = self.known.get(key.get_ref());
        if found.is_none() {
            reader.say(key.span(), format!("no source `{}` in sources.toml", key.get_ref()));
        }
        found.map(|source| source.title.clone())
    }

    /// Keys of the bibliography that no row named.
    pub(super) fn unused(&self) -> impl Iterator<Item = &str> {
        self.known.keys().filter(|key| !self.used.contains(*key)).map(String::as_str)
    }
}
