//! The catalogue: checks, general practice, law packs, model classes, sources; one with the build.

use alloc::{collections::BTreeMap, string::String, vec::Vec};

use crate::{
    check::Check,
    equipment::EquipmentKey,
    limit::{Limit, Only},
    rule::Rule,
    source::{Bibliography, Provenance},
    words::{Class, Uses},
};

/// Everything the program knows before it meets a yard.
#[derive(Clone, Debug, PartialEq)]
pub struct Catalogue {
    /// Documents by key.
    pub sources: Bibliography,
    /// What a machine can have.
    pub equipment: Vec<EquipmentKey>,
    /// Thresholds and costs.
    pub rule: Rule,
    /// Checks by station, then state: the order of every list.
    pub checks: Vec<Check>,
    /// General practice.
    pub practice: Vec<Limit>,
    /// Law packs by name.
    pub laws: BTreeMap<String, Law>,
    /// Classes of 2014/45/EU Annex I: a model, not law for motorcycles.
    pub model_classes: Vec<ClassRow>,
    /// SHA-256 of all its files, in hexadecimal: in every verdict, so that an old copy shows.
    pub hash: String,
}

impl Catalogue {
    /// Finds a check.
    #[must_use]
    pub fn check(&self, id: &str) -> Option<&Check> {
        self.checks.iter().find(|check| check.id == id)
    }
}

/// One jurisdiction.
#[derive(Clone, Debug, PartialEq)]
pub struct Law {
    /// Its name: `GB`.
    pub pack: String,
    /// Title for people.
    pub title: String,
    /// The state of the law it is written from, in words.
    pub as_of: String,
    /// Its limits.
    pub limits: Vec<Limit>,
    /// Its classes.
    pub classes: Vec<ClassRow>,
}

/// The class a pack gives a defect.
#[derive(Clone, Debug, PartialEq)]
pub struct ClassRow {
    /// What a finding names it by, once in its pack.
    pub key: String,
    /// Item of the pack, if it numbers them.
    pub item: Option<String>,
    /// The checks it is about.
    pub checks: Vec<String>,
    /// The class.
    pub class: Class,
    /// When.
    pub when: String,
    /// The uses it binds.
    pub uses: Uses,
    /// The machines it binds.
    pub only_if: Only,
    /// Where it stands.
    pub provenance: Provenance,
}
