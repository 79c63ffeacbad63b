//! Keeps the record: loads, folds, decides by the core, appends, and knows the state without reading it again.

mod admitted;
mod carried;
mod device;
mod estimated;
mod folder;
mod glance;
mod machines;
mod received;
mod sync;
mod taken;
mod trial;

use std::{
    collections::BTreeSet,
    sync::{Arc, Mutex, PoisonError, RwLock},
};

pub use admitted::Keys;
pub use device::{Device, is_true};
pub use estimated::estimate;
pub use folder::{NotOpened, Opened, random};
pub use glance::Glance;
pub use muster_core::hash::{hex, unhex};
use muster_core::{
    calendar::Moment,
    catalogue::Catalogue,
    form::Outing,
    judge::Judgement,
    record::{
        decide::{Actor, Command, Refusal, World, decide_for},
        event::{Entry, Event, NotAnEvent},
        heads::Frontier,
        id::{DeviceId, EventId, PersonId},
        job::JobKind,
        judged,
        known::Known,
        machine_state::MachineState,
        payload::{Payload, Subject},
    },
};
pub use sync::{Ask, NotSynced, Synced, sync};
pub use taken::{NotTaken, taken};
pub use trial::{Mark, Trial};

use crate::store::{ReadEvent, Secrets, Store, StoreError};

/// Where events and secrets are kept together.
pub trait Vault: Store + Secrets {}

impl<T: Store + Secrets> Vault for T {}

/// The record of one yard on this installation: one writer at a time, any number of readers beside it.
pub struct Keeper {
    store: Arc<dyn Vault>,
    catalogue: Arc<Catalogue>,
    jobs: Vec<JobKind>,
    here: Device,
    writer: Mutex<Frontier>,
    known: RwLock<Known>,
    machines: machines::Machines,
    glances: glance::Glances,
    chosen: carried::Chosen,
}

