//! The rows of each list, from the record.

use std::{cmp::Reverse, collections::BTreeMap};

use muster_core::{
    calendar::Moment,
    instrument::{AccuracyOf, Instrument},
    judge::{Context, Due, Judgement, Outcome, Verdict, due},
    quantity::{Distance, show},
    record::{
        event::Entry,
        id::PersonId,
        judged,
        machine_state::MachineState,
        payload::Subject,
        rights::{View, may_view},
    },
    words::Use,
};
use muster_wire::{people::PersonView, readings::ReadingsView};

use super::{
    For, List,
    table::{Cell, Column, Table},
};
use crate::{
    keeper::Keeper,
    people::names,
    store::{Arrival, StoreError, Stored},
};

/// Events read at once.
const BATCH: usize = 1000;

/// Which part of a list is asked for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Part {
    /// Of this machine alone; without one of all.
    pub machine: Option<String>,
    /// Events behind this number.
    pub after: Arrival,
    /// At most this many events.
    pub limit: usize,
}

/// Why there is no list.
#[derive(Debug, thiserror::Error)]
pub enum NoList {
    /// No such machine.
    #[error("no machine `{0}` here")]
    NoMachine(String),
    /// The record cannot be read.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// The rows of a list.
///
/// # Errors
/// [`NoList`] for a machine that is not here, or a record that cannot be read.
pub fn rows(keeper: &Keeper, list: List, part: &Part, of: For) -> Result<Table, NoList> {
    let machines = match &part.machine {
        Some(id) => vec![keeper.machine(id)?.ok_or_else(|| NoList::NoMachine(id.clone()))?],
        None if matches!(list, List::Instruments | List::People | List::Record) => Vec::new(),
        None => {
            let yard = keeper.known().yard;
            yard.machines.keys().filter_map(|id| keeper.machine(id).transpose()).collect::<Result<_, _>>()?
        }
    };
    let machines = machines.iter().map(|state| &**state);
    Ok(match list {
        List::Yard => yard(keeper, machines, of)?,
        List::Readings => readings(keeper, machines),
        List::Findings => findings(machines),
        List::Jobs => jobs(keeper, machines),
        List::Instruments => instruments(keeper, of.now),
        List::People => people(keeper)?,
        List::Record => record(keeper, part)?,
    })
}

const YARD: &[Column] = &[
    "machine",
    "model",
    "row",
    "service",
    "use",
    "verdict",
    "range",
    "road",
    "passenger",
    "dark",
    "tightest",
    "why",
    "to_do",
    "margin",
    "margin_unit",
    "due",
    "due_on",
    "out",
    "who_has_it",
    "back_by",
    "hold_tags",
    "jobs_open",
    "odometer_km",
];

fn yard<'m>(keeper: &Keeper, machines: impl Iterator<Item = &'m MachineState>, of: For) -> Result<Table, StoreError> {
    let names = if may_view(of.role, View::People) { names::all(keeper)? } else { BTreeMap::new() };
    let mut rows = Vec::new();
    for state in machines {
        let Some(judgement) = keeper.judge_state(state, of.now, None) else { continue };
        let verdict = judgement.planned().map_or(Verdict::Unseen, |of| of.verdict);
        rows.push((Reverse(verdict), judgement.machine.clone(), machine(keeper, state, &judgement, (of.now, &names))));
    }
    rows.sort_by(|a, b| (a.0, &a.1).cmp(&(b.0, &b.1)));
    Ok(Table { columns: YARD, rows: rows.into_iter().map(|(_, _, row)| row).collect() })
}

