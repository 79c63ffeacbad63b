//! Papers that were printed from the record, by the hash of their file, and what has come after them.

use alloc::{collections::BTreeMap, string::ToString, vec::Vec};
use core::fmt;

use super::{
    event::{Event, Place},
    id::{EventId, PersonId},
    machine_state::MachineState,
    payload::{Document, PaperIssued},
};
use crate::calendar::Moment;

/// A paper that was printed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Issued {
    /// As it was written down.
    pub paper: PaperIssued,
    /// Who, and when.
    pub by: (PersonId, Moment),
    place: Place,
}

/// Papers by the event that wrote them down.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Papers(BTreeMap<EventId, Issued>);

/// What came after a paper, so that it is not the newest word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Since {
    /// Somebody walked round and closed it.
    WalkedRound(EventId, Moment),
    /// A paper of its kind was printed anew.
    Printed(EventId, Moment),
    /// The tag it prints was lifted.
    Lifted(EventId),
    /// The machine it lets out came back.
    Returned(EventId),
    /// The machine was let out again.
    Released(EventId, Moment),
}

impl fmt::Display for Since {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let minute = |at: &Moment| [at.date().to_string(), at.clock().to_string()].join(" ");
        match self {
            Self::WalkedRound(event, at) => write!(f, "a newer walk-round was closed on {} ({event})", minute(at)),
            Self::Printed(event, at) => write!(f, "a newer one was printed on {} ({event})", minute(at)),
            Self::Lifted(event) => write!(f, "the tag was lifted ({event})"),
            Self::Returned(event) => write!(f, "the machine came back ({event})"),
            Self::Released(event, at) => write!(f, "the machine was let out again on {} ({event})", minute(at)),
        }
    }
}

impl Papers {
    /// Notes one more.
    pub(super) fn note(&mut self, of: &PaperIssued, event: &Event) {
        let by = (event.author.clone(), event.at);
        self.0.insert(event.id, Issued { paper: of.clone(), by, place: event.place() });
    }

    /// All of them.
    pub fn all(&self) -> impl Iterator<Item = (EventId, &Issued)> {
        self.0.iter().map(|(id, issued)| (*id, issued))
    }

    /// Those whose file has a hash: the same values print the same bytes, so there may be several.
    pub fn of_file<'p>(&'p self, sha256: &'p str) -> impl Iterator<Item = (EventId, &'p Issued)> {
        self.all().filter(move |(_, issued)| issued.paper.sha256.eq_ignore_ascii_case(sha256))
    }

    /// Those that rest on what has a hash, as their code says.
    pub fn resting_on<'p>(&'p self, hash: &'p str) -> impl Iterator<Item = (EventId, &'p Issued)> {
        self.all().filter(move |(_, of)| of.paper.rests_on.as_deref().is_some_and(|own| own.eq_ignore_ascii_case(hash)))
    }

    /// The newest of the same kind behind one, where there is one.
    #[must_use]
    pub fn newer(&self, issued: &Issued) -> Option<Since> {
        let behind = self.all().filter(|(_, of)| of.place > issued.place && of.paper.document == issued.paper.document);
        // The same event printed again says the same.
        let other = behind.filter(|(_, of)| of.paper.event.is_none() || of.paper.event != issued.paper.event);
        other.max_by_key(|(_, of)| of.place).map(|(id, of)| Since::Printed(id, of.by.1))
    }
}

/// What came after a paper about a machine.
#[must_use]
pub fn since(state: &MachineState, issued: &Issued) -> Vec<Since> {
    let own = issued.paper.event;
    let tag = own.and_then(|id| state.tags.get(&id)).and_then(|tag| tag.lifted).map(Since::Lifted);
    let back = own.and_then(|id| state.releases.get(&id)).and_then(|of| of.returned.as_ref());
    let back = back.map(|(id, _)| Since::Returned(*id));
    let out = state.releases.iter().filter(|(id, of)| Some(**id) != own && of.by.1 > issued.by.1);
    let out = out.max_by_key(|(_, of)| of.by.1).map(|(id, of)| Since::Released(*id, of.by.1));
    let out = out.filter(|_| issued.paper.document == Document::Slip);
    let walked = walked(state, issued);
    [walked, tag, back, out, state.papers.newer(issued)].into_iter().flatten().collect()
}

/// The newest walk-round closed after the one a paper shows, or after it was printed.
fn walked(state: &MachineState, issued: &Issued) -> Option<Since> {
    if issued.paper.document == Document::Stickers {
        return None;
    }
    let shown = issued.paper.event.and_then(|id| state.walk_rounds.get(&id)).map(|of| of.form.opened);
    let closed = state.walk_rounds.iter().filter_map(|(id, of)| Some((*id, of.form.opened, of.form.closed?)));
    let newer = closed.filter(|(id, opened, closed)| match shown {
        Some(shown) => Some(*id) != issued.paper.event && *opened > shown,
        None => *closed > issued.by.1,
    });
    newer.max_by_key(|(_, _, closed)| *closed).map(|(id, _, closed)| Since::WalkedRound(id, closed))
}
