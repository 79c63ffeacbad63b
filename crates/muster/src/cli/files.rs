//! Reads and writes files as a person would want it: bounded, in words, and never half.

use std::{
    fs::{self, File, OpenOptions},
    io::{self, Read, Write},
    path::{Path, PathBuf},
};

use muster_core::load::MAX_BYTES;

/// Why a file was not read or written.
#[derive(Debug, thiserror::Error)]
pub(crate) enum FileError {
    /// The operating system said no.
    #[error("{}: {}", .path.display(), told(.error))]
    System {
        /// The file.
        path: PathBuf,
        /// What it said.
        error: io::Error,
    },
    /// Not a file.
    #[error("{}: is a directory: name a file in it", .path.display())]
    Directory {
        /// The directory.
        path: PathBuf,
    },
    /// Too large.
    #[error("{}: larger than {} kB, which is the most a data file may have", .path.display(), MAX_BYTES / 1000)]
    TooLarge {
        /// The file.
        path: PathBuf,
    },
    /// Not text.
    #[error("{}:{line}: byte 0x{byte:02X} is not UTF-8: save the file as UTF-8 text", .path.display())]
    NotUtf8 {
        /// The file.
        path: PathBuf,
        /// Line of the byte, from 1.
        line: usize,
        /// The byte.
        byte: u8,
    },
    /// Never overwritten unasked.
    #[error("{}: is there already: give another name, or --force to overwrite it", .path.display())]
    Exists {
        /// The file.
        path: PathBuf,
    },
}

/// What the operating system said, in a few words for the common cases.
fn told(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "no such file or folder".into(),
        io::ErrorKind::PermissionDenied => "no permission".into(),
        _ => error.to_string(),
    }
}

/// Reads a data file: at most [`MAX_BYTES`], UTF-8.
///
/// # Errors
/// [`FileError`], naming the file.
pub(crate) fn read(path: &Path) -> Result<String, FileError> {
    let system = |error| FileError::System { path: path.into(), error };
    if fs::metadata(path).map_err(system)?.is_dir() {
        return Err(FileError::Directory { path: path.into() });
    }
    text(path, File::open(path).map_err(system)?)
}

/// Reads standard input as a data file.
///
/// # Errors
/// [`FileError`], naming it `standard input`.
pub(crate) fn read_input() -> Result<String, FileError> {
    text(Path::new("standard input"), io::stdin().lock())
}

fn text(path: &Path, from: impl Read) -> Result<String, FileError> {
    let mut bytes = Vec::new();
    let limit = u64::try_from(MAX_BYTES).unwrap_or(u64::MAX).saturating_add(1);
    from.take(limit).read_to_end(&mut bytes).map_err(|error| FileError::System { path: path.into(), error })?;
    if bytes.len() > MAX_BYTES {
        return Err(FileError::TooLarge { path: path.into() });
    }
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let bytes = error.as_bytes();
        let line = 1 + bytes.iter().take(at).filter(|byte| **byte == b'\n').count();
        FileError::NotUtf8 { path: path.into(), line, byte: bytes.get(at).copied().unwrap_or_default() }
    })
}

/// The TOML files of a folder in the order of their names; none if the folder is not there.
///
/// # Errors
/// [`FileError`] if it cannot be listed.
pub(crate) fn toml_files(folder: &Path) -> Result<Vec<PathBuf>, FileError> {
    let system = |error| FileError::System { path: folder.into(), error };
    let entries = match fs::read_dir(folder) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        entries => entries.map_err(system)?,
    };
    let mut files = Vec::new();
    for entry in entries {
        let path = entry.map_err(system)?.path();
        let hidden = path.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.'));
        if !hidden && path.extension().is_some_and(|extension| extension == "toml") {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

/// Writes a new file, whole or not at all; one that is there only with `force`.
///
/// # Errors
/// [`FileError`].
pub(crate) fn write_new(path: &Path, bytes: &[u8], force: bool) -> Result<(), FileError> {
    if path.is_dir() {
        return Err(FileError::Directory { path: path.into() });
    }
    if !force && path.symlink_metadata().is_ok() {
        return Err(FileError::Exists { path: path.into() });
    }
    replace(path, bytes)
}

/// Replaces a file at one stroke: beside it, onto the disk, then over it. A power cut leaves the old or the new.
///
/// # Errors
/// [`FileError`]; the file is then as it was.
pub(crate) fn replace(path: &Path, bytes: &[u8]) -> Result<(), FileError> {
    // Through a link to what it names, or the link would be replaced.
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.into());
    let name = target.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let part = target.with_file_name(format!(".{name}.part"));
    let system = |error| FileError::System { path: path.into(), error };
    let written = write_through(&part, &target, bytes).and_then(|()| fs::rename(&part, &target));
    if let Err(error) = written {
        // What was half written is of no use to anyone; that it cannot be removed changes nothing about the error.
        let _removed = fs::remove_file(&part);
        return Err(system(error));
    }
    sync_folder(&target);
    Ok(())
}

fn write_through(part: &Path, target: &Path, bytes: &[u8]) -> io::Result<()> {
    // One left behind by a killed run is written over.
    let mut file = OpenOptions::new().write(true).create(true).truncate(true).open(part)?;
    if let Ok(old) = fs::metadata(target) {
        file.set_permissions(old.permissions())?;
    }
    file.write_all(bytes)?;
    file.sync_all()
}

/// The name itself reaches the disk with its folder; where folders cannot be opened, renaming is all there is.
fn sync_folder(target: &Path) {
    let folder = target.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let _synced = File::open(folder).and_then(|folder| folder.sync_all());
}
