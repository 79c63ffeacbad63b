//! Codes that open one door once: drawn at random, shown once, kept as their hash.

use muster_core::{calendar::Moment, record::id::PersonId};
use sha2::{Digest, Sha256};

use super::NotLet;
use crate::{
    keeper::{Keeper, hex, random},
    store::{Code, CodeHash},
};

/// What a code opens.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Purpose {
    /// A device of a person's own, on this person's word.
    OwnDevice(PersonId),
    /// A device people share, on this person's word.
    SharedDevice(PersonId),
    /// A new password for oneself.
    Password,
    /// The first owner of a record that has none.
    FirstOwner,
}

impl Purpose {
    /// How long it stays open, in seconds.
    #[must_use]
    pub const fn lasts_s(&self) -> i64 {
        match self {
            Self::OwnDevice(_) | Self::SharedDevice(_) => 10 * 60,
            Self::FirstOwner => 3600,
            Self::Password => 24 * 3600,
        }
    }

    /// A code is of one purpose: hashed with it, it opens no other door.
    fn hashed(&self, code: &str) -> CodeHash {
        let (what, by) = match self {
            Self::OwnDevice(by) => ("own device", by.as_str()),
            Self::SharedDevice(by) => ("shared device", by.as_str()),
            Self::Password => ("password", ""),
            Self::FirstOwner => ("first owner", ""),
        };
        CodeHash(Sha256::digest(format!("{what}\n{by}\n{code}").as_bytes()).into())
    }
}

/// Draws a code of 128 random bits for a person.
///
/// # Errors
/// [`NotLet`] without random bytes, or if it cannot be kept.
pub fn draw(keeper: &Keeper, purpose: &Purpose, person: &PersonId, now: Moment) -> Result<String, NotLet> {
    let code = hex(&random::<16>()?);
    let expires = now.later_by(purpose.lasts_s()).timestamp();
    keeper.store().put_code(purpose.hashed(&code), &Code { person: person.clone(), expires, used: None })?;
    Ok(code)
}

/// Uses a code up, and tells whose it is.
///
/// # Errors
/// [`NotLet::NoCode`] if it was used, is too old, is for another purpose or never was.
pub fn take(keeper: &Keeper, purpose: &Purpose, code: &str, now: Moment) -> Result<PersonId, NotLet> {
    let found = keeper.store().use_code(purpose.hashed(code), now.timestamp())?;
    found.map(|code| code.person).ok_or(NotLet::NoCode)
}
