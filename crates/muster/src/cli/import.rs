//! `muster import`: machines or readings from a CSV file, shown first, then written.

use std::{
    fs,
    io::{Read as _, Write as _},
    path::{Path, PathBuf},
};

use anyhow::{Context as _, Result};
use clap::{Args, Subcommand, ValueEnum};
use muster::import::to_mend;
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
    /// Readings, a row each, of ten years if need be: machine, check (or part), value, at (or date); and time, unit, place,
    /// odometer, instrument, person, air, tyre, heat, why, note. Refused rows are written beside the file, to be mended
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
    /// How a day like 03/04/2019 is read; without it such a day is refused
    #[arg(long, value_name = "ORDER")]
    dates: Option<Dates>,
    /// Where refused rows are written; without it beside the file, as NAME.refused.csv. None is written over
    #[arg(long, value_name = "FILE")]
    refused: Option<PathBuf>,
}

/// What stands first in a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Dates {
    /// 25/04/2019
    DayFirst,
    /// 04/25/2019
    MonthFirst,
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
    match asked.dates {
        None => {}
        Some(Dates::DayFirst) => path.push_str("&dates=day-first"),
        Some(Dates::MonthFirst) => path.push_str("&dates=month-first"),
    }
    let text = text(&asked.file)?;
    let answer = asked.place.open()?.send(("POST", &path), ("text/csv; charset=utf-8", text.clone()))?.json()?;
    let report: ImportReport = serde_json::from_value(answer).context("the answer is no report")?;
    let code = told(&report);
    if let Some(rows) = to_mend(&text, &report).filter(|_| !report.dry_run) {
        let said = match kept(asked, &rows)? {
            Some(file) => format!("refused rows are in {}: mend them there and take that file in", file.display()),
            None => "name a file with --refused to have refused rows written down".to_string(),
        };
        note(&said);
    }
    Ok(code)
}

/// Writes refused rows down, over no file there is; none where standard input names no place for them.
fn kept(asked: &Asked, rows: &str) -> Result<Option<PathBuf>> {
    let wanted = match &asked.refused {
        Some(file) => file.clone(),
        None if asked.file.as_os_str() == "-" => return Ok(None),
        None => {
            let name = asked.file.file_stem().unwrap_or_default().to_string_lossy();
            let name = name.split(".refused").next().unwrap_or_default();
            asked.file.with_file_name(format!("{name}.refused.csv"))
        }
    };
    let stem = wanted.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let others = (2..1000).map(|number| wanted.with_file_name(format!("{stem}-{number}.csv")));
    for file in [wanted.clone()].into_iter().chain(others) {
        match fs::File::create_new(&file) {
            Ok(mut opened) => {
                opened.write_all(rows.as_bytes()).with_context(|| format!("cannot write {}", file.display()))?;
                return Ok(Some(file));
            }
            Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(error).with_context(|| format!("cannot write {}", file.display())),
        }
    }
    anyhow::bail!("{} is there a thousand times: name another file with --refused", wanted.display())
}

fn text(file: &Path) -> Result<String> {
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
        let why = row.why.as_ref().or(row.but.as_ref()).map(|why| format!(": {why}")).unwrap_or_default();
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
