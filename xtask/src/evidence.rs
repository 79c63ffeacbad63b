//! `cargo xtask evidence`: every outside value beside what the formulas gave, as docs/evidence.md.

use crate::workspace::{Workspace, execute};

/// Writes the table, or with `check` fails where it is stale.
pub(crate) fn write(workspace: &Workspace, check: bool) -> anyhow::Result<()> {
    written_by(workspace, "evidence::table", check)
}

/// Runs the core's test that writes a page of the documents, or with `check` only compares it.
pub(crate) fn written_by(workspace: &Workspace, test: &str, check: bool) -> anyhow::Result<()> {
    let mut cargo = workspace.cargo(&["test", "--quiet", "--package", "muster-core", "--test", "main", "--", test]);
    match check {
        true => cargo.env_remove("MUSTER_BLESS"),
        false => cargo.env("MUSTER_BLESS", "1"),
    };
    execute(&mut cargo)
}
