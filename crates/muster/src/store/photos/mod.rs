//! Photos by the hash of their bytes, in a folder beside the database: kept without metadata, upright, and small.

mod picture;
mod upload;

use std::{
    fmt, fs, io,
    path::{Path, PathBuf},
    str::FromStr,
};

use super::{StoreError, durable};

pub use picture::{MAX_PIXELS, MAX_SIDE, NotAPicture};
pub use upload::{STALE_SECONDS, Upload};

/// The largest photo taken in, in bytes.
pub const MAX_BYTES: u64 = 12_000_000;

/// The folder of photos, in the store's folder.
pub const FOLDER: &str = "photos";

/// Where names of originals lead to what was kept of them.
const ORIGINALS: &str = "originals";

/// SHA-256 of a photo's bytes, 64 lower-case hexadecimal digits: its name.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PhotoId(String);

impl PhotoId {
    /// The name of some bytes.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Self {
        Self(durable::sha256(bytes))
    }

    /// The name.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// Photos lie in 256 folders by their first two digits.
    fn shelf(&self) -> &str {
        self.0.get(..2).unwrap_or_default()
    }
}

impl fmt::Display for PhotoId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

impl FromStr for PhotoId {
    type Err = NotAPhotoId;

    fn from_str(text: &str) -> Result<Self, NotAPhotoId> {
        let plain = |byte: u8| byte.is_ascii_digit() || (b'a'..=b'f').contains(&byte);
        if text.len() == 64 && text.bytes().all(plain) { Ok(Self(text.into())) } else { Err(NotAPhotoId) }
    }
}

/// A text that names no photo.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a photo is named by 64 lower-case hexadecimal digits, the SHA-256 of its bytes")]
pub struct NotAPhotoId;

/// What was kept of a photo.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kept {
    /// Its name.
    pub id: PhotoId,
    /// Size in bytes.
    pub bytes: u64,
}

