//! What is computed from event bytes: whose each is, how far each series goes.

use std::collections::BTreeMap;

use muster_core::record::{event::Entry, heads::SeriesEnd, id::DeviceId, upcast};
use rusqlite::{Connection, OptionalExtension, Row, params};

use super::row;
use crate::store::StoreError;

/// Notes whose an event is. One of a newer version is nobody's yet.
pub(super) const PLACE: &str = "INSERT INTO placed (subject, arrival) VALUES (?1, ?2)";

/// The subject of an event, as the column has it.
pub(super) fn subject(entry: &Entry) -> Option<String> {
    entry.event.as_ref().map(|event| row::of_subject(&event.payload.subject()))
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
    let mut place = connection.prepare(PLACE)?;
    let mut events = connection.prepare(&format!("SELECT {} FROM event ORDER BY arrival", row::STORED))?;
    for stored in events.query_map([], row::stored)? {
        let stored = stored?;
        let entry = Entry::read(&stored.signed.event)
            .map_err(|error| StoreError::Damaged { what: format!("event {}: {error}", stored.id) })?;
        if let Some(subject) = subject(&entry) {
            place.execute(params![subject, row::signed(stored.arrival)])?;
        }
        ends.insert(entry.id.device, SeriesEnd { seq: entry.id.seq, hash: entry.hash, height: entry.height });
    }
    for (device, end) in &ends {
        put_end(connection, *device, end)?;
    }
    connection.execute("INSERT INTO computed (version) VALUES (?1)", [upcast::VERSION])?;
    Ok(())
}
