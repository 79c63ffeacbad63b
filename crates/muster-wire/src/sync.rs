//! How two devices come to hold the same: heads, what is missing, and events with their fates.

use std::collections::BTreeMap;

use muster_core::record::{
    event::Signed,
    heads::{Heads, SeriesEnd},
    id::{DeviceId, EventId},
};
use serde::{Deserialize, Serialize};

/// What one side holds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct Holds {
    /// The head of each device's series.
    pub heads: BTreeMap<String, u64>,
}

/// An event with its device's signature.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct SignedEvent {
    /// Its one byte form, as text.
    pub event: String,
    /// Ed25519 over those bytes, 128 hexadecimal digits.
    pub signature: String,
}

/// A batch of events.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct Batch {
    /// Each series in its order, without a gap.
    pub events: Vec<SignedEvent>,
}

/// What the other side lacks.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Lacking {
    /// The events, each series in its order.
    pub events: Vec<SignedEvent>,
    /// Whether more are left: ask again with the heads as they are then.
    pub more: bool,
}

/// What became of a batch.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Received {
    /// Each event of it, in its order.
    pub events: Vec<Fate>,
}

/// What became of one event.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "kebab-case", tag = "fate")]
pub enum Fate {
    /// Written now.
    Kept {
        /// Which.
        #[cfg_attr(feature = "schema", schema(value_type = String))]
        id: EventId,
    },
    /// Was here already.
    Held {
        /// Which.
        #[cfg_attr(feature = "schema", schema(value_type = String))]
        id: EventId,
    },
    /// Not kept; the device keeps it and a person looks.
    Refused {
        /// Which, if it can be told.
        #[cfg_attr(feature = "schema", schema(value_type = Option<String>))]
        id: Option<EventId>,
        /// Why.
        why: String,
    },
}

/// What a phone carries: the events that still say something, and where each series stands.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Carried {
    /// SHA-256 of the catalogue it was chosen by: a phone with another judges by its own, and says so.
    pub catalogue: String,
    /// The end of each device's series: what the phone's next event stands on.
    pub ends: Vec<End>,
    /// Events in their one byte form.
    pub events: Vec<String>,
    /// Names of people by their ids, for those who may see them.
    pub names: BTreeMap<String, String>,
}

/// The end of one series.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct End {
    /// Whose series.
    pub device: String,
    /// Its last number.
    pub seq: u64,
    /// The hash of that event.
    pub hash: String,
    /// Its height.
    pub height: u64,
}

impl From<(DeviceId, SeriesEnd)> for End {
    fn from((device, end): (DeviceId, SeriesEnd)) -> Self {
        Self { device: device.to_string(), seq: end.seq, hash: end.hash, height: end.height }
    }
}

impl End {
    /// Whose series ends where; none if its name is no device.
    #[must_use]
    pub fn series(&self) -> Option<(DeviceId, SeriesEnd)> {
        let end = SeriesEnd { seq: self.seq, hash: self.hash.clone(), height: self.height };
        Some((self.device.parse().ok()?, end))
    }
}

impl From<Signed> for SignedEvent {
    fn from(signed: Signed) -> Self {
        Self { event: signed.event, signature: signed.signature }
    }
}

impl From<SignedEvent> for Signed {
    fn from(signed: SignedEvent) -> Self {
        Self { event: signed.event, signature: signed.signature }
    }
}

impl From<&Heads> for Holds {
    fn from(heads: &Heads) -> Self {
        Self { heads: heads.iter().map(|head| (head.device.to_string(), head.seq)).collect() }
    }
}

impl Holds {
    /// The heads; none if a name is no device.
    #[must_use]
    pub fn heads(&self) -> Option<Heads> {
        let mut heads = Heads::default();
        for (device, seq) in &self.heads {
            let device: DeviceId = device.parse().ok()?;
            heads.raise(EventId { device, seq: *seq });
        }
        Some(heads)
    }
}
