//! What a cell says: a figure with its unit, a moment in the yard's own time.

use jiff::{
    civil::{Date, Time},
    tz::TimeZone,
};
use muster_core::{calendar::Moment, yard::Yard};

use super::{
    days::{Order, day},
    sheet::{Cells, Sheet},
};

/// A figure as somebody would type it: with the unit of its cell, of the row's `unit` column or of its column's name.
pub(super) fn figure(sheet: &Sheet, column: &str, cell: &str, unit: Option<&str>) -> Result<String, String> {
    // Whole thousands of an odometer are plain: none shows thousandths.
    let is_clear = if column == "odometer" { sheet.no_thousandths(cell) } else { sheet.told_apart(cell) };
    is_clear.map_err(|why| format!("{column}: {why}"))?;
    let has_unit = cell.chars().any(|c| c.is_alphabetic() || matches!(c, '%' | '°' | '′' | '″' | '"'));
    let (figure, unit) = match cell.split_once(' ').filter(|_| has_unit) {
        Some((figure, unit)) => (figure, Some(unit)),
        None => (cell, unit.or_else(|| sheet.unit(column)).filter(|_| !has_unit)),
    };
    match unit {
        Some(unit) => thirty_seconds(figure, unit).unwrap_or_else(|| Ok(format!("{figure} {unit}"))),
        None => Ok(cell.to_string()),
    }
}

/// The moment of a row: `at`, or `date` with or without `time`; without an offset by the yard's own clock. A day alone is
/// its noon, and never today: what was read then, and whether it was before riding, only a time says.
pub(super) fn moment(cells: Cells<'_>, yard: &Yard, (order, now): (Option<Order>, Moment)) -> Result<Moment, String> {
    let (on, time) = match (cells.get("at"), cells.get("date"), cells.get("time")) {
        (Some(at), _, _) => match Moment::parse(at) {
            Ok(moment) => return past(moment, now),
            Err(_) if at.contains(':') => at.rsplit_once(['T', ' ']).map_or((at, None), |(on, time)| (on, Some(time))),
            Err(_) => (at, None),
        },
        (None, Some(date), time) => (date, time),
        _ => return Err("`date` is empty: write when it was read, in `date`, or with its time in `at`".to_string()),
    };
    if let Some(whole) = time.and_then(|time| Moment::parse(&format!("{on}T{time}")).ok()) {
        return past(whole, now);
    }
    let on = day(on, order)?;
    if time.is_none() && on == today(yard, now) {
        return Err(format!(
            "{on} is today: write its time, or take it in tomorrow; a day alone is no look of today's"
        ));
    }
    let time = match time {
        None => Time::constant(12, 0, 0, 0),
        Some(text) => {
            let read = text.parse().ok().filter(|_| text.contains(':'));
            read.ok_or_else(|| format!("`{text}` is no time of a day: write it like 07:52"))?
        }
    };
    let zone = TimeZone::get(&yard.time_zone).unwrap_or(TimeZone::UTC);
    // An hour that a clock shows twice, or leaves out, is taken as the clock before the change shows it.
    let at = zone.to_timestamp(on.to_datetime(time)).map_err(|_| format!("{on} lies beyond what a calendar counts"))?;
    past(Moment::new(at, zone.to_offset(at)), now)
}

fn past(moment: Moment, now: Moment) -> Result<Moment, String> {
    if moment <= now {
        return Ok(moment);
    }
    Err(format!("{moment} has not come yet: write when it was read"))
}

/// The day it is at the yard.
pub(super) fn today(yard: &Yard, now: Moment) -> Date {
    let zone = TimeZone::get(&yard.time_zone).unwrap_or(TimeZone::UTC);
    zone.to_datetime(now.timestamp()).date()
}

/// A figure in 32nds of an inch, as tread is read where people read inches: `5` with `32nds`, `5/32` with `1/32 in`.
fn thirty_seconds(cell: &str, unit: &str) -> Option<Result<String, String>> {
    let unit = unit.to_lowercase();
    let unit =
        ["inches", "inch", "in", "\"", "″"].into_iter().find_map(|inch| unit.strip_suffix(inch)).unwrap_or(&unit);
    if !["32nds", "32nd", "/32", "1/32"].contains(&unit.trim()) {
        return None;
    }
    let count = cell.strip_suffix("/32").unwrap_or(cell).trim();
    let whole = !count.is_empty() && count.bytes().all(|byte| byte.is_ascii_digit());
    Some(if whole {
        Ok(format!("{count}/32 in"))
    } else {
        Err(format!("`{cell}` is no whole number of 32nds of an inch: write it in mm, or like 5/32 in"))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thirty_seconds_of_an_inch_are_read_as_they_are_written() {
        let read = |cell: &str, unit: &str| thirty_seconds(cell, unit).map(Result::ok);
        for unit in ["32nds", "1/32 in", "/32\"", "32nds inch", "32ND"] {
            assert_eq!(read("5", unit), Some(Some("5/32 in".into())), "{unit}");
        }
        assert_eq!(read("5/32", "32nds"), Some(Some("5/32 in".into())));
        assert_eq!(read("5.5", "32nds"), Some(None));
        assert_eq!((read("5", "in"), read("5", "mm")), (None, None));
    }
}
