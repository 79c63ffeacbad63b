//! Files that are there whole or not at all, whenever the power goes.

use std::{
    fs::{self, File, OpenOptions},
    io::{self, Read, Write},
    path::{Path, PathBuf},
    sync::atomic::{AtomicU64, Ordering},
};

use muster_core::hash::hex;
use sha2::{Digest, Sha256};

use super::StoreError;

/// Files that are being written have this in their name, and are rubbish if found later.
pub const UNFINISHED: &str = ".unfinished";

/// Makes what was created or renamed in a folder last.
///
/// # Errors
/// What the operating system says.
pub fn sync_folder(folder: &Path) -> io::Result<()> {
    // An empty path is the folder one is in.
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    File::open(folder)?.sync_all()
}

/// Writes a file: under another name, synced, then renamed. What stood there before is replaced as a whole.
///
/// # Errors
/// [`StoreError::File`]; then nothing of it is left.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
    let folder = path.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder).map_err(|error| StoreError::file("create", folder, error))?;
    let unfinished = unfinished(path);
    let written = create_new(&unfinished).and_then(|mut file| {
        file.write_all(bytes)?;
        file.sync_all()
    });
    let finished = written.and_then(|()| fs::rename(&unfinished, path)).and_then(|()| sync_folder(folder));
    finished.map_err(|error| {
        let _ = fs::remove_file(&unfinished);
        StoreError::file("write", path, error)
    })
}

/// Another name beside a path, for what is not finished: two programs never take the same.
#[must_use]
pub fn unfinished(path: &Path) -> PathBuf {
    static NEXT: AtomicU64 = AtomicU64::new(0);
    let name = path.file_name().unwrap_or_default().display().to_string();
    let number = NEXT.fetch_add(1, Ordering::Relaxed);
    path.with_file_name(format!("{name}{UNFINISHED}-{}-{number}", std::process::id()))
}

/// Whether a path has a name that [`unfinished`] gives.
#[must_use]
pub fn names_unfinished(path: &Path) -> bool {
    let name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default();
    let number = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let end = name.rsplit_once(UNFINISHED).and_then(|(_, end)| end.strip_prefix('-')?.split_once('-'));
    end.is_some_and(|(program, count)| number(program) && number(count))
}

/// Creates a file for this user alone; one that is there already is an error.
///
/// # Errors
/// What the operating system says.
pub fn create_new(path: &Path) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)
}

/// Reads a file of at most `limit` bytes; none if there is none.
///
/// # Errors
/// [`StoreError::File`] if it cannot be read, or is larger.
pub fn read(path: &Path, limit: u64) -> Result<Option<Vec<u8>>, StoreError> {
    let file = match File::open(path) {
        Ok(file) => file,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(StoreError::file("read", path, error)),
    };
    let mut bytes = Vec::new();
    let read = file.take(limit + 1).read_to_end(&mut bytes);
    read.map_err(|error| StoreError::file("read", path, error))?;
    if bytes.len() as u64 > limit {
        let error = io::Error::new(io::ErrorKind::FileTooLarge, format!("it has more than {limit} bytes"));
        return Err(StoreError::file("read", path, error));
    }
    Ok(Some(bytes))
}

/// Size and SHA-256 of what passes from a reader to a writer.
///
/// # Errors
/// What the operating system says.
pub fn copy(from: &mut impl Read, to: &mut impl Write) -> io::Result<(u64, String)> {
    let (mut hasher, mut size, mut piece) = (Sha256::new(), 0, vec![0; 1 << 16]);
    loop {
        let read = match from.read(&mut piece) {
            Ok(0) => return Ok((size, hex(&hasher.finalize()))),
            Ok(read) => piece.get(..read).unwrap_or_default(),
            Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
            Err(error) => return Err(error),
        };
        hasher.update(read);
        to.write_all(read)?;
        size += read.len() as u64;
    }
}

/// SHA-256 of bytes as lower-case hexadecimal (FIPS 180-4).
#[must_use]
pub fn sha256(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// Every file below a folder, as paths from it, ordered; none if there is no folder. Unfinished ones are left out.
///
/// # Errors
/// [`StoreError::File`].
pub fn files(folder: &Path) -> Result<Vec<PathBuf>, StoreError> {
    walk(folder, |name| !is_unfinished(name))
}

/// The files below a folder that somebody began to write and did not finish, or is writing now.
///
/// # Errors
/// [`StoreError::File`].
pub fn unfinished_files(folder: &Path) -> Result<Vec<PathBuf>, StoreError> {
    walk(folder, is_unfinished)
}

fn is_unfinished(name: &str) -> bool {
    name.contains(UNFINISHED)
}

fn walk(folder: &Path, wanted: impl Fn(&str) -> bool) -> Result<Vec<PathBuf>, StoreError> {
    let (mut found, mut folders) = (Vec::new(), vec![PathBuf::new()]);
    while let Some(inner) = folders.pop() {
        let path = folder.join(&inner);
        let failed = |error| StoreError::file("list", &path, error);
        let entries = match fs::read_dir(&path) {
            Ok(entries) => entries,
            Err(error) if error.kind() == io::ErrorKind::NotFound => continue,
            Err(error) => return Err(failed(error)),
        };
        for entry in entries {
            let entry = entry.map_err(failed)?;
            let name = inner.join(entry.file_name());
            if entry.file_type().map_err(failed)?.is_dir() {
                folders.push(name);
            } else if wanted(&entry.file_name().display().to_string()) {
                found.push(name);
            }
        }
    }
    found.sort();
    Ok(found)
}
