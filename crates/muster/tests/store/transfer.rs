//! The record goes out as text and comes in again: all of it, once, and what is wrong is named by its line.

use std::{fs, path::Path};

use ed25519_dalek::{Signature, Verifier, VerifyingKey};
use muster::store::{
    Secrets, Store,
    photos::{PhotoId, Photos},
    sqlite::SqliteStore,
    transfer::{self, EVENTS, Exported, Holdings, Imported, KEYS, TransferError},
};
use muster_core::record::{
    event::{Entry, Signed},
    private::PersonKey,
};
use tempfile::TempDir;

use super::{
    device::{Device, id, person},
    pictures,
};

/// A store with what it needs.
struct Here {
    folder: TempDir,
    store: SqliteStore,
    photos: Photos,
}

impl Here {
    fn new() -> Self {
        let folder = TempDir::new().unwrap();
        let (store, photos) = (SqliteStore::open(folder.path()).unwrap(), Photos::of_store(folder.path()));
        Self { folder, store, photos }
    }

    /// One with two devices' events, a photo and a key.
    fn filled() -> Self {
        let here = Self::new();
        let (mut one, mut other) = (Device::new(1), Device::new(2));
        for _ in 0..5 {
            here.store.append(&one.odometers("H-01", 50)).unwrap();
            let seen = one.odometers("H-01", 1);
            other.receive(&seen[0]);
            here.store.append(&seen).unwrap();
            here.store.append(&other.odometers("H-02", 50)).unwrap();
        }
        here.photos.keep(&pictures::jpeg(&pictures::corners(1))).unwrap();
        here.store.put_key(&person("p-1"), &PersonKey::new([0xab; 32])).unwrap();
        here
    }

    fn with_keys(&self) -> Holdings<'_> {
        Holdings { store: &self.store, secrets: Some(&self.store), photos: &self.photos }
    }

    fn without_keys(&self) -> Holdings<'_> {
        Holdings { secrets: None, ..self.with_keys() }
    }

    fn signed(&self) -> Vec<Signed> {
        self.store.since(0, usize::MAX).unwrap().into_iter().map(|stored| stored.signed).collect()
    }

    /// An export beside the store.
    fn exported(&self, keys: bool) -> (std::path::PathBuf, Exported) {
        let to = self.folder.path().join("export");
        let here = if keys { self.with_keys() } else { self.without_keys() };
        let exported = transfer::export(here, &to).unwrap();
        (to, exported)
    }

    fn import(&self, from: &Path) -> Imported {
        transfer::import(from, self.with_keys(), &mut verified).unwrap()
    }
}

/// Verifies as the layer above will: the two devices' keys are known.
fn verified(signed: &Signed, entry: &Entry) -> Result<(), String> {
    let key = [1, 2].map(|number| ed25519_dalek::SigningKey::from_bytes(&[number; 32]).verifying_key());
    let of = |key: &&VerifyingKey| muster_core::record::id::DeviceId::of_key(key.as_bytes()) == entry.id.device;
    let key = key.iter().find(of).ok_or("its device is not known")?;
    let digits = |at: usize| u8::from_str_radix(&signed.signature[at..at + 2], 16).map_err(|error| error.to_string());
    let bytes = (0..64).map(|byte| digits(byte * 2)).collect::<Result<Vec<_>, _>>()?;
    let signature = Signature::from_slice(&bytes).map_err(|error| error.to_string())?;
    key.verify(signed.event.as_bytes(), &signature).map_err(|_| "its signature is wrong".into())
}

/// Changes one line of the exported events, from 1.
fn edit(export: &Path, line: usize, change: impl FnOnce(&str) -> String) {
    let path = export.join(EVENTS);
    let text = fs::read_to_string(&path).unwrap();
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    lines[line - 1] = change(&lines[line - 1]);
    fs::write(path, lines.join("\n") + "\n").unwrap();
}

