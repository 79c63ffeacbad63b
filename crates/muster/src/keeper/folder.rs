//! A record's folder: opened by one program at a time, made on first run.

use std::{
    fs::{self, File, TryLockError},
    io,
    path::{Path, PathBuf},
    sync::Arc,
};

use muster_core::data;

use super::{Device, Keeper};
use crate::store::{
    Secrets, StoreError,
    photos::Photos,
    sqlite::{DATABASE, SqliteStore},
};

/// Why a folder's record cannot be opened.
#[derive(Debug, thiserror::Error)]
pub enum NotOpened {
    /// The store itself.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// Another program writes there.
    #[error("another program has {0} open: ask it by --server, or end it")]
    InUse(PathBuf),
    /// There is nothing.
    #[error("no record in {0}: make one with `muster record new`")]
    Missing(PathBuf),
    /// The folder cannot be made or locked.
    #[error("cannot use {folder}")]
    Folder {
        /// Which.
        folder: PathBuf,
        /// Why.
        #[source]
        source: io::Error,
    },
    /// The catalogue of this build.
    #[error("this build's own data cannot be read: {0}")]
    Catalogue(String),
    /// No randomness for a key.
    #[error("the operating system gives no random bytes: {0}")]
    Random(String),
}

/// A keeper with the lock that keeps others out.
pub struct Opened {
    /// The record.
    pub keeper: Arc<Keeper>,
    /// Its store, for what is done with the whole of it.
    pub store: Arc<SqliteStore>,
    /// Its photos.
    pub photos: Photos,
    /// Where it is.
    pub folder: PathBuf,
    _lock: Option<File>,
}

impl Opened {
    /// Opens the record in a folder.
    ///
    /// # Errors
    /// [`NotOpened`] with the remedy.
    pub fn existing(folder: &Path) -> Result<Self, NotOpened> {
        if !folder.join(DATABASE).is_file() {
            return Err(NotOpened::Missing(folder.to_path_buf()));
        }
        Self::made(folder)
    }

    /// Opens the record in a folder, made if it is not there.
    ///
    /// # Errors
    /// [`NotOpened`] with the remedy.
    pub fn made(folder: &Path) -> Result<Self, NotOpened> {
        let with = |source| NotOpened::Folder { folder: folder.to_path_buf(), source };
        fs::create_dir_all(folder).map_err(with)?;
        let lock = lock(folder)?;
        let store = Arc::new(SqliteStore::open(folder)?);
        let key = match store.own_key()? {
            Some(key) => key,
            // A store that holds events and has lost its key goes on under a new one: a device of its own.
            None => {
                let key = random()?;
                store.put_own_key(&key)?;
                key
            }
        };
        let told = |problems: Vec<muster_core::load::Problem>| {
            NotOpened::Catalogue(problems.first().map(ToString::to_string).unwrap_or_default())
        };
        let catalogue = data::catalogue().map_err(told)?;
        let jobs = data::job_kinds(&catalogue).map_err(told)?;
        let keeper = Keeper::open(store.clone(), Arc::new(catalogue), jobs, Device::of_seed(&key))?;
        let photos = Photos::of_store(folder);
        Ok(Self { keeper: Arc::new(keeper), store, photos, folder: folder.to_path_buf(), _lock: lock })
    }

    /// Whether nobody has begun yet.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be read.
    pub fn is_new(&self) -> Result<bool, StoreError> {
        self.keeper.store().count().map(|count| count == 0)
    }
}

/// Keeps other programs out, if there is anything to lock: a folder that may not be written is read all the same.
fn lock(folder: &Path) -> Result<Option<File>, NotOpened> {
    let with = |source| NotOpened::Folder { folder: folder.to_path_buf(), source };
    let path = folder.join("lock");
    let denied =
        |error: &io::Error| matches!(error.kind(), io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem);
    let lock = match File::create(&path) {
        Ok(lock) => lock,
        Err(error) if denied(&error) => match File::open(&path) {
            Ok(lock) => lock,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(with(error)),
        },
        Err(error) => return Err(with(error)),
    };
    match lock.try_lock() {
        Ok(()) => Ok(Some(lock)),
        Err(TryLockError::WouldBlock) => Err(NotOpened::InUse(folder.to_path_buf())),
        Err(TryLockError::Error(source)) => Err(with(source)),
    }
}

/// Bytes drawn by the operating system.
///
/// # Errors
/// [`NotOpened::Random`] if it gives none.
pub fn random<const N: usize>() -> Result<[u8; N], NotOpened> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(|error| NotOpened::Random(error.to_string()))?;
    Ok(bytes)
}
