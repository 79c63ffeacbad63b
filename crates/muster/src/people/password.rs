//! Passwords: Argon2id in PHC strings (RFC 9106), and what is asked of one.

use std::sync::OnceLock;

use argon2::{
    Algorithm, Argon2, Params, Version,
    password_hash::{PasswordHasher, PasswordVerifier, phc::PasswordHash},
};

use super::NotLet;
use crate::keeper::random;

/// The fewest characters (NIST SP 800-63B-4 asks for 8 beside another factor and 15 alone; between them, for a yard's
/// people type it with gloves just off, and what guesses is throttled).
pub const MIN_CHARS: usize = 10;
/// The most bytes: far beyond any phrase, so that nobody makes the server hash a book.
pub const MAX_BYTES: usize = 1024;

/// What one hash costs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cost {
    /// Memory in KiB.
    pub memory_kib: u32,
    /// Passes over it.
    pub passes: u32,
    /// Lanes.
    pub lanes: u32,
}

impl Cost {
    /// For passwords, checked here alone: the second recommended option of RFC 9106, section 4.
    pub const PASSWORD: Self = Self { memory_kib: 64 * 1024, passes: 3, lanes: 4 };
    /// For PINs, which a shared phone checks by itself in a browser: the least memory in the list of OWASP's password
    /// storage page (from memory), for more would keep an old phone busy for seconds and would not make four digits safe.
    pub const PIN: Self = Self { memory_kib: 19 * 1024, passes: 2, lanes: 1 };
}

/// Refuses a password that is too short or too long. Nothing is asked of its letters: length is what counts.
///
/// # Errors
/// [`NotLet::Field`] with what is asked.
pub fn fit(password: &str) -> Result<(), NotLet> {
    let what = if password.chars().count() < MIN_CHARS {
        format!("at least {MIN_CHARS} characters are needed; a few words with spaces are easy to keep in mind")
    } else if password.len() > MAX_BYTES {
        format!("at most {MAX_BYTES} bytes are taken, got {}", password.len())
    } else {
        return Ok(());
    };
    Err(NotLet::Field { field: "password", what })
}

/// Hashes a secret under a fresh salt.
///
/// # Errors
/// [`NotLet::Random`] without random bytes, [`NotLet::Hash`] without the memory.
pub fn hash(secret: &str, cost: Cost) -> Result<String, NotLet> {
    let broken = |error: &dyn std::fmt::Display| NotLet::Hash(error.to_string());
    let params = Params::new(cost.memory_kib, cost.passes, cost.lanes, None).map_err(|error| broken(&error))?;
    let argon = Argon2::new(Algorithm::Argon2id, Version::V0x13, params);
    let salt: [u8; 16] = random()?;
    argon.hash_password_with_salt(secret.as_bytes(), &salt).map(|phc| phc.to_string()).map_err(|error| broken(&error))
}

/// Whether a secret is the one hashed. The cost is the hash's own.
#[must_use]
pub fn is_right(phc: &str, secret: &str) -> bool {
    if secret.len() > MAX_BYTES {
        return false;
    }
    PasswordHash::new(phc).is_ok_and(|phc| Argon2::default().verify_password(secret.as_bytes(), &phc).is_ok())
}

/// Takes as long as checking a password would, where there is none to check: so that the time of an answer does not say
/// whether there is such a person.
pub fn waste(secret: &str) {
    static NOBODY: OnceLock<Option<String>> = OnceLock::new();
    if let Some(phc) = NOBODY.get_or_init(|| hash("nobody's password", Cost::PASSWORD).ok()) {
        let _wrong = is_right(phc, secret);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_published_vector() {
        // The reference implementation's own test (phc-winner-argon2, test.c): Argon2id v19, t=2, m=65536, p=1,
        // "password", "somesalt".
        let phc = "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc";
        assert!(is_right(phc, "password"));
        assert!(!is_right(phc, "passwore"));
    }

    #[test]
    fn a_hash_names_its_cost_and_its_own_salt() {
        let cost = Cost { memory_kib: 32, passes: 1, lanes: 4 };
        let (one, two) = (hash("a long phrase", cost).unwrap(), hash("a long phrase", cost).unwrap());
        assert!(one.starts_with("$argon2id$v=19$m=32,t=1,p=4$"), "{one}");
        assert_ne!(one, two);
        assert!(is_right(&one, "a long phrase") && is_right(&two, "a long phrase"));
        assert!(!is_right(&one, "A long phrase") && !is_right("", "") && !is_right("$argon2id$", ""));
    }

    #[test]
    fn length_is_all_that_is_asked() {
        for fits in ["0123456789", "aaaaaaaaaa", "öööööööööö", &"a".repeat(1024)] {
            assert!(fit(fits).is_ok(), "{fits}");
        }
        for wrong in ["", "012345678", "ööööööööö", &"a".repeat(1025)] {
            assert!(matches!(fit(wrong), Err(NotLet::Field { field: "password", .. })), "{wrong}");
        }
    }
}
