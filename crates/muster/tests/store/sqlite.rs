//! The contract on SQLite, and what is SQLite's alone: versions, reading only, damage, what is left of a key.

use std::{collections::BTreeSet, fs, path::Path};

use muster::store::{
    Fault, Part, Secrets, Store, StoreError,
    sqlite::{
        DATABASE, SqliteStore,
        migrate::{self, MIGRATIONS},
    },
};
use muster_core::record::{payload::Subject, private::PersonKey};
use tempfile::TempDir;

use super::{
    contract, contract_secrets,
    device::{Device, id, odometer, person},
};

macro_rules! contract {
    ($($module:ident: $($name:ident)+;)+) => { $($(
        #[test]
        fn $name() {
            let folder = TempDir::new().unwrap();
            $module::$name(&SqliteStore::open(folder.path()).unwrap());
        }
    )+)+ };
}

contract! {
    contract:
        what_is_appended_is_held
        events_are_found_by_subject
        a_batch_sent_ten_times_is_held_once
        a_batch_is_taken_whole_or_not_at_all
        a_series_written_twice_is_refused_by_name
        a_stretch_comes_in_order_and_in_pieces
        an_event_of_a_newer_version_is_kept
        what_is_computed_again_is_as_it_was
        many_who_append_at_once_lose_nothing;
    contract_secrets:
        keys_are_kept_and_destroyed
        an_account_goes_with_its_sessions_and_codes
        sessions_are_seen_ended_and_pruned
        a_code_is_used_once
        settings_the_own_key_and_acts;
}

/// Works on the file as no build of this program does.
fn with_sql(folder: &Path, sql: &str) {
    rusqlite::Connection::open(folder.join(DATABASE)).unwrap().execute_batch(sql).unwrap();
}

fn filled(events: u32) -> TempDir {
    let folder = TempDir::new().unwrap();
    let store = SqliteStore::open(folder.path()).unwrap();
    store.append(&Device::new(1).odometers("H-01", events)).unwrap();
    drop(store);
    folder
}

fn faults(folder: &Path) -> Vec<Fault> {
    SqliteStore::open_read_only(folder).unwrap().check().unwrap()
}

#[test]
fn what_was_appended_is_there_when_it_is_opened_again() {
    let folder = filled(10);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "one file, closed");
    let store = SqliteStore::open(folder.path()).unwrap();
    assert_eq!((store.count().unwrap(), store.read_only()), (10, None));
    let second = SqliteStore::open(folder.path()).unwrap();
    let mut device = Device::new(2);
    second.append(&device.odometers("H-02", 3)).unwrap();
    store.append(&Device::new(3).odometers("H-03", 3)).unwrap();
    assert_eq!((store.count().unwrap(), second.count().unwrap()), (16, 16), "two programs at once");
    assert_eq!(store.check().unwrap(), vec![]);
}

#[test]
fn a_store_opened_for_reading_refuses_to_write_and_says_why() {
    let folder = filled(3);
    let store = SqliteStore::open_read_only(folder.path()).unwrap();
    assert_eq!((store.count().unwrap(), store.check().unwrap()), (3, vec![]));
    let error = store.append(&Device::new(2).odometers("H-02", 1)).unwrap_err().to_string();
    assert!(error.contains("reading only") && error.contains("writable"), "{error}");
    assert!(matches!(store.put_own_key(&[0; 32]), Err(StoreError::ReadOnly { .. })));
    assert!(matches!(store.rebuild(), Err(StoreError::ReadOnly { .. })));
    let none = TempDir::new().unwrap();
    assert!(SqliteStore::open_read_only(none.path()).is_err());
}

#[test]
fn a_newer_database_and_another_programs_are_refused_with_words() {
    let folder = filled(3);
    with_sql(folder.path(), "UPDATE schema_version SET version = 7");
    for open in [SqliteStore::open, SqliteStore::open_read_only] {
        let error = open(folder.path()).unwrap_err();
        assert!(matches!(error, StoreError::Newer { found: 7, .. }), "{error:?}");
        assert!(error.to_string().contains("newer build"), "{error}");
    }
    with_sql(folder.path(), "UPDATE schema_version SET version = 0");
    assert!(matches!(SqliteStore::open_read_only(folder.path()), Err(StoreError::Older { found: 0, .. })));
    let other = TempDir::new().unwrap();
    with_sql(other.path(), "CREATE TABLE tune (name TEXT)");
    assert!(matches!(SqliteStore::open(other.path()), Err(StoreError::NotOurs(_))));
    fs::write(other.path().join(DATABASE), "a letter, and long enough not to be taken for an empty file".repeat(20))
        .unwrap();
    assert!(matches!(SqliteStore::open(other.path()), Err(StoreError::Damaged { .. })));
}

#[test]
fn events_cannot_be_changed_or_deleted_by_a_slip() {
    let folder = filled(3);
    let connection = rusqlite::Connection::open(folder.path().join(DATABASE)).unwrap();
    for sql in ["DELETE FROM event", "UPDATE event SET bytes = '{}'"] {
        let error = connection.execute_batch(sql).unwrap_err().to_string();
        assert!(error.contains("an event is never"), "{error}");
    }
}

