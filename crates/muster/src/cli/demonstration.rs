//! The demonstration's record: fourteen months of its school, told anew from their seed at each start.

use std::path::Path;

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
    let history = History::demo()?;
    history.write_into(&SqliteStore::open(folder)?)?;
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
