//! Devices: enrolled by a code that is used once and a key that is proven to be held, revoked when lost.

use muster_core::{
    calendar::Moment,
    record::{
        decide::{Command, Refusal},
        event::Signed,
        id::{DeviceId, PersonId},
        payload::{DeviceAdded, DeviceRevoked, Kind},
        rights,
    },
};

use super::{
    NotLet,
    code::{self, Purpose},
};
use crate::keeper::{Keeper, NotDone, is_true, unhex};

/// What a device sends to be enrolled.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Enrolment {
    /// The code it was shown.
    pub code: String,
    /// Its Ed25519 public key, 64 hexadecimal digits.
    pub key: String,
    /// What people call it.
    pub label: String,
    /// Its signature over [`stated`], 128 hexadecimal digits: it holds the key.
    pub signature: String,
}

/// The text a device signs to be enrolled.
#[must_use]
pub fn stated(code: &str, key: &str, label: &str) -> String {
    format!("muster enrolment 1\ncode {code}\nkey {key}\nlabel {label}\n")
}

/// Draws a code for a device: of a person, or without one for a device people share. The word of whoever draws it counts
/// when it is used: who may not write devices draws none.
///
/// # Errors
/// [`NotLet`] if the core does not let them, or there is no such person.
pub fn draw(keeper: &Keeper, person: Option<&PersonId>, by: &PersonId, now: Moment) -> Result<String, NotLet> {
    let state = keeper.known().state;
    let role = state.standing(by).map_err(|aside| NotDone::from(Refusal::Person(aside)))?.role;
    if !rights::may_write(role, Kind::DeviceAdded) {
        return Err(NotDone::from(Refusal::NoRight { role, kind: Kind::DeviceAdded }).into());
    }
    match person {
        Some(person) if state.standing(person).is_err() => Err(NotLet::Nobody(person.to_string())),
        Some(person) => code::draw(keeper, &Purpose::OwnDevice(by.clone()), person, now),
        None => code::draw(keeper, &Purpose::SharedDevice(by.clone()), by, now),
    }
}

/// Enrols a device.
///
/// # Errors
/// [`NotLet::NotProven`] for a key it does not hold, before the code is touched; [`NotLet::NoCode`].
pub fn enrol(keeper: &Keeper, of: &Enrolment, now: Moment) -> Result<DeviceId, NotLet> {
    let signed = Signed { event: stated(&of.code, &of.key, &of.label), signature: of.signature.clone() };
    let device = unhex::<32>(&of.key).map(|key| DeviceId::of_key(&key)).ok_or(NotLet::NotProven)?;
    if !is_true(&signed, &of.key) {
        return Err(NotLet::NotProven);
    }
    let (person, by) = whose(keeper, &of.code, now)?;
    let added = DeviceAdded { device, key: of.key.clone(), label: of.label.clone(), person };
    keeper.act(Command::Write(added.into()), &by, now)?;
    Ok(device)
}

/// Revokes a device: what is held of it now counts, what comes later is kept and not trusted. Its person signs in again;
/// a device people share may hold anybody's session, so with it everybody does.
///
/// # Errors
/// [`NotLet`] if the record refuses, or it is the server's own.
pub fn revoke(keeper: &Keeper, device: DeviceId, why: String, by: &PersonId, now: Moment) -> Result<(), NotLet> {
    if device == keeper.here() {
        return Err(NotLet::OwnDevice);
    }
    let last = keeper.store().heads()?.of(device);
    keeper.act(Command::Write(DeviceRevoked { device, last, why }.into()), by, now)?;
    let state = keeper.known().state;
    match state.devices.get(&device).and_then(|of| of.person.as_ref()) {
        Some(person) => _ = keeper.store().end_sessions(person)?,
        None => {
            for person in state.people.keys() {
                keeper.store().end_sessions(person)?;
            }
        }
    }
    Ok(())
}

/// Whose device a code enrols, and on whose word: one of those who may write devices.
fn whose(keeper: &Keeper, code: &str, now: Moment) -> Result<(Option<PersonId>, PersonId), NotLet> {
    let state = keeper.known().state;
    for by in state.people.keys() {
        let may = |by| state.standing(by).is_ok_and(|of| rights::may_write(of.role, Kind::DeviceAdded));
        if !may(by) {
            continue;
        }
        for purpose in [Purpose::OwnDevice(by.clone()), Purpose::SharedDevice(by.clone())] {
            match code::take(keeper, &purpose, code, now) {
                Ok(person) => {
                    let own = matches!(purpose, Purpose::OwnDevice(_));
                    return Ok((own.then_some(person), by.clone()));
                }
                Err(NotLet::NoCode) => {}
                Err(other) => return Err(other),
            }
        }
    }
    Err(NotLet::NoCode)
}
