//! Opens a database file: for writing, or for reading where it cannot be written.

use std::{
    fs::{self, OpenOptions},
    io,
    path::{Path, PathBuf},
    sync::{Mutex, PoisonError},
};

use muster_core::record::upcast;
use rusqlite::{Connection, ErrorCode, OpenFlags, OptionalExtension};

use super::{
    compute,
    migrate::{self, MIGRATIONS},
};
use crate::store::{StoreError, durable};

/// How long one waits for another program that writes, in milliseconds.
const BUSY_MS: u32 = 5000;

/// Connections kept open for reading; more are opened while more read, and closed again.
const READERS_KEPT: usize = 4;

/// Opens for writing, creating what is missing; none with the reason if it can only be read.
pub(super) fn writable(path: &Path) -> Result<Result<Connection, String>, StoreError> {
    match create(path) {
        Ok(()) => {}
        Err(error) if is_denied(&error) => return Ok(Err(error.to_string())),
        Err(error) => return Err(StoreError::file("open", path, error)),
    }
    let connection = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_WRITE | base_flags())?;
    match prepare(connection, path) {
        Err(StoreError::Database(error)) if is_read_only(&error) => Ok(Err(error.to_string())),
        other => other.map(Ok),
    }
}

fn prepare(mut connection: Connection, path: &Path) -> Result<Connection, StoreError> {
    // secure_delete: what is deleted is overwritten, so that a destroyed key is gone from the file.
    connection.execute_batch(&format!(
        "PRAGMA busy_timeout = {BUSY_MS}; PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;
         PRAGMA foreign_keys = ON; PRAGMA temp_store = MEMORY; PRAGMA secure_delete = ON; PRAGMA cell_size_check = ON",
    ))?;
    refuse_others(&connection, path)?;
    migrate::migrate(&mut connection, MIGRATIONS)?;
    let computed: Option<u32> =
        connection.query_row("SELECT version FROM computed", [], |row| row.get(0)).optional()?;
    if computed != Some(upcast::VERSION) {
        // Events kept unread from a newer build can be read now, or this build computes otherwise than the last.
        let transaction = connection.transaction()?;
        compute::again(&transaction)?;
        transaction.commit()?;
    }
    Ok(connection)
}

fn refuse_others(connection: &Connection, path: &Path) -> Result<(), StoreError> {
    let tables: u32 = connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    if tables > 0 && migrate::version(connection)?.is_none() {
        return Err(StoreError::NotOurs(path.into()));
    }
    Ok(())
}

/// Creates the file for this user alone: it will hold keys.
fn create(path: &Path) -> io::Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder)?;
    let mut options = OpenOptions::new();
    options.read(true).write(true).create(true).truncate(false);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)?.sync_all()?;
    durable::sync_folder(folder)
}

fn is_denied(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem)
}

fn is_read_only(error: &rusqlite::Error) -> bool {
    let code = error.sqlite_error_code();
    matches!(code, Some(ErrorCode::ReadOnly | ErrorCode::CannotOpen | ErrorCode::PermissionDenied))
}

fn base_flags() -> OpenFlags {
    OpenFlags::SQLITE_OPEN_NO_MUTEX | OpenFlags::SQLITE_OPEN_URI
}

/// Connections that read.
#[derive(Debug)]
pub(super) struct Readers {
    name: PathBuf,
    idle: Mutex<Vec<Connection>>,
}

impl Readers {
    /// Reads a database that is also written.
    pub(super) fn beside_writer(path: &Path) -> Self {
        Self { name: path.into(), idle: Mutex::default() }
    }

    /// Reads a database that cannot be written here.
    pub(super) fn alone(path: &Path) -> Result<Self, StoreError> {
        let plain = Self::beside_writer(path);
        let seen = plain.read(|connection| version_known(connection, path));
        match seen {
            Err(StoreError::Database(error)) if is_read_only(&error) => {}
            other => return other.map(|()| plain),
        }
        // A folder that cannot be written holds no log of changes, unless a program was killed: then the file alone is
        // not the whole record, and reading it so would show less than is held.
        let log = path.with_file_name(format!("{}-wal", path.file_name().unwrap_or_default().display()));
        if fs::metadata(&log).is_ok_and(|log| log.len() > 0) {
            let error = io::Error::other("its log of changes was left behind; open it once where it can be written");
            return Err(StoreError::file("read", path, error));
        }
        let frozen = Self { name: immutable(path)?, idle: Mutex::default() };
        frozen.read(|connection| version_known(connection, path))?;
        Ok(frozen)
    }

    /// Reads with one of the connections.
    pub(super) fn read<T>(&self, work: impl FnOnce(&Connection) -> Result<T, StoreError>) -> Result<T, StoreError> {
        let kept = self.idle.lock().unwrap_or_else(PoisonError::into_inner).pop();
        let connection = match kept {
            Some(connection) => connection,
            None => self.open()?,
        };
        let outcome = work(&connection);
        let mut idle = self.idle.lock().unwrap_or_else(PoisonError::into_inner);
        if idle.len() < READERS_KEPT {
            idle.push(connection);
        }
        outcome
    }

    /// Closes those that are idle.
    pub(super) fn close(&self) {
        self.idle.lock().unwrap_or_else(PoisonError::into_inner).clear();
    }

    fn open(&self) -> Result<Connection, StoreError> {
        let connection = Connection::open_with_flags(&self.name, OpenFlags::SQLITE_OPEN_READ_ONLY | base_flags())?;
        connection.execute_batch(&format!(
            "PRAGMA busy_timeout = {BUSY_MS}; PRAGMA temp_store = MEMORY; PRAGMA query_only = ON",
        ))?;
        Ok(connection)
    }
}

fn version_known(connection: &Connection, path: &Path) -> Result<(), StoreError> {
    let known = migrate::latest(MIGRATIONS);
    match migrate::version(connection)? {
        None => Err(StoreError::NotOurs(path.into())),
        Some(found) if found > known => Err(StoreError::Newer { found, known }),
        Some(found) if found < known => Err(StoreError::Older { found, known }),
        Some(_) => Ok(()),
    }
}

/// The file as a URI that tells SQLite that nobody changes it.
fn immutable(path: &Path) -> Result<PathBuf, StoreError> {
    let path = fs::canonicalize(path).map_err(|error| StoreError::file("open", path, error))?;
    let bytes = path.as_os_str().as_encoded_bytes();
    let plain = |byte: u8| byte.is_ascii_alphanumeric() || b"/-_.~".contains(&byte);
    let escaped: String = bytes
        .iter()
        .map(|byte| if plain(*byte) { char::from(*byte).to_string() } else { format!("%{byte:02X}") })
        .collect();
    Ok(format!("file:{escaped}?immutable=1").into())
}
