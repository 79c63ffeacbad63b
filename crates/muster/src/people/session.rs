//! Sessions: a random token in a cookie, its hash in the store.

use axum::http::{HeaderMap, header};
use jiff::{SignedDuration, Timestamp};
use muster_core::{calendar::Moment, record::id::PersonId};
use sha2::{Digest, Sha256};

use super::NotLet;
use crate::{
    keeper::{Vault, hex, random},
    store::{Session, StoreError, TokenHash},
};

/// How long a session lasts that nobody uses.
pub const IDLE: SignedDuration = SignedDuration::from_hours(14 * 24);
/// How long it lasts at most.
pub const LONGEST: SignedDuration = SignedDuration::from_hours(90 * 24);
/// How often its use is noted: writing at every request would wear the disk for nothing.
const NOTED: SignedDuration = SignedDuration::from_mins(10);

/// The cookie's name. Behind HTTPS the prefix makes a browser keep it to this host, secure, for every path.
#[must_use]
pub const fn cookie_name(https: bool) -> &'static str {
    if https { "__Host-muster" } else { "muster" }
}

/// The line that gives a browser its token: no script reads it, no other site's page sends it.
#[must_use]
pub fn cookie(token: &str, https: bool) -> String {
    let (name, secure) = (cookie_name(https), if https { "; Secure" } else { "" });
    format!("{name}={token}; Path=/{secure}; HttpOnly; SameSite=Strict; Max-Age={}", LONGEST.as_secs())
}

/// The line that takes it away.
#[must_use]
pub fn no_cookie(https: bool) -> String {
    let (name, secure) = (cookie_name(https), if https { "; Secure" } else { "" });
    format!("{name}=; Path=/{secure}; HttpOnly; SameSite=Strict; Max-Age=0")
}

/// The token of a request, if it brings one: a program's as a bearer token (RFC 6750), else a browser's cookie.
#[must_use]
pub fn token(headers: &HeaderMap, https: bool) -> Option<String> {
    let bearer = headers.get(header::AUTHORIZATION).and_then(|value| value.to_str().ok());
    if let Some(token) = bearer.and_then(|value| value.strip_prefix("Bearer ")) {
        return Some(token.trim().to_string());
    }
    let name = cookie_name(https);
    let cookies = headers.get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
    let mut pairs = cookies.flat_map(|line| line.split(';')).filter_map(|pair| pair.trim().split_once('='));
    pairs.find(|(key, _)| *key == name).map(|(_, token)| token.to_string())
}

/// The hash a token is kept under.
#[must_use]
pub fn hashed(token: &str) -> TokenHash {
    TokenHash(Sha256::digest(token.as_bytes()).into())
}

/// Begins a session: its token, 256 random bits.
///
/// # Errors
/// [`NotLet`] without random bytes, or if it cannot be kept.
pub fn begin(store: &dyn Vault, person: &PersonId, now: Moment) -> Result<String, NotLet> {
    let token = hex(&random::<32>()?);
    let now = now.timestamp();
    let expires = now.checked_add(LONGEST).unwrap_or(Timestamp::MAX);
    store.put_session(hashed(&token), &Session { person: person.clone(), created: now, seen: now, expires })?;
    Ok(token)
}

/// Ends a session; whether there was one.
///
/// # Errors
/// [`StoreError`] if the store cannot be written.
pub fn end(store: &dyn Vault, token: &str) -> Result<bool, StoreError> {
    store.end_session(hashed(token))
}

/// The person of a session that lives.
///
/// # Errors
/// [`StoreError`] if the store cannot be read.
pub fn person(store: &dyn Vault, token: &str, now: Moment) -> Result<Option<PersonId>, StoreError> {
    let (hash, now) = (hashed(token), now.timestamp());
    let lives = |session: &Session| now < session.expires && now.duration_since(session.seen) < IDLE;
    let Some(session) = store.session(hash)?.filter(lives) else { return Ok(None) };
    if now.duration_since(session.seen) > NOTED {
        // On a full disk, or one that may only be read, it is not noted; whoever is signed in goes on reading.
        if let Err(error) = store.session_seen(hash, now) {
            tracing::warn!(%error, "the use of a session could not be noted");
        }
    }
    Ok(Some(session.person))
}
