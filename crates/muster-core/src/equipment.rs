//! What a machine has, so what applies to it; what is not stated is unknown and never assumed away.

use alloc::{
    collections::BTreeMap,
    string::{String, ToString},
    vec::Vec,
};

/// One thing a machine can have, and the values it may take.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EquipmentKey {
    /// Key in data files: `final_drive`.
    pub key: String,
    /// Name for people: `Final drive`.
    pub name: String,
    /// Values allowed.
    pub values: Vec<String>,
    /// Whether it may have several of them.
    pub several: bool,
}

/// What a machine has, by key; a key that is absent is unknown, one with no value is known to be missing.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Equipment(BTreeMap<String, Vec<String>>);

impl Equipment {
    /// States what a key has.
    pub fn set(&mut self, key: &str, values: Vec<String>) {
        self.0.insert(key.to_string(), values);
    }

    /// The values of a key; none if it is unknown.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<&[String]> {
        self.0.get(key).map(Vec::as_slice)
    }

    /// Whether it is known to have a sidecar, on whichever side.
    #[must_use]
    pub fn has_sidecar(&self) -> bool {
        self.get("sidecar").is_some_and(|values| values.iter().any(|value| value != "no"))
    }

    /// Whether it is known to be electric.
    #[must_use]
    pub fn is_electric(&self) -> bool {
        self.get("engine").is_some_and(|values| values.iter().any(|value| value == "electric"))
    }

    /// Everything stated, by key.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &[String])> {
        self.0.iter().map(|(key, values)| (key.as_str(), values.as_slice()))
    }

    /// This equipment with what another states laid over it.
    #[must_use]
    pub fn overlaid(&self, over: &Self) -> Self {
        let mut all = self.clone();
        for (key, values) in &over.0 {
            all.0.insert(key.clone(), values.clone());
        }
        all
    }
}

/// Whether a condition holds for a machine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Holds {
    /// It does.
    Yes,
    /// It does not.
    No,
    /// The machine does not state these keys; what is unknown means the stricter, so it counts as holding.
    Unknown(Vec<String>),
}

/// A condition on equipment: every key must have one of its values.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Condition(pub BTreeMap<String, Vec<String>>);

impl Condition {
    /// Whether it holds for a machine.
    #[must_use]
    pub fn holds(&self, equipment: &Equipment) -> Holds {
        let mut unknown = Vec::new();
        for (key, wanted) in &self.0 {
            match equipment.get(key) {
                None => unknown.push(key.clone()),
                Some(has) if has.iter().any(|value| wanted.contains(value)) => {}
                Some(_) => return Holds::No,
            }
        }
        if unknown.is_empty() { Holds::Yes } else { Holds::Unknown(unknown) }
    }

    /// Whether it holds for every machine that another holds for.
    #[must_use]
    pub fn covers(&self, other: &Self) -> bool {
        let within = |(key, wanted): (&String, &Vec<String>)| {
            other.0.get(key).is_some_and(|values| values.iter().all(|value| wanted.contains(value)))
        };
        self.0.iter().all(within)
    }

    /// Whether no value of a key satisfies both this and another: no machine with one such value does.
    #[must_use]
    pub fn excludes(&self, other: &Self, key: &str) -> bool {
        match (self.0.get(key), other.0.get(key)) {
            (Some(own), Some(others)) => !own.iter().any(|value| others.contains(value)),
            _ => false,
        }
    }

    /// What a machine is known to lack of all the values named: for a check that needs them to be there.
    #[must_use]
    pub fn lacking(&self, equipment: &Equipment) -> Vec<String> {
        let mut lacking = Vec::new();
        for (key, wanted) in &self.0 {
            if let Some(has) = equipment.get(key) {
                let missing = wanted.iter().filter(|value| !has.contains(value));
                lacking.extend(missing.map(|value| alloc::format!("{value} {}", key.trim_end_matches('s'))));
            }
        }
        lacking
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use alloc::vec;

    #[test]
    fn what_is_unknown_is_not_assumed_away() {
        let condition = Condition([("final_drive".to_string(), vec!["chain".to_string()])].into());
        let mut machine = Equipment::default();
        assert_eq!(condition.holds(&machine), Holds::Unknown(vec!["final_drive".into()]));
        machine.set("final_drive", vec!["belt".into()]);
        assert_eq!(condition.holds(&machine), Holds::No);
        machine.set("final_drive", vec!["chain".into()]);
        assert_eq!(condition.holds(&machine), Holds::Yes);
    }

    #[test]
    fn lacking_names_what_is_missing_and_only_if_it_is_known() {
        let mirrors = Condition([("mirrors".to_string(), vec!["left".to_string(), "right".to_string()])].into());
        let mut machine = Equipment::default();
        assert!(mirrors.lacking(&machine).is_empty());
        machine.set("mirrors", vec!["right".into()]);
        assert_eq!(mirrors.lacking(&machine), ["left mirror"]);
    }
}
