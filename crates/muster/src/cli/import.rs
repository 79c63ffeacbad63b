//! `muster import`: machines or readings from a CSV file, shown first, then written.

use std::{fs, io::Read as _, path::PathBuf};

use anyhow::{Context as _, Result};
use clap::{Args, Subcommand, ValueEnum};
use muster_wire::import::ImportReport;

use super::{
    BAD_INPUT, MAY_GO,
    door::Where,
    paper::{count, note},
};

/// What is taken in.
#[derive(Debug, Subcommand)]
pub(crate) enum What {
    /// Machines, a row each: machine, sheet; and row, plate, vin, first_use, category, displacement, service
    Machines(Asked),
    /// Readings, a row each: machine, check, value, at; and unit, place, odometer, instrument, air, tyre, heat, why, note
    Readings(Asked),
}

/// A file and how it is taken in.
#[derive(Args, Debug)]
pub(crate) struct Asked {
    #[command(flatten)]
    place: Where,
    /// The file; - is standard input
    file: PathBuf,
    /// Say what would become of each row, and write nothing
    #[arg(long)]
    dry_run: bool,
    /// What stands before the decimals; without it as the delimiter suggests: a comma with ; and a point with ,
    #[arg(long, value_name = "SIGN")]
    decimal: Option<Decimal>,
}

/// What stands before the decimals.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Decimal {
    /// 4.1
    Point,
    /// 4,1
    Comma,
}

/// Takes it in, and says what became of each row.
///
/// # Errors
/// A file that cannot be read, a record that cannot be reached, a table that is none.
pub(crate) fn run(what: &What) -> Result<u8> {
    let (name, asked) = match what {
        What::Machines(asked) => ("machines", asked),
        What::Readings(asked) => ("readings", asked),
    };
    let mut path = format!("/api/v1/import/{name}?dry-run={}", asked.dry_run);
    match asked.decimal {
        None => {}
        Some(Decimal::Point) => path.push_str("&decimal=point"),
        Some(Decimal::Comma) => path.push_str("&decimal=comma"),
    }
    let text = text(&asked.file)?;
    let answer = asked.place.open()?.send(("POST", &path), ("text/csv; charset=utf-8", text))?.json()?;
    let report: ImportReport = serde_json::from_value(answer).context("the answer is no report")?;
    Ok(told(&report))
}

fn text(file: &PathBuf) -> Result<String> {
    let mut bytes = Vec::new();
    if file.as_os_str() == "-" {
        std::io::stdin().read_to_end(&mut bytes)?;
    } else {
        bytes = fs::read(file).with_context(|| format!("cannot read {}", file.display()))?;
    }
    String::from_utf8(bytes).with_context(|| format!("{} is not UTF-8: save it as CSV UTF-8", file.display()))
}

fn told(report: &ImportReport) -> u8 {
    for row in &report.rows {
        let why = row.why.as_ref().map(|why| format!(": {why}")).unwrap_or_default();
        println!("line {:>4}  {:<16}  {}{why}", row.line, row.outcome.replace('-', " "), row.what);
    }
    if !report.not_taken.is_empty() {
        note(&format!("columns not taken: {}", report.not_taken.join(", ")));
    }
    let writes = if report.dry_run { "would be written" } else { "written" };
    note(&format!(
        "{} {writes}, {} here already, {} refused; read with `{}` between cells and a decimal {}{}",
        count(report.written, "row", "rows"),
        report.here,
        report.refused,
        report.delimiter,
        report.decimal,
        if report.dry_run { "; nothing was changed" } else { "" }
    ));
    if report.refused == 0 { MAY_GO } else { BAD_INPUT }
}
