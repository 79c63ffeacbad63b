//! Readings, a row each: rows of one machine and moment become one walk-round, opened, answered and closed.

use std::collections::{BTreeMap, BTreeSet};

use muster_core::{
    calendar::{Moment, date},
    check::Yields,
    data,
    form::{Answer, Form},
    quantity::{Distance, Kind, text, text::DecimalSign},
    record::{
        decide::Command,
        id::{EventId, PersonId},
        machine_state::MachineState,
        payload::{ReadingTaken, Typed, WalkRoundClosed, WalkRoundOpened},
    },
    state::{Heat, Power, Stance, State},
    words::Depth,
};

use super::{
    Outcome, Row,
    cells::{figure, moment, today},
    days::Order,
    odometers::{Figure, off},
    sheet::{Cells, Known, Sheet},
};
use crate::keeper::{NotDone, Trial};

/// Columns; a moment is `at`, or `date`, with its `time` if it is known.
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
    ("person", false),
];

/// A row that can be read.
struct Read<'s> {
    line: u64,
    at: Moment,
    cells: Cells<'s>,
    check: String,
    figure: String,
    odometer: Option<String>,
    air: Option<String>,
    tyre: Option<String>,
    heat: Heat,
    with: Option<String>,
    note: String,
    but: Vec<String>,
}

/// What rows are read by.
struct Reading<'r> {
    sheet: &'r Sheet,
    names: Names,
    order: Option<Order>,
    now: Moment,
}

