//! Rows under columns: what a list is before it is written as anything.

use serde_json::{Map, Value};

/// A column: its name, with the unit its figures are in.
pub type Column = &'static str;

/// One value.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Not known, or not so.
    Nothing,
    /// A text, a word, a moment in ISO 8601.
    Text(String),
    /// A figure, with so many decimals, in the unit its column names.
    Figure(f64, usize),
    /// A count.
    Count(u64),
    /// Yes or no.
    Truth(bool),
}

impl Cell {
    /// As text; nothing is empty.
    #[must_use]
    pub fn text(&self) -> String {
        match self {
            Self::Nothing => String::new(),
            Self::Text(text) => text.clone(),
            Self::Figure(value, decimals) => figure(*value, *decimals),
            Self::Count(count) => count.to_string(),
            Self::Truth(truth) => truth.to_string(),
        }
    }

    fn json(&self) -> Value {
        match self {
            Self::Nothing => Value::Null,
            Self::Text(text) => Value::from(text.as_str()),
            // The same figure as in the other format, and not one of more digits.
            Self::Figure(value, decimals) => figure(*value, *decimals).parse::<f64>().map_or(Value::Null, Value::from),
            Self::Count(count) => Value::from(*count),
            Self::Truth(truth) => Value::from(*truth),
        }
    }
}

/// A figure without an exponent and without a minus before nothing.
fn figure(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|byte| matches!(byte, b'0' | b'.')) => rest.to_string(),
        _ => text,
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Self::Text(text.to_string())
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

impl From<bool> for Cell {
    fn from(truth: bool) -> Self {
        Self::Truth(truth)
    }
}

impl From<usize> for Cell {
    fn from(count: usize) -> Self {
        Self::Count(count as u64)
    }
}

impl<T: Into<Self>> From<Option<T>> for Cell {
    fn from(value: Option<T>) -> Self {
        value.map_or(Self::Nothing, Into::into)
    }
}

/// Columns and rows, each row with a value for every column.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// The columns in order.
    pub columns: &'static [Column],
    /// The rows in order.
    pub rows: Vec<Vec<Cell>>,
}

impl Table {
    /// One object a row, its values by the names of the columns.
    #[must_use]
    pub fn to_json(&self) -> Value {
        let object = |row: &Vec<Cell>| -> Value {
            let named = self.columns.iter().zip(row).map(|(name, cell)| ((*name).to_string(), cell.json()));
            Value::Object(named.collect::<Map<String, Value>>())
        };
        Value::Array(self.rows.iter().map(object).collect())
    }
}
