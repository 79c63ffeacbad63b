//! Who and what the record speaks of: devices, people, events; each a type, each with one way to write it.

use alloc::string::String;
use core::{fmt, str::FromStr};

use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};
use sha2::{Digest, Sha256};

use crate::hash::{hex, unhex};

/// A device that writes a series of its own: the first 8 bytes of the SHA-256 of its public key.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DeviceId([u8; 8]);

impl DeviceId {
    /// The device that signs with this Ed25519 key.
    #[must_use]
    pub fn of_key(key: &[u8; 32]) -> Self {
        let mut id = [0; 8];
        for (to, from) in id.iter_mut().zip(Sha256::digest(key)) {
            *to = from;
        }
        Self(id)
    }
}

impl fmt::Display for DeviceId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&hex(&self.0))
    }
}

impl FromStr for DeviceId {
    type Err = NotAnId;

    fn from_str(text: &str) -> Result<Self, NotAnId> {
        unhex(text).map(Self).ok_or_else(|| NotAnId::new("device", text, "16 hexadecimal digits"))
    }
}

/// An event: the device that wrote it and its number in that device's series, from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct EventId {
    /// The device.
    pub device: DeviceId,
    /// Its number in the series.
    pub seq: u64,
}

impl fmt::Display for EventId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}", self.device, self.seq)
    }
}

impl FromStr for EventId {
    type Err = NotAnId;

    fn from_str(text: &str) -> Result<Self, NotAnId> {
        let read = || {
            let (device, seq) = text.split_once('.')?;
            // No sign, no nought in front: one way to write it.
            let number: u64 = seq.parse().ok().filter(|_| !seq.starts_with(['0', '+']))?;
            Some(Self { device: device.parse().ok()?, seq: number })
        };
        read().ok_or_else(|| NotAnId::new("event", text, "a device and a number, such as 0123456789abcdef.17"))
    }
}

/// A person: an opaque name in the record, so that what it says of them goes when their key goes.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PersonId(String);

impl PersonId {
    /// The longest one.
    pub const MAX: usize = 32;

    /// The name.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for PersonId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

impl FromStr for PersonId {
    type Err = NotAnId;

    fn from_str(text: &str) -> Result<Self, NotAnId> {
        let plain = |byte: u8| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-';
        if !text.is_empty() && text.len() <= Self::MAX && text.bytes().all(plain) {
            return Ok(Self(text.into()));
        }
        Err(NotAnId::new("person", text, "1 to 32 lower-case letters, digits and hyphens"))
    }
}

/// A text that names nothing of its kind.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` names no {what}: {allowed}")]
pub struct NotAnId {
    what: &'static str,
    text: String,
    allowed: &'static str,
}

impl NotAnId {
    fn new(what: &'static str, text: &str, allowed: &'static str) -> Self {
        Self { what, text: text.chars().take(40).collect(), allowed }
    }
}

macro_rules! as_text {
    ($($type:ty),+) => { $(
        impl Serialize for $type {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }

        impl<'de> Deserialize<'de> for $type {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                String::deserialize(deserializer)?.parse().map_err(D::Error::custom)
            }
        }
    )+ };
}
as_text!(DeviceId, EventId, PersonId);

#[cfg(test)]
mod tests {
    use super::*;
    use alloc::string::ToString;

    #[test]
    fn ids_are_written_and_read_one_way() {
        let device = DeviceId::of_key(&[7; 32]);
        let event = EventId { device, seq: 17 };
        assert_eq!(device.to_string().parse(), Ok(device));
        assert_eq!(event.to_string().parse(), Ok(event));
        for wrong in ["", "17", "0123456789abcdef", "0123456789abcdef.0", "0123456789abcdef.017", "0123456789ABCDEF.1"]
        {
            assert!(wrong.parse::<EventId>().is_err(), "{wrong}");
        }
        for wrong in ["", "Ann", "a b", "é", &"a".repeat(33)] {
            assert!(wrong.parse::<PersonId>().is_err(), "{wrong}");
        }
        assert_eq!("p-01".parse::<PersonId>().unwrap().as_str(), "p-01");
    }

    #[test]
    fn a_device_is_named_by_its_key() {
        // FIPS 180-4 over 32 zero bytes: 66687aadf862bd77…, computed with coreutils' sha256sum.
        assert_eq!(DeviceId::of_key(&[0; 32]).to_string(), "66687aadf862bd77");
    }
}
