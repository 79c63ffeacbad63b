//! People at the door: sessions, passwords, devices to enrol, the first owner, names and their erasure.

pub mod account;
pub mod calendar;
pub mod code;
pub mod enrol;
pub mod feedback;
pub mod first;
pub mod names;
pub mod password;
pub mod pin;
pub mod qr;
pub mod retention;
pub mod session;
pub mod throttle;

use muster_core::{calendar::Moment, record::private::TooLong};

use crate::{
    keeper::{Keeper, NotDone, NotOpened},
    store::{StoreError, photos::PhotoError},
};

/// Why somebody is not let in, or what they asked at the door is not done; each with the remedy.
#[derive(Debug, thiserror::Error)]
pub enum NotLet {
    /// Not the password, or nobody: the same words for both.
    #[error("this person and this password do not go together: try again")]
    Wrong,
    /// Too many attempts.
    #[error("too many attempts: wait {0} s, then try again")]
    Wait(i64),
    /// No such code, or not any more.
    #[error("this code is not valid: it was used, is too old, or never was; ask for another")]
    NoCode,
    /// A key that the device does not hold.
    #[error("the signature is not that key's over the enrolment's text: enrol with the key the device holds")]
    NotProven,
    /// Somebody is there already.
    #[error("this record has its first owner already: sign in")]
    Begun,
    /// No such person.
    #[error("no person `{0}` here")]
    Nobody(String),
    /// No such machine.
    #[error("no machine `{0}` in this yard: look at its fleet number")]
    NoMachine(String),
    /// No such address of the calendar.
    #[error("no calendar address `{0}` of yours here: look at the list")]
    NoCalendar(String),
    /// A field that cannot be taken.
    #[error("{field}: {what}")]
    Field {
        /// Which.
        field: &'static str,
        /// What is wrong and what to write.
        what: String,
    },
    /// This installation's own device.
    #[error("this is the device the server itself writes by: it is not revoked here")]
    OwnDevice,
    /// The photos' folder.
    #[error(transparent)]
    Photo(#[from] PhotoError),
    /// The record refuses it, or cannot take it.
    #[error(transparent)]
    NotDone(#[from] NotDone),
    /// The store cannot take it.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// No random bytes.
    #[error(transparent)]
    Random(#[from] NotOpened),
    /// A password cannot be hashed.
    #[error("the password cannot be hashed: {0}")]
    Hash(String),
}

impl From<TooLong> for NotLet {
    fn from(error: TooLong) -> Self {
        Self::Field { field: "name", what: error.to_string() }
    }
}

/// How long acts are remembered that somebody may do only so often, in seconds.
const REMEMBERED_S: i64 = 24 * 3600;

/// Forgets what is over: sessions, codes, acts counted; and destroys keys an erasure left, where it was interrupted.
///
/// # Errors
/// [`StoreError`] if the store cannot be written.
pub fn tidy(keeper: &Keeper, now: Moment) -> Result<(), StoreError> {
    keeper.store().prune(now.later_by(-REMEMBERED_S).timestamp())?;
    names::sweep(keeper)
}
