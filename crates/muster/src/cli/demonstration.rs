//! The demonstration's record: fourteen months of its school, told anew from their seed at each start.

use std::{fs, path::Path};

use anyhow::{Context as _, Result};
use muster::{history::History, keeper::Opened, store::sqlite::SqliteStore};
use muster_core::{
    calendar::Moment,
    record::{id::PersonId, payload::Role},
    yard::Yard,
};

use super::{embedded, site::now};

/// The demonstration's record.
pub(crate) struct Demonstration {
    /// It, open.
    pub(crate) opened: Opened,
    /// The person everybody acts as: its owner.
    pub(crate) person: PersonId,
    /// The moment its clock begins at.
    pub(crate) on: Moment,
}

/// Tells the demonstration's record into a folder.
///
/// # Errors
/// A store that cannot be written.
pub(crate) fn begin(folder: &Path) -> Result<Demonstration> {
    tell(folder)?;
    open(folder)
}

/// As [`begin`], but told once: into `kept`, and copied from there whenever it is there already.
///
/// # Errors
/// A store that cannot be written, or one that cannot be copied.
pub(crate) fn begin_from(kept: &Path, folder: &Path) -> Result<Demonstration> {
    if !kept.is_dir() {
        let parent = kept.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
        fs::create_dir_all(parent).with_context(|| format!("cannot make {}", parent.display()))?;
        let half = tempfile::tempdir_in(parent).with_context(|| format!("cannot write in {}", parent.display()))?;
        tell(half.path())?;
        // Whoever told it at the same time was first: theirs is as good.
        if let Err(error) = fs::rename(half.path(), kept)
            && !kept.is_dir()
        {
            return Err(error).with_context(|| format!("cannot keep the story as {}", kept.display()));
        }
    }
    for entry in fs::read_dir(kept).with_context(|| format!("cannot read {}", kept.display()))? {
        let from = entry?.path();
        let to = folder.join(from.file_name().unwrap_or_default());
        fs::copy(&from, to).with_context(|| format!("cannot copy {}", from.display()))?;
    }
    open(folder)
}

fn tell(folder: &Path) -> Result<()> {
    let history = History::demo()?;
    history.write_into(&SqliteStore::open(folder)?)?;
    Ok(())
}

fn open(folder: &Path) -> Result<Demonstration> {
    let opened = Opened::existing(folder)?;
    let known = opened.keeper.known();
    let owns = |role: Option<Role>| role == Some(Role::Owner);
    let mut owners = known.state.people.iter().filter(|(_, of)| owns(of.standing().map(|of| of.role)));
    let person = owners.next().map(|(id, _)| id.clone()).context("the demonstration has no owner")?;
    // The record is a real yard's, with a clock of its own; when the demonstration is judged stands in its folder.
    let (yard, _) = Yard::load(embedded::DEMO, opened.keeper.catalogue());
    let on = yard.on.unwrap_or_else(now);
    Ok(Demonstration { opened, person, on })
}
