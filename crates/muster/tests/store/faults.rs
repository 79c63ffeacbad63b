//! What is left when the program is killed, the disk is full, or the folder cannot be written.

use std::{
    fs,
    io::{BufRead, BufReader, Read},
    os::unix::{
        fs::{MetadataExt, PermissionsExt},
        process::CommandExt,
    },
    path::Path,
    thread,
    time::{Duration, Instant, SystemTime},
};

use muster::store::{
    Store,
    photos::Photos,
    sqlite::{
        DATABASE, SqliteStore,
        migrate::{self, MIGRATIONS},
    },
};
use rusqlite::Connection;
use tempfile::TempDir;

use super::{
    child::{self, BATCH, DEVICES, Role, SLOW_ROWS, run, said, start, this_program},
    device::Device,
};

/// How often a program is killed: 20 times, or as often as the long run asks.
pub(crate) fn kills() -> u32 {
    std::env::var("MUSTER_KILLS").ok().and_then(|kills| kills.parse().ok()).unwrap_or(20)
}

/// Numbers that differ from run to run; the seed is in every message.
pub(crate) struct Chance(u64);

impl Chance {
    pub(crate) fn new() -> Self {
        let now = SystemTime::UNIX_EPOCH.elapsed().unwrap();
        Self(u64::from(now.subsec_nanos()) << 20 | 1)
    }

    /// From 0 up to a limit; xorshift64 (Marsaglia 2003).
    pub(crate) fn below(&mut self, limit: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % limit
    }
}

#[test]
fn what_was_acknowledged_survives_a_kill() {
    let folder = TempDir::new().unwrap();
    let mut chance = Chance::new();
    let seed = chance.0;
    let mut in_flight = 0;
    for kill in 1..=kills() {
        let mut program = start(Role::Append.command(&this_program(), folder.path()));
        let mut out = BufReader::new(program.stdout.take().unwrap());
        let mut lines = vec![];
        while !lines.last().is_some_and(|line: &String| line.starts_with("held")) {
            let mut line = String::new();
            assert!(out.read_line(&mut line).unwrap() > 0, "kill {kill}: it ended by itself");
            lines.push(line);
        }
        thread::sleep(Duration::from_micros(chance.below(25_000)));
        program.kill().unwrap();
        program.wait().unwrap();
        let mut rest = String::new();
        out.read_to_string(&mut rest).unwrap();
        lines.extend(rest.lines().map(str::to_owned));

        let store = SqliteStore::open(folder.path()).unwrap();
        assert_eq!(store.check().unwrap(), vec![], "kill {kill}, seed {seed}");
        for number in 1..=DEVICES {
            let acknowledged = said(&lines, &format!("held {number}")).map_or(0, |count| count.trim().parse().unwrap());
            let held = store.heads().unwrap().of(Device::new(number).id);
            let batch = u64::from(BATCH);
            assert!(held >= acknowledged, "kill {kill}, seed {seed}: {held} of {acknowledged}");
            assert_eq!(held % batch, 0, "kill {kill}, seed {seed}: a batch was halved");
            if acknowledged > 0 {
                assert!(held <= acknowledged + batch, "kill {kill}, seed {seed}: more than was sent");
                in_flight += u32::from(held > acknowledged);
            }
        }
    }
    println!("{in_flight} of {} batches were on disk and not yet acknowledged", kills() * u32::from(DEVICES));
}

#[test]
fn a_kill_in_a_migration_leaves_the_version_before_it() {
    let template = TempDir::new().unwrap();
    let store = SqliteStore::open(template.path()).unwrap();
    store.append(&Device::new(1).odometers("H-01", 50)).unwrap();
    drop(store);
    let fresh = || {
        let folder = TempDir::new().unwrap();
        fs::copy(template.path().join(DATABASE), folder.path().join(DATABASE)).unwrap();
        folder
    };
    let whole = fresh();
    let began = Instant::now();
    let lines = run(Role::Migrate.command(&this_program(), whole.path()));
    let duration = u64::try_from(began.elapsed().as_micros()).unwrap();
    assert_eq!((said(&lines, "ended"), migrated(whole.path())), (Some("now"), true));

    let mut chance = Chance::new();
    let seed = chance.0;
    let mut before = 0;
    for kill in 1..=kills() {
        let folder = fresh();
        let mut program = start(Role::Migrate.command(&this_program(), folder.path()));
        let mut out = BufReader::new(program.stdout.take().unwrap());
        let mut line = String::new();
        while !line.starts_with("begins") {
            line.clear();
            assert!(out.read_line(&mut line).unwrap() > 0, "kill {kill}: it ended by itself");
        }
        thread::sleep(Duration::from_micros(chance.below(duration)));
        program.kill().unwrap();
        program.wait().unwrap();
        if !migrated(folder.path()) {
            before += 1;
            let store = SqliteStore::open(folder.path()).unwrap();
            assert_eq!((store.count().unwrap(), store.check().unwrap()), (50, vec![]), "kill {kill}, seed {seed}");
        }
    }
    assert!(before >= kills() / 4, "only {before} of {} were killed in it, seed {seed}", kills());
}

