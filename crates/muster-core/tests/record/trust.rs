//! Whose events count: a lost device, a stranger, a person who left, a newer version.

use muster_core::record::{
    decide::Command,
    event::Entry,
    fold::Aside,
    id::EventId,
    payload::{
        DeviceRevoked, FallNoted, FindingClassed, OdometerNoted, PersonChanged, PersonErased, Right, Role, Untagged,
    },
};
use muster_core::words::Class;

use super::{
    kit::{Device, NOW, added, gather, person},
    story::{raised, released},
};

const MACHINE: &str = "H-02";

fn revoked(of: &Device) -> DeviceRevoked {
    DeviceRevoked { device: of.id, last: of.heads.of(of.id), why: "left on a bus".into() }
}

fn odometer(figure: &str) -> OdometerNoted {
    OdometerNoted { machine: MACHINE.into(), odometer: figure.into() }
}

fn flags(device: &Device) -> Vec<(EventId, Aside)> {
    device.machine(MACHINE).flags.iter().map(|flag| (flag.event, flag.why)).collect()
}

#[test]
fn late_events_of_a_revoked_device_are_flagged_and_those_that_only_worsen_count() {
    let (mut lost, mut office) = (Device::of_the_yard(4), Device::of_the_yard(3));
    let kept = lost.write("m-okafor", NOW, odometer("30 000 km"));
    let tag = Command::Tag { machine: MACHINE.into(), why: "bent".into(), number: None };
    let hung = lost.ask("m-okafor", NOW, MACHINE, tag.clone()).unwrap();
    lost.exchange(&mut office);
    office.put("p-owner", NOW, revoked(&lost)).unwrap();
    let untagged = Untagged { machine: MACHINE.into(), lifts: vec![hung], reason: "all well".into(), knew: Some(hung) };
    let late = [
        lost.write("p-owner", NOW, untagged),
        lost.write("m-okafor", NOW, odometer("90 000 km")),
        lost.write("m-okafor", NOW, released(MACHINE, None)),
        lost.write("m-okafor", NOW, raised(MACHINE, "scuffed", Class::Major)),
        lost.ask("m-okafor", NOW, MACHINE, tag).unwrap(),
    ];
    office.pull(&lost);
    assert_eq!(flags(&office), late.map(|id| (id, Aside::Revoked)));
    let state = office.machine(MACHINE);
    assert_eq!(state.hanging().map(|(id, _)| id).collect::<Vec<_>>(), [hung, late[4]]);
    assert_eq!(state.open_findings().map(|(id, _)| id).collect::<Vec<_>>(), [late[3]]);
    assert_eq!(state.out().count(), 0);
    assert!(state.odometers.contains(&kept) && !state.odometers.contains(&late[1]));
}

#[test]
fn a_lost_device_cannot_write_before_its_revocation() {
    let (mut lost, mut office) = (Device::of_the_yard(4), Device::of_the_yard(3));
    for day in 1..=5 {
        office.write("m-okafor", NOW, odometer(&format!("{} km", 30_000 + day)));
    }
    office.put("p-owner", NOW, revoked(&lost)).unwrap();
    // Low in the order: the lost device has seen nothing since, and makes a new owner.
    let forged = lost.write("p-owner", NOW, added("p-thief", Role::Owner, &[Right::Override]));
    let forged_too = lost.write(
        "p-owner",
        NOW,
        PersonChanged { person: person("p-owner"), name: None, role: Role::Rider, rights: Vec::new(), active: false },
    );
    gather(&mut [&mut lost, &mut office]);
    let state = office.yard();
    assert!(!state.people.contains_key(&person("p-thief")));
    assert!(state.standing(&person("p-owner")).is_ok());
    let flagged: Vec<_> = state.flags.iter().map(|flag| (flag.event, flag.why)).collect();
    assert_eq!(flagged, [(forged, Aside::Revoked), (forged_too, Aside::Revoked)]);
}

#[test]
fn devices_that_revoke_each_other_come_to_the_same_end_everywhere() {
    let mut devices: Vec<Device> = (2..=4).map(Device::of_the_yard).collect();
    for index in 0..3 {
        let other = revoked(&devices[(index + 1) % 3]);
        devices[index].write("p-owner", NOW, other);
    }
    let [a, b, c] = devices.get_disjoint_mut([0, 1, 2]).unwrap();
    gather(&mut [a, b, c]);
    let states: Vec<_> = devices.iter().map(Device::yard).collect();
    assert!(states[0] == states[1] && states[1] == states[2]);
    // Which of them was lost is for people to find out; until then none is trusted.
    let gone: Vec<_> =
        states[0].devices.iter().filter(|(_, device)| device.revoked.is_some()).map(|(id, _)| *id).collect();
    let mut all: Vec<_> = devices.iter().map(|device| device.id).collect();
    all.sort();
    assert_eq!(gone, all);
}

