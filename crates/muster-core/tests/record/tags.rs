//! Hold tags between devices that do not know of each other.

use muster_core::record::{
    decide::Command,
    id::EventId,
    machine_state::Contradiction,
    payload::{CallNoted, Tagged, Untagged},
};

use super::{
    kit::{Device, NOW, gather},
    story::released,
};

const MACHINE: &str = "H-02";

fn tag(device: &mut Device, by: &str, number: &str) -> EventId {
    let command = Command::Tag { machine: MACHINE.into(), why: "lever bent".into(), number: Some(number.into()) };
    device.ask(by, NOW, MACHINE, command).unwrap()
}

fn untag(device: &mut Device, lifts: &[EventId]) -> EventId {
    let command = Command::Untag { machine: MACHINE.into(), lifts: lifts.to_vec(), reason: "lever changed".into() };
    device.ask("p-owner", NOW, MACHINE, command).unwrap()
}

fn hanging(device: &Device) -> Vec<EventId> {
    device.machine(MACHINE).hanging().map(|(id, _)| id).collect()
}

#[test]
fn an_untagging_lifts_the_tags_it_names_and_no_other() {
    let mut device = Device::of_the_yard(2);
    let [first, second] = ["1", "2"].map(|number| tag(&mut device, "m-okafor", number));
    untag(&mut device, &[first]);
    assert_eq!(hanging(&device), [second]);
    assert_eq!(device.machine(MACHINE).contradictions(), [], "left hanging on purpose: nothing contradicts");
    untag(&mut device, &[second]);
    assert_eq!(hanging(&device), []);
}

#[test]
fn a_tag_that_did_not_see_its_untagging_stands_until_a_person_looks() {
    for (one, other) in [(2, 3), (3, 2)] {
        let (mut phone, mut office) = (Device::of_the_yard(one), Device::of_the_yard(other));
        let first = tag(&mut phone, "m-okafor", "1");
        phone.exchange(&mut office);
        // The office lifts the tag while the phone, without signal, hangs another.
        let untagging = untag(&mut office, &[first]);
        let second = tag(&mut phone, "m-okafor", "2");
        gather(&mut [&mut phone, &mut office]);
        for device in [&phone, &office] {
            assert_eq!(hanging(device), [second]);
            let expected = Contradiction::TagUnseen { tag: second, untagging };
            assert_eq!(device.machine(MACHINE).contradictions(), [expected]);
        }
        untag(&mut office, &[second]);
        assert_eq!(office.machine(MACHINE).contradictions(), []);
        assert_eq!(hanging(&office), []);
    }
}

#[test]
fn a_tag_hung_after_an_untagging_that_was_seen_contradicts_nothing() {
    let (mut phone, mut office) = (Device::of_the_yard(2), Device::of_the_yard(3));
    let first = tag(&mut phone, "m-okafor", "1");
    phone.exchange(&mut office);
    untag(&mut office, &[first]);
    phone.exchange(&mut office);
    let second = tag(&mut phone, "m-okafor", "2");
    assert_eq!(hanging(&phone), [second]);
    assert_eq!(phone.machine(MACHINE).contradictions(), []);
}

#[test]
fn a_tag_that_arrives_for_a_machine_that_is_out_asks_for_a_call_until_it_is_noted() {
    let (mut phone, mut office) = (Device::of_the_yard(2), Device::of_the_yard(3));
    let release = office.write("t-abara", NOW, released(MACHINE, None));
    let tag = tag(&mut phone, "m-okafor", "1");
    gather(&mut [&mut phone, &mut office]);
    for device in [&phone, &office] {
        let expected = Contradiction::OutAgainstTag { tag, release };
        assert_eq!(device.machine(MACHINE).contradictions(), [expected]);
    }
    let call = CallNoted { machine: MACHINE.into(), tag, release, answer: "stopped at the gate".into() };
    office.put("t-abara", NOW, call.clone()).unwrap();
    assert_eq!(office.machine(MACHINE).contradictions(), []);
    assert_eq!(hanging(&office), [tag], "a call lifts no tag");
    assert!(office.put("t-abara", NOW, call).is_err(), "there is nothing left to call about");
}

#[test]
fn a_tag_and_its_lifting_say_what_their_author_knew() {
    let mut device = Device::of_the_yard(2);
    let [first, second] = ["1", "2"].map(|number| tag(&mut device, "m-okafor", number));
    let lifting = untag(&mut device, &[first]);
    let hung = |id: EventId| device.log[&id].1.event.as_ref().map(|event| event.payload.clone());
    let knew = |payload| match payload {
        Some(muster_core::record::payload::Payload::Tagged(of)) => Tagged { ..*of }.knew,
        Some(muster_core::record::payload::Payload::Untagged(of)) => Untagged { ..*of }.knew,
        other => panic!("{other:?}"),
    };
    assert_eq!([first, second, lifting].map(|id| knew(hung(id))), [None, Some(first), Some(second)]);
}