#[test]
fn what_went_out_comes_in_and_a_second_time_changes_nothing() {
    let (from, to) = (Here::filled(), Here::new());
    let (export, exported) = from.exported(false);
    assert_eq!((exported.header.events, exported.header.photos, exported.keys), (505, 1, 0));
    let imported = to.import(&export);
    assert_eq!(imported, Imported { new: 505, held: 0, photos: 1, keys: 0, refused: vec![] });
    assert_eq!(to.signed(), from.signed());
    assert_eq!(
        (to.photos.list().unwrap(), to.photos.originals().unwrap()),
        (from.photos.list().unwrap(), from.photos.originals().unwrap())
    );
    assert_eq!(to.import(&export), Imported { new: 0, held: 505, photos: 1, keys: 0, refused: vec![] });
    assert_eq!((to.store.count().unwrap(), to.store.check().unwrap()), (505, vec![]));
    assert!(
        matches!(transfer::export(from.with_keys(), &export), Err(TransferError::Folder(_))),
        "it is there already"
    );
}

#[test]
fn each_line_is_one_signed_event_that_others_can_read() {
    let here = Here::filled();
    let (export, _) = here.exported(false);
    let text = fs::read_to_string(export.join(EVENTS)).unwrap();
    let mut lines = text.lines();
    assert_eq!(lines.next(), Some("{\"format\":1,\"events\":505,\"photos\":1}"));
    let read: Vec<Signed> = lines.map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(read, here.signed());
}

#[test]
fn keys_stay_here_unless_they_are_asked_for() {
    let (from, to) = (Here::filled(), Here::new());
    let (export, _) = from.exported(false);
    assert!(!export.join(KEYS).exists());
    let all: String = fs::read_to_string(export.join(EVENTS)).unwrap();
    assert!(!all.contains(&"ab".repeat(32)));
    fs::remove_dir_all(&export).unwrap();
    let (export, exported) = from.exported(true);
    assert_eq!((exported.keys, to.import(&export).keys), (1, 1));
    assert_eq!(to.store.keys().unwrap(), from.store.keys().unwrap());
    let other = Here::new();
    other.store.put_key(&person("p-1"), &PersonKey::new([1; 32])).unwrap();
    let imported = other.import(&export);
    assert_eq!(
        imported.refused[0].to_string(),
        "keys.jsonl, line 1: person p-1 has another key already: what it sealed would be lost; destroy it first if that is meant"
    );
    let left_out = Here::new();
    transfer::import(&export, left_out.without_keys(), &mut verified).unwrap();
    assert_eq!(left_out.store.keys().unwrap(), vec![]);
}

#[test]
fn a_wrong_line_is_named_and_the_other_series_comes_in() {
    let (from, to) = (Here::filled(), Here::new());
    let (export, _) = from.exported(false);
    // Lines 2 to 52 are the first device's, 53 to 102 the second's, and so on.
    edit(&export, 60, |_| "a letter".into());
    let imported = to.import(&export);
    let (held, lost) = (to.store.heads().unwrap(), id(&from.signed()[58]));
    assert_eq!((held.of(Device::new(1).id), held.of(lost.device)), (255, lost.seq - 1));
    assert_eq!(imported.new, 255 + lost.seq - 1);
    assert_eq!(imported.refused.len() as u64, 250 - (lost.seq - 1), "the line, and those that stand on it");
    assert!(
        imported.refused[0].to_string().starts_with("events.jsonl, line 60: expected value"),
        "{}",
        imported.refused[0]
    );
    let next = imported.refused[1].to_string();
    assert!(next.starts_with("events.jsonl, line 61: ") && next.contains("without a gap"), "{next}");
    assert_eq!(to.store.check().unwrap(), vec![]);
    // With the line as it was, the rest comes in.
    let whole = from.folder.path().join("again");
    transfer::export(from.without_keys(), &whole).unwrap();
    let imported = to.import(&whole);
    assert_eq!((imported.new, imported.held, imported.refused), (505 - 262, 262, vec![]));
    assert_eq!(to.store.count().unwrap(), 505);
}

