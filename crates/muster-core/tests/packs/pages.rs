//! Writes a page for each law pack from its file, and fails where a page in the documents is stale.

use std::{fmt::Write, fs, path::PathBuf};

use muster_core::{
    catalogue::{Catalogue, ClassRow, Law},
    data,
    equipment::Condition,
    limit::{Limit, Only},
    source::Provenance,
    words::{Known, Uses},
};

/// What the head of every pack must say.
const SAID: [&str; 5] =
    ["As of:", "Covered:", "Not covered:", "What it is not: legal advice", "Local law and qualified mechanics rule."];

#[test]
fn the_pages_in_the_documents_are_fresh() {
    let catalogue = super::catalogue();
    let folder = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/law"));
    let mut pages: Vec<(String, String)> =
        catalogue.laws.values().map(|law| (file_name(law), page(law, &head(law)))).collect();
    pages.push(("README.md".into(), index(&catalogue)));
    if std::env::var_os("MUSTER_BLESS").is_some() {
        for (name, page) in &pages {
            fs::write(folder.join(name), page).unwrap_or_else(|error| panic!("{name}: {error}"));
        }
    }
    for (name, page) in &pages {
        let written = fs::read_to_string(folder.join(name)).unwrap_or_default();
        assert!(written == *page, "docs/law/{name} is stale: run `cargo xtask law` and read what changed");
    }
    let found = fs::read_dir(&folder).unwrap_or_else(|error| panic!("{error}")).count();
    assert_eq!(found, pages.len(), "docs/law holds a page of no pack");
}

#[test]
fn every_pack_says_what_it_covers_and_who_rules() {
    for law in super::catalogue().laws.values() {
        let head = head(law).join("\n");
        for said in SAID {
            assert!(head.contains(said), "{}: its head does not say `{said}`", law.pack);
        }
    }
}

fn file_name(law: &Law) -> String {
    format!("{}.md", law.pack.to_lowercase())
}

/// The paragraphs of the comment a pack's file opens with.
fn head(law: &Law) -> Vec<String> {
    let name = format!("law/{}.toml", law.pack.to_lowercase());
    let file = data::FILES.iter().find(|(file, _)| *file == name);
    let (_, text) = file.unwrap_or_else(|| panic!("no file {name} for {}", law.pack));
    let lines: Vec<&str> = text.lines().map_while(|line| line.strip_prefix('#')).map(str::trim).collect();
    lines.split(|line| line.is_empty()).map(|lines| lines.join(" ")).filter(|text| !text.is_empty()).collect()
}

fn index(catalogue: &Catalogue) -> String {
    let mut out = String::from(
        "# Law packs\n\nLimits and classes of defects of one jurisdiction each, for motorcycles on the road. None is the \
         whole law, none is\nlegal advice, and none binds on the range. Local law, the handbook and qualified mechanics rule. \
         `cargo xtask law` writes\nthese pages from `data/law`; a test fails where one is stale.\n\n\
         | pack | title | as of | rows | read | in a copy | from memory |\n\
         | --- | --- | --- | --- | --- | --- | --- |\n",
    );
    for law in catalogue.laws.values() {
        let known = known(law);
        let count = |asked: Known| known.iter().filter(|known| **known == asked).count();
        let _ = writeln!(
            out,
            "| [{}]({}) | {} | {} | {} | {} | {} | {} |",
            law.pack,
            file_name(law),
            cell(&law.title),
            cell(&law.as_of),
            known.len(),
            count(Known::Read),
            count(Known::Secondary),
            count(Known::Memory),
        );
    }
    out
}

/// The limits as the file has them: a row that names several checks was read as one row for each.
fn limits(law: &Law) -> impl Iterator<Item = &[Limit]> {
    law.limits.chunk_by(|a, b| Limit { check: b.check.clone(), ..a.clone() } == *b)
}

