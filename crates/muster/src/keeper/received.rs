//! Events other devices wrote: kept if they are true and next in their series, whatever they say.

use std::{
    collections::{BTreeMap, btree_map},
    sync::{Arc, PoisonError},
};

use muster_core::record::{
    event::{Entry, NotAnEvent, Signed},
    heads::{NotNext, SeriesEnd, is_next, stands},
    id::{DeviceId, EventId},
    payload::Payload,
    yard_state::YardState,
};
use muster_wire::sync::{Fate, Received};

use super::{Keeper, device::Key, hex, is_true};
use crate::{
    cores::on_every_core,
    store::{ReadEvent, StoreError},
};

/// Events from which on verifying them on several cores is worth it: a signature takes some 50 microseconds.
const WORTH: usize = 8;

impl Keeper {
    /// Takes in a batch that other devices wrote. What is true and next in its series is kept, in one transaction; after
    /// the first refusal in a series the rest of that series waits. What a device people share says of people and devices
    /// is kept out here, at the door.
    ///
    /// # Errors
    /// [`StoreError`] if nothing could be written.
    pub fn receive(&self, batch: &[Signed]) -> Result<Received, StoreError> {
        self.take_in(batch, None, true)
    }

    /// As [`Self::receive`], from a server this installation goes by: what that took in is taken in here. One key more may be
    /// trusted beside those of the record: how an installation that holds nothing yet begins.
    ///
    /// # Errors
    /// [`StoreError`] if nothing could be written.
    pub fn receive_from(&self, batch: &[Signed], anchor: Option<[u8; 32]>) -> Result<Received, StoreError> {
        self.take_in(batch, anchor, false)
    }

    fn take_in(&self, batch: &[Signed], anchor: Option<[u8; 32]>, door: bool) -> Result<Received, StoreError> {
        let anchor = anchor.map(|key| (DeviceId::of_key(&key), hex(&key)));
        // Reading and verifying are most of the work, and wait for nobody.
        let seen = {
            let yard = self.known().state;
            let trust = Trust { yard: &yard, anchor: anchor.as_ref(), added: BTreeMap::new() };
            on_every_core(batch, WORTH, |part| seen(part, &trust))
        };
        let mut frontier = self.writer.lock().unwrap_or_else(PoisonError::into_inner);
        let known = self.known();
        let mut taking = Taking {
            keeper: self,
            trust: Trust { yard: &known.state, anchor: anchor.as_ref(), added: BTreeMap::new() },
            ends: BTreeMap::new(),
            heights: BTreeMap::new(),
        };
        let (mut fates, mut kept) = (Vec::new(), Vec::new());
        for Seen { read, verified } in seen {
            fates.push(match read {
                Err(error) => Fate::Refused { id: None, why: error.to_string() },
                Ok(read) => {
                    let entry = read.entry();
                    let fate = taking.looked(&read, verified)?;
                    let out = entry.event.as_ref().filter(|_| door).and_then(|event| known.state.kept_out(event));
                    match (fate, out) {
                        (Fate::Kept { id }, Some(why)) => Fate::Refused { id: Some(id), why: why.to_string() },
                        (fate @ Fate::Kept { .. }, None) => {
                            taking.note(entry);
                            kept.push(read);
                            fate
                        }
                        (fate, _) => fate,
                    }
                }
            });
        }
        // Let go before learning, so that what is known is changed in place and not copied.
        drop(known);
        let kept = Arc::new(kept);
        self.store.append_read(&kept)?;
        let entries: Vec<Entry> = match Arc::try_unwrap(kept) {
            Ok(kept) => kept.into_iter().map(ReadEvent::into_entry).collect(),
            Err(kept) => kept.iter().map(|read| read.entry().clone()).collect(),
        };
        for entry in &entries {
            frontier.note(self.here(), entry);
        }
        self.learn(entries.into_iter().filter_map(|entry| entry.event).collect())?;
        Ok(Received { events: fates })
    }

    /// The height of an event that is held; none if it is not, or cannot be read: then what names it waits.
    fn height(&self, id: EventId) -> Option<u64> {
        let stored = self.store.event(id).ok().flatten()?;
        Entry::read(&stored.signed.event).ok().map(|entry| entry.height)
    }
}

/// Whose signatures count.
struct Trust<'t> {
    yard: &'t YardState,
    anchor: Option<&'t (DeviceId, String)>,
    /// Devices added within the batch may write in it.
    added: BTreeMap<DeviceId, String>,
}

