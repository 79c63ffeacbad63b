//! The app in a real browser: what people do, from the first press to the release.

use crate::suite::CannotRun;
use crate::web::{self, Build};
use crate::workspace::{Workspace, execute};
use crate::{debian, trust};

/// Builds what is shipped and acts in it as people do.
pub(crate) fn check(workspace: &Workspace) -> anyhow::Result<()> {
    let browser = trust::browser(workspace)?;
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
