//! What phones carry of the record, chosen once for each state of a machine.

use std::{
    collections::BTreeMap,
    sync::{Arc, Mutex, PoisonError, Weak},
};

use muster_core::{
    calendar::Moment,
    record::{
        carried,
        event::{Entry, Event},
        id::EventId,
        machine_state::MachineState,
        payload::Subject,
    },
};
use muster_wire::sync::{Carried, End};

use super::Keeper;
use crate::store::StoreError;

/// Bytes of events chosen, by machine, with the state they were chosen by.
#[derive(Default)]
pub(super) struct Chosen(Mutex<BTreeMap<String, OfMachine>>);

type OfMachine = (Weak<MachineState>, Arc<Vec<String>>);

impl Keeper {
    /// What a phone carries of the record at a moment; names are the asker's to add.
    ///
    /// # Errors
    /// [`StoreError`] if events cannot be read.
    pub fn carried(&self, now: Moment) -> Result<Carried, StoreError> {
        // Read before the events: what is written meanwhile is then sent twice, which does no harm, and never left out.
        let ends = self.store.series_ends()?.into_iter().map(End::from).collect();
        let known = self.known();
        let (events, texts) = self.read(&Subject::Yard)?;
        let mut chosen = told(carried::of_yard(&known.state, &events, now), texts);
        for id in known.yard.machines.keys() {
            chosen.extend(self.carried_of(id)?.iter().cloned());
        }
        Ok(Carried { catalogue: self.catalogue.hash.clone(), ends, events: chosen, names: BTreeMap::new() })
    }

    fn carried_of(&self, id: &str) -> Result<Arc<Vec<String>>, StoreError> {
        let Some(state) = self.machine(id)? else { return Ok(Arc::default()) };
        let is_its = |(of, _): &&OfMachine| of.upgrade().is_some_and(|of| Arc::ptr_eq(&of, &state));
        let chosen = || self.chosen.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, texts)) = chosen().get(id).filter(is_its) {
            return Ok(texts.clone());
        }
        let (events, texts) = self.read(&Subject::Machine(id.to_string()))?;
        let texts = Arc::new(told(carried::of_machine(&state, &events), texts));
        chosen().insert(id.to_string(), (Arc::downgrade(&state), texts.clone()));
        Ok(texts)
    }

    /// A subject's events that this version understands, and their bytes.
    fn read(&self, subject: &Subject) -> Result<(Vec<Event>, BTreeMap<EventId, String>), StoreError> {
        let (mut events, mut texts) = (Vec::new(), BTreeMap::new());
        for stored in self.store.subject(subject)? {
            let entry = Entry::read(&stored.signed.event)
                .map_err(|error| StoreError::Damaged { what: format!("event {}: {error}", stored.id) })?;
            events.extend(entry.event);
            texts.insert(stored.id, stored.signed.event);
        }
        Ok((events, texts))
    }
}

fn told(events: Vec<&Event>, mut texts: BTreeMap<EventId, String>) -> Vec<String> {
    events.into_iter().filter_map(|event| texts.remove(&event.id)).collect()
}
