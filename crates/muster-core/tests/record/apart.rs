//! Two devices that change one thing apart: a contradiction until a person settles it, and the same state on both sides.

use std::collections::BTreeSet;

use muster_core::{
    record::{
        decide::Refusal,
        id::EventId,
        machine_state::Contradiction,
        payload::{
            JobMoved, JobOpened, JobState, OdometerNoted, PartMounted, PartRemoved, Payload, RosterRow, RosterSet,
            ServiceChanged, Settled, SheetAttached, YardSettled,
        },
    },
    words::{Class, Service},
};

use super::{
    kit::{Device, NOW, gather, moment, texts},
    story::raised,
};

const MACHINE: &str = "H-02";

fn service(state: Service, replaces: Option<EventId>) -> Payload {
    ServiceChanged { machine: MACHINE.into(), state, why: None, replaces }.into()
}

fn part(marking: &str, replaces: Option<EventId>) -> Payload {
    let (machine, place, marking) = (MACHINE.into(), "tyre.front".into(), Some(marking.into()));
    PartMounted { machine, place, marking, odometer: None, on: None, ended: Vec::new(), replaces }.into()
}

fn moved(job: EventId, from: EventId, to: JobState) -> Payload {
    JobMoved { machine: MACHINE.into(), job, from, to, note: None, ended: Vec::new(), planned: None }.into()
}

fn apart(device: &Device) -> Vec<BTreeSet<EventId>> {
    let of = |contradiction| match contradiction {
        Contradiction::ChangedApart { events } => Some(events),
        _ => None,
    };
    device.machine(MACHINE).contradictions().into_iter().filter_map(of).collect()
}

/// Writes one on each of two devices that hold the same, brings them together, and settles what came of it.
fn changed_apart(known: impl Fn(&mut Device) -> (Payload, Payload)) {
    for (one, other) in [(2, 3), (3, 2)] {
        let (mut phone, mut office) = (Device::of_the_yard(one), Device::of_the_yard(other));
        let (here, there) = known(&mut phone);
        phone.exchange(&mut office);
        assert_eq!(apart(&office), []);
        let here = phone.put("d-fenwick", "2026-11-24T07:00:00+00:00", here).unwrap();
        // The other clock is a day behind: the order does not ask it.
        let there = office.put("p-owner", "2026-11-23T07:00:00+00:00", there).unwrap();
        gather(&mut [&mut phone, &mut office]);
        assert_eq!(phone.machine(MACHINE), office.machine(MACHINE));
        let events = BTreeSet::from([here, there]);
        assert_eq!(apart(&phone), std::slice::from_ref(&events));
        let settled = Settled {
            machine: MACHINE.into(),
            events: events.into_iter().collect(),
            how: "asked both, the later one holds".into(),
        };
        let one_alone = Settled { events: vec![here], ..settled.clone() };
        assert!(matches!(office.put("m-okafor", NOW, one_alone), Err(Refusal::NotHere { .. })));
        office.put("m-okafor", NOW, settled.clone()).unwrap();
        assert_eq!(apart(&office), []);
        assert!(office.put("m-okafor", NOW, settled).is_err(), "it is settled");
    }
}

#[test]
fn a_service_state_set_apart_for_the_first_time_contradicts() {
    changed_apart(|_| (service(Service::Away, None), service(Service::LaidUp, None)));
}

#[test]
fn a_service_state_changed_apart_contradicts() {
    changed_apart(|device| {
        let away = device.put("p-owner", NOW, service(Service::Away, None)).unwrap();
        (service(Service::InService, Some(away)), service(Service::Sold, Some(away)))
    });
}

#[test]
fn a_job_moved_apart_contradicts() {
    changed_apart(|device| {
        let (findings, tags) = (Vec::new(), Vec::new());
        let opened = JobOpened {
            machine: MACHINE.into(),
            job: "levers".into(),
            why: "bent".into(),
            findings,
            tags,
            planned: None,
        };
        let job = device.put("d-fenwick", NOW, opened).unwrap();
        (moved(job, job, JobState::Done), moved(job, job, JobState::Waiting))
    });
}

#[test]
fn a_part_mounted_apart_contradicts() {
    changed_apart(|_| (part("3224", None), part("1924", None)));
    changed_apart(|device| {
        let first = device.put("d-fenwick", NOW, part("3224", None)).unwrap();
        (part("0126", Some(first)), part("0226", Some(first)))
    });
}

#[test]
fn a_part_taken_off_here_and_replaced_there_contradicts() {
    changed_apart(|device| {
        let mounted = device.put("d-fenwick", NOW, part("3224", None)).unwrap();
        let removed = PartRemoved { machine: MACHINE.into(), mounted, odometer: None, why: "worn".into() };
        (part("0126", Some(mounted)), removed.into())
    });
}

