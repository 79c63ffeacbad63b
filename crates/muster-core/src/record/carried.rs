//! What a phone carries of the record: the events that still say something, so that it judges and decides as the server
//! does without holding years of them.
//!
//! Left out is what is over and named by nothing that is carried: answers that have two newer ones, walk-rounds that are
//! left with none, outings that are back, tags that are lifted, findings that are closed, jobs that are proven and ended no life since.
//! Nothing is made up: the rest are the events as they were written.

use alloc::{
    collections::{BTreeMap, BTreeSet},
    string::String,
    vec::Vec,
};

use super::{
    event::Event,
    id::EventId,
    machine_state::MachineState,
    payload::{JobState, Payload},
    yard_state::YardState,
};
use crate::calendar::Moment;

/// Answers to a check that are carried: the one that counts and the one before it, to show beside it.
const ANSWERS: usize = 2;
/// How long an outing that is over and a roster that is past are carried, in seconds.
const PAST_S: i64 = 86_400;

/// The events of a machine that are carried, in the order they were given.
#[must_use]
pub fn of_machine<'e>(state: &MachineState, events: &'e [Event]) -> Vec<&'e Event> {
    let mut kept = Kept::of(state);
    for event in events {
        // A job is proven by its answers: theirs are carried with it.
        if let Payload::JobProven(of) = &event.payload
            && kept.jobs.contains(&of.job)
        {
            let names = |id: &EventId| of.answers.contains(id);
            let walked = state.walk_rounds.iter().filter(|(_, walk_round)| walk_round.answers.iter().any(names));
            kept.whole.extend(walked.map(|(id, _)| *id));
        }
    }
    kept.walk_rounds.extend(&kept.whole);
    let mut ids: BTreeSet<EventId> = events.iter().filter(|event| kept.holds(event)).map(|event| event.id).collect();
    // What speaks of other events is carried with them.
    let about: Vec<EventId> = events
        .iter()
        .filter(|event| speaks_of(&event.payload).is_some_and(|of| of.iter().all(|id| ids.contains(id))))
        .map(|event| event.id)
        .collect();
    ids.extend(about);
    events.iter().filter(|event| ids.contains(&event.id)).collect()
}

/// The events of the yard that are carried at a moment, in the order they were given.
#[must_use]
pub fn of_yard<'e>(state: &YardState, events: &'e [Event], now: Moment) -> Vec<&'e Event> {
    let past = now.later_by(-PAST_S);
    // The one that counts: a later one may be of a device that is not trusted.
    let counts = |event: &&Event| match &event.payload {
        Payload::ForecastEstimated(of) => state.forecast.as_ref().is_some_and(|(hash, _)| *hash == of.hash),
        _ => false,
    };
    let newest = events.iter().filter(counts).max_by_key(|event| event.place());
    let newest = newest.map(|event| event.id);
    let still = |event: &&Event| match &event.payload {
        Payload::OutingPlanned(of) => of.to >= past,
        Payload::RosterSet(of) => {
            of.day.as_str() >= day(past).as_str() && state.rosters.get(&of.day).is_some_and(|(_, id)| *id == event.id)
        }
        Payload::ForecastEstimated(_) => Some(event.id) == newest,
        // What was printed is asked of the server.
        Payload::PaperIssued(_) => false,
        _ => true,
    };
    events.iter().filter(still).collect()
}

fn day(moment: Moment) -> String {
    alloc::string::ToString::to_string(&moment).chars().take(10).collect()
}

/// What still says something, by the events that began it.
struct Kept {
    /// Walk-rounds of which anything is carried.
    walk_rounds: BTreeSet<EventId>,
    /// Those that are carried whole.
    whole: BTreeSet<EventId>,
    /// Of the others, the checks whose answers are.
    answered: BTreeMap<EventId, BTreeSet<String>>,
    jobs: BTreeSet<EventId>,
    findings: BTreeSet<EventId>,
    tags: BTreeSet<EventId>,
    taggings: BTreeSet<EventId>,
    releases: BTreeSet<EventId>,
    odometers: BTreeSet<EventId>,
}

impl Kept {
    fn of(state: &MachineState) -> Self {
        let Living { answered, mut whole, since } = living(state);
        let mut jobs: BTreeSet<EventId> = state
            .jobs
            .iter()
            .filter(|(_, job)| job.state.0 != JobState::Proven || job.done.is_some_and(|(_, at)| at >= since))
            .map(|(id, _)| *id)
            .collect();
        let mut tags = with_lifting(state, &mut jobs);
        let opened = || jobs.iter().filter_map(|id| state.jobs.get(id)).map(|job| &job.opened);
        let findings = state
            .open_findings()
            .map(|(id, _)| id)
            .chain(opened().flat_map(|of| of.findings.iter().copied()))
            .collect();
        let mut taggings: BTreeSet<EventId> =
            state.tags.iter().filter(|(id, _)| tags.contains(id)).filter_map(|(_, tag)| tag.lifted).collect();
        taggings.extend(state.last_tagging());
        // The last of them lifts others, which are carried with it.
        tags.extend(
            state.tags.iter().filter(|(_, tag)| tag.lifted.is_some_and(|by| taggings.contains(&by))).map(|(id, _)| *id),
        );
        let mut releases: BTreeSet<EventId> = state.out().map(|(id, _)| id).collect();
        releases.extend(
            state
                .releases
                .iter()
                .filter(|(id, of)| {
                    Some(**id) == state.last_release
                        || of.returned.as_ref().is_some_and(|(by, _)| Some(*by) == state.last_release)
                })
                .map(|(id, _)| *id),
        );
        whole.extend(state.open_findings().filter_map(|(_, of)| of.raised.walk_round));
        Self {
            walk_rounds: answered.keys().copied().collect(),
            whole,
            answered,
            jobs,
            findings,
            tags,
            taggings,
            releases,
            odometers: state.odometers.iter().next_back().into_iter().copied().collect(),
        }
    }

