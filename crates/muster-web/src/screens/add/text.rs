//! The text of data files, written from what a form holds. The core reads it back and refuses what is wrong.

use std::fmt::Write as _;

/// A text as TOML writes it; a JSON string is one.
pub(super) fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

/// A name a file can have: `My Model 125` → `my-model-125`.
pub(super) fn slug(name: &str) -> String {
    let parts = name.split(|letter: char| !letter.is_ascii_alphanumeric()).filter(|part| !part.is_empty());
    parts.map(str::to_ascii_lowercase).collect::<Vec<_>>().join("-")
}

/// What a new model's sheet says before any figure.
pub(super) struct NewSheet {
    /// Its name in files.
    pub(super) sheet: String,
    /// The model.
    pub(super) model: String,
    /// Title of the handbook.
    pub(super) handbook: String,
    /// What it has, key and value as they stand in the catalogue.
    pub(super) equipment: Vec<(String, Vec<String>, bool)>,
}

impl NewSheet {
    /// Its text.
    pub(super) fn text(&self) -> String {
        let mut text = format!(
            "schema = 1\nsheet = {}\nmodel = {}\nhandbook = {{ title = {}, known = \"owner\" }}\n\n[equipment]\n",
            quoted(&self.sheet),
            quoted(&self.model),
            quoted(&self.handbook)
        );
        for (key, values, several) in &self.equipment {
            let said: Vec<String> = values.iter().map(|value| quoted(value)).collect();
            let said = if *several { format!("[{}]", said.join(", ")) } else { said.concat() };
            // Writing to a text cannot fail.
            let _ = writeln!(text, "{key} = {said}");
        }
        text
    }
}

/// A new machine.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct NewMachine {
    /// Fleet number.
    pub(super) machine: String,
    /// Its model's sheet.
    pub(super) sheet: String,
    /// Plate, if it has one.
    pub(super) plate: String,
    /// As stamped on the frame.
    pub(super) vin: String,
    /// First use, ISO 8601.
    pub(super) first_use: String,
    /// Its place in the yard.
    pub(super) row: u16,
}

impl NewMachine {
    /// Its text.
    pub(super) fn text(&self) -> String {
        let mut text = format!(
            "schema = 1\nmachine = {}\nsheet = {}\nservice = \"in service\"\nrow = {}\n",
            quoted(&self.machine),
            quoted(&self.sheet),
            self.row
        );
        for (key, value) in [("plate", &self.plate), ("vin", &self.vin)] {
            if !value.is_empty() {
                let _ = writeln!(text, "{key} = {}", quoted(value));
            }
        }
        if !self.first_use.is_empty() {
            let _ = writeln!(text, "first_use = {}", self.first_use);
        }
        text
    }
}

/// A figure of the handbook.
#[derive(Clone, Debug, Default)]
pub(super) struct Figure {
    /// The check.
    pub(super) check: String,
    /// At least, with its unit.
    pub(super) least: String,
    /// At most, with its unit.
    pub(super) most: String,
    /// To set, with its unit.
    pub(super) target: String,
    /// The page it stands on.
    pub(super) page: String,
}

impl Figure {
    /// Its row; none if nothing was written.
    pub(super) fn text(&self) -> Option<String> {
        let bound = match (self.least.trim(), self.most.trim()) {
            ("", "") => String::new(),
            (least, "") => format!("at_least = {}\n", quoted(least)),
            ("", most) => format!("at_most = {}\n", quoted(most)),
            (least, most) => format!("within = [{}, {}]\n", quoted(least), quoted(most)),
        };
        let target = self.target.trim();
        let target = if target.is_empty() { String::new() } else { format!("target = {}\n", quoted(target)) };
        if bound.is_empty() && target.is_empty() {
            return None;
        }
        let page = self.page.trim();
        let page = if page.is_empty() { String::new() } else { format!("page = {}\n", quoted(page)) };
        Some(format!("\n[[limit]]\ncheck = {}\n{bound}{target}{page}known = \"owner\"\n", quoted(&self.check)))
    }
}
