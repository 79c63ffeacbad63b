//! One machine as its events make it: walk-rounds, findings, jobs, parts, tags, releases, and what contradicts itself.

mod contradiction;
mod taking;
mod things;
mod withdrawn;

use alloc::{
    collections::{BTreeMap, BTreeSet},
    string::{String, ToString},
    sync::Arc,
    vec::Vec,
};

use super::{
    event::{Event, Place},
    fold::{Applied, Flag, Forks, in_order},
    id::{EventId, PersonId},
    paper::Papers,
    payload::{Impounded, JobState},
    tag_number,
    walk_rounds::WalkRound,
    yard_state::YardState,
};
use crate::{
    calendar::Moment,
    catalogue::Catalogue,
    form::Form,
    quantity::Distance,
    state::{Heat, Power, Stance, State},
    words::{Depth, Service},
    yard::Yard,
};
pub use contradiction::Contradiction;
pub use things::{FindingState, Job, Part, ReleaseState, Tag};
use withdrawn::{withdrawn, withdraws};

/// What a machine's events are folded against.
#[derive(Clone, Copy, Debug)]
pub struct Scope<'s> {
    /// The catalogue, by which answers are read.
    pub catalogue: &'s Catalogue,
    /// The yard, by which authors and devices are trusted.
    pub yard: &'s YardState,
}

/// One machine, folded.
#[derive(Clone, Debug, PartialEq)]
pub struct MachineState {
    last: Option<Place>,
    withdrawn: BTreeSet<EventId>,
    /// Its fleet number.
    pub machine: String,
    /// Its service state, where an event set one, with that event.
    pub service: Option<(Service, EventId)>,
    /// Why and when it was impounded, while it is.
    pub impounded: Option<(EventId, Impounded)>,
    /// Walk-rounds by their opening; shared by copies of this, for they are most of it and few change.
    pub walk_rounds: BTreeMap<EventId, Arc<WalkRound>>,
    /// Findings, open and closed.
    pub findings: BTreeMap<EventId, FindingState>,
    /// Jobs.
    pub jobs: BTreeMap<EventId, Job>,
    /// Parts, mounted and gone.
    pub parts: BTreeMap<EventId, Part>,
    /// Hold tags, hanging and lifted.
    pub tags: BTreeMap<EventId, Tag>,
    /// Releases, out and back.
    pub releases: BTreeMap<EventId, ReleaseState>,
    /// Photos: what they show, hash, size.
    pub photos: BTreeMap<EventId, super::payload::PhotoAttached>,
    /// Photos removed by the house rule, by their attaching: when, and by which rule.
    pub photos_removed: BTreeMap<EventId, (Moment, String)>,
    /// Papers printed about it.
    pub papers: Papers,
    /// Calls noted where it was out against a tag: tagging and release, and what was answered.
    pub calls: BTreeMap<(EventId, EventId), String>,
    /// Taggings and untaggings, each with its place in the order and the last of them its author knew.
    taggings: BTreeMap<EventId, (Place, Option<EventId>)>,
    /// Odometer figures noted by themselves.
    pub odometers: BTreeSet<EventId>,
    /// The last release or return.
    pub last_release: Option<EventId>,
    /// Events that name the same predecessor.
    pub forks: Forks,
    /// Contradictions a person has settled.
    pub settled: BTreeSet<BTreeSet<EventId>>,
    /// Events kept and not trusted, or that make no sense here.
    pub flags: Vec<Flag>,
    people: BTreeSet<PersonId>,
    books: Form,
}

