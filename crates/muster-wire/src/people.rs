//! People, sessions, passwords, PINs and riders' feedback as JSON.

use std::{collections::BTreeMap, str::FromStr};

use muster_core::{
    calendar::Moment,
    record::{
        id::{DeviceId, PersonId},
        payload::{Right, Role},
        yard_state::PersonState,
    },
};
use serde::{Deserialize, Serialize};

use crate::command::NotAsked;

/// Who signs in.
#[derive(Deserialize, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct SignIn {
    /// The person's name, or their id.
    pub person: String,
    /// The password.
    pub password: String,
}

/// Who is signed in now.
#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct SignedIn {
    /// The person.
    pub person: String,
    /// For `Authorization: Bearer`; a browser has a cookie instead and is told none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub token: Option<String>,
}

/// Who is signed in.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Me {
    /// The person.
    pub person: String,
    /// The role.
    pub role: String,
    /// Rights beyond the role's.
    pub rights: Vec<String>,
    /// Whether this is the demonstration.
    pub demonstration: bool,
    /// Whether they have set a PIN.
    pub has_pin: bool,
    /// Whether the server prints paper.
    #[serde(default)]
    pub prints: bool,
    /// The server's time, ISO 8601 with offset: a phone learns from it how wrong its clock is.
    pub now: String,
}

/// The first owner.
#[derive(Deserialize, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct FirstOwner {
    /// The code of the link shown on the terminal.
    pub code: String,
    /// Their name.
    pub name: String,
    /// Their password.
    pub password: String,
}

/// A password set by a link.
#[derive(Deserialize, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct NewPassword {
    /// The link's code.
    pub code: String,
    /// The password.
    pub password: String,
}

/// A password asked for: one's own from the one before; for somebody else both stay empty and a link is answered.
#[derive(Deserialize, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct PasswordAsked {
    /// The one before.
    #[serde(default)]
    pub current: String,
    /// The new one.
    #[serde(default)]
    pub password: String,
}

/// A link that works once.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Link {
    /// The link; behind `#` is the code, which browsers send to nobody.
    pub link: String,
    /// The same as a QR code in SVG; none if it is too long for one.
    pub svg: Option<String>,
    /// Seconds it works.
    pub lasts_s: i64,
}

/// A person.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PersonView {
    /// Their id.
    pub person: String,
    /// Their name, or what stands in its place.
    pub name: String,
    /// What they do here.
    pub role: Option<String>,
    /// Rights beyond the role's.
    pub rights: Vec<String>,
    /// Whether they may act.
    pub active: bool,
    /// Whether they were erased.
    pub erased: bool,
}

/// A person to add.
#[derive(Debug, Deserialize, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct AddPerson {
    /// Their name.
    pub name: String,
    /// owner, workshop, instructor, rider or auditor.
    pub role: String,
    /// Rights beyond the role's.
    #[serde(default)]
    pub rights: Vec<String>,
}

/// The person added.
#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Added {
    /// Their id.
    pub person: String,
}

/// What of a person changes; what is left out stays.
#[derive(Debug, Default, Deserialize, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct ChangePerson {
    /// Their name.
    pub name: Option<String>,
    /// owner, workshop, instructor, rider or auditor.
    pub role: Option<String>,
    /// Rights beyond the role's.
    pub rights: Option<Vec<String>>,
    /// Whether they may act.
    pub active: Option<bool>,
}

/// Why, in a few words that name nobody.
#[derive(Debug, Deserialize, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::IntoParams))]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", into_params(parameter_in = Query))]
pub struct Why {
    /// Why.
    pub why: String,
}

/// A PIN.
#[derive(Deserialize, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct Pin {
    /// 4 to 8 digits.
    pub pin: String,
}

/// A PIN to check.
#[derive(Deserialize, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct PinGuess {
    /// The digits.
    pub pin: String,
}

/// A shared phone that asks for the PINs' hashes.
#[derive(Debug, Deserialize, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct PinsAsked {
    /// The device.
    pub device: String,
    /// Its time, within five minutes of the server's.
    pub at: String,
    /// Its signature over `muster pins 1`, `device …`, `at …`, each ended by a line feed.
    pub signature: String,
}

/// The PINs' hashes.
#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PinHashes {
    /// PHC strings (Argon2id) by person.
    pub people: BTreeMap<String, String>,
}

/// What a code on a machine is about.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct FeedbackAbout {
    /// Fleet number.
    pub machine: String,
    /// The yard.
    pub yard: String,
    /// The most characters taken.
    pub most_characters: usize,
    /// What to keep out of the text.
    pub please: String,
}

/// A machine's code, newly drawn.
#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct FeedbackCode {
    /// Fleet number.
    pub machine: String,
    /// The code.
    pub code: String,
    /// The link to print, by the address this was asked at.
    pub link: String,
    /// The same as a QR code in SVG; none if it is too long for one.
    pub svg: Option<String>,
}

/// What a rider noticed.
#[derive(Debug, Deserialize, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct Feedback {
    /// At most 500 characters, without anybody's name.
    pub text: String,
}

impl PersonView {
    /// A person's view.
    #[must_use]
    pub fn of(person: &PersonId, of: &PersonState, name: Option<&String>) -> Self {
        let standing = of.standing();
        Self {
            person: person.to_string(),
            name: name.cloned().unwrap_or_default(),
            role: standing.map(|standing| standing.role.to_string()),
            rights: standing.into_iter().flat_map(|of| &of.rights).map(ToString::to_string).collect(),
            active: standing.is_some_and(|standing| standing.active),
            erased: of.erased,
        }
    }
}

impl AddPerson {
    /// Their role and the rights beyond it.
    ///
    /// # Errors
    /// [`NotAsked`] for a role or a right there is not.
    pub fn standing(&self) -> Result<(Role, Vec<Right>), NotAsked> {
        let rights = self.rights.iter().map(|right| parsed("rights", right)).collect::<Result<_, _>>()?;
        Ok((parsed("role", &self.role)?, rights))
    }
}

impl ChangePerson {
    /// The role and the rights they are given.
    ///
    /// # Errors
    /// [`NotAsked`] for a role or a right there is not.
    pub fn standing(&self) -> Result<(Option<Role>, Option<Vec<Right>>), NotAsked> {
        let role = self.role.as_ref().map(|role| parsed("role", role)).transpose()?;
        let list = |rights: &Vec<String>| rights.iter().map(|right| parsed("rights", right)).collect();
        Ok((role, self.rights.as_ref().map(list).transpose()?))
    }
}

impl PinsAsked {
    /// The device, its time, its signature.
    ///
    /// # Errors
    /// [`NotAsked`] for what is no device or no moment.
    pub fn read(self) -> Result<(DeviceId, Moment, String), NotAsked> {
        let at = Moment::parse(&self.at).map_err(|error| NotAsked::new("at", error.to_string()))?;
        Ok((parsed("device", &self.device)?, at, self.signature))
    }
}

/// Reads a word of a field.
///
/// # Errors
/// [`NotAsked`] with what is allowed.
pub fn parsed<T: FromStr<Err: std::fmt::Display>>(field: &'static str, text: &str) -> Result<T, NotAsked> {
    text.parse().map_err(|error: T::Err| NotAsked::new(field, error.to_string()))
}
