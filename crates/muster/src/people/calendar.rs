//! Secret addresses of the yard's calendar: drawn by a person, kept as their hash, taken back one by one.

use muster_core::{
    calendar::Moment,
    record::{
        id::PersonId,
        payload::Role,
        rights::{View, may_draw_calendar, may_view},
    },
};
use muster_wire::calendar::CalendarAddress;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::NotLet;
use crate::keeper::{Keeper, hex, random};

/// What stands between a server's address and the secret.
pub const PATH: &str = "/calendar/";
/// What the address ends with.
pub const SUFFIX: &str = ".ics";
/// The longest label, in characters.
pub const MAX_CHARS: usize = 60;
/// The most addresses one person has at a time.
pub const MOST: usize = 20;
/// What the settings that keep addresses begin with.
const KEPT: &str = "calendar ";
/// Digits of the hash that name an address: they open nothing.
const ID_DIGITS: usize = 16;

/// What is kept of an address beside its hash.
#[derive(Serialize, Deserialize)]
struct Kept {
    person: PersonId,
    at: Moment,
    label: String,
}

/// Draws an address of 128 random bits; the secret is told once.
///
/// # Errors
/// [`NotLet`] for a label that is too long, after too many addresses, or if it cannot be kept.
pub fn draw(keeper: &Keeper, label: &str, person: &PersonId, now: Moment) -> Result<(CalendarAddress, String), NotLet> {
    let label = label.trim();
    if label.chars().count() > MAX_CHARS || label.chars().any(char::is_control) {
        let what = format!("say where it is read in at most {MAX_CHARS} characters, or nothing");
        return Err(NotLet::Field { field: "label", what });
    }
    if list(keeper, Some(person))?.len() >= MOST {
        let what = format!("{MOST} addresses are drawn already: take one back first");
        return Err(NotLet::Field { field: "label", what });
    }
    let secret = hex(&random::<16>()?);
    let (hash, kept) = (hashed(&secret), Kept { person: person.clone(), at: now, label: label.to_string() });
    let text = serde_json::to_string(&kept).map_err(|error| NotLet::Hash(error.to_string()))?;
    keeper.store().put_setting(&format!("{KEPT}{hash}"), Some(&text))?;
    Ok((told(&hash, kept), secret))
}

/// Addresses that are open: a person's, or everybody's.
///
/// # Errors
/// [`NotLet::Store`] if they cannot be read.
pub fn list(keeper: &Keeper, of: Option<&PersonId>) -> Result<Vec<CalendarAddress>, NotLet> {
    let all = addresses(keeper)?.into_iter().filter(|(_, kept)| of.is_none_or(|person| kept.person == *person));
    Ok(all.map(|(hash, kept)| told(&hash, kept)).collect())
}

/// Takes an address back: it leads nowhere from then on. The owner takes back everybody's.
///
/// # Errors
/// [`NotLet::NoCalendar`] if there is none such, or it is another person's.
pub fn revoke(keeper: &Keeper, id: &str, by: (&PersonId, Role)) -> Result<(), NotLet> {
    let (person, role) = by;
    let its = |(hash, kept): &(String, Kept)| named(hash) == id && (role == Role::Owner || kept.person == *person);
    let found = addresses(keeper)?.into_iter().find(its);
    let (hash, _) = found.ok_or_else(|| NotLet::NoCalendar(id.chars().take(ID_DIGITS).collect()))?;
    keeper.store().put_setting(&format!("{KEPT}{hash}"), None)?;
    Ok(())
}

/// Whether a secret opens the calendar: it was drawn, not taken back, and whoever drew it may still draw one.
///
/// # Errors
/// [`NotLet::Store`] if it cannot be read.
pub fn opens(keeper: &Keeper, secret: &str) -> Result<bool, NotLet> {
    let kept = keeper.store().setting(&format!("{KEPT}{}", hashed(secret)))?;
    let kept: Option<Kept> = kept.and_then(|text| serde_json::from_str(&text).ok());
    let state = keeper.known().state;
    let may = |role| may_draw_calendar(role) && may_view(role, View::Yard);
    Ok(kept.is_some_and(|kept| state.standing(&kept.person).is_ok_and(|standing| may(standing.role))))
}

fn addresses(keeper: &Keeper) -> Result<Vec<(String, Kept)>, NotLet> {
    let address = |(name, text): (String, String)| {
        let hash = name.strip_prefix(KEPT)?.to_string();
        Some((hash, serde_json::from_str(&text).ok()?))
    };
    Ok(keeper.store().settings()?.into_iter().filter_map(address).collect())
}

fn told(hash: &str, kept: Kept) -> CalendarAddress {
    let Kept { person, at, label } = kept;
    CalendarAddress { id: named(hash).to_string(), person: person.to_string(), drawn: at.to_string(), label }
}

fn named(hash: &str) -> &str {
    hash.get(..ID_DIGITS).unwrap_or(hash)
}

/// Hashed with its purpose: it opens no other door.
fn hashed(secret: &str) -> String {
    hex(&Sha256::digest(format!("calendar\n{secret}").as_bytes()))
}
