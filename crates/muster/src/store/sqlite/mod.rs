//! The store in one SQLite file: write-ahead log, every commit synced, one writer, many readers.

mod check;
mod compute;
pub mod migrate;
mod open;
mod row;
mod secrets;
mod writer;

use std::{
    collections::{BTreeMap, btree_map},
    path::{Path, PathBuf},
    sync::Arc,
};

use muster_core::record::{
    event::Signed,
    heads::{self, Heads, NotNext, SeriesEnd, Stretch},
    id::{DeviceId, EventId},
    payload::Subject,
};
use rusqlite::{
    Connection, OptionalExtension, Params, Row,
    backup::{Backup, StepResult},
    params,
};

use super::{Appended, Arrival, Fault, ReadEvent, Store, StoreError, Stored, SubjectEnd, durable};
use open::Readers;
pub(super) use row::Changed;
use writer::Writer;

/// The name of the database file in the store's folder.
pub const DATABASE: &str = "muster.db";

/// A store in a folder.
#[derive(Debug)]
pub struct SqliteStore {
    path: PathBuf,
    readers: Readers,
    writer: Result<Writer, String>,
}

impl SqliteStore {
    /// Opens the store in a folder, and creates it if there is none. Where it cannot be written it is opened for reading.
    ///
    /// # Errors
    /// [`StoreError`] if it is damaged, of a newer version, or of something else.
    pub fn open(folder: &Path) -> Result<Self, StoreError> {
        let path = folder.join(DATABASE);
        let connection = match open::writable(&path)? {
            Ok(connection) => connection,
            Err(why) => return Self::reading(path, why),
        };
        Ok(Self { readers: Readers::beside_writer(&path), path, writer: Ok(Writer::of(connection)) })
    }

    /// Opens the store in a folder for reading, whether or not it could be written.
    ///
    /// # Errors
    /// As [`SqliteStore::open`], and if there is none.
    pub fn open_read_only(folder: &Path) -> Result<Self, StoreError> {
        Self::reading(folder.join(DATABASE), "as it was asked to be".into())
    }

    /// Why it cannot be written; none if it can.
    #[must_use]
    pub fn read_only(&self) -> Option<&str> {
        self.writer.as_ref().err().map(String::as_str)
    }

    /// Copies the database as it is at one moment into a new file, while others read and write.
    ///
    /// # Errors
    /// [`StoreError`] if the file is there already, or the disk refuses.
    pub fn copy_to(&self, file: &Path) -> Result<(), StoreError> {
        let created = durable::create_new(file).map_err(|error| StoreError::file("create", file, error))?;
        self.read(|from| {
            let mut to = Connection::open(file)?;
            // All pages in one step, under one reader's lock: in several, each write between would start it anew.
            let step = Backup::new(from, &mut to)?.step(-1)?;
            if step != StepResult::Done {
                return Err(StoreError::unread("a state that is being changed"));
            }
            // One file, without a log of changes beside it.
            to.query_row("PRAGMA journal_mode = DELETE", [], |_| Ok(()))?;
            to.close().map_err(|(_, error)| error.into())
        })?;
        created.sync_all().map_err(|error| StoreError::file("write", file, error))
    }

    /// The database file.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    fn reading(path: PathBuf, why: String) -> Result<Self, StoreError> {
        Ok(Self { readers: Readers::alone(&path)?, path, writer: Err(why) })
    }

    fn writer(&self) -> Result<&Writer, StoreError> {
        self.writer.as_ref().map_err(|why| StoreError::ReadOnly {
            folder: self.path.parent().unwrap_or(&self.path).into(),
            why: why.clone(),
        })
    }

    /// Does work on a connection that reads.
    pub(super) fn read<T>(&self, work: impl FnOnce(&Connection) -> Result<T, StoreError>) -> Result<T, StoreError> {
        self.readers.read(work)
    }

    fn events(&self, sql: &str, values: impl Params) -> Result<Vec<Stored>, StoreError> {
        self.read(|connection| {
            let mut query = connection.prepare_cached(sql)?;
            let rows = query.query_map(values, row::stored)?;
            Ok(rows.collect::<rusqlite::Result<_>>()?)
        })
    }
}

impl Drop for SqliteStore {
    fn drop(&mut self) {
        // The writer closes last, so that SQLite takes the log of changes into the file and removes it.
        self.readers.close();
    }
}

impl Store for SqliteStore {
    fn append_read(&self, batch: &Arc<Vec<ReadEvent>>) -> Result<Appended, StoreError> {
        let writer = self.writer()?;
        let plain = |byte: u8| byte.is_ascii_digit() || (b'a'..=b'f').contains(&byte);
        let is_one = |signature: &str| signature.len() == 128 && signature.bytes().all(plain);
        if let Some(other) = batch.iter().find(|read| !is_one(&read.signed().signature)) {
            return Err(StoreError::NotASignature(other.entry().id));
        }
        let batch = batch.clone();
        writer.write(move |connection| append(connection, &batch))
    }

    fn heads(&self) -> Result<Heads, StoreError> {
        let mut heads = Heads::default();
        for (device, end) in self.series_ends()? {
            heads.raise(EventId { device, seq: end.seq });
        }
        Ok(heads)
    }

    fn series_end(&self, device: DeviceId) -> Result<Option<SeriesEnd>, StoreError> {
        self.read(|connection| compute::end(connection, device))
    }

    fn series_ends(&self) -> Result<Vec<(DeviceId, SeriesEnd)>, StoreError> {
        self.read(compute::ends)
    }

