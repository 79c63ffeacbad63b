//! What a device holds of every series, what it lacks, and what its next event stands on.

use alloc::{collections::BTreeMap, string::String, vec::Vec};

use serde::{Deserialize, Serialize};

use super::{
    event::{Entry, Event},
    id::{DeviceId, EventId, PersonId},
    payload::Payload,
};
use crate::calendar::Moment;

/// How far each device's series is held: from 1 to this number, without a gap.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Heads(BTreeMap<DeviceId, u64>);

/// A stretch of one series, ends included.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stretch {
    /// Whose series.
    pub device: DeviceId,
    /// First number.
    pub from: u64,
    /// Last number.
    pub to: u64,
}

impl Heads {
    /// How far a series is held; 0 if not at all.
    #[must_use]
    pub fn of(&self, device: DeviceId) -> u64 {
        self.0.get(&device).copied().unwrap_or(0)
    }

    /// Notes that a series is held up to a number.
    pub fn raise(&mut self, id: EventId) {
        let head = self.0.entry(id.device).or_insert(0);
        *head = id.seq.max(*head);
    }

    /// Every series held, with its head.
    pub fn iter(&self) -> impl Iterator<Item = EventId> {
        self.0.iter().map(|(device, seq)| EventId { device: *device, seq: *seq })
    }

    /// What the other side holds and this side lacks.
    #[must_use]
    pub fn missing(&self, theirs: &Self) -> Vec<Stretch> {
        let lacking = theirs.iter().filter(|head| head.seq > self.of(head.device));
        lacking.map(|head| Stretch { device: head.device, from: self.of(head.device) + 1, to: head.seq }).collect()
    }
}

/// The end of one series, as far as it is held.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SeriesEnd {
    /// Its last number.
    pub seq: u64,
    /// The hash of that event.
    pub hash: String,
    /// Its height.
    pub height: u64,
}

/// What an entry is to the series it claims to continue.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotNext {
    /// Held already: nothing to do.
    #[error("event {0} is held already")]
    Held(EventId),
    /// Events before it are not held.
    #[error("event {got} came before {wanted}: send the series without a gap")]
    Gap {
        /// What came.
        got: EventId,
        /// What is wanted next.
        wanted: EventId,
    },
    /// It does not stand on what is held: the series was written twice.
    #[error("event {0} does not stand on the event held before it: its device's series was written twice")]
    Fork(EventId),
    /// Its height is not the next above what it stands on.
    #[error("event {0} does not stand next above what it has seen: its device must write it again")]
    Height(EventId),
}

/// Whether an entry is the next of its series.
///
/// # Errors
/// [`NotNext`] for anything else. One below the end is [`NotNext::Held`]: the log compares its bytes.
pub fn is_next(end: Option<&SeriesEnd>, entry: &Entry) -> Result<(), NotNext> {
    let seq = end.map_or(0, |end| end.seq);
    if entry.id.seq <= seq {
        return Err(NotNext::Held(entry.id));
    }
    if entry.id.seq != seq + 1 {
        return Err(NotNext::Gap { got: entry.id, wanted: EventId { seq: seq + 1, ..entry.id } });
    }
    if entry.previous.as_ref() != end.map(|end| &end.hash) {
        return Err(NotNext::Fork(entry.id));
    }
    if entry.height <= end.map_or(0, |end| end.height) {
        return Err(NotNext::Height(entry.id));
    }
    Ok(())
}

/// Whether an entry stands on what is held: every head it names is here, and its height is one more than the greatest of
/// theirs and of the event before it. Without this a device might place its events where it likes in the order, or so
/// high that no number is left above.
///
/// # Errors
/// [`NotNext::Gap`] for a head that is not here, [`NotNext::Height`] for another height.
pub fn stands(
    end: Option<&SeriesEnd>,
    entry: &Entry,
    height_of: impl Fn(EventId) -> Option<u64>,
) -> Result<(), NotNext> {
    let mut below = end.map_or(0, |end| end.height);
    for head in &entry.seen {
        let height = height_of(*head).ok_or(NotNext::Gap { got: entry.id, wanted: *head })?;
        below = height.max(below);
    }
    if below.checked_add(1) == Some(entry.height) { Ok(()) } else { Err(NotNext::Height(entry.id)) }
}

/// What a device's next event stands on.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Frontier {
    own: Option<SeriesEnd>,
    others: BTreeMap<DeviceId, u64>,
    height: u64,
}

impl Frontier {
    /// What a device's next event stands on that holds these series: all their ends count as seen.
    #[must_use]
    pub fn resume(here: DeviceId, ends: impl IntoIterator<Item = (DeviceId, SeriesEnd)>) -> Self {
        let mut frontier = Self::default();
        for (device, end) in ends {
            frontier.height = frontier.height.max(end.height);
            if device == here {
                frontier.own = Some(end);
            } else {
                frontier.others.insert(device, end.seq);
            }
        }
        frontier
    }

    /// Notes an event that this device now holds: written here or received.
    pub fn note(&mut self, here: DeviceId, entry: &Entry) {
        for head in &entry.seen {
            if self.others.get(&head.device).is_some_and(|seq| *seq <= head.seq) {
                self.others.remove(&head.device);
            }
        }
        if entry.id.device == here {
            // One that comes back from elsewhere does not turn the series back.
            if self.own.as_ref().is_none_or(|own| own.seq < entry.id.seq) {
                self.own = Some(SeriesEnd { seq: entry.id.seq, hash: entry.hash.clone(), height: entry.height });
            }
        } else {
            let head = self.others.entry(entry.id.device).or_insert(0);
            *head = entry.id.seq.max(*head);
        }
        self.height = self.height.max(entry.height);
    }

    /// The next event of this device.
    #[must_use]
    pub fn next(&self, here: DeviceId, author: PersonId, at: Moment, payload: Payload) -> Event {
        Event {
            id: EventId { device: here, seq: self.own.as_ref().map_or(1, |own| own.seq + 1) },
            previous: self.own.as_ref().map(|own| own.hash.clone()),
            seen: self.others.iter().map(|(device, seq)| EventId { device: *device, seq: *seq }).collect(),
            height: self.height + 1,
            author,
            at,
            payload,
        }
    }
}
