//! Outings planned for a machine that wait for somebody to let it out.

use alloc::vec::Vec;

use super::{
    id::{EventId, PersonId},
    judged,
    machine_state::MachineState,
    payload::OutingPlanned,
    yard_state::YardState,
};
use crate::{
    calendar::Moment,
    catalogue::Catalogue,
    judge::Judgement,
    outing::{Kept, bound::Asks},
    sorted,
    yard::Yard,
};

/// An outing that waits.
#[derive(Clone, Debug, PartialEq)]
pub struct Waiting {
    /// Its planning.
    pub id: EventId,
    /// Who worked it out, and when.
    pub by: (PersonId, Moment),
    /// As it was planned.
    pub planned: OutingPlanned,
    /// What it came to then.
    pub kept: Kept,
    /// The machine judged for it now.
    pub judgement: Judgement,
    /// What it asks now.
    pub asks: Asks,
}

/// What was planned for a machine, is not over and was not let out, whatever became of the rules it rests on.
pub fn planned<'a>(
    books: &'a YardState,
    state: &'a MachineState,
    now: Moment,
) -> impl Iterator<Item = (EventId, &'a OutingPlanned)> {
    let is_out = |id: &EventId| state.releases.values().any(|of| of.released.planned == Some(*id));
    let of = books.outings.iter().map(|(id, of)| (*id, of));
    of.filter(move |(id, of)| of.machine.as_ref() == Some(&state.machine) && of.to > now && !is_out(id))
}

/// What waits for a machine, newest first: what is not over, was not let out, and rests on the rules as they are.
#[must_use]
pub fn of(
    (catalogue, yard): (&Catalogue, &Yard),
    books: &YardState,
    state: &MachineState,
    now: Moment,
) -> Vec<Waiting> {
    let mut out: Vec<Waiting> = planned(books, state, now)
        .filter_map(|(id, planned)| {
            let kept = Kept::read(&planned.worked_out.as_ref()?.outing).ok()?;
            let judgement = judged::judgement(catalogue, yard, state, now, kept.outing().planned())?;
            if (&kept.catalogue, &kept.yard) != (&judgement.catalogue, &judgement.yard) {
                return None;
            }
            let asks = judged::kept((catalogue, yard), state, now, &judgement, &kept)?;
            let by = books.planners.get(&id)?.clone();
            Some(Waiting { id, by, planned: planned.clone(), kept, judgement, asks })
        })
        .collect();
    sorted::sort_by(&mut out, |a, b| b.by.1.cmp(&a.by.1));
    out
}
