//! A photo sent in pieces over a bad line: each piece is kept, so that only what is missing is sent again.

use std::{
    fs::{self, File, OpenOptions, TryLockError},
    io::{self, Read, Seek, SeekFrom, Write},
    path::PathBuf,
    thread,
    time::{Duration, SystemTime},
};

use super::{Kept, MAX_BYTES, PhotoError, PhotoId, Photos};
use crate::store::{StoreError, durable};

/// Where pieces wait, in the folder of photos.
pub(super) const FOLDER: &str = "uploads";

/// How many may be under way at once: together they take no more than a few GB.
const MAX_UPLOADS: usize = 200;

/// An upload that nobody went on with for so long is given up, in seconds: two days.
pub const STALE_SECONDS: u64 = 2 * 24 * 3600;

/// How often, and after which pause, a piece is tried that finds another being written: two seconds in all.
const LOCK_TRIES: u32 = 100;
const LOCK_PAUSE: Duration = Duration::from_millis(20);

/// How far an upload is.
///
/// It is named by the SHA-256 of what is sent, so that a phone that forgot everything else can go on with it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Upload {
    /// This many bytes are held.
    Held(u64),
    /// Nothing need be sent: it was kept before.
    Kept(Kept),
}

impl Photos {
    /// How far an upload is; one that was not begun holds 0 bytes.
    ///
    /// # Errors
    /// [`PhotoError`] if the disk refuses.
    pub fn upload(&self, original: &PhotoId) -> Result<Upload, PhotoError> {
        if let Some(kept) = self.sound(original)? {
            return Ok(Upload::Kept(kept));
        }
        let path = self.waiting(original);
        match fs::metadata(&path) {
            Ok(file) => Ok(Upload::Held(file.len())),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(Upload::Held(0)),
            Err(error) => Err(StoreError::file("read", &path, error).into()),
        }
    }

    /// Adds a piece that begins at `offset`; how many bytes are held now. The same piece again changes nothing.
    ///
    /// # Errors
    /// [`PhotoError::Offset`] if it leaves a gap; [`PhotoError`] if there is too much of it, or the disk refuses.
    pub fn upload_piece(&self, original: &PhotoId, offset: u64, piece: &[u8]) -> Result<u64, PhotoError> {
        let total = offset.saturating_add(piece.len() as u64);
        if total > MAX_BYTES {
            return Err(PhotoError::TooLarge(total));
        }
        let path = self.waiting(original);
        let failed = |error| StoreError::file("write", &path, error);
        let mut file = self.waiting_file(original)?;
        let held = file.metadata().map_err(failed)?.len();
        if offset > held {
            return Err(PhotoError::Offset { held, offset });
        }
        let known = usize::try_from(held - offset).unwrap_or(usize::MAX);
        if let Some(new) = piece.get(known..).filter(|new| !new.is_empty()) {
            let written = file.seek(SeekFrom::End(0)).and_then(|_| file.write_all(new)).and_then(|()| file.sync_data());
            if let Err(error) = written {
                // Half a piece is no harm, but what is held must be what was said to be held.
                let _ = file.set_len(held);
                return Err(failed(error).into());
            }
        }
        Ok(held.max(total))
    }

    /// Ends an upload: its bytes are compared with their name, and the photo is kept.
    ///
    /// # Errors
    /// [`PhotoError::OtherHash`] if they are others: then they are given up. [`PhotoError`] as [`Photos::keep`].
    pub fn upload_end(&self, original: &PhotoId) -> Result<Kept, PhotoError> {
        if let Some(kept) = self.sound(original)? {
            self.give_up(original)?;
            return Ok(kept);
        }
        let path = self.waiting(original);
        let mut bytes = Vec::new();
        let read = self.waiting_file(original)?.take(MAX_BYTES + 1).read_to_end(&mut bytes);
        read.map_err(|error| StoreError::file("read", &path, error))?;
        let got = PhotoId::of(&bytes);
        if got != *original {
            self.give_up(original)?;
            return Err(PhotoError::OtherHash { expected: original.clone(), got });
        }
        let kept = self.keep(&bytes);
        // What is no picture does not become one by being sent on; after a full disk it can be ended again.
        if !matches!(kept, Err(PhotoError::Store(_))) {
            self.give_up(original)?;
        }
        kept
    }

    /// Removes uploads that nobody went on with for [`STALE_SECONDS`], and as old files left by a program that was
    /// killed while it wrote; how many.
    ///
    /// # Errors
    /// [`StoreError`] if the disk refuses.
    pub fn sweep(&self, now: SystemTime) -> Result<usize, StoreError> {
        let left = durable::unfinished_files(self.folder())?.into_iter().map(|file| self.folder().join(file));
        let mut swept = 0;
        for path in self.uploads()?.into_iter().chain(left) {
            let failed = |error| StoreError::file("remove", &path, error);
            let changed = fs::metadata(&path).and_then(|file| file.modified()).map_err(failed)?;
            let age = now.duration_since(changed).unwrap_or(Duration::ZERO);
            if age >= Duration::from_secs(STALE_SECONDS) {
                fs::remove_file(&path).map_err(failed)?;
                swept += 1;
            }
        }
        Ok(swept)
    }

    fn uploads(&self) -> Result<Vec<PathBuf>, StoreError> {
        let folder = self.folder().join(FOLDER);
        let files = durable::files(&folder)?;
        Ok(files.into_iter().map(|file| folder.join(file)).collect())
    }

    fn waiting(&self, original: &PhotoId) -> PathBuf {
        self.folder().join(FOLDER).join(original.as_str())
    }

    /// The file of an upload, begun if it was not, and locked: two connections of one phone never write at once.
    fn waiting_file(&self, original: &PhotoId) -> Result<File, PhotoError> {
        let path = self.waiting(original);
        let failed = |error| StoreError::file("write", &path, error);
        if !path.exists() {
            let under_way = self.uploads()?.len();
            if under_way >= MAX_UPLOADS {
                return Err(PhotoError::TooManyUploads(under_way));
            }
            fs::create_dir_all(self.folder().join(FOLDER)).map_err(failed)?;
        }
        let file = OpenOptions::new().read(true).write(true).create(true).truncate(false).open(&path);
        let file = file.map_err(failed)?;
        for _ in 0..LOCK_TRIES {
            match file.try_lock() {
                Ok(()) => return Ok(file),
                Err(TryLockError::WouldBlock) => thread::sleep(LOCK_PAUSE),
                Err(TryLockError::Error(error)) => return Err(failed(error).into()),
            }
        }
        Err(PhotoError::InUse)
    }

    fn give_up(&self, original: &PhotoId) -> Result<(), StoreError> {
        let path = self.waiting(original);
        match fs::remove_file(&path) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(StoreError::file("remove", &path, error)),
            _ => Ok(()),
        }
    }
}
