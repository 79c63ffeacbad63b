//! Runs the program in a folder of its own.

use std::{
    env, fs,
    io::Write,
    path::{Path, PathBuf},
    process::{Command, Output, Stdio},
    sync::atomic::{AtomicU32, Ordering},
};

/// The moment every test judges at unless it says otherwise.
pub(super) const NOON: &str = "2026-11-24T09:00:00+01:00";

/// A folder that goes when it is dropped.
pub(super) struct Folder(PathBuf);

impl Folder {
    pub(super) fn new() -> Self {
        static NEXT: AtomicU32 = AtomicU32::new(0);
        let number = NEXT.fetch_add(1, Ordering::Relaxed);
        let path = env::temp_dir().join(format!("muster-test-{}-{number}", std::process::id()));
        fs::create_dir_all(&path).expect("a folder can be made among the temporary ones");
        Self(path)
    }

    pub(super) fn path(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    pub(super) fn write(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.path(name);
        fs::write(&path, bytes).expect("a file can be written there");
        path
    }

    /// The names in it, in order.
    pub(super) fn names(&self) -> Vec<String> {
        let entries = fs::read_dir(&self.0).expect("it can be listed");
        let mut names: Vec<String> =
            entries.map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _gone = fs::remove_dir_all(&self.0);
    }
}

/// What a run came to.
pub(super) struct Ran {
    pub(super) code: i32,
    pub(super) out: String,
    pub(super) err: String,
}

/// A file of the tests.
pub(super) fn fixture(name: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests").join(name).display().to_string()
}

/// The program with the little yard, at [`NOON`].
pub(super) fn in_yard(arguments: &[&str]) -> Ran {
    fed(arguments, Some(&fixture("yard")), b"")
}

/// The program with the demonstration yard.
pub(super) fn in_demo(arguments: &[&str]) -> Ran {
    fed(arguments, None, b"")
}

/// The program, ready to be run.
pub(super) fn program(arguments: &[&str], yard: Option<&str>) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_muster"));
    command.args(arguments).env_remove("MUSTER_YARD").env_remove("COLUMNS").env_remove("NO_COLOR");
    // Forms can be named without their folder, so that no text depends on where the tests lie.
    command.current_dir(fixture("forms"));
    if let Some(yard) = yard {
        command.env("MUSTER_YARD", yard).args(["--on", NOON]);
    }
    command
}

/// The program with something to read on its standard input.
pub(super) fn fed(arguments: &[&str], yard: Option<&str>, input: &[u8]) -> Ran {
    ran(program(arguments, yard), input)
}

/// What a program comes to that is ready to be run.
pub(super) fn ran(mut command: Command, input: &[u8]) -> Ran {
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().expect("the program starts");
    // A program that wants no input may have closed it already.
    let _fed = child.stdin.take().expect("its input is ours").write_all(input);
    let Output { status, stdout, stderr } = child.wait_with_output().expect("the program ends");
    Ran {
        code: status.code().unwrap_or(-1),
        out: String::from_utf8(stdout).expect("its output is UTF-8"),
        err: String::from_utf8(stderr).expect("its complaints are UTF-8"),
    }
}
