//! People's names: sealed under a key of each person's own, opened for those who may see them, gone with the key.

use std::collections::BTreeMap;

use muster_core::{
    calendar::Moment,
    record::{
        decide::Command,
        id::PersonId,
        payload::{PersonAdded, PersonChanged, Right, Role},
        private::{PersonKey, Private},
    },
};

use super::{NotLet, pin};
use crate::{
    keeper::{Keeper, hex, random},
    store::StoreError,
};

/// What is shown in place of a name whose key is destroyed.
pub const ERASED: &str = "erased person";
/// What is shown where a key is not here: another installation's store has it.
pub const SEALED: &str = "name not held here";
/// The field a name is sealed for.
const FIELD: &str = "name";
/// The longest name, in characters.
const MAX_CHARS: usize = 100;

/// A person to add.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fresh {
    /// Their name.
    pub name: String,
    /// What they do here.
    pub role: Role,
    /// Rights beyond the role's.
    pub rights: Vec<Right>,
}

/// What of a person changes; what is none stays.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Change {
    /// Their name.
    pub name: Option<String>,
    /// What they do here.
    pub role: Option<Role>,
    /// Rights beyond the role's.
    pub rights: Option<Vec<Right>>,
    /// Whether they may act at all.
    pub active: Option<bool>,
}

/// Every person's name, or what stands in its place.
///
/// # Errors
/// [`StoreError`] if the keys cannot be read.
pub fn all(keeper: &Keeper) -> Result<BTreeMap<PersonId, String>, StoreError> {
    let keys: BTreeMap<PersonId, PersonKey> = keeper.store().keys()?.into_iter().collect();
    let state = keeper.known().state;
    let shown = |(person, of): (&PersonId, &muster_core::record::yard_state::PersonState)| {
        let opened = || of.name.open(FIELD, keys.get(person)?).ok();
        let name = match of.erased {
            true => ERASED.to_string(),
            false => opened().unwrap_or_else(|| SEALED.to_string()),
        };
        (person.clone(), name)
    };
    Ok(state.people.iter().map(shown).collect())
}

/// The person of an id, or else the only active one of a name, upper and lower case alike.
///
/// # Errors
/// [`StoreError`] if the keys cannot be read.
pub fn find(keeper: &Keeper, text: &str) -> Result<Option<PersonId>, StoreError> {
    let state = keeper.known().state;
    let text = text.trim();
    if let Some(person) = text.parse().ok().filter(|person| state.people.contains_key(person)) {
        return Ok(Some(person));
    }
    let wanted = text.to_lowercase();
    let is = |(person, name): &(PersonId, String)| name.to_lowercase() == wanted && state.standing(person).is_ok();
    let mut found = all(keeper)?.into_iter().filter(is);
    let first = found.next();
    Ok(if found.next().is_some() { None } else { first.map(|(person, _)| person) })
}

/// Draws a person's id: it says nothing of them.
///
/// # Errors
/// [`NotLet::Random`] without random bytes.
pub fn fresh_id() -> Result<PersonId, NotLet> {
    let id = format!("p-{}", hex(&random::<5>()?));
    id.parse().map_err(|_| NotLet::Nobody(id))
}

/// Draws a person's key, keeps it, and seals their name under it.
///
/// # Errors
/// [`NotLet`] for a name that is empty or too long, or a key that cannot be kept.
pub fn sealed_anew(keeper: &Keeper, person: &PersonId, name: &str) -> Result<Private, NotLet> {
    let name = fit(name)?;
    let key = PersonKey::new(random()?);
    let sealed = Private::seal(name, person, FIELD, &key, random()?)?;
    keeper.store().put_key(person, &key)?;
    Ok(sealed)
}

/// Adds a person under a fresh id and a fresh key.
///
/// # Errors
/// [`NotLet`] if somebody active has that name, or the record refuses; no key is left then.
pub fn add(keeper: &Keeper, fresh: Fresh, by: &PersonId, now: Moment) -> Result<PersonId, NotLet> {
    untaken(keeper, fit(&fresh.name)?, None)?;
    let person = fresh_id()?;
    add_as(keeper, &person, fresh, by, now)?;
    Ok(person)
}

