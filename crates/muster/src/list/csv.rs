//! A table as CSV (RFC 4180): a header row, CRLF, UTF-8, and no cell that a spreadsheet takes for a formula.

use csv::{Terminator, WriterBuilder};

use super::table::{Cell, Table};

/// What a spreadsheet takes for the beginning of a formula, or skips before one; the wide forms too, which some take for
/// the narrow ones.
///
/// Source: OWASP, CSV Injection.
const FORMULA: [char; 11] = ['=', '+', '-', '@', '\t', '\r', '\n', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}'];

impl Table {
    /// Its text.
    ///
    /// # Errors
    /// None can occur: it is written to memory, and every row has a value for every column.
    pub fn to_csv(&self) -> Result<String, csv::Error> {
        let mut writer = WriterBuilder::new().terminator(Terminator::CRLF).from_writer(Vec::new());
        writer.write_record(self.columns)?;
        for row in &self.rows {
            writer.write_record(row.iter().map(cell))?;
        }
        writer.flush()?;
        let bytes = writer.into_inner().map_err(|error| csv::Error::from(error.into_error()))?;
        Ok(String::from_utf8_lossy(&bytes).into_owned())
    }
}

/// Figures are ours and stay as they are: a minus before a figure is no formula.
fn cell(cell: &Cell) -> String {
    match cell {
        Cell::Text(text) => disarmed(text),
        _ => cell.text(),
    }
}

/// A text that no spreadsheet takes for a formula: an apostrophe before what might be one. A plain number stays.
#[must_use]
pub fn disarmed(text: &str) -> String {
    if text.starts_with(FORMULA) && !is_number(text) { format!("'{text}") } else { text.to_string() }
}

/// The text that was [`disarmed`].
#[must_use]
pub fn rearmed(text: &str) -> &str {
    text.strip_prefix('\'').filter(|rest| rest.starts_with(FORMULA)).unwrap_or(text)
}

/// Digits after a minus, with a point and more digits if need be, and nothing else.
fn is_number(text: &str) -> bool {
    let Some(figure) = text.strip_prefix('-') else { return false };
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    match figure.split_once('.') {
        Some((whole, decimals)) => digits(whole) && digits(decimals),
        None => digits(figure),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn figures_stay_and_formulas_are_disarmed() {
        let columns = &["what", "margin_mm"];
        let row = |text: &str, margin| vec![Cell::from(text), Cell::Figure(margin, 1)];
        let rows = vec![row("=1+1", -3.25), row("-12.5", 0.0), row("say \"so\",\nthen", -0.01), row("-30 mm", 4.0)];
        let text = Table { columns, rows }.to_csv().unwrap();
        // RFC 4180, section 2: rules 1 (CRLF), 3 (header), 5 to 7 (quotes).
        assert_eq!(
            text,
            "what,margin_mm\r\n'=1+1,-3.2\r\n-12.5,0.0\r\n\"say \"\"so\"\",\nthen\",0.0\r\n'-30 mm,4.0\r\n"
        );
    }

    proptest! {
        #[test]
        fn no_cell_begins_a_formula_and_nothing_is_lost(text in "([=+@\t\r\n\u{ff1d}\u{ff0d}-])?.{0,12}") {
            let safe = disarmed(&text);
            prop_assert!(!safe.starts_with(FORMULA) || is_number(&safe), "{safe:?}");
            // One that begins with an apostrophe of its own before a formula is the only text two could be read as.
            prop_assume!(!text.starts_with('\''));
            prop_assert_eq!(rearmed(&safe), text.as_str());
        }

        #[test]
        fn what_is_written_is_read_again(cells in proptest::collection::vec("[ -~\u{e9}\n\r\"]{0,10}", 1..20)) {
            let rows: Vec<Vec<Cell>> = cells.iter().map(|text| vec![Cell::from(text.as_str()), Cell::from(true)]).collect();
            let text = Table { columns: &["a", "b"], rows }.to_csv().unwrap();
            let mut reader = csv::Reader::from_reader(text.as_bytes());
            let read: Vec<String> = reader.records().map(|row| rearmed(&row.unwrap()[0]).to_string()).collect();
            prop_assume!(cells.iter().all(|text| !text.starts_with('\'')));
            prop_assert_eq!(read, cells);
        }
    }
}
