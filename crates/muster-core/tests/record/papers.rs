//! Papers that were printed: written down by who may read them, known again by their hash, and overtaken by what comes after.

use muster_core::record::{
    decide::{Command, Refusal},
    held::{Held, Rules},
    id::EventId,
    paper::{Since, since},
    payload::{Document, Kind, PaperIssued, PaperSize, Payload, Role, Untagged, WalkRoundClosed},
    tag_number,
};

use super::{
    kit::{CATALOGUE, Device, JOBS, NOW, moment, person},
    story::{opened, released},
};

const MACHINE: &str = "H-02";
const LATER: &str = "2026-11-24T09:00:00+00:00";

fn paper(document: Document, machine: Option<&str>, event: Option<EventId>) -> PaperIssued {
    PaperIssued {
        machine: machine.map(String::from),
        document,
        sha256: "5e".repeat(32),
        bytes: 41_007,
        size: PaperSize::A4,
        rests_on: Some("0a".repeat(32)),
        event,
        tags: Vec::new(),
    }
}

fn issue(device: &mut Device, by: &str, of: PaperIssued) -> Result<EventId, Refusal> {
    device.ask(by, NOW, MACHINE, Command::Issue(of))
}

#[test]
fn a_paper_is_known_again_by_the_hash_of_its_file() {
    let mut device = Device::of_the_yard(2);
    let id = issue(&mut device, "m-okafor", paper(Document::Dossier, Some(MACHINE), None)).unwrap();
    let state = device.machine(MACHINE);
    assert_eq!(state.flags, []);
    let hash = "5E".repeat(32);
    let found: Vec<_> = state.papers.of_file(&hash).collect();
    let [(event, issued)] = found[..] else { panic!("{found:?}") };
    assert_eq!((event, &issued.by), (id, &(person("m-okafor"), moment(NOW))));
    assert_eq!(state.papers.of_file(&"5f".repeat(32)).count(), 0, "another file");
    assert_eq!(state.papers.resting_on(&"0A".repeat(32)).count(), 1);
    assert_eq!(state.papers.resting_on(&"5e".repeat(32)).count(), 0);
}

#[test]
fn one_over_many_machines_is_the_yards() {
    let mut device = Device::of_the_yard(2);
    let of = PaperIssued { tags: vec!["0087".into()], ..paper(Document::Tag, None, None) };
    let id = issue(&mut device, "p-auditor", of).unwrap();
    let yard = device.yard();
    assert_eq!(yard.flags, []);
    assert_eq!(yard.papers.all().map(|(id, _)| id).collect::<Vec<_>>(), [id]);
}

#[test]
fn what_is_no_paper_is_not_written_down() {
    let mut device = Device::of_the_yard(2);
    let strange = EventId { seq: 9_999, ..*device.log.keys().next().unwrap() };
    for (name, by, of) in [
        ("a rider", "p-rider", paper(Document::Form, Some(MACHINE), None)),
        ("no machine", "p-owner", paper(Document::Slip, None, None)),
        ("no hash", "p-owner", PaperIssued { sha256: "5E".repeat(32), ..paper(Document::Yard, None, None) }),
        ("half a hash", "p-owner", PaperIssued { rests_on: Some("0a".into()), ..paper(Document::Yard, None, None) }),
        ("no such event", "p-owner", paper(Document::Tag, Some(MACHINE), Some(strange))),
    ] {
        assert!(issue(&mut device, by, of).is_err(), "{name}");
    }
    let refused = issue(&mut device, "p-rider", paper(Document::Form, Some(MACHINE), None));
    assert_eq!(refused, Err(Refusal::NoRight { role: Role::Rider, kind: Kind::PaperIssued }));
}

