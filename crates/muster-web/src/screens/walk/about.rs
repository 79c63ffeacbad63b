//! A machine with all its judgement rests on, and what its checks come to in the walk-round at hand.

use std::sync::Arc;

use muster_core::{
    calendar::Moment,
    check::Check,
    form::Answer,
    judge::{Context, Judgement, Outcome},
    machine::Machine,
    record::{held::Rules, id::EventId, judged, machine_state::MachineState, payload::Payload, walk_rounds::WalkRound},
    state::{Stance, Standing},
    words::Use,
    yard::Yard as Books,
};

use crate::yard::Yard;

/// One machine as it is known now.
#[derive(Clone)]
pub(super) struct About {
    /// The catalogue and the kinds of work.
    pub(super) rules: Arc<Rules>,
    /// The yard's books.
    pub(super) books: Arc<Books>,
    /// The machine's events, folded.
    pub(super) state: Arc<MachineState>,
    /// What it comes to now.
    pub(super) judgement: Arc<Judgement>,
    machine: Machine,
}

impl About {
    /// Looks a machine up; whoever reads looks again when anything is written.
    pub(super) fn of(yard: &Yard, id: &str) -> Option<Self> {
        let seen = yard.machine(id)?;
        let books = yard.with(|held| held.known().yard.clone())?;
        let machine = judged::machine(&books, &seen.state)?;
        Some(Self { rules: yard.rules(), books, state: seen.state, judgement: seen.judgement, machine })
    }

    /// What its judgement rests on, at a moment.
    pub(super) fn context(&self, now: Moment) -> Option<Context<'_>> {
        let of = Context::of(&self.rules.catalogue, &self.books, &self.machine.id, now)?;
        Some(Context { machine: &self.machine, ..of })
    }

    /// What it stands on by itself.
    pub(super) fn stands(&self) -> Stance {
        Standing::of_machine(&self.machine.traits.equipment).0
    }

    /// A check as this machine is asked it.
    pub(super) fn check(&self, id: &str) -> Option<&Check> {
        self.rules.catalogue.check(id).map(|check| check.on(&self.machine.traits.equipment))
    }

    /// A walk-round by its opening.
    pub(super) fn walk(&self, opening: EventId) -> Option<&WalkRound> {
        self.state.walk_rounds.get(&opening).map(|of| &**of)
    }

    /// The answers given to a check in a walk-round, with the events they stand in.
    pub(super) fn answers<'a>(
        &'a self,
        opening: EventId,
        check: &'a str,
    ) -> impl DoubleEndedIterator<Item = (EventId, &'a Answer)> {
        let all = self.walk(opening).into_iter().flat_map(|of| of.answers.iter().copied().zip(&of.form.answers));
        all.filter(move |(_, answer)| answer.check == check).collect::<Vec<_>>().into_iter()
    }

    /// The last answer to a check, in whichever walk-round.
    pub(super) fn last(&self, check: &str) -> Option<&Answer> {
        let all = self.state.forms().into_iter().flat_map(|form| &form.answers);
        all.filter(|answer| answer.check == check).max_by_key(|answer| answer.at)
    }

    /// What a check comes to for the use planned, else for the use it is gravest for.
    pub(super) fn outcome(&self, check: &str) -> Option<&Outcome> {
        let of = |outcome: &&Outcome| outcome.check == check;
        let planned = self.judgement.planned().and_then(|one| one.outcomes.iter().find(of));
        let all = self.judgement.uses.iter().flat_map(|one| &one.outcomes).filter(of);
        planned.or_else(|| all.max_by_key(|outcome| outcome.verdict))
    }
}

/// The use a walk-round is for: the range unless it says otherwise.
pub(super) fn planned(walk: &WalkRound) -> Use {
    walk.form.outing.map_or(Use::Range, |outing| outing.planned)
}

/// Whether figures of a walk-round are written with a decimal comma.
pub(super) fn comma(yard: &Yard, opening: EventId) -> bool {
    yard.with(|held| match held.event(opening).map(|event| &event.payload) {
        Some(Payload::WalkRoundOpened(of)) => of.comma,
        _ => false,
    })
    .unwrap_or(false)
}
