//! Machines, folded outside of any lock from events kept in memory, by one asker for all who wait for it.

use std::{
    collections::BTreeMap,
    sync::{Arc, Mutex, PoisonError},
};

use muster_core::record::{
    event::Event,
    machine_state::{MachineState, Scope},
    payload::Subject,
};

use super::{Keeper, events};
use crate::store::StoreError;

/// Most events of a machine kept in memory: some 10 MB, and what a machine writes in five years. One that has more is
/// read from the store each time.
const MOST: usize = 10_000;

/// Machines' events in the order they came, so that one that reaches behind others costs no reading of them all.
#[derive(Default)]
pub(super) struct Machines(Mutex<BTreeMap<String, Held>>);

struct Held {
    events: Arc<Vec<Arc<Event>>>,
    folding: Arc<Mutex<()>>,
}

impl Machines {
    fn with<T>(&self, work: impl FnOnce(&mut BTreeMap<String, Held>) -> T) -> T {
        work(&mut self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// Keeps a machine's events, unless they are too many.
    fn hold(&self, id: &str, events: Vec<Arc<Event>>) {
        let few = events.len() <= MOST;
        let held = Held { events: Arc::new(events), folding: Arc::default() };
        self.with(|machines| few.then(|| machines.insert(id.to_string(), held)));
    }

    /// Notes an event just appended of a machine whose events are kept.
    pub(super) fn note(&self, id: &str, event: &Arc<Event>) {
        self.with(|machines| {
            let Some(held) = machines.get_mut(id) else { return };
            if held.events.len() < MOST {
                Arc::make_mut(&mut held.events).push(event.clone());
            } else {
                machines.remove(id);
            }
        });
    }

    fn folding(&self, id: &str) -> Option<Arc<Mutex<()>>> {
        self.with(|machines| machines.get(id).map(|held| held.folding.clone()))
    }

    fn events(&self, id: &str) -> Option<Arc<Vec<Arc<Event>>>> {
        self.with(|machines| machines.get(id).map(|held| held.events.clone()))
    }
}

impl Keeper {
    /// One machine, folded; none if the yard has no such machine.
    ///
    /// # Errors
    /// [`StoreError`] if its events cannot be read.
    pub fn machine(&self, id: &str) -> Result<Option<Arc<MachineState>>, StoreError> {
        if let Some(state) = self.at_hand(id) {
            return Ok(Some(state));
        }
        if !self.known().yard.machines.contains_key(id) {
            return Ok(None);
        }
        if let Some(state) = self.folded_from_memory(id) {
            return Ok(Some(state));
        }
        // Read under the writer's lock, so that no event slips in between reading and keeping.
        let _writing = self.writer.lock().unwrap_or_else(PoisonError::into_inner);
        self.folded(id).map(Some)
    }

    /// One machine's state, folded if it is not known. The writer's lock is held.
    pub(super) fn folded(&self, id: &str) -> Result<Arc<MachineState>, StoreError> {
        if let Some(state) = self.at_hand(id).or_else(|| self.folded_from_memory(id)) {
            return Ok(state);
        }
        let events: Vec<Arc<Event>> =
            events(&*self.store, &Subject::Machine(id.to_string()))?.into_iter().map(Arc::new).collect();
        let state = {
            let yard = self.known().state;
            let scope = Scope { catalogue: &self.catalogue, yard: &yard };
            Arc::new(MachineState::fold(id, events.iter().map(|event| &**event), scope))
        };
        self.machines.hold(id, events);
        let mut known = self.known.write().unwrap_or_else(PoisonError::into_inner);
        known.machines.insert(id.to_string(), state.clone());
        Ok(state)
    }

    fn at_hand(&self, id: &str) -> Option<Arc<MachineState>> {
        self.known.read().unwrap_or_else(PoisonError::into_inner).machines.get(id).cloned()
    }

    /// Folds a machine whose events are kept in memory; others who ask for it meanwhile wait and share what comes of it.
    fn folded_from_memory(&self, id: &str) -> Option<Arc<MachineState>> {
        let folding = self.machines.folding(id)?;
        let _folding = folding.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(state) = self.at_hand(id) {
            return Some(state);
        }
        let (events, yard) = {
            let known = self.known.read().unwrap_or_else(PoisonError::into_inner);
            (self.machines.events(id)?, known.state.clone())
        };
        let scope = Scope { catalogue: &self.catalogue, yard: &yard };
        let state = Arc::new(MachineState::fold(id, events.iter().map(|event| &**event), scope));
        let mut known = self.known.write().unwrap_or_else(PoisonError::into_inner);
        // True of the moment it was asked at; known to others only if nothing was written meanwhile.
        let same = |now: Arc<Vec<Arc<Event>>>| Arc::ptr_eq(&now, &events);
        if Arc::ptr_eq(&known.state, &yard) && self.machines.events(id).is_some_and(same) {
            known.machines.insert(id.to_string(), state.clone());
        }
        Some(state)
    }
}
