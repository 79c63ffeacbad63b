//! A device's key: what it signs, and whether another's signature is true.

use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};
use muster_core::{
    hash::{hex, unhex},
    record::{event::Signed, id::DeviceId},
};

/// This installation's own key.
#[derive(Debug)]
pub struct Device {
    key: SigningKey,
}

impl Device {
    /// The device of a 32-byte seed, as it is kept in the store.
    #[must_use]
    pub fn of_seed(seed: &[u8; 32]) -> Self {
        Self { key: SigningKey::from_bytes(seed) }
    }

    /// Its id: named by its key.
    #[must_use]
    pub fn id(&self) -> DeviceId {
        DeviceId::of_key(&self.public())
    }

    /// Its public key.
    #[must_use]
    pub fn public(&self) -> [u8; 32] {
        self.key.verifying_key().to_bytes()
    }

    /// Signs an event's bytes.
    #[must_use]
    pub fn sign(&self, event: String) -> Signed {
        let signature = hex(&self.key.sign(event.as_bytes()).to_bytes());
        Signed { event, signature }
    }
}

/// Whether a signature is the key's over these bytes (RFC 8032, section 5.1.7, and no malleable ones).
#[must_use]
pub fn is_true(signed: &Signed, key: &str) -> bool {
    Key::of(key).is_some_and(|key| key.made(signed))
}

/// A device's public key, ready to look at many signatures.
pub(super) struct Key(VerifyingKey);

impl Key {
    /// Reads a key; none if the text is none.
    pub(super) fn of(text: &str) -> Option<Self> {
        VerifyingKey::from_bytes(&unhex(text)?).ok().map(Self)
    }

    /// Whether it made a signature, as [`is_true`] says.
    pub(super) fn made(&self, signed: &Signed) -> bool {
        let signature = unhex(&signed.signature).map(|bytes| Signature::from_bytes(&bytes));
        signature.is_some_and(|signature| self.0.verify_strict(signed.event.as_bytes(), &signature).is_ok())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_published_vector() {
        // RFC 8032, section 7.1, TEST 1: the empty message.
        let seed = unhex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60").unwrap();
        let device = Device::of_seed(&seed);
        let key = "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a";
        assert_eq!(hex(&device.public()), key);
        let signed = device.sign(String::new());
        assert_eq!(
            signed.signature,
            "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"
        );
        assert!(is_true(&signed, key));
        assert!(!is_true(&Signed { event: "x".into(), ..signed.clone() }, key));
        assert!(!is_true(&Signed { signature: "00".into(), ..signed }, key));
    }
}