    fn is_answered(&self, walk_round: EventId, check: &str) -> bool {
        self.whole.contains(&walk_round) || self.answered.get(&walk_round).is_some_and(|checks| checks.contains(check))
    }

    fn holds(&self, event: &Event) -> bool {
        match &event.payload {
            Payload::WalkRoundOpened(_) => self.walk_rounds.contains(&event.id),
            Payload::WalkRoundClosed(of) => self.walk_rounds.contains(&of.walk_round),
            Payload::ReadingTaken(of) => self.is_answered(of.walk_round, &of.check),
            Payload::ObservationMade(of) => self.is_answered(of.walk_round, &of.check),
            Payload::ThingSet(of) => self.is_answered(of.walk_round, &of.check),
            Payload::FindingRaised(_) => self.findings.contains(&event.id),
            Payload::FindingClassed(of) => self.findings.contains(&of.finding),
            Payload::FindingClosed(of) => self.findings.contains(&of.finding),
            Payload::JobOpened(_) => self.jobs.contains(&event.id),
            Payload::JobMoved(of) => self.jobs.contains(&of.job),
            Payload::JobProven(of) => self.jobs.contains(&of.job),
            Payload::Released(_) => self.releases.contains(&event.id),
            Payload::Returned(of) => self.releases.contains(&of.release),
            Payload::Tagged(_) => self.tags.contains(&event.id),
            Payload::Untagged(_) => self.taggings.contains(&event.id),
            Payload::OdometerNoted(_) => self.odometers.contains(&event.id),
            // Carried with what they speak of.
            Payload::CallNoted(_)
            | Payload::Settled(_)
            | Payload::PhotoAttached(_)
            | Payload::PhotoRemoved(_)
            | Payload::Withdrawn(_)
            // What was printed is asked of the server.
            | Payload::PaperIssued(_) => false,
            // What was mounted, set, noted of a fall or impounded is seldom, and says something for long.
            _ => true,
        }
    }
}

/// Tags that are carried, and with them the proven jobs that lifted them: without those they would hang again.
fn with_lifting(state: &MachineState, jobs: &mut BTreeSet<EventId>) -> BTreeSet<EventId> {
    let mut tags: BTreeSet<EventId> = state.hanging().map(|(id, _)| id).collect();
    // With one hanging, every tagging tells whether its author knew of it.
    if !tags.is_empty() {
        tags.extend(state.tags.keys());
    }
    let last = state.last_tagging();
    tags.extend(state.tags.iter().filter(|(_, tag)| last.is_some() && tag.lifted == last).map(|(id, _)| *id));
    loop {
        let held = tags.len();
        tags.extend(jobs.iter().filter_map(|id| state.jobs.get(id)).flat_map(|job| &job.opened.tags));
        let lifts = |by: EventId| tags.iter().any(|id| state.tags.get(id).is_some_and(|tag| tag.lifted == Some(by)));
        jobs.extend(state.jobs.iter().filter(|(_, job)| lifts(job.state.1)).map(|(id, _)| *id));
        if tags.len() == held {
            return tags;
        }
    }
}

/// What of the walk-rounds still says something.
struct Living {
    /// The checks whose answers do, by walk-round.
    answered: BTreeMap<EventId, BTreeSet<String>>,
    /// The last walk-rounds themselves.
    whole: BTreeSet<EventId>,
    /// The moment of the oldest newest answer: what ended no life since is spent.
    since: Moment,
}

fn living(state: &MachineState) -> Living {
    let mut answers: BTreeMap<&str, Vec<(Moment, EventId)>> = BTreeMap::new();
    for (id, walk_round) in &state.walk_rounds {
        for answer in &walk_round.form.answers {
            answers.entry(&answer.check).or_default().push((answer.at, *id));
        }
    }
    let whole = newest(state.walk_rounds.iter().map(|(id, of)| (of.form.opened, *id)).collect());
    let mut answered: BTreeMap<EventId, BTreeSet<String>> = BTreeMap::new();
    let mut since = None;
    for (check, given) in answers {
        let last = given.iter().map(|(at, _)| *at).max();
        since = [since, last].into_iter().flatten().min();
        for walk_round in newest(given) {
            answered.entry(walk_round).or_default().insert(check.into());
        }
    }
    Living { answered, whole, since: since.unwrap_or(Moment::FIRST) }
}

/// The walk-rounds of the newest answers, each counted once.
fn newest(mut given: Vec<(Moment, EventId)>) -> BTreeSet<EventId> {
    given.sort_unstable();
    let mut kept = BTreeSet::new();
    for (_, id) in given.into_iter().rev() {
        if kept.len() == ANSWERS {
            break;
        }
        kept.insert(id);
    }
    kept
}

/// The events a payload speaks of; none if it says something of itself.
fn speaks_of(payload: &Payload) -> Option<Vec<EventId>> {
    Some(match payload {
        Payload::CallNoted(of) => [of.tag, of.release].into(),
        Payload::Settled(of) => of.events.clone(),
        Payload::PhotoAttached(of) => of.of.into_iter().collect(),
        Payload::PhotoRemoved(of) => [of.photo].into(),
        Payload::Withdrawn(of) => [of.event].into(),
        _ => return None,
    })
}