/// Takes the rows in: those of a machine by their time, whatever their order in the table.
pub(super) fn take(
    trial: &mut Trial<'_>,
    sheet: &Sheet,
    (order, now): (Option<Order>, Moment),
) -> Result<Vec<Row>, NotDone> {
    let reading = Reading { sheet, names: Names::of(trial), order, now };
    let (mut rows, mut reads) = (Vec::new(), Vec::<Read<'_>>::new());
    let mut seen = BTreeMap::new();
    for line in &sheet.rows {
        let refused = |why| Row { outcome: Outcome::Refused(why), ..Row::of(line.line, line.cells().map(says)) };
        let same = line.cells().ok().and_then(|cells| seen.insert(cells, line.line).map(|first| (cells, first)));
        match (line.cells().and_then(|cells| reading.read(trial, (line.line, cells))), same) {
            (Err(why), _) => rows.push(refused(why)),
            (Ok(read), None) => reads.push(read),
            // Two that are alike in every cell are one that was copied, not a second look.
            (Ok(read), Some((cells, first))) => {
                seen.insert(cells, first);
                let but = vec![format!("the same as line {first}")];
                rows.push(Row { outcome: Outcome::Here, but, ..Row::of(read.line, Ok(says(read.cells))) });
            }
        }
    }
    let fallen = fallen(trial, sheet, &reads)?;
    let mut groups = BTreeMap::<(Moment, String), Vec<Read<'_>>>::new();
    for (index, read) in reads.into_iter().enumerate() {
        if let Some(why) = fallen.get(&index) {
            let outcome = Outcome::Refused(why.clone());
            rows.push(Row { outcome, ..Row::of(read.line, Ok(says(read.cells))) });
            continue;
        }
        let machine = read.cells.get("machine").unwrap_or_default().to_string();
        groups.entry((read.at, machine)).or_default().push(read);
    }
    for ((at, machine), reads) in groups {
        let outcomes = reads.iter().map(|_| None).collect();
        let mut group = Group { sheet, machine: &machine, at, reads: &reads, outcomes };
        group.walk_round(trial)?;
        let outcomes = group.outcomes.into_iter().map(|outcome| outcome.unwrap_or(Outcome::Written));
        rows.extend(reads.iter().zip(outcomes).map(|(read, outcome)| {
            let but = if outcome == Outcome::Written { read.but.clone() } else { Vec::new() };
            Row { outcome, but, ..Row::of(read.line, Ok(says(read.cells))) }
        }));
    }
    Ok(rows)
}

fn says(cells: Cells<'_>) -> String {
    let at = cells.get("at").or(cells.get("date"));
    let said =
        [cells.get("machine"), cells.get("check"), cells.get("place"), cells.get("value"), cells.get("unit"), at];
    said.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

impl Reading<'_> {
    fn read<'s>(&self, trial: &Trial<'_>, (line, cells): (u64, Cells<'s>)) -> Result<Read<'s>, String> {
        let (said, value) = (cells.need("check")?, cells.need("value")?);
        cells.need("machine")?;
        let known = trial.known();
        let at = moment(cells, &known.yard, (self.order, self.now))?;
        let check = self.names.check(said)?;
        let yields = trial.catalogue().check(&check).map(|check| &check.yields);
        // A day or a code has no unit and no decimals.
        let figured = match yields {
            Some(Yields::Date(_)) => value.to_string(),
            _ => figure(self.sheet, "value", value, cells.get("unit"))?,
        };
        let other = |column: &str| cells.get(column).map(|cell| figure(self.sheet, column, cell, None)).transpose();
        let heat = cells.get("heat").map(|heat| heat.parse::<Heat>().map_err(|error| format!("heat: {error}")));
        let (odometer, air, tyre) = (other("odometer")?, other("air")?, other("tyre")?);
        let (mut but, mut notes) = (Vec::new(), Vec::new());
        notes.extend(cells.get("note").map(ToString::to_string));
        notes.push(format!("taken in from a table on {}", today(&known.yard, self.now)));
        let person = cells
            .get("person")
            .map(|said| (said, said.parse::<PersonId>().ok().filter(|id| known.state.people.contains_key(id))));
        match person {
            Some((_, Some(id))) => notes.push(format!("read by {id}")),
            Some((said, None)) => {
                notes.push("read by somebody this yard does not know".to_string());
                but.push(format!(
                    "nobody here is `{said}`: whoever read it is left out, since a record forgets no name"
                ));
            }
            None => {}
        }
        let with = cells
            .get("instrument")
            .map(|said| (said, known.yard.instruments.keys().find(|id| id.eq_ignore_ascii_case(said))));
        if let Some((said, None)) = with {
            notes.push(format!("read with {said}"));
            but.push(format!(
                "no instrument `{said}` here: it counts in forecasts as the coarsest would, and decides no check"
            ));
        }
        let (with, note) = (with.and_then(|(_, id)| id.cloned()), notes.join("; "));
        let heat = heat.transpose()?.unwrap_or(Heat::Cold);
        Ok(Read { line, at, cells, check, figure: figured, odometer, air, tyre, heat, with, note, but })
    }
}

/// What checks are called: by id, by name, by the part that wears there.
struct Names(BTreeMap<String, BTreeSet<String>>);

impl Names {
    fn of(trial: &Trial<'_>) -> Self {
        let mut names = BTreeMap::<String, BTreeSet<String>>::new();
        let mut call = |name: &str, check: &str| {
            names.entry(plain(name)).or_default().insert(check.to_string());
        };
        for check in &trial.catalogue().checks {
            call(&check.name, &check.id);
        }
        for kind in data::practices(trial.catalogue()).unwrap_or_default().kinds {
            call(&kind.part, &kind.check);
            call(&kind.name, &kind.check);
        }
        // An id is no other check's name.
        for check in &trial.catalogue().checks {
            names.insert(plain(&check.id), BTreeSet::from([check.id.clone()]));
        }
        Self(names)
    }

    /// The check's id; what nobody calls so as it is, for the record to refuse.
    fn check(&self, said: &str) -> Result<String, String> {
        let Some(found) = self.0.get(&plain(said)) else { return Ok(said.to_string()) };
        let mut ids = found.iter();
        match (ids.next(), ids.next()) {
            (Some(id), None) => Ok(id.clone()),
            _ => {
                let ids = found.iter().cloned().collect::<Vec<_>>().join(", ");
                Err(format!("check: `{said}` may be {ids}: write which"))
            }
        }
    }
}

fn plain(name: &str) -> String {
    name.trim().to_lowercase()
}

/// Rows whose odometer falls, or is beyond a later one, each with why: beside each other and what is known.
fn fallen(trial: &mut Trial<'_>, sheet: &Sheet, reads: &[Read<'_>]) -> Result<BTreeMap<usize, String>, NotDone> {
    let sign = if sheet.is_comma { DecimalSign::Comma } else { DecimalSign::Point };
    let mut figures = BTreeMap::<&str, Vec<Figure>>::new();
    for (index, read) in reads.iter().enumerate() {
        let km = read.odometer.as_deref().and_then(|typed| km(typed, sign));
        let figure = km.map(|km| Figure { at: read.at, km, row: Some(index) });
        figures.entry(read.cells.get("machine").unwrap_or_default()).or_default().extend(figure);
    }
    let mut out = BTreeMap::new();
    for (machine, mut figures) in figures {
        if figures.is_empty() {
            continue;
        }
        figures.extend(trial.machine(machine)?.iter().flat_map(|state| known(state)));
        for (row, other) in off(figures) {
            let Some(read) = reads.get(row) else { continue };
            let odometer = read.odometer.as_deref().unwrap_or_default();
            let (less, when) = if other.at <= read.at { ("less", "before") } else { ("more", "after") };
            let (km, on) = (other.km.round(), other.at.date());
            let why = format!(
                "odometer: {odometer} is {less} than the {km} km of {on} {when} it: mend it, or leave it out if the instrument was changed"
            );
            out.insert(row, why);
        }
    }
    Ok(out)
}

fn km(typed: &str, sign: DecimalSign) -> Option<f64> {
    let amount = text::read(Kind::Distance, typed, sign).ok()?;
    Distance::try_from(amount).ok().map(Distance::km)
}

/// Odometer figures that are known of a machine with their time.
fn known(state: &MachineState) -> Vec<Figure> {
    let mut out = Vec::new();
    let mut note = |at: Moment, km: f64| out.push(Figure { at, km, row: None });
    for form in state.walk_rounds.values().map(|of| &of.form) {
        let Form { opened, odometer, answers, .. } = form;
        odometer.iter().for_each(|of| note(*opened, of.km()));
        answers.iter().for_each(|answer| answer.odometer.iter().for_each(|of| note(answer.at, of.km())));
    }
    for part in state.parts.values().map(|part| &part.mounted) {
        let on = part.on.as_deref().and_then(date);
        let at = on.and_then(|on| Moment::parse(&format!("{on}T12:00:00+00:00")).ok());
        let km = part.odometer.as_deref().and_then(|typed| km(typed, DecimalSign::Point));
        at.zip(km).into_iter().for_each(|(at, km)| note(at, km));
    }
    out
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
