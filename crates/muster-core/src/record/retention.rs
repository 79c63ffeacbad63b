//! How long names and photos are kept: what the house rule lets go now, what stays, and why. Events never go.
//!
//! A name goes by destroying its person's key, a photo by removing its bytes; no hash changes. What touches an impounded
//! machine stays, whatever the rule says.

use alloc::{
    collections::{BTreeMap, BTreeSet},
    string::String,
    vec::Vec,
};
use core::fmt;

use super::{
    event::{Event, Place},
    id::{EventId, PersonId},
    machine_state::MachineState,
    payload::{Payload, Role, Subject},
    yard_state::YardState,
};
use crate::{
    calendar::Moment,
    sorted::sort_by,
    words::Service,
    yard::{HowLong, Yard},
};

/// What events say of people and photos, gathered in whatever order they come.
#[derive(Clone, Debug, Default)]
pub struct Traces {
    rows: BTreeMap<EventId, Row>,
    photos: BTreeMap<String, BTreeSet<Attached>>,
    removed: BTreeMap<EventId, Moment>,
}

#[derive(Clone, Debug)]
struct Row {
    place: Place,
    at: Moment,
    author: PersonId,
    /// Whom it names.
    named: Vec<PersonId>,
    /// Till when what it plans or lets out lasts, for those it names.
    till: Option<Moment>,
    /// The machines it touches.
    machines: Vec<String>,
}

/// One attaching of a photo.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Attached {
    /// The machine.
    pub machine: String,
    /// The attaching.
    pub event: EventId,
    /// The event it shows.
    pub of: Option<EventId>,
}

/// What is known where it is decided.
#[derive(Clone, Copy, Debug)]
pub struct World<'w> {
    /// The yard, folded.
    pub state: &'w YardState,
    /// The same as the judge takes it, with the house rule.
    pub yard: &'w Yard,
    /// Every machine that can be folded, by its fleet number.
    pub machines: &'w BTreeMap<String, &'w MachineState>,
    /// What the record's events say.
    pub traces: &'w Traces,
    /// People whose names stay for a reason no event tells.
    pub staying: &'w BTreeMap<PersonId, Why>,
}

/// What goes and what stays. Each person that has a name, and each photo that is not removed, is in it once.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Decided {
    /// People whose keys are to be destroyed, with the moment of their last event.
    pub names: Vec<(PersonId, Moment)>,
    /// Photos whose bytes are to be removed.
    pub photos: Vec<Photo>,
    /// People whose names stay.
    pub names_kept: Vec<(PersonId, Why)>,
    /// Photos that stay, by the hash of their bytes.
    pub photos_kept: Vec<(String, Why)>,
    /// Photos removed earlier: whatever bytes of theirs are found are to be removed again.
    pub removed: Vec<String>,
}

/// A photo that goes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Photo {
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Its attachings not removed yet.
    pub attached: Vec<Attached>,
    /// The last event it belongs to.
    pub last: Moment,
}

/// Why something stays.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Why {
    /// The house has no rule for it.
    NoRule,
    /// Not old enough: it stays at least till then.
    Till(Moment),
    /// It touches an impounded machine.
    Impounded(String),
    /// It touches a machine that cannot be looked at: its file has a fault, or is not here.
    Unread(String),
    /// It shows a finding that is open, or a hold tag that hangs.
    Open(EventId),
    /// Somebody must answer for the yard.
    LastOwner,
    /// Signed in now.
    SignedIn,
    /// No human being's name.
    NoPerson,
}

impl fmt::Display for Why {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoRule => f.write_str("the house has no rule for it"),
            Self::Till(moment) => write!(f, "not old enough till {}", moment.date()),
            Self::Impounded(machine) => write!(f, "{machine} is impounded"),
            Self::Unread(machine) => write!(f, "whether {machine} is impounded cannot be read: mend its file"),
            Self::Open(event) => write!(f, "{event} is not closed"),
            Self::LastOwner => f.write_str("the last owner: name another first"),
            Self::SignedIn => f.write_str("signed in now"),
            Self::NoPerson => f.write_str("no person's name"),
        }
    }
}

impl Traces {
    /// Notes an event; twice is once.
    pub fn note(&mut self, event: &Event) {
        let (named, till) = named(&event.payload);
        let (author, machines) = (event.author.clone(), touched(&event.payload));
        let row = Row { place: event.place(), at: event.at, author, named, till, machines };
        if self.rows.insert(event.id, row).is_some() {
            return;
        }
        match &event.payload {
            Payload::PhotoAttached(of) => {
                let attached = Attached { machine: of.machine.clone(), event: event.id, of: of.of };
                self.photos.entry(of.sha256.clone()).or_default().insert(attached);
            }
            Payload::PhotoRemoved(of) => {
                let first = self.removed.entry(of.photo).or_insert(event.at);
                *first = event.at.min(*first);
            }
            _ => {}
        }
    }

