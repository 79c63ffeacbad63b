//! How people sign in: name and password against what is kept, a new password by the old one or by a code.

use muster_core::{calendar::Moment, record::id::PersonId};

use super::{
    NotLet,
    code::{self, Purpose},
    feedback, names,
    password::{self, Cost},
    throttle::{Attempts, Tries},
};
use crate::{keeper::Keeper, store::Account};

/// Signs a person in, named by id or by name. Each guess is counted before it is looked at; whether there is such a
/// person shows neither in the answer nor in its time.
///
/// # Errors
/// [`NotLet::Wrong`], or [`NotLet::Wait`] after too many.
pub fn sign_in(
    keeper: &Keeper,
    attempts: &Attempts,
    name: &str,
    password: &str,
    now: Moment,
) -> Result<PersonId, NotLet> {
    let active = |person: &PersonId| keeper.known().state.standing(person).is_ok();
    let person = names::find(keeper, name)?.filter(active);
    let person = match person {
        Some(person) if keeper.store().account(&person)?.is_some() => person,
        _ => {
            if let Some(wait) = attempts.stranger(name, now.timestamp()) {
                return Err(NotLet::Wait(wait));
            }
            // As many writes and as much hashing as for somebody.
            keeper.store().count_act("guesses at nobody", now.timestamp(), now.timestamp())?;
            password::waste(password);
            return Err(NotLet::Wrong);
        }
    };
    prove(keeper, attempts, &person, password, now)?;
    Ok(person)
}

/// Proves that somebody knows a person's password.
///
/// # Errors
/// As for [`sign_in`].
pub fn prove(
    keeper: &Keeper,
    attempts: &Attempts,
    person: &PersonId,
    password: &str,
    now: Moment,
) -> Result<(), NotLet> {
    let phc = counted(keeper, attempts, person, now)?;
    if !password::is_right(&phc, password) {
        return Err(NotLet::Wrong);
    }
    let _turn = attempts.turn();
    match keeper.store().account(person)? {
        // Another password was set meanwhile: this was the old one.
        Some(account) if account.phc == phc => {
            Ok(keeper.store().put_account(person, &Account { failed: 0, blocked_until: None, ..account })?)
        }
        _ => Err(NotLet::Wrong),
    }
}

/// Sets a password by the one before; a person without one has none to prove. Every session of theirs ends.
///
/// # Errors
/// [`NotLet`] with what is asked of it, or that the one before is wrong.
pub fn change(
    keeper: &Keeper,
    attempts: &Attempts,
    person: &PersonId,
    (before, after): (&str, &str),
    now: Moment,
) -> Result<(), NotLet> {
    password::fit(after)?;
    if keeper.store().account(person)?.is_some() {
        prove(keeper, attempts, person, before, now)?;
    }
    set(keeper, attempts, person, after)
}

/// Draws the code of a link by which a person sets their password. Whose feedback riders write has none and gets none.
///
/// # Errors
/// [`NotLet::Nobody`] for who may not act, or is nobody.
pub fn draw(keeper: &Keeper, person: &PersonId, now: Moment) -> Result<String, NotLet> {
    if keeper.known().state.standing(person).is_err() || *person == feedback::person() {
        return Err(NotLet::Nobody(person.to_string()));
    }
    code::draw(keeper, &Purpose::Password, person, now)
}

/// Sets a password by a code that somebody who may change people has drawn.
///
/// # Errors
/// [`NotLet::NoCode`], or what is asked of a password; the code is not used up then.
pub fn change_by_code(
    keeper: &Keeper,
    attempts: &Attempts,
    code: &str,
    password: &str,
    now: Moment,
) -> Result<PersonId, NotLet> {
    password::fit(password)?;
    let person = code::take(keeper, &Purpose::Password, code, now)?;
    if keeper.known().state.standing(&person).is_err() {
        return Err(NotLet::NoCode);
    }
    set(keeper, attempts, &person, password)?;
    Ok(person)
}

/// Keeps a password and ends every session begun with the one before.
///
/// # Errors
/// [`NotLet`] if it cannot be hashed or kept.
pub fn set(keeper: &Keeper, attempts: &Attempts, person: &PersonId, password: &str) -> Result<(), NotLet> {
    let phc = password::hash(password, Cost::PASSWORD)?;
    let _turn = attempts.turn();
    keeper.store().put_account(person, &Account { phc, failed: 0, blocked_until: None })?;
    keeper.store().end_sessions(person)?;
    Ok(())
}

/// Counts a guess as failed before it is looked at, so that many at once do not slip through together.
fn counted(keeper: &Keeper, attempts: &Attempts, person: &PersonId, now: Moment) -> Result<String, NotLet> {
    let _turn = attempts.turn();
    let account = keeper.store().account(person)?.ok_or(NotLet::Wrong)?;
    let tries = Tries { failed: account.failed, blocked_until: account.blocked_until };
    if let Some(wait) = tries.wait_s(now.timestamp()) {
        return Err(NotLet::Wait(wait));
    }
    let Tries { failed, blocked_until } = tries.with_one_more(now.timestamp());
    keeper.store().put_account(person, &Account { phc: account.phc.clone(), failed, blocked_until })?;
    Ok(account.phc)
}
