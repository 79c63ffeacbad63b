//! The app in a real browser: what people do, from the first press to the release.

use crate::suite::CannotRun;
use crate::web::{self, Build};
use crate::workspace::{Workspace, execute};
use crate::{debian, rust, trust};
use anyhow::Context;
use std::path::{Path, PathBuf};
use std::{env, fs};

/// Acts in the app as people do: in the app that is shipped, by the server that the tests have built already.
pub(crate) fn check(workspace: &Workspace) -> anyhow::Result<()> {
    run(workspace, rust::program, &["e2e"], &["--test", "--test-concurrency=2", "--test-reporter=spec"])
}

/// Builds what is shipped and measures what it costs a phone.
pub(crate) fn measure(workspace: &Workspace) -> anyhow::Result<()> {
    run(workspace, shipped, &["e2e", "e2e/measure"], &["measure/app.mjs"])
}

/// Builds the server that is shipped, which carries the app, and returns where it is.
fn shipped(workspace: &Workspace) -> anyhow::Result<PathBuf> {
    execute(&mut workspace.cargo(&["build", "--quiet", "--release", "--package", "muster", "--no-default-features"]))?;
    Ok(workspace.target("release/muster"))
}

/// Runs node in the folder of the journeys, with what `folders` need installed, beside a server once the app is built.
fn run(
    workspace: &Workspace,
    server: fn(&Workspace) -> anyhow::Result<PathBuf>,
    folders: &[&str],
    arguments: &[&str],
) -> anyhow::Result<()> {
    let browser = path_of(&trust::browser(workspace)?)?;
    let has_node = || workspace.answers("node", &["--version"]) && workspace.answers("npm", &["--version"]);
    if !has_node() {
        debian::install(workspace, &["nodejs", "npm"])?;
    }
    if !has_node() {
        return Err(CannotRun("no node with npm: install them".to_owned()).into());
    }
    web::build(workspace, Build::Release)?;
    let server = server(workspace)?;
    for folder in folders {
        let mut install = workspace.command("npm");
        install.args(["ci", "--no-audit", "--no-fund", "--loglevel=error"]).current_dir(workspace.path(folder));
        execute(&mut install)?;
    }
    // Each journey's server begins with the same story: it is made once, by the build that is looked at.
    let told = workspace.target("told");
    if told.exists() {
        fs::remove_dir_all(&told).with_context(|| format!("cannot remove {}", told.display()))?;
    }
    let mut node = workspace.command("node");
    node.env("MUSTER_TOLD", &told).args(arguments).current_dir(workspace.path("e2e"));
    node.env("MUSTER_PROGRAM", server).env("MUSTER_BROWSER", browser);
    execute(&mut node)
}

/// Where a program stands: what starts the browser asks for its path.
fn path_of(program: &Path) -> anyhow::Result<PathBuf> {
    let paths = env::var_os("PATH").unwrap_or_default();
    let there = env::split_paths(&paths).map(|folder| folder.join(program)).find(|path| path.is_file());
    there.with_context(|| format!("{} is in no folder of PATH", program.display()))
}
