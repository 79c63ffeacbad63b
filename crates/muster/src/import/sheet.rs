//! A table as somebody's spreadsheet wrote it: its delimiter, its columns with their units, its rows with their lines.

use std::collections::BTreeMap;

use csv::{ReaderBuilder, StringRecord, Trim};

use super::Decimal;
use crate::list::rearmed;

/// The most rows taken in at once.
pub(super) const MOST_ROWS: usize = 10_000;

/// A table.
#[derive(Debug)]
pub(super) struct Sheet {
    /// What stands between cells.
    pub(super) delimiter: char,
    /// Whether figures have a decimal comma.
    pub(super) is_comma: bool,
    /// Whether somebody said so.
    is_stated: bool,
    /// Columns that are not known, as they are called.
    pub(super) not_taken: Vec<String>,
    /// Units of columns, as they are written.
    units: BTreeMap<&'static str, String>,
    /// Its rows.
    pub(super) rows: Vec<Line>,
}

/// A row of a table.
#[derive(Debug)]
pub(super) struct Line {
    /// Its line in the file, from 1.
    pub(super) line: u64,
    /// Its cells that say something, by the names of their columns; or why they cannot be told.
    cells: Result<BTreeMap<&'static str, String>, String>,
}

/// What else a column is called.
const ALSO: &[(&str, &str)] = &[
    ("part", "check"),
    ("reading", "value"),
    ("day", "date"),
    ("mileage", "odometer"),
    ("gauge", "instrument"),
    ("read_by", "person"),
];

/// The column that a table of refused rows begins with: nothing to take in.
pub(super) const REFUSED: &str = "refused because";

/// Why a text is no table.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoSheet {
    /// Nothing in it.
    #[error("the table is empty: its first line names the columns")]
    Empty,
    /// A column is missing.
    #[error("no column `{missing}`; the first line has: {found}; known are: {known}")]
    Missing {
        /// Which.
        missing: &'static str,
        /// Those there are.
        found: String,
        /// Those that are known.
        known: String,
    },
    /// A column twice.
    #[error("column `{0}` stands there twice: leave one out")]
    Twice(&'static str),
    /// Too many rows.
    #[error("at most {MOST_ROWS} rows at once: send the rest after")]
    TooLong,
    /// Broken quotes or the like.
    #[error("the first line cannot be read: {0}")]
    Broken(String),
}

/// A column that is known: its name, whether every table needs it.
pub(super) type Known = (&'static str, bool);

impl Sheet {
    /// Reads a text.
    pub(super) fn read(text: &str, known: &[Known], decimal: Option<Decimal>) -> Result<Self, NoSheet> {
        let text = &text.trim_start_matches('\u{feff}').replace("\r\n", "\n");
        let (delimiter, mut lines) = (delimiter(text), Lines { text, byte: 0, line: 1 });
        let mut reader =
            ReaderBuilder::new().delimiter(delimiter as u8).flexible(true).trim(Trim::All).from_reader(text.as_bytes());
        let header = reader.headers().map_err(|error| NoSheet::Broken(error.to_string()))?.clone();
        if header.iter().all(str::is_empty) {
            return Err(NoSheet::Empty);
        }
        let is_comma = decimal.map_or(delimiter == ';', |decimal| decimal == Decimal::Comma);
        let is_stated = decimal.is_some();
        let (rows, not_taken, units) = (Vec::new(), Vec::new(), BTreeMap::new());
        let mut sheet = Self { delimiter, is_comma, is_stated, not_taken, units, rows };
        let columns = sheet.columns(&header, known)?;
        for record in reader.records() {
            if sheet.rows.len() == MOST_ROWS {
                return Err(NoSheet::TooLong);
            }
            let row = match record {
                Ok(record) => row(&record, &columns, lines.of(record.position())),
                Err(error) => {
                    let cells = Err(format!("the line cannot be read: {error}"));
                    Line { line: lines.of(error.position()), cells }
                }
            };
            if row.cells.as_ref().is_ok_and(BTreeMap::is_empty) {
                continue;
            }
            sheet.rows.push(row);
        }
        Ok(sheet)
    }

    /// Which column stands where; those that are not known are noted.
    fn columns(&mut self, header: &StringRecord, known: &[Known]) -> Result<Vec<Option<&'static str>>, NoSheet> {
        let mut columns = Vec::new();
        for name in header {
            let found = column(name, known);
            columns.push(found.as_ref().map(|(column, _)| *column));
            match found {
                Some((column, _)) if columns.iter().filter(|one| **one == Some(column)).count() > 1 => {
                    return Err(NoSheet::Twice(column));
                }
                Some((column, Some(unit))) => _ = self.units.insert(column, unit),
                Some(_) => {}
                None if name.is_empty() || name == REFUSED => {}
                None => self.not_taken.push(name.to_string()),
            }
        }
        match known.iter().find(|(name, needed)| *needed && !columns.contains(&Some(*name))) {
            None => Ok(columns),
            Some((missing, _)) => {
                let found = header.iter().collect::<Vec<_>>().join(", ");
                let known = known.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(", ");
                Err(NoSheet::Missing { missing, found, known })
            }
        }
    }

    /// The unit in a column's name.
    pub(super) fn unit(&self, column: &str) -> Option<&str> {
        self.units.get(column).map(String::as_str)
    }

    /// Refuses a figure that could be read two ways, where nobody said which sign stands before the decimals: groups of
    /// thousands by the sign the delimiter suggests, decimals by the other.
    pub(super) fn told_apart(&self, figure: &str) -> Result<(), String> {
        let (group, other) = if self.is_comma { ('.', ',') } else { (',', '.') };
        let number = number(figure);
        let mut parts = number.split(group);
        let (whole, rest) = (parts.next().unwrap_or_default(), parts.next());
        let grouped = rest.is_some_and(|rest| rest.len() == 3 && (1..=3).contains(&whole.len()));
        if self.is_stated || number.contains(other) || !grouped || parts.next().is_some() {
            return Ok(());
        }
        Err(read_two_ways(figure))
    }

    /// Refuses three decimals: where no thousandths are read they are a group of thousands, written by the other sign.
    pub(super) fn no_thousandths(&self, figure: &str) -> Result<(), String> {
        let decimals = number(figure).split_once(if self.is_comma { ',' } else { '.' });
        match decimals.filter(|(_, decimals)| decimals.len() == 3 && !self.is_stated) {
            Some(_) => Err(read_two_ways(figure)),
            None => Ok(()),
        }
    }
}

