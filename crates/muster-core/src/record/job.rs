//! Workshop work: its kinds, how far it may move, and which answers prove it.

use alloc::{string::String, vec::Vec};

use super::{
    id::EventId,
    machine_state::{Job, MachineState},
    payload::JobState,
};
use crate::{
    check::{Check, Yields},
    equipment::Holds,
    judge::{Context, Judgement, Verdict},
    words::Ending,
};

/// A kind of workshop work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JobKind {
    /// Its name in files.
    pub id: String,
    /// Its name for people.
    pub name: String,
    /// The checks whose answers prove it; of them those that apply to the machine.
    pub proves: Vec<String>,
    /// Which earlier answers it ends.
    pub ends: Vec<Ending>,
}

/// A check that does not prove a job yet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lacking {
    /// The check.
    pub check: String,
    /// Why.
    pub why: Lack,
}

/// Why a check does not prove a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lack {
    /// It was not answered since the work was done.
    NotAnswered,
    /// It was answered and is on hold or unseen.
    Stops(Verdict),
}

impl JobState {
    /// Whether work moves from here to there by hand. Proven is reached by its answers alone.
    #[must_use]
    pub const fn moves_to(self, to: Self) -> bool {
        match self {
            Self::Open => matches!(to, Self::Waiting | Self::InHand | Self::Done),
            Self::Waiting => matches!(to, Self::Open | Self::InHand | Self::Done),
            Self::InHand => matches!(to, Self::Waiting | Self::Done),
            Self::Done => matches!(to, Self::InHand),
            Self::Proven => false,
        }
    }
}

/// The answers that prove a job that is done: for each of its checks that applies, the last one given after the work, where
/// the machine's judgement neither holds nor leaves the check unseen for any use that asks for it. What is set differently
/// for different uses, as tyres are for a passenger, needs one use that it is right for.
///
/// # Errors
/// The checks that are lacking.
pub fn proof(
    job: &Job,
    kind: &JobKind,
    state: &MachineState,
    context: &Context<'_>,
    judged: &Judgement,
) -> Result<Vec<EventId>, Vec<Lacking>> {
    let (mut answers, mut lacking) = (Vec::new(), Vec::new());
    for check in asked(kind, context) {
        let outcomes = judged.uses.iter().flat_map(|of| &of.outcomes).filter(|of| of.check == check.id);
        let verdicts = outcomes.map(|of| of.verdict);
        let counts = if is_set(check) { verdicts.min() } else { verdicts.max() };
        match (last_answer(job, state, &check.id), counts) {
            (Some(_), Some(verdict)) if verdict >= Verdict::Unseen => {
                lacking.push(Lacking { check: check.id.clone(), why: Lack::Stops(verdict) });
            }
            (Some(answer), _) => answers.push(answer),
            (None, _) => lacking.push(Lacking { check: check.id.clone(), why: Lack::NotAnswered }),
        }
    }
    if lacking.is_empty() { Ok(answers) } else { Err(lacking) }
}

fn is_set(check: &Check) -> bool {
    matches!(&check.yields, Yields::Read(measure) if measure.settable.is_some())
}

/// The checks a kind of work asks of a machine: those that apply to it.
pub fn asked<'c>(kind: &JobKind, context: &Context<'c>) -> impl Iterator<Item = &'c Check> {
    let (catalogue, equipment) = (context.catalogue, &context.machine.traits.equipment);
    let applies =
        |check: &&Check| check.applies.holds(equipment) != Holds::No && check.requires.lacking(equipment).is_empty();
    kind.proves.iter().filter_map(|id| catalogue.check(id)).filter(applies)
}

/// The last answer to a check given since the work was done.
pub(super) fn last_answer(job: &Job, state: &MachineState, check: &str) -> Option<EventId> {
    let since = state.walk_rounds.values().flat_map(|walk_round| {
        let answers = walk_round.places.iter().zip(&walk_round.form.answers);
        answers.filter(|(place, answer)| answer.check == check && job.is_since_done(**place, answer.at))
    });
    since.max_by_key(|(place, answer)| (answer.at, **place)).map(|(place, _)| place.id)
}
