//! The rows of one machine and moment as one walk-round: opened, answered, closed.

use std::collections::BTreeMap;

use muster_core::{
    calendar::Moment,
    form::Answer,
    quantity::{Distance, text::DecimalSign},
    record::{
        decide::Command,
        id::EventId,
        payload::{ReadingTaken, Typed, WalkRoundClosed, WalkRoundOpened},
    },
    state::{Heat, Power, Stance, State},
    words::Depth,
};

use super::{
    super::{Outcome, sheet::Sheet},
    Read,
    fallen::km,
};
use crate::keeper::{NotDone, Trial};

/// The rows of one machine and moment. A row without an outcome stands so far.
pub(super) struct Group<'g> {
    pub(super) sheet: &'g Sheet,
    pub(super) machine: &'g str,
    pub(super) at: Moment,
    pub(super) reads: &'g [Read<'g>],
    pub(super) outcomes: Vec<Option<Outcome>>,
}

impl Group<'_> {
    /// Opens a walk-round, answers, closes it; none is left of which no answer stands.
    pub(super) fn walk_round(&mut self, trial: &mut Trial<'_>) -> Result<(), NotDone> {
        // What was taken in before is known by its answers. The odometer has gone on since and would refuse the look.
        let before = trial.mark();
        let looked = self.answered(trial, None, true)?;
        trial.back(before);
        if looked.is_none() {
            return Ok(());
        }
        let before = trial.mark();
        let sign = if self.sheet.is_comma { DecimalSign::Comma } else { DecimalSign::Point };
        let known = trial.machine(self.machine)?.and_then(|state| state.odometer()).map(Distance::km);
        // Where it has gone on since, the figure stands beside the reading alone.
        let odometer = self.reads.iter().rev().find_map(|read| read.odometer.clone());
        let odometer = odometer.filter(|typed| known.is_none_or(|known| km(typed, sign).is_some_and(|km| km >= known)));
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
                    placed(other) && placed(read) && other.check == read.check && other.with == read.with
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
            check: rows.first().map(|read| read.check.clone()).unwrap_or_default(),
            read,
            with: rows.iter().find_map(|read| read.with.clone()),
            tyre: rows.iter().find_map(|read| read.tyre.clone()),
            air: rows.iter().find_map(|read| read.air.clone()),
            odometer: rows.iter().find_map(|read| read.odometer.clone()),
            why: one("why"),
            note: rows.first().map(|read| read.note.clone()),
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
