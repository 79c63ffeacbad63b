//! The record as text, to be taken elsewhere: one signed event a line, photos beside it; and its way in again.

mod incoming;

use std::{
    fs::File,
    io::{self, BufWriter, Write},
    path::{Path, PathBuf},
};

use muster_core::{
    hash::hex,
    record::event::{Entry, Signed},
};
use serde::{Deserialize, Serialize};

use super::{
    Secrets, Store, StoreError,
    backup::{self, BackupError},
    durable,
    photos::{self, PhotoError, PhotoId, Photos},
};

pub use incoming::{Imported, Place, Refused};

/// The file of events: a [`Header`], then one [`Signed`] a line.
pub const EVENTS: &str = "events.jsonl";

/// The file of originals' names: one [`Original`] a line.
pub const ORIGINALS: &str = "originals.jsonl";

/// The file of person keys, if they were asked for: one [`Key`] a line.
pub const KEYS: &str = "keys.jsonl";

/// The form this build writes.
pub const FORMAT: u32 = 1;

/// How many events are read or appended at once.
const BATCH: usize = 200;

/// The first line of the file of events.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Header {
    /// Its form.
    pub format: u32,
    /// How many events follow.
    pub events: u64,
    /// How many photos are beside it.
    pub photos: u64,
}

/// Which photo was made of which original.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Original {
    /// SHA-256 of the original.
    pub original: String,
    /// SHA-256 of the photo.
    pub kept: String,
}

/// A person's key.
#[derive(Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Key {
    /// Whose.
    pub person: String,
    /// 64 hexadecimal digits.
    pub key: String,
}

/// What is held here.
#[derive(Clone, Copy)]
pub struct Holdings<'a> {
    /// Events.
    pub store: &'a dyn Store,
    /// Keys; none if they are to stay out of it.
    pub secrets: Option<&'a dyn Secrets>,
    /// Photos.
    pub photos: &'a Photos,
}

/// What was exported.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Exported {
    /// What the file of events says of itself.
    pub header: Header,
    /// How many keys.
    pub keys: u64,
    /// Photos left out, since they are damaged.
    pub damaged: Vec<PhotoId>,
}

/// Why nothing was exported, or the import broke off.
#[derive(Clone, Debug, thiserror::Error)]
pub enum TransferError {
    /// The folder.
    #[error(transparent)]
    Folder(#[from] BackupError),
    /// The store.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The photos.
    #[error(transparent)]
    Photo(#[from] PhotoError),
    /// No export, or one of a later build.
    #[error("{path} is no export this build reads ({why})")]
    NotAnExport {
        /// The file of events.
        path: PathBuf,
        /// What is wrong with it.
        why: String,
    },
}

/// Whether an event may come in: signature and rights are the layer above's to judge. In the order of the file.
pub type Admit<'a> = dyn FnMut(&Signed, &Entry) -> Result<(), String> + 'a;

/// Writes all events and photos to a new folder, which appears when it is whole; keys too if `here` has secrets.
///
/// With the keys, whoever has the folder can read what concerns single people; without them nobody can.
///
/// # Errors
/// [`TransferError`] if the folder is there already, or the disk refuses.
pub fn export(here: Holdings<'_>, to: &Path) -> Result<Exported, TransferError> {
    backup::into_new_folder(to, |folder| {
        // Counted before the photos: each photo was there before the event that names it.
        let events = here.store.count()?;
        let (photos, damaged) = export_photos(here.photos, folder)?;
        let header = Header { format: FORMAT, events, photos };
        let path = folder.join(EVENTS);
        lines(&path, |out| {
            out.line(&header)?;
            export_events(here.store, events, out)
        })?;
        let keys = here.secrets.map_or(Ok(Vec::new()), Secrets::keys)?;
        if here.secrets.is_some() {
            lines(&folder.join(KEYS), |out| {
                keys.iter()
                    .try_for_each(|(person, key)| out.line(&Key { person: person.to_string(), key: hex(key.bytes()) }))
            })?;
        }
        Ok(Exported { header, keys: keys.len() as u64, damaged })
    })
}

/// Takes in what an export holds. What is held already stays as it is; what is refused is reported and the rest goes in.
///
/// # Errors
/// [`TransferError`] if it is no export, or the disk refuses: what came in before stays, and importing again goes on.
pub fn import(from: &Path, here: Holdings<'_>, admit: &mut Admit<'_>) -> Result<Imported, TransferError> {
    incoming::import(from, here, admit)
}

fn export_events(store: &dyn Store, upto: u64, out: &mut Lines<'_>) -> Result<(), StoreError> {
    let mut arrival = 0;
    while arrival < upto {
        let events = store.since(arrival, BATCH)?;
        let Some(last) = events.last() else { break };
        arrival = last.arrival;
        events.iter().filter(|event| event.arrival <= upto).try_for_each(|event| out.line(&event.signed))?;
    }
    Ok(())
}

fn export_photos(photos: &Photos, folder: &Path) -> Result<(u64, Vec<PhotoId>), TransferError> {
    let (mut count, mut damaged) = (0, Vec::new());
    for id in photos.list()? {
        match photos.read(&id) {
            Ok(Some(bytes)) => {
                durable::write(&folder.join(photos::FOLDER).join(format!("{id}.jpg")), &bytes)?;
                count += 1;
            }
            Ok(None) => {}
            Err(PhotoError::Damaged(id)) => damaged.push(id),
            Err(error) => return Err(error.into()),
        }
    }
    let originals = photos.originals()?;
    lines(&folder.join(ORIGINALS), |out| {
        originals.iter().try_for_each(|(original, kept)| {
            out.line(&Original { original: original.to_string(), kept: kept.to_string() })
        })
    })?;
    Ok((count, damaged))
}

/// A file of JSON lines that is being written.
struct Lines<'a> {
    path: &'a Path,
    file: BufWriter<File>,
}

impl Lines<'_> {
    fn line(&mut self, value: &impl Serialize) -> Result<(), StoreError> {
        let written = serde_json::to_writer(&mut self.file, value).map_err(io::Error::from);
        let written = written.and_then(|()| self.file.write_all(b"\n"));
        written.map_err(|error| StoreError::file("write", self.path, error))
    }
}

fn lines(path: &Path, fill: impl FnOnce(&mut Lines<'_>) -> Result<(), StoreError>) -> Result<(), StoreError> {
    let failed = |error| StoreError::file("write", path, error);
    let file = BufWriter::new(durable::create_new(path).map_err(failed)?);
    let mut out = Lines { path, file };
    fill(&mut out)?;
    let file = out.file.into_inner().map_err(|error| failed(error.into_error()))?;
    file.sync_all().map_err(failed)
}
