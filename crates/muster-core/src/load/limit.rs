//! Reads `[[limit]]` and `[[class]]` rows of any layer.

use alloc::{format, string::String, vec::Vec};

use super::{Reader, Row, Text, check::condition, source::Sources};
use crate::{
    catalogue::ClassRow,
    check::{Check, DateOf, Yields},
    equipment::EquipmentKey,
    limit::{Limit, Only},
    quantity::{Amount, Kind},
    source::Provenance,
    words::{Known, Layer, Use, Uses},
};

const KEYS: &str = "check, at_least, at_most, within, target, new, uses, class, where, places, at, source, clause, page, known, \
                    layer, says, approval, note";

/// What a limit row may refer to, and what it takes where it is silent.
pub(super) struct Around<'a> {
    pub(super) checks: &'a [Check],
    pub(super) equipment: &'a [EquipmentKey],
    /// The layer of the file.
    pub(super) layer: Layer,
    /// The source of a row that names none.
    pub(super) handbook: Option<(&'a str, Known)>,
    /// Uses of a row that names none.
    pub(super) uses: Uses,
}

/// Reads every `[[limit]]` of a file; a row may name several checks.
pub(super) fn limits(
    reader: &mut Reader<'_>,
    file: &mut Row<'_>,
    around: &Around<'_>,
    sources: &mut Sources<'_>,
) -> Vec<Limit> {
    let rows = file.rows(reader, "limit");
    rows.into_iter().flat_map(|row| limit(reader, row, around, sources)).collect()
}

fn limit(reader: &mut Reader<'_>, mut row: Row<'_>, around: &Around<'_>, sources: &mut Sources<'_>) -> Vec<Limit> {
    let span = row.span();
    let checks = named_checks(reader, &mut row, around.checks);
    let Some(first) = checks.first() else { return Vec::new() };
    let Some(kind) = kind_of(first) else {
        reader.say(span, format!("{} yields no figure, so it has no limit", first.id));
        return Vec::new();
    };
    let before = reader.count();
    let (mut at_least, mut at_most) = (row.amount(reader, "at_least", kind), row.amount(reader, "at_most", kind));
    if let Some(ends) = row.take::<Vec<Text>>(reader, "within") {
        match ends.as_slice() {
            [low, high] => {
                at_least = reader.amount(kind, low);
                at_most = reader.amount(kind, high);
            }
            _ => reader.say(span.clone(), "within needs two figures"),
        }
    }
    let (target, new) = (row.amount(reader, "target", kind), row.amount(reader, "new", kind));
    let uses = row.words::<Use>(reader, "uses").map_or(around.uses, Uses::from_iter);
    let class = row.word(reader, "class");
    let only_if = only(reader, &mut row, around.equipment);
    let places = places(reader, &mut row, first, around.layer);
    let at = row.amount(reader, "at", Kind::Temperature);
    let approval = approval(reader, &mut row);
    let says: Option<String> = row.take(reader, "says");
    let handbook = says.as_deref().map(|says| (says, Known::Owner)).or(around.handbook);
    let provenance = sources.provenance(reader, &mut row, handbook);
    clause(reader, &row, around.layer, provenance.as_ref());
    let layer = row.word(reader, "layer").unwrap_or(around.layer);
    let note = row.take(reader, "note");
    row.finish(reader, KEYS);
    if at_least.zip(at_most).is_some_and(|(low, high)| low > high) {
        reader.say(span.clone(), "no figure lies between these two bounds: an error in the sheet");
    }
    if at_least.or(at_most).or(target).or(new).is_none() && reader.count() == before {
        reader.say(span, "a limit needs at_least, at_most, within, target or new");
    }
    // A row with a fault bounds nothing: half of it could loosen what the whole would not.
    let Some(provenance) = provenance.filter(|_| reader.count() == before) else { return Vec::new() };
    let limit = |check: &&Check| Limit {
        check: check.id.clone(),
        layer,
        at_least,
        at_most,
        target,
        new,
        uses,
        class,
        only_if: only_if.clone(),
        places: places.clone(),
        at,
        provenance: provenance.clone(),
        approval: approval.clone(),
        note: note.clone(),
    };
    checks.iter().map(limit).collect()
}

