//! Readings, a row each: rows of one machine and moment become one walk-round, opened, answered and closed.

mod fallen;
mod group;
mod names;

use std::collections::BTreeMap;

use muster_core::{calendar::Moment, check::Yields, record::id::PersonId, state::Heat};

use self::{fallen::fallen, group::Group, names::Names};
use super::{
    Outcome, Row,
    cells::{figure, moment, today},
    days::Order,
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
