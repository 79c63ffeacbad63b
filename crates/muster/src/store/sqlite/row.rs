//! Between rows and the types of the record.

use jiff::Timestamp;
use muster_core::record::{
    event::Signed,
    id::{DeviceId, EventId},
    payload::Subject,
};
use rusqlite::{Row, types::Type};
use sha2::{Digest, Sha256};

use crate::store::{StoreError, Stored};

/// The columns [`stored`] reads.
pub(super) const STORED: &str = "event.arrival, event.device, event.seq, event.bytes, event.signature, event.sum";

/// An event from [`STORED`], if its bytes are those that were appended.
pub(super) fn stored(row: &Row<'_>) -> rusqlite::Result<Stored> {
    let (stored, sum) = with_sum(row)?;
    if sum == self::sum(&stored.signed.event, &stored.signed.signature) {
        return Ok(stored);
    }
    let changed = Changed { id: stored.id, arrival: stored.arrival };
    Err(rusqlite::Error::FromSqlConversionFailure(3, Type::Text, Box::new(changed)))
}

/// An event whose bytes the disk changed.
#[derive(Debug, thiserror::Error)]
#[error("event {id}, arrival {arrival}: its bytes are not those that were appended")]
pub(in crate::store) struct Changed {
    id: EventId,
    arrival: u64,
}

/// An event from [`STORED`] and its sum, whether or not they go together.
pub(super) fn with_sum(row: &Row<'_>) -> rusqlite::Result<(Stored, Vec<u8>)> {
    Ok((as_it_is(row)?, row.get(5)?))
}

fn as_it_is(row: &Row<'_>) -> rusqlite::Result<Stored> {
    Ok(Stored {
        arrival: whole(row, 0)?,
        id: EventId { device: parsed(row, 1)?, seq: whole(row, 2)? },
        signed: Signed { event: row.get(3)?, signature: row.get(4)? },
    })
}

/// A whole number: the record has none above 2⁵³, so that all fit SQLite's.
pub(super) fn whole(row: &Row<'_>, column: usize) -> rusqlite::Result<u64> {
    let number: i64 = row.get(column)?;
    u64::try_from(number).map_err(|_| rusqlite::Error::IntegralValueOutOfRange(column, number))
}

/// A text that names something.
pub(super) fn parsed<T: std::str::FromStr<Err: std::error::Error + Send + Sync + 'static>>(
    row: &Row<'_>,
    column: usize,
) -> rusqlite::Result<T> {
    let text: String = row.get(column)?;
    text.parse().map_err(|error| rusqlite::Error::FromSqlConversionFailure(column, Type::Text, Box::new(error)))
}

/// Seconds since 1970.
pub(super) fn time(row: &Row<'_>, column: usize) -> rusqlite::Result<Timestamp> {
    let second: i64 = row.get(column)?;
    Timestamp::from_second(second).map_err(|_| rusqlite::Error::IntegralValueOutOfRange(column, second))
}

/// For SQLite, which has no unsigned numbers. What is too large for it is larger than any that is held.
pub(super) fn signed(number: u64) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

/// A subject as a text.
pub(super) fn of_subject(subject: &Subject) -> String {
    match subject {
        Subject::Yard => "yard".into(),
        Subject::Machine(machine) => format!("machine {machine}"),
    }
}

/// A subject from its text.
pub(super) fn subject(text: &str) -> Result<Subject, StoreError> {
    match text.strip_prefix("machine ") {
        Some(machine) => Ok(Subject::Machine(machine.into())),
        None if text == "yard" => Ok(Subject::Yard),
        None => Err(StoreError::unread(format!("subject `{text}`"))),
    }
}

/// What finds a change that the disk made.
pub(super) fn sum(bytes: &str, signature: &str) -> [u8; 32] {
    Sha256::new().chain_update(bytes).chain_update("\n").chain_update(signature).finalize().into()
}

/// A device as a column.
pub(super) fn of_device(device: DeviceId) -> String {
    device.to_string()
}
