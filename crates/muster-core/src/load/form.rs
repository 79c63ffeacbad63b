//! Reads a filled form: a bad row is said and its check left unseen, the rest still counts.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use super::{Given, Problem, Reader, Row, Text, clip, limit::unknown_check};
use crate::{
    calendar::Moment,
    catalogue::{Catalogue, Law},
    check::{Check, DateOf, Measure, Yields},
    form::{Answer, Close, Event, Finding, Form, Outing, Said},
    formula::tyre_date::TyreDate,
    quantity::{Distance, Kind, Temperature, text::DecimalSign},
    state::{Heat, Power, Stance, State},
    words::{Seen, Use, Uses},
    yard::Yard,
};

const KEYS: &str = "schema, machine, depth, by, opened, closed, odometer, air, barometer, ridden, no_hold_tag, \
                    key_on_hook, found, outing, answer, finding, close, event";
const ANSWER_KEYS: &str = "check, read, saw, with, after, slip, why, class, defect, tyre, air, odometer, by, at, note";

impl Form {
    /// Reads a form. None if nothing can be judged: no machine of the yard, no time, no author.
    #[must_use]
    pub fn load(name: &str, text: &str, catalogue: &Catalogue, yard: &Yard) -> (Option<Self>, Vec<Problem>) {
        let (mut reader, file) = Reader::open(name, text, yard.sign);
        let form = form(&mut reader, file, catalogue, yard);
        (form, reader.into_problems())
    }
}

fn form(reader: &mut Reader<'_>, mut file: Row<'_>, catalogue: &Catalogue, yard: &Yard) -> Option<Form> {
    let schema: Option<u32> = file.take(reader, "schema");
    if schema != Some(1) {
        reader.say(file.span(), "write `schema = 1` at the head of the file");
    }
    let machine = file.need::<Text>(reader, "machine");
    let machine = machine.filter(|name| {
        let found = yard.machines.contains_key(name.get_ref());
        if !found {
            reader.say(name.span(), format!("no machine `{}` in machines/", clip(name.get_ref())));
        }
        found
    });
    let depth = file.word(reader, "depth").unwrap_or(crate::words::Depth::BeforeRide);
    let by: Option<String> = file.need(reader, "by");
    let opened = file.moment(reader, "opened");
    if opened.is_none() {
        reader.say(file.span(), "the form has no usable `opened`: write the date and time it was begun");
    }
    let closed = file.moment(reader, "closed");
    if opened.zip(closed).is_some_and(|(opened, closed)| closed < opened) {
        reader.say(file.span(), "the form was closed before it was opened");
    }
    let odometer = distance(reader, &mut file, "odometer");
    let air = temperature(reader, &mut file, "air");
    let barometer = file.amount(reader, "barometer", Kind::AbsolutePressure);
    let ridden = file.moment(reader, "ridden");
    let first = (file.take(reader, "no_hold_tag"), file.take(reader, "key_on_hook"));
    let found = found(reader, &mut file);
    let outing = file.table(reader, "outing").and_then(|row| outing(reader, row));
    let law = Some(yard.law.as_ref().and_then(|law| catalogue.laws.get(law)));
    let head = Head { by: by?, opened: opened?, machine: machine?.into_inner(), law };
    let rows = file.rows(reader, "answer");
    let answers = rows.into_iter().filter_map(|row| answer(reader, row, catalogue, &head)).collect();
    let rows = file.rows(reader, "finding");
    let findings = rows.into_iter().filter_map(|row| finding(reader, row, catalogue, &head)).collect();
    let rows = file.rows(reader, "close");
    let closes = rows.into_iter().filter_map(|row| close(reader, row, &head)).collect();
    let rows = file.rows(reader, "event");
    let events = rows.into_iter().filter_map(|row| event(reader, row)).collect();
    file.finish(reader, KEYS);
    Some(Form {
        machine: head.machine,
        depth,
        by: head.by,
        opened: head.opened,
        closed,
        odometer,
        air,
        barometer,
        ridden,
        no_hold_tag: first.0,
        key_on_hook: first.1,
        found,
        outing,
        answers,
        findings,
        closes,
        events,
    })
}

/// Reads an answer that the record keeps, by the same rules as a form's row.
///
/// # Errors
/// What is wrong with it; it answers nothing.
pub(crate) fn kept_answer(
    given: Vec<(&'static str, Given)>,
    catalogue: &Catalogue,
    sign: DecimalSign,
    form: &Form,
) -> Result<Answer, Vec<Problem>> {
    let head = Head { by: form.by.clone(), opened: form.opened, machine: form.machine.clone(), law: None };
    let mut reader = Reader::of_record("record", sign);
    let answer = answer(&mut reader, Row::of_record("answer", given), catalogue, &head);
    let problems = reader.into_problems();
    match answer {
        Some(answer) if problems.is_empty() => Ok(answer),
        _ => Err(problems),
    }
}

/// What rows of the form take from its head.
struct Head<'l> {
    by: String,
    opened: Moment,
    machine: String,
    /// The law pack whose defects may be named; `None` where that was seen to when it was written, for a record outlives
    /// the pack it was written under.
    law: Option<Option<&'l Law>>,
}

