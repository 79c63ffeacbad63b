//! The suites that cargo itself brings: layout, lints, tests and documentation.

use crate::suite::CannotRun;
use crate::workspace::{Workspace, execute};

/// Fails if `cargo fmt` would change a file.
pub(crate) fn fmt(workspace: &Workspace) -> anyhow::Result<()> {
    need_component(workspace, "fmt", "rustfmt")?;
    execute(&mut workspace.cargo(&["fmt", "--all", "--check"]))
}

/// The crates these suites take: the app is for a browser, and paper has a suite of its own, as it is slow to build.
const TAKEN: [&str; 6] =
    ["--workspace", "--exclude", "muster-web", "--exclude", "muster-report", "--no-default-features"];

/// Fails on any warning of the compiler or of clippy.
pub(crate) fn clippy(workspace: &Workspace) -> anyhow::Result<()> {
    need_component(workspace, "clippy", "clippy")?;
    execute(workspace.cargo(&["clippy"]).args(TAKEN).args(["--all-targets", "--", "-D", "warnings"]))
}

/// Runs every test of the workspace, those in documentation included, past the first failure.
pub(crate) fn tests(workspace: &Workspace) -> anyhow::Result<()> {
    execute(workspace.cargo(&["test"]).args(TAKEN).arg("--no-fail-fast"))
}

/// Builds the documentation, warnings being errors.
pub(crate) fn doc(workspace: &Workspace) -> anyhow::Result<()> {
    execute(workspace.cargo(&["doc", "--no-deps"]).args(TAKEN).env("RUSTDOCFLAGS", "-Dwarnings"))
}

/// Finds a component of the toolchain, or installs it.
pub(crate) fn need_component(workspace: &Workspace, subcommand: &str, component: &str) -> anyhow::Result<()> {
    let present = || workspace.has_subcommand(subcommand);
    if present() || (workspace.answers("rustup", &["component", "add", component]) && present()) {
        return Ok(());
    }
    Err(CannotRun(format!("no {component}: run `rustup component add {component}`")).into())
}
