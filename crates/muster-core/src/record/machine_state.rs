//! One machine as its events make it: walk-rounds, findings, jobs, parts, tags, releases, and what contradicts itself.

use alloc::{
    collections::{BTreeMap, BTreeSet},
    string::{String, ToString},
    vec::Vec,
};

use super::{
    event::{Event, Place},
    fold::{Applied, Aside, Flag, Forks, in_order},
    id::{EventId, PersonId},
    payload::{
        FindingClassed, FindingRaised, Impounded, JobMoved, JobOpened, JobProven, JobState, ObservationMade,
        PartMounted, Payload, ReadingTaken, Released, Returned, Right, Role, ServiceChanged, Tagged,
    },
    rights,
    walk_rounds::WalkRound,
    yard_state::{Standing, YardState},
};
use crate::{
    calendar::Moment,
    catalogue::Catalogue,
    form::{Close, Event as Ended, Finding, Form},
    quantity::{Distance, Kind as Quantity, text, text::DecimalSign},
    sorted,
    state::{Heat, Power, Stance, State},
    words::{Class, Depth, Ending, Service, Uses},
    yard::Yard,
};

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
    /// Walk-rounds by their opening.
    pub walk_rounds: BTreeMap<EventId, WalkRound>,
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

/// A finding.
#[derive(Clone, Debug, PartialEq)]
pub struct FindingState {
    /// As it was raised.
    pub raised: FindingRaised,
    /// Who, and when.
    pub by: (PersonId, Moment),
    /// How grave it is now.
    pub class: Class,
    /// What closed it, if it is closed.
    pub closed: Option<EventId>,
}

/// Workshop work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Job {
    /// As it was opened.
    pub opened: JobOpened,
    /// Its state, and the event that set it.
    pub state: (JobState, EventId),
    /// When it was last done: answers that prove it come after.
    pub done: Option<(Place, Moment)>,
}

impl Job {
    /// Whether something was written after the work was done: by the order, whatever its clock says, and by its clock, as
    /// the judge takes answers by theirs.
    #[must_use]
    pub fn is_since_done(&self, place: Place, at: Moment) -> bool {
        self.done.is_some_and(|(done, done_at)| place > done && at >= done_at)
    }
}

/// A part and its life.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// As it was mounted.
    pub mounted: PartMounted,
    /// The event that took it off: a removal, or the mounting of its successor.
    pub removed: Option<EventId>,
}

/// A hold tag.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tag {
    /// As it was hung.
    pub hung: Tagged,
    /// Who, and when.
    pub by: (PersonId, Moment),
    /// The untagging that named it; none while it hangs.
    pub lifted: Option<EventId>,
}

/// A release.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReleaseState {
    /// As it was signed.
    pub released: Released,
    /// Who signed, and when.
    pub by: (PersonId, Moment),
    /// Its return; none while it is out.
    pub returned: Option<(EventId, Returned)>,
}

/// Two things in the record that cannot both be; a person has to look.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Contradiction {
    /// It is out and a tag hangs: call the rider, note the answer.
    OutAgainstTag {
        /// The tagging.
        tag: EventId,
        /// The release.
        release: EventId,
    },
    /// It was let out twice.
    OutTwice {
        /// The releases that are out.
        releases: Vec<EventId>,
    },
    /// A tag that did not see its untagging: it stands until a person looks.
    TagUnseen {
        /// The tagging.
        tag: EventId,
        /// The untagging it had not seen.
        untagging: EventId,
    },
    /// People changed one thing not knowing of each other; the last in the order counts meanwhile.
    ChangedApart {
        /// Their events.
        events: BTreeSet<EventId>,
    },
}

impl Contradiction {
    /// The events that contradict each other.
    #[must_use]
    pub fn events(&self) -> Vec<EventId> {
        match self {
            Self::OutAgainstTag { tag, release } => [*tag, *release].into(),
            Self::OutTwice { releases } => releases.clone(),
            Self::TagUnseen { tag, untagging } => [*tag, *untagging].into(),
            Self::ChangedApart { events } => events.iter().copied().collect(),
        }
    }
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

