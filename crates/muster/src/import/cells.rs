//! What a cell says: a figure with its unit, a moment in the yard's own time.

use jiff::{civil::DateTime, tz::TimeZone};
use muster_core::{calendar::Moment, yard::Yard};

use super::sheet::{Cells, Sheet};

/// A figure as somebody would type it: with the unit of its cell, of the row's `unit` column or of its column's name.
pub(super) fn figure(sheet: &Sheet, column: &str, cell: &str, unit: Option<&str>) -> Result<String, String> {
    sheet.told_apart(cell).map_err(|why| format!("{column}: {why}"))?;
    let has_unit = cell.chars().any(|c| c.is_alphabetic() || matches!(c, '%' | '°' | '′' | '″' | '"'));
    match unit.or_else(|| sheet.unit(column)) {
        Some(unit) if !has_unit => Ok(format!("{cell} {unit}")),
        _ => Ok(cell.to_string()),
    }
}

/// The moment of a row: `at`, or `date` and `time`; without an offset by the yard's own clock.
pub(super) fn moment(cells: Cells<'_>, yard: &Yard, now: Moment) -> Result<Moment, String> {
    let text = match (cells.get("at"), cells.get("date"), cells.get("time")) {
        (Some(at), _, _) => at.to_string(),
        (None, Some(date), Some(time)) => format!("{date}T{time}"),
        _ => return Err("`at` is empty: write when it was read, or `date` and `time`".to_string()),
    };
    let moment = Moment::parse(&text).ok().or_else(|| local(&text, yard));
    let moment = moment.ok_or_else(|| {
        let shown: String = text.chars().take(40).collect();
        format!("`{shown}` is no date with its time: write it like 2026-11-24 07:52 or 2026-11-24T07:52:00+00:00")
    })?;
    if moment > now {
        return Err(format!("{moment} has not come yet: write when it was read"));
    }
    Ok(moment)
}

fn local(text: &str, yard: &Yard) -> Option<Moment> {
    let read: DateTime = text.parse().ok()?;
    // A date alone would be read as midnight.
    let has_time = text.contains(':');
    let zone = TimeZone::get(&yard.time_zone).ok().filter(|_| has_time)?;
    // An hour that a clock shows twice, or leaves out, is taken as the clock before the change shows it.
    let at = zone.to_timestamp(read).ok()?;
    Some(Moment::new(at, zone.to_offset(at)))
}
