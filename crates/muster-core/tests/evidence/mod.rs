//! Evidence: rows of outside values, each with its source, that the core's formulas must meet.
//!
//! A file `golden/evidence/<name>.toml` holds the rows of one field; a module `<name>` beside this one computes them.

use serde::Deserialize;
use std::collections::BTreeSet;

pub(crate) mod decision;
pub(crate) mod forecast;
pub(crate) mod outing;
pub(crate) mod physics;
pub(crate) mod physics_parts;
mod table;
pub(crate) mod workshop;
mod workshop_brakes;
mod workshop_fluids;
mod workshop_tyres;

/// One outside value and the formula that must meet it.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Row {
    /// Stable and unique over all files: field, topic, case.
    pub(crate) id: String,
    /// Path of the formula inside the core, with the result's name after it where it has several.
    pub(crate) formula: String,
    /// What is checked, in words.
    pub(crate) what: String,
    /// The formula's arguments by name.
    pub(crate) input: toml::Table,
    /// The outside value, in `unit`.
    pub(crate) expect: f64,
    /// The largest difference allowed, absolute, in `unit`.
    pub(crate) tolerance: f64,
    /// Unit of `expect`; "1" for a pure number.
    pub(crate) unit: String,
    /// Document and clause, dataset or library the value comes from.
    pub(crate) source: String,
    /// How the value is known: published, computed with what, from memory, exact.
    pub(crate) known: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    row: Vec<Row>,
}

/// A field's name, its rows as TOML, and the function that computes a row.
pub(crate) type Field = (&'static str, &'static str, fn(&str, &toml::Table) -> Result<f64, String>);

/// Every field of evidence.
pub(crate) const FIELDS: [Field; 5] = [
    ("decision", include_str!("../golden/evidence/decision.toml"), decision::compute),
    ("forecast", include_str!("../golden/evidence/forecast.toml"), forecast::compute),
    ("outing", include_str!("../golden/evidence/outing.toml"), outing::compute),
    ("physics", include_str!("../golden/evidence/physics.toml"), physics::compute),
    ("workshop", include_str!("../golden/evidence/workshop.toml"), workshop::compute),
];

/// Returns the rows of a file.
pub(crate) fn rows(file: &str) -> Result<Vec<Row>, String> {
    toml::from_str::<File>(file).map(|file| file.row).map_err(|error| error.to_string())
}

/// Returns what the formula gave, or why it does not meet the row.
pub(crate) fn check(row: &Row, got: Result<f64, String>) -> Result<f64, String> {
    let got = got.map_err(|error| format!("{}: {error}", row.id))?;
    // Infinities are met exactly; their difference is no number.
    let meets = (got - row.expect).abs() <= row.tolerance || (got.is_infinite() && got.total_cmp(&row.expect).is_eq());
    if meets {
        return Ok(got);
    }
    Err(format!(
        "{}: {} gave {got:?} {}, {} says {:?} ± {:e}",
        row.id, row.formula, row.unit, row.source, row.expect, row.tolerance
    ))
}

/// Returns a number of a row's input; whole numbers count as numbers.
pub(crate) fn number(input: &toml::Table, key: &str) -> Result<f64, String> {
    maybe_number(input, key)?.ok_or_else(|| format!("input has no number `{key}`"))
}

/// Returns a number of a row's input, if it is there.
pub(crate) fn maybe_number(input: &toml::Table, key: &str) -> Result<Option<f64>, String> {
    input.get(key).map(|value| as_number(key, value)).transpose()
}

/// Returns a list of numbers of a row's input.
pub(crate) fn numbers(input: &toml::Table, key: &str) -> Result<Vec<f64>, String> {
    let list = input.get(key).and_then(toml::Value::as_array).ok_or_else(|| format!("input has no list `{key}`"))?;
    list.iter().map(|value| as_number(key, value)).collect()
}

fn as_number(key: &str, value: &toml::Value) -> Result<f64, String> {
    match value {
        toml::Value::Float(number) => Ok(*number),
        toml::Value::Integer(number) => Ok(*number as f64),
        _ => Err(format!("input `{key}` is not a number")),
    }
}

#[test]
fn every_row_is_met() {
    let mut missed = Vec::new();
    for (field, file, compute) in FIELDS {
        let rows = rows(file).unwrap_or_else(|error| panic!("{field}: {error}"));
        missed.extend(rows.iter().filter_map(|row| check(row, compute(&row.formula, &row.input)).err()));
    }
    assert!(missed.is_empty(), "{} rows missed:\n{}", missed.len(), missed.join("\n"));
}

#[test]
fn every_row_is_complete_and_named_once() {
    let mut seen = BTreeSet::new();
    for (field, file, _) in FIELDS {
        for row in rows(file).unwrap_or_else(|error| panic!("{field}: {error}")) {
            assert!(row.id.starts_with(&format!("{field}.")), "{} is in the file {field}", row.id);
            assert!(seen.insert(row.id.clone()), "{} twice", row.id);
            assert!(row.tolerance >= 0.0 && row.tolerance.is_finite(), "{}: tolerance", row.id);
            assert!(!row.expect.is_nan(), "{}: expect", row.id);
            for (name, text) in
                [("what", &row.what), ("unit", &row.unit), ("source", &row.source), ("known", &row.known)]
            {
                assert!(!text.trim().is_empty(), "{}: {name} is empty", row.id);
            }
        }
    }
}

#[test]
fn a_row_that_is_off_is_missed() {
    for (_, file, compute) in FIELDS {
        for mut row in rows(file).expect("the file is read by another test too") {
            let off = 3.0 * row.tolerance.max(1e-12 * row.expect.abs().max(1.0));
            row.expect = if row.expect.is_infinite() { 0.0 } else { row.expect + off };
            assert!(check(&row, compute(&row.formula, &row.input)).is_err(), "{} meets a wrong value", row.id);
        }
    }
}
