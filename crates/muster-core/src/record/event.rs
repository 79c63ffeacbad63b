//! One event: who wrote what, on which device, having seen what; its bytes, its hash, its place in the order.

use alloc::{format, string::String, vec::Vec};

use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::{
    canonical::{self, NotCanonical, Write as _, Writing},
    field::Fields,
    id::{DeviceId, EventId, PersonId},
    json::Json,
    payload::Payload,
    upcast::{self, NotUpcast},
};
use crate::{calendar::Moment, hash};

/// The largest event kept, in bytes: a release with its judgement is a tenth of it.
pub const MAX_BYTES: usize = 1 << 20;

/// What one device wrote down once, and nobody changes.
///
/// The log's key is (device, seq): each device writes its own series, each event naming the hash of the one before.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Event {
    /// Which.
    pub id: EventId,
    /// SHA-256 of the device's event before; none for its first.
    pub previous: Option<String>,
    /// The heads its device had seen: events of other devices not seen by any other event it knew. Ordered.
    pub seen: Vec<EventId>,
    /// One more than the greatest height of what it had seen: whatever it had seen stands before it.
    pub height: u64,
    /// Who.
    pub author: PersonId,
    /// The device's time: testimony, never the order.
    pub at: Moment,
    /// What.
    pub payload: Payload,
}

/// Where an event stands among the others: causal, then by id.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// Its height.
    pub height: u64,
    /// Which.
    pub id: EventId,
}

/// An event's bytes as they were received, with what the log needs of them; whether or not this version can read them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Which.
    pub id: EventId,
    /// Its hash.
    pub hash: String,
    /// Hash of the one before.
    pub previous: Option<String>,
    /// The heads it had seen.
    pub seen: Vec<EventId>,
    /// Its height.
    pub height: u64,
    /// The event; none if a newer version wrote it, so that it is kept and not yet understood.
    pub event: Option<Event>,
}

/// An event's bytes with its device's signature over them: what is stored, sent and exported.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Signed {
    /// The one byte form.
    pub event: String,
    /// Ed25519 (RFC 8032) over those bytes, 128 hexadecimal digits.
    pub signature: String,
}

/// Why bytes are no event.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NotAnEvent {
    /// Too large.
    #[error("an event has at most {MAX_BYTES} bytes, got {0}")]
    TooLarge(usize),
    /// Not the one byte form.
    #[error(transparent)]
    NotCanonical(#[from] NotCanonical),
    /// The envelope or the payload has something wrong.
    #[error("{0}")]
    Fields(String),
    /// The heads are not in order, or name the own device.
    #[error("`seen` of {0} must be ordered, each device once, its own not among them")]
    Seen(EventId),
    /// Readable, and written otherwise than it would be here.
    #[error("event {0} is not in its one form: every field is written, moments to the second with their offset")]
    OtherForm(EventId),
    /// Numbers begin at 1.
    #[error("event {0}: number and height begin at 1")]
    Number(EventId),
    /// First events have no previous, later ones have one.
    #[error("event {0} must name the hash of the one before it, the first must not")]
    Previous(EventId),
    /// From a version that cannot be read.
    #[error(transparent)]
    NotUpcast(#[from] NotUpcast),
}

/// The fields around a payload, as they are written.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Envelope {
    at: Moment,
    author: PersonId,
    device: DeviceId,
    height: u64,
    kind: String,
    payload: Value,
    previous: Option<String>,
    seen: Vec<EventId>,
    seq: u64,
    version: u32,
}

impl Event {
    /// Where it stands among the others.
    #[must_use]
    pub const fn place(&self) -> Place {
        Place { height: self.height, id: self.id }
    }

    /// Its one byte form.
    ///
    /// # Errors
    /// [`NotAnEvent`] if it is too large or its heads are not in order.
    pub fn to_bytes(&self) -> Result<String, NotAnEvent> {
        in_order(self.id, self.height, self.previous.is_some(), &self.seen)?;
        let bytes = self.written(512).end()?;
        if bytes.len() > MAX_BYTES { Err(NotAnEvent::TooLarge(bytes.len())) } else { Ok(bytes) }
    }

    /// Written out field by field, for the order of these keys is known and each event is written often: to be compared.
    fn written(&self, room: usize) -> Writing {
        let mut out = Writing::with_room(room);
        out.raw("{\"at\":");
        self.at.write(&mut out, "at");
        out.raw(",\"author\":");
        self.author.write(&mut out, "author");
        out.raw(",\"device\":");
        self.id.device.write(&mut out, "device");
        out.raw(",\"height\":");
        self.height.write(&mut out, "height");
        out.raw(",\"kind\":");
        self.payload.kind().write(&mut out, "kind");
        out.raw(",\"payload\":");
        self.payload.write(&mut out, "payload");
        out.raw(",\"previous\":");
        self.previous.write(&mut out, "previous");
        out.raw(",\"seen\":");
        self.seen.write(&mut out, "seen");
        out.raw(",\"seq\":");
        self.id.seq.write(&mut out, "seq");
        out.raw(",\"version\":");
        u64::from(upcast::version(self.payload.kind())).write(&mut out, "version");
        out.raw("}");
        out
    }

    /// Reads an event that whoever gave it has read and checked, as a phone is given what it carries: its form is not
    /// looked into again, nor is it hashed. None for one that this version cannot read.
    #[must_use]
    pub fn given(bytes: &str) -> Option<Self> {
        Self::taken(bytes).or_else(|| Entry::looked_into(bytes).ok()?.event)
    }

    /// Reads an event of this version in its one form, the usual case: what writes the same bytes again is in that form, so
    /// that they need not be written twice. None for anything else.
    fn of_this_version(bytes: &str) -> Option<Self> {
        let event = Self::taken(bytes)?;
        event.written(bytes.len()).end().is_ok_and(|written| written == bytes).then_some(event)
    }

