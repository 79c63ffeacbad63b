//! The suites that cargo itself brings: layout, lints, tests and documentation.

use crate::suite::CannotRun;
use crate::workspace::{Workspace, execute};
use std::path::PathBuf;
use std::process::Command;

/// Fails if `cargo fmt` would change a file.
pub(crate) fn fmt(workspace: &Workspace) -> anyhow::Result<()> {
    need_component(workspace, "fmt", "rustfmt")?;
    execute(&mut workspace.cargo(&["fmt", "--all", "--check"]))
}

/// What is read and not built: all but the app, which is for a browser, and paper, as `cargo clippy` would read all that
/// typesetting is made of, which takes as long as to compile it.
const READ: [&str; 6] =
    ["--workspace", "--exclude", "muster-web", "--exclude", "muster-report", "--no-default-features"];
/// What is built. Always all of it: with other crates chosen, what they share would have other features and be built again.
const BUILT: [&str; 3] = ["--workspace", "--exclude", "muster-web"];

/// Fails on any warning of the compiler or of clippy.
pub(crate) fn clippy(workspace: &Workspace) -> anyhow::Result<()> {
    need_component(workspace, "clippy", "clippy")?;
    execute(workspace.cargo(&["clippy"]).args(READ).args(["--all-targets", "--", "-D", "warnings"]))
}

/// Runs every test of the workspace but the app's, those in documentation included, past the first failure.
pub(crate) fn tests(workspace: &Workspace) -> anyhow::Result<()> {
    execute(linted(workspace)?.args(BUILT).arg("--no-fail-fast"))
}

/// Builds the documentation, warnings being errors.
pub(crate) fn doc(workspace: &Workspace) -> anyhow::Result<()> {
    execute(workspace.cargo(&["doc", "--no-deps"]).args(READ).env("RUSTDOCFLAGS", "-Dwarnings"))
}

/// Builds the program as its tests do, which takes no time after them, and returns where it is.
pub(crate) fn program(workspace: &Workspace) -> anyhow::Result<PathBuf> {
    execute(linted(workspace)?.args(BUILT).args(["--no-run", "--quiet", "--test", "paper"]))?;
    Ok(workspace.target("debug/muster"))
}

/// `cargo test` that lints our own crates as it compiles them, warnings being errors: paper's are read by nothing else.
fn linted(workspace: &Workspace) -> anyhow::Result<Command> {
    need_component(workspace, "clippy", "clippy")?;
    let mut cargo = workspace.cargo(&["test"]);
    cargo.env("RUSTC_WORKSPACE_WRAPPER", "clippy-driver");
    cargo.env("CLIPPY_ARGS", "-D__CLIPPY_HACKERY__warnings__CLIPPY_HACKERY__");
    Ok(cargo)
}

/// Finds a component of the toolchain, or installs it.
pub(crate) fn need_component(workspace: &Workspace, subcommand: &str, component: &str) -> anyhow::Result<()> {
    let present = || workspace.has_subcommand(subcommand);
    if present() || (workspace.answers("rustup", &["component", "add", component]) && present()) {
        return Ok(());
    }
    Err(CannotRun(format!("no {component}: run `rustup component add {component}`")).into())
}
