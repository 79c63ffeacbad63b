//! The app in a real browser: what people do, from the first press to the release.

use crate::suite::CannotRun;
use crate::web::{self, Build};
use crate::workspace::{Workspace, execute};
use crate::{debian, trust};
use anyhow::Context;
use std::env;
use std::path::{Path, PathBuf};

/// Builds what is shipped and acts in it as people do.
pub(crate) fn check(workspace: &Workspace) -> anyhow::Result<()> {
    let browser = path_of(&trust::browser(workspace)?)?;
    let has_node = || workspace.answers("node", &["--version"]) && workspace.answers("npm", &["--version"]);
    if !has_node() {
        debian::install(workspace, &["nodejs", "npm"])?;
    }
    if !has_node() {
        return Err(CannotRun("no node with npm: install them".to_owned()).into());
    }
    web::build(workspace, Build::Release)?;
    execute(&mut workspace.cargo(&["build", "--release", "--quiet", "--package", "muster"]))?;
    let folder = workspace.path("e2e");
    execute(workspace.command("npm").args(["ci", "--no-audit", "--no-fund", "--loglevel=error"]).current_dir(&folder))?;
    let mut tests = workspace.command("node");
    tests.args(["--test", "--test-concurrency=1", "--test-reporter=spec"]).current_dir(&folder);
    tests.env("MUSTER_PROGRAM", workspace.target("release/muster")).env("MUSTER_BROWSER", browser);
    execute(&mut tests)
}

/// Where a program stands: what starts the browser asks for its path.
fn path_of(program: &Path) -> anyhow::Result<PathBuf> {
    let paths = env::var_os("PATH").unwrap_or_default();
    let there = env::split_paths(&paths).map(|folder| folder.join(program)).find(|path| path.is_file());
    there.with_context(|| format!("{} is in no folder of PATH", program.display()))
}