/// Reads every `[[class]]` of a file.
pub(super) fn classes(
    reader: &mut Reader<'_>,
    file: &mut Row<'_>,
    around: &Around<'_>,
    sources: &mut Sources<'_>,
) -> Vec<ClassRow> {
    let mut out = Vec::new();
    for mut row in file.rows(reader, "class") {
        let checks: Vec<String> =
            named_checks(reader, &mut row, around.checks).iter().map(|check| check.id.clone()).collect();
        let item: Option<String> = row.take(reader, "item");
        let key = key(reader, &mut row, around.layer, item.as_ref(), &out);
        let before = reader.count();
        let class = row.word(reader, "class");
        if class.is_none() && reader.count() == before {
            reader.say(row.span(), "class has no `class`: write minor, major or dangerous");
        }
        let when = row.need::<String>(reader, "when");
        let uses = row.words::<Use>(reader, "uses").map_or(around.uses, Uses::from_iter);
        let only_if = only(reader, &mut row, around.equipment);
        let provenance = sources.provenance(reader, &mut row, around.handbook);
        clause(reader, &row, around.layer, provenance.as_ref());
        row.finish(reader, "key, check, item, class, when, uses, where, source, clause, page, known");
        if let (Some(key), Some(class), Some(when), Some(provenance)) = (key, class, when, provenance) {
            out.push(ClassRow { key, item, checks, class, when, uses, only_if, provenance });
        }
    }
    out
}

/// A law's row says where in the law it stands.
fn clause(reader: &mut Reader<'_>, row: &Row<'_>, layer: Layer, provenance: Option<&Provenance>) {
    if layer == Layer::Law && provenance.is_some_and(|of| of.place.is_none()) {
        reader.say(row.span(), "a law's row needs its `clause`: the section or paragraph it stands in");
    }
}

/// What a finding names a row by: its key in a law pack, its item in the model classes.
fn key(
    reader: &mut Reader<'_>,
    row: &mut Row<'_>,
    layer: Layer,
    item: Option<&String>,
    before: &[ClassRow],
) -> Option<String> {
    if layer != Layer::Law {
        return item.cloned();
    }
    let key = row.need::<Text>(reader, "key")?;
    if before.iter().any(|other| other.key == *key.get_ref()) {
        reader.say(
            key.span(),
            format!("key `{}` stands twice: a finding names one row by it", super::clip(key.get_ref())),
        );
        return None;
    }
    Some(key.into_inner())
}

/// The kind of figure a check's limits are in; none for a look.
pub(super) fn kind_of(check: &Check) -> Option<Kind> {
    match &check.yields {
        Yields::Read(measure) => Some(measure.kind),
        Yields::Date(DateOf::Made { .. }) => Some(Kind::Time),
        Yields::Date(DateOf::Expires) | Yields::Look(_) => None,
    }
}

/// Finds one check or a list of them, saying which are not known.
pub(super) fn named_checks<'c>(reader: &mut Reader<'_>, row: &mut Row<'_>, checks: &'c [Check]) -> Vec<&'c Check> {
    let names: Vec<Text> = match row.is_text("check") {
        true => row.text(reader, "check").into_iter().collect(),
        false => row.need(reader, "check").unwrap_or_default(),
    };
    let mut out = Vec::new();
    for name in names {
        match checks.iter().find(|check| check.id == *name.get_ref()) {
            Some(check) => out.push(check),
            None => reader.say(name.span(), unknown_check(name.get_ref(), checks)),
        }
    }
    out
}