    fn taken(bytes: &str) -> Option<Self> {
        let mut fields = Fields::of(Some(Json::of(bytes))).ok()?;
        let kind = fields.take("kind").ok()?;
        if fields.take::<u64>("version").ok()? != u64::from(upcast::version(kind)) {
            return None;
        }
        let event = Self {
            id: EventId { device: fields.take("device").ok()?, seq: fields.take("seq").ok()? },
            previous: fields.take("previous").ok()?,
            seen: fields.take("seen").ok()?,
            height: fields.take("height").ok()?,
            author: fields.take("author").ok()?,
            at: fields.take("at").ok()?,
            payload: Payload::read(kind, fields.value("payload")).ok()?,
        };
        in_order(event.id, event.height, event.previous.is_some(), &event.seen).ok()?;
        Some(event)
    }
}

impl Entry {
    /// Reads an event's bytes. One of a newer version is kept as it is.
    ///
    /// # Errors
    /// [`NotAnEvent`] with what is wrong.
    pub fn read(bytes: &str) -> Result<Self, NotAnEvent> {
        if bytes.len() > MAX_BYTES {
            return Err(NotAnEvent::TooLarge(bytes.len()));
        }
        if let Some(event) = Event::of_this_version(bytes) {
            let (previous, seen) = (event.previous.clone(), event.seen.clone());
            let (id, height, hash) = (event.id, event.height, hash::of_text(bytes));
            return Ok(Self { id, hash, previous, seen, height, event: Some(event) });
        }
        Self::looked_into(bytes)
    }

    /// Reads what is not an event as this version writes it: one of another version, or what is wrong with it.
    fn looked_into(bytes: &str) -> Result<Self, NotAnEvent> {
        let envelope: Envelope = serde_json::from_value(canonical::read(bytes)?)
            .map_err(|error| NotAnEvent::Fields(format!("envelope: {error}")))?;
        let id = EventId { device: envelope.device, seq: envelope.seq };
        in_order(id, envelope.height, envelope.previous.is_some(), &envelope.seen)?;
        let of_kind = |error| NotAnEvent::Fields(format!("{} of {id}: {error}", envelope.kind));
        let payload = match upcast::current(&envelope.kind, envelope.version, envelope.payload)? {
            Some((kind, value)) => Some(Payload::from_value(kind, &value).map_err(of_kind)?),
            None => None,
        };
        let event = payload.map(|payload| Event {
            id,
            previous: envelope.previous.clone(),
            seen: envelope.seen.clone(),
            height: envelope.height,
            author: envelope.author,
            at: envelope.at,
            payload,
        });
        // What an event of this version says is written one way, so that nothing depends on who wrote it.
        if let Some(event) = event.as_ref().filter(|event| envelope.version == upcast::version(event.payload.kind()))
            && event.to_bytes()? != bytes
        {
            return Err(NotAnEvent::OtherForm(id));
        }
        let (previous, seen, height) = (envelope.previous, envelope.seen, envelope.height);
        Ok(Self { id, hash: hash::of_text(bytes), previous, seen, height, event })
    }

    /// Where it stands among the others.
    #[must_use]
    pub const fn place(&self) -> Place {
        Place { height: self.height, id: self.id }
    }
}

fn in_order(id: EventId, height: u64, has_previous: bool, seen: &[EventId]) -> Result<(), NotAnEvent> {
    if id.seq == 0 || height == 0 {
        return Err(NotAnEvent::Number(id));
    }
    if (id.seq > 1) != has_previous {
        return Err(NotAnEvent::Previous(id));
    }
    let rising = seen.windows(2).all(|pair| matches!(pair, [a, b] if a.device < b.device));
    if !rising || seen.iter().any(|head| head.device == id.device) {
        return Err(NotAnEvent::Seen(id));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const WRITTEN: &str = r#"{"at":"2026-11-24T08:00:00+00:00","author":"p-1","device":"0123456789abcdef","height":3,"kind":"reading-taken","payload":{"air":null,"check":"tyre.front.tread","corrects":null,"machine":"H-07","note":"\"low\"\nat é","odometer":null,"read":{"left":["2.1 mm"],"right":["2.4 mm","2 mm"]},"tyre":null,"walk_round":"0123456789abcdef.1","why":null,"with":"G-1"},"previous":"ab","seen":["1123456789abcdef.2"],"seq":2,"version":1}"#;

    proptest! {
        #[test]
        fn the_short_way_reads_nothing_that_the_long_way_reads_otherwise(
            changes in prop::collection::vec((0..WRITTEN.len(), 0x20..0x7f_u8, 0..3_u8), 0..3)
        ) {
            let mut bytes = WRITTEN.as_bytes().to_vec();
            for (at, byte, how) in changes {
                let at = at.min(bytes.len() - 1);
                match how {
                    0 => bytes[at] = byte,
                    1 => bytes.insert(at, byte),
                    _ => _ = bytes.remove(at),
                }
            }
            let text = String::from_utf8_lossy(&bytes);
            if let Some(event) = Event::of_this_version(&text) {
                prop_assert_eq!(Entry::looked_into(&text).map(|entry| entry.event), Ok(Some(event)));
            } else {
                // An event of this version has no other way to be read.
                let read = Entry::looked_into(&text).ok().and_then(|entry| entry.event);
                prop_assert_eq!(read, None);
            }
        }
    }

    #[test]
    fn what_was_written_is_read_the_short_way() {
        let read = Event::of_this_version(WRITTEN);
        assert!(read.is_some());
        assert_eq!(Event::given(WRITTEN), read);
    }
}