/// The figures a text begins with, and the signs between them.
fn number(figure: &str) -> &str {
    let mut parts =
        figure.trim_start_matches(['-', '+']).split(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | ','));
    parts.next().unwrap_or_default()
}

fn read_two_ways(figure: &str) -> String {
    format!("`{figure}` can be read two ways: say whether the decimals stand behind a point or a comma")
}

impl Line {
    /// Its cells.
    pub(super) fn cells(&self) -> Result<Cells<'_>, String> {
        self.cells.as_ref().map(Cells).map_err(Clone::clone)
    }
}

/// The cells of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Cells<'l>(&'l BTreeMap<&'static str, String>);

impl<'l> Cells<'l> {
    /// A cell that says something.
    pub(super) fn get(self, column: &str) -> Option<&'l str> {
        self.0.get(column).map(String::as_str)
    }

    /// A cell a row cannot do without.
    pub(super) fn need(self, column: &str) -> Result<&'l str, String> {
        self.get(column).ok_or_else(|| format!("`{column}` is empty: write it"))
    }
}

/// The sign there is more of in the first line, outside of quotes: spreadsheets of places with a decimal comma write `;`.
fn delimiter(text: &str) -> char {
    let (mut is_quoted, mut semicolons, mut commas) = (false, 0, 0);
    for c in text.lines().next().unwrap_or_default().chars() {
        match c {
            '"' => is_quoted = !is_quoted,
            ';' if !is_quoted => semicolons += 1,
            ',' if !is_quoted => commas += 1,
            _ => {}
        }
    }
    if semicolons > commas { ';' } else { ',' }
}

/// Which line a row begins on: the reader counts from before the empty lines it leaves out.
struct Lines<'t> {
    text: &'t str,
    byte: usize,
    line: u64,
}

impl Lines<'_> {
    fn of(&mut self, position: Option<&csv::Position>) -> u64 {
        let from = position.and_then(|position| usize::try_from(position.byte()).ok()).unwrap_or(self.byte);
        let rest = self.text.as_bytes().get(from..).unwrap_or_default();
        let begins = from + rest.iter().take_while(|byte| matches!(byte, b'\n' | b'\r')).count();
        let passed = self.text.as_bytes().get(self.byte..begins).unwrap_or_default();
        self.line += passed.iter().filter(|byte| **byte == b'\n').count() as u64;
        self.byte = begins.max(self.byte);
        self.line
    }
}

/// A table of the rows of some lines as they stand, each behind why it was refused: mended, it can be taken in.
pub(super) fn of_lines(text: &str, refused: &BTreeMap<u64, String>) -> Result<String, csv::Error> {
    let text = &text.trim_start_matches('\u{feff}').replace("\r\n", "\n");
    let (delimiter, mut lines) = (delimiter(text), Lines { text, byte: 0, line: 1 });
    let mut reader = ReaderBuilder::new().delimiter(delimiter as u8).flexible(true).from_reader(text.as_bytes());
    reader.headers()?;
    let mut begins = vec![(1_u64, 0)];
    for record in reader.records() {
        let record = record?;
        let line = lines.of(record.position());
        begins.push((line, lines.byte));
    }
    let ends = begins.iter().skip(1).map(|(_, byte)| *byte).chain([text.len()]);
    let (mut out, cell) = (String::new(), |why: &str, row: &str| {
        let why = why.replace('"', "'");
        format!("\"{why}\"{delimiter}{}\n", row.trim_end_matches('\n'))
    });
    for ((line, from), to) in begins.iter().zip(ends) {
        let row = text.get(*from..to).unwrap_or_default();
        match (line, refused.get(line)) {
            _ if *from == 0 => out.push_str(&cell(REFUSED, row)),
            (_, Some(why)) => out.push_str(&cell(&format!("line {line}: {why}"), row)),
            _ => {}
        }
    }
    Ok(out)
}

