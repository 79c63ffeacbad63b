//! Finds a compiler for `wasm32-unknown-unknown` and builds with it.
//!
//! No toolchain file names the target: where it cannot be fetched, every call of cargo would fail.

use crate::debian;
use crate::suite::CannotRun;
use crate::workspace::{Workspace, execute};
use anyhow::Context;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::{env, fs};

/// The target a browser runs.
pub(crate) const TARGET: &str = "wasm32-unknown-unknown";

/// Set to `debian` to pass over the installed compiler's target, so that the fallback can be tried.
const OVERRIDE: &str = "MUSTER_WASM_TOOLCHAIN";

const DEBIAN_PACKAGES: &[&str] = &["rustc-web", "rust-web-src", "lld-19"];
const DEBIAN_RUSTC: &str = "/usr/bin/rustc";
const DEBIAN_LIBRARY: &str = "/usr/lib/rustlib/src/rust/library/std/Cargo.toml";
/// Newest first: an older linker may not read what a newer compiler writes.
const DEBIAN_LINKERS: &[&str] = &["wasm-ld-21", "wasm-ld-20", "wasm-ld-19", "wasm-ld-18", "wasm-ld-17", "wasm-ld-16"];

/// Builds the core for the target, in the profile that is shipped.
pub(crate) fn check(workspace: &Workspace) -> anyhow::Result<()> {
    build(workspace, Profile::Release, &["--package", "muster-core", "--lib"]).map(|_| ())
}

/// What is built for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Profile {
    /// As it is shipped: small.
    Release,
    /// Quick to build.
    Dev,
}

impl Profile {
    /// Its name and the directory cargo puts it in.
    fn names(self) -> (&'static str, &'static str) {
        match self {
            Self::Release => ("wasm-release", "wasm-release"),
            Self::Dev => ("dev", "debug"),
        }
    }
}

/// Lints a package for the target, warnings being errors.
pub(crate) fn lint(workspace: &Workspace, package: &str) -> anyhow::Result<()> {
    let toolchain = toolchain(workspace)?;
    if let Toolchain::Debian { .. } = toolchain {
        return Err(CannotRun("clippy needs the target of its own compiler: `rustup target add`".to_owned()).into());
    }
    // In the profile that is shipped: what runs on this machine as it builds is then the same, and is built once.
    let (profile, _) = Profile::Release.names();
    let chosen = ["--locked", "--target", TARGET, "--profile", profile, "--package", package];
    let mut command = workspace.cargo(&["clippy"]);
    command.args(chosen);
    command.arg("--target-dir").arg(workspace.target(toolchain.directory()));
    toolchain.apply(&mut command);
    // A view's function is as long as what it shows and takes its properties by value.
    let allowed = ["-A", "clippy::too_many_lines", "-A", "clippy::needless_pass_by_value"];
    execute(command.args(["--", "-D", "warnings"]).args(allowed))
}

/// Builds what `arguments` choose and returns the directory it is in.
pub(crate) fn build(workspace: &Workspace, profile: Profile, arguments: &[&str]) -> anyhow::Result<PathBuf> {
    compile(workspace, profile, arguments, &[])
}

/// The same with the names and the linker's notes left in, by which a module can be split; binding strips them.
pub(crate) fn build_to_split(workspace: &Workspace, profile: Profile, arguments: &[&str]) -> anyhow::Result<PathBuf> {
    compile(workspace, profile, arguments, &["-C", "strip=none", "-C", "link-arg=--emit-relocs"])
}

fn compile(workspace: &Workspace, profile: Profile, arguments: &[&str], of_rustc: &[&str]) -> anyhow::Result<PathBuf> {
    let (profile, folder) = profile.names();
    let toolchain = toolchain(workspace)?;
    let directory = workspace.target(toolchain.directory());
    let mut command = workspace.cargo(&["rustc", "--locked", "--target", TARGET, "--profile", profile]);
    command.args(arguments).arg("--target-dir").arg(&directory).arg("--").args(of_rustc);
    toolchain.apply(&mut command);
    execute(&mut command)?;
    Ok(directory.join(TARGET).join(folder))
}

enum Toolchain {
    /// The compiler in use has the target's standard library.
    Installed,
    /// Debian's compiler, which builds the standard library from Debian's source of it.
    Debian { linker: PathBuf },
}

impl Toolchain {
    /// Two compilers in one directory would compile each other's work anew at every change.
    fn directory(&self) -> &'static str {
        match self {
            Self::Installed => "wasm",
            Self::Debian { .. } => "wasm-fallback",
        }
    }

    fn apply(&self, command: &mut Command) {
        // set for the host's compiler and linker; wasm-ld would choke on them
        for name in ["RUSTC_WRAPPER", "RUSTFLAGS", "CARGO_ENCODED_RUSTFLAGS"] {
            command.env_remove(name);
        }
        if let Self::Debian { linker } = self {
            command.arg("-Zbuild-std=std,panic_abort");
            command.env("RUSTC", DEBIAN_RUSTC).env("RUSTC_BOOTSTRAP", "1");
            command.env("CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_LINKER", linker);
        }
    }
}

fn toolchain(workspace: &Workspace) -> anyhow::Result<Toolchain> {
    let fallback_asked_for = env::var(OVERRIDE).as_deref() == Ok("debian");
    if !fallback_asked_for && (has_target(workspace) || add_target(workspace)) {
        return Ok(Toolchain::Installed);
    }
    if let Some(debian) = debian_toolchain() {
        return Ok(debian);
    }
    let installed = debian::install(workspace, DEBIAN_PACKAGES);
    debian_toolchain().ok_or_else(|| {
        let why = installed.err().map_or_else(String::new, |error| format!(" ({error:#})"));
        let packages = DEBIAN_PACKAGES.join(" ");
        let remedy =
            format!("`rustup target add {TARGET}`, or on Debian `apt-get install --no-install-recommends {packages}`");
        CannotRun(format!("no standard library for {TARGET}: run {remedy}{why}")).into()
    })
}

/// Whether the compiler in use has the target: it names a directory even where there is none.
fn has_target(workspace: &Workspace) -> bool {
    let holds_core = || -> anyhow::Result<bool> {
        let rustc = env::var("RUSTC").unwrap_or_else(|_| "rustc".to_owned());
        let output = workspace.command(&rustc).args(["--print", "target-libdir", "--target", TARGET]).output()?;
        let directory = String::from_utf8(output.stdout).context("path is not UTF-8")?;
        let mut entries = fs::read_dir(directory.trim())?.flatten();
        Ok(entries.any(|entry| entry.file_name().to_string_lossy().starts_with("libcore-")))
    };
    holds_core().unwrap_or(false)
}

fn add_target(workspace: &Workspace) -> bool {
    workspace.answers("rustup", &["target", "add", TARGET]) && has_target(workspace)
}

fn debian_toolchain() -> Option<Toolchain> {
    let linker = DEBIAN_LINKERS.iter().map(|name| Path::new("/usr/bin").join(name)).find(|path| path.exists())?;
    (Path::new(DEBIAN_RUSTC).exists() && Path::new(DEBIAN_LIBRARY).exists()).then_some(Toolchain::Debian { linker })
}
