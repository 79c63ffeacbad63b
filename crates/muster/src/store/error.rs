//! Why the store could not do what it was asked, and what to do about it.

use std::{
    io,
    path::{Path, PathBuf},
    sync::Arc,
};

use muster_core::record::{event::NotAnEvent, heads::NotNext, id::EventId};
use rusqlite::{ErrorCode, ffi};

use super::sqlite::Changed;

/// Why the store could not do what it was asked.
#[derive(Clone, Debug, thiserror::Error)]
pub enum StoreError {
    /// Bytes that are no event.
    #[error("event number {number} of the batch is none")]
    NotAnEvent {
        /// Which of the batch, from 1.
        number: usize,
        /// Why.
        #[source]
        source: NotAnEvent,
    },
    /// A signature of another shape.
    #[error("the signature of event {0} must be 128 lower-case hexadecimal digits")]
    NotASignature(EventId),
    /// It does not continue its series.
    #[error("event {id} does not continue its series")]
    NotNext {
        /// Which.
        id: EventId,
        /// Why.
        #[source]
        source: NotNext,
    },
    /// Another event of the same name is held.
    #[error(
        "event {0} is held with other bytes: its device's series was written twice; revoke the device and enrol it anew"
    )]
    OtherBytes(EventId),
    /// Opened for reading, or on a medium that cannot be written.
    #[error("the store is open for reading only ({why}): make {folder} writable for this user and start again")]
    ReadOnly {
        /// Its folder.
        folder: PathBuf,
        /// Why.
        why: String,
    },
    /// No room. What was asked is not done, not in part either.
    #[error("there is no room to write: free some on the disk of the store and try again; nothing was half-written")]
    Full(#[source] Arc<rusqlite::Error>),
    /// Another program holds the database for longer than is waited.
    #[error("another program holds the database: end it, or try again")]
    Busy(#[source] Arc<rusqlite::Error>),
    /// Bytes on disk that are not what was written.
    #[error("the database is damaged ({what}): keep the file, and restore the last backup beside it")]
    Damaged {
        /// What and where.
        what: String,
    },
    /// Written by a later build.
    #[error("the database has version {found}, this build reads up to {known}: use a newer build")]
    Newer {
        /// Its version.
        found: u32,
        /// The latest this build reads.
        known: u32,
    },
    /// Written by an earlier build, where it cannot be brought up to date.
    #[error("the database has version {found} and this build reads {known}: open it once where it can be written")]
    Older {
        /// Its version.
        found: u32,
        /// The version this build reads.
        known: u32,
    },
    /// A database of something else.
    #[error("{0} is a database and not a record of this program: name another folder")]
    NotOurs(PathBuf),
    /// Deleted and not yet wiped.
    #[error("the key is deleted, but another program still reads what was: end it and ask again to wipe the key")]
    NotYetWiped,
    /// A person's key that would be overwritten.
    #[error("person {0} has another key already: what it sealed would be lost; destroy it first if that is meant")]
    OtherKey(String),
    /// The operating system refused a file.
    #[error("cannot {doing} {path}")]
    File {
        /// What was to be done.
        doing: &'static str,
        /// With which.
        path: PathBuf,
        /// Why not.
        #[source]
        source: Arc<io::Error>,
    },
    /// A value that no build wrote.
    #[error("the database holds {what} that this build cannot read: check the store")]
    Unread {
        /// What.
        what: String,
    },
    /// Work it was to be committed with broke off.
    #[error("the store broke off before this was written: try again")]
    Closed,
    /// Anything else SQLite says.
    #[error("the database refused")]
    Database(#[source] Arc<rusqlite::Error>),
}

impl StoreError {
    /// An error of the operating system with a file.
    pub(crate) fn file(doing: &'static str, path: &Path, source: io::Error) -> Self {
        Self::File { doing, path: path.into(), source: Arc::new(source) }
    }

    /// Whether an event was refused, and not the disk: other events may go in.
    #[must_use]
    pub const fn is_of_event(&self) -> bool {
        matches!(self, Self::NotAnEvent { .. } | Self::NotASignature(_) | Self::NotNext { .. } | Self::OtherBytes(_))
    }

    /// A value that cannot be read.
    pub(crate) fn unread(what: impl Into<String>) -> Self {
        Self::Unread { what: what.into() }
    }
}

impl From<rusqlite::Error> for StoreError {
    fn from(error: rusqlite::Error) -> Self {
        if let rusqlite::Error::FromSqlConversionFailure(_, _, why) = &error
            && let Some(changed) = why.downcast_ref::<Changed>()
        {
            return Self::Damaged { what: changed.to_string() };
        }
        let Some(failure) = error.sqlite_error() else { return Self::Database(Arc::new(error)) };
        match failure.code {
            ErrorCode::DiskFull => Self::Full(Arc::new(error)),
            // A limit on the size of files, and some network file systems, end so and not in `DiskFull`.
            ErrorCode::SystemIoFailure if is_write(failure.extended_code) => Self::Full(Arc::new(error)),
            ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked => Self::Busy(Arc::new(error)),
            ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase => Self::Damaged { what: error.to_string() },
            _ => Self::Database(Arc::new(error)),
        }
    }
}

fn is_write(extended_code: i32) -> bool {
    [ffi::SQLITE_IOERR_WRITE, ffi::SQLITE_IOERR_TRUNCATE, ffi::SQLITE_IOERR_SHMSIZE].contains(&extended_code)
}
