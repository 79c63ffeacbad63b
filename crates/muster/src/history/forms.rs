//! The demonstration's forms, read as they are written, to be acted as people once acted them.

use muster_core::{
    calendar::{self, Moment},
    quantity::{Distance, Kind, text, text::DecimalSign},
    record::payload::{Saw, Typed},
    state::{Heat, Power, Stance, State},
    words::{Class, Depth, Seen, Use},
};
use std::collections::BTreeMap;
use toml_edit::{DocumentMut, Item, TableLike, Value};

use super::table::Fault;

/// One form.
#[derive(Clone, Debug)]
pub(super) struct Sheet {
    pub(super) file: String,
    pub(super) machine: String,
    pub(super) depth: Depth,
    pub(super) by: String,
    pub(super) opened: Moment,
    pub(super) closed: Moment,
    pub(super) odometer: String,
    pub(super) odometer_km: f64,
    pub(super) air: Option<String>,
    pub(super) barometer: Option<String>,
    pub(super) ridden: Option<Moment>,
    pub(super) first: (Option<bool>, Option<bool>),
    pub(super) found: State,
    pub(super) outing: Option<(Use, Moment, Option<String>)>,
    pub(super) answers: Vec<Answer>,
    pub(super) findings: Vec<Found>,
    pub(super) closes: Vec<Closed>,
    pub(super) events: Vec<(String, Moment)>,
}

/// One answer as it is written.
#[derive(Clone, Debug, Default)]
pub(super) struct Answer {
    pub(super) check: String,
    pub(super) read: Option<Typed>,
    pub(super) saw: Option<Saw>,
    pub(super) with: Option<String>,
    pub(super) after: Option<String>,
    pub(super) by: Option<String>,
    pub(super) at: Option<Moment>,
    pub(super) why: Option<String>,
    pub(super) note: Option<String>,
    pub(super) class: Option<Class>,
    pub(super) defect: Option<String>,
    pub(super) tyre: Option<String>,
}

#[derive(Clone, Debug)]
pub(super) struct Found {
    pub(super) name: String,
    pub(super) check: Option<String>,
    pub(super) what: String,
    pub(super) class: Class,
    pub(super) defect: Option<String>,
    pub(super) uses: Vec<Use>,
}

#[derive(Clone, Debug)]
pub(super) struct Closed {
    pub(super) finding: String,
    pub(super) how: String,
    pub(super) by: String,
    pub(super) at: Moment,
}

impl Sheet {
    /// The day it was opened.
    pub(super) fn day(&self) -> jiff::civil::Date {
        self.opened.date()
    }

    /// The worst figure read at a check: the least, or the greatest if it rises.
    pub(super) fn worst(&self, check: &str, rises: bool) -> Option<f64> {
        let answer = self.answers.iter().find(|answer| answer.check == check)?;
        let texts: Vec<&String> = match answer.read.as_ref()? {
            Typed::One(one) => [one].into(),
            Typed::Several(several) => several.iter().collect(),
            Typed::Places(places) => places.values().flatten().collect(),
        };
        let figures = texts.iter().filter_map(|text| text.split(' ').next()?.parse::<f64>().ok());
        if rises { figures.max_by(f64::total_cmp) } else { figures.min_by(f64::total_cmp) }
    }

    /// What stands at a check that is read as a text: a date, a tyre's code.
    pub(super) fn text(&self, check: &str) -> Option<&str> {
        match self.answers.iter().find(|answer| answer.check == check)?.read.as_ref()? {
            Typed::One(one) => Some(one),
            _ => None,
        }
    }

    /// Reads one.
    pub(super) fn read(file: &str, text: &str) -> Result<Self, Fault> {
        let wrong = |what: &str| Fault(format!("{file}: {what}"));
        let document: DocumentMut = text.parse().map_err(|error| wrong(&format!("{error}")))?;
        let table = document.as_table();
        let need = |key: &str| string(table, key).ok_or_else(|| wrong(key));
        let time = |key: &str| moment(table, key).ok_or_else(|| wrong(key));
        let odometer = need("odometer")?;
        let outing = table.get("outing").and_then(Item::as_table_like);
        Ok(Self {
            file: file.into(),
            machine: need("machine")?,
            depth: need("depth")?.parse().map_err(|_| wrong("depth"))?,
            by: need("by")?,
            opened: time("opened")?,
            closed: time("closed")?,
            odometer_km: kilometres(&odometer).ok_or_else(|| wrong("odometer"))?,
            odometer,
            air: string(table, "air"),
            barometer: string(table, "barometer"),
            ridden: moment(table, "ridden"),
            first: (truth(table, "no_hold_tag"), truth(table, "key_on_hook")),
            found: found(table),
            outing: outing.and_then(|row| {
                Some((string(row, "use")?.parse().ok()?, moment(row, "back")?, string(row, "distance")))
            }),
            answers: inline(table)
                .map(|row| answer(row).ok_or_else(|| wrong("an answer")))
                .collect::<Result<_, _>>()?,
            findings: rows(table, "finding").filter_map(finding).collect(),
            closes: rows(table, "close").filter_map(close).collect(),
            events: rows(table, "event").filter_map(|row| Some((string(row, "what")?, moment(row, "at")?))).collect(),
        })
    }
}

