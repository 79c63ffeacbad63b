//! This binary run again as another program, which is killed, runs out of room, or may not write.

use std::{
    env, fs,
    io::{self, Write},
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    thread,
    time::Duration,
};

use muster::store::{
    Store,
    photos::Photos,
    sqlite::{
        DATABASE, SqliteStore,
        migrate::{self, MIGRATIONS, Migration},
    },
};
use rusqlite::Connection;

use super::{device::Device, pictures};

const ROLE: &str = "MUSTER_TEST_ROLE";
const FOLDER: &str = "MUSTER_TEST_FOLDER";

/// How many events the roles append at once: what is held is always a multiple.
pub(crate) const BATCH: u32 = 5;

/// How many devices append at once.
pub(crate) const DEVICES: u8 = 2;

/// Rows of the slow step.
pub(crate) const SLOW_ROWS: u32 = 60_000;

/// A step that takes long enough to be killed in.
pub(crate) const SLOW: Migration = Migration {
    version: 3,
    sql: "CREATE TABLE slow (number INTEGER PRIMARY KEY, text TEXT) STRICT;
          WITH RECURSIVE upto (number) AS (SELECT 1 UNION ALL SELECT number + 1 FROM upto WHERE number < 60000)
          INSERT INTO slow SELECT number, hex(randomblob(40)) FROM upto;
          UPDATE slow SET text = lower(text);
          CREATE INDEX slow_by_text ON slow (text);
          ALTER TABLE setting ADD COLUMN note TEXT;",
};

/// What the other program does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Role {
    /// Appends until it is killed.
    Append,
    /// Appends until it is refused.
    Fill,
    /// Takes in a photo.
    Photo,
    /// Takes the slow step.
    Migrate,
    /// Opens, counts, and tries to append.
    Look,
}

impl Role {
    const ALL: [Self; 5] = [Self::Append, Self::Fill, Self::Photo, Self::Migrate, Self::Look];

    /// The other program, to be started.
    pub(crate) fn command(self, program: &Path, folder: &Path) -> Command {
        let mut command = Command::new(program);
        self.prepare(command.args(ARGUMENTS), folder);
        command
    }

    /// The same in a shell that sets limits first. A file that grows beyond them is an error then, and no signal.
    pub(crate) fn limited(self, folder: &Path, blocks: u32) -> Command {
        let mut command = Command::new("sh");
        let script = format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" \"$@\"");
        self.prepare(command.args(["-c", &script]).arg(this_program()).args(ARGUMENTS), folder);
        command
    }

    fn prepare(self, command: &mut Command, folder: &Path) {
        command.env(ROLE, format!("{self:?}")).env(FOLDER, folder).stdout(Stdio::piped()).stderr(Stdio::piped());
    }
}

const ARGUMENTS: [&str; 4] = ["store::child::other_program", "--exact", "--nocapture", "--test-threads=1"];

/// This binary.
pub(crate) fn this_program() -> PathBuf {
    env::current_exe().unwrap()
}

/// Starts it.
pub(crate) fn start(mut command: Command) -> Child {
    loop {
        match command.spawn() {
            // A copy of this binary is busy while a program that another test starts has not yet closed what it inherited.
            Err(error) if error.kind() == io::ErrorKind::ExecutableFileBusy => thread::sleep(Duration::from_millis(5)),
            started => return started.unwrap(),
        }
    }
}

/// Runs it to its end; what it said.
pub(crate) fn run(command: Command) -> Vec<String> {
    let output = start(command).wait_with_output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap().lines().map(str::to_owned).collect()
}

/// What it said after a word.
pub(crate) fn said<'a>(lines: &'a [String], word: &'a str) -> Option<&'a str> {
    lines.iter().rev().find_map(|line| line.strip_prefix(word)?.strip_prefix(' '))
}

/// Does what the environment asks for. Run among the other tests it is not asked for anything.
#[test]
fn other_program() {
    let Ok(role) = env::var(ROLE) else { return };
    let role = Role::ALL.into_iter().find(|known| format!("{known:?}") == role).unwrap();
    let folder = PathBuf::from(env::var_os(FOLDER).unwrap());
    match role {
        Role::Append => append(&folder),
        Role::Fill => fill(&folder),
        Role::Photo => photo(&folder),
        Role::Migrate => take_slow_step(&folder),
        Role::Look => look(&folder),
    }
}

/// Says something at once, and on a line of its own.
fn say(text: &str) {
    let mut out = io::stdout().lock();
    writeln!(out, "\n{text}").unwrap();
    out.flush().unwrap();
}

/// The device as it was when its last event was appended.
fn device(number: u8, store: &SqliteStore) -> Device {
    let mut device = Device::new(number);
    let own = device.id;
    for stored in store.since(0, usize::MAX).unwrap().iter().filter(|stored| stored.id.device == own) {
        device.receive(&stored.signed);
    }
    device
}

fn append(folder: &Path) {
    let store = &SqliteStore::open(folder).unwrap();
    thread::scope(|scope| {
        for number in 1..=DEVICES {
            scope.spawn(move || {
                let mut device = device(number, store);
                loop {
                    store.append(&device.odometers("H-01", BATCH)).unwrap();
                    say(&format!("held {number} {}", store.heads().unwrap().of(device.id)));
                }
            });
        }
    });
}

fn fill(folder: &Path) {
    let store = SqliteStore::open(folder).unwrap();
    let mut device = device(1, &store);
    loop {
        match store.append(&device.odometers("H-01", BATCH)) {
            Ok(appended) => say(&format!("held {}", appended.arrival)),
            Err(error) => {
                say(&format!("refused {error}"));
                say(&format!("reads {}", store.count().unwrap()));
                return;
            }
        }
    }
}

fn photo(folder: &Path) {
    let photos = Photos::of_store(folder);
    match photos.keep(&pictures::noise(1400, 1400)) {
        Ok(_) => say("kept it"),
        Err(error) => say(&format!("refused {error}")),
    }
}

fn take_slow_step(folder: &Path) {
    let mut connection = Connection::open(folder.join(DATABASE)).unwrap();
    say("begins now");
    migrate::migrate(&mut connection, &[MIGRATIONS, &[SLOW]].concat()).unwrap();
    say("ended now");
}

fn look(folder: &Path) {
    let store = match SqliteStore::open(folder) {
        Ok(store) => store,
        Err(error) => return say(&format!("refused {error}")),
    };
    say(&format!("only {}", store.read_only().unwrap_or("nothing")));
    say(&format!("reads {}", store.count().unwrap()));
    say(&format!("faults {}", store.check().unwrap().len()));
    let error = store.append(&Device::new(9).odometers("H-09", 1)).unwrap_err();
    say(&format!("refused {error}"));
    // A folder that cannot be written is as it was.
    say(&format!("files {}", fs::read_dir(folder).unwrap().count()));
}
