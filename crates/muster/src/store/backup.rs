//! Backups made while the store is in use, and their way back: every file with its hash, all of it or nothing.

use std::{
    fs::{self, File},
    io,
    path::{Component, Path, PathBuf},
    time::{Duration, SystemTime},
};

use muster_core::calendar::Moment;
use serde::{Deserialize, Serialize};

use super::{
    Fault, Store, StoreError, durable,
    photos::{self, PhotoId, Photos},
    sqlite::{DATABASE, SqliteStore},
};

/// The file that makes a folder a backup.
pub const MANIFEST: &str = "manifest.json";

/// The form of backups this build writes.
pub const FORMAT: u32 = 1;

/// The largest manifest read, in bytes: some 300 000 photos.
const MAX_MANIFEST_BYTES: u64 = 64 << 20;

/// What is in a backup.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Manifest {
    /// Its form.
    pub format: u32,
    /// When it was begun: nothing later is in it.
    pub written: Moment,
    /// How many events.
    pub events: u64,
    /// Every file, ordered by path.
    pub files: Vec<Listed>,
}

/// One file of a backup.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Listed {
    /// From the backup's folder, with `/` between folders.
    pub path: String,
    /// Size.
    pub bytes: u64,
    /// SHA-256, 64 hexadecimal digits.
    pub sha256: String,
}

/// A backup that was made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Made {
    /// What is in it.
    pub manifest: Manifest,
    /// Photos that were damaged before; they are in it as they are.
    pub damaged: Vec<PhotoId>,
    /// What a backup beside it had left that was killed.
    pub leftovers: Leftovers,
}

/// What backups left beside a place that were killed: each holds keys and names, as a backup does.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Leftovers {
    /// Untouched for a day, and removed.
    pub swept: Vec<PathBuf>,
    /// Younger: another backup may be making it.
    pub left: Vec<PathBuf>,
}

/// An unfinished folder as old as this is nobody's any more.
const LEFT_OVER: Duration = Duration::from_secs(24 * 3600);

/// Why there is no backup, or it cannot be restored.
#[derive(Clone, Debug, thiserror::Error)]
pub enum BackupError {
    /// Something is in the way.
    #[error("{0} is there already and not an empty folder: name another")]
    InTheWay(PathBuf),
    /// No backup, or not a whole one.
    #[error("{folder} is not a whole backup ({why}): take another")]
    NotWhole {
        /// The folder.
        folder: PathBuf,
        /// What is wrong.
        why: String,
    },
    /// The store.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// Makes a backup in a new folder while the store is in use. The folder appears when it is whole.
///
/// It holds the keys and accounts too: whoever has it can read the names in it.
///
/// # Errors
/// [`BackupError`] if the folder is there already, or the disk refuses.
pub fn make(store: &SqliteStore, photos: &Photos, to: &Path, written: Moment) -> Result<Made, BackupError> {
    let leftovers = sweep(to.parent().unwrap_or(Path::new(".")), SystemTime::now())?;
    into_new_folder(to, |folder| {
        // The database first: a photo is there before the event that names it.
        let mut files = vec![database(store, folder)?];
        let mut damaged = Vec::new();
        for path in photos.lasting()? {
            let listed = copy(photos.folder(), &path, &folder.join(photos::FOLDER))?;
            let named: Option<PhotoId> = path.file_stem().and_then(|stem| stem.to_str()?.parse().ok());
            let is_photo = path.extension().is_some();
            damaged.extend(named.filter(|id| is_photo && id.as_str() != listed.sha256));
            files.push(Listed { path: format!("{}/{}", photos::FOLDER, listed.path), ..listed });
        }
        files.sort_by(|a, b| a.path.cmp(&b.path));
        let events = events_in(folder)?;
        let manifest = Manifest { format: FORMAT, written, events, files };
        let text = serde_json::to_vec_pretty(&manifest).map_err(|error| not_whole(to, error.to_string()))?;
        durable::write(&folder.join(MANIFEST), &text)?;
        Ok(Made { manifest, damaged, leftovers })
    })
}

/// Removes the unfinished backups in a folder that nobody has touched for a day. What holds anything else than a backup
/// does is left alone, and not named.
///
/// # Errors
/// [`StoreError`] if the disk refuses.
pub fn sweep(beside: &Path, now: SystemTime) -> Result<Leftovers, StoreError> {
    let beside = if beside.as_os_str().is_empty() { Path::new(".") } else { beside };
    let mut found = Leftovers::default();
    let entries = match fs::read_dir(beside) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(found),
        Err(error) => return Err(StoreError::file("list", beside, error)),
    };
    for entry in entries {
        let path = entry.map_err(|error| StoreError::file("list", beside, error))?.path();
        let Some(touched) = unfinished_backup(&path) else { continue };
        if now.duration_since(touched).unwrap_or(Duration::ZERO) < LEFT_OVER {
            found.left.push(path);
            continue;
        }
        fs::remove_dir_all(&path).map_err(|error| StoreError::file("remove", &path, error))?;
        found.swept.push(path);
    }
    found.swept.sort();
    found.left.sort();
    Ok(found)
}

/// When an unfinished backup was last touched; none for anything else, or what cannot be looked at.
fn unfinished_backup(path: &Path) -> Option<SystemTime> {
    let own = path.is_dir() && !path.is_symlink() && durable::names_unfinished(path);
    let parts = |name: &str| name == photos::FOLDER || name.starts_with(DATABASE) || name.starts_with(MANIFEST);
    let mut touched = fs::metadata(path).and_then(|folder| folder.modified()).ok().filter(|_| own)?;
    for entry in fs::read_dir(path).ok()? {
        let entry = entry.ok()?;
        if !parts(entry.file_name().to_str()?) {
            return None;
        }
        touched = touched.max(newest(&entry.path())?);
    }
    Some(touched)
}