#[test]
fn what_is_computed_wrong_is_named_and_rebuilt() {
    let folder = filled(5);
    with_sql(
        folder.path(),
        "UPDATE placed SET subject = 'machine H-09' WHERE arrival = 2; DELETE FROM placed WHERE arrival = 4;
         INSERT INTO placed SELECT subject, 9 FROM placed WHERE arrival = 5;
         UPDATE series SET seq = 4",
    );
    let found: Vec<String> = faults(folder.path()).iter().map(ToString::to_string).collect();
    let device = Device::new(1).id;
    let expected = [
        format!("event {device}.2 (arrival 2): what is computed of it is wrong: rebuild"),
        format!("event {device}.4 (arrival 4): what is computed of it is wrong: rebuild"),
        "arrival 6: is missing".to_owned(),
        "arrival 7: is missing".to_owned(),
        "arrival 8: is missing".to_owned(),
        "arrival 9: is missing".to_owned(),
        "database: 1 rows are computed of no event: rebuild".to_owned(),
        format!("series of {device}: its end is written down wrong: rebuild"),
    ];
    assert_eq!(found, expected);
    let store = SqliteStore::open(folder.path()).unwrap();
    store.rebuild().unwrap();
    assert_eq!(store.check().unwrap(), vec![]);
}

#[test]
fn a_build_that_reads_newer_events_computes_them_when_it_opens() {
    let folder = filled(5);
    with_sql(folder.path(), "UPDATE computed SET version = 0; DELETE FROM placed");
    let store = SqliteStore::open(folder.path()).unwrap();
    assert_eq!((store.check().unwrap(), store.subjects().unwrap().len()), (vec![], 1));
}

#[test]
fn a_record_of_the_first_version_is_brought_to_this_one_with_all_its_events() {
    let (folder, now) = (TempDir::new().unwrap(), filled(5));
    let mut first = rusqlite::Connection::open(folder.path().join(DATABASE)).unwrap();
    migrate::migrate(&mut first, &MIGRATIONS[..1]).unwrap();
    let from = now.path().join(DATABASE);
    first
        .execute_batch(&format!(
            "ATTACH '{}' AS now; INSERT INTO event SELECT * FROM now.event; INSERT INTO series SELECT * FROM now.series;
             INSERT INTO computed SELECT * FROM now.computed;
             INSERT INTO placed SELECT arrival, device, seq, seq, subject, 'odometer-noted', 0
                 FROM now.event JOIN now.placed USING (arrival)",
            from.display()
        ))
        .unwrap();
    drop(first);
    assert!(matches!(SqliteStore::open_read_only(folder.path()), Err(StoreError::Older { found: 1, .. })));
    let store = SqliteStore::open(folder.path()).unwrap();
    assert_eq!(store.check().unwrap(), vec![]);
    assert_eq!(store.subject(&Subject::Machine("H-01".into())).unwrap().len(), 5);
}

/// Changes bytes of the file where a text stands.
fn flip(folder: &Path, text: &str) {
    let path = folder.join(DATABASE);
    let mut bytes = fs::read(&path).unwrap();
    let at = bytes.windows(text.len()).position(|window| window == text.as_bytes()).unwrap();
    bytes[at + text.len() - 1] ^= 1;
    fs::write(path, bytes).unwrap();
}

#[test]
fn one_bit_of_an_event_is_found_and_the_event_is_named() {
    let folder = filled(40);
    flip(folder.path(), "\"odometer\":\"17");
    let found = faults(folder.path());
    let device = Device::new(1).id;
    assert_eq!(found.len(), 1, "{found:?}");
    let what = "its bytes are not those that were appended";
    assert_eq!(found[0].to_string(), format!("event {device}.18 (arrival 18): {what}"));
    let store = SqliteStore::open(folder.path()).unwrap();
    for refused in [store.since(10, 20).err(), store.rebuild().err()] {
        let error = refused.unwrap();
        assert!(matches!(error, StoreError::Damaged { .. }), "{error:?}");
        assert!(error.to_string().contains(&format!("event {device}.18")), "it is never handed out: {error}");
    }
    assert_eq!(store.since(18, 100).unwrap().len(), 22, "the others are");
}

#[test]
fn one_bit_of_a_signature_is_found_and_the_event_is_named() {
    let folder = filled(40);
    let store = SqliteStore::open(folder.path()).unwrap();
    let signature = store.since(22, 1).unwrap()[0].signed.signature.clone();
    drop(store);
    flip(folder.path(), &signature);
    let found = faults(folder.path());
    assert!(matches!(found[..], [Fault { part: Part::Event { arrival: 23, id: Some(_) }, .. }]), "{found:?}");
}