#[test]
fn a_changed_event_is_not_let_in() {
    let (from, to) = (Here::filled(), Here::new());
    let (export, _) = from.exported(false);
    edit(&export, 506, |line| line.replace("49 km", "48 km"));
    let imported = to.import(&export);
    assert_eq!(imported.new, 504);
    assert_eq!(imported.refused[0].to_string(), "events.jsonl, line 506: its signature is wrong");
    edit(&export, 506, |line| line.replace("\"event\":", "\"events\":"));
    edit(&export, 505, |line| line.replace("\\\"seq\\\":", "\\\"sequence\\\":"));
    let imported = Here::new().import(&export);
    let refused: Vec<String> = imported.refused.iter().map(ToString::to_string).collect();
    assert!(refused[0].contains("line 505") && refused[0].contains("sequence"), "{refused:?}");
    assert!(refused[1].contains("line 506") && refused[1].contains("unknown field"), "{refused:?}");
}

#[test]
fn a_file_that_was_cut_off_says_so() {
    let (from, to) = (Here::filled(), Here::new());
    let (export, _) = from.exported(false);
    let path = export.join(EVENTS);
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, &text[..text.len() - 100]).unwrap();
    let imported = to.import(&export);
    let refused: Vec<String> = imported.refused.iter().map(ToString::to_string).collect();
    assert_eq!(
        (imported.new, &refused[..]),
        (504, &["events.jsonl, line 506: it has no end: the file was cut off".to_owned()][..])
    );
    let lines: Vec<&str> = text.lines().take(400).collect();
    fs::write(&path, lines.join("\n") + "\n").unwrap();
    let imported = Here::new().import(&export);
    assert_eq!((imported.new, imported.refused.len()), (399, 1));
    assert!(imported.refused[0].why.contains("399 events and says that it has 505"), "{}", imported.refused[0]);
    fs::write(&path, text.replacen("\"format\":1", "\"format\":9", 1)).unwrap();
    for _ in 0..2 {
        let error = transfer::import(&export, to.with_keys(), &mut verified).unwrap_err();
        assert!(matches!(error, TransferError::NotAnExport { .. }), "{error}");
        let _ = fs::remove_file(&path);
    }
}

#[test]
fn photos_that_are_not_as_they_were_kept_are_refused() {
    let (from, to) = (Here::filled(), Here::new());
    let (export, _) = from.exported(false);
    let photo = from.photos.list().unwrap()[0].clone();
    let path = |id: &PhotoId| export.join("photos").join(format!("{id}.jpg"));
    let with_location = pictures::with_segment(&from.photos.read(&photo).unwrap().unwrap(), 0xe1, &pictures::exif(1));
    fs::write(path(&PhotoId::of(&with_location)), &with_location).unwrap();
    fs::write(path(&photo), b"something else").unwrap();
    fs::write(export.join("photos/letter.txt"), b"a letter").unwrap();
    let imported = to.import(&export);
    assert_eq!((imported.new, imported.photos, imported.refused.len()), (505, 0, 4), "{:?}", imported.refused);
    let refused: Vec<String> = imported.refused.iter().map(ToString::to_string).collect();
    assert!(refused.iter().any(|why| why.contains("metadata")), "{refused:?}");
    assert!(refused.iter().any(|why| why.contains(photo.as_str()) && why.contains("send them again")), "{refused:?}");
    assert_eq!(to.photos.list().unwrap(), vec![]);
}

#[test]
fn a_damaged_photo_is_left_out_of_an_export_and_named() {
    let here = Here::filled();
    let photo = here.photos.list().unwrap()[0].clone();
    fs::write(here.photos.path(&photo), b"something else").unwrap();
    let (_, exported) = here.exported(false);
    assert_eq!((exported.header.photos, exported.damaged), (0, vec![photo]));
}
