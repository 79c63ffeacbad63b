//! Reads the catalogue's checks.

use alloc::{boxed::Box, collections::BTreeMap, format, string::String, vec::Vec};
use core::ops::Range;

use super::{Reader, Row, Text, source::Sources};
use crate::{
    check::{Check, Correction, DateOf, Life, Lives, Look, Measure, Scatter, Settable, Shown, Yields},
    equipment::{Condition, EquipmentKey},
    quantity::{Bounds, Kind, Unit, text, text::DecimalSign},
    state::{Heat, Needs, Power, Stance, Station},
    words::{Use, Uses},
};

const KEYS: &str = "id, name, station, method, caution, practice, seconds, class, item, uses, applies, requires, needs, \
                    life, ends_with, evening, differs, look, read, date";

/// Reads one `[[check]]`; a check with a fault is left out and the fault said.
pub(super) fn check(
    reader: &mut Reader<'_>,
    mut row: Row<'_>,
    equipment: &[EquipmentKey],
    sources: &mut Sources<'_>,
) -> Option<Check> {
    let span = row.span();
    let id = row.need::<String>(reader, "id")?;
    let name = row.need::<String>(reader, "name");
    let station = row.word(reader, "station");
    let method: Vec<String> = row.need(reader, "method").unwrap_or_default();
    let seconds = row.need(reader, "seconds");
    let class = row.word(reader, "class");
    let uses = row.words::<Use>(reader, "uses").map(Uses::from_iter);
    let life = lives(reader, &mut row);
    let yields = yields(reader, &mut row, sources);
    let applies = condition(reader, &mut row, "applies", equipment);
    let requires = condition(reader, &mut row, "requires", equipment);
    let needs = needs(reader, &mut row, station.as_slice());
    let rest = (row.take(reader, "caution"), row.take(reader, "practice"), row.take(reader, "item"));
    let (ends_with, evening) = (row.words(reader, "ends_with"), row.take(reader, "evening"));
    let differs = row.rows(reader, "differs");
    row.finish(reader, KEYS);
    let missing = [
        (station.is_none(), "station"),
        (class.is_none(), "class"),
        (uses.is_none(), "uses"),
        (life.is_none(), "life"),
        (yields.is_none(), "look, read or date"),
    ];
    for (_, key) in missing.iter().filter(|(missing, _)| *missing) {
        reader.say(span.clone(), format!("check {id} has no usable {key}"));
    }
    let check = Check {
        name: name?,
        station: station?,
        method,
        caution: rest.0,
        practice: rest.1,
        seconds: seconds?,
        class: class?,
        item: rest.2,
        uses: uses?,
        applies,
        requires,
        needs: needs.unwrap_or(Needs::ANY),
        life: life?,
        ends_with: ends_with.unwrap_or_default(),
        evening: evening.unwrap_or(false),
        yields: yields?,
        differs: Vec::new(),
        id,
    };
    let rows = differs.into_iter().map(|row| differing(reader, row, &check, equipment));
    let differs: Vec<_> = rows.collect();
    say_what_never_counts(reader, &check, &differs, equipment);
    Some(Check { differs: differs.into_iter().map(|(_, on, own)| (on, own)).collect(), ..check })
}

/// Reads one row of `differs`: with which equipment, and what is other then.
fn differing(
    reader: &mut Reader<'_>,
    mut row: Row<'_>,
    check: &Check,
    known: &[EquipmentKey],
) -> (Range<usize>, Condition, Check) {
    let on = condition(reader, &mut row, "on", known);
    let mut own = check.clone();
    own.name = row.take(reader, "name").unwrap_or(own.name);
    own.station = row.word(reader, "station").unwrap_or(check.station);
    own.method = row.take(reader, "method").unwrap_or(own.method);
    own.caution = row.take(reader, "caution").or(own.caution);
    own.practice = row.take(reader, "practice").or(own.practice);
    own.needs = needs(reader, &mut row, &[own.station]).unwrap_or(check.needs);
    if let Some(mut table) = row.table(reader, "look") {
        match &mut own.yields {
            Yields::Look(look) => {
                for (key, text) in
                    [("sound", &mut look.sound), ("doubtful", &mut look.doubtful), ("defective", &mut look.defective)]
                {
                    if let Some(other) = table.take(reader, key) {
                        *text = other;
                    }
                }
            }
            _ => reader.say(table.span(), format!("check {} is no look: it has no words for what is seen", check.id)),
        }
        table.finish(reader, "sound, doubtful, defective");
    }
    let span = row.span();
    row.finish(reader, "on, name, station, method, caution, practice, needs, look");
    (span, on, own)
}