#[test]
fn a_lost_page_is_named_with_the_events_on_it() {
    const PAGE_BYTES: usize = 4096;
    let folder = filled(200);
    let path = folder.path().join(DATABASE);
    let whole = fs::read(&path).unwrap();
    let text = b"\"odometer\":\"100 km\"";
    let at = whole.windows(text.len()).position(|window| window == text).unwrap();
    let page = at / PAGE_BYTES;
    let mut bytes = whole;
    bytes[page * PAGE_BYTES..(page + 1) * PAGE_BYTES].fill(0xa5);
    fs::write(&path, bytes).unwrap();
    let found = faults(folder.path());
    let number = u32::try_from(page + 1).unwrap();
    assert!(found.iter().any(|fault| fault.part == Part::Page(number)), "page {number}: {found:?}");
    let lost = muster_core::record::id::EventId { device: Device::new(1).id, seq: 101 };
    let named = Part::Event { arrival: 101, id: Some(lost) };
    assert!(found.iter().any(|fault| fault.part == named), "{found:?}");
    let about_events = found.iter().filter(|fault| matches!(fault.part, Part::Event { .. })).count();
    assert!(about_events < 20, "the events on other pages are not blamed: {found:?}");
    let store = SqliteStore::open(folder.path()).unwrap();
    assert!(store.since(0, 1000).is_err(), "and no answer leaves them out");
    assert!(matches!(store.rebuild(), Err(StoreError::Damaged { .. })));
}

#[test]
fn nothing_is_left_of_a_destroyed_key() {
    let folder = TempDir::new().unwrap();
    let store = SqliteStore::open(folder.path()).unwrap();
    // Many, in an order that makes pages split and rows move.
    let key = |number: u32| {
        let mut bytes = [0x5a; 32];
        bytes[..4].copy_from_slice(&number.wrapping_mul(2_654_435_761).to_be_bytes());
        bytes[28..].copy_from_slice(&number.to_be_bytes());
        bytes
    };
    let name = |number: u32| person(&format!("p-{:08x}", number.wrapping_mul(2_654_435_761)));
    for number in 0..600 {
        store.put_key(&name(number), &PersonKey::new(key(number))).unwrap();
    }
    let held = || -> BTreeSet<u32> {
        let files = fs::read_dir(folder.path()).unwrap().map(|entry| fs::read(entry.unwrap().path()).unwrap());
        let bytes = files.collect::<Vec<_>>().concat();
        // Every key has the same middle: where that stands, the number follows.
        let found = bytes.windows(28).filter(|window| window[..24] == [0x5a; 24]);
        let numbers = found.map(|window| u32::from_be_bytes([window[24], window[25], window[26], window[27]]));
        // A key that begins with the middle's byte is found one place early, too, and read as a large number.
        numbers.filter(|number| *number < 600).collect()
    };
    assert_eq!(held(), (0..600).collect());
    let destroyed: BTreeSet<u32> = (0..600).step_by(12).collect();
    for number in &destroyed {
        assert!(store.destroy_key(&name(*number)).unwrap());
    }
    let left: BTreeSet<u32> = (0..600).filter(|number| !destroyed.contains(number)).collect();
    assert_eq!(held(), left, "while it is open");
    assert_eq!(store.keys().unwrap().len(), left.len());
    for number in &left {
        store.destroy_key(&name(*number)).unwrap();
    }
    drop(store);
    assert_eq!(held(), BTreeSet::new(), "when it is closed");
}

#[test]
fn a_key_that_a_reader_still_sees_is_wiped_by_asking_again() {
    let folder = TempDir::new().unwrap();
    let store = SqliteStore::open(folder.path()).unwrap();
    store.put_key(&person("p-1"), &PersonKey::new([7; 32])).unwrap();
    let reader = rusqlite::Connection::open(folder.path().join(DATABASE)).unwrap();
    reader.execute_batch("BEGIN; SELECT * FROM person_key").unwrap();
    let error = store.destroy_key(&person("p-1")).unwrap_err();
    assert!(matches!(error, StoreError::NotYetWiped), "{error:?}");
    assert_eq!(store.key(&person("p-1")).unwrap(), None);
    reader.execute_batch("COMMIT").unwrap();
    assert!(!store.destroy_key(&person("p-1")).unwrap());
    let log = fs::read(folder.path().join(format!("{DATABASE}-wal"))).unwrap();
    assert!(log.is_empty());
}

#[cfg(unix)]
#[test]
fn the_file_is_this_users_alone() {
    use std::os::unix::fs::PermissionsExt;
    let folder = filled(1);
    let mode = fs::metadata(folder.path().join(DATABASE)).unwrap().permissions().mode();
    assert_eq!(mode & 0o077, 0, "{mode:o}");
}

#[test]
fn an_error_names_the_event() {
    let folder = filled(1);
    let store = SqliteStore::open(folder.path()).unwrap();
    let mut device = Device::new(2);
    device.write(odometer("H-01", 1));
    let second = device.write(odometer("H-01", 2));
    let error = store.append(std::slice::from_ref(&second)).unwrap_err();
    assert!(error.to_string().contains(&id(&second).to_string()), "{error}");
}