fn distance(reader: &mut Reader<'_>, row: &mut Row<'_>, key: &str) -> Option<Distance> {
    row.amount(reader, key, Kind::Distance).and_then(|amount| Distance::try_from(amount).ok())
}

fn temperature(reader: &mut Reader<'_>, row: &mut Row<'_>, key: &str) -> Option<Temperature> {
    row.amount(reader, key, Kind::Temperature).and_then(|amount| Temperature::try_from(amount).ok())
}

fn found(reader: &mut Reader<'_>, file: &mut Row<'_>) -> State {
    let mut state = State { heat: Heat::Cold, power: Power::Off, stance: Stance::SideStand };
    if let Some(mut table) = file.table(reader, "found") {
        state.heat = table.word(reader, "heat").unwrap_or(state.heat);
        state.power = table.word(reader, "power").unwrap_or(state.power);
        state.stance = table.word(reader, "stance").unwrap_or(state.stance);
        table.finish(reader, "heat, power, stance");
    }
    state
}

fn outing(reader: &mut Reader<'_>, mut row: Row<'_>) -> Option<Outing> {
    let planned = row.word(reader, "use");
    let back = row.moment(reader, "back");
    let distance = distance(reader, &mut row, "distance");
    if planned.is_none() || back.is_none() {
        reader.say(row.span(), "an outing needs a use and when it is to be back");
    }
    row.finish(reader, "use, back, distance");
    Some(Outing { planned: planned?, back: back?, distance })
}

fn answer(reader: &mut Reader<'_>, mut row: Row<'_>, catalogue: &Catalogue, head: &Head<'_>) -> Option<Answer> {
    let span = row.span();
    let line = reader.line(&span);
    let name = row.need::<Text>(reader, "check")?;
    let Some(check) = catalogue.check(name.get_ref()) else {
        reader.say(name.span(), unknown_check(name.get_ref(), &catalogue.checks));
        return None;
    };
    let before = reader.count();
    let said = said(reader, &mut row, check);
    let with = row.take::<String>(reader, "with").filter(|with| !with.is_empty());
    let after = row.take(reader, "after");
    let slip = row.take(reader, "slip").unwrap_or(false);
    let why = row.take::<String>(reader, "why").filter(|why| !why.trim().is_empty());
    let class = row.word(reader, "class");
    let defect = defect(reader, &mut row, Some(&check.id), head);
    if defect.is_some() && !matches!(said, Some(Said::Saw(_))) {
        reader.say(span.clone(), format!("{}: a defect is named beside what was seen", check.id));
    }
    let (tyre, air) = (temperature(reader, &mut row, "tyre"), temperature(reader, &mut row, "air"));
    let odometer = distance(reader, &mut row, "odometer");
    let by = row.take(reader, "by").unwrap_or_else(|| head.by.clone());
    let at = row.moment(reader, "at").unwrap_or(head.opened);
    let note = row.take(reader, "note");
    row.finish(reader, ANSWER_KEYS);
    if at < head.opened.later_by(-86_400) {
        reader.say(span.clone(), format!("{}: answered more than a day before the form was opened", check.id));
    }
    // A row with a fault answers nothing: its check stays unseen.
    let said = said.filter(|_| reader.count() == before)?;
    Some(Answer {
        check: check.id.clone(),
        said,
        with,
        after,
        slip,
        why,
        class,
        defect,
        tyre,
        air,
        odometer,
        by,
        at,
        note,
        line,
    })
}

fn said(reader: &mut Reader<'_>, row: &mut Row<'_>, check: &Check) -> Option<Said> {
    let span = row.span();
    if let Some(table) = row.table_if(reader, "saw") {
        let word = |reader: &mut Reader<'_>, text: &Text| reader.word(text);
        return places::<Seen>(reader, table, looked(check), word).map(Said::Saw);
    }
    if let Some(text) = row.text(reader, "saw") {
        if text.get_ref().trim().is_empty() {
            return None;
        }
        let seen = reader.word::<Seen>(&text)?;
        if seen != Seen::CouldNotSee && !matches!(check.yields, Yields::Look(_)) {
            let what =
                format!("{} is read, not looked at: write read = \"…\", or saw = \"could not see\" with why", check.id);
            reader.say(text.span(), what);
            return None;
        }
        return Some(Said::Saw([(None, seen)].into()));
    }
    if !row.has("read") {
        reader.say(span, format!("{} has neither read nor saw", check.id));
        return None;
    }
    match &check.yields {
        Yields::Look(_) => {
            reader.say(
                span,
                format!(
                    "{} is looked at, not read: write saw = \"sound\", doubtful, defective or could not see",
                    check.id
                ),
            );
            None
        }
        Yields::Read(measure) => figures(reader, row, measure).filter(|figures| !figures.is_empty()).map(Said::Read),
        Yields::Date(of) => day(reader, row, *of),
    }
}

fn looked(check: &Check) -> &[String] {
    match &check.yields {
        Yields::Look(look) => &look.places,
        _ => &[],
    }
}

