//! Readings, a row each: rows of one machine and moment become one walk-round, opened, answered and closed.

use std::collections::BTreeMap;

use muster_core::{
    calendar::Moment,
    check::Yields,
    form::Answer,
    record::{
        decide::Command,
        id::EventId,
        payload::{ReadingTaken, Typed, WalkRoundClosed, WalkRoundOpened},
    },
    state::{Heat, Power, Stance, State},
    words::Depth,
};

use super::{
    Outcome, Row,
    cells::{figure, moment},
    sheet::{Cells, Known, Sheet},
};
use crate::keeper::{NotDone, Trial};

/// Columns; a moment is `at`, or `date` and `time`.
pub(super) const COLUMNS: &[Known] = &[
    ("machine", true),
    ("check", true),
    ("value", true),
    ("unit", false),
    ("place", false),
    ("at", false),
    ("date", false),
    ("time", false),
    ("odometer", false),
    ("instrument", false),
    ("air", false),
    ("tyre", false),
    ("heat", false),
    ("why", false),
    ("note", false),
];

/// A row that can be read.
struct Read<'s> {
    line: u64,
    at: Moment,
    cells: Cells<'s>,
    figure: String,
    odometer: Option<String>,
    air: Option<String>,
    tyre: Option<String>,
    heat: Heat,
}

/// Takes the rows in: those of a machine by their time, whatever their order in the table.
pub(super) fn take(trial: &mut Trial<'_>, sheet: &Sheet, now: Moment) -> Result<Vec<Row>, NotDone> {
    let (mut rows, mut groups) = (Vec::new(), BTreeMap::<(Moment, String), Vec<Read<'_>>>::new());
    for line in &sheet.rows {
        let read = line.cells().and_then(|cells| read(trial, sheet, (line.line, cells), now));
        match read {
            Ok(read) => {
                let machine = read.cells.get("machine").unwrap_or_default().to_string();
                groups.entry((read.at, machine)).or_default().push(read);
            }
            Err(why) => {
                let what = line.cells().map(says).unwrap_or_default();
                rows.push(Row { line: line.line, what, outcome: Outcome::Refused(why) });
            }
        }
    }
    for ((at, machine), reads) in groups {
        let outcomes = reads.iter().map(|_| None).collect();
        let mut group = Group { sheet, machine: &machine, at, reads: &reads, outcomes };
        group.walk_round(trial)?;
        let outcomes = group.outcomes.into_iter().map(|outcome| outcome.unwrap_or(Outcome::Written));
        let told = |(read, outcome): (&Read<'_>, Outcome)| Row { line: read.line, what: says(read.cells), outcome };
        rows.extend(reads.iter().zip(outcomes).map(told));
    }
    Ok(rows)
}

fn says(cells: Cells<'_>) -> String {
    let at = cells.get("at").or(cells.get("date"));
    let said =
        [cells.get("machine"), cells.get("check"), cells.get("place"), cells.get("value"), cells.get("unit"), at];
    said.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn read<'s>(
    trial: &Trial<'_>,
    sheet: &Sheet,
    (line, cells): (u64, Cells<'s>),
    now: Moment,
) -> Result<Read<'s>, String> {
    let (check, value) = (cells.need("check")?, cells.need("value")?);
    cells.need("machine")?;
    let at = moment(cells, &trial.known().yard, now)?;
    let yields = trial.catalogue().check(check).map(|check| &check.yields);
    // A day or a code has no unit and no decimals.
    let figured = match yields {
        Some(Yields::Date(_)) => value.to_string(),
        _ => figure(sheet, "value", value, cells.get("unit"))?,
    };
    let other = |column: &str| cells.get(column).map(|cell| figure(sheet, column, cell, None)).transpose();
    let heat = cells.get("heat").map(|heat| heat.parse::<Heat>().map_err(|error| format!("heat: {error}")));
    let (odometer, air, tyre) = (other("odometer")?, other("air")?, other("tyre")?);
    Ok(Read { line, at, cells, figure: figured, odometer, air, tyre, heat: heat.transpose()?.unwrap_or(Heat::Cold) })
}

/// The rows of one machine and moment. A row without an outcome stands so far.
struct Group<'g> {
    sheet: &'g Sheet,
    machine: &'g str,
    at: Moment,
    reads: &'g [Read<'g>],
    outcomes: Vec<Option<Outcome>>,
}