fn machine(
    keeper: &Keeper,
    state: &MachineState,
    judgement: &Judgement,
    (now, names): (Moment, &BTreeMap<PersonId, String>),
) -> Vec<Cell> {
    let yard = keeper.known().yard;
    let machine = judged::machine(&yard, state);
    let planned = judgement.planned();
    let of_use = |one: Use| judgement.uses.iter().find(|of| of.one == one).map(|of| of.verdict.as_str());
    let tightest = planned.and_then(|of| tightest(&of.outcomes));
    let figure = tightest.and_then(|of| of.figure.as_ref());
    let next = next_due(keeper, state, now);
    let out = state.out().next().map(|(_, release)| &release.released);
    let riders = out.map(|out| out.riders.iter().map(|id| names.get(id).map_or(id.as_str(), String::as_str)));
    let riders = riders.map(|riders| riders.collect::<Vec<_>>().join("; "));
    let mut row: Vec<Cell> = vec![
        judgement.machine.as_str().into(),
        judgement.model.as_str().into(),
        machine.as_ref().map(|of| usize::from(of.row)).into(),
        machine.as_ref().map(|of| of.service.as_str()).into(),
        planned.map(|of| of.one.as_str()).into(),
        planned.map(|of| of.verdict.as_str()).into(),
    ];
    row.extend([Use::Range, Use::Road, Use::Passenger, Use::Dark].map(|one| Cell::from(of_use(one))));
    row.extend([
        tightest.map(|of| of.name.as_str()).into(),
        tightest.map(|of| of.reason.as_str()).into(),
        tightest.and_then(|of| of.todo.as_deref()).into(),
        figure.map_or(Cell::Nothing, |of| Cell::Figure(of.margin, of.decimals)),
        figure.map(|of| of.unit).into(),
        next.as_ref().map(|due| format!("{}: {}", due.name, due.falls.as_str().replace('-', " "))).into(),
        next.map(|due| due.on.to_string()).into(),
        out.is_some().into(),
        riders.into(),
        out.map(|out| out.to.to_string()).into(),
        state.hanging().count().into(),
        state.unproven().count().into(),
        km(state.odometer()),
    ]);
    row
}

/// The worst reason; where all is fit, the reading with the least share of its allowance left.
fn tightest(outcomes: &[Outcome]) -> Option<&Outcome> {
    let worst = outcomes.first().filter(|of| of.verdict != Verdict::Fit);
    let share = |of: &Outcome| of.share.unwrap_or(f64::INFINITY);
    let read = outcomes.iter().filter(|of| of.figure.is_some());
    worst.or_else(|| read.min_by(|a, b| share(a).total_cmp(&share(b))))
}

/// What falls due first.
fn next_due(keeper: &Keeper, state: &MachineState, now: Moment) -> Option<Due> {
    keeper.due(state, now).into_iter().next()
}

impl Keeper {
    /// What falls due of a machine on a day that is known, first day first.
    #[must_use]
    pub fn due(&self, state: &MachineState, now: Moment) -> Vec<Due> {
        let yard = self.known().yard;
        let machine = judged::machine(&yard, state);
        let context = Context::of(self.catalogue(), &yard, &state.machine, now);
        let Some((machine, context)) = machine.zip(context) else { return Vec::new() };
        due(&Context { machine: &machine, ..context }, &state.forms())
    }
}

fn km(distance: Option<Distance>) -> Cell {
    distance.map_or(Cell::Nothing, |way| Cell::Figure(way.km(), 1))
}

const READINGS: &[Column] = &["machine", "check", "name", "at", "by", "odometer_km", "place", "value", "unit", "after"];

fn readings<'m>(keeper: &Keeper, machines: impl Iterator<Item = &'m MachineState>) -> Table {
    let units = keeper.known().yard.units;
    let mut rows = Vec::new();
    for state in machines {
        let view = ReadingsView::of(state, keeper.catalogue(), units);
        for check in &view.checks {
            for one in &check.readings {
                rows.push(vec![
                    view.machine.as_str().into(),
                    check.check.as_str().into(),
                    check.name.as_str().into(),
                    one.at.as_str().into(),
                    one.by.as_str().into(),
                    one.odometer_km.map_or(Cell::Nothing, |km| Cell::Figure(km, 1)),
                    one.place.as_deref().into(),
                    Cell::Figure(one.value, check.decimals),
                    check.unit.as_str().into(),
                    one.after.as_deref().into(),
                ]);
            }
        }
    }
    Table { columns: READINGS, rows }
}

const FINDINGS: &[Column] =
    &["machine", "finding", "check", "what", "class", "uses", "by", "at", "feedback", "open", "closed_by"];

fn findings<'m>(machines: impl Iterator<Item = &'m MachineState>) -> Table {
    let mut rows = Vec::new();
    for state in machines {
        for (id, of) in &state.findings {
            let uses: Vec<&str> = of.raised.uses.iter().map(|one| one.as_str()).collect();
            rows.push(vec![
                state.machine.as_str().into(),
                id.to_string().into(),
                of.raised.check.as_deref().into(),
                of.raised.what.as_str().into(),
                of.class.as_str().into(),
                uses.join(" ").into(),
                of.by.0.as_str().into(),
                of.by.1.to_string().into(),
                of.raised.feedback.into(),
                of.closed.is_none().into(),
                of.closed.map(|by| by.to_string()).into(),
            ]);
        }
    }
    Table { columns: FINDINGS, rows }
}

