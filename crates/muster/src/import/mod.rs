//! Tables taken in: machines and readings as CSV, each row decided by the record's own rules as if somebody typed it.

mod cells;
mod days;
mod machines;
mod odometers;
mod readings;
mod sheet;

use std::collections::BTreeMap;

use muster_core::{calendar::Moment, record::id::PersonId};
use muster_wire::import::{ImportReport, ImportRow};

use self::sheet::Sheet;
pub use self::{days::Order, sheet::NoSheet};
use crate::keeper::{Keeper, NotDone};

/// What a table holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// A machine a row.
    Machines,
    /// A reading a row.
    Readings,
}

/// How a table is taken in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct How {
    /// Only said, not written.
    pub dry_run: bool,
    /// What stands before the decimals, if it is stated: point or comma.
    pub decimal: Option<Decimal>,
    /// Which stands first in a day like 03/04/2019, if it is stated: day or month.
    pub dates: Option<Order>,
}

/// What stands before the decimals.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Decimal {
    /// `4.1`
    Point,
    /// `4,1`
    Comma,
}

/// Who takes it in, and when.
#[derive(Clone, Copy, Debug)]
pub struct By<'a> {
    /// Who.
    pub person: &'a PersonId,
    /// When.
    pub now: Moment,
}

/// Why nothing of a table is taken in.
#[derive(Debug, thiserror::Error)]
pub enum NotTaken {
    /// It is no table that can be read.
    #[error(transparent)]
    Sheet(#[from] NoSheet),
    /// The record cannot be read or written.
    #[error(transparent)]
    NotDone(#[from] NotDone),
}

/// What becomes of a row.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Outcome {
    /// It stands.
    Written,
    /// It was here before.
    Here,
    /// It does not stand, and why.
    Refused(String),
}

/// A row's line, what it says, what becomes of it.
struct Row {
    line: u64,
    what: String,
    outcome: Outcome,
    /// What of it was left out or taken otherwise than it stands.
    but: Vec<String>,
}

impl Row {
    /// A row that says something, or cannot be told.
    fn of(line: u64, what: Result<String, String>) -> Self {
        Self { line, what: what.unwrap_or_default(), outcome: Outcome::Written, but: Vec::new() }
    }
}

/// Takes a table in, or says what would become of it. Rows that stand are written all at once; of a row that is refused
/// nothing is.
///
/// # Errors
/// [`NotTaken`] if nothing of it can be taken in; nothing was written then.
pub fn take(keeper: &Keeper, what: What, text: &str, how: How, by: By<'_>) -> Result<ImportReport, NotTaken> {
    let columns = match what {
        What::Machines => machines::COLUMNS,
        What::Readings => readings::COLUMNS,
    };
    let sheet = Sheet::read(text, columns, how.decimal)?;
    let rows = keeper.try_out(by.person, !how.dry_run, |trial| match what {
        What::Machines => machines::take(trial, &sheet, (how.dates, by.now)),
        What::Readings => readings::take(trial, &sheet, (how.dates, by.now)),
    })?;
    Ok(report(&sheet, rows, how.dry_run))
}

/// The refused rows of a table as they stand in it, each behind its line and why: mended, they can be taken in; none where
/// nothing was refused.
#[must_use]
pub fn to_mend(text: &str, report: &ImportReport) -> Option<String> {
    let refused = report.rows.iter().filter_map(|row| Some((row.line, row.why.clone()?)));
    let refused: BTreeMap<u64, String> = refused.collect();
    if refused.is_empty() { None } else { sheet::of_lines(text, &refused).ok() }
}

fn report(sheet: &Sheet, mut rows: Vec<Row>, dry_run: bool) -> ImportReport {
    rows.sort_by_key(|row| row.line);
    let count = |is: fn(&Outcome) -> bool| rows.iter().filter(|row| is(&row.outcome)).count();
    let (written, here) = (count(|of| *of == Outcome::Written), count(|of| *of == Outcome::Here));
    let told = |row: Row| {
        let (outcome, why) = match row.outcome {
            Outcome::Written if dry_run => ("would-be-written", None),
            Outcome::Written => ("written", None),
            Outcome::Here => ("here", None),
            Outcome::Refused(why) => ("refused", Some(why)),
        };
        let but = (!row.but.is_empty()).then(|| row.but.join("; "));
        ImportRow { line: row.line, what: row.what, outcome: outcome.to_string(), why, but }
    };
    ImportReport {
        dry_run,
        delimiter: sheet.delimiter.to_string(),
        decimal: if sheet.is_comma { "comma" } else { "point" }.to_string(),
        not_taken: sheet.not_taken.clone(),
        written,
        here,
        refused: rows.len() - written - here,
        rows: rows.into_iter().map(told).collect(),
    }
}