    /// What contradicts itself and no person has settled.
    #[must_use]
    pub fn contradictions(&self) -> Vec<Contradiction> {
        let mut out = Vec::new();
        let releases: Vec<EventId> = self.out().map(|(id, _)| id).collect();
        for (tag, _) in self.hanging() {
            let unanswered = releases.iter().filter(|release| !self.calls.contains_key(&(tag, **release)));
            out.extend(unanswered.map(|release| Contradiction::OutAgainstTag { tag, release: *release }));
            let untaggings = self.taggings.keys().filter(|id| !self.tags.contains_key(id));
            // Whoever lifted others knowing of this one has left it hanging on purpose.
            let apart = untaggings.filter(|id| !self.knew(tag, **id) && !self.knew(**id, tag));
            out.extend(apart.map(|untagging| Contradiction::TagUnseen { tag, untagging: *untagging }));
        }
        if releases.len() > 1 {
            out.push(Contradiction::OutTwice { releases });
        }
        let apart = sorted::set(self.forks.contradicting().cloned().chain(self.mounted_together()));
        let apart = apart.into_iter().filter(|events| !self.settled.contains(events));
        out.extend(apart.map(|events| Contradiction::ChangedApart { events }));
        out
    }

    /// Parts that are all mounted at one place.
    fn mounted_together(&self) -> impl Iterator<Item = BTreeSet<EventId>> {
        let mut there: BTreeMap<&str, BTreeSet<EventId>> = BTreeMap::new();
        for (id, part) in self.parts.iter().filter(|(_, part)| part.removed.is_none()) {
            there.entry(&part.mounted.place).or_default().insert(*id);
        }
        there.into_values().filter(|parts| parts.len() > 1)
    }

    /// The last tagging or untagging.
    #[must_use]
    pub fn last_tagging(&self) -> Option<EventId> {
        self.taggings.iter().max_by_key(|(_, (place, _))| *place).map(|(id, _)| *id)
    }

    /// Whether the author of one tagging or untagging knew of another: the last they knew of is not before it.
    fn knew(&self, one: EventId, other: EventId) -> bool {
        let place = |id: &EventId| self.taggings.get(id).map(|(place, _)| *place);
        let known = self.taggings.get(&one).and_then(|(_, knew)| *knew);
        known.as_ref().and_then(place) >= place(&other)
    }

    fn take(&mut self, event: &Event, scope: Scope<'_>) {
        self.last = Some(event.place());
        self.people.insert(event.author.clone());
        self.people.extend(named(&event.payload));
        if self.withdrawn.contains(&event.id) && rights::can_be_withdrawn(event.payload.kind()) {
            return;
        }
        let distrust = scope.yard.distrust(event);
        let impounded = self.impounded.is_some() && rights::touches(&event.payload);
        let why = distrust.or(impounded.then_some(Aside::Impounded));
        if let Some(why) = why {
            self.flag(event, why);
        }
        if why.is_none() || rights::only_worsens(event.payload.kind()) {
            let taken = self.set(event, scope);
            if let Err(why) = taken {
                self.flag(event, why);
            }
        }
    }

    fn flag(&mut self, event: &Event, why: Aside) {
        self.flags.push(Flag { event: event.id, kind: event.payload.kind(), why });
    }

