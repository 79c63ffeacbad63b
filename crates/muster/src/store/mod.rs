//! The record on disk: a small trait, its SQLite back end, photos beside it, backups, export and import.
//!
//! Event bytes are the only truth. They are appended, never changed and never deleted; all that is computed from them
//! can be dropped and computed again. What must be destroyed or rotated (keys, accounts, sessions) is no event and has
//! its own trait, [`Secrets`].

pub mod backup;
pub mod durable;
mod error;
pub mod photos;
mod secrets;
pub mod sqlite;
pub mod transfer;

use std::{fmt, sync::Arc};

use muster_core::record::{
    event::{Entry, NotAnEvent, Signed},
    heads::{Heads, SeriesEnd, Stretch},
    id::{DeviceId, EventId},
    payload::Subject,
};

use crate::cores::on_every_core;

pub use error::StoreError;
pub use secrets::{Account, Code, CodeHash, Secrets, Session, TokenHash};

/// An event's number in the order this store received it, from 1 without a gap; 0 stands before all.
///
/// It is this store's own: another store that holds the same events has them in another order.
pub type Arrival = u64;

/// Events from which on reading them on several cores is worth it: an event takes some 3 microseconds.
const WORTH: usize = 40;

/// Where events are kept.
///
/// Methods block on the disk. Signatures and rights are checked by the layer above; signatures are kept.
pub trait Store: Send + Sync {
    /// Appends events, all or none. On return they are on disk.
    ///
    /// An event held already with the same bytes is skipped, so that a batch may be sent again.
    ///
    /// # Errors
    /// [`StoreError`] with what is wrong with the first event refused, or with the disk.
    fn append(&self, batch: &[Signed]) -> Result<Appended, StoreError> {
        let read = |part: &[Signed]| part.iter().cloned().map(ReadEvent::of).collect();
        let numbered = (1..).zip(on_every_core(batch, WORTH, read));
        let read = numbered.map(|(number, read)| read.map_err(|source| StoreError::NotAnEvent { number, source }));
        self.append_read(&Arc::new(read.collect::<Result<_, _>>()?))
    }

    /// As [`Store::append`], of events the caller has read: they are not read again.
    ///
    /// # Errors
    /// As for [`Store::append`].
    fn append_read(&self, batch: &Arc<Vec<ReadEvent>>) -> Result<Appended, StoreError>;

    /// How far each series is held.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be read; the same for each method below.
    fn heads(&self) -> Result<Heads, StoreError>;

    /// The end of one series; none if it is not held at all.
    fn series_end(&self, device: DeviceId) -> Result<Option<SeriesEnd>, StoreError>;

    /// The end of every series, ordered by device: what this installation's own next event stands on.
    fn series_ends(&self) -> Result<Vec<(DeviceId, SeriesEnd)>, StoreError>;

    /// Events of one stretch in order, until they exceed `limit_bytes`; at least one, if any is held.
    fn stretch(&self, stretch: Stretch, limit_bytes: usize) -> Result<Vec<Stored>, StoreError>;

    /// Every event of one subject, in the order of arrival.
    fn subject(&self, subject: &Subject) -> Result<Vec<Stored>, StoreError>;

    /// Every subject that has events, ordered.
    ///
    /// Events of a newer version have none yet: they are in no subject until a build that reads them opens the store.
    fn subjects(&self) -> Result<Vec<SubjectEnd>, StoreError>;

    /// Events that arrived after a number, in that order, at most `limit`.
    fn since(&self, arrival: Arrival, limit: usize) -> Result<Vec<Stored>, StoreError>;

    /// One event.
    fn event(&self, id: EventId) -> Result<Option<Stored>, StoreError>;

    /// How many events are held: the last arrival.
    fn count(&self) -> Result<u64, StoreError>;

    /// Drops all that is computed from the event bytes, and computes it again.
    ///
    /// # Errors
    /// [`StoreError::Damaged`] naming the event that cannot be read; nothing is changed then.
    fn rebuild(&self) -> Result<(), StoreError>;

    /// Reads everything and names each fault; no fault, an empty list.
    ///
    /// # Errors
    /// [`StoreError`] if the file cannot be read at all. What is damaged in it is a fault, not an error.
    fn check(&self) -> Result<Vec<Fault>, StoreError>;
}

/// An event with what its bytes say. Invariant: the entry was read from these bytes, and nobody changes either.
#[derive(Clone, Debug)]
pub struct ReadEvent {
    signed: Signed,
    entry: Entry,
}

impl ReadEvent {
    /// Reads an event's bytes.
    ///
    /// # Errors
    /// [`NotAnEvent`] with what is wrong with them.
    pub fn of(signed: Signed) -> Result<Self, NotAnEvent> {
        Ok(Self { entry: Entry::read(&signed.event)?, signed })
    }

    /// Its bytes and signature.
    #[must_use]
    pub const fn signed(&self) -> &Signed {
        &self.signed
    }

    /// What they say.
    #[must_use]
    pub const fn entry(&self) -> &Entry {
        &self.entry
    }

    /// What they say, the bytes let go.
    #[must_use]
    pub fn into_entry(self) -> Entry {
        self.entry
    }
}

/// What came of an append.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Appended {
    /// The events not held before, in the order of the batch.
    pub new: Vec<EventId>,
    /// The last arrival in the store, these included.
    pub arrival: Arrival,
}

/// An event as it is held.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stored {
    /// Its number in the order of arrival.
    pub arrival: Arrival,
    /// Which.
    pub id: EventId,
    /// Its bytes and signature.
    pub signed: Signed,
}

/// A subject and how much of it is held.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SubjectEnd {
    /// Which.
    pub subject: Subject,
    /// How many events.
    pub events: u64,
    /// The arrival of the last.
    pub last: Arrival,
}

/// Something wrong in the store.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Where.
    pub part: Part,
    /// What, in words.
    pub what: String,
}

/// A part of the store that a fault names.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The file as a whole.
    File,
    /// A page of the file, from 1.
    Page(u32),
    /// An event.
    Event {
        /// Its number in the order of arrival.
        arrival: Arrival,
        /// Which, if that much can be read.
        id: Option<EventId>,
    },
    /// What is computed of a device's series.
    Series(DeviceId),
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.part {
            Part::File => write!(f, "database: {}", self.what),
            Part::Page(page) => write!(f, "page {page}: {}", self.what),
            Part::Event { arrival, id: Some(id) } => write!(f, "event {id} (arrival {arrival}): {}", self.what),
            Part::Event { arrival, id: None } => write!(f, "arrival {arrival}: {}", self.what),
            Part::Series(device) => write!(f, "series of {device}: {}", self.what),
        }
    }
}
