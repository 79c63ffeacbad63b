//! Every refusal, reached by a command; its texts as people read them, each with its remedy.

mod books;
mod looks;
mod out;
mod workshop;

use std::collections::BTreeSet;

use muster_core::{
    record::{
        decide::{Command, Refusal},
        id::{DeviceId, EventId},
        payload::*,
    },
    words::{Class, Ending},
};

use super::{
    forms::MORNING,
    golden,
    kit::{Device, Known, NOW},
    story::{opened, raised, read},
};

const MACHINE: &str = "H-01";

/// The morning with something of everything on one machine.
struct Met {
    device: Device,
    walk_round: EventId,
    closed: EventId,
    answer: EventId,
    finding: EventId,
    job: EventId,
    tag: EventId,
    part: EventId,
    odometer: EventId,
}

fn met() -> Met {
    let mut device = MORNING.clone();
    let machine = || MACHINE.to_string();
    let mut put = |by: &str, payload: Payload| device.put(by, NOW, payload).unwrap();
    let walk_round = put("m-okafor", opened(MACHINE).into());
    let answer = put("m-okafor", read(MACHINE, walk_round, "tyre.front.pressure", "26.0 psi", "G-2").into());
    let closed = put("m-okafor", opened(MACHINE).into());
    put("m-okafor", WalkRoundClosed { machine: machine(), walk_round: closed }.into());
    let finding = put("m-okafor", raised(MACHINE, "lever bent", Class::Major).into());
    let (findings, tags) = (Vec::new(), Vec::new());
    let job = put(
        "d-fenwick",
        JobOpened { machine: machine(), job: "levers".into(), why: "bent".into(), findings, tags, planned: None }
            .into(),
    );
    let part = put("d-fenwick", mounted(None, None).into());
    let odometer = put("m-okafor", OdometerNoted { machine: machine(), odometer: "90000 km".into() }.into());
    let tag = device.write(
        "m-okafor",
        NOW,
        Tagged { machine: machine(), why: "bent".into(), number: Some("12".into()), rests_on: None, knew: None },
    );
    Met { device, walk_round, closed, answer, finding, job, tag, part, odometer }
}

fn mounted(on: Option<&str>, replaces: Option<EventId>) -> PartMounted {
    let (machine, place, on) = (MACHINE.into(), "tyre.front".into(), on.map(String::from));
    PartMounted { machine, place, marking: None, odometer: None, on, ended: vec![Ending::FrontWheelOut], replaces }
}

fn strange() -> EventId {
    EventId { device: DeviceId::of_key(&[9; 32]), seq: 4 }
}

/// Cases by their names: who asks what.
struct Cases<'m> {
    met: &'m Met,
    out: Vec<(&'static str, Refusal)>,
}

impl Cases<'_> {
    fn of(&mut self, name: &'static str, by: &str, payload: impl Into<Payload>) {
        let payload = payload.into();
        let refusal = self.met.device.clone().put(by, NOW, payload);
        self.out.push((name, refusal.expect_err(name)));
    }

    fn command(&mut self, name: &'static str, by: &str, command: Command) {
        let refusal = self.met.device.known(MACHINE, NOW).decide(by, NOW, command);
        self.out.push((name, refusal.expect_err(name)));
    }

    fn numbered(&mut self, name: &'static str, by: &str, number: &str, hung_on: &str) {
        let known = Known { hung_on: Some(hung_on.into()), ..self.met.device.known(MACHINE, NOW) };
        let command = Command::Tag { machine: machine(), why: "bent".into(), number: Some(number.into()) };
        self.out.push((name, known.decide(by, NOW, command).expect_err(name)));
    }

    fn after(&mut self, name: &'static str, by: &str, before: impl FnOnce(&mut Device), command: Command) {
        let mut device = self.met.device.clone();
        before(&mut device);
        let refusal = device.known(MACHINE, NOW).decide(by, NOW, command);
        self.out.push((name, refusal.expect_err(name)));
    }
}

fn machine() -> String {
    MACHINE.into()
}

const fn variant(refusal: &Refusal) -> &'static str {
    match refusal {
        Refusal::Person(_) => "person",
        Refusal::NoRight { .. } => "no right",
        Refusal::NeedsRight(_) => "needs right",
        Refusal::NoMachine(_) => "no machine",
        Refusal::NotHere { .. } => "not here",
        Refusal::Here { .. } => "here",
        Refusal::Stale { .. } => "stale",
        Refusal::Field { .. } => "field",
        Refusal::Faults(_) => "faults",
        Refusal::Impounded(_) => "impounded",
        Refusal::Out { .. } => "out",
        Refusal::Over { .. } => "over",
        Refusal::NoSuchMove { .. } => "no such move",
        Refusal::NotProven(_) => "not proven",
        Refusal::NotJudged => "not judged",
        Refusal::Release(_) => "release",
        Refusal::Untag(_) => "untag",
        Refusal::NotByHand(_) => "not by hand",
        Refusal::Kept(_) => "kept",
        Refusal::LastOwner(_) => "last owner",
        Refusal::NumberHangs { .. } => "number hangs",
    }
}

const PARTS: [fn(&mut Cases<'_>); 10] = [
    looks::of_figures,
    looks::of_answers,
    looks::of_findings,
    workshop::of_work,
    out::of_verdicts,
    out::of_releases,
    out::of_tags,
    books::of_files,
    books::of_the_yard,
    books::of_people,
];

#[test]
fn every_refusal_is_reached_and_names_its_remedy() {
    let met = met();
    let mut cases = Cases { met: &met, out: Vec::new() };
    for part in PARTS {
        part(&mut cases);
    }
    let text: String = cases.out.iter().map(|(name, refusal)| format!("{name}\n    {refusal}\n")).collect();
    golden::same("record/refusals.txt", &plain(&text));
    let reached: BTreeSet<&str> = cases.out.iter().map(|(_, refusal)| variant(refusal)).collect();
    assert_eq!(reached.len(), 21, "{reached:?}");
    for (name, refusal) in &cases.out {
        let text = refusal.to_string();
        assert!(!text.ends_with('.') && text.len() > 20, "{name}: {text}");
    }
    assert!(met.device.machine(MACHINE).odometers.contains(&met.odometer));
}

/// With breaking spaces, and ids of events by their number alone.
fn plain(text: &str) -> String {
    let text = text.replace(['\u{a0}', '\u{202f}'], " ");
    let mut out = String::new();
    let mut rest = text.as_str();
    while let Some(at) = rest.find(|character: char| character.is_ascii_hexdigit()) {
        let (before, from) = rest.split_at(at);
        out.push_str(before);
        let end = from.find(|character: char| !character.is_ascii_hexdigit()).unwrap_or(from.len());
        out.push_str(if end == 16 { "‹device›" } else { &from[..end] });
        rest = &from[end..];
    }
    out + rest
}
