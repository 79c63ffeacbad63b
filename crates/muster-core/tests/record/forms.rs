//! The forms of the demonstration written as events, row by row as they were typed.

use std::{collections::BTreeMap, sync::LazyLock};

use muster_core::{
    calendar::Moment,
    form::Form,
    record::{
        id::EventId,
        payload::{
            FallNoted, FindingClosed, FindingRaised, ObservationMade, Planned, ReadingTaken, Saw, ServiceChanged,
            ThingSet, Typed, WalkRoundClosed, WalkRoundOpened,
        },
    },
    state::{Heat, Power, Stance, State},
    words::{Class, Service, Use},
    yard::Yard,
};
use toml::{Table, Value};

use super::kit::{CATALOGUE, Device, moment, texts};

/// Device 2 of the yard with every form of the demonstration.
pub(crate) static MORNING: LazyLock<Device> = LazyLock::new(|| {
    let mut device = Device::of_the_yard(2);
    let (yard, _) = device.yard().yard(&CATALOGUE);
    write_all(&mut device, &yard);
    device
});

/// A form as the file has it, with the names the record gives people and findings.
pub(crate) struct Filled {
    pub(crate) name: String,
    pub(crate) form: Form,
}

/// All forms written on one device, those of a machine in the order of their opening; and the same as the files have them.
pub(crate) fn write_all(device: &mut Device, yard: &Yard) -> Vec<Filled> {
    let mut files = texts("forms");
    files.sort_by_key(|(_, text)| moment(&text_of(&table(text)["opened"])));
    let mut findings = BTreeMap::new();
    let mut out = Vec::new();
    for (name, text) in files {
        write(device, &table(&text), &mut findings);
        let (form, problems) = Form::load(&name, &text, &CATALOGUE, yard);
        assert!(problems.is_empty(), "{problems:#?}");
        out.push(Filled { form: renamed(form.unwrap(), &findings), name });
    }
    out
}

/// `M. Okafor` as the record writes it.
pub(crate) fn slug(name: &str) -> String {
    name.to_lowercase().replace(". ", "-")
}

fn table(text: &str) -> Table {
    text.parse().unwrap()
}

fn text_of(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Datetime(at) => at.to_string(),
        other => panic!("{other:?} is no text"),
    }
}

fn renamed(form: Form, findings: &BTreeMap<String, EventId>) -> Form {
    let mut form = Form { by: slug(&form.by), ..form };
    for answer in &mut form.answers {
        answer.by = slug(&answer.by);
    }
    for finding in &mut form.findings {
        finding.by = slug(&finding.by);
        finding.id = findings[&finding.id].to_string();
    }
    for close in &mut form.closes {
        close.by = slug(&close.by);
        close.finding = findings[&close.finding].to_string();
    }
    form
}

/// One row, every key of which must be taken.
struct Row(Table);

impl Row {
    fn text(&mut self, key: &str) -> Option<String> {
        self.0.remove(key).as_ref().map(text_of)
    }

    fn need(&mut self, key: &str) -> String {
        self.text(key).unwrap_or_else(|| panic!("no {key} in {:?}", self.0))
    }

    fn word<T: std::str::FromStr>(&mut self, key: &str) -> Option<T>
    where
        T::Err: std::fmt::Debug,
    {
        self.text(key).map(|text| text.parse().unwrap())
    }

    fn rows(&mut self, key: &str) -> Vec<Self> {
        let Some(Value::Array(rows)) = self.0.remove(key) else { return Vec::new() };
        rows.into_iter().map(|row| Self(row.as_table().unwrap().clone())).collect()
    }

    fn end(&self) {
        assert!(self.0.is_empty(), "no event says {:?}", self.0);
    }
}

fn write(device: &mut Device, file: &Table, findings: &mut BTreeMap<String, EventId>) {
    let mut file = Row(file.clone());
    file.0.remove("schema");
    let (machine, by, at) = (file.need("machine"), slug(&file.need("by")), file.need("opened"));
    let closed = file.text("closed");
    let planned = file.0.remove("outing").map(|outing| planned(outing.as_table().unwrap()));
    let (answers, raised) = (file.rows("answer"), file.rows("finding"));
    let (closes, ended) = (file.rows("close"), file.rows("event"));
    let walk_round = device.write(
        &by,
        &at,
        WalkRoundOpened {
            machine: machine.clone(),
            depth: file.word("depth").unwrap(),
            found: found(&file.0.remove("found").unwrap()),
            no_hold_tag: file.0.remove("no_hold_tag").and_then(|value| value.as_bool()),
            key_on_hook: file.0.remove("key_on_hook").and_then(|value| value.as_bool()),
            odometer: file.text("odometer"),
            air: file.text("air"),
            barometer: file.text("barometer"),
            ridden: file.word::<String>("ridden").map(|text| moment(&text)),
            planned,
            comma: false,
        },
    );
    file.end();
    let head = Head { machine, by, at, walk_round };
    for row in answers {
        answer(device, &head, row);
    }
    for row in raised {
        let (id, event) = finding(device, &head, row);
        findings.insert(id, event);
    }
    for row in closes {
        close(device, &head, row, findings);
    }
    for row in ended {
        event(device, &head, row);
    }
    if let Some(closed) = closed {
        device.write(&head.by, &closed, WalkRoundClosed { machine: head.machine, walk_round });
    }
}

