//! The demonstration's record: its yard and an owner, made anew at each start.

use anyhow::Result;
use muster::keeper::{Opened, hex, random, taken};
use muster_core::{
    calendar::Moment,
    record::{
        id::PersonId,
        payload::{DeviceAdded, PersonAdded, Right, Role},
        private::{PersonKey, Private},
    },
};

use super::{embedded, site::now};

/// Begins the demonstration's record; returns the person everybody acts as, and the moment its clock begins at.
///
/// # Errors
/// A store that cannot be written.
pub(crate) fn begin(opened: &Opened) -> Result<(PersonId, Moment)> {
    let keeper = &opened.keeper;
    let person: PersonId = "p-demo".parse()?;
    let name = Private::seal("The demonstration's owner", &person, "name", &PersonKey::new(random()?), random()?)?;
    let rights = Right::ALL.to_vec();
    let added = PersonAdded { person: person.clone(), name, role: Role::Owner, rights };
    let device = DeviceAdded {
        device: keeper.here(),
        key: hex(&keeper.public_key()),
        label: "this machine".into(),
        person: None,
    };
    let files: Vec<(String, String)> =
        embedded::DEMO.iter().map(|(name, text)| ((*name).to_string(), (*text).to_string())).collect();
    let mut payloads = vec![added.into(), device.into()];
    payloads.extend(taken(&files)?);
    keeper.begin(payloads, &person, now())?;
    let on = keeper.known().yard.on.unwrap_or_else(now);
    Ok((person, on))
}
