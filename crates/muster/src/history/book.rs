//! The devices of a story, what each knows, and what they write: commands decided by the core, as the keeper does it.

use std::{collections::BTreeMap, sync::Arc};

use muster_core::{
    calendar::Moment,
    catalogue::Catalogue,
    form::Outing,
    hash,
    record::{
        decide::{Actor, Command, Refusal, World, decide_for},
        event::{Entry, Event, NotAnEvent, Signed},
        fold::Applied,
        heads::Frontier,
        id::{DeviceId, EventId, PersonId},
        job::JobKind,
        machine_state::{MachineState, Scope},
        payload::{Payload, Subject},
        yard_state::YardState,
    },
    yard::Yard,
};

use crate::keeper::Device;

/// Why something was not written.
#[derive(Debug, thiserror::Error)]
pub(super) enum NotWritten {
    /// The core refused it.
    #[error(transparent)]
    Refused(#[from] Refusal),
    /// It has no byte form.
    #[error(transparent)]
    Event(#[from] NotAnEvent),
}

/// A yard folded, as a device knows it; cheap to clone.
#[derive(Clone)]
pub(super) struct Known {
    pub(super) state: YardState,
    pub(super) yard: Arc<Yard>,
    machines: BTreeMap<String, Arc<MachineState>>,
}

/// A device of the story.
struct Pen {
    device: Device,
    id: DeviceId,
    frontier: Frontier,
    /// What it knows and has written since it went out of reach.
    alone: Option<Alone>,
}

/// A device out of reach.
struct Alone {
    known: Known,
    pending: Vec<(Event, Signed)>,
    /// How long the log was when it went.
    length: usize,
}

/// The record of a story while it is told.
pub(super) struct Book {
    pub(super) catalogue: Arc<Catalogue>,
    jobs: Vec<JobKind>,
    pens: Vec<Pen>,
    shared: Known,
    log: Vec<Signed>,
    entries: Vec<Entry>,
    by_subject: BTreeMap<String, Vec<Event>>,
}

impl Book {
    pub(super) fn new(catalogue: Arc<Catalogue>, jobs: Vec<JobKind>, devices: Vec<Device>) -> Self {
        let pens = devices.into_iter().map(|device| {
            let id = device.id();
            Pen { device, id, frontier: Frontier::default(), alone: None }
        });
        let shared = Known { state: YardState::default(), yard: Arc::default(), machines: BTreeMap::new() };
        Self {
            catalogue,
            jobs,
            pens: pens.collect(),
            shared,
            log: Vec::new(),
            entries: Vec::new(),
            by_subject: BTreeMap::new(),
        }
    }

    /// The signed events so far, in the order the office received them.
    pub(super) fn into_log(self) -> Vec<Signed> {
        self.log
    }

    pub(super) fn device(&self, pen: usize) -> Option<(DeviceId, [u8; 32])> {
        self.pens.get(pen).map(|pen| (pen.id, pen.device.public()))
    }

    pub(super) fn job_kind(&self, id: &str) -> Option<&JobKind> {
        self.jobs.iter().find(|kind| kind.id == id)
    }

    /// What a device knows.
    pub(super) fn known(&self, pen: usize) -> &Known {
        let alone = self.pens.get(pen).and_then(|pen| pen.alone.as_ref());
        alone.map_or(&self.shared, |alone| &alone.known)
    }

    /// A machine as a device knows it.
    pub(super) fn machine(&self, pen: usize, id: &str) -> Option<&MachineState> {
        self.known(pen).machines.get(id).map(Arc::as_ref)
    }

    /// How far a device's series reaches, as the others know it.
    pub(super) fn last_of(&self, pen: usize) -> u64 {
        let Some(id) = self.pens.get(pen).map(|pen| pen.id) else { return 0 };
        self.entries.iter().rev().find(|entry| entry.id.device == id).map_or(0, |entry| entry.id.seq)
    }

    /// Carries out a command on a device.
    ///
    /// # Errors
    /// [`NotWritten`] with the core's reason; nothing was written then.
    pub(super) fn act(
        &mut self,
        pen: usize,
        command: Command,
        actor: Actor<'_>,
        outing: Option<Outing>,
    ) -> Result<Vec<EventId>, NotWritten> {
        let known = self.known(pen);
        let machine = command.machine().and_then(|id| {
            let state = known.machines.get(&id).cloned();
            state.or_else(|| known.yard.machines.contains_key(&id).then(|| self.fresh(&id, known)))
        });
        let kept = Default::default();
        let world = World {
            catalogue: &self.catalogue,
            jobs: &self.jobs,
            state: &known.state,
            yard: &known.yard,
            machine: machine.as_deref(),
            judged: None,
            kept: &kept,
            // The story knows where it has hung its tags.
            hung_on: None,
        };
        let payloads = decide_for(world, command, actor, outing)?;
        // Held on, it would be copied whole for the event that is taken next.
        drop(machine);
        self.write(pen, payloads, actor.person, actor.now)
    }

    /// Writes what no command decides: how a yard begins.
    pub(super) fn write(
        &mut self,
        pen: usize,
        payloads: Vec<Payload>,
        person: &PersonId,
        now: Moment,
    ) -> Result<Vec<EventId>, NotWritten> {
        let mut written = Vec::new();
        for payload in payloads {
            let Some(own) = self.pens.get_mut(pen) else { continue };
            let event = own.frontier.next(own.id, person.clone(), now, payload);
            let bytes = event.to_bytes()?;
            let entry = entry(&event, &bytes);
            own.frontier.note(own.id, &entry);
            let signed = own.device.sign(bytes);
            written.push(event.id);
            match &mut own.alone {
                Some(Alone { known, pending, .. }) => {
                    let again = known.take(&event, &self.catalogue);
                    pending.push((event, signed));
                    if again {
                        self.fold_alone(pen);
                    }
                }
                None => self.publish(pen, event, signed, entry),
            }
        }
        Ok(written)
    }

    /// A device goes out of reach: from here it knows what it knew, and what it writes itself.
    pub(super) fn leaves(&mut self, pen: usize) {
        let (known, length) = (self.shared.clone(), self.log.len());
        if let Some(own) = self.pens.get_mut(pen) {
            own.alone.get_or_insert(Alone { known, pending: Vec::new(), length });
        }
    }

    /// It comes back: what it wrote is received, and it receives what it missed.
    pub(super) fn returns(&mut self, pen: usize) {
        let Some(own) = self.pens.get_mut(pen) else { return };
        let Some(Alone { pending, length, .. }) = own.alone.take() else { return };
        for entry in self.entries.iter().skip(length) {
            own.frontier.note(own.id, entry);
        }
        for (event, signed) in pending {
            let entry = entry(&event, &signed.event);
            self.publish(pen, event, signed, entry);
        }
    }

    /// An event comes to be known by every device within reach.
    fn publish(&mut self, by: usize, event: Event, signed: Signed, entry: Entry) {
        for (index, pen) in self.pens.iter_mut().enumerate() {
            if index != by && pen.alone.is_none() {
                pen.frontier.note(pen.id, &entry);
            }
        }
        let again = self.shared.take(&event, &self.catalogue);
        let subject = key(&event);
        self.by_subject.entry(subject.clone()).or_default().push(event);
        self.log.push(signed);
        self.entries.push(entry);
        if again {
            let events = self.by_subject.get(&subject).map_or(&[][..], Vec::as_slice);
            self.shared.fold(&subject, events.iter(), &self.catalogue);
        }
    }

    /// Folds again what a device alone knows, where an event of its own reaches behind.
    fn fold_alone(&mut self, pen: usize) {
        let Some(own) = self.pens.get_mut(pen) else { return };
        let Some(Alone { known, pending, length }) = &mut own.alone else { return };
        let Some((last, _)) = pending.last() else { return };
        let subject = key(last);
        let held: std::collections::BTreeSet<EventId> =
            self.entries.iter().take(*length).map(|entry| entry.id).collect();
        let before = self.by_subject.get(&subject).map_or(&[][..], Vec::as_slice);
        let events = before.iter().filter(|event| held.contains(&event.id));
        let own = pending.iter().map(|(event, _)| event).filter(|event| key(event) == subject);
        known.fold(&subject, events.chain(own), &self.catalogue);
    }

    fn fresh(&self, id: &str, known: &Known) -> Arc<MachineState> {
        let scope = Scope { catalogue: &self.catalogue, yard: &known.state };
        Arc::new(MachineState::fold(id, [], scope))
    }
}

impl Known {
    /// Every machine as it is known.
    pub(super) fn machines(&self) -> impl Iterator<Item = &MachineState> {
        self.machines.values().map(Arc::as_ref)
    }

    /// Takes an event; true if its subject has to be folded again.
    fn take(&mut self, event: &Event, catalogue: &Catalogue) -> bool {
        match event.payload.subject() {
            Subject::Yard => {
                let again = self.state.apply(event) == Applied::FoldAgain;
                if !again && is_of_yard(&event.payload) {
                    self.yard = Arc::new(self.state.yard(catalogue).0);
                }
                again
            }
            Subject::Machine(id) => {
                let scope = Scope { catalogue, yard: &self.state };
                let state =
                    self.machines.entry(id).or_insert_with_key(|id| Arc::new(MachineState::fold(id, [], scope)));
                Arc::make_mut(state).apply(event, scope) == Applied::FoldAgain
            }
        }
    }

    fn fold<'e>(&mut self, subject: &str, events: impl Iterator<Item = &'e Event>, catalogue: &Catalogue) {
        if subject.is_empty() {
            self.state = YardState::fold(events);
            self.yard = Arc::new(self.state.yard(catalogue).0);
            return;
        }
        let scope = Scope { catalogue, yard: &self.state };
        self.machines.insert(subject.to_string(), Arc::new(MachineState::fold(subject, events, scope)));
    }
}

fn key(event: &Event) -> String {
    match event.payload.subject() {
        Subject::Yard => String::new(),
        Subject::Machine(id) => id,
    }
}

fn entry(event: &Event, bytes: &str) -> Entry {
    Entry {
        id: event.id,
        hash: hash::of_text(bytes),
        previous: event.previous.clone(),
        seen: event.seen.clone(),
        height: event.height,
        event: None,
    }
}

fn is_of_yard(payload: &Payload) -> bool {
    matches!(
        payload,
        Payload::YardDescribed(_)
            | Payload::SheetAttached(_)
            | Payload::LawAttached(_)
            | Payload::HouseRuleAttached(_)
            | Payload::MachineRegistered(_)
            | Payload::MachineChanged(_)
            | Payload::InstrumentRegistered(_)
            | Payload::InstrumentCompared(_)
            | Payload::ForecastEstimated(_)
    )
}
