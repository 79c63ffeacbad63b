//! PINs: they state whose act it is on a phone people share; they prove little, and nothing to a signature.

use std::collections::BTreeMap;

use muster_core::{
    calendar::Moment,
    record::{
        event::Signed,
        id::{DeviceId, PersonId},
        payload::Kind,
        rights,
    },
};

use super::{
    NotLet,
    password::{self, Cost},
    throttle::{Attempts, Tries},
};
use crate::{
    keeper::{Keeper, is_true},
    store::StoreError,
};

/// Fewest and most digits.
pub const DIGITS: std::ops::RangeInclusive<usize> = 4..=8;
/// How far a phone's clock may be off when it asks for the hashes, in seconds.
const CLOCK_OFF_S: i64 = 300;

/// Sets a person's PIN.
///
/// # Errors
/// [`NotLet::Field`] for anything but digits.
pub fn set(keeper: &Keeper, attempts: &Attempts, person: &PersonId, pin: &str) -> Result<(), NotLet> {
    if !DIGITS.contains(&pin.len()) || !pin.bytes().all(|byte| byte.is_ascii_digit()) {
        let what = format!("{} to {} digits are needed", DIGITS.start(), DIGITS.end());
        return Err(NotLet::Field { field: "pin", what });
    }
    let phc = password::hash(pin, Cost::PIN)?;
    let _turn = attempts.turn();
    keeper.store().put_setting(&kept_as(person), Some(&phc))?;
    Ok(keeper.store().put_setting(&tried_as(person), None)?)
}

/// Whether a person has set one.
///
/// # Errors
/// [`StoreError`] if the store cannot be read.
pub fn is_set(keeper: &Keeper, person: &PersonId) -> Result<bool, StoreError> {
    Ok(keeper.store().setting(&kept_as(person))?.is_some())
}

/// Forgets a person's PIN.
///
/// # Errors
/// [`StoreError`] if the store cannot be written.
pub fn remove(keeper: &Keeper, person: &PersonId) -> Result<(), StoreError> {
    keeper.store().put_setting(&kept_as(person), None)?;
    keeper.store().put_setting(&tried_as(person), None)
}

/// Checks a PIN here, where guesses are counted.
///
/// # Errors
/// [`NotLet::Wrong`], or [`NotLet::Wait`] after too many.
pub fn check(keeper: &Keeper, attempts: &Attempts, person: &PersonId, pin: &str, now: Moment) -> Result<(), NotLet> {
    let store = keeper.store();
    let phc = {
        let _turn = attempts.turn();
        let tries = tries(store.setting(&tried_as(person))?.as_deref());
        if let Some(wait) = tries.wait_s(now.timestamp()) {
            return Err(NotLet::Wait(wait));
        }
        let more = tries.with_one_more(now.timestamp());
        let until = more.blocked_until.map_or(0, jiff::Timestamp::as_second);
        let phc = store.setting(&kept_as(person))?.ok_or(NotLet::Wrong)?;
        store.put_setting(&tried_as(person), Some(&format!("{} {until}", more.failed)))?;
        phc
    };
    if !password::is_right(&phc, pin) {
        return Err(NotLet::Wrong);
    }
    Ok(store.put_setting(&tried_as(person), None)?)
}

/// The text a shared phone signs to be given the hashes.
#[must_use]
pub fn stated(device: DeviceId, at: Moment) -> String {
    format!("muster pins 1\ndevice {device}\nat {at}\n")
}

/// The PINs' hashes for a phone people share, so that it can ask for one where there is no signal: of people who let out
/// and take out of use, and for an enrolled phone that is nobody's own and proves its key. Whoever holds the phone's
/// storage can try all PINs against them.
///
/// # Errors
/// [`NotLet::NotProven`] for any other device.
pub fn hashes(
    keeper: &Keeper,
    device: DeviceId,
    (at, signature): (Moment, String),
    now: Moment,
) -> Result<BTreeMap<PersonId, String>, NotLet> {
    let state = keeper.known().state;
    let shared = state.devices.get(&device).filter(|of| of.person.is_none() && of.revoked.is_none());
    let key = shared.map(|of| of.key.as_str()).ok_or(NotLet::NotProven)?;
    let signed = Signed { event: stated(device, at), signature };
    if now.seconds_since(at).abs() > CLOCK_OFF_S || !is_true(&signed, key) {
        return Err(NotLet::NotProven);
    }
    let signs = |person: &&PersonId| {
        let role = state.standing(person).map(|of| of.role);
        role.is_ok_and(|role| [Kind::Released, Kind::Tagged].iter().any(|kind| rights::may_write(role, *kind)))
    };
    let mut hashes = BTreeMap::new();
    for person in state.people.keys().filter(signs) {
        if let Some(phc) = keeper.store().setting(&kept_as(person))? {
            hashes.insert(person.clone(), phc);
        }
    }
    Ok(hashes)
}

fn kept_as(person: &PersonId) -> String {
    format!("pin of {person}")
}

fn tried_as(person: &PersonId) -> String {
    format!("pin tried of {person}")
}

fn tries(kept: Option<&str>) -> Tries {
    let read = || {
        let (failed, until) = kept?.split_once(' ')?;
        let until: i64 = until.parse().ok()?;
        let blocked_until = if until == 0 { None } else { jiff::Timestamp::from_second(until).ok() };
        Some(Tries { failed: failed.parse().ok()?, blocked_until })
    };
    read().unwrap_or_default()
}
