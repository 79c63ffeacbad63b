//! What the checks of a table are called.

use std::collections::{BTreeMap, BTreeSet};

use muster_core::data;

use crate::keeper::Trial;

/// What checks are called: by id, by name, by the part that wears there.
pub(super) struct Names(BTreeMap<String, BTreeSet<String>>);

impl Names {
    pub(super) fn of(trial: &Trial<'_>) -> Self {
        let mut names = BTreeMap::<String, BTreeSet<String>>::new();
        let mut call = |name: &str, check: &str| {
            names.entry(plain(name)).or_default().insert(check.to_string());
        };
        for check in &trial.catalogue().checks {
            call(&check.name, &check.id);
        }
        for kind in data::practices(trial.catalogue()).unwrap_or_default().kinds {
            call(&kind.part, &kind.check);
            call(&kind.name, &kind.check);
        }
        // An id is no other check's name.
        for check in &trial.catalogue().checks {
            names.insert(plain(&check.id), BTreeSet::from([check.id.clone()]));
        }
        Self(names)
    }

    /// The check's id; what nobody calls so as it is, for the record to refuse.
    pub(super) fn check(&self, said: &str) -> Result<String, String> {
        let Some(found) = self.0.get(&plain(said)) else { return Ok(said.to_string()) };
        let mut ids = found.iter();
        match (ids.next(), ids.next()) {
            (Some(id), None) => Ok(id.clone()),
            _ => {
                let ids = found.iter().cloned().collect::<Vec<_>>().join(", ");
                Err(format!("check: `{said}` may be {ids}: write which"))
            }
        }
    }
}

fn plain(name: &str) -> String {
    name.trim().to_lowercase()
}