/// Why a command was not carried out.
#[derive(Debug, thiserror::Error)]
pub enum NotDone {
    /// The core refused it.
    #[error(transparent)]
    Refused(#[from] Refusal),
    /// It could not be written down.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// It is too large.
    #[error(transparent)]
    Event(#[from] NotAnEvent),
}

impl Keeper {
    /// Opens a yard's record.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be read.
    pub fn open(
        store: Arc<dyn Vault>,
        catalogue: Arc<Catalogue>,
        jobs: Vec<JobKind>,
        here: Device,
    ) -> Result<Self, StoreError> {
        let writer = Mutex::new(Frontier::resume(here.id(), store.series_ends()?));
        let known = RwLock::new(Known::of(&events(&*store, &Subject::Yard)?, &catalogue));
        Ok(Self {
            store,
            catalogue,
            jobs,
            here,
            writer,
            known,
            machines: machines::Machines::default(),
            glances: glance::Glances::default(),
            chosen: carried::Chosen::default(),
        })
    }

    /// The catalogue it judges by.
    #[must_use]
    pub fn catalogue(&self) -> &Arc<Catalogue> {
        &self.catalogue
    }

    /// Kinds of workshop work.
    #[must_use]
    pub fn jobs(&self) -> &[JobKind] {
        &self.jobs
    }

    /// This installation's device.
    #[must_use]
    pub fn here(&self) -> DeviceId {
        self.here.id()
    }

    /// Its public key.
    #[must_use]
    pub fn public_key(&self) -> [u8; 32] {
        self.here.public()
    }

    /// Where the events are.
    #[must_use]
    pub fn store(&self) -> &Arc<dyn Vault> {
        &self.store
    }

    /// What is known of the yard now; its machines are asked for by themselves.
    #[must_use]
    pub fn known(&self) -> Known {
        self.known.read().unwrap_or_else(PoisonError::into_inner).of_yard()
    }

    /// Judges a machine now, for an outing or for the one its newest walk-round names; none if there is no such machine.
    ///
    /// # Errors
    /// [`StoreError`] if its events cannot be read.
    pub fn judge(&self, id: &str, now: Moment, outing: Option<Outing>) -> Result<Option<Judgement>, StoreError> {
        Ok(self.machine(id)?.and_then(|state| self.judge_state(&state, now, outing)))
    }

    /// As [`Self::judge`], of a machine as it was asked for; none if the yard has none such any more.
    #[must_use]
    pub fn judge_state(&self, state: &MachineState, now: Moment, outing: Option<Outing>) -> Option<Judgement> {
        judged::judgement(&self.catalogue, &self.known().yard, state, now, outing)
    }

    /// Carries out a command: decided, written, known; in that order.
    ///
    /// # Errors
    /// [`NotDone`] with the remedy; nothing was written then.
    pub fn act(&self, command: Command, person: &PersonId, now: Moment) -> Result<Vec<EventId>, NotDone> {
        self.act_for(command, person, now, None)
    }

    /// As [`Self::act`], judged for an outing.
    ///
    /// # Errors
    /// [`NotDone`] with the remedy; nothing was written then.
    pub fn act_for(
        &self,
        command: Command,
        person: &PersonId,
        now: Moment,
        outing: Option<Outing>,
    ) -> Result<Vec<EventId>, NotDone> {
        let mut frontier = self.writer.lock().unwrap_or_else(PoisonError::into_inner);
        // What was known is let go before writing, so that it is changed in place and not copied.
        let payloads = self.decided(&frontier, command, Actor { person, now }, outing)?;
        self.write(&mut frontier, payloads, person, now)
    }

    /// What a command becomes by what is known now. The writer's lock is held.
    fn decided(
        &self,
        frontier: &Frontier,
        command: Command,
        actor: Actor<'_>,
        outing: Option<Outing>,
    ) -> Result<Vec<Payload>, NotDone> {
        let machine = command.machine().filter(|id| self.known().yard.machines.contains_key(id));
        let machine = machine.map(|id| self.folded(&id)).transpose()?;
        let hung_on = command.hangs_number().map(|number| self.hung_on_folded(number)).transpose()?.flatten();
        let known = self.known();
        let kept = if matches!(command, Command::Erase { .. }) { self.kept(&known)? } else { BTreeSet::new() };
        let world = World {
            catalogue: &self.catalogue,
            jobs: &self.jobs,
            state: &known.state,
            yard: &known.yard,
            machine: machine.as_deref(),
            judged: None,
            kept: &kept,
            hung_on: hung_on.as_deref(),
        };
        let payloads = decide_for(world, command, actor, outing)?;
        for payload in &payloads {
            let event = frontier.next(self.here.id(), actor.person.clone(), actor.now, payload.clone());
            if let Some(aside) = known.state.would_not_count(&event) {
                return Err(Refusal::Person(aside).into());
            }
        }
        Ok(payloads)
    }

    /// Writes what was decided elsewhere by the same rules: how a yard begins, before anybody has a right.
    ///
    /// # Errors
    /// [`NotDone`] if it cannot be written.
    pub fn begin(&self, payloads: Vec<Payload>, person: &PersonId, now: Moment) -> Result<Vec<EventId>, NotDone> {
        let mut frontier = self.writer.lock().unwrap_or_else(PoisonError::into_inner);
        self.write(&mut frontier, payloads, person, now)
    }

    fn write(
        &self,
        frontier: &mut Frontier,
        payloads: Vec<Payload>,
        person: &PersonId,
        now: Moment,
    ) -> Result<Vec<EventId>, NotDone> {
        let mut ahead = frontier.clone();
        let (mut batch, mut written) = (Vec::new(), Vec::new());
        for payload in payloads {
            let event = ahead.next(self.here.id(), person.clone(), now, payload);
            let bytes = event.to_bytes()?;
            let read = ReadEvent::of(self.here.sign(bytes))?;
            ahead.note(self.here.id(), read.entry());
            batch.push(read);
            written.push(event);
        }
        self.store.append_read(&Arc::new(batch))?;
        *frontier = ahead;
        let ids = written.iter().map(|event| event.id).collect();
        self.learn(written)?;
        Ok(ids)
    }

    /// Brings what is known up to events just appended. The writer's lock is held.
    fn learn(&self, appended: Vec<Event>) -> Result<(), StoreError> {
        let mut yard_again = false;
        {
            let mut known = self.known.write().unwrap_or_else(PoisonError::into_inner);
            for event in appended.into_iter().map(Arc::new) {
                match event.payload.subject() {
                    Subject::Yard => yard_again |= known.take_of_yard(&event),
                    Subject::Machine(id) => {
                        self.machines.note(&id, &event);
                        if !known.take_of_machine(&id, &event, &self.catalogue) {
                            known.machines.remove(&id);
                        }
                    }
                }
            }
            known.load(&self.catalogue);
        }
        if yard_again {
            let again = Known::of(&events(&*self.store, &Subject::Yard)?, &self.catalogue);
            *self.known.write().unwrap_or_else(PoisonError::into_inner) = again;
        }
        Ok(())
    }

    /// The machine that a tag of a number hangs on.
    ///
    /// # Errors
    /// [`StoreError`] if a machine's events cannot be read.
    pub fn hung_on(&self, number: &str) -> Result<Option<String>, StoreError> {
        for id in self.known().yard.machines.keys() {
            if self.machine(id)?.is_some_and(|state| state.hanging_by(number).is_some()) {
                return Ok(Some(id.clone()));
            }
        }
        Ok(None)
    }

    /// As [`Self::hung_on`]. The writer's lock is held.
    fn hung_on_folded(&self, number: &str) -> Result<Option<String>, StoreError> {
        for id in self.known().yard.machines.keys() {
            if self.folded(id)?.hanging_by(number).is_some() {
                return Ok(Some(id.clone()));
            }
        }
        Ok(None)
    }

    /// People of whom an impounded machine's record speaks.
    fn kept(&self, known: &Known) -> Result<BTreeSet<PersonId>, StoreError> {
        let mut kept = BTreeSet::new();
        for id in known.yard.machines.keys() {
            let state = self.folded(id)?;
            if state.is_impounded(&known.yard) {
                kept.extend(state.speaks_of().iter().cloned());
            }
        }
        Ok(kept)
    }
}

/// The events of a subject that this version understands.
fn events(store: &dyn Vault, subject: &Subject) -> Result<Vec<Event>, StoreError> {
    let held = store.subject(subject)?;
    let mut events = Vec::with_capacity(held.len());
    for stored in &held {
        let entry = Entry::read(&stored.signed.event)
            .map_err(|error| StoreError::Damaged { what: format!("event {}: {error}", stored.id) })?;
        events.extend(entry.event);
    }
    Ok(events)
}
