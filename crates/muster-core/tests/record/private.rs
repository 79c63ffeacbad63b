//! What concerns one person alone: erased by dropping the key, while every hash stands.

use std::collections::BTreeSet;

use muster_core::record::{
    decide::{Command, Refusal},
    event::Entry,
    payload::{FallNoted, PersonChanged, Role},
    private::{NotOpened, PersonKey, Private},
};

use super::kit::{Device, NOW, PEOPLE, person, person_key};

fn erase(device: &mut Device, by: &str, who: &str) -> Result<muster_core::record::id::EventId, Refusal> {
    let command = Command::Erase { person: person(who), why: "asked for it".into() };
    device.ask(by, NOW, "H-01", command)
}

#[test]
fn erasing_changes_no_hash_and_the_name_cannot_be_opened() {
    let mut device = Device::of_the_yard(2);
    let rider = person("p-rider");
    let about = Private::seal("broke a wrist", &rider, "about_rider", &person_key("p-rider"), [3; 24]).unwrap();
    let fall = FallNoted {
        machine: "H-02".into(),
        how: "slid on leaves".into(),
        rider: Some(rider.clone()),
        about_rider: Some(about.clone()),
        odometer: None,
    };
    device.put("m-okafor", NOW, fall).unwrap();
    let (before, machine) = (device.log.clone(), device.machine("H-02"));
    // The keys as the shell keeps them: dropping one is all that erasing does besides its event.
    let mut keys: Vec<(String, PersonKey)> =
        PEOPLE.iter().map(|(id, ..)| ((*id).to_string(), person_key(id))).collect();
    let name = device.yard().people[&rider].name.clone();
    assert_eq!(name.open("name", &person_key("p-rider")).unwrap(), "Name of p-rider");
    erase(&mut device, "p-owner", "p-rider").unwrap();
    keys.retain(|(id, _)| id != "p-rider");
    for (id, (bytes, entry)) in &before {
        assert_eq!(&device.log[id].0, bytes);
        assert_eq!(Entry::read(bytes).unwrap().hash, entry.hash);
        assert!(!bytes.contains("Name of p-rider") && !bytes.contains("wrist"));
    }
    let yard = device.yard();
    assert!(yard.people[&rider].erased && yard.standing(&rider).is_err());
    let different = |key: &PersonKey| *key != person_key("p-rider");
    assert!(keys.iter().filter(|(_, key)| different(key)).all(|(_, key)| {
        let opened = [name.open("name", key), about.open("about_rider", key)];
        opened.iter().all(|opened| *opened == Err(NotOpened::OtherKey))
    }));
    assert_eq!(device.machine("H-02"), machine, "the machine's record stands");
}

#[test]
fn a_name_cannot_be_moved_to_another_person_or_field() {
    let rider = person("p-rider");
    let sealed = Private::seal("Ann Example", &rider, "name", &person_key("p-rider"), [3; 24]).unwrap();
    let mut moved = sealed.clone();
    moved.person = person("p-owner");
    assert_eq!(moved.open("name", &person_key("p-rider")), Err(NotOpened::OtherKey));
    assert_eq!(sealed.open("about_rider", &person_key("p-rider")), Err(NotOpened::OtherKey));
}

#[test]
fn nobody_an_impounded_machines_record_speaks_of_is_erased() {
    let mut device = Device::of_the_yard(2);
    let fall = FallNoted {
        machine: "H-02".into(),
        how: "slid".into(),
        rider: Some(person("p-rider")),
        about_rider: None,
        odometer: None,
    };
    device.put("m-okafor", NOW, fall).unwrap();
    let impound = Command::Impound { machine: "H-02".into(), why: "crash".into() };
    device.ask("t-abara", NOW, "H-02", impound).unwrap();
    let mut known = device.known("H-02", NOW);
    known.kept = device.machine("H-02").speaks_of().clone();
    let expected: BTreeSet<_> = ["m-okafor", "p-rider", "t-abara"].map(person).into();
    assert_eq!(known.kept, expected);
    for who in ["m-okafor", "p-rider", "t-abara"] {
        let command = Command::Erase { person: person(who), why: "asked for it".into() };
        assert_eq!(known.decide("p-owner", NOW, command), Err(Refusal::Kept(person(who))));
    }
    let other = Command::Erase { person: person("s-lindqvist"), why: "asked for it".into() };
    assert!(known.decide("p-owner", NOW, other).is_ok());
}

#[test]
fn somebody_answers_for_the_yard() {
    let mut device = Device::of_the_yard(2);
    erase(&mut device, "p-owner", "p-plain-owner").unwrap();
    let last = Err(Refusal::LastOwner(person("p-owner")));
    assert_eq!(erase(&mut device, "p-owner", "p-owner"), last);
    let person = person("p-owner");
    let stepped = PersonChanged { person, name: None, role: Role::Workshop, rights: Vec::new(), active: true };
    assert_eq!(device.put("p-owner", NOW, stepped.clone()), last);
    assert_eq!(device.put("p-owner", NOW, PersonChanged { active: false, role: Role::Owner, ..stepped }), last);
}
