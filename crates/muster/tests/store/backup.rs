//! A backup made while somebody writes holds all there was, and restores to a store that is the same.

use std::{
    fs,
    path::Path,
    sync::atomic::{AtomicBool, Ordering},
    thread,
    time::{Duration, SystemTime},
};

use jiff::Timestamp;
use muster::store::{
    Account, Code, CodeHash, Secrets, Session, Store, TokenHash,
    backup::{self, BackupError, MANIFEST},
    photos::Photos,
    sqlite::{DATABASE, SqliteStore},
};
use muster_core::{calendar::Moment, record::private::PersonKey};
use tempfile::TempDir;

use super::{
    device::{Device, person, yard},
    pictures,
};

const SECOND: i64 = 1_764_000_000;

fn now() -> Moment {
    Moment::parse("2026-11-24T18:30:00+00:00").unwrap()
}

/// Fills a store with one of everything.
fn filled(folder: &Path) -> (SqliteStore, Photos) {
    let (store, photos) = (SqliteStore::open(folder).unwrap(), Photos::of_store(folder));
    let mut device = Device::new(1);
    store.append(&[device.odometers("H-01", 300), vec![device.write(yard("name"))]].concat()).unwrap();
    let at = Timestamp::from_second(SECOND).unwrap();
    let who = person("p-1");
    store.put_key(&who, &PersonKey::new([7; 32])).unwrap();
    store.put_account(&who, &Account { phc: "$argon2id$…".into(), failed: 2, blocked_until: Some(at) }).unwrap();
    let session = Session { person: who.clone(), created: at, seen: at, expires: at };
    store.put_session(TokenHash([1; 32]), &session).unwrap();
    store.put_code(CodeHash([2; 32]), &Code { person: who, expires: at, used: None }).unwrap();
    store.put_own_key(&[9; 32]).unwrap();
    store.put_setting("port", Some("8443")).unwrap();
    for orientation in [1, 3] {
        photos.keep(&pictures::jpeg(&pictures::corners(orientation))).unwrap();
    }
    photos.upload_piece(&"ab".repeat(32).parse().unwrap(), 0, b"half of one").unwrap();
    (store, photos)
}

#[test]
fn what_is_restored_is_what_was_there_while_somebody_wrote() {
    let (folder, elsewhere) = (TempDir::new().unwrap(), TempDir::new().unwrap());
    let (store, photos) = filled(folder.path());
    let (store, stop) = (&store, &AtomicBool::new(false));
    let backup = elsewhere.path().join("2026-11-24");
    let (made, before, after) = thread::scope(|scope| {
        let writer = scope.spawn(move || {
            let mut device = Device::new(2);
            // Not for ever: a backup that fails must fail its test, not hold it.
            for _ in (0..5000).take_while(|_| !stop.load(Ordering::Relaxed)) {
                store.append(&device.odometers("H-02", 5)).unwrap();
            }
        });
        while store.count().unwrap() < 350 && !writer.is_finished() {
            thread::yield_now();
        }
        let before = store.count().unwrap();
        let made = backup::make(store, &photos, &backup, now()).unwrap();
        let after = store.count().unwrap();
        stop.store(true, Ordering::Relaxed);
        writer.join().unwrap();
        (made, before, after)
    });
    assert!(made.manifest.events >= before && made.manifest.events <= after, "{before} ≤ … ≤ {after}");
    assert_eq!(made.damaged, vec![]);

    let to = elsewhere.path().join("new");
    assert_eq!(backup::restore(&backup, &to).unwrap(), made.manifest);
    let (restored, restored_photos) = (SqliteStore::open(&to).unwrap(), Photos::of_store(&to));
    assert_eq!(restored.check().unwrap(), vec![]);
    assert_eq!(restored.count().unwrap(), made.manifest.events);
    let events = usize::try_from(made.manifest.events).unwrap();
    assert_eq!(restored.since(0, usize::MAX).unwrap(), store.since(0, events).unwrap());
    same_secrets(&restored, store);
    assert_eq!(restored_photos.lasting().unwrap(), photos.lasting().unwrap());
    assert_eq!((restored_photos.list().unwrap().len(), restored_photos.check().unwrap()), (2, vec![]));
    // It goes on as a store.
    restored.append(&Device::new(3).odometers("H-03", 5)).unwrap();
    assert_eq!(restored.count().unwrap(), made.manifest.events + 5);
}

fn same_secrets(one: &SqliteStore, other: &SqliteStore) {
    let who = person("p-1");
    assert_eq!(one.keys().unwrap(), other.keys().unwrap());
    assert_eq!(one.keys().unwrap(), [(who.clone(), PersonKey::new([7; 32]))]);
    assert_eq!(one.account(&who).unwrap(), other.account(&who).unwrap());
    assert_eq!(one.session(TokenHash([1; 32])).unwrap(), other.session(TokenHash([1; 32])).unwrap());
    assert!(one.session(TokenHash([1; 32])).unwrap().is_some());
    assert_eq!(one.own_key().unwrap(), Some([9; 32]));
    assert_eq!(one.settings().unwrap(), other.settings().unwrap());
    let before = Timestamp::from_second(SECOND - 1).unwrap();
    assert!(one.use_code(CodeHash([2; 32]), before).unwrap().is_some());
}

