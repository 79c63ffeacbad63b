//! Sessions: a random token in a cookie, its hash in the store.

use axum::http::{HeaderMap, header};
use jiff::{SignedDuration, Timestamp};
use muster_core::{calendar::Moment, record::id::PersonId};
use sha2::{Digest, Sha256};

use crate::{
    keeper::Vault,
    store::{Session, StoreError, TokenHash},
};

/// How long a session lasts that nobody uses.
pub const IDLE: SignedDuration = SignedDuration::from_hours(14 * 24);
/// How often its use is noted: writing at every request would wear the disk for nothing.
const NOTED: SignedDuration = SignedDuration::from_mins(10);

/// The cookie's name. Behind HTTPS the prefix makes a browser keep it to this host, secure, for every path.
#[must_use]
pub const fn cookie_name(https: bool) -> &'static str {
    if https { "__Host-muster" } else { "muster" }
}

/// The token of a request, if it brings one.
#[must_use]
pub fn token(headers: &HeaderMap, https: bool) -> Option<String> {
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

/// The person of a session that lives.
///
/// # Errors
/// [`StoreError`] if the store cannot be read.
pub fn person(store: &dyn Vault, token: &str, now: Moment) -> Result<Option<PersonId>, StoreError> {
    let (hash, now) = (hashed(token), now.timestamp());
    let Some(session) = store.session(hash)?.filter(|session| now < session.expires) else { return Ok(None) };
    if now.duration_since(session.seen) > NOTED {
        let expires = now.checked_add(IDLE).unwrap_or(Timestamp::MAX);
        store.put_session(hash, &Session { seen: now, expires, ..session.clone() })?;
    }
    Ok(Some(session.person))
}