/// Kilometres of an odometer's figure as typed.
pub(super) fn kilometres(typed: &str) -> Option<f64> {
    let read = text::read(Kind::Distance, typed, DecimalSign::Point).ok()?;
    Distance::try_from(read).ok().map(Distance::km)
}

fn string(table: &dyn TableLike, key: &str) -> Option<String> {
    let value = table.get(key).and_then(Item::as_value)?;
    value.as_str().map(str::to_string)
}

fn moment(table: &dyn TableLike, key: &str) -> Option<Moment> {
    let value = table.get(key).and_then(Item::as_value).and_then(Value::as_datetime)?;
    Moment::parse(&value.to_string()).ok()
}

fn truth(table: &dyn TableLike, key: &str) -> Option<bool> {
    table.get(key).and_then(Item::as_value).and_then(Value::as_bool)
}

fn found(table: &dyn TableLike) -> State {
    let row = table.get("found").and_then(Item::as_table_like);
    let word = |key: &str| row.and_then(|row| string(row, key)).unwrap_or_default();
    State {
        heat: word("heat").parse().unwrap_or(Heat::Cold),
        power: word("power").parse().unwrap_or(Power::Off),
        stance: word("stance").parse().unwrap_or(Stance::SideStand),
    }
}

fn rows<'t>(table: &'t dyn TableLike, key: &str) -> impl Iterator<Item = &'t dyn TableLike> {
    let tables = table.get(key).and_then(Item::as_array_of_tables);
    tables.into_iter().flat_map(|tables| tables.iter()).map(|table| table as &dyn TableLike)
}

fn inline(table: &dyn TableLike) -> impl Iterator<Item = &dyn TableLike> {
    let list = table.get("answer").and_then(Item::as_value).and_then(Value::as_array);
    list.into_iter()
        .flat_map(|list| list.iter())
        .filter_map(Value::as_inline_table)
        .map(|table| table as &dyn TableLike)
}

fn answer(row: &dyn TableLike) -> Option<Answer> {
    let value = |key: &str| row.get(key).and_then(Item::as_value);
    let read = match value("read") {
        None => None,
        Some(Value::InlineTable(places)) => Some(Typed::Places(
            places
                .iter()
                .map(|(place, value)| Some((place.to_string(), texts(value)?)))
                .collect::<Option<BTreeMap<_, _>>>()?,
        )),
        Some(value) => match texts(value)?.as_slice() {
            [one] if value.as_array().is_none() => Some(Typed::One(one.clone())),
            several => Some(Typed::Several(several.to_vec())),
        },
    };
    let saw = match value("saw") {
        None => None,
        Some(Value::InlineTable(places)) => Some(Saw::Places(
            places
                .iter()
                .map(|(place, value)| Some((place.to_string(), value.as_str()?.parse::<Seen>().ok()?)))
                .collect::<Option<_>>()?,
        )),
        // An answer left empty is none.
        Some(value) if value.as_str() == Some("") => None,
        Some(value) => Some(Saw::One(value.as_str()?.parse().ok()?)),
    };
    Some(Answer {
        check: string(row, "check")?,
        read,
        saw,
        with: string(row, "with"),
        after: string(row, "after"),
        by: string(row, "by"),
        at: moment(row, "at"),
        why: string(row, "why"),
        note: string(row, "note"),
        defect: string(row, "defect"),
        class: string(row, "class").and_then(|class| class.parse().ok()),
        tyre: string(row, "tyre"),
    })
}

/// One text or several; a date is its text.
fn texts(value: &Value) -> Option<Vec<String>> {
    match value {
        Value::String(text) => Some([text.value().clone()].into()),
        Value::Datetime(date) => calendar::date(&date.value().to_string()).map(|date| [date.to_string()].into()),
        Value::Array(list) => list.iter().map(|text| text.as_str().map(str::to_string)).collect(),
        _ => None,
    }
}

fn finding(row: &dyn TableLike) -> Option<Found> {
    let uses = row.get("uses").and_then(Item::as_value).and_then(Value::as_array);
    let named = uses.map(|uses| uses.iter().filter_map(|one| one.as_str()?.parse().ok()).collect());
    Some(Found {
        name: string(row, "id")?,
        check: string(row, "check"),
        what: string(row, "what")?,
        class: string(row, "class")?.parse().ok()?,
        defect: string(row, "defect"),
        uses: named.unwrap_or_else(|| Use::ALL.to_vec()),
    })
}

fn close(row: &dyn TableLike) -> Option<Closed> {
    let text = |key: &str| string(row, key);
    Some(Closed { finding: text("finding")?, how: text("how")?, by: text("by")?, at: moment(row, "at")? })
}
