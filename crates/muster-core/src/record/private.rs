//! What concerns one person alone, sealed under that person's key: destroying the key erases it and no hash changes.

use alloc::{format, string::String, vec::Vec};

use chacha20poly1305::{
    KeyInit, XChaCha20Poly1305,
    aead::{Aead, Payload},
};
use serde::{Deserialize, Serialize};

use super::id::PersonId;
use crate::hash::{hex, unhex};

/// A text under a person's key.
///
/// XChaCha20-Poly1305 (RFC 8439 with the 192-bit nonce of draft-irtf-cfrg-xchacha-03): a random nonce never meets
/// another. Person and field are authenticated beside it, so that a sealed text cannot be moved to another person or
/// another field.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Private {
    /// Whose key.
    pub person: PersonId,
    /// 48 hexadecimal digits, drawn anew for every text.
    pub(super) nonce: String,
    /// The sealed text in hexadecimal.
    pub(super) sealed: String,
}

/// A person's key.
#[derive(Clone, PartialEq, Eq)]
pub struct PersonKey([u8; 32]);

impl PersonKey {
    /// Takes 32 bytes drawn at random.
    #[must_use]
    pub const fn new(bytes: [u8; 32]) -> Self {
        Self(bytes)
    }

    /// Its bytes, for the shell to keep.
    #[must_use]
    pub const fn bytes(&self) -> &[u8; 32] {
        &self.0
    }
}

/// A key is not to be seen in a log.
impl core::fmt::Debug for PersonKey {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str("PersonKey(…)")
    }
}

/// Why a private text cannot be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotOpened {
    /// Not as it was sealed.
    #[error("another key, or not the text that was sealed for this field")]
    OtherKey,
    /// Not what [`Private::seal`] writes.
    #[error("not a sealed text")]
    NotSealed,
}

impl Private {
    /// The longest text sealed, in bytes.
    pub const MAX_BYTES: usize = 4096;

    /// Seals a text. The nonce is drawn at random by the shell, anew for each.
    ///
    /// # Errors
    /// [`TooLong`] above [`Self::MAX_BYTES`].
    pub fn seal(text: &str, person: &PersonId, field: &str, key: &PersonKey, nonce: [u8; 24]) -> Result<Self, TooLong> {
        if text.len() > Self::MAX_BYTES {
            return Err(TooLong { bytes: text.len() });
        }
        let beside = beside(person, field);
        let payload = Payload { msg: text.as_bytes(), aad: beside.as_bytes() };
        let cipher = XChaCha20Poly1305::new(&key.0.into());
        let sealed = cipher.encrypt(&nonce.into(), payload).map_err(|_| TooLong { bytes: text.len() })?;
        Ok(Self { person: person.clone(), nonce: hex(&nonce), sealed: hex(&sealed) })
    }

    /// Opens it.
    ///
    /// # Errors
    /// [`NotOpened`] with another key or for another field.
    pub fn open(&self, field: &str, key: &PersonKey) -> Result<String, NotOpened> {
        let nonce: [u8; 24] = unhex(&self.nonce).ok_or(NotOpened::NotSealed)?;
        let sealed = pairs(&self.sealed).ok_or(NotOpened::NotSealed)?;
        let beside = beside(&self.person, field);
        let payload = Payload { msg: &sealed, aad: beside.as_bytes() };
        let cipher = XChaCha20Poly1305::new(&key.0.into());
        let text = cipher.decrypt(&nonce.into(), payload).map_err(|_| NotOpened::OtherKey)?;
        String::from_utf8(text).map_err(|_| NotOpened::NotSealed)
    }
}

/// A text too long to be sealed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{bytes} bytes are too many for one field: at most {} are sealed", Private::MAX_BYTES)]
pub struct TooLong {
    bytes: usize,
}

fn beside(person: &PersonId, field: &str) -> String {
    format!("{person}/{field}")
}

fn pairs(text: &str) -> Option<Vec<u8>> {
    let pairs = text.as_bytes().chunks(2);
    pairs.map(|pair| unhex::<1>(core::str::from_utf8(pair).ok()?).map(|[byte]| byte)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_own_key_opens_the_own_field() {
        let person: PersonId = "p-1".parse().unwrap();
        let key = PersonKey::new([1; 32]);
        let sealed = Private::seal("Ann Example", &person, "name", &key, [9; 24]).unwrap();
        assert_eq!(sealed.open("name", &key).unwrap(), "Ann Example");
        assert_eq!(sealed.open("phone", &key), Err(NotOpened::OtherKey));
        assert_eq!(sealed.open("name", &PersonKey::new([2; 32])), Err(NotOpened::OtherKey));
        let moved = Private { person: "p-2".parse().unwrap(), ..sealed.clone() };
        assert_eq!(moved.open("name", &key), Err(NotOpened::OtherKey));
        let broken = Private { nonce: "00".into(), ..sealed };
        assert_eq!(broken.open("name", &key), Err(NotOpened::NotSealed));
        assert!(Private::seal(&"a".repeat(5000), &person, "name", &key, [9; 24]).is_err());
    }
}
