//! A yard's folder taken into a record: its files as events, instruments each by itself.

use muster_core::record::payload::{
    HouseRuleAttached, InstrumentRegistered, MachineRegistered, Payload, SheetAttached, YardDescribed,
};
use toml_edit::{ArrayOfTables, DocumentMut, Item};

/// A file that cannot be taken in.
#[derive(Debug, thiserror::Error)]
pub enum NotTaken {
    /// No TOML.
    #[error("{file} is no TOML: {why}")]
    NotToml {
        /// Which.
        file: String,
        /// Why.
        why: String,
    },
    /// It does not say what it is.
    #[error("{file} does not name its `{key}`")]
    Unnamed {
        /// Which.
        file: String,
        /// The key it lacks.
        key: &'static str,
    },
}

/// The events that hold a yard's files: sheets before the machines that rest on them.
///
/// # Errors
/// [`NotTaken`] naming the file. What is wrong within a file is not looked for here.
pub fn taken(files: &[(String, String)]) -> Result<Vec<Payload>, NotTaken> {
    let (mut head, mut sheets, mut machines) = (Vec::new(), Vec::new(), Vec::new());
    for (file, text) in files {
        match file.as_str() {
            "yard.toml" => {
                let (text, instruments) = without_instruments(file, text)?;
                head.insert(0, YardDescribed { text }.into());
                head.extend(instruments.into_iter().map(Payload::from));
            }
            "house.toml" => head.push(HouseRuleAttached { text: text.clone(), replaces: None }.into()),
            _ if file.starts_with("sheets/") => {
                let sheet = named(file, text, "sheet")?;
                sheets.push(SheetAttached { sheet, text: text.clone(), replaces: None }.into());
            }
            _ if file.starts_with("machines/") => {
                let machine = named(file, text, "machine")?;
                machines.push(MachineRegistered { machine, text: text.clone() }.into());
            }
            _ => {}
        }
    }
    Ok(head.into_iter().chain(sheets).chain(machines).collect())
}

/// `yard.toml` without its instruments, and those.
fn without_instruments(file: &str, text: &str) -> Result<(String, Vec<InstrumentRegistered>), NotTaken> {
    let mut document = parsed(file, text)?;
    let Some(Item::ArrayOfTables(rows)) = document.remove("instrument") else {
        return Ok((document.to_string(), Vec::new()));
    };
    let mut instruments = Vec::new();
    for row in rows {
        let Some(instrument) = row.get("id").and_then(Item::as_str).map(ToString::to_string) else {
            return Err(NotTaken::Unnamed { file: file.into(), key: "id" });
        };
        let mut alone = DocumentMut::new();
        let mut one = ArrayOfTables::new();
        one.push(row);
        alone.insert("instrument", Item::ArrayOfTables(one));
        instruments.push(InstrumentRegistered { instrument, text: alone.to_string() });
    }
    Ok((document.to_string(), instruments))
}

fn named(file: &str, text: &str, key: &'static str) -> Result<String, NotTaken> {
    let document = parsed(file, text)?;
    let name = document.get(key).and_then(Item::as_str).map(ToString::to_string);
    name.ok_or_else(|| NotTaken::Unnamed { file: file.into(), key })
}

fn parsed(file: &str, text: &str) -> Result<DocumentMut, NotTaken> {
    text.parse().map_err(|error: toml_edit::TomlError| NotTaken::NotToml {
        file: file.into(),
        why: error.message().to_string(),
    })
}