impl Trust<'_> {
    fn key(&self, device: DeviceId) -> Option<&str> {
        let anchor = self.anchor.filter(|(of, _)| *of == device).map(|(_, key)| key);
        let known = || self.yard.devices.get(&device).map(|known| &known.key);
        anchor.or_else(known).or_else(|| self.added.get(&device)).map(String::as_str)
    }
}

/// An event of a batch, read and verified as far as it could be before its turn to be taken in.
struct Seen {
    read: Result<ReadEvent, NotAnEvent>,
    /// The key it was verified by, and whether that made its signature.
    verified: Option<(String, bool)>,
}

/// Reads and verifies a part of a batch.
fn seen(batch: &[Signed], trust: &Trust<'_>) -> Vec<Seen> {
    // Batches are mostly of one device, and making its key ready costs a third of a signature.
    let mut last: Option<(DeviceId, String, Option<Key>)> = None;
    let mut each = |signed: &Signed| {
        let read = ReadEvent::of(signed.clone());
        let Some(device) = read.as_ref().ok().map(|read| read.entry().id.device) else {
            return Seen { read, verified: None };
        };
        if last.as_ref().is_none_or(|(of, ..)| *of != device) {
            last = trust.key(device).map(|text| (device, text.to_string(), Key::of(text)));
        }
        let by = last.as_ref().filter(|(of, ..)| *of == device);
        let made = |key: &Option<Key>| key.as_ref().is_some_and(|key| key.made(signed));
        Seen { read, verified: by.map(|(_, text, key)| (text.clone(), made(key))) }
    };
    batch.iter().map(&mut each).collect()
}

/// A batch being taken in. The writer's lock is held.
struct Taking<'t> {
    keeper: &'t Keeper,
    trust: Trust<'t>,
    /// Of the series looked at so far.
    ends: BTreeMap<DeviceId, Option<SeriesEnd>>,
    heights: BTreeMap<EventId, u64>,
}

impl Taking<'_> {
    fn looked(&mut self, read: &ReadEvent, verified: Option<(String, bool)>) -> Result<Fate, StoreError> {
        let (entry, id) = (read.entry(), read.entry().id);
        let refused = |why: String| Ok(Fate::Refused { id: Some(id), why });
        let Some(key) = self.trust.key(id.device) else {
            return refused(format!("device {} is not enrolled in this yard: enrol it first", id.device));
        };
        let is_true = match verified {
            Some((by, made)) if by == key => made,
            // Its key has come or changed since.
            _ => is_true(read.signed(), key),
        };
        if !is_true {
            return refused(format!("the signature of {id} is not its device's"));
        }
        for device in entry.seen.iter().map(|head| head.device).chain([id.device]) {
            if let btree_map::Entry::Vacant(free) = self.ends.entry(device) {
                free.insert(self.keeper.store.series_end(device)?);
            }
        }
        let end = |device: DeviceId| self.ends.get(&device).and_then(Option::as_ref);
        let height = |head: EventId| match end(head.device).filter(|end| end.seq == head.seq) {
            Some(end) => Some(end.height),
            None => self.heights.get(&head).copied().or_else(|| self.keeper.height(head)),
        };
        match is_next(end(id.device), entry).and_then(|()| stands(end(id.device), entry, height)) {
            Ok(()) => Ok(Fate::Kept { id }),
            Err(NotNext::Held(_)) => {
                // Held under the same number: the same, or a series written twice.
                let held = self.keeper.store.event(id)?;
                let same = held.is_none_or(|held| held.signed.event == read.signed().event);
                if same { Ok(Fate::Held { id }) } else { refused(NotNext::Fork(id).to_string()) }
            }
            Err(error) => refused(error.to_string()),
        }
    }

    /// Notes one that is kept: what comes after it in the batch may stand on it.
    fn note(&mut self, entry: &Entry) {
        let end = SeriesEnd { seq: entry.id.seq, hash: entry.hash.clone(), height: entry.height };
        self.ends.insert(entry.id.device, Some(end));
        self.heights.insert(entry.id, entry.height);
        if let Some(Payload::DeviceAdded(of)) = entry.event.as_ref().map(|event| &event.payload) {
            self.trust.added.entry(of.device).or_insert_with(|| of.key.clone());
        }
    }
}