/// Says that a check is not known, and which one may be meant.
pub(super) fn unknown_check(name: &str, checks: &[Check]) -> String {
    let name = super::clip(name);
    let near = checks.iter().map(|check| (distance(&name, &check.id), &check.id)).min();
    match near {
        Some((distance, near)) if distance <= 4 => format!("unknown check `{name}`: did you mean {near}?"),
        _ => format!("unknown check `{name}`: `muster explain` lists them"),
    }
}

/// Edits from one short text to another: Levenshtein, Soviet Physics Doklady 10 (1966) 707.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, from) in a.chars().enumerate() {
        let mut diagonal = i;
        let mut left = i + 1;
        for (to, cell) in b.iter().zip(row.iter_mut().skip(1)) {
            let edit = (diagonal + usize::from(from != *to)).min(left + 1).min(*cell + 1);
            diagonal = *cell;
            *cell = edit;
            left = edit;
        }
        if let Some(first) = row.first_mut() {
            *first = i + 1;
        }
    }
    row.last().copied().unwrap_or(0)
}

/// The places of a check a row binds. Where rows replace one another by layer, a row for one place would leave open what a
/// more general one bounds at the others, so it may stand only where rows tighten.
fn places(reader: &mut Reader<'_>, row: &mut Row<'_>, check: &Check, layer: Layer) -> Vec<String> {
    let named: Vec<Text> = row.take(reader, "places").unwrap_or_default();
    let known: &[String] = if let Yields::Read(measure) = &check.yields { &measure.places } else { &[] };
    for place in &named {
        if !matches!(layer, Layer::Law | Layer::House) {
            reader.say(place.span(), "places may stand in a law pack or a house rule only, where rows tighten");
        } else if !known.contains(place.get_ref()) {
            let known = if known.is_empty() { "none".into() } else { known.join(", ") };
            reader.say(place.span(), format!("{} has no place `{}`; it has: {known}", check.id, place.get_ref()));
        }
    }
    named.into_iter().map(Text::into_inner).collect()
}

fn only(reader: &mut Reader<'_>, row: &mut Row<'_>, known: &[EquipmentKey]) -> Only {
    let Some(mut table) = row.table(reader, "where") else { return Only::default() };
    let only = Only {
        displacement_over_cc: table.take(reader, "displacement_over_cc"),
        displacement_to_cc: table.take(reader, "displacement_to_cc"),
        power_over_kw: table.take(reader, "power_over_kw"),
        power_to_kw: table.take(reader, "power_to_kw"),
        categories: table.take(reader, "category").unwrap_or_default(),
        first_use_from: table.date(reader, "first_use_from"),
        equipment: condition(reader, &mut table, "equipment", known),
    };
    let keys = "displacement_over_cc, displacement_to_cc, power_over_kw, power_to_kw, category, first_use_from, \
                equipment";
    table.finish(reader, keys);
    only
}

fn approval(reader: &mut Reader<'_>, row: &mut Row<'_>) -> Option<String> {
    let mut table = row.table(reader, "approval")?;
    let (by, on) = (table.need::<String>(reader, "by"), table.date(reader, "on"));
    let document: Option<String> = table.take(reader, "document");
    table.finish(reader, "by, on, document");
    let on = on.map(|on| format!(", {on}")).unwrap_or_default();
    let document = document.map(|text| format!(", {text}")).unwrap_or_default();
    by.map(|by| format!("{by}{on}{document}"))
}

/// Checks that two figures of one limit share the check's range; kept for rows written by hand.
pub(super) fn outside_range(limit: &Limit, check: &Check) -> Option<String> {
    let Yields::Read(measure) = &check.yields else { return None };
    let figures: [(&str, Option<Amount>); 3] =
        [("at_least", limit.at_least), ("at_most", limit.at_most), ("target", limit.target)];
    figures.iter().find_map(|(key, amount)| {
        let amount = (*amount)?;
        Amount::within(measure.kind, amount.value(), amount.unit(), measure.range)
            .err()
            .map(|error| format!("{key} of {}: {error}", check.id))
    })
}