    /// When an event said that a photo was removed at one of its attachings, whether or not the event counts.
    #[must_use]
    pub fn removed(&self, of: &Attached) -> Option<Moment> {
        self.removed.get(&of.event).copied()
    }

    /// Every photo attached, by the hash of its bytes, with its attachings.
    pub fn photos(&self) -> impl Iterator<Item = (&str, &BTreeSet<Attached>)> {
        self.photos.iter().map(|(sha256, attached)| (sha256.as_str(), attached))
    }

    /// When each event was written, as far as is known: no earlier than any that stands before it. A clock that was behind
    /// makes nothing old that is not, and one that is ahead of now says nothing.
    fn moments(&self, now: Moment) -> BTreeMap<EventId, Moment> {
        let mut rows: Vec<(Place, Moment)> = self.rows.values().map(|row| (row.place, row.at)).collect();
        sort_by(&mut rows, |a, b| a.0.cmp(&b.0));
        let mut known = None;
        let moment = |(place, at): (Place, Moment)| {
            known = known.max(Some(at).filter(|at| *at <= now));
            (place.id, known.unwrap_or(now))
        };
        rows.into_iter().map(moment).collect()
    }
}

/// What the house rule lets go at a moment.
#[must_use]
pub fn decide(world: &World<'_>, now: Moment) -> Decided {
    let moments = world.traces.moments(now);
    let guarded = world.guarded();
    let mut decided = Decided::default();
    world.names(&moments, &guarded, now, &mut decided);
    world.photos(&moments, &guarded, now, &mut decided);
    decided
}

impl World<'_> {
    /// Machines whose record is not touched, each with why.
    fn guarded(&self) -> BTreeMap<&str, Why> {
        let touched = self.traces.rows.values().flat_map(|row| &row.machines);
        let named: BTreeSet<&str> = touched.chain(self.yard.machines.keys()).map(String::as_str).collect();
        let why = |id: &&str| match (self.machines.get(*id), self.yard.machines.get(*id)) {
            (Some(state), Some(_)) => state.is_impounded(self.yard).then(|| Why::Impounded((*id).into())),
            (None, Some(machine)) if machine.service != Service::Impounded => None,
            (None, Some(_)) => Some(Why::Impounded((*id).into())),
            (_, None) => Some(Why::Unread((*id).into())),
        };
        named.into_iter().filter_map(|id| Some((id, why(&id)?))).collect()
    }

    fn names(
        &self,
        moments: &BTreeMap<EventId, Moment>,
        guarded: &BTreeMap<&str, Why>,
        now: Moment,
        decided: &mut Decided,
    ) {
        let (mut last, mut stays) = (BTreeMap::new(), BTreeMap::new());
        for (id, row) in &self.traces.rows {
            let wrote = moments.get(id).copied().unwrap_or(now);
            let why = row.machines.iter().find_map(|machine| guarded.get(machine.as_str()));
            let till = row.till.map_or(wrote, |till| till.max(wrote));
            let named = row.named.iter().map(|person| (person, till));
            for (person, at) in named.chain([(&row.author, wrote)]) {
                let latest = last.entry(person).or_insert(at);
                *latest = at.max(*latest);
                if let Some(why) = why {
                    stays.entry(person).or_insert(why);
                }
            }
        }
        for (person, _) in self.state.people.iter().filter(|(_, of)| !of.erased) {
            let at = last.get(person).copied().unwrap_or(now);
            let guard = self.staying.get(person).or_else(|| stays.get(person).copied()).cloned();
            match over(self.yard.retention.names.as_ref(), at, now).err().or(guard) {
                Some(why) => decided.names_kept.push((person.clone(), why)),
                None => decided.names.push((person.clone(), at)),
            }
        }
        self.keep_an_owner(decided);
    }

    /// Of owners that would all go, the one who wrote last stays.
    fn keep_an_owner(&self, decided: &mut Decided) {
        let owns = |person: &PersonId| {
            let standing = self.state.people.get(person).and_then(|of| of.standing());
            standing.is_some_and(|of| of.active && of.role == Role::Owner)
        };
        if decided.names_kept.iter().any(|(person, _)| owns(person)) {
            return;
        }
        let owners = decided.names.iter().enumerate().filter(|(_, (person, _))| owns(person));
        if let Some((index, _)) = owners.max_by_key(|(_, (_, at))| *at) {
            let (person, _) = decided.names.remove(index);
            decided.names_kept.push((person, Why::LastOwner));
        }
    }

    fn photos(
        &self,
        moments: &BTreeMap<EventId, Moment>,
        guarded: &BTreeMap<&str, Why>,
        now: Moment,
        decided: &mut Decided,
    ) {
        let moment = |id: EventId| moments.get(&id).copied();
        for (sha256, attached) in self.traces.photos() {
            let left: Vec<Attached> = attached.iter().filter(|of| !self.is_removed(of)).cloned().collect();
            if left.is_empty() {
                decided.removed.push(sha256.into());
                continue;
            }
            let belongs = left.iter().flat_map(|of| [Some(of.event), of.of, self.closing(of)]);
            let last = belongs.flatten().filter_map(moment).max().unwrap_or(now);
            let guard = || attached.iter().find_map(|of| guarded.get(of.machine.as_str())).cloned();
            let open = || left.iter().find_map(|of| self.open(of)).map(Why::Open);
            match over(self.yard.retention.photos.as_ref(), last, now).err().or_else(guard).or_else(open) {
                Some(why) => decided.photos_kept.push((sha256.into(), why)),
                None => decided.photos.push(Photo { sha256: sha256.into(), attached: left, last }),
            }
        }
    }

    fn is_removed(&self, of: &Attached) -> bool {
        self.machines.get(&of.machine).is_some_and(|state| state.photos_removed.contains_key(&of.event))
    }

    /// What closed the finding, or lifted the tag, that a photo shows.
    fn closing(&self, of: &Attached) -> Option<EventId> {
        let (state, shown) = (self.machines.get(&of.machine)?, of.of?);
        let closed = state.findings.get(&shown).and_then(|finding| finding.closed);
        closed.or_else(|| state.tags.get(&shown).and_then(|tag| tag.lifted))
    }

    /// The finding or tag a photo shows, if it still counts.
    fn open(&self, of: &Attached) -> Option<EventId> {
        let (state, shown) = (self.machines.get(&of.machine)?, of.of?);
        let open = state.findings.get(&shown).is_some_and(|finding| finding.closed.is_none())
            || state.tags.get(&shown).is_some_and(|tag| tag.lifted.is_none());
        open.then_some(shown)
    }
}

