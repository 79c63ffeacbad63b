//! Machines, a row each: written as the file somebody would have typed, registered as the core decides.

use std::fmt::Write as _;

use muster_core::{
    calendar::Moment,
    machine::Machine,
    record::{decide::Command, payload::MachineRegistered},
};

use super::{
    Outcome, Row,
    cells::figure,
    days::{Order, day},
    sheet::{Cells, Known, Sheet},
};
use crate::keeper::{NotDone, Trial};

/// Columns; only the first two have to be there.
pub(super) const COLUMNS: &[Known] = &[
    ("machine", true),
    ("sheet", true),
    ("row", false),
    ("plate", false),
    ("vin", false),
    ("first_use", false),
    ("category", false),
    ("displacement", false),
    ("service", false),
];

/// Takes the rows in.
pub(super) fn take(trial: &mut Trial<'_>, sheet: &Sheet, at: (Option<Order>, Moment)) -> Result<Vec<Row>, NotDone> {
    let mut rows = Vec::new();
    for line in &sheet.rows {
        let outcome = match line.cells() {
            Ok(cells) => one(trial, sheet, cells, at)?,
            Err(why) => Outcome::Refused(why),
        };
        rows.push(Row { outcome, ..Row::of(line.line, line.cells().map(says)) });
    }
    Ok(rows)
}

fn says(cells: Cells<'_>) -> String {
    let said = ["machine", "sheet", "plate", "vin", "first_use"].into_iter().filter_map(|column| cells.get(column));
    said.collect::<Vec<_>>().join(", ")
}

fn one(
    trial: &mut Trial<'_>,
    sheet: &Sheet,
    cells: Cells<'_>,
    (order, now): (Option<Order>, Moment),
) -> Result<Outcome, NotDone> {
    let yard = trial.known().yard;
    let next = yard.machines.values().map(|machine| machine.row).max().unwrap_or(0).saturating_add(1);
    let (machine, text) = match text(sheet, cells, (order, next)) {
        Ok(read) => read,
        Err(why) => return Ok(Outcome::Refused(why)),
    };
    if yard.machines.get(&machine).is_some_and(|known| is_same(known, (sheet, order), cells)) {
        return Ok(Outcome::Here);
    }
    match trial.act(Command::Write(MachineRegistered { machine, text }.into()), now) {
        Ok(_) => Ok(Outcome::Written),
        Err(NotDone::Store(error)) => Err(error.into()),
        Err(refused) => Ok(Outcome::Refused(refused.to_string())),
    }
}

/// A machine's number and the text of its file.
fn text(sheet: &Sheet, cells: Cells<'_>, (order, next): (Option<Order>, u16)) -> Result<(String, String), String> {
    let (machine, model) = (cells.need("machine")?, cells.need("sheet")?);
    let row = cells.get("row").map(|row| row.parse::<u16>().map_err(|_| format!("row: `{row}` is no whole number")));
    let row = row.transpose()?.unwrap_or(next);
    let mut text = format!("schema = 1\nmachine = {}\nsheet = {}\nrow = {row}\n", quoted(machine), quoted(model));
    // Writing to a text cannot fail.
    let mut line = |key: &str, value: &str| _ = writeln!(text, "{key} = {value}");
    line("service", &quoted(cells.get("service").unwrap_or("in service")));
    for key in ["plate", "vin", "category"] {
        cells.get(key).into_iter().for_each(|value| line(key, &quoted(value)));
    }
    if let Some(first_use) = cells.get("first_use") {
        let first_use = day(first_use, order).map_err(|why| format!("first_use: {why}"))?;
        line("first_use", &first_use.to_string());
    }
    if let Some(cc) = displacement(sheet, cells)? {
        line("displacement_cc", &format!("{cc:?}"));
    }
    Ok((machine.to_string(), text))
}

/// The displacement in cubic centimetres, the one unit it has.
fn displacement(sheet: &Sheet, cells: Cells<'_>) -> Result<Option<f64>, String> {
    let Some(cell) = cells.get("displacement") else { return Ok(None) };
    let figure = figure(sheet, "displacement", cell, None)?;
    let number = figure.trim_end_matches("cm³").trim_end_matches("cm3").trim_end_matches("cc").trim();
    let number = if sheet.is_comma { number.replace('.', "").replace(',', ".") } else { number.replace(',', "") };
    let cc = number.parse::<f64>().ok().filter(|cc| cc.is_finite() && *cc > 0.0);
    cc.map(Some).ok_or_else(|| format!("displacement: `{cell}` is no figure in cm³: write it like 125 cc"))
}

/// Whether a machine is known with all that a row says.
fn is_same(known: &Machine, (sheet, order): (&Sheet, Option<Order>), cells: Cells<'_>) -> bool {
    let first_use = cells.get("first_use").is_none_or(|cell| day(cell, order).ok() == known.traits.first_use);
    let row = known.row.to_string();
    let same = |column: &str, value: Option<&str>| cells.get(column).is_none_or(|cell| Some(cell) == value);
    let cc = displacement(sheet, cells).ok().flatten();
    same("sheet", Some(&known.sheet))
        && same("row", Some(&row))
        && same("plate", known.plate.as_deref())
        && same("vin", known.vin.as_deref())
        && first_use
        && same("category", known.traits.category.as_deref())
        && same("service", Some(known.service.as_str()))
        && cc.is_none_or(|cc| known.traits.displacement_cc.is_some_and(|own| own.total_cmp(&cc).is_eq()))
}

/// A text as TOML writes it; a JSON string is one.
fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}
