//! The demonstration yard as a whole: its verdicts against the table worked by hand, its walk-rounds against the clock.

use std::path::{Path, PathBuf};

use muster_core::{
    calendar::Moment,
    catalogue::Catalogue,
    data,
    form::Form,
    judge::{Context, judge},
    state::{Heat, Power, Stance, State},
    walk_round,
    words::{Depth, Service, Use},
    yard::Yard,
};

struct Demo {
    catalogue: Catalogue,
    yard: Yard,
    forms: Vec<Form>,
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn texts(folder: &Path, prefix: &str) -> Vec<(String, String)> {
    let mut out = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display())) {
        let path = entry.unwrap_or_else(|error| panic!("{error}")).path();
        if path.extension().is_some_and(|extension| extension == "toml") {
            let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
            out.push((
                format!("{prefix}{name}"),
                std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{error}")),
            ));
        }
    }
    out
}

/// A yard of the demonstration with the catalogue it was read under.
pub(crate) fn yard_of(name: &str) -> (Catalogue, Yard) {
    let folder = root().join("data/demo").join(name);
    let catalogue = data::catalogue().unwrap_or_else(|problems| panic!("{problems:#?}"));
    let mut files = texts(&folder, "");
    files.extend(texts(&folder.join("sheets"), "sheets/"));
    files.extend(texts(&folder.join("machines"), "machines/"));
    let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let (yard, problems) = Yard::load(&files, &catalogue);
    assert!(problems.is_empty(), "{problems:#?}");
    (catalogue, yard)
}

fn demo() -> Demo {
    let (catalogue, yard) = yard_of("harrow-lane");
    let folder = root().join("data/demo/harrow-lane");
    let mut forms = Vec::new();
    for (name, text) in texts(&folder.join("forms"), "forms/") {
        let (form, faults) = Form::load(&name, &text, &catalogue, &yard);
        assert!(faults.is_empty(), "{faults:#?}");
        forms.extend(form);
    }
    Demo { catalogue, yard, forms }
}

impl Demo {
    fn context(&self, machine: &str) -> Context<'_> {
        let now = self.yard.on.unwrap_or_else(|| panic!("the demonstration has its moment"));
        Context::of(&self.catalogue, &self.yard, machine, now).unwrap_or_else(|| panic!("no machine {machine}"))
    }

    fn forms(&self, machine: &str) -> Vec<&Form> {
        self.forms.iter().filter(|form| form.machine == machine).collect()
    }
}

/// The rows of the table in `docs/demo.md`: machine, range, road.
fn table() -> Vec<[String; 3]> {
    let text = std::fs::read_to_string(root().join("docs/demo.md")).unwrap_or_else(|error| panic!("{error}"));
    let rows = text.lines().filter(|line| line.starts_with("| H-"));
    rows.map(|line| {
        let cells: Vec<&str> = line.split('|').map(str::trim).collect();
        [cells[1].into(), cells[4].into(), cells[5].into()]
    })
    .collect()
}

#[test]
fn the_demonstration_comes_to_the_verdicts_worked_by_hand() {
    let demo = demo();
    let rows = table();
    assert_eq!(rows.len(), demo.yard.machines.len());
    let mut wrong = Vec::new();
    for [machine, range, road] in &rows {
        let judgement = judge(&demo.context(machine), &demo.forms(machine));
        for (one, expected) in [(Use::Range, range), (Use::Road, road)] {
            let Some(got) = judgement.uses.iter().find(|verdict| verdict.one == one) else { continue };
            if got.verdict.as_str() != expected {
                let why: Vec<String> =
                    got.reasons().take(3).map(|reason| format!("{}: {}", reason.check, reason.reason)).collect();
                wrong.push(format!("{machine}, {one}: {expected} by hand, {} judged; {why:#?}", got.verdict));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_walk_round_before_a_ride_on_the_range_is_short() {
    let demo = demo();
    let cold = State { heat: Heat::Cold, power: Power::Off, stance: Stance::SideStand };
    let mut asked = Vec::new();
    for machine in demo.yard.machines.values().filter(|machine| machine.service == Service::InService) {
        let mut context = demo.context(&machine.id);
        // The morning after a full walk-round: what the daily one asks for, before any of it is answered.
        let forms: Vec<&Form> =
            demo.forms(&machine.id).into_iter().filter(|form| form.depth != Depth::BeforeRide).collect();
        let Some(last) = forms.iter().filter(|form| form.depth != Depth::AfterAFall).map(|form| form.opened).max()
        else {
            continue;
        };
        context.now = Moment::new(last.timestamp(), jiff::tz::Offset::UTC).later_by(86_400);
        let before: Vec<&Form> = forms.into_iter().filter(|form| form.opened <= context.now).collect();
        let plan = walk_round::plan(&context, &before, Depth::BeforeRide, Use::Range, cold);
        let plan = plan.unwrap_or_else(|error| panic!("{}: {error}", machine.id));
        let names: Vec<&str> = plan.steps.iter().map(|ask| ask.check.id.as_str()).collect();
        asked.push((machine.id.clone(), names.len() + plan.evening.len(), plan.seconds, names.join(" ")));
    }
    assert!(asked.len() >= 18, "{asked:#?}");
    let long: Vec<_> = asked.iter().filter(|(_, checks, seconds, _)| *checks > 12 || *seconds > 240).collect();
    assert!(long.is_empty(), "{long:#?}");
}