/// How each row of a pack is known.
fn known(law: &Law) -> Vec<Known> {
    let limits = limits(law).map(|rows| rows[0].provenance.known);
    limits.chain(law.classes.iter().map(|row| row.provenance.known)).collect()
}

fn page(law: &Law, head: &[String]) -> String {
    let mut out = format!("# {}: {}\n\n", law.pack, law.title);
    for paragraph in head {
        let _ = write!(out, "{paragraph}\n\n");
    }
    out.push_str(
        "This page is written from the pack's file by `cargo xtask law`. How a row is known stands in its last ",
    );
    out.push_str("column.\n");
    if !law.limits.is_empty() {
        out.push_str("\n## Limits\n\n| checks | limit | class | binds | source | note | known |\n");
        out.push_str("| --- | --- | --- | --- | --- | --- | --- |\n");
        for rows in limits(law) {
            limit(&mut out, rows);
        }
    }
    if !law.classes.is_empty() {
        out.push_str("\n## Classes of defects\n\n| key | checks | class | when | binds | source | known |\n");
        out.push_str("| --- | --- | --- | --- | --- | --- | --- |\n");
        for row in &law.classes {
            class(&mut out, row);
        }
    }
    out
}

fn limit(out: &mut String, rows: &[Limit]) {
    let row = &rows[0];
    let checks: Vec<&str> = rows.iter().map(|row| row.check.as_str()).collect();
    let bound = match (row.at_least, row.at_most) {
        (Some(least), Some(most)) => format!("{least} to {most}"),
        (Some(least), None) => format!("at least {least}"),
        (None, Some(most)) => format!("at most {most}"),
        (None, None) => String::from("-"),
    };
    let class = row.class.map_or("the check's", |class| class.as_str());
    let note = row.note.as_deref().unwrap_or_default();
    let (source, known) = cited(&row.provenance);
    let mut binds = binds(row.uses, &row.only_if);
    if !row.places.is_empty() {
        let _ = write!(binds, ", {}", row.places.join(" and "));
    }
    let _ = writeln!(
        out,
        "| {} | {bound} | {class} | {} | {} | {} | {known} |",
        checks.join(", "),
        cell(&binds),
        cell(&source),
        cell(note)
    );
}

fn class(out: &mut String, row: &ClassRow) {
    let (source, known) = cited(&row.provenance);
    let binds = binds(row.uses, &row.only_if);
    let _ = writeln!(
        out,
        "| `{}` | {} | {} | {} | {} | {} | {known} |",
        row.key,
        row.checks.join(", "),
        row.class,
        cell(&row.when),
        cell(&binds),
        cell(&source)
    );
}

fn cited(provenance: &Provenance) -> (String, &'static str) {
    let place = provenance.place.as_ref().map(|place| format!(", {place}")).unwrap_or_default();
    (format!("{}{place}", provenance.title), provenance.known.as_str())
}

/// Which machines and uses a row binds, in words.
fn binds(uses: Uses, only: &Only) -> String {
    let mut words = Vec::new();
    if uses != Uses::ON_THE_ROAD {
        words.push(format!("{uses} only"));
    }
    let figure = |figure: Option<f64>, before: &str, unit: &str| figure.map(|of| format!("{before} {of} {unit}"));
    words.extend(figure(only.displacement_over_cc, "over", "cm³"));
    words.extend(figure(only.displacement_to_cc, "up to", "cm³"));
    words.extend(figure(only.power_over_kw, "over", "kW"));
    words.extend(figure(only.power_to_kw, "up to", "kW"));
    words.extend((!only.categories.is_empty()).then(|| format!("category {}", only.categories.join(" or "))));
    words.extend(only.first_use_from.map(|date| format!("first used from {date}")));
    let Condition(equipment) = &only.equipment;
    words.extend(equipment.iter().map(|(key, values)| format!("{} {}", key.replace('_', " "), values.join(" or "))));
    if words.is_empty() { String::from("every machine") } else { words.join(", ") }
}

fn cell(text: &str) -> String {
    text.replace('|', "\\|")
}
