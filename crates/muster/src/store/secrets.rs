//! What is kept beside the record and is no event, because it must be destroyed, rotated or forgotten.

use jiff::Timestamp;
use muster_core::record::{id::PersonId, private::PersonKey};

use super::StoreError;

/// SHA-256 of a session's token: the token itself is never stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct TokenHash(pub [u8; 32]);

/// SHA-256 of an enrolment code: the code itself is never stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct CodeHash(pub [u8; 32]);

/// How a person signs in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Account {
    /// The password's hash as a PHC string (Argon2id, RFC 9106).
    pub phc: String,
    /// Failed attempts since the last that succeeded.
    pub failed: u32,
    /// No attempt counts before.
    pub blocked_until: Option<Timestamp>,
}

/// A person who is signed in on one device.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Session {
    /// Who.
    pub person: PersonId,
    /// Since when.
    pub created: Timestamp,
    /// When last used.
    pub seen: Timestamp,
    /// Till when.
    pub expires: Timestamp,
}

/// A code that enrols a person's device once.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Code {
    /// Whose.
    pub person: PersonId,
    /// Till when.
    pub expires: Timestamp,
    /// When it was used.
    pub used: Option<Timestamp>,
}

/// Keys, accounts, sessions, codes, settings. Times are kept to the second.
///
/// Every method fails with [`StoreError`] if the disk cannot be read or written. Each change is on disk on return.
pub trait Secrets: Send + Sync {
    /// Keeps a person's key. Another key in its place is refused: what the first sealed would be lost.
    fn put_key(&self, person: &PersonId, key: &PersonKey) -> Result<(), StoreError>;

    /// A person's key; none if there never was one or it was destroyed.
    fn key(&self, person: &PersonId) -> Result<Option<PersonKey>, StoreError>;

    /// Every person's key, ordered by person.
    fn keys(&self) -> Result<Vec<(PersonId, PersonKey)>, StoreError>;

    /// Destroys a person's key, so that its bytes are in no file of the store any more; whether there was one.
    ///
    /// Backups made before still hold it: they are to be deleted by those who keep them.
    /// [`StoreError::NotYetWiped`] asks for another call.
    fn destroy_key(&self, person: &PersonId) -> Result<bool, StoreError>;

    /// Keeps how a person signs in, in place of what was kept.
    fn put_account(&self, person: &PersonId, account: &Account) -> Result<(), StoreError>;

    /// How a person signs in.
    fn account(&self, person: &PersonId) -> Result<Option<Account>, StoreError>;

    /// Forgets how a person signs in, their sessions and codes; whether there was an account.
    fn remove_account(&self, person: &PersonId) -> Result<bool, StoreError>;

    /// Keeps a session.
    fn put_session(&self, token: TokenHash, session: &Session) -> Result<(), StoreError>;

    /// A session, expired or not.
    fn session(&self, token: TokenHash) -> Result<Option<Session>, StoreError>;

    /// Everybody with a session that has not expired, ordered.
    fn signed_in(&self, now: Timestamp) -> Result<Vec<PersonId>, StoreError>;

    /// Notes that a session was used.
    fn session_seen(&self, token: TokenHash, seen: Timestamp) -> Result<(), StoreError>;

    /// Ends a session; whether there was one.
    fn end_session(&self, token: TokenHash) -> Result<bool, StoreError>;

    /// Ends a person's sessions; how many.
    fn end_sessions(&self, person: &PersonId) -> Result<usize, StoreError>;

    /// Keeps an enrolment code.
    fn put_code(&self, code: CodeHash, about: &Code) -> Result<(), StoreError>;

    /// Uses a code: the code if it was unused and not expired, and then no second time.
    fn use_code(&self, code: CodeHash, now: Timestamp) -> Result<Option<Code>, StoreError>;

    /// Keeps this installation's own Ed25519 key, 32 bytes, under which it writes a series of its own.
    fn put_own_key(&self, key: &[u8; 32]) -> Result<(), StoreError>;

    /// This installation's own key.
    fn own_key(&self) -> Result<Option<[u8; 32]>, StoreError>;

    /// Keeps a setting; none removes it.
    fn put_setting(&self, name: &str, value: Option<&str>) -> Result<(), StoreError>;

    /// A setting.
    fn setting(&self, name: &str) -> Result<Option<String>, StoreError>;

    /// Every setting, ordered by name.
    fn settings(&self) -> Result<Vec<(String, String)>, StoreError>;

    /// Counts one more act of `who` (an address, a machine's label) and returns how many there were since `from`.
    fn count_act(&self, who: &str, now: Timestamp, from: Timestamp) -> Result<u32, StoreError>;

    /// Forgets sessions and codes that expired, and acts counted, before a time; how many.
    fn prune(&self, before: Timestamp) -> Result<usize, StoreError>;
}
