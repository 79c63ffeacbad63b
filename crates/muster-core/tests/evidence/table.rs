//! Writes every row with what the formula gave as one table, and fails where the table in the documents is stale.

use super::{FIELDS, Row, check, rows};
use std::fmt::Write;

const PATH: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/evidence.md");

#[test]
fn the_table_in_the_documents_is_fresh() {
    let table = table();
    if std::env::var_os("MUSTER_BLESS").is_some() {
        std::fs::write(PATH, &table).unwrap_or_else(|error| panic!("{PATH}: {error}"));
    }
    let written = std::fs::read_to_string(PATH).unwrap_or_default();
    assert!(written == table, "docs/evidence.md is stale: run `cargo xtask evidence` and read what changed");
}

fn table() -> String {
    let mut out = String::from(
        "# Evidence\n\nEvery formula and every branch of the decision's arithmetic against values from outside: a published \
         value, a worked\nexample, a dataset, a reference library. `cargo xtask evidence` writes this page; a test fails where \
         it is stale. No\nexpected value comes from this project's code. How each is known stands in the last column.\n",
    );
    for (field, file, compute) in FIELDS {
        let rows = rows(file).unwrap_or_else(|error| panic!("{field}: {error}"));
        let _ = write!(out, "\n## {field}: {} rows\n\n", rows.len());
        out.push_str("| id | what | expected | got | deviation | allowed | unit | source | known |\n");
        out.push_str("| --- | --- | --- | --- | --- | --- | --- | --- | --- |\n");
        for row in rows {
            let got = check(&row, compute(&row.formula, &row.input)).unwrap_or_else(|error| panic!("{error}"));
            line(&mut out, &row, got);
        }
    }
    out
}

fn line(out: &mut String, row: &Row, got: f64) {
    let deviation = if got.is_infinite() { 0.0 } else { got - row.expect };
    let cell = |text: &str| text.replace('|', "\\|");
    let _ = writeln!(
        out,
        "| {} | {} | {:?} | {got:?} | {deviation:.1e} | {:.0e} | {} | {} | {} |",
        row.id,
        cell(&row.what),
        row.expect,
        row.tolerance,
        cell(&row.unit),
        cell(&row.source),
        cell(&row.known)
    );
}