#[test]
fn a_place_left_empty_and_filled_again_contradicts_nothing() {
    let mut device = Device::of_the_yard(2);
    let mounted = device.put("d-fenwick", NOW, part("3224", None)).unwrap();
    let removed = PartRemoved { machine: MACHINE.into(), mounted, odometer: None, why: "worn".into() };
    device.put("d-fenwick", NOW, removed).unwrap();
    device.put("d-fenwick", NOW, part("0126", None)).unwrap();
    assert_eq!(device.machine(MACHINE).contradictions(), []);
}

fn roster(row: Option<&str>, replaces: Option<EventId>) -> RosterSet {
    let (from, to) = (moment("2026-11-25T08:00:00+00:00"), moment("2026-11-25T12:00:00+00:00"));
    let row = row.map(|machine| RosterRow { machine: machine.into(), rider: None, from, to });
    RosterSet { day: "2026-11-25".into(), rows: row.into_iter().collect(), replaces }
}

#[test]
fn a_roster_and_a_file_of_the_yard_changed_apart_contradict_until_settled() {
    let (name, text) = texts("sheets").swap_remove(0);
    let replaces = Device::of_the_yard(1).yard().files[&format!("sheets/{name}.toml")].1;
    let sheet = |remark: &str| -> Payload {
        let text = format!("# {remark}\n{text}");
        SheetAttached { sheet: name.clone(), text, replaces: Some(replaces) }.into()
    };
    let pairs: [[Payload; 2]; 2] =
        [[roster(Some("H-01"), None).into(), roster(Some("H-02"), None).into()], [sheet("one"), sheet("other")]];
    for [here, there] in pairs {
        let (mut phone, mut office) = (Device::of_the_yard(2), Device::of_the_yard(3));
        let here = phone.put("p-owner", NOW, here).unwrap();
        let there = office.put("p-plain-owner", NOW, there).unwrap();
        gather(&mut [&mut phone, &mut office]);
        assert_eq!(phone.yard(), office.yard());
        let events = BTreeSet::from([here, there]);
        assert_eq!(phone.yard().contradictions().collect::<Vec<_>>(), [&events]);
        let settled = YardSettled { events: events.into_iter().collect(), how: "the later one holds".into() };
        phone.put("m-okafor", NOW, settled.clone()).unwrap();
        assert_eq!(phone.yard().contradictions().count(), 0);
        assert!(matches!(phone.put("m-okafor", NOW, settled), Err(Refusal::NotHere { .. })));
    }
}

#[test]
fn the_order_is_causal_then_by_id_whatever_the_clocks_say() {
    let (mut phone, mut office) = (Device::of_the_yard(2), Device::of_the_yard(3));
    // The phone's clock is a day ahead; the office has seen its event and writes after it.
    let first = phone.write("d-fenwick", "2026-11-25T09:00:00+00:00", service(Service::Away, None));
    office.pull(&phone);
    let second = office.write("p-owner", "2026-11-24T09:00:00+00:00", service(Service::Sold, Some(first)));
    phone.pull(&office);
    for device in [&phone, &office] {
        assert_eq!(device.machine(MACHINE).service, Some((Service::Sold, second)));
    }
    // Unknown to each other, of one height: the id decides, on both sides alike.
    let here = phone.write("d-fenwick", "2026-11-25T10:00:00+00:00", service(Service::LaidUp, Some(second)));
    let there = office.write("p-owner", "2026-11-24T10:00:00+00:00", service(Service::InService, Some(second)));
    gather(&mut [&mut phone, &mut office]);
    for device in [&phone, &office] {
        assert_eq!(device.machine(MACHINE).service.map(|(_, id)| id), Some(here.max(there)));
    }
}

#[test]
fn whatever_a_device_had_seen_stands_before_what_it_wrote() {
    let (mut phone, mut office) = (Device::of_the_yard(2), Device::of_the_yard(3));
    for index in 0..4 {
        office.write("m-okafor", NOW, raised(MACHINE, &format!("scuff {index}"), Class::Minor));
    }
    let alone = phone.write("m-okafor", NOW, OdometerNoted { machine: MACHINE.into(), odometer: "30 000 km".into() });
    phone.pull(&office);
    let after = phone.write("m-okafor", NOW, OdometerNoted { machine: MACHINE.into(), odometer: "30 001 km".into() });
    let place = |id: &EventId| phone.log[id].1.place();
    assert!(phone.log.keys().filter(|id| **id != after).all(|id| place(id) < place(&after)));
    let last = phone.log.keys().find(|id| id.device == office.id && id.seq == 4).unwrap();
    assert!(place(&alone) < place(last), "what it had not seen may stand on either side");
}
