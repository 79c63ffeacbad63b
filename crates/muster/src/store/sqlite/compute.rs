//! What is computed from event bytes: where each stands, whose it is, how far each series goes.

use std::{borrow::Cow, collections::BTreeMap};

use muster_core::record::{
    event::Entry,
    heads::SeriesEnd,
    id::{DeviceId, EventId},
    upcast,
};
use rusqlite::{Connection, OptionalExtension, Row, Statement, params};

use super::row;
use crate::store::{Arrival, StoreError};

/// The row of `placed` that belongs to an event.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Placed {
    pub(super) id: EventId,
    height: u64,
    subject: Option<String>,
    kind: Option<Cow<'static, str>>,
    at: Option<i64>,
}

/// The columns [`Placed::of_row`] reads.
pub(super) const PLACED: &str = "device, seq, height, subject, kind, at";

impl Placed {
    /// As it must be.
    pub(super) fn of(entry: &Entry) -> Self {
        let event = entry.event.as_ref();
        Self {
            id: entry.id,
            height: entry.height,
            subject: event.map(|event| row::of_subject(&event.payload.subject())),
            kind: event.map(|event| Cow::Borrowed(event.payload.kind().as_str())),
            at: event.map(|event| event.at.timestamp().as_second()),
        }
    }

    /// As it is.
    pub(super) fn of_row(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            id: EventId { device: row::parsed(row, 0)?, seq: row::whole(row, 1)? },
            height: row::whole(row, 2)?,
            subject: row.get(3)?,
            kind: row.get::<_, Option<String>>(4)?.map(Cow::Owned),
            at: row.get(5)?,
        })
    }

    /// What [`Placed::insert`] runs.
    pub(super) const INSERT: &str =
        "INSERT INTO placed (arrival, device, seq, height, subject, kind, at) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)";

    /// Writes it, its device as the column has it.
    pub(super) fn insert(&self, insert: &mut Statement<'_>, arrival: Arrival, device: &str) -> Result<(), StoreError> {
        let (seq, height) = (row::signed(self.id.seq), row::signed(self.height));
        insert.execute(params![row::signed(arrival), device, seq, height, self.subject, self.kind, self.at])?;
        Ok(())
    }
}

/// The end of a series as it is written down.
pub(super) fn end(connection: &Connection, device: DeviceId) -> Result<Option<SeriesEnd>, StoreError> {
    let mut query = connection.prepare_cached("SELECT seq, hash, height FROM series WHERE device = ?1")?;
    let read =
        |row: &Row<'_>| Ok(SeriesEnd { seq: row::whole(row, 0)?, hash: row.get(1)?, height: row::whole(row, 2)? });
    Ok(query.query_row([row::of_device(device)], read).optional()?)
}

/// The ends of all series as they are written down, ordered by device.
pub(super) fn ends(connection: &Connection) -> Result<Vec<(DeviceId, SeriesEnd)>, StoreError> {
    let mut query = connection.prepare_cached("SELECT device, seq, hash, height FROM series ORDER BY device")?;
    let read = |row: &Row<'_>| {
        let end = SeriesEnd { seq: row::whole(row, 1)?, hash: row.get(2)?, height: row::whole(row, 3)? };
        Ok((row::parsed(row, 0)?, end))
    };
    Ok(query.query_map([], read)?.collect::<rusqlite::Result<_>>()?)
}

/// Writes the end of a series down.
pub(super) fn put_end(connection: &Connection, device: DeviceId, end: &SeriesEnd) -> Result<(), StoreError> {
    let sql = "INSERT INTO series (device, seq, hash, height) VALUES (?1, ?2, ?3, ?4)
               ON CONFLICT (device) DO UPDATE SET seq = excluded.seq, hash = excluded.hash, height = excluded.height";
    let values = params![row::of_device(device), row::signed(end.seq), end.hash, row::signed(end.height)];
    connection.prepare_cached(sql)?.execute(values)?;
    Ok(())
}

/// Drops all that is computed and computes it again, in the caller's transaction.
pub(super) fn again(connection: &Connection) -> Result<(), StoreError> {
    connection.execute_batch("DELETE FROM placed; DELETE FROM series; DELETE FROM computed")?;
    let mut ends = BTreeMap::new();
    let mut place = connection.prepare(Placed::INSERT)?;
    let mut events = connection.prepare(&format!("SELECT {} FROM event ORDER BY arrival", row::STORED))?;
    for stored in events.query_map([], row::stored)? {
        let stored = stored?;
        let entry = Entry::read(&stored.signed.event)
            .map_err(|error| StoreError::Damaged { what: format!("event {}: {error}", stored.id) })?;
        Placed::of(&entry).insert(&mut place, stored.arrival, &row::of_device(entry.id.device))?;
        ends.insert(entry.id.device, SeriesEnd { seq: entry.id.seq, hash: entry.hash, height: entry.height });
    }
    for (device, end) in &ends {
        put_end(connection, *device, end)?;
    }
    connection.execute("INSERT INTO computed (version) VALUES (?1)", [upcast::VERSION])?;
    Ok(())
}