#[test]
fn a_backup_is_whole_or_refused() {
    let (folder, elsewhere) = (TempDir::new().unwrap(), TempDir::new().unwrap());
    let (store, photos) = filled(folder.path());
    let backup = elsewhere.path().join("backup");
    let made = backup::make(&store, &photos, &backup, now()).unwrap();
    assert!(matches!(backup::make(&store, &photos, &backup, now()), Err(BackupError::InTheWay(_))));
    assert_eq!(backup::manifest(&backup).unwrap(), made.manifest);
    let to = elsewhere.path().join("restored");
    let refused = |what: &str| {
        let error = backup::restore(&backup, &to).unwrap_err();
        assert!(error.to_string().contains(what), "{error}");
        assert!(!to.exists(), "nothing half-restored");
        assert_eq!(fs::read_dir(elsewhere.path()).unwrap().count(), 1, "and nothing left over");
    };
    for listed in &made.manifest.files {
        let path = backup.join(&listed.path);
        let whole = fs::read(&path).unwrap();
        let mut damaged = whole.clone();
        *damaged.last_mut().unwrap() ^= 1;
        fs::write(&path, damaged).unwrap();
        refused(&listed.path);
        fs::write(&path, whole).unwrap();
    }
    let manifest = fs::read_to_string(backup.join(MANIFEST)).unwrap();
    fs::write(backup.join(MANIFEST), manifest.replace("\"muster.db\"", "\"../muster.db\"")).unwrap();
    refused("leads out");
    fs::write(backup.join(MANIFEST), manifest.replace("\"format\": 1", "\"format\": 2")).unwrap();
    refused("form 2");
    fs::remove_file(backup.join(MANIFEST)).unwrap();
    refused("it has no manifest.json");
    fs::write(backup.join(MANIFEST), manifest).unwrap();
    fs::create_dir(&to).unwrap();
    fs::write(to.join("letter"), "").unwrap();
    assert!(matches!(backup::restore(&backup, &to), Err(BackupError::InTheWay(_))));
    fs::remove_file(to.join("letter")).unwrap();
    backup::restore(&backup, &to).unwrap();
}

#[test]
fn a_photo_that_was_damaged_before_is_named_and_does_not_stop_a_backup() {
    let (folder, elsewhere) = (TempDir::new().unwrap(), TempDir::new().unwrap());
    let (store, photos) = filled(folder.path());
    let damaged = photos.list().unwrap()[0].clone();
    fs::write(photos.path(&damaged), b"something else").unwrap();
    let backup = elsewhere.path().join("backup");
    assert_eq!(backup::make(&store, &photos, &backup, now()).unwrap().damaged, std::slice::from_ref(&damaged));
    let to = elsewhere.path().join("restored");
    backup::restore(&backup, &to).unwrap();
    assert_eq!(Photos::of_store(&to).check().unwrap(), [damaged]);
}

#[test]
fn a_backup_of_a_damaged_database_is_not_restored_as_if_it_were_whole() {
    let (folder, elsewhere) = (TempDir::new().unwrap(), TempDir::new().unwrap());
    let (store, photos) = filled(folder.path());
    drop(store);
    let path = folder.path().join(DATABASE);
    let mut bytes = fs::read(&path).unwrap();
    let text = b"\"odometer\":\"177 km";
    let at = bytes.windows(text.len()).position(|window| window == text).unwrap();
    bytes[at + 12] ^= 1;
    fs::write(&path, bytes).unwrap();
    let backup = elsewhere.path().join("backup");
    backup::make(&SqliteStore::open(folder.path()).unwrap(), &photos, &backup, now()).unwrap();
    let error = backup::restore(&backup, &elsewhere.path().join("restored")).unwrap_err();
    assert!(error.to_string().contains(&format!("{}.178", Device::new(1).id)), "{error}");
}

#[test]
fn what_a_killed_backup_left_is_swept_after_a_day_and_named_before() {
    let (folder, elsewhere) = (TempDir::new().unwrap(), TempDir::new().unwrap());
    let (store, photos) = filled(folder.path());
    let left = elsewhere.path().join("2026-11-23.unfinished-4711-0");
    fs::create_dir_all(left.join("photos/ab")).unwrap();
    fs::write(left.join(DATABASE), "half").unwrap();
    // Not ours, whatever they are called.
    let others = ["letters.unfinished-4711-1", "draft.unfinished", "draft.unfinished-x-1", "2026-11-22"];
    for other in others {
        fs::create_dir_all(elsewhere.path().join(other)).unwrap();
        fs::write(elsewhere.path().join(other).join("letter"), "dear").unwrap();
    }
    let made = backup::make(&store, &photos, &elsewhere.path().join("2026-11-24"), now()).unwrap();
    assert_eq!((made.leftovers.swept, made.leftovers.left), (vec![], vec![left.clone()]));
    let later = |hours: u64| SystemTime::now() + Duration::from_secs(hours * 3600);
    assert!(backup::sweep(elsewhere.path(), later(23)).unwrap().swept.is_empty());
    let swept = backup::sweep(elsewhere.path(), later(25)).unwrap();
    assert_eq!((swept.swept, swept.left), (vec![left.clone()], vec![]));
    assert!(!left.exists());
    for other in others {
        assert!(elsewhere.path().join(other).join("letter").exists(), "{other}");
    }
    assert!(backup::manifest(&elsewhere.path().join("2026-11-24")).is_ok());
    assert_eq!(backup::sweep(&elsewhere.path().join("nowhere"), later(25)).unwrap(), backup::Leftovers::default());
}
