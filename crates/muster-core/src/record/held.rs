//! What a device that holds no whole record knows: events it was given, events it wrote, and what they come to.
//!
//! It decides by the same rules as a server, writes the next events of its own series, and takes in what others wrote.
//! Nothing here is signed or stored: that is the shell's.

use alloc::{
    collections::{BTreeMap, BTreeSet},
    string::{String, ToString},
    sync::Arc,
    vec::Vec,
};

use super::{
    decide::{Actor, Command, Refusal, World, decide_for},
    event::{Entry, Event, NotAnEvent},
    heads::{Frontier, Heads, SeriesEnd},
    id::{DeviceId, EventId},
    job::JobKind,
    judged,
    known::Known,
    machine_state::MachineState,
    payload::Subject,
};
use crate::{calendar::Moment, catalogue::Catalogue, form::Outing, judge::Judgement};

/// What a build brings: the catalogue and the kinds of workshop work.
#[derive(Debug)]
pub struct Rules {
    /// The catalogue.
    pub catalogue: Catalogue,
    /// Kinds of workshop work.
    pub jobs: Vec<JobKind>,
}

/// What a device holds.
#[derive(Clone, Debug)]
pub struct Held {
    here: DeviceId,
    frontier: Frontier,
    heads: Heads,
    /// Events by subject, so that one that comes late can be folded where it belongs.
    events: BTreeMap<Subject, Vec<Event>>,
    ids: BTreeSet<EventId>,
    known: Known,
}

/// An event to sign and keep.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unsigned {
    /// The event.
    pub event: Event,
    /// Its one byte form.
    pub bytes: String,
}