/// Why a photo could not be kept or read.
#[derive(Clone, Debug, thiserror::Error)]
pub enum PhotoError {
    /// Too large.
    #[error("a photo has at most {MAX_BYTES} bytes, got {0}: take it with a lower resolution")]
    TooLarge(u64),
    /// Not a picture that is taken in.
    #[error(transparent)]
    NotAPicture(#[from] NotAPicture),
    /// Bytes on disk that are not what was kept.
    #[error("photo {0} is damaged: restore it from the last backup")]
    Damaged(PhotoId),
    /// Bytes of another name.
    #[error("the bytes sent as {expected} are {got}: send them again")]
    OtherHash {
        /// Their name, as it was said.
        expected: PhotoId,
        /// Their name, as it is.
        got: PhotoId,
    },
    /// A piece that does not begin where the last one ended.
    #[error("{held} bytes are held: send what follows, not from {offset}")]
    Offset {
        /// What is held.
        held: u64,
        /// What was sent.
        offset: u64,
    },
    /// More uploads than are taken at once.
    #[error("{0} uploads are under way: try again when some have ended")]
    TooManyUploads(usize),
    /// Another piece of the same upload is being written.
    #[error("another piece of this photo is being written: ask how far it is, and send what follows")]
    InUse,
    /// The disk.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// The folder of photos.
#[derive(Clone, Debug)]
pub struct Photos {
    folder: PathBuf,
}

impl Photos {
    /// The photos of a store's folder.
    #[must_use]
    pub fn of_store(folder: &Path) -> Self {
        Self { folder: folder.join(FOLDER) }
    }

    /// Where they are.
    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Takes a photo in: upright, at most [`MAX_SIDE`] pixels on its long side, as JPEG without metadata; location and
    /// camera are not kept. The same original again gives the same photo.
    ///
    /// # Errors
    /// [`PhotoError`] if it is too large or no JPEG, PNG or WebP, or the disk refuses.
    pub fn keep(&self, original: &[u8]) -> Result<Kept, PhotoError> {
        let size = original.len() as u64;
        if size > MAX_BYTES {
            return Err(PhotoError::TooLarge(size));
        }
        let of = PhotoId::of(original);
        if let Some(kept) = self.sound(&of)? {
            return Ok(kept);
        }
        let bytes = picture::plain_jpeg(original)?;
        let kept = self.put(&bytes)?;
        self.note_original(&of, &kept.id)?;
        Ok(kept)
    }

    /// Takes in a photo that another store kept: its bytes stay as they are, since its name is in the record.
    ///
    /// # Errors
    /// [`PhotoError`] if it is another's bytes, holds metadata, or is nothing that [`Photos::keep`] writes.
    pub fn adopt(&self, expected: &PhotoId, bytes: &[u8]) -> Result<Kept, PhotoError> {
        let got = PhotoId::of(bytes);
        if got != *expected {
            return Err(PhotoError::OtherHash { expected: expected.clone(), got });
        }
        picture::is_plain_jpeg(bytes)?;
        self.put(bytes)
    }

    /// What was kept of an original; none if it was never taken in.
    ///
    /// # Errors
    /// [`PhotoError`] if the disk refuses.
    pub fn kept_of(&self, original: &PhotoId) -> Result<Option<Kept>, PhotoError> {
        let Some(id) = self.points_to(original)? else { return Ok(None) };
        let bytes = self.size(&id)?;
        Ok(bytes.map(|bytes| Kept { id, bytes }))
    }

    /// The photo of a name, be it its own or that of the original it was made of; none if it is not held.
    ///
    /// # Errors
    /// [`PhotoError`] if the disk refuses.
    pub fn find(&self, name: &PhotoId) -> Result<Option<Kept>, PhotoError> {
        match self.size(name)? {
            Some(bytes) => Ok(Some(Kept { id: name.clone(), bytes })),
            None => self.kept_of(name),
        }
    }

    /// Each original's name with that of the photo made of it, ordered.
    ///
    /// # Errors
    /// [`StoreError`] if the folder cannot be read.
    pub fn originals(&self) -> Result<Vec<(PhotoId, PhotoId)>, StoreError> {
        let files = durable::files(&self.folder.join(ORIGINALS))?;
        let named = files.iter().filter_map(|file| file.file_name()?.to_str()?.parse().ok());
        let pairs = named.map(|original: PhotoId| Ok(self.points_to(&original)?.map(|kept| (original, kept))));
        pairs.filter_map(Result::transpose).collect()
    }

    /// Notes which photo was made of an original, by another store's word.
    ///
    /// # Errors
    /// [`PhotoError`] if the disk refuses.
    pub fn note_original(&self, original: &PhotoId, kept: &PhotoId) -> Result<(), PhotoError> {
        Ok(durable::write(&self.pointer(original), kept.as_str().as_bytes())?)
    }

    /// A photo's bytes, JPEG; none if it is not held. Every byte is verified.
    ///
    /// # Errors
    /// [`PhotoError::Damaged`] if they are not those that were kept.
    pub fn read(&self, id: &PhotoId) -> Result<Option<Vec<u8>>, PhotoError> {
        let Some(bytes) = durable::read(&self.path(id), MAX_BYTES)? else { return Ok(None) };
        if PhotoId::of(&bytes) == *id { Ok(Some(bytes)) } else { Err(PhotoError::Damaged(id.clone())) }
    }

    /// A photo made small: JPEG, at most `side` pixels wide and high.
    ///
    /// # Errors
    /// As [`Photos::read`].
    pub fn thumbnail(&self, id: &PhotoId, side: u32) -> Result<Option<Vec<u8>>, PhotoError> {
        let Some(bytes) = self.read(id)? else { return Ok(None) };
        Ok(Some(picture::smaller(&bytes, side.clamp(1, MAX_SIDE))?))
    }

    /// Removes a photo's bytes; whether there were any. What its original was called stays.
    ///
    /// # Errors
    /// [`StoreError`] if the disk refuses.
    pub fn remove(&self, id: &PhotoId) -> Result<bool, StoreError> {
        let path = self.path(id);
        let failed = |error| StoreError::file("remove", &path, error);
        match fs::remove_file(&path) {
            Ok(()) => {}
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(false),
            Err(error) => return Err(failed(error)),
        }
        durable::sync_folder(path.parent().unwrap_or(&self.folder)).map_err(failed)?;
        Ok(true)
    }

    /// Every photo held, ordered.
    ///
    /// # Errors
    /// [`StoreError`] if the folder cannot be read.
    pub fn list(&self) -> Result<Vec<PhotoId>, StoreError> {
        let files = durable::files(&self.folder)?;
        let named = files.iter().filter(|file| !file.starts_with(ORIGINALS) && !file.starts_with(upload::FOLDER));
        Ok(named.filter_map(|file| file.file_stem()?.to_str()?.parse().ok()).collect())
    }

    /// Reads every photo and names those that are damaged.
    ///
    /// # Errors
    /// [`StoreError`] if the disk refuses.
    pub fn check(&self) -> Result<Vec<PhotoId>, StoreError> {
        let mut damaged = Vec::new();
        for id in self.list()? {
            match self.read(&id) {
                Ok(_) => {}
                // One that cannot be read, or grew beyond all photos, is no less damaged than one with other bytes.
                Err(_) => damaged.push(id),
            }
        }
        Ok(damaged)
    }

    /// Every file that belongs into a backup, from the folder: photos and originals' names, not uploads under way.
    ///
    /// # Errors
    /// [`StoreError`] if the folder cannot be read.
    pub fn lasting(&self) -> Result<Vec<PathBuf>, StoreError> {
        let mut files = durable::files(&self.folder)?;
        files.retain(|file| !file.starts_with(upload::FOLDER));
        Ok(files)
    }

    /// Where a photo's file is: `ab/abcdef….jpg`.
    #[must_use]
    pub fn path(&self, id: &PhotoId) -> PathBuf {
        self.folder.join(id.shelf()).join(format!("{id}.jpg"))
    }

    fn put(&self, bytes: &[u8]) -> Result<Kept, PhotoError> {
        let id = PhotoId::of(bytes);
        let kept = Kept { bytes: bytes.len() as u64, id };
        // One that was damaged is replaced by this.
        if !matches!(self.read(&kept.id), Ok(Some(_))) {
            durable::write(&self.path(&kept.id), bytes)?;
        }
        Ok(kept)
    }

    /// What was kept of an original, unless it was damaged since: then the original is wanted again.
    fn sound(&self, original: &PhotoId) -> Result<Option<Kept>, PhotoError> {
        let Some(kept) = self.kept_of(original)? else { return Ok(None) };
        Ok(Some(kept).filter(|kept| matches!(self.read(&kept.id), Ok(Some(_)))))
    }

    fn pointer(&self, original: &PhotoId) -> PathBuf {
        self.folder.join(ORIGINALS).join(original.shelf()).join(original.as_str())
    }

    fn points_to(&self, original: &PhotoId) -> Result<Option<PhotoId>, StoreError> {
        let text = durable::read(&self.pointer(original), 64)?;
        // A pointer that names nothing points nowhere: the original is taken in again.
        Ok(text.and_then(|text| String::from_utf8(text).ok()?.parse().ok()))
    }

    fn size(&self, id: &PhotoId) -> Result<Option<u64>, StoreError> {
        let path = self.path(id);
        match fs::metadata(&path) {
            Ok(file) => Ok(Some(file.len())),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(StoreError::file("read", &path, error)),
        }
    }
}
