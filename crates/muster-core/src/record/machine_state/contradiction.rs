//! What in a machine's record cannot both be.

use alloc::{
    collections::{BTreeMap, BTreeSet},
    vec::Vec,
};

use super::MachineState;
use crate::{record::id::EventId, sorted};

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

    /// Whether the author of one tagging or untagging knew of another: the last they knew of is not before it.
    fn knew(&self, one: EventId, other: EventId) -> bool {
        let place = |id: &EventId| self.taggings.get(id).map(|(place, _)| *place);
        let known = self.taggings.get(&one).and_then(|(_, knew)| *knew);
        known.as_ref().and_then(place) >= place(&other)
    }
}