#[test]
fn what_came_after_a_paper_is_told_with_it() {
    let mut device = Device::of_the_yard(2);
    let tag = Command::Tag { machine: MACHINE.into(), why: "lever bent".into(), number: Some("14".into()) };
    let tag = device.ask("m-okafor", NOW, MACHINE, tag).unwrap();
    let printed = issue(&mut device, "m-okafor", paper(Document::Tag, Some(MACHINE), Some(tag))).unwrap();
    let told = |device: &Device| {
        let state = device.machine(MACHINE);
        let (_, issued) = state.papers.all().find(|(id, _)| *id == printed).unwrap();
        since(&state, issued)
    };
    assert_eq!(told(&device), []);
    issue(&mut device, "m-okafor", paper(Document::Tag, Some(MACHINE), Some(tag))).unwrap();
    assert_eq!(told(&device), [], "the same tag printed again says the same");
    let walk_round = device.put("m-okafor", LATER, opened(MACHINE)).unwrap();
    assert_eq!(told(&device), [], "a walk-round that goes on says nothing yet");
    device.put("m-okafor", LATER, WalkRoundClosed { machine: MACHINE.into(), walk_round }).unwrap();
    let lifts = vec![tag];
    let lifting = Untagged { machine: MACHINE.into(), lifts, reason: "mended".into(), knew: Some(tag) };
    let lifting = device.write("p-owner", LATER, lifting);
    let walked = Since::WalkedRound(walk_round, moment(LATER));
    assert_eq!(told(&device), [walked, Since::Lifted(lifting)]);
    assert_eq!(
        walked.to_string(),
        format!("a newer walk-round was closed on 2026-11-24 09:00 ({walk_round})"),
        "in words that a person reads"
    );
}

#[test]
fn a_slip_is_overtaken_by_the_next_release() {
    let mut device = Device::of_the_yard(2);
    let out = device.write("t-abara", NOW, released(MACHINE, None));
    let printed = issue(&mut device, "t-abara", paper(Document::Slip, Some(MACHINE), Some(out))).unwrap();
    let next = device.write("t-abara", LATER, released(MACHINE, Some(out)));
    let state = device.machine(MACHINE);
    let (_, issued) = state.papers.all().find(|(id, _)| *id == printed).unwrap();
    assert_eq!(since(&state, issued), [Since::Released(next, moment(LATER))]);
}

#[test]
fn a_number_hangs_once_at_a_time() {
    let mut device = Device::of_the_yard(2);
    let tag = |machine: &str, number: &str| Command::Tag {
        machine: machine.into(),
        why: "lever bent".into(),
        number: Some(number.into()),
    };
    let hung = device.ask("m-okafor", NOW, MACHINE, tag(MACHINE, "0087")).unwrap();
    let rules = Rules { catalogue: CATALOGUE.clone(), jobs: JOBS.clone() };
    let held = |device: &Device| {
        let mut held = Held::of(device.id, [], [], &rules);
        held.take(device.log.values().map(|(_, entry)| entry.clone()), &rules);
        held
    };
    let by = person("m-okafor");
    let asked = |device: &Device, machine: &str, number: &str| {
        let actor = muster_core::record::decide::Actor { person: &by, now: moment(NOW) };
        held(device).decide(tag(machine, number), actor, None, &rules).map(|written| written[0].event.payload.clone())
    };
    for machine in ["H-01", MACHINE] {
        let refused = asked(&device, machine, "87").unwrap_err().to_string();
        assert!(refused.contains("hangs on H-02"), "{refused}");
    }
    assert!(matches!(asked(&device, "H-01", "88"), Ok(Payload::Tagged(_))));
    let lifting = Untagged { machine: MACHINE.into(), lifts: vec![hung], reason: "mended".into(), knew: Some(hung) };
    device.write("p-owner", NOW, lifting);
    assert!(matches!(asked(&device, "H-01", "87"), Ok(Payload::Tagged(_))), "a lifted one is free again");
}

#[test]
fn a_number_is_the_same_however_it_is_written() {
    for (one, other) in [("0087", "87"), (" No. 87 ", "87"), ("t-14", "T14"), ("000", "0")] {
        assert!(tag_number::is_same(one, other), "{one} {other}");
    }
    for (one, other) in [("87", "870"), ("", ""), ("-", ""), ("0", "")] {
        assert!(!tag_number::is_same(one, other), "{one} {other}");
    }
}