/// Says which rows of `differs` no machine ever meets, or every machine, or that change nothing.
fn say_what_never_counts(
    reader: &mut Reader<'_>,
    check: &Check,
    differs: &[(Range<usize>, Condition, Check)],
    known: &[EquipmentKey],
) {
    for (at, (span, on, own)) in differs.iter().enumerate() {
        let never = known.iter().find(|key| !key.several && on.excludes(&check.applies, &key.key));
        let what = if on.covers(&check.applies) {
            "holds for every machine that is asked this: say it in the check itself, or name the equipment in `on`"
                .into()
        } else if let Some(key) = never {
            format!("never counts: no machine that is asked this has such a {}", key.key)
        } else if differs.iter().take(at).any(|(_, before, _)| before.covers(on)) {
            "never counts: one before it holds wherever it does".into()
        } else if own.says() == check.says() {
            "changes nothing: it says what the check says".into()
        } else {
            continue;
        };
        reader.say(span.clone(), format!("check {}: this row of differs {what}", check.id));
    }
}

/// Reads a table of equipment, each key and value one the catalogue knows.
pub(super) fn condition(
    reader: &mut Reader<'_>,
    row: &mut Row<'_>,
    key: &'static str,
    known: &[EquipmentKey],
) -> Condition {
    let Some(mut table) = row.table(reader, key) else { return Condition::default() };
    Condition(equipment(reader, &mut table, known))
}

/// Reads the keys of an equipment table.
pub(super) fn equipment(
    reader: &mut Reader<'_>,
    table: &mut Row<'_>,
    known: &[EquipmentKey],
) -> BTreeMap<String, Vec<String>> {
    let mut out = BTreeMap::new();
    for (key, values) in table.lists(reader) {
        let Some(row) = known.iter().find(|row| row.key == *key.get_ref()) else {
            let allowed: Vec<&str> = known.iter().map(|row| row.key.as_str()).collect();
            reader
                .say(key.span(), format!("unknown equipment `{}`; allowed are: {}", key.get_ref(), allowed.join(", ")));
            continue;
        };
        for value in values.iter().filter(|value| !row.values.contains(value.get_ref())) {
            let allowed = row.values.join(", ");
            reader.say(value.span(), format!("{} cannot be `{}`; allowed are: {allowed}", row.key, value.get_ref()));
        }
        out.insert(key.into_inner(), values.into_iter().map(Text::into_inner).collect());
    }
    out
}

/// Reads `needs` of a check at these stations.
pub(super) fn needs(reader: &mut Reader<'_>, row: &mut Row<'_>, stations: &[Station]) -> Option<Needs> {
    let mut table = row.table(reader, "needs")?;
    let before = reader.count();
    let mut needs = Needs::ANY;
    if let Some(heats) = table.words::<Heat>(reader, "heat") {
        needs = needs.heats(&heats);
    }
    if let Some(powers) = table.words::<Power>(reader, "power") {
        needs = needs.powers(&powers);
    }
    if let Some(stances) = table.words::<Stance>(reader, "stance") {
        needs = needs.stances(&stances);
    }
    if !needs.can_be_met() && reader.count() == before {
        reader.say(
            table.span(),
            "no state meets these needs: neither a cold check nor one with the front wheel raised has the engine running",
        );
    }
    if let Some(station) = stations.iter().find(|station| needs.raises_the_other_wheel(**station)) {
        reader.say(table.span(), format!("these needs raise the other wheel: this one is done at the {station}"));
    }
    table.finish(reader, "heat, power, stance");
    Some(needs)
}

fn lives(reader: &mut Reader<'_>, row: &mut Row<'_>) -> Option<Lives> {
    if row.is_table("life") {
        let mut table = row.table(reader, "life")?;
        let mut by_use = BTreeMap::new();
        for one in Use::ALL {
            if let Some(life) = table.text(reader, one.as_str()).and_then(|text| life(reader, &text)) {
                by_use.insert(*one, life);
            }
        }
        let other = table.text(reader, "other").and_then(|text| life(reader, &text));
        table.finish(reader, "range, road, passenger, dark, other");
        return Some(Lives { other: other.unwrap_or(Life { days: None, km: None }), by_use });
    }
    let text = row.text(reader, "life")?;
    Some(Lives { other: life(reader, &text)?, by_use: BTreeMap::new() })
}

fn life(reader: &mut Reader<'_>, text: &Text) -> Option<Life> {
    let mut life = Life { days: None, km: None };
    match text.get_ref().as_str() {
        "this outing" => return Some(life),
        "today" => return Some(Life { days: Some(0), km: None }),
        _ => {}
    }
    for part in text.get_ref().split(" or ") {
        let days = part.strip_suffix(" days").or_else(|| part.strip_suffix(" day")).and_then(|n| n.parse().ok());
        let km = text::read(Kind::Distance, part, DecimalSign::Point).map(|way| way.in_unit(Unit::Kilometre));
        match (days, km) {
            (Some(days), _) => life.days = Some(days),
            (None, Ok(km)) => life.km = Some(km),
            _ => {
                reader.say(
                    text.span(),
                    format!("life `{part}`: write this outing, today, 30 days, 500 km or 30 days or 500 km"),
                );
                return None;
            }
        }
    }
    Some(life)
}

