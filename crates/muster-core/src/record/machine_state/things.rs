//! What a machine's events make: findings, jobs, parts, tags, releases.

use alloc::string::String;

use crate::{
    calendar::Moment,
    record::{
        event::Place,
        id::{EventId, PersonId},
        payload::{FindingRaised, JobOpened, JobState, PartMounted, Released, Returned, Tagged},
    },
    words::Class,
};

/// A finding.
#[derive(Clone, Debug, PartialEq)]
pub struct FindingState {
    /// As it was raised.
    pub raised: FindingRaised,
    /// Who, and when.
    pub by: (PersonId, Moment),
    /// How grave it is now.
    pub class: Class,
    /// Which of the law pack's defects it is, as last named.
    pub defect: Option<String>,
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
    /// The day it is planned for, ISO 8601.
    pub planned: Option<String>,
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
