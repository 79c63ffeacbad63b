//! The demonstration yard as it stands in `data/`, and the question it asks of the core for each machine.

use crate::workspace::Workspace;
use anyhow::Context;
use serde_json::json;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

const DIRECTORY: &str = "data/demo/harrow-lane";

/// The demonstration's files by name.
pub(crate) struct Demonstration {
    yard: BTreeMap<String, String>,
    forms: BTreeMap<String, String>,
}

impl Demonstration {
    /// Reads every file of the yard and every form.
    pub(crate) fn read(workspace: &Workspace) -> anyhow::Result<Self> {
        let root = workspace.path(DIRECTORY);
        let mut files = BTreeMap::new();
        for folder in ["", "sheets", "machines", "forms"] {
            collect(&root, folder, &mut files)?;
        }
        let (forms, yard) = files.into_iter().partition(|(name, _)| name.starts_with("forms/"));
        Ok(Self { yard, forms })
    }

    /// A file of the yard by its name.
    pub(crate) fn file(&self, name: &str) -> Option<&str> {
        self.yard.get(name).map(String::as_str)
    }

    /// Each form's machine and text.
    pub(crate) fn forms(&self) -> impl Iterator<Item = (String, &str)> {
        self.forms.iter().filter_map(|(name, text)| Some((field(&self.forms, name, "machine").ok()?, text.as_str())))
    }

    /// The question for each machine at the moment the yard names, with its own forms, by fleet number.
    pub(crate) fn questions(&self) -> anyhow::Result<BTreeMap<String, String>> {
        let on = field(&self.yard, "yard.toml", "on")?;
        let machines = self.yard.keys().filter(|name| name.starts_with("machines/"));
        machines
            .map(|name| {
                let machine = field(&self.yard, name, "machine")?;
                let mut own = BTreeMap::new();
                for (form, text) in &self.forms {
                    if field(&self.forms, form, "machine")? == machine {
                        own.insert(form, text);
                    }
                }
                let question = json!({ "machine": machine, "on": on, "yard": self.yard, "forms": own });
                Ok((machine, question.to_string()))
            })
            .collect()
    }
}

fn collect(root: &Path, folder: &str, files: &mut BTreeMap<String, String>) -> anyhow::Result<()> {
    let directory = root.join(folder);
    for entry in fs::read_dir(&directory).with_context(|| format!("cannot list {DIRECTORY}/{folder}"))? {
        let path = entry?.path();
        if path.extension().is_none_or(|extension| extension != "toml") {
            continue;
        }
        let text = fs::read_to_string(&path).with_context(|| format!("cannot read {}", path.display()))?;
        let name = path.file_name().context("a file has a name")?.to_string_lossy().into_owned();
        files.insert(if folder.is_empty() { name } else { format!("{folder}/{name}") }, text);
    }
    Ok(())
}

/// One field of a file's head, as text.
fn field(files: &BTreeMap<String, String>, name: &str, key: &str) -> anyhow::Result<String> {
    let text = files.get(name).with_context(|| format!("{DIRECTORY} has no {name}"))?;
    let table: toml::Table = text.parse().with_context(|| format!("{name} does not parse"))?;
    match table.get(key) {
        Some(toml::Value::String(text)) => Ok(text.clone()),
        Some(toml::Value::Datetime(moment)) => Ok(moment.to_string()),
        _ => anyhow::bail!("{name} has no `{key}`"),
    }
}
