//! A form as it lies on the disk, edited in place: comments stay, every change is saved whole.

use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result, bail};
use muster_core::calendar::Moment;
use toml_edit::{Datetime, DocumentMut, InlineTable, Item, Table, TableLike, Value, value};

use super::files;

/// A form being filled.
#[derive(Debug)]
pub(crate) struct FormFile {
    path: PathBuf,
    saved: String,
    document: DocumentMut,
}

/// What is written into an answer: a key and what it holds.
#[derive(Clone, Debug)]
pub(crate) enum Said {
    /// A text.
    Text(String),
    /// Texts: repeats.
    Texts(Vec<String>),
    /// A text for each place.
    Places(Vec<(String, String)>),
    /// A moment.
    At(Moment),
    /// A yes.
    Yes,
    /// A no.
    No,
}

impl FormFile {
    /// Opens a form.
    ///
    /// # Errors
    /// A file that cannot be read, or is no TOML.
    pub(crate) fn open(path: &Path) -> Result<Self> {
        let saved = files::read(path)?;
        let document = saved.parse().with_context(|| format!("{} is not TOML", path.display()))?;
        Ok(Self { path: path.into(), saved, document })
    }

    /// Its text as it stands now.
    pub(crate) fn text(&self) -> String {
        self.document.to_string()
    }

    /// The file.
    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    /// Saves it, unless somebody else has written to it meanwhile.
    ///
    /// # Errors
    /// A file that was changed or cannot be written; it is then as it was.
    pub(crate) fn save(&mut self) -> Result<()> {
        if files::read(&self.path)? != self.saved {
            bail!("{} was changed by somebody else meanwhile: start again from what it says now", self.path.display());
        }
        let text = self.text();
        files::replace(&self.path, text.as_bytes())?;
        self.saved = text;
        Ok(())
    }

    /// Undoes what was not saved.
    ///
    /// # Errors
    /// None can occur: what was saved could be read.
    pub(crate) fn undo(&mut self) -> Result<()> {
        self.document = self.saved.parse()?;
        Ok(())
    }

    /// Writes a key of the form's head.
    ///
    /// # Errors
    /// None can occur: every moment is a TOML date.
    pub(crate) fn set(&mut self, key: &str, said: &Said) -> Result<()> {
        self.document.insert(key, Item::Value(toml(said)?));
        Ok(())
    }

    /// Each answer's check, and whether it says something.
    pub(crate) fn answers(&self) -> Vec<(String, bool)> {
        let rows: Vec<&dyn TableLike> = match self.document.get("answer") {
            Some(Item::ArrayOfTables(tables)) => tables.iter().map(|table| table as &dyn TableLike).collect(),
            Some(Item::Value(Value::Array(array))) => {
                array.iter().filter_map(Value::as_inline_table).map(|table| table as &dyn TableLike).collect()
            }
            _ => Vec::new(),
        };
        let of = |row: &&dyn TableLike| {
            let check = row.get("check").and_then(Item::as_str).unwrap_or_default().to_string();
            (check, [row.get("read"), row.get("saw")].into_iter().flatten().any(is_filled))
        };
        rows.iter().map(of).collect()
    }

    /// Fills the answer at an index: what was there under `read`, `saw` and `with` makes room.
    ///
    /// # Errors
    /// An index that names no answer.
    pub(crate) fn fill(&mut self, index: usize, says: &[(&str, Said)]) -> Result<()> {
        let row = self.row(index)?;
        for key in ["read", "saw", "with"] {
            if !says.iter().any(|(said, _)| *said == key) {
                row.remove(key);
            }
        }
        for (key, said) in says {
            put(row, key, toml(said)?);
        }
        Ok(())
    }

    /// Writes one key of the answer at an index.
    ///
    /// # Errors
    /// An index that names no answer.
    pub(crate) fn put(&mut self, index: usize, key: &str, said: &Said) -> Result<()> {
        put(self.row(index)?, key, toml(said)?);
        Ok(())
    }

    fn row(&mut self, index: usize) -> Result<&mut dyn TableLike> {
        let row: Option<&mut dyn TableLike> = match self.document.get_mut("answer") {
            Some(Item::ArrayOfTables(tables)) => tables.get_mut(index).map(|table| table as &mut dyn TableLike),
            Some(Item::Value(Value::Array(array))) => {
                array.get_mut(index).and_then(Value::as_inline_table_mut).map(|table| table as &mut dyn TableLike)
            }
            _ => None,
        };
        row.context("the form has no such answer")
    }

    /// Adds an answer behind the others.
    ///
    /// # Errors
    /// A form whose answers are no rows.
    pub(crate) fn add(&mut self, check: &str, says: &[(&str, Said)]) -> Result<()> {
        let answers = self.document.entry("answer").or_insert_with(|| Item::ArrayOfTables(Default::default()));
        match answers {
            Item::ArrayOfTables(tables) => {
                let mut row = Table::new();
                row.insert("check", value(check));
                for (key, said) in says {
                    row.insert(key, Item::Value(toml(said)?));
                }
                row.decor_mut().set_prefix("\n");
                tables.push(row);
            }
            Item::Value(Value::Array(array)) => {
                let mut row = InlineTable::new();
                row.insert("check", check.into());
                for (key, said) in says {
                    row.insert(*key, toml(said)?);
                }
                let mut row = Value::InlineTable(row);
                row.decor_mut().set_prefix("\n  ");
                array.push_formatted(row);
            }
            _ => bail!("{}: answers must be rows: write [[answer]]", self.path.display()),
        }
        Ok(())
    }
}

/// Writes a value where one may stand already, keeping the comments about it.
fn put(row: &mut dyn TableLike, key: &str, mut new: Value) {
    match row.get_mut(key) {
        Some(item) => {
            if let Item::Value(old) = item {
                *new.decor_mut() = old.decor().clone();
            }
            *item = Item::Value(new);
        }
        None => {
            row.insert(key, Item::Value(new));
        }
    }
}

fn is_filled(item: &Item) -> bool {
    match item {
        Item::Value(value) => is_said(value),
        Item::Table(table) => table.iter().any(|(_, item)| is_filled(item)),
        _ => false,
    }
}

fn is_said(value: &Value) -> bool {
    match value {
        Value::String(text) => !text.value().trim().is_empty(),
        Value::Array(array) => array.iter().any(is_said),
        Value::InlineTable(table) => table.iter().any(|(_, value)| is_said(value)),
        _ => true,
    }
}

fn toml(said: &Said) -> Result<Value> {
    Ok(match said {
        Said::Text(text) => text.as_str().into(),
        Said::Texts(texts) => texts.iter().map(String::as_str).collect(),
        Said::Places(places) => {
            let mut table = InlineTable::new();
            for (place, text) in places {
                table.insert(place, text.as_str().into());
            }
            Value::InlineTable(table)
        }
        Said::At(moment) => moment.to_string().parse::<Datetime>().context("a moment is a date")?.into(),
        Said::Yes => true.into(),
        Said::No => false.into(),
    })
}