    fn set(&mut self, event: &Event, scope: Scope<'_>) -> Result<(), Aside> {
        match &event.payload {
            Payload::WalkRoundOpened(_)
            | Payload::WalkRoundClosed(_)
            | Payload::ReadingTaken(_)
            | Payload::ObservationMade(_)
            | Payload::ThingSet(_) => return self.looked(event, scope.catalogue),
            Payload::ServiceChanged(of) => return self.service_changed(of, event, scope),
            Payload::PartMounted(of) => return self.mounted(of, event),
            Payload::PartRemoved(of) => {
                self.parts.get_mut(&of.mounted).ok_or(Aside::NamesNothing)?.removed = Some(event.id);
                self.forks.note("part", Some(of.mounted), event.id);
                self.noted(of.odometer.as_deref());
            }
            Payload::OdometerNoted(of) => {
                self.odometers.insert(event.id);
                self.noted(Some(&of.odometer));
            }
            Payload::FindingRaised(of) => self.raised(of, event),
            Payload::FindingClassed(of) => return self.classed(of, event, scope),
            Payload::FindingClosed(of) => return self.closed(of.finding, &of.how, event),
            Payload::FallNoted(of) => {
                self.ended(&[Ending::Fall], event);
                self.noted(of.odometer.as_deref());
            }
            Payload::JobOpened(of) => {
                let job = Job { opened: (**of).clone(), state: (JobState::Open, event.id), done: None };
                self.jobs.insert(event.id, job);
            }
            Payload::JobMoved(of) => return self.moved(of, event),
            Payload::JobProven(of) => return self.proven(of, event),
            Payload::Released(of) => self.released(of, event),
            Payload::Returned(of) => return self.returned(of, event),
            Payload::Tagged(of) => self.tagged(of, event),
            Payload::Untagged(of) => return self.untagged(&of.lifts, of.knew, event),
            Payload::CallNoted(of) => _ = self.calls.insert((of.tag, of.release), of.answer.clone()),
            Payload::Impounded(of) => {
                self.impounded = Some((event.id, (**of).clone()));
                self.service = Some((Service::Impounded, event.id));
            }
            Payload::Settled(of) => _ = self.settled.insert(sorted::set(of.events.iter().copied())),
            Payload::PhotoAttached(of) => _ = self.photos.insert(event.id, (**of).clone()),
            Payload::PhotoRemoved(of) => {
                self.photos_removed.entry(of.photo).or_insert_with(|| (event.at, of.why.clone()));
            }
            Payload::Withdrawn(_) => {}
            _ => return Err(Aside::OtherSubject),
        }
        Ok(())
    }

    fn looked(&mut self, event: &Event, catalogue: &Catalogue) -> Result<(), Aside> {
        let unreadable = |_| Aside::Unreadable;
        match &event.payload {
            Payload::WalkRoundOpened(of) => {
                let (walk_round, read) = WalkRound::open(of, event);
                self.walk_rounds.insert(event.id, walk_round);
                read
            }
            Payload::WalkRoundClosed(of) => self.walk_round(of.walk_round).map(|of| of.close(event)),
            Payload::ThingSet(of) => self.walk_round(of.walk_round).map(|walk_round| walk_round.set(of)),
            Payload::ReadingTaken(of) => {
                let walk_round = self.walk_round(of.walk_round)?;
                let (corrects, slip) = slip(walk_round, &of.check, of.corrects, event);
                walk_round
                    .read(&ReadingTaken { corrects, ..(**of).clone() }, event.into(), catalogue)
                    .map_err(unreadable)?;
                slip
            }
            Payload::ObservationMade(of) => {
                let walk_round = self.walk_round(of.walk_round)?;
                let (corrects, slip) = slip(walk_round, &of.check, of.corrects, event);
                walk_round
                    .saw(&ObservationMade { corrects, ..(**of).clone() }, event.into(), catalogue)
                    .map_err(unreadable)?;
                slip
            }
            _ => Err(Aside::OtherSubject),
        }
    }

    fn tagged(&mut self, of: &Tagged, event: &Event) {
        let tag = Tag { hung: of.clone(), by: (event.author.clone(), event.at), lifted: None };
        self.tags.insert(event.id, tag);
        self.taggings.insert(event.id, (event.place(), of.knew));
    }

    fn walk_round(&mut self, opening: EventId) -> Result<&mut WalkRound, Aside> {
        self.walk_rounds.get_mut(&opening).ok_or(Aside::NamesNothing)
    }

    fn noted(&mut self, odometer: Option<&str>) {
        let read = odometer.and_then(|typed| text::read(Quantity::Distance, typed, DecimalSign::Point).ok());
        let Some(read) = read.and_then(|amount| Distance::try_from(amount).ok()) else { return };
        if self.books.odometer.is_none_or(|known| known.km() < read.km()) {
            self.books.odometer = Some(read);
        }
    }