const JOBS: &[Column] = &["machine", "job", "kind", "name", "why", "state", "planned_for", "findings", "tags"];

fn jobs<'m>(keeper: &Keeper, machines: impl Iterator<Item = &'m MachineState>) -> Table {
    let mut rows = Vec::new();
    for state in machines {
        for (id, of) in &state.jobs {
            let kind = keeper.jobs().iter().find(|kind| kind.id == of.opened.job);
            let named = |events: &[muster_core::record::id::EventId]| {
                events.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ")
            };
            rows.push(vec![
                state.machine.as_str().into(),
                id.to_string().into(),
                of.opened.job.as_str().into(),
                kind.map(|kind| kind.name.as_str()).into(),
                of.opened.why.as_str().into(),
                of.state.0.as_str().into(),
                of.planned.as_deref().into(),
                named(&of.opened.findings).into(),
                named(&of.opened.tags).into(),
            ]);
        }
    }
    Table { columns: JOBS, rows }
}

const INSTRUMENTS: &[Column] = &[
    "instrument",
    "name",
    "kind",
    "reads",
    "unit",
    "smallest_step",
    "may_be_off_by",
    "accuracy_is",
    "compared_on",
    "found_bad_on",
    "trusted",
];

fn instruments(keeper: &Keeper, now: Moment) -> Table {
    let row = |of: &Instrument| {
        let unit = of.resolution.unit();
        let (accuracy, is) = match of.accuracy {
            AccuracyOf::HalfWidth(amount) => (amount, "half-width"),
            AccuracyOf::ExpandedK2(amount) => (amount, "expanded-k2"),
        };
        // A step is a difference: it has no zero to be moved.
        let step = accuracy.value() * accuracy.unit().step() / unit.step();
        vec![
            of.id.as_str().into(),
            of.name.as_str().into(),
            of.kind.as_str().into(),
            of.reads.name().into(),
            unit.symbol().into(),
            show::figure(of.resolution.value()).into(),
            show::figure(step).into(),
            is.into(),
            of.compared.map(|day| day.to_string()).into(),
            of.found_bad.map(|day| day.to_string()).into(),
            of.is_trusted(now.date()).into(),
        ]
    };
    let yard = keeper.known().yard;
    Table { columns: INSTRUMENTS, rows: yard.instruments.values().map(row).collect() }
}

const PEOPLE: &[Column] = &["person", "name", "role", "rights", "active", "erased"];

fn people(keeper: &Keeper) -> Result<Table, StoreError> {
    let (names, state) = (names::all(keeper)?, keeper.known().state);
    let row = |(person, of): (&PersonId, &_)| {
        let view = PersonView::of(person, of, names.get(person));
        let rights = view.rights.join(" ");
        vec![
            view.person.into(),
            view.name.into(),
            view.role.into(),
            rights.into(),
            view.active.into(),
            view.erased.into(),
        ]
    };
    Ok(Table { columns: PEOPLE, rows: state.people.iter().map(row).collect() })
}

const RECORD: &[Column] = &["number", "event", "kind", "machine", "author", "at", "device", "sha256"];

fn record(keeper: &Keeper, part: &Part) -> Result<Table, StoreError> {
    let (mut rows, mut after) = (Vec::new(), part.after);
    loop {
        let found = keeper.store().since(after, BATCH)?;
        let Some(last) = found.last() else { break };
        after = last.arrival;
        for stored in &found {
            let (machine, row) = event(stored)?;
            if rows.len() < part.limit && (part.machine.is_none() || machine == part.machine) {
                rows.push(row);
            }
        }
        if rows.len() >= part.limit {
            break;
        }
    }
    Ok(Table { columns: RECORD, rows })
}

/// An event's row, and the machine it is about.
fn event(stored: &Stored) -> Result<(Option<String>, Vec<Cell>), StoreError> {
    let entry = Entry::read(&stored.signed.event)
        .map_err(|error| StoreError::Damaged { what: format!("event {}: {error}", stored.id) })?;
    let event = entry.event.as_ref();
    let machine = event.and_then(|event| match event.payload.subject() {
        Subject::Machine(machine) => Some(machine),
        Subject::Yard => None,
    });
    let row = vec![
        Cell::Count(stored.arrival),
        stored.id.to_string().into(),
        event.map(|event| event.payload.kind().as_str()).into(),
        machine.as_deref().into(),
        event.map(|event| event.author.as_str()).into(),
        event.map(|event| event.at.to_string()).into(),
        stored.id.device.to_string().into(),
        entry.hash.into(),
    ];
    Ok((machine, row))
}
