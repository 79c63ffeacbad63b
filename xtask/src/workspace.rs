//! Where the repository and its build directory are, and how commands are run in it.

use anyhow::{Context, bail, ensure};
use std::cell::RefCell;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::{env, io};

/// Compiles the core for speed, as every suite judges whole yards: a minute of compiling saves a server's first answer six
/// seconds, and each journey has a server. Whoever works on the core is better served by a quick build.
const JUDGES_QUICKLY: &str = "profile.dev.package.muster-core.opt-level=1";

/// Whether this runs where nobody edits: what compiles slower and runs quicker is worth it, what cannot run is a failure.
pub(crate) fn is_ci() -> bool {
    env::var("CI").is_ok_and(|value| !["", "0", "false"].contains(&value.as_str()))
}

/// The repository this binary was built from.
pub(crate) struct Workspace {
    root: PathBuf,
    target: PathBuf,
}

impl Workspace {
    /// Finds the repository's root and build directory.
    pub(crate) fn locate() -> anyhow::Result<Self> {
        let manifest = Path::new(env!("CARGO_MANIFEST_DIR"));
        let root = manifest.parent().context("xtask has no parent directory")?.to_path_buf();
        let target = env::var_os("CARGO_TARGET_DIR").map_or_else(|| root.join("target"), |dir| root.join(dir));
        Ok(Self { root, target })
    }

    /// Returns the path of a file named relative to the root.
    pub(crate) fn path(&self, relative: &str) -> PathBuf {
        self.root.join(relative)
    }

    /// Returns the path of a directory for build products, which git ignores.
    pub(crate) fn target(&self, relative: &str) -> PathBuf {
        self.target.join(relative)
    }

    /// Prepares a command that runs in the root.
    ///
    /// `cargo run` tells its child about the package it runs. Passed on, that would make a build
    /// started from here differ from the same build started from a shell, and compile all again.
    pub(crate) fn command(&self, program: &str) -> Command {
        let mut command = Command::new(program);
        command.current_dir(&self.root);
        for (name, _) in env::vars_os() {
            let text = name.to_string_lossy();
            if text.starts_with("CARGO_PKG_") || text.starts_with("CARGO_MANIFEST_") {
                command.env_remove(&name);
            }
        }
        command
    }

    /// Prepares a command of the cargo that runs this binary.
    pub(crate) fn cargo(&self, arguments: &[&str]) -> Command {
        let program = env::var("CARGO").unwrap_or_else(|_| "cargo".to_owned());
        let mut command = self.command(&program);
        if is_ci() {
            command.args(["--config", JUDGES_QUICKLY]);
        }
        command.args(arguments);
        command
    }

    /// Whether a program is there and answers to `arguments`, which should only ask its version.
    pub(crate) fn answers(&self, program: &str, arguments: &[&str]) -> bool {
        self.command(program).args(arguments).output().is_ok_and(|output| output.status.success())
    }

    /// Whether cargo has a subcommand; asked through cargo, since some know no `--version` alone.
    pub(crate) fn has_subcommand(&self, subcommand: &str) -> bool {
        let mut command = self.cargo(&[subcommand, "--version"]);
        command.output().is_ok_and(|output| output.status.success())
    }
}

thread_local! {
    /// Where this thread's commands print, if not where we do.
    static LOG: RefCell<Option<File>> = const { RefCell::new(None) };
}

/// A file to which the commands of the thread that made it print, as long as it lives.
pub(crate) struct Log {
    path: PathBuf,
}

impl Log {
    /// Begins an empty one in a folder.
    pub(crate) fn of_this_thread(folder: &Path, name: &str) -> anyhow::Result<Self> {
        let path = folder.join(format!("{name}.log"));
        let begun = fs::create_dir_all(folder).and_then(|()| File::create(&path));
        let file = begun.with_context(|| format!("cannot write {}", path.display()))?;
        LOG.set(Some(file));
        Ok(Self { path })
    }

    /// What was printed so far.
    pub(crate) fn read(&self) -> String {
        fs::read(&self.path)
            .map_or_else(|error| format!("{error}\n"), |text| String::from_utf8_lossy(&text).into_owned())
    }
}

impl Drop for Log {
    fn drop(&mut self) {
        LOG.set(None);
    }
}

/// Runs a command, its output going where ours goes, or into this thread's log.
pub(crate) fn execute(command: &mut Command) -> anyhow::Result<()> {
    let line = shown(command);
    println!("$ {line}");
    LOG.with_borrow(|log| -> io::Result<()> {
        if let Some(log) = log {
            command.stdout(log.try_clone()?).stderr(log.try_clone()?);
        }
        Ok(())
    })?;
    let status = command.status().with_context(|| format!("cannot start {line}"))?;
    ensure!(status.success(), "{line}: {status}");
    Ok(())
}

/// Runs a command and returns what it printed.
pub(crate) fn read(command: &mut Command) -> anyhow::Result<String> {
    let line = shown(command);
    let output = command.output().with_context(|| format!("cannot start {line}"))?;
    if !output.status.success() {
        bail!("{line}: {}\n{}", output.status, String::from_utf8_lossy(&output.stderr).trim_end());
    }
    String::from_utf8(output.stdout).with_context(|| format!("{line} printed what is not UTF-8"))
}

fn shown(command: &Command) -> String {
    let program = Path::new(command.get_program());
    let name = program.file_name().unwrap_or(command.get_program()).to_string_lossy();
    let arguments: Vec<_> = command.get_args().map(|argument| argument.to_string_lossy()).collect();
    format!("{name} {}", arguments.join(" "))
}
