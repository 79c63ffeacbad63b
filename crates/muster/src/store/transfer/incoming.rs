//! Takes an export in, line by line: what is refused is named, and the rest goes in.

use std::{
    error::Error as _,
    fmt,
    fs::File,
    io::{self, BufRead, BufReader, Read},
    path::{Path, PathBuf},
    sync::Arc,
};

use muster_core::{
    hash::unhex,
    record::{
        event::{MAX_BYTES, Signed},
        private::PersonKey,
    },
};
use serde::de::DeserializeOwned;

use super::{Admit, BATCH, EVENTS, FORMAT, Header, Holdings, KEYS, Key, ORIGINALS, Original, TransferError};
use crate::store::{
    ReadEvent, StoreError, durable,
    photos::{self, PhotoError, PhotoId},
};

/// The longest line read, in bytes: each of an event's may take six as JSON in JSON (`\u0000`).
const MAX_LINE_BYTES: u64 = MAX_BYTES as u64 * 6 + 1024;

/// What came of an import.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Imported {
    /// Events that were not held before.
    pub new: u64,
    /// Events that were.
    pub held: u64,
    /// Photos read, held before or not.
    pub photos: u64,
    /// Keys read, held before or not.
    pub keys: u64,
    /// What did not come in.
    pub refused: Vec<Refused>,
}

/// Something that did not come in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused {
    /// Where it stands.
    pub place: Place,
    /// Why.
    pub why: String,
}

/// A place in an export.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Place {
    /// A line of a file, from 1.
    Line(&'static str, u64),
    /// A file.
    File(PathBuf),
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.place {
            Place::Line(file, line) => write!(f, "{file}, line {line}: {}", self.why),
            Place::File(path) => write!(f, "{}: {}", path.display(), self.why),
        }
    }
}

/// Takes it in.
pub(super) fn import(from: &Path, here: Holdings<'_>, admit: &mut Admit<'_>) -> Result<Imported, TransferError> {
    let mut import = Import { here, done: Imported::default(), waiting: Vec::new() };
    let path = from.join(EVENTS);
    let not_an_export = |why: String| TransferError::NotAnExport { path: path.clone(), why };
    let mut lines = Lines::open(&path)?.ok_or_else(|| not_an_export("there is no such file".into()))?;
    let (_, first) = lines.next()?.ok_or_else(|| not_an_export("it is empty".into()))?;
    let header: Header = first.and_then(|text| json(&text)).map_err(&not_an_export)?;
    if header.format != FORMAT {
        return Err(not_an_export(format!("it has form {}, this build reads {FORMAT}", header.format)));
    }
    // Photos before the events that name them.
    import.photos(from)?;
    import.originals(from)?;
    let mut count = 0;
    while let Some((line, text)) = lines.next()? {
        count += 1;
        import.event(line, text, admit)?;
    }
    import.flush()?;
    if count != header.events {
        let why = format!("it has {count} events and says that it has {}: it was cut off or added to", header.events);
        import.refuse(Place::File(path), why);
    }
    import.keys(from)?;
    Ok(import.done)
}

struct Import<'a> {
    here: Holdings<'a>,
    done: Imported,
    /// Admitted, with their lines.
    waiting: Vec<(u64, ReadEvent)>,
}

