//! What every fold needs: the order, what is set aside and why, and which events name the same predecessor.

use alloc::{
    collections::{BTreeMap, BTreeSet},
    string::String,
    vec::Vec,
};

use super::{event::Event, id::EventId, payload::Kind};
use crate::sorted::sort_by;

/// What came of an event taken by itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[must_use]
pub enum Applied {
    /// The state is as if folded with it.
    Taken,
    /// It reaches behind what was taken already: nothing has changed, fold the whole again.
    FoldAgain,
}

/// An event kept and set aside, or applied with a doubt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Flag {
    /// Which.
    pub event: EventId,
    /// Its kind.
    pub kind: Kind,
    /// Why.
    pub why: Aside,
}

/// Why an event does not count as it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, thiserror::Error)]
pub enum Aside {
    /// Its device is not of this yard.
    #[error("written by a device this yard does not know")]
    UnknownDevice,
    /// Its device was revoked before.
    #[error("written by a device after it was revoked")]
    Revoked,
    /// Its device is another person's.
    #[error("written on a device that is another person's")]
    OtherPerson,
    /// On a device people share nobody changes who may do what.
    #[error("people and devices are changed at the server or on one's own device, not on one people share")]
    SharedDevice,
    /// Its author is nobody here.
    #[error("its author is nobody this yard knows")]
    Stranger,
    /// Its author was not active.
    #[error("its author may not act here any more")]
    NotActive,
    /// Its author had no right to it.
    #[error("its author had no right to it")]
    NoRight,
    /// It names an event that is not here, or not of its kind.
    #[error("it names something that is not here")]
    NamesNothing,
    /// What it rests on has changed meanwhile, unknown to its author.
    #[error("what it rests on had changed, unknown to its author")]
    Overtaken,
    /// What it adds is there.
    #[error("what it adds is there already")]
    Twice,
    /// The machine is impounded.
    #[error("the machine is impounded: no repair, no correction")]
    Impounded,
    /// Its figures cannot be read.
    #[error("its figures cannot be read, so it answers nothing")]
    Unreadable,
    /// It belongs to another subject.
    #[error("it is about something else")]
    OtherSubject,
}

/// Events by the predecessor they name: where more than one names the same, people disagreed unknowingly.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Forks(BTreeMap<Predecessor, BTreeSet<EventId>>);

/// What an event replaces.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Predecessor {
    /// An event.
    Event(EventId),
    /// Nothing: it is the first to set this.
    Nothing(String),
}

impl Forks {
    /// Notes that an event names a predecessor, or none: then it is the first to set what is named.
    pub(crate) fn note(&mut self, what: &str, predecessor: Option<EventId>, event: EventId) {
        let predecessor = predecessor.map_or_else(|| Predecessor::Nothing(what.into()), Predecessor::Event);
        self.0.entry(predecessor).or_default().insert(event);
    }

    /// Sets of events that name the same predecessor.
    pub fn contradicting(&self) -> impl Iterator<Item = &BTreeSet<EventId>> {
        self.0.values().filter(|events| events.len() > 1)
    }
}

/// Events in their order, each once.
pub(crate) fn in_order<'e>(events: impl IntoIterator<Item = &'e Event>) -> Vec<&'e Event> {
    let mut events: Vec<&Event> = events.into_iter().collect();
    sort_by(&mut events, |a, b| a.place().cmp(&b.place()));
    events.dedup_by_key(|event| event.id);
    events
}
