//! Commands tried out one after another on what is known: all that stand are written at once, or nothing is.

use std::{
    collections::BTreeSet,
    sync::{Arc, PoisonError},
};

use muster_core::{
    calendar::Moment,
    catalogue::Catalogue,
    record::{
        decide::{Actor, Command, Refusal, World, decide_for},
        event::Event,
        heads::Frontier,
        id::{EventId, PersonId},
        known::Known,
        machine_state::MachineState,
        payload::Subject,
    },
};

use super::{Keeper, NotDone};
use crate::store::{ReadEvent, StoreError};

/// What would be known if some commands were carried out.
pub struct Trial<'k> {
    keeper: &'k Keeper,
    person: &'k PersonId,
    known: Known,
    frontier: Frontier,
    batch: Vec<ReadEvent>,
    written: Vec<Event>,
}

/// Where a trial stood.
pub struct Mark {
    known: Known,
    frontier: Frontier,
    events: usize,
}

impl Keeper {
    /// Tries commands out for a person and writes what stands at the end, if it is to be kept. Nobody else writes meanwhile.
    ///
    /// # Errors
    /// [`NotDone::Store`] if it cannot be written; nothing was written then.
    pub fn try_out<T>(
        &self,
        person: &PersonId,
        keep: bool,
        work: impl FnOnce(&mut Trial<'_>) -> Result<T, NotDone>,
    ) -> Result<T, NotDone> {
        let mut frontier = self.writer.lock().unwrap_or_else(PoisonError::into_inner);
        let known = self.known();
        let (batch, written) = (Vec::new(), Vec::new());
        let mut trial = Trial { keeper: self, person, known, frontier: frontier.clone(), batch, written };
        let done = work(&mut trial)?;
        let Trial { known, frontier: ahead, batch, written, .. } = trial;
        // What was tried is let go before what is known is changed in place.
        drop(known);
        if keep && !batch.is_empty() {
            self.store.append_read(&Arc::new(batch))?;
            *frontier = ahead;
            self.learn(written)?;
        }
        Ok(done)
    }
}

impl Trial<'_> {
    /// What is known so far, without its machines.
    #[must_use]
    pub fn known(&self) -> Known {
        self.known.of_yard()
    }

    /// The catalogue it judges by.
    #[must_use]
    pub fn catalogue(&self) -> &Catalogue {
        &self.keeper.catalogue
    }

    /// A machine as it would be; none if the yard has no such machine.
    ///
    /// # Errors
    /// [`StoreError`] if its events cannot be read.
    pub fn machine(&mut self, id: &str) -> Result<Option<Arc<MachineState>>, StoreError> {
        if let Some(state) = self.known.machines.get(id) {
            return Ok(Some(state.clone()));
        }
        if !self.known.yard.machines.contains_key(id) {
            return Ok(None);
        }
        let state = self.keeper.folded(id)?;
        self.known.machines.insert(id.to_string(), state.clone());
        Ok(Some(state))
    }

    /// Carries out a command as [`Keeper::act`] would.
    ///
    /// # Errors
    /// [`NotDone`] with the remedy; nothing has changed then.
    pub fn act(&mut self, command: Command, now: Moment) -> Result<Vec<EventId>, NotDone> {
        let machine = command.machine().map(|id| self.machine(&id)).transpose()?.flatten();
        // A person is not erased here: nobody's key has to be kept.
        let kept = BTreeSet::new();
        let world = World {
            catalogue: &self.keeper.catalogue,
            jobs: &self.keeper.jobs,
            state: &self.known.state,
            yard: &self.known.yard,
            machine: machine.as_deref(),
            judged: None,
            kept: &kept,
            // No tag is tried.
            hung_on: None,
        };
        let payloads = decide_for(world, command, Actor { person: self.person, now }, None)?;
        // Let go, so that it is changed in place.
        drop(machine);
        let mark = self.mark();
        let mut ids = Vec::new();
        for payload in payloads {
            let event = self.frontier.next(self.keeper.here.id(), self.person.clone(), now, payload);
            ids.push(event.id);
            if let Err(error) = self.take(event) {
                self.back(mark);
                return Err(error);
            }
        }
        Ok(ids)
    }

    fn take(&mut self, event: Event) -> Result<(), NotDone> {
        if let Some(aside) = self.known.state.would_not_count(&event) {
            return Err(Refusal::Person(aside).into());
        }
        let read = ReadEvent::of(self.keeper.here.sign(event.to_bytes()?))?;
        let again = match event.payload.subject() {
            Subject::Yard => self.known.take_of_yard(&event),
            Subject::Machine(id) => !self.known.take_of_machine(&id, &event, &self.keeper.catalogue),
        };
        // Taking back and revoking turn the record back to its beginning: they are given by themselves.
        if again {
            return Err(Refusal::NotByHand(event.payload.kind()).into());
        }
        self.known.load(&self.keeper.catalogue);
        self.frontier.note(self.keeper.here.id(), read.entry());
        self.batch.push(read);
        self.written.push(event);
        Ok(())
    }

    /// Where it stands.
    #[must_use]
    pub fn mark(&self) -> Mark {
        Mark { known: self.known.clone(), frontier: self.frontier.clone(), events: self.written.len() }
    }

    /// Back to where it stood: what was done since was not done.
    pub fn back(&mut self, mark: Mark) {
        (self.known, self.frontier) = (mark.known, mark.frontier);
        self.batch.truncate(mark.events);
        self.written.truncate(mark.events);
    }
}