    fn stretch(&self, stretch: Stretch, limit_bytes: usize) -> Result<Vec<Stored>, StoreError> {
        let sql = format!("SELECT {} FROM event WHERE device = ?1 AND seq BETWEEN ?2 AND ?3 ORDER BY seq", row::STORED);
        let values = params![row::of_device(stretch.device), row::signed(stretch.from), row::signed(stretch.to)];
        self.read(|connection| {
            let mut query = connection.prepare_cached(&sql)?;
            let (mut events, mut bytes) = (Vec::new(), 0);
            for event in query.query_map(values, row::stored)? {
                let event = event?;
                bytes += event.signed.event.len() + event.signed.signature.len();
                if bytes > limit_bytes && !events.is_empty() {
                    break;
                }
                events.push(event);
            }
            Ok(events)
        })
    }

    fn subject(&self, subject: &Subject) -> Result<Vec<Stored>, StoreError> {
        let sql = format!(
            "SELECT {} FROM placed JOIN event USING (arrival) WHERE placed.subject = ?1 ORDER BY placed.arrival",
            row::STORED
        );
        self.events(&sql, [row::of_subject(subject)])
    }

    fn subjects(&self) -> Result<Vec<SubjectEnd>, StoreError> {
        let sql = "SELECT subject, count(*), max(arrival) FROM placed GROUP BY subject";
        let read = |row: &Row<'_>| Ok((row.get::<_, String>(0)?, row::whole(row, 1)?, row::whole(row, 2)?));
        let mut ends = self.read(|connection| {
            let mut query = connection.prepare_cached(sql)?;
            let rows = query.query_map([], read)?.collect::<rusqlite::Result<Vec<_>>>()?;
            let end = |(text, events, last): (String, u64, u64)| {
                Ok(SubjectEnd { subject: row::subject(&text)?, events, last })
            };
            rows.into_iter().map(end).collect::<Result<Vec<_>, StoreError>>()
        })?;
        ends.sort_by(|a, b| a.subject.cmp(&b.subject));
        Ok(ends)
    }

    fn since(&self, arrival: Arrival, limit: usize) -> Result<Vec<Stored>, StoreError> {
        let sql = format!("SELECT {} FROM event WHERE arrival > ?1 ORDER BY arrival LIMIT ?2", row::STORED);
        self.events(&sql, [row::signed(arrival), i64::try_from(limit).unwrap_or(i64::MAX)])
    }

    fn event(&self, id: EventId) -> Result<Option<Stored>, StoreError> {
        let sql = format!("SELECT {} FROM event WHERE device = ?1 AND seq = ?2", row::STORED);
        let values = params![row::of_device(id.device), row::signed(id.seq)];
        Ok(self.events(&sql, values)?.pop())
    }

    fn count(&self) -> Result<u64, StoreError> {
        self.read(last_arrival)
    }

    fn rebuild(&self) -> Result<(), StoreError> {
        self.writer()?.write(compute::again)
    }

    fn check(&self) -> Result<Vec<Fault>, StoreError> {
        self.read(check::check)
    }
}

/// The series of one device, as a batch goes on.
struct Series {
    device: String,
    end: Option<SeriesEnd>,
    has_grown: bool,
}

fn append(connection: &Connection, batch: &[ReadEvent]) -> Result<Appended, StoreError> {
    let mut arrival = last_arrival(connection)?;
    let mut all: BTreeMap<DeviceId, Series> = BTreeMap::new();
    let mut new = Vec::new();
    let mut insert = connection.prepare_cached(INSERT)?;
    let mut place = connection.prepare_cached(compute::PLACE)?;
    for read in batch {
        let (entry, signed) = (read.entry(), read.signed());
        let id = entry.id;
        let series = match all.entry(id.device) {
            btree_map::Entry::Occupied(known) => known.into_mut(),
            btree_map::Entry::Vacant(free) => {
                let (device, end) = (row::of_device(id.device), compute::end(connection, id.device)?);
                free.insert(Series { device, end, has_grown: false })
            }
        };
        match heads::is_next(series.end.as_ref(), entry) {
            Ok(()) => {}
            Err(NotNext::Held(_)) if same_bytes(connection, id, signed)? => continue,
            Err(NotNext::Held(_)) => return Err(StoreError::OtherBytes(id)),
            Err(source) => return Err(StoreError::NotNext { id, source }),
        }
        arrival += 1;
        let sum = row::sum(&signed.event, &signed.signature);
        let seq = row::signed(id.seq);
        insert.execute(params![row::signed(arrival), series.device, seq, signed.event, signed.signature, sum])?;
        if let Some(subject) = compute::subject(entry) {
            place.execute(params![subject, row::signed(arrival)])?;
        }
        series.end = Some(SeriesEnd { seq: id.seq, hash: entry.hash.clone(), height: entry.height });
        series.has_grown = true;
        new.push(id);
    }
    for (device, series) in all.iter().filter(|(_, series)| series.has_grown) {
        if let Some(end) = &series.end {
            compute::put_end(connection, *device, end)?;
        }
    }
    Ok(Appended { new, arrival })
}

const INSERT: &str = "INSERT INTO event (arrival, device, seq, bytes, signature, sum) VALUES (?1, ?2, ?3, ?4, ?5, ?6)";

fn same_bytes(connection: &Connection, id: EventId, signed: &Signed) -> Result<bool, StoreError> {
    let mut query = connection.prepare_cached("SELECT bytes FROM event WHERE device = ?1 AND seq = ?2")?;
    let held: Option<String> =
        query.query_row(params![row::of_device(id.device), row::signed(id.seq)], |row| row.get(0)).optional()?;
    Ok(held.is_some_and(|held| held == signed.event))
}

fn last_arrival(connection: &Connection) -> Result<Arrival, StoreError> {
    let mut query = connection.prepare_cached("SELECT coalesce(max(arrival), 0) FROM event")?;
    Ok(query.query_row([], |row| row::whole(row, 0))?)
}