/// Whether a rule's time is over, or why what it is about stays.
fn over(rule: Option<&HowLong>, last: Moment, now: Moment) -> Result<(), Why> {
    let rule = rule.ok_or(Why::NoRule)?;
    // Spans are at most a century, in seconds: nothing is lost.
    #[expect(clippy::cast_possible_truncation, reason = "a span of time is at most 3.2e9 s")]
    let till = last.later_by(rule.lasts.seconds() as i64);
    if till < now { Ok(()) } else { Err(Why::Till(till)) }
}

/// The people a payload names, and till when what it plans or lets out lasts.
fn named(payload: &Payload) -> (Vec<PersonId>, Option<Moment>) {
    match payload {
        Payload::PersonAdded(of) => ([of.person.clone()].into(), None),
        Payload::PersonChanged(of) => ([of.person.clone()].into(), None),
        Payload::DeviceAdded(of) => (of.person.iter().cloned().collect(), None),
        Payload::OutingPlanned(of) => (of.riders.clone(), Some(of.to)),
        Payload::RosterSet(of) => {
            (of.rows.iter().filter_map(|row| row.rider.clone()).collect(), of.rows.iter().map(|row| row.to).max())
        }
        Payload::FallNoted(of) => {
            let about = of.about_rider.as_ref().map(|about| &about.person);
            (of.rider.iter().chain(about).cloned().collect(), None)
        }
        Payload::Released(of) => (of.riders.clone(), Some(of.to)),
        _ => (Vec::new(), None),
    }
}

/// The machines a payload touches.
fn touched(payload: &Payload) -> Vec<String> {
    match payload {
        Payload::MachineRegistered(of) => [of.machine.clone()].into(),
        Payload::MachineChanged(of) => [of.machine.clone()].into(),
        Payload::RosterSet(of) => of.rows.iter().map(|row| row.machine.clone()).collect(),
        _ => match payload.subject() {
            Subject::Machine(machine) => [machine].into(),
            Subject::Yard => Vec::new(),
        },
    }
}