fn yields(reader: &mut Reader<'_>, row: &mut Row<'_>, sources: &mut Sources<'_>) -> Option<Yields> {
    if let Some(table) = row.table(reader, "look") {
        return look(reader, table).map(Yields::Look);
    }
    if let Some(table) = row.table(reader, "read") {
        return measure(reader, table, sources).map(|measure| Yields::Read(Box::new(measure)));
    }
    let mut table = row.table(reader, "date")?;
    let what = table.text(reader, "what");
    let tyre_code = table.take::<String>(reader, "code").is_some_and(|code| code == "tyre");
    table.finish(reader, "what, code");
    match what.as_ref().map(|what| what.get_ref().as_str()) {
        Some("expires") => Some(Yields::Date(DateOf::Expires)),
        Some("made") => Some(Yields::Date(DateOf::Made { tyre_code })),
        _ => None,
    }
}

fn look(reader: &mut Reader<'_>, mut table: Row<'_>) -> Option<Look> {
    let sound = table.need(reader, "sound");
    let doubtful = table.need(reader, "doubtful");
    let defective = table.need(reader, "defective");
    let places = table.take(reader, "places").unwrap_or_default();
    table.finish(reader, "sound, doubtful, defective, places");
    Some(Look { sound: sound?, doubtful: doubtful?, defective: defective?, places })
}

fn measure(reader: &mut Reader<'_>, mut table: Row<'_>, sources: &mut Sources<'_>) -> Option<Measure> {
    let kind_name = table.need::<Text>(reader, "kind")?;
    let Some(kind) = Kind::find(kind_name.get_ref()) else {
        let names: Vec<&str> = Kind::ALL.iter().map(|kind| kind.name()).collect();
        reader.say(kind_name.span(), format!("unknown kind; allowed are: {}", names.join(", ")));
        return None;
    };
    let (si_unit, us_unit) = (unit(reader, &mut table, "si", kind), unit(reader, &mut table, "us", kind));
    let mut decimals = table.table(reader, "decimals");
    let mut places_of = |key| decimals.as_mut().and_then(|row| row.take(reader, key)).unwrap_or(1);
    let (si_decimals, us_decimals) = (places_of("si"), places_of("us"));
    let range = range(reader, &mut table, kind);
    let difference = if kind == Kind::Temperature { Kind::TemperatureDifference } else { kind };
    let across = table.amount(reader, "across", difference);
    let places = table.take(reader, "places").unwrap_or_default();
    let instruments = table.words(reader, "instruments").unwrap_or_default();
    let repeatability = table.table(reader, "repeatability").and_then(|row| scatter(reader, row, difference, sources));
    let correction = table.text(reader, "correction").and_then(|text| match text.get_ref().as_str() {
        "tyre-gas" => Some(Correction::TyreGas),
        "oil-lean" => Some(Correction::OilLean),
        _ => {
            reader.say(text.span(), "unknown correction; allowed are: tyre-gas, oil-lean");
            None
        }
    });
    let settable = table.table(reader, "settable").and_then(|row| settable(reader, row, difference));
    table.finish(
        reader,
        "kind, si, us, decimals, range, places, across, instruments, repeatability, correction, settable",
    );
    let si = Shown { unit: si_unit?, decimals: si_decimals };
    let us = us_unit.map_or(si, |unit| Shown { unit, decimals: us_decimals });
    Some(Measure { kind, si, us, range: range?, places, across, instruments, repeatability, correction, settable })
}

fn unit(reader: &mut Reader<'_>, table: &mut Row<'_>, key: &str, kind: Kind) -> Option<Unit> {
    let text = table.text(reader, key)?;
    let unit = Unit::find(kind, text.get_ref());
    if unit.is_none() {
        reader.say(text.span(), format!("`{}` is not a unit of a {kind}", text.get_ref()));
    }
    unit
}

fn range(reader: &mut Reader<'_>, table: &mut Row<'_>, kind: Kind) -> Option<Bounds> {
    let ends: Vec<Text> = table.need(reader, "range")?;
    let [low, high] = ends.as_slice() else {
        reader.say(table.span(), "range needs two figures");
        return None;
    };
    let (low, high) = (reader.amount(kind, low)?, reader.amount(kind, high)?);
    Some(Bounds { min: low.in_unit(high.unit()), max: high.value(), unit: high.unit() })
}

fn scatter(reader: &mut Reader<'_>, mut row: Row<'_>, kind: Kind, sources: &mut Sources<'_>) -> Option<Scatter> {
    let deviation = row.amount(reader, "deviation", kind);
    let degrees = row.need::<f64>(reader, "degrees");
    let provenance = sources.provenance(reader, &mut row, None);
    row.finish(reader, "deviation, degrees, source, clause, page, known");
    Some(Scatter { deviation: deviation?, degrees: degrees?, provenance: provenance? })
}

fn settable(reader: &mut Reader<'_>, mut row: Row<'_>, kind: Kind) -> Option<Settable> {
    let act = row.need(reader, "act");
    let far_off = row.amount(reader, "far_off", kind);
    let why = row.need(reader, "why");
    row.finish(reader, "act, far_off, why");
    Some(Settable { act: act?, far_off: far_off?, why: why? })
}
