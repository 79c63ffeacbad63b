//! `cargo xtask evidence`: every outside value beside what the formulas gave, as docs/evidence.md.

use crate::workspace::{Workspace, execute};

/// Writes the table, or with `check` fails where it is stale.
pub(crate) fn write(workspace: &Workspace, check: bool) -> anyhow::Result<()> {
    let mut cargo =
        workspace.cargo(&["test", "--quiet", "--package", "muster-core", "--test", "main", "--", "evidence::table"]);
    match check {
        true => cargo.env_remove("MUSTER_BLESS"),
        false => cargo.env("MUSTER_BLESS", "1"),
    };
    execute(&mut cargo)
}