fn places<T>(
    reader: &mut Reader<'_>,
    mut table: Row<'_>,
    allowed: &[String],
    mut read: impl FnMut(&mut Reader<'_>, &Text) -> Option<T>,
) -> Option<Vec<(Option<String>, T)>> {
    let mut out = Vec::new();
    for (place, texts) in table.lists(reader) {
        if !allowed.contains(place.get_ref()) {
            let what = format!("no place `{}` here; allowed are: {}", clip(place.get_ref()), allowed.join(", "));
            reader.say(place.span(), what);
            return None;
        }
        for text in texts.iter().filter(|text| !text.get_ref().trim().is_empty()) {
            out.push((Some(place.get_ref().clone()), read(reader, text)?));
        }
    }
    Some(out).filter(|out| !out.is_empty())
}

fn figures(
    reader: &mut Reader<'_>,
    row: &mut Row<'_>,
    measure: &Measure,
) -> Option<Vec<(Option<String>, crate::quantity::Amount)>> {
    let figure = |reader: &mut Reader<'_>, text: &Text| reader.amount_within(measure.kind, text, measure.range);
    if let Some(table) = row.table_if(reader, "read") {
        return places(reader, table, &measure.places, figure);
    }
    let texts: Vec<Text> = match row.is_text("read") {
        true => row.text(reader, "read").into_iter().collect(),
        false => row.take(reader, "read")?,
    };
    let mut out = Vec::new();
    for text in texts.iter().filter(|text| !text.get_ref().trim().is_empty()) {
        out.push((None, figure(reader, text)?));
    }
    Some(out)
}

fn day(reader: &mut Reader<'_>, row: &mut Row<'_>, of: DateOf) -> Option<Said> {
    if let DateOf::Made { tyre_code: true } = of {
        let text = row.text(reader, "read")?;
        if text.get_ref().trim().is_empty() {
            return None;
        }
        let made = TyreDate::parse(text.get_ref()).map_err(|e| reader.say(text.span(), e.to_string())).ok()?;
        return Some(Said::Day(made.first_day(), 7));
    }
    row.date(reader, "read").map(|day| Said::Day(day, 0))
}

fn finding(reader: &mut Reader<'_>, mut row: Row<'_>, catalogue: &Catalogue, head: &Head<'_>) -> Option<Finding> {
    let id = row.need(reader, "id");
    let check = row.text(reader, "check");
    if let Some(name) = check.as_ref().filter(|name| catalogue.check(name.get_ref()).is_none()) {
        reader.say(name.span(), unknown_check(name.get_ref(), &catalogue.checks));
    }
    let what = row.need(reader, "what");
    let class = row.word(reader, "class");
    if class.is_none() {
        reader.say(row.span(), "a finding needs its class: minor, major or dangerous");
    }
    let defect = defect(reader, &mut row, check.as_ref().map(Text::get_ref), head);
    let uses = row.words::<Use>(reader, "uses").map_or(Uses::ALL, Uses::from_iter);
    let by = row.take(reader, "by").unwrap_or_else(|| head.by.clone());
    let at = row.moment(reader, "at").unwrap_or(head.opened);
    row.finish(reader, "id, check, what, class, defect, uses, by, at");
    let check = check.map(Text::into_inner);
    Some(Finding { id: id?, check, what: what?, class: class?, defect, lowered: None, uses, by, at })
}

/// The row of the law pack that says what is wrong. One that the pack does not have is said, and the gravest counts.
fn defect(reader: &mut Reader<'_>, row: &mut Row<'_>, check: Option<&String>, head: &Head<'_>) -> Option<String> {
    let named = row.text(reader, "defect").filter(|named| !named.get_ref().trim().is_empty())?;
    let rows = head.law.map(|law| law.into_iter().flat_map(|law| &law.classes));
    let rows = rows.map(|rows| rows.filter(|row| check.is_some_and(|check| row.checks.contains(check))));
    let keys = rows.map(|rows| rows.map(|row| row.key.as_str()).collect::<Vec<_>>());
    if let Some(keys) = keys.filter(|keys| !keys.contains(&named.get_ref().as_str())) {
        let known = if keys.is_empty() { "none here: leave it out".into() } else { keys.join(", ") };
        let name = clip(named.get_ref());
        reader.say(named.span(), format!("no defect `{name}` in the law pack at this check; it has: {known}"));
    }
    Some(named.into_inner())
}

fn close(reader: &mut Reader<'_>, mut row: Row<'_>, head: &Head<'_>) -> Option<Close> {
    let (finding, how) = (row.need(reader, "finding"), row.need(reader, "how"));
    let by = row.take(reader, "by").unwrap_or_else(|| head.by.clone());
    let at = row.moment(reader, "at").unwrap_or(head.opened);
    row.finish(reader, "finding, how, by, at");
    Some(Close { finding: finding?, how: how?, by, at })
}

fn event(reader: &mut Reader<'_>, mut row: Row<'_>) -> Option<Event> {
    let what = row.word(reader, "what");
    let at = row.moment(reader, "at");
    if what.is_none() || at.is_none() {
        reader.say(row.span(), "an event needs what and at");
    }
    row.finish(reader, "what, at");
    Some(Event { what: what?, at: at? })
}
