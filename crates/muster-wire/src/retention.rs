//! What the house rule on names and photos lets go, as JSON.

use std::collections::BTreeMap;

use muster_core::{
    record::{
        id::PersonId,
        retention::{Decided, Why},
    },
    yard::Retention,
};
use serde::{Deserialize, Serialize};

/// What goes or went, and what stays with why.
#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct RetentionView {
    /// How long names are kept; none: for good.
    pub names: Option<String>,
    /// How long photos are kept; none: for good.
    pub photos: Option<String>,
    /// People whose names go.
    pub names_go: Vec<NameGoes>,
    /// Photos whose bytes go.
    pub photos_go: Vec<PhotoGoes>,
    /// People whose names stay.
    pub names_stay: Vec<Stays>,
    /// Photos that stay.
    pub photos_stay: Vec<Stays>,
    /// What the record refused meanwhile.
    pub refused: Vec<String>,
}

/// A person whose name goes.
#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct NameGoes {
    /// Their id.
    pub person: String,
    /// Their name; none once it is gone.
    pub name: Option<String>,
    /// Their last event.
    pub last: String,
}

/// A photo whose bytes go.
#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PhotoGoes {
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// The machines it is attached at.
    pub machines: Vec<String>,
    /// The last event it belongs to.
    pub last: String,
}

/// What stays.
#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Stays {
    /// The person, or the photo's SHA-256.
    pub what: String,
    /// Why.
    pub why: String,
    /// Whether it is only not old enough, or without a rule.
    pub by_rule: bool,
}

impl RetentionView {
    /// The view of what was decided; names are shown where they can still be read.
    #[must_use]
    pub fn of(rule: &Retention, decided: &Decided, names: &BTreeMap<PersonId, String>, refused: Vec<String>) -> Self {
        let name = |person: &PersonId| names.get(person).cloned();
        let machines = |of: &muster_core::record::retention::Photo| {
            let mut machines: Vec<String> = of.attached.iter().map(|one| one.machine.clone()).collect();
            machines.dedup();
            machines
        };
        Self {
            names: rule.names.as_ref().map(|of| of.says.clone()),
            photos: rule.photos.as_ref().map(|of| of.says.clone()),
            names_go: decided
                .names
                .iter()
                .map(|(person, last)| NameGoes {
                    person: person.to_string(),
                    name: name(person),
                    last: last.to_string(),
                })
                .collect(),
            photos_go: decided
                .photos
                .iter()
                .map(|of| PhotoGoes { sha256: of.sha256.clone(), machines: machines(of), last: of.last.to_string() })
                .collect(),
            names_stay: decided.names_kept.iter().map(|(person, why)| Stays::of(person.to_string(), why)).collect(),
            photos_stay: decided.photos_kept.iter().map(|(sha256, why)| Stays::of(sha256.clone(), why)).collect(),
            refused,
        }
    }
}

impl Stays {
    fn of(what: String, why: &Why) -> Self {
        Self { what, why: why.to_string(), by_rule: matches!(why, Why::NoRule | Why::Till(_)) }
    }
}