/// When anything in a folder, or a file, was last changed.
fn newest(path: &Path) -> Option<SystemTime> {
    let own = fs::symlink_metadata(path).ok()?;
    let mut newest_one = own.modified().ok()?;
    if own.is_dir() {
        for entry in fs::read_dir(path).ok()? {
            newest_one = newest_one.max(newest(&entry.ok()?.path())?);
        }
    }
    Some(newest_one)
}

/// Reads what is in a backup.
///
/// # Errors
/// [`BackupError::NotWhole`] without a manifest this build reads.
pub fn manifest(from: &Path) -> Result<Manifest, BackupError> {
    let text = durable::read(&from.join(MANIFEST), MAX_MANIFEST_BYTES)?;
    let text = text.ok_or_else(|| not_whole(from, format!("it has no {MANIFEST}")))?;
    let manifest: Manifest =
        serde_json::from_slice(&text).map_err(|error| not_whole(from, format!("{MANIFEST}: {error}")))?;
    if manifest.format != FORMAT {
        let why = format!("it has form {}, this build reads {FORMAT}", manifest.format);
        return Err(not_whole(from, why));
    }
    Ok(manifest)
}

/// Restores a backup into an empty or new folder, which is a store's then. Every hash is compared, and the events are
/// checked, before the folder appears.
///
/// # Errors
/// [`BackupError`] with the first file that is not as it was written, or if the folder is not empty.
pub fn restore(from: &Path, to: &Path) -> Result<Manifest, BackupError> {
    let manifest = manifest(from)?;
    into_new_folder(to, |folder| {
        for listed in &manifest.files {
            let path = inside(&listed.path).ok_or_else(|| not_whole(from, format!("`{}` leads out", listed.path)))?;
            let found = copy(from, &path, folder)?;
            if found != *listed {
                return Err(not_whole(from, format!("`{}` is not as it was written", listed.path)));
            }
        }
        let faults: Vec<Fault> = SqliteStore::open_read_only(folder)?.check()?;
        match faults.first() {
            None => Ok(manifest),
            Some(fault) => Err(not_whole(from, fault.to_string())),
        }
    })
}

/// Fills a folder under another name, and gives it its own when it is whole and synced.
pub(super) fn into_new_folder<T, E: From<BackupError>>(
    to: &Path,
    fill: impl FnOnce(&Path) -> Result<T, E>,
) -> Result<T, E> {
    let failed = |error| E::from(StoreError::file("create", to, error).into());
    // Removes an empty folder, and nothing else.
    match fs::remove_dir(to) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(BackupError::InTheWay(to.into()).into()),
        _ => {}
    }
    let parent = to.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(parent).map_err(failed)?;
    let unfinished = durable::unfinished(to);
    let filled = fs::create_dir(&unfinished).map_err(failed).and_then(|()| fill(&unfinished));
    let finished = filled.and_then(|made| {
        let renamed = sync_all(&unfinished).and_then(|()| fs::rename(&unfinished, to));
        renamed.and_then(|()| durable::sync_folder(parent)).map_err(failed)?;
        Ok(made)
    });
    if finished.is_err() {
        let _ = fs::remove_dir_all(&unfinished);
    }
    finished
}

/// Syncs each folder below one; the files in them are synced as they are written.
fn sync_all(folder: &Path) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        if entry.file_type()?.is_dir() {
            sync_all(&entry.path())?;
        }
    }
    durable::sync_folder(folder)
}

fn database(store: &SqliteStore, folder: &Path) -> Result<Listed, BackupError> {
    let path = folder.join(DATABASE);
    store.copy_to(&path)?;
    let failed = |error| StoreError::file("read", &path, error);
    let (bytes, sha256) = durable::copy(&mut File::open(&path).map_err(failed)?, &mut io::sink()).map_err(failed)?;
    Ok(Listed { path: DATABASE.into(), bytes, sha256 })
}

fn events_in(folder: &Path) -> Result<u64, StoreError> {
    SqliteStore::open_read_only(folder)?.count()
}

/// Copies one file between folders, synced, and says what passed.
fn copy(from: &Path, path: &Path, to: &Path) -> Result<Listed, StoreError> {
    let (source, target) = (from.join(path), to.join(path));
    let folder = target.parent().unwrap_or(to);
    fs::create_dir_all(folder).map_err(|error| StoreError::file("create", folder, error))?;
    let copied = (|| {
        let mut file = durable::create_new(&target)?;
        let copied = durable::copy(&mut File::open(&source)?, &mut file)?;
        file.sync_all().map(|()| copied)
    })();
    let (bytes, sha256) = copied.map_err(|error| StoreError::file("copy", &source, error))?;
    let parts: Vec<_> = path.iter().map(|part| part.display().to_string()).collect();
    Ok(Listed { path: parts.join("/"), bytes, sha256 })
}

/// A path that stays in its folder.
fn inside(path: &str) -> Option<PathBuf> {
    let path = PathBuf::from(path);
    let plain = path.components().all(|part| matches!(part, Component::Normal(_)));
    (plain && path.file_name().is_some()).then_some(path)
}

fn not_whole(folder: &Path, why: String) -> BackupError {
    BackupError::NotWhole { folder: folder.into(), why }
}