impl MachineState {
    /// Folds a machine's events, in whatever order they come.
    #[must_use]
    pub fn fold<'e>(machine: &str, events: impl IntoIterator<Item = &'e Event>, scope: Scope<'_>) -> Self {
        let events = in_order(events);
        let mut state = Self::new(machine);
        state.withdrawn = withdrawn(&events, scope);
        for event in events {
            state.take(event, scope);
        }
        state
    }

    /// Takes one event more. [`Applied::FoldAgain`] if it stands before one taken already or takes one back: then nothing
    /// has changed.
    pub fn apply(&mut self, event: &Event, scope: Scope<'_>) -> Applied {
        if self.last.is_some_and(|last| event.place() <= last) || withdraws(event).is_some() {
            return Applied::FoldAgain;
        }
        self.take(event, scope);
        Applied::Taken
    }

    fn new(machine: &str) -> Self {
        Self {
            last: None,
            withdrawn: BTreeSet::new(),
            machine: machine.to_string(),
            service: None,
            impounded: None,
            walk_rounds: BTreeMap::new(),
            findings: BTreeMap::new(),
            jobs: BTreeMap::new(),
            parts: BTreeMap::new(),
            tags: BTreeMap::new(),
            releases: BTreeMap::new(),
            photos: BTreeMap::new(),
            photos_removed: BTreeMap::new(),
            papers: Papers::default(),
            calls: BTreeMap::new(),
            taggings: BTreeMap::new(),
            odometers: BTreeSet::new(),
            last_release: None,
            forks: Forks::default(),
            settled: BTreeSet::new(),
            flags: Vec::new(),
            people: BTreeSet::new(),
            books: books(machine),
        }
    }

    /// Its walk-rounds as the judge takes them, with one more that holds what happened outside of any: older than all, so
    /// that it is never taken for a look.
    #[must_use]
    pub fn forms(&self) -> Vec<&Form> {
        [&self.books].into_iter().chain(self.walk_rounds.values().map(|walk_round| &walk_round.form)).collect()
    }

    /// What happened outside of any walk-round, as of a moment at the latest: that it was written is known, whatever the
    /// clock of its device said.
    pub(super) fn books_by(&self, now: Moment) -> Form {
        let mut books = self.books.clone();
        let past = |at: &mut Moment| *at = (*at).min(now);
        books.findings.iter_mut().for_each(|finding| past(&mut finding.at));
        books.closes.iter_mut().for_each(|close| past(&mut close.at));
        books.events.iter_mut().for_each(|ended| past(&mut ended.at));
        books
    }

    /// Everybody its record speaks of: who wrote it, who rode, whose name is sealed in it. While it is impounded their keys
    /// stay.
    #[must_use]
    pub const fn speaks_of(&self) -> &BTreeSet<PersonId> {
        &self.people
    }

    /// Whether it is impounded: by an event, or by its file where no event says otherwise.
    #[must_use]
    pub fn is_impounded(&self, yard: &Yard) -> bool {
        let by_file = || yard.machines.get(&self.machine).map(|machine| machine.service);
        self.impounded.is_some() || self.service.is_none() && by_file() == Some(Service::Impounded)
    }

    /// Whether an event was taken back as written in error.
    #[must_use]
    pub fn is_withdrawn(&self, event: EventId) -> bool {
        self.withdrawn.contains(&event)
    }

    /// Tags that hang.
    pub fn hanging(&self) -> impl Iterator<Item = (EventId, &Tag)> {
        self.tags.iter().filter(|(_, tag)| tag.lifted.is_none()).map(|(id, tag)| (*id, tag))
    }

    /// The tag of a number that hangs on it.
    #[must_use]
    pub fn hanging_by(&self, number: &str) -> Option<(EventId, &Tag)> {
        self.hanging().find(|(_, tag)| tag.hung.number.as_deref().is_some_and(|own| tag_number::is_same(own, number)))
    }

    /// Releases that are out.
    pub fn out(&self) -> impl Iterator<Item = (EventId, &ReleaseState)> {
        self.releases.iter().filter(|(_, release)| release.returned.is_none()).map(|(id, release)| (*id, release))
    }

    /// Findings that are open.
    pub fn open_findings(&self) -> impl Iterator<Item = (EventId, &FindingState)> {
        self.findings.iter().filter(|(_, finding)| finding.closed.is_none()).map(|(id, finding)| (*id, finding))
    }

    /// Jobs that are not proven.
    pub fn unproven(&self) -> impl Iterator<Item = (EventId, &Job)> {
        self.jobs.iter().filter(|(_, job)| job.state.0 != JobState::Proven).map(|(id, job)| (*id, job))
    }

    /// When it last came back.
    #[must_use]
    pub fn last_return(&self) -> Option<Moment> {
        self.books.ridden
    }

    /// The greatest odometer figure noted outside of walk-rounds and in them.
    #[must_use]
    pub fn odometer(&self) -> Option<Distance> {
        let known = self.forms().into_iter().filter_map(|form| form.odometer);
        known.max_by(|a, b| a.km().total_cmp(&b.km()))
    }

    /// The last tagging or untagging.
    #[must_use]
    pub fn last_tagging(&self) -> Option<EventId> {
        self.taggings.iter().max_by_key(|(_, (place, _))| *place).map(|(id, _)| *id)
    }
}

/// What happened outside of any walk-round.
fn books(machine: &str) -> Form {
    Form {
        machine: machine.to_string(),
        depth: Depth::BeforeRide,
        by: String::new(),
        opened: Moment::FIRST,
        closed: None,
        odometer: None,
        air: None,
        barometer: None,
        ridden: None,
        no_hold_tag: None,
        key_on_hook: None,
        found: State { heat: Heat::Cold, power: Power::Off, stance: Stance::SideStand },
        outing: None,
        answers: Vec::new(),
        findings: Vec::new(),
        closes: Vec::new(),
        events: Vec::new(),
    }
}