    fn service_changed(&mut self, of: &ServiceChanged, event: &Event, scope: Scope<'_>) -> Result<(), Aside> {
        if let Some((impounding, _)) = &self.impounded {
            // Lifted by the owner, knowing of it: another state set unawares lifts nothing.
            if of.replaces != Some(*impounding) || !may_lift(event, scope) {
                return Err(Aside::Impounded);
            }
            self.impounded = None;
        }
        self.forks.note("service state", of.replaces, event.id);
        if of.state == Service::LaidUp {
            self.books.events.push(Ended { what: Ending::Storage, at: event.at });
        }
        self.service = Some((of.state, event.id));
        Ok(())
    }

    fn mounted(&mut self, of: &PartMounted, event: &Event) -> Result<(), Aside> {
        if let Some(replaced) = of.replaces {
            self.parts.get_mut(&replaced).ok_or(Aside::NamesNothing)?.removed = Some(event.id);
            self.forks.note("part", Some(replaced), event.id);
        }
        self.ended(&of.ended, event);
        self.noted(of.odometer.as_deref());
        self.parts.insert(event.id, Part { mounted: of.clone(), removed: None });
        Ok(())
    }

    fn ended(&mut self, ended: &[Ending], event: &Event) {
        self.books.events.extend(ended.iter().map(|what| Ended { what: *what, at: event.at }));
    }

    fn raised(&mut self, of: &FindingRaised, event: &Event) {
        let by = (event.author.clone(), event.at);
        // What a rider says unasked is a reason to look, no verdict: minor until somebody has looked and classed it.
        let class = if of.feedback { Class::Minor } else { of.class };
        self.books.findings.push(Finding {
            id: event.id.to_string(),
            check: of.check.clone(),
            what: of.what.clone(),
            class,
            uses: Uses::from_iter(of.uses.iter().copied()),
            by: event.author.to_string(),
            at: event.at,
        });
        self.findings.insert(event.id, FindingState { raised: of.clone(), by, class, closed: None });
    }

    fn classed(&mut self, of: &FindingClassed, event: &Event, scope: Scope<'_>) -> Result<(), Aside> {
        let finding = self.findings.get_mut(&of.finding).ok_or(Aside::NamesNothing)?;
        let may_lower = standing(event, scope).is_some_and(|of| of.rights.contains(&Right::LowerClass));
        if of.class < finding.class && !may_lower {
            return Err(Aside::NoRight);
        }
        finding.class = of.class;
        let id = of.finding.to_string();
        self.books.findings.iter_mut().filter(|finding| finding.id == id).for_each(|finding| finding.class = of.class);
        Ok(())
    }

    fn closed(&mut self, finding: EventId, how: &str, event: &Event) -> Result<(), Aside> {
        let state = self.findings.get_mut(&finding).ok_or(Aside::NamesNothing)?;
        state.closed.get_or_insert(event.id);
        let (by, at) = (event.author.to_string(), event.at.max(state.by.1));
        self.books.closes.push(Close { finding: finding.to_string(), how: how.to_string(), by, at });
        Ok(())
    }

    fn moved(&mut self, of: &JobMoved, event: &Event) -> Result<(), Aside> {
        let job = self.jobs.get_mut(&of.job).ok_or(Aside::NamesNothing)?;
        job.state = (of.to, event.id);
        if of.to == JobState::Done {
            job.done = Some((event.place(), event.at));
        }
        self.forks.note("job", Some(of.from), event.id);
        self.ended(&of.ended, event);
        Ok(())
    }

    fn proven(&mut self, of: &JobProven, event: &Event) -> Result<(), Aside> {
        let job = self.jobs.get(&of.job).ok_or(Aside::NamesNothing)?;
        if of.answers.is_empty() || !of.answers.iter().all(|answer| self.proves(job, *answer)) {
            return Err(Aside::NamesNothing);
        }
        self.forks.note("job", Some(of.from), event.id);
        let job = self.jobs.get_mut(&of.job).ok_or(Aside::NamesNothing)?;
        // Work that moved on meanwhile, unknown to whoever proved it, is not proven.
        if job.state.1 != of.from || job.state.0 != JobState::Done {
            return Err(Aside::Overtaken);
        }
        job.state = (JobState::Proven, event.id);
        let (findings, tags) = (job.opened.findings.clone(), job.opened.tags.clone());
        for finding in
            findings.iter().filter(|finding| self.findings.contains_key(finding)).copied().collect::<Vec<_>>()
        {
            self.closed(finding, "job proven", event)?;
        }
        if tags.is_empty() { Ok(()) } else { self.untagged(&tags, of.knew, event) }
    }