impl Group<'_> {
    /// Opens a walk-round, answers, closes it; none is left of which no answer stands.
    fn walk_round(&mut self, trial: &mut Trial<'_>) -> Result<(), NotDone> {
        // What was taken in before is known by its answers. The odometer has gone on since and would refuse the look.
        let before = trial.mark();
        let looked = self.answered(trial, None, true)?;
        trial.back(before);
        if looked.is_none() {
            return Ok(());
        }
        let before = trial.mark();
        let odometer = self.reads.iter().rev().find_map(|read| read.odometer.clone());
        match self.answered(trial, odometer, false)? {
            Some(walk_round) => {
                let closed = WalkRoundClosed { machine: self.machine.to_string(), walk_round };
                trial.act(Command::Write(closed.into()), self.at)?;
            }
            None => trial.back(before),
        }
        Ok(())
    }

    /// Opens a walk-round and gives what stands so far, those of one check by their places as one answer. Its opening, if
    /// any answer stands.
    fn answered(
        &mut self,
        trial: &mut Trial<'_>,
        odometer: Option<String>,
        looks_back: bool,
    ) -> Result<Option<EventId>, NotDone> {
        let opening = match trial.act(self.opened(odometer), self.at) {
            Ok(ids) => ids.first().copied(),
            Err(refused) => {
                let all = (0..self.reads.len()).collect::<Vec<_>>();
                self.set(&all, &Outcome::Refused(why(refused)?));
                None
            }
        };
        let Some(opening) = opening else { return Ok(None) };
        let mut any = false;
        for rows in self.answers() {
            let mark = trial.mark();
            let of: Vec<&Read<'_>> = rows.iter().filter_map(|index| self.reads.get(*index)).collect();
            let outcome = match trial.act(self.reading(opening, &of), self.at) {
                Ok(_) if looks_back && is_here(trial, self.machine, opening)? => Outcome::Here,
                Ok(_) => {
                    any = true;
                    continue;
                }
                Err(refused) => Outcome::Refused(why(refused)?),
            };
            trial.back(mark);
            self.set(&rows, &outcome);
        }
        Ok(any.then_some(opening))
    }

    /// Gives rows an outcome, where they have none.
    fn set(&mut self, rows: &[usize], to: &Outcome) {
        for (_, outcome) in self.outcomes.iter_mut().enumerate().filter(|(index, _)| rows.contains(index)) {
            outcome.get_or_insert_with(|| to.clone());
        }
    }

    /// Which rows make one answer: those of a check that differ in place; a row without one is its own.
    fn answers(&self) -> Vec<Vec<usize>> {
        let mut answers: Vec<Vec<usize>> = Vec::new();
        let open = self.reads.iter().zip(&self.outcomes).enumerate().filter(|(_, (_, outcome))| outcome.is_none());
        for (index, (read, _)) in open {
            let same = |rows: &&mut Vec<usize>| {
                let other = rows.first().and_then(|first| self.reads.get(*first));
                let placed = |of: &Read<'_>| of.cells.get("place").is_some();
                other.is_some_and(|other| {
                    let alike = |column| other.cells.get(column) == read.cells.get(column);
                    placed(other) && placed(read) && alike("check") && alike("instrument")
                })
            };
            match answers.iter_mut().find(same) {
                Some(rows) => rows.push(index),
                None => answers.push(vec![index]),
            }
        }
        answers
    }

    fn opened(&self, odometer: Option<String>) -> Command {
        let heat = self.reads.first().map_or(Heat::Cold, |read| read.heat);
        let opened = WalkRoundOpened {
            machine: self.machine.to_string(),
            depth: Depth::BeforeRide,
            found: State { heat, power: Power::Off, stance: Stance::SideStand },
            no_hold_tag: None,
            key_on_hook: None,
            odometer,
            air: self.reads.iter().rev().find_map(|read| read.air.clone()),
            barometer: None,
            ridden: None,
            planned: None,
            comma: self.sheet.is_comma,
        };
        Command::Write(opened.into())
    }

    fn reading(&self, walk_round: EventId, rows: &[&Read<'_>]) -> Command {
        let one = |column: &str| rows.iter().find_map(|read| read.cells.get(column)).map(ToString::to_string);
        let mut places = BTreeMap::<String, Vec<String>>::new();
        for read in rows {
            if let Some(place) = read.cells.get("place") {
                places.entry(place.to_string()).or_default().push(read.figure.clone());
            }
        }
        let figure = rows.first().map(|read| read.figure.clone()).unwrap_or_default();
        let read = if places.is_empty() { Typed::One(figure) } else { Typed::Places(places) };
        let taken = ReadingTaken {
            machine: self.machine.to_string(),
            walk_round,
            check: one("check").unwrap_or_default(),
            read,
            with: one("instrument"),
            tyre: rows.iter().find_map(|read| read.tyre.clone()),
            air: rows.iter().find_map(|read| read.air.clone()),
            odometer: rows.iter().find_map(|read| read.odometer.clone()),
            why: one("why"),
            note: Some(one("note").unwrap_or_else(|| "taken in from a table".to_string())),
            corrects: None,
        };
        Command::Write(taken.into())
    }
}

/// Why a command was refused; what the store cannot do is no refusal.
fn why(error: NotDone) -> Result<String, NotDone> {
    match error {
        NotDone::Store(error) => Err(error.into()),
        refused => Ok(refused.to_string()),
    }
}

/// Whether the last answer of a walk-round was given before: the same check and moment, the same figures.
fn is_here(trial: &mut Trial<'_>, machine: &str, opening: EventId) -> Result<bool, NotDone> {
    let Some(state) = trial.machine(machine)? else { return Ok(false) };
    let last = state.walk_rounds.get(&opening).and_then(|of| of.form.answers.last());
    let others = state.walk_rounds.iter().filter(|(id, _)| **id != opening).flat_map(|(_, of)| &of.form.answers);
    Ok(last.is_some_and(|last| others.into_iter().any(|other| is_same(last, other))))
}

fn is_same(a: &Answer, b: &Answer) -> bool {
    a.check == b.check && a.at == b.at && a.said == b.said && a.with == b.with
}
