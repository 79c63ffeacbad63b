//! What an answer would come to before it is written, and a check's limits before anything was read.

use alloc::{
    string::{String, ToString},
    vec::Vec,
};

use super::{
    event::Place,
    id::{DeviceId, EventId, PersonId},
    judged,
    machine_state::MachineState,
    payload::Payload,
    walk_rounds::Written,
};
use crate::{
    calendar::Moment,
    catalogue::Catalogue,
    check::{Check, Yields},
    form::Form,
    judge::{Context, Figure, Outcome, Verdict, judge_check},
    quantity::Amount,
    words::Use,
    yard::{Units, Yard},
};

/// What an answer is tried against.
#[derive(Clone, Copy, Debug)]
pub struct Tried<'t> {
    /// The catalogue.
    pub catalogue: &'t Catalogue,
    /// The yard.
    pub yard: &'t Yard,
    /// The machine as its record has it.
    pub state: &'t MachineState,
    /// Who would answer.
    pub by: &'t PersonId,
    /// When.
    pub now: Moment,
    /// The units its figures are told in: those of the gauge in the hand.
    pub units: Units,
}

/// What one check would come to for each use that asks for it, if this answer were written: nothing is.
///
/// # Errors
/// What is wrong with the answer, in words. Other payloads than a reading and an observation answer nothing.
pub fn outcomes(tried: Tried<'_>, answer: &Payload) -> Result<Vec<Outcome>, String> {
    let Tried { catalogue, state, by, now, .. } = tried;
    let (check, opening) = match answer {
        Payload::ReadingTaken(of) => (&of.check, of.walk_round),
        Payload::ObservationMade(of) => (&of.check, of.walk_round),
        _ => return Ok(Vec::new()),
    };
    let mut walk_round = state.walk_rounds.get(&opening).map(|of| (**of).clone()).ok_or("no such walk-round here")?;
    // It has no number yet; in a form it stands behind all others.
    let id = EventId { device: DeviceId::of_key(&[0; 32]), seq: 1 };
    let written = Written { id, place: Place { height: u64::MAX, id }, author: by, at: now };
    let taken = match answer {
        Payload::ReadingTaken(of) => walk_round.read(of, written, catalogue),
        Payload::ObservationMade(of) => walk_round.saw(of, written, catalogue),
        _ => Ok(()),
    };
    // An answer that says nothing at all has no fault to name.
    let said_nothing = || "the answer says nothing: give a figure or what was seen".to_string();
    taken.map_err(|faults| faults.first().map_or_else(said_nothing, |fault| fault.what.clone()))?;
    let others = state.walk_rounds.iter().filter(|(id, _)| **id != opening).map(|(_, of)| only(&of.form, check));
    let forms: Vec<Form> =
        [only(&state.books_by(now), check)].into_iter().chain(others).chain([only(&walk_round.form, check)]).collect();
    Ok(of_check(tried, &forms, check))
}

fn of_check(tried: Tried<'_>, forms: &[Form], check: &str) -> Vec<Outcome> {
    let Tried { catalogue, yard, state, now, units, .. } = tried;
    let machine = judged::machine(yard, state);
    let context = machine.as_ref().zip(Context::of(catalogue, yard, &state.machine, now));
    let Some(((machine, context), check)) = context.zip(catalogue.check(check)) else { return Vec::new() };
    judge_check(&Context { machine, units, ..context }, &forms.iter().collect::<Vec<_>>(), check)
}

/// A form with the answers to one check alone: no other check's answers bear on its verdict, and to judge a year of them
/// at each key would keep a thumb waiting.
fn only(form: &Form, check: &str) -> Form {
    Form {
        machine: form.machine.clone(),
        by: form.by.clone(),
        answers: form.answers.iter().filter(|answer| answer.check == check).cloned().collect(),
        findings: Vec::new(),
        closes: Vec::new(),
        events: form.events.clone(),
        ..*form
    }
}

/// A check's limits, target and new value with no reading, in the unit shown, to be drawn before anything is read; none
/// where it yields no figure or has no limit. Of a place named its own, else those of every place: what binds one place
/// alone is not shown for the others, unless nothing else bounds them.
#[must_use]
pub fn blank(context: &Context<'_>, check: &Check, place: Option<&str>, one: Use) -> Option<Outcome> {
    let Yields::Read(measure) = &check.yields else { return None };
    let (mut counting, shown) = (context.limits(check, one), context.shown(measure));
    let everywhere = counting.bounds.iter().any(|row| row.places.is_empty());
    counting.bounds.retain(|row| match place {
        Some(_) => row.binds_at(place),
        None => !everywhere || row.places.is_empty(),
    });
    let amount = |amount: Amount| amount.in_unit(shown.unit);
    let row = counting.bounds.first()?;
    let mut outcome = Outcome::new(&check.id, &check.name, one, Verdict::Unseen, String::new());
    outcome.class = context.class_of(check, row.class, one);
    outcome.source = Some([row.layer.to_string(), row.provenance.to_string()].join(": "));
    outcome.figure = Some(Figure {
        unit: shown.unit.symbol(),
        decimals: shown.decimals,
        value: f64::NAN,
        expanded_u: f64::NAN,
        gauge: None,
        at_least: counting.bounds.iter().filter_map(|row| row.at_least.map(amount)).max_by(f64::total_cmp),
        at_most: counting.bounds.iter().filter_map(|row| row.at_most.map(amount)).min_by(f64::total_cmp),
        target: counting.target.and_then(|row| row.target).map(amount),
        new: counting.new.map(amount),
        margin: f64::NAN,
        places: Vec::new(),
    });
    Some(outcome)
}