/// What rows take from the head of their form.
struct Head {
    machine: String,
    by: String,
    at: String,
    walk_round: EventId,
}

impl Head {
    fn who(&self, row: &mut Row) -> (String, String) {
        let by = row.text("by").map_or_else(|| self.by.clone(), |by| slug(&by));
        (by, row.text("at").unwrap_or_else(|| self.at.clone()))
    }
}

fn planned(outing: &Table) -> Planned {
    Planned {
        one: text_of(&outing["use"]).parse().unwrap(),
        back: Moment::parse(&text_of(&outing["back"])).unwrap(),
        distance: outing.get("distance").map(text_of),
    }
}

fn found(value: &Value) -> State {
    let word = |key: &str| text_of(&value[key]);
    State {
        heat: word("heat").parse::<Heat>().unwrap(),
        power: word("power").parse::<Power>().unwrap(),
        stance: word("stance").parse::<Stance>().unwrap(),
    }
}

fn answer(device: &mut Device, head: &Head, mut row: Row) {
    let (by, at) = head.who(&mut row);
    let (machine, walk_round, check) = (head.machine.clone(), head.walk_round, row.need("check"));
    // A row that nobody filled says nothing, and no event does.
    if [row.0.get("saw"), row.0.get("read")].into_iter().flatten().any(|said| said.as_str() == Some("")) {
        return;
    }
    if let Some(act) = row.text("after") {
        let set = ThingSet { machine: machine.clone(), walk_round, check: check.clone(), act };
        device.write(&by, &at, set);
    }
    let (why, note) = (row.text("why"), row.text("note"));
    if let Some(saw) = row.0.remove("saw") {
        let saw = match &saw {
            Value::Table(places) => Saw::Places(
                places.iter().map(|(place, seen)| (place.clone(), text_of(seen).parse().unwrap())).collect(),
            ),
            one => Saw::One(text_of(one).parse().unwrap()),
        };
        let class = row.word::<Class>("class");
        let defect = row.text("defect");
        let seen = ObservationMade { machine, walk_round, check, saw, class, defect, why, note, corrects: None };
        device.write(&by, &at, seen);
    } else {
        let read = typed(&row.0.remove("read").unwrap());
        let (with, odometer) = (row.text("with"), row.text("odometer"));
        let (tyre, air) = (row.text("tyre"), row.text("air"));
        let corrects = None;
        let taken = ReadingTaken { machine, walk_round, check, read, with, tyre, air, odometer, why, note, corrects };
        device.write(&by, &at, taken);
    }
    row.end();
}

fn typed(value: &Value) -> Typed {
    let list = |value: &Value| match value {
        Value::Array(several) => several.iter().map(text_of).collect::<Vec<_>>(),
        one => vec![text_of(one)],
    };
    match value {
        Value::Table(places) => Typed::Places(places.iter().map(|(place, of)| (place.clone(), list(of))).collect()),
        Value::Array(_) => Typed::Several(list(value)),
        one => Typed::One(text_of(one)),
    }
}

fn finding(device: &mut Device, head: &Head, mut row: Row) -> (String, EventId) {
    let (by, at) = head.who(&mut row);
    let id = row.need("id");
    let uses: Vec<Use> = match row.0.remove("uses") {
        Some(Value::Array(uses)) => uses.iter().map(|one| text_of(one).parse().unwrap()).collect(),
        _ => Use::ALL.to_vec(),
    };
    let raised = FindingRaised {
        machine: head.machine.clone(),
        walk_round: Some(head.walk_round),
        check: row.text("check"),
        what: row.need("what"),
        class: row.word("class").unwrap(),
        defect: row.text("defect"),
        uses,
        feedback: false,
    };
    row.end();
    (id, device.write(&by, &at, raised))
}

fn close(device: &mut Device, head: &Head, mut row: Row, findings: &BTreeMap<String, EventId>) {
    let (by, at) = head.who(&mut row);
    let (finding, how) = (findings[&row.need("finding")], row.need("how"));
    row.end();
    device.write(&by, &at, FindingClosed { machine: head.machine.clone(), finding, how });
}

/// A fall is noted; storage is what a machine that is laid up gets, and the yard's owner says so.
fn event(device: &mut Device, head: &Head, mut row: Row) {
    let (what, at, machine) = (row.need("what"), row.need("at"), head.machine.clone());
    match what.as_str() {
        "fall" => {
            let how = "Fell".to_string();
            let noted = FallNoted { machine, how, rider: None, about_rider: None, odometer: None };
            device.write(&head.by, &at, noted);
        }
        "storage" => {
            let why = Some("Winter".to_string());
            let laid_up = ServiceChanged { machine, state: Service::LaidUp, why, replaces: None };
            device.write("p-owner", &at, laid_up);
        }
        other => panic!("no event says {other}"),
    }
    row.end();
}
