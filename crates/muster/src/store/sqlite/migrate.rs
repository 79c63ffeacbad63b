//! Brings a database to the version of this build, one numbered step at a time, each step in one transaction.

use rusqlite::{Connection, OptionalExtension, TransactionBehavior};

use crate::store::StoreError;

/// A step from one version to the next.
#[derive(Clone, Copy, Debug)]
pub struct Migration {
    /// The version it leads to: one more than the step before.
    pub version: u32,
    /// Its statements.
    pub sql: &'static str,
}

/// Every step there ever was, in order. Steps are added, never changed.
pub const MIGRATIONS: &[Migration] = &[
    Migration { version: 1, sql: include_str!("../migrations/0001.sql") },
    Migration { version: 2, sql: include_str!("../migrations/0002.sql") },
];

/// The version that the last of some steps leads to.
#[must_use]
pub fn latest(migrations: &[Migration]) -> u32 {
    migrations.last().map_or(0, |migration| migration.version)
}

/// The version of a database; none if it has none: an empty file, or not one of ours.
///
/// # Errors
/// [`StoreError`] if it cannot be read.
pub fn version(connection: &Connection) -> Result<Option<u32>, StoreError> {
    let ours = "SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name = 'schema_version'";
    if connection.query_row(ours, [], |row| row.get::<_, u32>(0))? == 0 {
        return Ok(None);
    }
    Ok(connection.query_row("SELECT version FROM schema_version", [], |row| row.get(0)).optional()?)
}

/// Takes the steps that are missing. One that is interrupted leaves the version before it, whole.
///
/// # Errors
/// [`StoreError::Newer`] for a database of a later version; [`StoreError`] if a step fails.
pub fn migrate(connection: &mut Connection, migrations: &[Migration]) -> Result<(), StoreError> {
    let known = latest(migrations);
    for migration in migrations {
        // The version is read in the transaction: two programs that open at once take each step once.
        let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let found = version(&transaction)?.unwrap_or(0);
        if found > known {
            return Err(StoreError::Newer { found, known });
        }
        if found < migration.version {
            if found == 0 {
                transaction.execute_batch(
                    "CREATE TABLE schema_version (version INTEGER NOT NULL) STRICT; INSERT INTO schema_version VALUES (0)",
                )?;
            }
            transaction.execute_batch(migration.sql)?;
            transaction.execute("UPDATE schema_version SET version = ?1", [migration.version])?;
        }
        transaction.commit()?;
    }
    Ok(())
}