/// Why nothing was written.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NotWritten {
    /// The rules refuse it.
    #[error(transparent)]
    Refused(#[from] Refusal),
    /// It takes away what any event may speak of, and this device holds a part of them.
    #[error("this is decided where the whole record is: do it on the server, with signal")]
    NeedsWholeRecord,
    /// It is too large.
    #[error(transparent)]
    Event(#[from] NotAnEvent),
}

impl Held {
    /// What a device holds that was given events up to these ends of series.
    #[must_use]
    pub fn of(
        here: DeviceId,
        ends: impl IntoIterator<Item = (DeviceId, SeriesEnd)>,
        events: impl IntoIterator<Item = Event>,
        rules: &Rules,
    ) -> Self {
        let mut held = Self::unfolded(here, ends, events);
        held.known.load(&rules.catalogue);
        held.fold_machines(rules);
        held
    }

    /// The same before the yard's files are read and any machine is folded, for whoever has no time for all at once:
    /// [`Self::fold_next`] till nothing is left.
    #[must_use]
    pub fn unfolded(
        here: DeviceId,
        ends: impl IntoIterator<Item = (DeviceId, SeriesEnd)>,
        events: impl IntoIterator<Item = Event>,
    ) -> Self {
        let ends: Vec<(DeviceId, SeriesEnd)> = ends.into_iter().collect();
        let mut heads = Heads::default();
        ends.iter().for_each(|(device, end)| heads.raise(EventId { device: *device, seq: end.seq }));
        let (mut by_subject, mut ids) = (BTreeMap::<Subject, Vec<Event>>::new(), BTreeSet::new());
        for event in events {
            if ids.insert(event.id) {
                by_subject.entry(event.payload.subject()).or_default().push(event);
            }
        }
        let none = Vec::new();
        let known = Known::unread(by_subject.get(&Subject::Yard).unwrap_or(&none));
        let frontier = Frontier::resume(here, ends);
        Self { here, frontier, heads, events: by_subject, ids, known }
    }

    /// Reads the yard's files, or folds one machine that is not folded yet; whether there was anything to do.
    pub fn fold_next(&mut self, rules: &Rules) -> bool {
        if self.known.load(&rules.catalogue) {
            return true;
        }
        let folded = &self.known.machines;
        let Some(id) = self.known.yard.machines.keys().find(|id| !folded.contains_key(*id)).cloned() else {
            return false;
        };
        self.fold_machine(&id, rules);
        true
    }

    /// Which device this is.
    #[must_use]
    pub const fn here(&self) -> DeviceId {
        self.here
    }

    /// What is known of the yard.
    #[must_use]
    pub const fn known(&self) -> &Known {
        &self.known
    }

    /// How far each series was taken in: what to ask others for is behind it.
    #[must_use]
    pub const fn heads(&self) -> &Heads {
        &self.heads
    }

    /// One machine, folded; none if the yard has no such machine.
    #[must_use]
    pub fn machine(&self, id: &str) -> Option<&Arc<MachineState>> {
        self.known.machines.get(id)
    }

    /// The machine that a tag of a number hangs on.
    #[must_use]
    pub fn hung_on(&self, number: &str) -> Option<String> {
        let hangs = |state: &&Arc<MachineState>| state.hanging_by(number).is_some();
        self.known.machines.values().find(hangs).map(|state| state.machine.clone())
    }

    /// An event held.
    #[must_use]
    pub fn event(&self, id: EventId) -> Option<&Event> {
        self.events.values().flatten().find(|event| event.id == id)
    }

    /// The events held of a subject.
    pub fn events(&self, subject: &Subject) -> impl Iterator<Item = &Event> {
        self.events.get(subject).into_iter().flatten()
    }

    /// Judges a machine, for an outing or for the one its newest walk-round names.
    #[must_use]
    pub fn judge(&self, id: &str, now: Moment, outing: Option<Outing>, rules: &Rules) -> Option<Judgement> {
        judged::judgement(&rules.catalogue, &self.known.yard, self.machine(id)?, now, outing)
    }

    /// Decides a command and builds the events it becomes. Nothing is known of them yet: sign and keep them, then
    /// [`Self::take`] them.
    ///
    /// # Errors
    /// [`NotWritten`] with the remedy.
    pub fn decide(
        &self,
        command: Command,
        actor: Actor<'_>,
        outing: Option<Outing>,
        rules: &Rules,
    ) -> Result<Vec<Unsigned>, NotWritten> {
        if command.needs_whole_record() {
            return Err(NotWritten::NeedsWholeRecord);
        }
        let machine = command.machine().and_then(|id| self.machine(&id).cloned());
        let hung_on = command.hangs_number().and_then(|number| self.hung_on(number));
        let world = World {
            catalogue: &rules.catalogue,
            jobs: &rules.jobs,
            state: &self.known.state,
            yard: &self.known.yard,
            machine: machine.as_deref(),
            judged: None,
            kept: &BTreeSet::new(),
            hung_on: hung_on.as_deref(),
        };
        let mut frontier = self.frontier.clone();
        let mut written = Vec::new();
        for payload in decide_for(world, command, actor, outing)? {
            let event = frontier.next(self.here, actor.person.clone(), actor.now, payload);
            if let Some(aside) = self.known.state.would_not_count(&event) {
                return Err(Refusal::Person(aside).into());
            }
            let bytes = event.to_bytes()?;
            frontier.note(self.here, &Entry::read(&bytes)?);
            written.push(Unsigned { event, bytes });
        }
        Ok(written)
    }

    /// Takes events in, its own or others'; those held already are passed over. Returns how many were new.
    pub fn take(&mut self, entries: impl IntoIterator<Item = Entry>, rules: &Rules) -> usize {
        let mut new = 0;
        let mut again = BTreeSet::new();
        let mut yard_again = false;
        for entry in entries {
            self.heads.raise(entry.id);
            self.frontier.note(self.here, &entry);
            let Some(event) = entry.event.filter(|event| self.ids.insert(event.id)) else { continue };
            new += 1;
            let subject = event.payload.subject();
            match &subject {
                Subject::Yard => yard_again |= self.known.take_of_yard(&event),
                Subject::Machine(id) => {
                    if !self.known.take_of_machine(id, &event, &rules.catalogue) {
                        again.insert(id.clone());
                    }
                }
            }
            self.events.entry(subject).or_default().push(event);
        }
        self.known.load(&rules.catalogue);
        if yard_again {
            let none = Vec::new();
            self.known = Known::of(self.events.get(&Subject::Yard).unwrap_or(&none), &rules.catalogue);
        }
        again.iter().for_each(|id| _ = self.known.machines.remove(id));
        self.fold_machines(rules);
        new
    }

    /// Folds the machines that are not known.
    fn fold_machines(&mut self, rules: &Rules) {
        let ids: Vec<String> = self.known.yard.machines.keys().cloned().collect();
        for id in ids.into_iter().filter(|id| !self.known.machines.contains_key(id)).collect::<Vec<_>>() {
            self.fold_machine(&id, rules);
        }
    }

    fn fold_machine(&mut self, id: &str, rules: &Rules) {
        let events = self.events.get(&Subject::Machine(id.to_string())).map_or(&[][..], Vec::as_slice);
        self.known.fold(id, events, &rules.catalogue);
    }
}