#[test]
fn a_device_gives_itself_up() {
    let mut phone = Device::of_the_yard(4);
    phone.write("m-okafor", NOW, odometer("30 000 km"));
    let own = revoked(&phone);
    phone.put("p-owner", NOW, own).unwrap();
    assert_eq!(phone.yard().devices[&phone.id].revoked, Some(1));
    let late = phone.write("m-okafor", NOW, odometer("30 001 km"));
    assert_eq!(flags(&phone), [(late, Aside::Revoked)]);
}

#[test]
fn a_device_nobody_added_and_a_person_nobody_knows_do_not_count() {
    let (mut strange, mut office) = (Device::of_the_yard(9), Device::of_the_yard(3));
    let first = strange.write("m-okafor", NOW, odometer("30 000 km"));
    let second = office.write("nobody", NOW, odometer("30 000 km"));
    let third = office.write("p-auditor", NOW, odometer("30 000 km"));
    gather(&mut [&mut office, &mut strange]);
    let mut expected = [(first, Aside::UnknownDevice), (second, Aside::Stranger), (third, Aside::NoRight)];
    expected.sort_by_key(|(id, _)| office.log[id].1.place());
    assert_eq!(flags(&office), expected);
    assert!(office.machine(MACHINE).odometers.is_empty());
}

#[test]
fn a_person_who_left_counts_for_what_was_written_before() {
    let mut device = Device::of_the_yard(2);
    let before = device.write("m-okafor", NOW, odometer("30 000 km"));
    let person = person("m-okafor");
    let left = PersonChanged { person, name: None, role: Role::Instructor, rights: Vec::new(), active: false };
    device.put("p-owner", NOW, left).unwrap();
    let after = device.write("m-okafor", NOW, odometer("30 001 km"));
    assert_eq!(flags(&device), [(after, Aside::NotActive)]);
    assert!(device.machine(MACHINE).odometers.contains(&before));
    let fall =
        FallNoted { machine: MACHINE.into(), how: "slid".into(), rider: None, about_rider: None, odometer: None };
    device.write("m-okafor", NOW, fall);
    let books = device.machine(MACHINE);
    assert!(books.forms().iter().any(|form| !form.events.is_empty()), "a fall counts, whoever says so");
}

#[test]
fn a_person_erased_is_not_brought_back_by_a_change_made_unawares() {
    let (mut phone, mut office) = (Device::of_the_yard(2), Device::of_the_yard(3));
    let person = person("m-okafor");
    office.write("p-owner", NOW, PersonErased { person: person.clone(), why: "asked for".into() });
    phone.write("p-plain-owner", NOW, raised(MACHINE, "scuffed", Class::Minor));
    let change =
        PersonChanged { person: person.clone(), name: None, role: Role::Owner, rights: Vec::new(), active: true };
    let change = phone.write("p-plain-owner", NOW, change);
    gather(&mut [&mut phone, &mut office]);
    let state = office.yard();
    assert_eq!(state.standing(&person), Err(Aside::NotActive));
    assert_eq!(state.flags.iter().map(|flag| (flag.event, flag.why)).collect::<Vec<_>>(), [(change, Aside::Overtaken)]);
}

#[test]
fn an_event_of_a_newer_version_is_kept_and_not_understood() {
    let (mut phone, mut office) = (Device::of_the_yard(2), Device::of_the_yard(3));
    let id = phone.write("m-okafor", NOW, raised(MACHINE, "scuffed", Class::Minor));
    let bytes = phone.log[&id].0.replace("\"version\":3", "\"version\":99").replace("\"what\":", "\"whatever\":");
    office.receive(&bytes).unwrap();
    let (kept, entry) = &office.log[&id];
    assert_eq!((kept.as_str(), entry.event.is_none()), (bytes.as_str(), true));
    assert_eq!(entry.hash, Entry::read(&bytes).unwrap().hash);
    assert_eq!(office.machine(MACHINE).findings.len(), 0);
    // What is written next stands on it all the same, and the next device takes it from here.
    let after = office.write("m-okafor", NOW, odometer("30 000 km"));
    assert_eq!(office.log[&after].1.seen.iter().filter(|head| **head == id).count(), 1);
    let mut third = Device::of_the_yard(4);
    third.pull(&office);
    assert_eq!(third.log[&id].0, bytes);
}

#[test]
fn a_class_is_lowered_by_those_with_the_right_alone() {
    let mut device = Device::of_the_yard(2);
    let finding = device.write("m-okafor", NOW, raised(MACHINE, "bent", Class::Major));
    let classed =
        |class| FindingClassed { machine: MACHINE.into(), finding, class, defect: None, why: "looked".into() };
    let class = |device: &Device| device.machine(MACHINE).findings[&finding].class;
    let lowered = device.write("m-okafor", NOW, classed(Class::Minor));
    assert_eq!((class(&device), flags(&device)), (Class::Major, vec![(lowered, Aside::NoRight)]));
    device.put("m-okafor", NOW, classed(Class::Dangerous)).unwrap();
    assert_eq!(class(&device), Class::Dangerous, "anyone who walks round raises it");
    device.put("p-owner", NOW, classed(Class::Minor)).unwrap();
    assert_eq!(class(&device), Class::Minor);
}