/// Adds a person under a given id and a fresh key.
///
/// # Errors
/// As for [`add`].
pub fn add_as(keeper: &Keeper, person: &PersonId, fresh: Fresh, by: &PersonId, now: Moment) -> Result<(), NotLet> {
    // The key first: a name whose key was lost between the two could never be read.
    let name = sealed_anew(keeper, person, &fresh.name)?;
    let added = PersonAdded { person: person.clone(), name, role: fresh.role, rights: fresh.rights };
    if let Err(refused) = keeper.act(Command::Write(added.into()), by, now) {
        keeper.store().destroy_key(person)?;
        return Err(refused.into());
    }
    Ok(())
}

/// Changes a person. Who may not act any more is signed out.
///
/// # Errors
/// [`NotLet`] if there is no such person, the name is taken, or the record refuses.
pub fn change(keeper: &Keeper, person: &PersonId, change: Change, by: &PersonId, now: Moment) -> Result<(), NotLet> {
    let state = keeper.known().state;
    let nobody = || NotLet::Nobody(person.to_string());
    let standing = state.people.get(person).and_then(|of| of.standing()).ok_or_else(nobody)?;
    let name = match (change.name, keeper.store().key(person)?) {
        (None, _) => None,
        (Some(name), Some(key)) => {
            let name = fit(&name)?;
            untaken(keeper, name, Some(person))?;
            Some(Private::seal(name, person, FIELD, &key, random()?)?)
        }
        (Some(_), None) => {
            return Err(NotLet::Field { field: "name", what: "the person's key is not here: add them anew".into() });
        }
    };
    let active = change.active.unwrap_or(standing.active);
    let changed = PersonChanged {
        person: person.clone(),
        name,
        role: change.role.unwrap_or(standing.role),
        rights: change.rights.unwrap_or_else(|| standing.rights.iter().copied().collect()),
        active,
    };
    keeper.act(Command::Write(changed.into()), by, now)?;
    if !active {
        keeper.store().end_sessions(person)?;
    }
    Ok(())
}

/// Erases a person: written down first, then the key, the account, the sessions, the PIN go.
///
/// # Errors
/// [`NotLet`] if the record refuses (an impounded machine's record speaks of them, the last owner), or the key is
/// deleted and not yet wiped: [`sweep`] goes on with that.
pub fn erase(keeper: &Keeper, person: &PersonId, why: String, by: &PersonId, now: Moment) -> Result<(), NotLet> {
    keeper.act(Command::Erase { person: person.clone(), why }, by, now)?;
    forget(keeper, person)?;
    Ok(())
}

/// Destroys what an erasure left because it was interrupted.
///
/// # Errors
/// [`StoreError`] if the store cannot be written.
pub fn sweep(keeper: &Keeper) -> Result<(), StoreError> {
    let state = keeper.known().state;
    for (person, _) in keeper.store().keys()? {
        if state.people.get(&person).is_some_and(|of| of.erased) {
            forget(keeper, &person)?;
        }
    }
    Ok(())
}

fn forget(keeper: &Keeper, person: &PersonId) -> Result<(), StoreError> {
    keeper.store().remove_account(person)?;
    pin::remove(keeper, person)?;
    keeper.store().destroy_key(person)?;
    Ok(())
}

fn fit(name: &str) -> Result<&str, NotLet> {
    let name = name.trim();
    let plain = !name.is_empty() && name.chars().count() <= MAX_CHARS && !name.chars().any(char::is_control);
    let what = || format!("1 to {MAX_CHARS} characters on one line are needed");
    if plain { Ok(name) } else { Err(NotLet::Field { field: "name", what: what() }) }
}

/// People sign in by their name, so no two who may act have the same.
fn untaken(keeper: &Keeper, name: &str, but: Option<&PersonId>) -> Result<(), NotLet> {
    let state = keeper.known().state;
    let wanted = name.to_lowercase();
    let is = |(person, name): &(PersonId, String)| {
        Some(person) != but && name.to_lowercase() == wanted && state.standing(person).is_ok()
    };
    match all(keeper)?.into_iter().any(|of| is(&of)) {
        true => Err(NotLet::Field { field: "name", what: "somebody here has it: add what tells them apart".into() }),
        false => Ok(()),
    }
}