fn row(record: &StringRecord, columns: &[Option<&'static str>], line: u64) -> Line {
    let spare = record.iter().skip(columns.len()).any(|cell| !cell.is_empty());
    if spare {
        let (got, wanted) = (record.len(), columns.len());
        let cells = Err(format!("{got} cells under {wanted} columns: put quotes around a cell that holds a delimiter"));
        return Line { line, cells };
    }
    let said = columns.iter().zip(record).filter(|(_, cell)| !cell.is_empty());
    let cells = said.filter_map(|(column, cell)| Some(((*column)?, rearmed(cell).to_string()))).collect();
    Line { line, cells: Ok(cells) }
}

/// The column a name is of, with the unit in it: `odometer`, `odometer_km`, `Odometer (km)`, `odometer [km]`.
fn column(name: &str, known: &[Known]) -> Option<(&'static str, Option<String>)> {
    let plain = |text: &str| text.trim().to_lowercase().replace([' ', '-'], "_");
    let find = |text: &str| {
        let said = plain(text);
        let is_known = |name: &str| known.iter().map(|(column, _)| *column).find(|column| *column == name);
        let other = || is_known(ALSO.iter().find(|(other, _)| *other == said)?.1);
        is_known(&said).or_else(other)
    };
    if let Some(column) = find(name) {
        return Some((column, None));
    }
    if let Some((before, unit)) = name.split_once(['(', '[']) {
        let unit = unit.trim().trim_end_matches([')', ']']).trim();
        return find(before).map(|column| (column, Some(unit.to_string())));
    }
    let (before, unit) = name.rsplit_once(['_', ' '])?;
    find(before).map(|column| (column, Some(unit.to_string())))
}

#[cfg(test)]
mod tests {
    use super::*;

    const KNOWN: &[Known] = &[("machine", true), ("value", false), ("odometer", false), ("first_use", false)];

    fn read(text: &str) -> Result<Sheet, NoSheet> {
        Sheet::read(text, KNOWN, None)
    }

    #[test]
    fn columns_are_found_whatever_a_spreadsheet_calls_them() {
        let sheet =
            read("\u{feff}Machine;value (kPa);Odometer km;colour\r\nM-01;\"2,1\";12 400;red\r\n;;;\r\n").unwrap();
        assert_eq!((sheet.delimiter, sheet.is_comma), (';', true));
        assert_eq!((sheet.unit("value"), sheet.unit("odometer")), (Some("kPa"), Some("km")));
        assert_eq!(sheet.not_taken, ["colour"]);
        let cells = sheet.rows[0].cells().unwrap();
        assert_eq!((sheet.rows.len(), sheet.rows[0].line, cells.get("value")), (1, 2, Some("2,1")));
        let gaps = read("machine,value\r\n\r\nM-01,\"one\r\ntwo\"\r\n\n\nM-02,1\r\n").unwrap();
        assert_eq!(gaps.rows.iter().map(|row| row.line).collect::<Vec<_>>(), [3, 7]);
        assert_eq!(read("machine,first use\nM-01,2021-04-12\n").unwrap().unit("first_use"), None);
        assert!(matches!(read("value\n1\n"), Err(NoSheet::Missing { missing: "machine", .. })));
        assert_eq!(read("").unwrap_err(), NoSheet::Empty);
        assert_eq!(read("machine,Machine\n").unwrap_err(), NoSheet::Twice("machine"));
    }

    #[test]
    fn a_row_with_more_cells_than_columns_is_refused_alone() {
        let sheet = read("machine,value\nM-01,2,1\nM-02,2.1\n").unwrap();
        assert!(sheet.rows[0].cells().unwrap_err().contains("3 cells under 2 columns"));
        assert!(sheet.rows[1].cells().is_ok());
    }

    #[test]
    fn a_figure_that_can_be_read_two_ways_is_told_apart_by_nobody() {
        let (comma, point) = (read("machine;value\n").unwrap(), read("machine,value\n").unwrap());
        for (sheet, figure, is_clear) in [
            (&comma, "2,125 mm", true),
            (&comma, "2.125 mm", false),
            (&comma, "2.1 mm", true),
            (&comma, "12.400,5 km", true),
            (&point, "2.125 mm", true),
            (&point, "12,400 km", false),
            (&point, "-1,250", false),
            (&point, "1,012,400 km", true),
        ] {
            assert_eq!(sheet.told_apart(figure).is_ok(), is_clear, "{figure}");
        }
        let stated = Sheet::read("machine;value\n", KNOWN, Some(Decimal::Point)).unwrap();
        assert!(stated.told_apart("2.125 mm").is_ok() && !stated.is_comma);
    }
}