    /// Whether an event is an answer given since the work was done.
    fn proves(&self, job: &Job, answer: EventId) -> bool {
        let mut answers = self.walk_rounds.values().flat_map(|of| of.places.iter().zip(&of.form.answers));
        answers.any(|(place, of)| place.id == answer && job.done.is_none_or(|_| job.is_since_done(*place, of.at)))
    }

    fn untagged(&mut self, lifts: &[EventId], knew: Option<EventId>, event: &Event) -> Result<(), Aside> {
        self.taggings.insert(event.id, (event.place(), knew));
        let mut all = true;
        for tag in lifts {
            match self.tags.get_mut(tag) {
                Some(tag) => _ = tag.lifted.get_or_insert(event.id),
                None => all = false,
            }
        }
        if all { Ok(()) } else { Err(Aside::NamesNothing) }
    }

    fn released(&mut self, of: &Released, event: &Event) {
        self.forks.note("release", of.replaces, event.id);
        let by = (event.author.clone(), event.at);
        self.releases.insert(event.id, ReleaseState { released: of.clone(), by, returned: None });
        self.last_release = Some(event.id);
    }

    fn returned(&mut self, of: &Returned, event: &Event) -> Result<(), Aside> {
        let release = self.releases.get_mut(&of.release).ok_or(Aside::NamesNothing)?;
        release.returned.get_or_insert_with(|| (event.id, of.clone()));
        self.last_release = Some(event.id);
        self.books.ridden = self.books.ridden.max(Some(event.at));
        self.noted(of.odometer.as_deref());
        Ok(())
    }
}

fn withdraws(event: &Event) -> Option<EventId> {
    match &event.payload {
        Payload::Withdrawn(of) => Some(of.event),
        _ => None,
    }
}

/// What an answer corrects: its author's own last one to the check. One that names another stands beside it, as a repeat.
fn slip(
    walk_round: &WalkRound,
    check: &str,
    corrects: Option<EventId>,
    event: &Event,
) -> (Option<EventId>, Result<(), Aside>) {
    match corrects {
        Some(named) if !walk_round.is_last_own(check, &event.author, named) => (None, Err(Aside::NamesNothing)),
        corrects => (corrects, Ok(())),
    }
}

/// The people a payload names.
fn named(payload: &Payload) -> Vec<PersonId> {
    match payload {
        Payload::FallNoted(of) => {
            of.rider.iter().chain(of.about_rider.as_ref().map(|about| &about.person)).cloned().collect()
        }
        Payload::Released(of) => of.riders.clone(),
        _ => Vec::new(),
    }
}

/// What was taken back by somebody trusted while the machine was not impounded: known before folding, as what is taken
/// back stands before its taking back.
fn withdrawn(events: &[&Event], scope: Scope<'_>) -> BTreeSet<EventId> {
    let (mut impounded, mut withdrawn) = (None, BTreeSet::new());
    for event in events {
        let trusted = scope.yard.distrust(event).is_none();
        match &event.payload {
            Payload::Impounded(_) => impounded = Some(event.id),
            Payload::ServiceChanged(of) if trusted && may_lift(event, scope) && of.replaces == impounded => {
                impounded = None;
            }
            Payload::Withdrawn(of) if trusted && impounded.is_none() => _ = withdrawn.insert(of.event),
            _ => {}
        }
    }
    withdrawn
}

/// Whether an event's author answers for the yard, and so may lift an impounding.
fn may_lift(event: &Event, scope: Scope<'_>) -> bool {
    standing(event, scope).is_some_and(|standing| standing.role == Role::Owner)
}

/// What an event's author might do where it stands in the order.
fn standing<'s>(event: &Event, scope: Scope<'s>) -> Option<&'s Standing> {
    scope.yard.people.get(&event.author).and_then(|person| person.standing_at(event.place()))
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
