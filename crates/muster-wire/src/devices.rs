//! Devices as JSON.

use muster_core::record::{
    id::{DeviceId, PersonId},
    yard_state::DeviceState,
};
use serde::{Deserialize, Serialize};

use crate::{command::NotAsked, people::parsed};

/// A device.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct DeviceView {
    /// Its id.
    pub device: String,
    /// What people call it.
    pub label: String,
    /// Whose it is, if it is one person's.
    pub person: Option<String>,
    /// How many of its events are held here.
    pub held: u64,
    /// The last of its events that counts, if it was revoked.
    pub revoked: Option<u64>,
    /// Whether it is the server's own.
    pub own: bool,
}

/// For whom a device is to be enrolled.
#[derive(Debug, Clone, Default, Deserialize, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct CodeAsked {
    /// Whose it will be; none: a device people share.
    #[serde(default)]
    pub person: Option<String>,
}

/// A device that wants in.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct Enrol {
    /// The code it was shown.
    pub code: String,
    /// Its Ed25519 public key, 64 hexadecimal digits.
    pub key: String,
    /// What people call it, in words that name nobody.
    pub label: String,
    /// Its signature over `muster enrolment 1`, `code …`, `key …`, `label …`, each ended by a line feed.
    pub signature: String,
}

/// The device enrolled.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Enrolled {
    /// Its id.
    pub device: String,
}

impl DeviceView {
    /// A device's view.
    #[must_use]
    pub fn of(id: DeviceId, of: &DeviceState, held: u64, own: bool) -> Self {
        Self {
            device: id.to_string(),
            label: of.label.clone(),
            person: of.person.as_ref().map(ToString::to_string),
            held,
            revoked: of.revoked,
            own,
        }
    }
}

impl CodeAsked {
    /// Whose.
    ///
    /// # Errors
    /// [`NotAsked`] for what is no person.
    pub fn read(self) -> Result<Option<PersonId>, NotAsked> {
        self.person.map(|person| parsed("person", &person)).transpose()
    }
}