/// Whether the slow step was taken; it is taken whole or not at all.
fn migrated(folder: &Path) -> bool {
    let connection = Connection::open(folder.join(DATABASE)).unwrap();
    let version = migrate::version(&connection).unwrap().unwrap();
    let count = |sql: &str| connection.query_row(sql, [], |row| row.get::<_, u32>(0)).unwrap();
    let named = "SELECT count(*) FROM sqlite_schema WHERE name IN ('slow', 'slow_by_text')";
    let columns = "SELECT count(*) FROM pragma_table_info('setting')";
    if version == migrate::latest(MIGRATIONS) {
        assert_eq!((count(named), count(columns)), (0, 2));
        return false;
    }
    assert_eq!(version, child::SLOW.version);
    assert_eq!((count(named), count(columns), count("SELECT count(*) FROM slow")), (2, 3, SLOW_ROWS));
    true
}

#[test]
fn a_full_disk_is_said_and_nothing_is_half_written() {
    let folder = TempDir::new().unwrap();
    drop(SqliteStore::open(folder.path()).unwrap());
    for _ in 0..2 {
        let lines = run(Role::Fill.limited(folder.path(), 600));
        let refused = said(&lines, "refused").unwrap();
        assert!(refused.contains("no room") && refused.contains("try again"), "{refused}");
        let reads: u64 = said(&lines, "reads").unwrap().parse().unwrap();
        let held: u64 = said(&lines, "held").map_or(reads, |held| held.parse().unwrap());
        assert_eq!(reads, held, "what is acknowledged can be read, and nothing else");
        assert_eq!(reads % u64::from(BATCH), 0);
        let store = SqliteStore::open(folder.path()).unwrap();
        assert_eq!((store.count().unwrap(), store.check().unwrap()), (held, vec![]));
    }
    let store = SqliteStore::open(folder.path()).unwrap();
    let before = store.count().unwrap();
    store.append(&Device::new(2).odometers("H-02", BATCH)).unwrap();
    assert_eq!((store.count().unwrap(), store.check().unwrap()), (before + u64::from(BATCH), vec![]));
}

#[test]
fn a_photo_for_which_there_is_no_room_leaves_nothing() {
    let folder = TempDir::new().unwrap();
    let lines = run(Role::Photo.limited(folder.path(), 100));
    assert!(said(&lines, "refused").is_some_and(|why| why.contains("cannot write")), "{lines:?}");
    let photos = Photos::of_store(folder.path());
    assert_eq!((photos.list().unwrap(), photos.lasting().unwrap().len()), (vec![], 0));
    for shelf in fs::read_dir(photos.folder()).unwrap() {
        assert_eq!(fs::read_dir(shelf.unwrap().path()).unwrap().count(), 0, "not even an unfinished file");
    }
    assert_eq!(said(&run(Role::Photo.command(&this_program(), folder.path())), "kept"), Some("it"));
}

/// Has another program look at a folder it may not write: as another user, where this one may write everything.
fn look(folder: &Path, file_mode: u32) -> Vec<String> {
    let mode = |path: &Path, mode| fs::set_permissions(path, PermissionsExt::from_mode(mode)).unwrap();
    for entry in fs::read_dir(folder).unwrap() {
        mode(&entry.unwrap().path(), file_mode);
    }
    mode(folder, 0o555);
    let outside = TempDir::new().unwrap();
    mode(outside.path(), 0o755);
    let program = outside.path().join("program");
    fs::copy(this_program(), &program).unwrap();
    mode(&program, 0o755);
    let mut command = Role::Look.command(&program, folder);
    if fs::metadata(outside.path()).unwrap().uid() == 0 {
        command.uid(65534).gid(65534);
    }
    command.current_dir(outside.path());
    let lines = run(command);
    mode(folder, 0o755);
    lines
}

#[test]
fn a_folder_that_cannot_be_written_is_read_and_says_so() {
    for file_mode in [0o444, 0o666] {
        let folder = TempDir::new().unwrap();
        let store = SqliteStore::open(folder.path()).unwrap();
        store.append(&Device::new(1).odometers("H-01", 10)).unwrap();
        drop(store);
        let lines = look(folder.path(), file_mode);
        assert!(said(&lines, "only").is_some_and(|why| why != "nothing"), "{lines:?}");
        assert_eq!(
            (said(&lines, "reads"), said(&lines, "faults"), said(&lines, "files")),
            (Some("10"), Some("0"), Some("1"))
        );
        let refused = said(&lines, "refused").unwrap();
        assert!(refused.contains("reading only") && refused.contains("writable"), "{refused}");
    }
}

#[test]
fn a_log_left_behind_where_nothing_can_be_written_is_not_passed_over() {
    let (source, folder) = (TempDir::new().unwrap(), TempDir::new().unwrap());
    let store = SqliteStore::open(source.path()).unwrap();
    store.append(&Device::new(1).odometers("H-01", 10)).unwrap();
    for name in [DATABASE.to_owned(), format!("{DATABASE}-wal")] {
        fs::copy(source.path().join(&name), folder.path().join(&name)).unwrap();
    }
    let lines = look(folder.path(), 0o444);
    let whole = said(&lines, "reads") == Some("10") && said(&lines, "faults") == Some("0");
    let refused = said(&lines, "refused").is_some_and(|why| why.contains("cannot read"));
    assert!(whole || refused, "{lines:?}");
}
