//! The first run: nobody is there yet, so the first owner is made, on the terminal or by a link used once.

use std::io;

use muster_core::{
    calendar::Moment,
    record::{
        id::PersonId,
        payload::{DeviceAdded, Payload, PersonAdded, Right, Role},
    },
};

use super::{
    NotLet, account,
    code::{self, Purpose},
    feedback, names, password,
    throttle::Attempts,
};
use crate::keeper::{Keeper, hex};

/// Name and password of the first owner.
#[derive(Clone, PartialEq, Eq)]
pub struct Owner {
    /// Their name.
    pub name: String,
    /// Their password.
    pub password: String,
}

/// Whether the record has nobody yet.
#[must_use]
pub fn is_needed(keeper: &Keeper) -> bool {
    keeper.known().state.people.is_empty()
}

/// Makes the first owner, this installation's device, and the person that riders' feedback is written by.
///
/// # Errors
/// [`NotLet::Begun`] if somebody is there; [`NotLet::Field`] for a name or a password that will not do.
pub fn begin(keeper: &Keeper, attempts: &Attempts, owner: &Owner, now: Moment) -> Result<PersonId, NotLet> {
    password::fit(&owner.password)?;
    // Of two who begin at once the second finds somebody there.
    let turn = attempts.turn();
    if !is_needed(keeper) {
        return Err(NotLet::Begun);
    }
    let person = names::fresh_id()?;
    let name = names::sealed_anew(keeper, &person, &owner.name)?;
    let rights = Right::ALL.to_vec();
    let mut payloads: Vec<Payload> =
        vec![PersonAdded { person: person.clone(), name, role: Role::Owner, rights }.into(), here(keeper).into()];
    // A key kept before and not used: its person was never written down.
    let riders = feedback::person();
    keeper.store().destroy_key(&riders)?;
    let name = names::sealed_anew(keeper, &riders, feedback::NAME)?;
    payloads.push(PersonAdded { person: riders, name, role: Role::Rider, rights: Vec::new() }.into());
    keeper.begin(payloads, &person, now)?;
    drop(turn);
    account::set(keeper, attempts, &person, &owner.password)?;
    Ok(person)
}

/// Draws the code of a link that makes the first owner, for the terminal alone to show.
///
/// # Errors
/// [`NotLet::Begun`] if somebody is there.
pub fn draw(keeper: &Keeper, now: Moment) -> Result<String, NotLet> {
    if !is_needed(keeper) {
        return Err(NotLet::Begun);
    }
    code::draw(keeper, &Purpose::FirstOwner, &names::fresh_id()?, now)
}

/// What the terminal shows where the record has nobody yet; `base` is the address people reach the server by.
///
/// # Errors
/// [`NotLet`] if no code can be drawn or kept.
pub fn invitation(keeper: &Keeper, base: &str, now: Moment) -> Result<Option<String>, NotLet> {
    match draw(keeper, now) {
        Ok(code) => Ok(Some(format!(
            "nobody is here yet: {base}/first#{code} makes the first owner; it works once, within {} min",
            Purpose::FirstOwner.lasts_s() / 60
        ))),
        Err(NotLet::Begun) => Ok(None),
        Err(other) => Err(other),
    }
}

/// Makes the first owner by that code.
///
/// # Errors
/// As for [`begin`], and [`NotLet::NoCode`].
pub fn begin_by_code(
    keeper: &Keeper,
    attempts: &Attempts,
    code: &str,
    owner: &Owner,
    now: Moment,
) -> Result<PersonId, NotLet> {
    password::fit(&owner.password)?;
    code::take(keeper, &Purpose::FirstOwner, code, now)?;
    begin(keeper, attempts, owner, now)
}

/// Asks for the first owner's name and, twice and unseen, password. `ask` shows a prompt and reads a line; it is told
/// whether the line must not be seen.
///
/// # Errors
/// What the terminal says.
pub fn ask(mut ask: impl FnMut(&str, bool) -> io::Result<String>) -> io::Result<Owner> {
    let mut name = String::new();
    while name.is_empty() {
        name = ask("Your name: ", false)?.trim().to_string();
    }
    let mut prompt = format!("Password, at least {} characters: ", password::MIN_CHARS);
    loop {
        let password = ask(&prompt, true)?;
        prompt = match password::fit(&password) {
            Err(why) => format!("{why}\nPassword: "),
            Ok(()) if ask("The same again: ", true)? == password => return Ok(Owner { name, password }),
            Ok(()) => "The two differ.\nPassword: ".into(),
        };
    }
}

fn here(keeper: &Keeper) -> DeviceAdded {
    let (device, key) = (keeper.here(), hex(&keeper.public_key()));
    DeviceAdded { device, key, label: "the server".into(), person: None }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_short_password_and_a_slip_are_asked_again() {
        let mut lines =
            ["", "Wilma Nowhere", "short", "a long phrase", "a wrong phrase", "a long phrase", "a long phrase"]
                .into_iter();
        let mut hidden = Vec::new();
        let owner = ask(|_, unseen| {
            hidden.push(unseen);
            Ok(lines.next().unwrap().to_string())
        });
        let owner = owner.unwrap();
        assert_eq!((owner.name.as_str(), owner.password.as_str()), ("Wilma Nowhere", "a long phrase"));
        assert_eq!(hidden, [false, false, true, true, true, true, true]);
    }
}