impl Import<'_> {
    fn refuse(&mut self, place: Place, why: impl Into<String>) {
        self.done.refused.push(Refused { place, why: why.into() });
    }

    fn event(&mut self, line: u64, text: Result<String, String>, admit: &mut Admit<'_>) -> Result<(), TransferError> {
        let admitted = text.and_then(|text| json::<Signed>(&text)).and_then(|signed| {
            let read = ReadEvent::of(signed).map_err(|error| error.to_string())?;
            admit(read.signed(), read.entry()).map(|()| read)
        });
        match admitted {
            Ok(read) => self.waiting.push((line, read)),
            Err(why) => self.refuse(Place::Line(EVENTS, line), why),
        }
        if self.waiting.len() >= BATCH { self.flush() } else { Ok(()) }
    }

    fn flush(&mut self) -> Result<(), TransferError> {
        let waiting = std::mem::take(&mut self.waiting);
        let (lines, events): (Vec<_>, Vec<_>) = waiting.into_iter().unzip();
        self.append(&lines, events)
    }

    /// Appends all at once; if one is refused, the two halves by themselves, so that the rest goes in.
    fn append(&mut self, lines: &[u64], events: Vec<ReadEvent>) -> Result<(), TransferError> {
        if events.is_empty() {
            return Ok(());
        }
        let events = Arc::new(events);
        match self.here.store.append_read(&events) {
            Ok(appended) => {
                let new = appended.new.len() as u64;
                self.done.new += new;
                self.done.held += events.len() as u64 - new;
                Ok(())
            }
            Err(error) if !error.is_of_event() => Err(error.into()),
            Err(error) => match lines {
                [line] => {
                    self.refuse(Place::Line(EVENTS, *line), with_sources(&error));
                    Ok(())
                }
                _ => {
                    let middle = events.len() / 2;
                    let ((lines, later_lines), (first, second)) = (lines.split_at(middle), events.split_at(middle));
                    self.append(lines, first.to_vec())?;
                    self.append(later_lines, second.to_vec())
                }
            },
        }
    }

    fn photos(&mut self, from: &Path) -> Result<(), TransferError> {
        let folder = from.join(photos::FOLDER);
        for file in durable::files(&folder)? {
            let named = file.file_stem().and_then(|name| name.to_str()?.parse::<PhotoId>().ok());
            let path = folder.join(&file);
            let Some(id) = named else {
                self.refuse(Place::File(path), "a photo is named by the SHA-256 of its bytes");
                continue;
            };
            match durable::read(&path, photos::MAX_BYTES) {
                Ok(Some(bytes)) => match self.here.photos.adopt(&id, &bytes) {
                    Ok(_) => self.done.photos += 1,
                    Err(PhotoError::Store(error)) => return Err(error.into()),
                    Err(error) => self.refuse(Place::File(path), error.to_string()),
                },
                Ok(None) => {}
                Err(error) => self.refuse(Place::File(path), with_sources(&error)),
            }
        }
        Ok(())
    }

    fn originals(&mut self, from: &Path) -> Result<(), TransferError> {
        let Some(mut lines) = Lines::open(&from.join(ORIGINALS))? else { return Ok(()) };
        while let Some((line, text)) = lines.next()? {
            let parsed = text.and_then(|text| json::<Original>(&text)).and_then(|pair| {
                let id = |text: &str| text.parse::<PhotoId>().map_err(|error| error.to_string());
                Ok((id(&pair.original)?, id(&pair.kept)?))
            });
            match parsed {
                Ok((original, kept)) if self.here.photos.find(&kept)?.is_some() => {
                    self.here.photos.note_original(&original, &kept)?;
                }
                Ok((_, kept)) => self.refuse(Place::Line(ORIGINALS, line), format!("photo {kept} is not held")),
                Err(why) => self.refuse(Place::Line(ORIGINALS, line), why),
            }
        }
        Ok(())
    }

    fn keys(&mut self, from: &Path) -> Result<(), TransferError> {
        let Some(secrets) = self.here.secrets else { return Ok(()) };
        let Some(mut lines) = Lines::open(&from.join(KEYS))? else { return Ok(()) };
        while let Some((line, text)) = lines.next()? {
            let parsed = text.and_then(|text| json::<Key>(&text)).and_then(|key| {
                let person = key.person.parse().map_err(|error| format!("{error}"))?;
                let bytes = unhex(&key.key).ok_or("a key has 64 lower-case hexadecimal digits")?;
                Ok((person, PersonKey::new(bytes)))
            });
            let put = parsed.map(|(person, key)| secrets.put_key(&person, &key));
            match put {
                Ok(Ok(())) => self.done.keys += 1,
                Ok(Err(error @ StoreError::OtherKey(_))) => self.refuse(Place::Line(KEYS, line), error.to_string()),
                Ok(Err(error)) => return Err(error.into()),
                Err(why) => self.refuse(Place::Line(KEYS, line), why),
            }
        }
        Ok(())
    }
}

/// A line with its number, or why it cannot be read.
type Line = (u64, Result<String, String>);

/// A file read line by line, however long its lines are.
struct Lines {
    path: PathBuf,
    file: BufReader<File>,
    line: u64,
}

impl Lines {
    /// Opens a file; none if there is none.
    fn open(path: &Path) -> Result<Option<Self>, StoreError> {
        match File::open(path) {
            Ok(file) => Ok(Some(Self { path: path.into(), file: BufReader::new(file), line: 0 })),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(StoreError::file("read", path, error)),
        }
    }

    /// The next line with its number; why it is no line that can be read, in its place.
    fn next(&mut self) -> Result<Option<Line>, StoreError> {
        let failed = |error| StoreError::file("read", &self.path, error);
        let mut bytes = Vec::new();
        let read = (&mut self.file).take(MAX_LINE_BYTES).read_until(b'\n', &mut bytes).map_err(failed)?;
        if read == 0 {
            return Ok(None);
        }
        self.line += 1;
        if bytes.pop_if(|last| *last == b'\n').is_none() {
            let whole = self.file.skip_until(b'\n').map_err(failed)? == 0;
            let why = if whole { "it has no end: the file was cut off" } else { "it is longer than any event" };
            return Ok(Some((self.line, Err(why.into()))));
        }
        Ok(Some((self.line, String::from_utf8(bytes).map_err(|error| error.to_string()))))
    }
}

fn json<T: DeserializeOwned>(text: &str) -> Result<T, String> {
    serde_json::from_str(text).map_err(|error| error.to_string())
}

/// An error with what lies under it, in one line.
fn with_sources(error: &StoreError) -> String {
    let (mut text, mut under) = (error.to_string(), error.source());
    while let Some(source) = under {
        text = format!("{text}: {source}");
        under = source.source();
    }
    text
}
