//! The judgement of a machine from its record: what a phone and a server both compute, byte for byte the same.

use alloc::vec::Vec;

use super::machine_state::MachineState;
use crate::{
    at_once::at_once,
    calendar::Moment,
    catalogue::Catalogue,
    form::{Form, Outing},
    judge::{Context, Judgement, Judging},
    machine::Machine,
    outing::{self, Assessment, Case, Kept, bound::Asks},
    yard::Yard,
};

/// A machine as its record has it: its file, with the service state and the mountings of its events.
#[must_use]
pub fn machine(yard: &Yard, state: &MachineState) -> Option<Machine> {
    let mut machine = yard.machines.get(&state.machine)?.clone();
    if let Some((service, _)) = state.service {
        machine.service = service;
    }
    for part in state.parts.values() {
        *machine.mountings.entry(part.mounted.place.clone()).or_default() += 1;
    }
    let is_there = |place: &str| state.parts.values().any(|part| part.mounted.place == place && part.removed.is_none());
    let places = machine.mountings.iter_mut().filter(|(place, _)| !is_there(place));
    places.for_each(|(_, count)| *count = Machine::GONE);
    Some(machine)
}

/// Judges a machine now, for an outing if one is asked for, else for the one its newest walk-round names. None if the yard
/// has no such machine.
#[must_use]
pub fn judgement(
    catalogue: &Catalogue,
    yard: &Yard,
    state: &MachineState,
    now: Moment,
    outing: Option<Outing>,
) -> Option<Judgement> {
    at_once(judgement_in_pieces((catalogue, yard), state, now, outing, async || ()))
}

/// As [`judgement`], resting between checks: the whole at once would keep a slow phone from painting.
pub async fn judgement_in_pieces(
    (catalogue, yard): (&Catalogue, &Yard),
    state: &MachineState,
    now: Moment,
    outing: Option<Outing>,
    rest: impl AsyncFn(),
) -> Option<Judgement> {
    let machine = machine(yard, state)?;
    let context = Context { machine: &machine, ..Context::of(catalogue, yard, &state.machine, now)? };
    let books = state.books_by(now);
    let walked = state.walk_rounds.values().map(|walk_round| &walk_round.form);
    let mut forms: Vec<&Form> = [&books].into_iter().chain(walked).collect();
    let planned =
        outing.and_then(|outing| newest(&forms, now).map(|form| (form, Form { outing: Some(outing), ..form.clone() })));
    if let Some((newest, planned)) = &planned {
        let others: Vec<&Form> = forms.iter().copied().filter(|form| !core::ptr::eq(*form, *newest)).collect();
        forms = others.into_iter().chain([planned]).collect();
    }
    let mut judging = Judging::begin(&context, &forms);
    while judging.next_check() {
        rest().await;
    }
    Some(judging.judgement())
}

/// Works outings out for a machine that was judged, each by itself. None if the yard has no such machine.
#[must_use]
pub fn outings(
    rules: (&Catalogue, &Yard),
    state: &MachineState,
    now: Moment,
    judgement: &Judgement,
    outings: &[outing::Outing],
) -> Option<Vec<Assessment>> {
    with_case(rules, state, now, judgement, |case| outings.iter().map(|of| outing::assess(case, of)).collect())
}

/// What an outing that somebody worked out before asks now. None if the yard has no such machine.
#[must_use]
pub fn kept(
    rules: (&Catalogue, &Yard),
    state: &MachineState,
    now: Moment,
    judgement: &Judgement,
    kept: &Kept,
) -> Option<Asks> {
    with_case(rules, state, now, judgement, |case| kept.asks_now(case))
}

fn with_case<T>(
    (catalogue, yard): (&Catalogue, &Yard),
    state: &MachineState,
    now: Moment,
    judgement: &Judgement,
    ask: impl FnOnce(&Case<'_>) -> T,
) -> Option<T> {
    let machine = machine(yard, state)?;
    let context = Context { machine: &machine, ..Context::of(catalogue, yard, &state.machine, now)? };
    let books = state.books_by(now);
    let walked = state.walk_rounds.values().map(|walk_round| &walk_round.form);
    let forms: Vec<&Form> = [&books].into_iter().chain(walked).collect();
    Some(ask(&Case { context: &context, judgement, forms: &forms }))
}

/// Judges a machine for an outing and works it out.
#[must_use]
pub fn outing(
    (catalogue, yard): (&Catalogue, &Yard),
    state: &MachineState,
    now: Moment,
    outing: &outing::Outing,
) -> Option<(Judgement, Assessment)> {
    let judgement = judgement(catalogue, yard, state, now, outing.planned())?;
    let assessed = outings((catalogue, yard), state, now, &judgement, core::slice::from_ref(outing))?.pop()?;
    Some((judgement, assessed))
}

fn newest<'f>(forms: &[&'f Form], now: Moment) -> Option<&'f Form> {
    forms.iter().copied().filter(|form| form.opened <= now).max_by_key(|form| form.opened)
}
