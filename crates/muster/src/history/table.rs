//! Reads rows of a settings file: each key named in the error that speaks of it.

use jiff::civil::Date;
use muster_core::calendar;
use toml_edit::{Item, TableLike, Value};

/// What is wrong in the settings of a history.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("history: {0}")]
pub struct Fault(pub String);

/// One table of the file.
#[derive(Clone, Copy)]
pub(super) struct Row<'t> {
    name: &'t str,
    table: &'t dyn TableLike,
}

impl<'t> Row<'t> {
    /// The file itself.
    pub(super) fn of(table: &'t dyn TableLike) -> Self {
        Self { name: "file", table }
    }

    /// A table within.
    pub(super) fn table(self, key: &'t str) -> Result<Self, Fault> {
        let table = self.table.get(key).and_then(Item::as_table_like);
        table.map(|table| Self { name: key, table }).ok_or_else(|| self.fault(key, "a table"))
    }

    /// The rows of a list of tables; none if there is no such list.
    pub(super) fn rows(self, key: &'t str) -> impl Iterator<Item = Self> {
        let tables = self.table.get(key).and_then(Item::as_array_of_tables);
        tables.into_iter().flat_map(|tables| tables.iter()).map(move |table| Row { name: key, table })
    }

    /// Reads each row of a list.
    pub(super) fn each<T>(self, key: &'t str, read: impl FnMut(Self) -> Result<T, Fault>) -> Result<Vec<T>, Fault> {
        self.rows(key).map(read).collect()
    }

    pub(super) fn has(self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    pub(super) fn text(self, key: &str) -> Result<String, Fault> {
        self.value(key).and_then(Value::as_str).map(str::to_string).ok_or_else(|| self.fault(key, "a text"))
    }

    /// A text that names one of a fixed list.
    pub(super) fn word<T: std::str::FromStr>(self, key: &str) -> Result<T, Fault>
    where
        T::Err: std::fmt::Display,
    {
        self.text(key)?.parse().map_err(|error: T::Err| self.fault(key, &error.to_string()))
    }

    pub(super) fn number(self, key: &str) -> Result<f64, Fault> {
        self.value(key).and_then(number).ok_or_else(|| self.fault(key, "a number"))
    }

    /// A number, or what counts where none is written.
    pub(super) fn number_or(self, key: &str, otherwise: f64) -> Result<f64, Fault> {
        if self.has(key) { self.number(key) } else { Ok(otherwise) }
    }

    pub(super) fn whole(self, key: &str) -> Result<i64, Fault> {
        self.value(key).and_then(Value::as_integer).ok_or_else(|| self.fault(key, "a whole number"))
    }

    pub(super) fn date(self, key: &str) -> Result<Date, Fault> {
        self.value(key).and_then(date).ok_or_else(|| self.fault(key, "a date"))
    }

    /// A date, if one is written.
    pub(super) fn date_if(self, key: &str) -> Result<Option<Date>, Fault> {
        if self.has(key) { self.date(key).map(Some) } else { Ok(None) }
    }

    pub(super) fn numbers(self, key: &str) -> Result<Vec<f64>, Fault> {
        self.list(key, number, "numbers")
    }

    pub(super) fn dates(self, key: &str) -> Result<Vec<Date>, Fault> {
        self.list(key, date, "dates")
    }

    /// Texts; none where none are written.
    pub(super) fn texts(self, key: &str) -> Result<Vec<String>, Fault> {
        if !self.has(key) {
            return Ok(Vec::new());
        }
        self.list(key, |value| value.as_str().map(str::to_string), "texts")
    }

    /// Two numbers, the lower first.
    pub(super) fn span(self, key: &str) -> Result<(f64, f64), Fault> {
        match self.numbers(key)?.as_slice() {
            [low, high] if low <= high => Ok((*low, *high)),
            _ => Err(self.fault(key, "two numbers, the lower first")),
        }
    }

    pub(super) fn fault(self, key: &str, wanted: &str) -> Fault {
        Fault(format!("`{key}` in {}: {wanted} wanted", self.name))
    }

    fn value(self, key: &str) -> Option<&'t Value> {
        self.table.get(key).and_then(Item::as_value)
    }

    fn list<T>(self, key: &str, read: impl Fn(&Value) -> Option<T>, wanted: &str) -> Result<Vec<T>, Fault> {
        let list = self.value(key).and_then(Value::as_array);
        list.and_then(|list| list.iter().map(read).collect()).ok_or_else(|| self.fault(key, wanted))
    }
}

fn number(value: &Value) -> Option<f64> {
    // A whole number of a settings file is far below 2⁵³.
    value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64))
}

fn date(value: &Value) -> Option<Date> {
    value.as_datetime().and_then(|date| calendar::date(&date.to_string()))
}
