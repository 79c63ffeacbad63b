//! The store in one SQLite file: write-ahead log, every commit synced, one writer, many readers.

mod check;
mod compute;
pub mod migrate;
mod open;
mod row;
mod secrets;
mod writer;

use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
};

use muster_core::record::{
    event::{Entry, Signed},
    heads::{self, Heads, NotNext, SeriesEnd, Stretch},
    id::{DeviceId, EventId},
    payload::Subject,
};
use rusqlite::{
    Connection, OptionalExtension, Params, Row,
    backup::{Backup, StepResult},
    params,
};

use super::{Appended, Arrival, Fault, Store, StoreError, Stored, SubjectEnd, durable};
use compute::Placed;
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
        let writer = Writer::start(connection).map_err(|error| StoreError::file("start a thread for", &path, error))?;
        Ok(Self { readers: Readers::beside_writer(&path), path, writer: Ok(writer) })
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
    fn append(&self, batch: &[Signed]) -> Result<Appended, StoreError> {
        let writer = self.writer()?;
        let read = |(index, signed): (usize, &Signed)| read(index + 1, signed);
        let batch = batch.iter().enumerate().map(read).collect::<Result<Vec<_>, _>>()?;
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
        let sql = "SELECT subject, count(*), max(arrival) FROM placed WHERE subject IS NOT NULL GROUP BY subject";
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

/// An event read before it waits for the writer.
struct Read {
    entry: Entry,
    signed: Signed,
}

fn read(number: usize, signed: &Signed) -> Result<Read, StoreError> {
    let entry = Entry::read(&signed.event).map_err(|source| StoreError::NotAnEvent { number, source })?;
    let plain = |byte: u8| byte.is_ascii_digit() || (b'a'..=b'f').contains(&byte);
    if signed.signature.len() != 128 || !signed.signature.bytes().all(plain) {
        return Err(StoreError::NotASignature(entry.id));
    }
    Ok(Read { entry, signed: signed.clone() })
}

fn append(connection: &Connection, batch: &[Read]) -> Result<Appended, StoreError> {
    let mut arrival = last_arrival(connection)?;
    let mut ends: BTreeMap<DeviceId, Option<SeriesEnd>> = BTreeMap::new();
    let mut new = Vec::new();
    for Read { entry, signed } in batch {
        let id = entry.id;
        let end = match ends.entry(id.device) {
            std::collections::btree_map::Entry::Occupied(held) => held.into_mut(),
            std::collections::btree_map::Entry::Vacant(free) => free.insert(compute::end(connection, id.device)?),
        };
        match heads::is_next(end.as_ref(), entry) {
            Ok(()) => {}
            Err(NotNext::Held(_)) if same_bytes(connection, id, signed)? => continue,
            Err(NotNext::Held(_)) => return Err(StoreError::OtherBytes(id)),
            Err(source) => return Err(StoreError::NotNext { id, source }),
        }
        arrival += 1;
        insert(connection, arrival, id, signed)?;
        Placed::of(entry).insert(connection, arrival)?;
        *end = Some(SeriesEnd { seq: id.seq, hash: entry.hash.clone(), height: entry.height });
        new.push(id);
    }
    for (device, end) in &ends {
        if let Some(end) = end.as_ref().filter(|_| new.iter().any(|id| id.device == *device)) {
            compute::put_end(connection, *device, end)?;
        }
    }
    Ok(Appended { new, arrival })
}

fn insert(connection: &Connection, arrival: Arrival, id: EventId, signed: &Signed) -> Result<(), StoreError> {
    let sql = "INSERT INTO event (arrival, device, seq, bytes, signature, sum) VALUES (?1, ?2, ?3, ?4, ?5, ?6)";
    let (device, sum) = (row::of_device(id.device), row::sum(&signed.event, &signed.signature));
    let values = params![row::signed(arrival), device, row::signed(id.seq), signed.event, signed.signature, sum];
    connection.prepare_cached(sql)?.execute(values)?;
    Ok(())
}

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
