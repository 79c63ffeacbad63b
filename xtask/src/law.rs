//! `cargo xtask law`: every law pack as a page of docs/law.

use crate::{evidence::written_by, workspace::Workspace};

/// Writes the pages, or with `check` fails where one is stale.
pub(crate) fn write(workspace: &Workspace, check: bool) -> anyhow::Result<()> {
    written_by(workspace, "packs::pages", check)
}
