//! Events other devices wrote: kept if they are true and next in their series, whatever they say.

use std::{collections::BTreeMap, sync::PoisonError};

use muster_core::record::{
    event::{Entry, Signed},
    heads::{NotNext, SeriesEnd, is_next, stands},
    id::{DeviceId, EventId},
    payload::Payload,
};
use muster_wire::sync::{Fate, Received};

use super::{Keeper, hex, is_true};
use crate::store::StoreError;

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
        let mut frontier = self.writer.lock().unwrap_or_else(PoisonError::into_inner);
        let mut ends: BTreeMap<DeviceId, SeriesEnd> = self.store.series_ends()?.into_iter().collect();
        let known = self.known();
        let mut keys: BTreeMap<DeviceId, String> =
            known.state.devices.iter().map(|(id, device)| (*id, device.key.clone())).collect();
        keys.extend(anchor.map(|key| (DeviceId::of_key(&key), hex(&key))));
        let mut heights = BTreeMap::new();
        let (mut fates, mut kept, mut entries) = (Vec::new(), Vec::new(), Vec::new());
        for signed in batch {
            let fate = match Entry::read(&signed.event) {
                Err(error) => Fate::Refused { id: None, why: error.to_string() },
                Ok(entry) => {
                    let fate = self.looked(signed, &entry, (&ends, &heights), &keys)?;
                    let out = entry.event.as_ref().filter(|_| door).and_then(|event| known.state.kept_out(event));
                    let fate = match (fate, out) {
                        (Fate::Kept { id }, Some(why)) => Fate::Refused { id: Some(id), why: why.to_string() },
                        (fate, _) => fate,
                    };
                    if matches!(fate, Fate::Kept { .. }) {
                        let end = SeriesEnd { seq: entry.id.seq, hash: entry.hash.clone(), height: entry.height };
                        ends.insert(entry.id.device, end);
                        heights.insert(entry.id, entry.height);
                        // A device added within the batch may write in it.
                        if let Some(Payload::DeviceAdded(of)) = entry.event.as_ref().map(|event| &event.payload) {
                            keys.entry(of.device).or_insert_with(|| of.key.clone());
                        }
                        kept.push(signed.clone());
                        entries.push(entry);
                    }
                    fate
                }
            };
            fates.push(fate);
        }
        // Let go before learning, so that what is known is changed in place and not copied.
        drop(known);
        self.store.append(&kept)?;
        for entry in &entries {
            frontier.note(self.here(), entry);
        }
        let events: Vec<_> = entries.into_iter().filter_map(|entry| entry.event).collect();
        self.learn(events)?;
        Ok(Received { events: fates })
    }

    fn looked(
        &self,
        signed: &Signed,
        entry: &Entry,
        (ends, heights): (&BTreeMap<DeviceId, SeriesEnd>, &BTreeMap<EventId, u64>),
        keys: &BTreeMap<DeviceId, String>,
    ) -> Result<Fate, StoreError> {
        let id = entry.id;
        let refused = |why: String| Ok(Fate::Refused { id: Some(id), why });
        let Some(key) = keys.get(&id.device) else {
            return refused(format!("device {} is not enrolled in this yard: enrol it first", id.device));
        };
        if !is_true(signed, key) {
            return refused(format!("the signature of {id} is not its device's"));
        }
        let end = ends.get(&id.device);
        let height = |head: EventId| match ends.get(&head.device).filter(|end| end.seq == head.seq) {
            Some(end) => Some(end.height),
            None => heights.get(&head).copied().or_else(|| self.height(head)),
        };
        match is_next(end, entry).and_then(|()| stands(end, entry, height)) {
            Ok(()) => Ok(Fate::Kept { id }),
            Err(NotNext::Held(_)) => {
                // Held under the same number: the same, or a series written twice.
                let same = self.store.event(id)?.is_none_or(|held| held.signed.event == signed.event);
                if same { Ok(Fate::Held { id }) } else { refused(NotNext::Fork(id).to_string()) }
            }
            Err(error) => refused(error.to_string()),
        }
    }

    /// The height of an event that is held; none if it is not, or cannot be read: then what names it waits.
    fn height(&self, id: EventId) -> Option<u64> {
        let stored = self.store.event(id).ok().flatten()?;
        Entry::read(&stored.signed.event).ok().map(|entry| entry.height)
    }
}
