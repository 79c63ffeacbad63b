//! Impounded: no repair, no correction, by command or late; only the owner, knowing of it, lifts it.

use muster_core::record::{
    decide::{Command, Refusal},
    fold::Aside,
    id::EventId,
    payload::{
        FindingClosed, JobMoved, JobOpened, JobState, MachineChanged, OdometerNoted, PartMounted, Payload,
        ServiceChanged, ThingSet, Withdrawn,
    },
};
use muster_core::words::{Class, Seen, Service};

use super::{
    kit::{Device, NOW, gather},
    story::{opened, raised, released, rests_on, saw},
};

const MACHINE: &str = "H-02";

fn service(state: Service, replaces: Option<EventId>) -> ServiceChanged {
    ServiceChanged { machine: MACHINE.into(), state, why: Some("inquiry over".into()), replaces }
}

fn impound(device: &mut Device) -> EventId {
    let command = Command::Impound { machine: MACHINE.into(), why: "crash on the ring road".into() };
    device.ask("m-okafor", NOW, MACHINE, command).unwrap()
}

/// A machine with a walk-round, an answer, a finding, a job and an odometer figure: their events.
struct Stood {
    walk_round: EventId,
    answer: EventId,
    finding: EventId,
    job: EventId,
    odometer: EventId,
}

fn stood(device: &mut Device) -> Stood {
    let machine = || MACHINE.to_string();
    let walk_round = device.put("m-okafor", NOW, opened(MACHINE)).unwrap();
    let answer = device.put("m-okafor", NOW, saw(MACHINE, walk_round, "controls.levers", Seen::Doubtful)).unwrap();
    let finding = device.put("m-okafor", NOW, raised(MACHINE, "lever bent", Class::Major)).unwrap();
    let (findings, tags) = (Vec::new(), Vec::new());
    let job = JobOpened { machine: machine(), job: "levers".into(), why: "bent".into(), findings, tags, planned: None };
    let job = device.put("d-fenwick", NOW, job).unwrap();
    let odometer = OdometerNoted { machine: machine(), odometer: "30 000 km".into() };
    let odometer = device.put("m-okafor", NOW, odometer).unwrap();
    Stood { walk_round, answer, finding, job, odometer }
}

/// Each repair and correction there is, as a payload.
fn repairs(of: &Stood) -> Vec<Payload> {
    let machine = || MACHINE.to_string();
    let corrected = saw(MACHINE, of.walk_round, "controls.levers", Seen::Sound);
    let corrected = muster_core::record::payload::ObservationMade { corrects: Some(of.answer), ..corrected };
    vec![
        corrected.into(),
        ThingSet {
            machine: machine(),
            walk_round: of.walk_round,
            check: "controls.levers".into(),
            act: "bent back".into(),
        }
        .into(),
        FindingClosed { machine: machine(), finding: of.finding, how: "bent back".into() }.into(),
        JobMoved {
            machine: machine(),
            job: of.job,
            from: of.job,
            to: JobState::Done,
            note: None,
            ended: Vec::new(),
            planned: None,
        }
        .into(),
        PartMounted {
            machine: machine(),
            place: "lever".into(),
            marking: None,
            odometer: None,
            on: None,
            ended: Vec::new(),
            replaces: None,
        }
        .into(),
        Withdrawn { machine: machine(), event: of.odometer, why: "misread".into() }.into(),
    ]
}

#[test]
fn an_impounded_machine_is_not_repaired_nor_corrected_by_command() {
    let mut device = Device::of_the_yard(2);
    let stood = stood(&mut device);
    let known = device.known(MACHINE, NOW);
    for repair in repairs(&stood) {
        let decided = known.decide("p-owner", NOW, Command::Write(repair.clone()));
        assert!(!matches!(decided, Err(Refusal::Impounded(_))), "{repair:?}");
    }
    impound(&mut device);
    let known = device.known(MACHINE, NOW);
    for repair in repairs(&stood) {
        let refusal = known.decide("p-owner", NOW, Command::Write(repair.clone())).unwrap_err();
        assert_eq!(refusal, Refusal::Impounded(MACHINE.into()), "{repair:?}");
    }
    let look = saw(MACHINE, stood.walk_round, "wheel.front", Seen::Defective);
    assert!(device.put("m-okafor", NOW, look).is_ok(), "looking is allowed");
    let again = Command::Impound { machine: MACHINE.into(), why: "again".into() };
    assert!(matches!(device.ask("m-okafor", NOW, MACHINE, again), Err(Refusal::Impounded(_))));
}

#[test]
fn repairs_that_arrive_late_are_kept_and_set_aside() {
    let (mut phone, mut office) = (Device::of_the_yard(2), Device::of_the_yard(3));
    let stood = stood(&mut phone);
    phone.exchange(&mut office);
    impound(&mut office);
    let before = office.machine(MACHINE);
    // The phone, without signal, writes each of them far enough ahead to stand after the impounding.
    phone.write("p-owner", NOW, raised(MACHINE, "scuffed", Class::Minor));
    phone.write("p-owner", NOW, raised(MACHINE, "scratched", Class::Minor));
    let mut late: Vec<EventId> =
        repairs(&stood).into_iter().map(|repair| phone.write("p-owner", NOW, repair)).collect();
    late.push(phone.write("p-owner", NOW, released(MACHINE, None)));
    gather(&mut [&mut phone, &mut office]);
    let after = office.machine(MACHINE);
    assert_eq!(after.flags.iter().map(|flag| flag.event).collect::<Vec<_>>(), late);
    assert!(after.flags.iter().all(|flag| flag.why == Aside::Impounded), "{:?}", after.flags);
    assert_eq!(after.jobs, before.jobs);
    assert_eq!(after.walk_rounds, before.walk_rounds);
    assert_eq!(after.parts, before.parts);
    assert_eq!(after.odometer(), before.odometer(), "a correction set aside takes nothing back");
    assert_eq!(after.open_findings().count(), 3);
    assert_eq!(after.out().count(), 0);
}

#[test]
fn a_service_state_set_unawares_does_not_lift_an_impounding() {
    for (one, other) in [(2, 3), (3, 2)] {
        let (mut phone, mut office) = (Device::of_the_yard(one), Device::of_the_yard(other));
        impound(&mut office);
        phone.put("d-fenwick", NOW, raised(MACHINE, "scuffed", Class::Minor)).unwrap();
        let unaware = phone.put("d-fenwick", NOW, service(Service::InService, None)).unwrap();
        gather(&mut [&mut phone, &mut office]);
        let state = office.machine(MACHINE);
        assert!(state.impounded.is_some());
        assert_eq!(state.service.map(|(service, _)| service), Some(Service::Impounded));
        assert_eq!(
            state.flags.iter().map(|flag| (flag.event, flag.why)).collect::<Vec<_>>(),
            [(unaware, Aside::Impounded)]
        );
    }
}

#[test]
fn only_the_owner_lifts_an_impounding_with_a_reason() {
    let mut device = Device::of_the_yard(2);
    let impounding = impound(&mut device);
    let lifting = service(Service::InService, Some(impounding));
    let refusal = device.put("d-fenwick", NOW, lifting.clone()).unwrap_err();
    assert_eq!(refusal, Refusal::Impounded(MACHINE.into()));
    let unsaid = ServiceChanged { why: None, ..lifting.clone() };
    assert!(matches!(device.put("p-owner", NOW, unsaid), Err(Refusal::Field { field: "why", .. })));
    let mut forged = device.clone();
    forged.write("d-fenwick", NOW, lifting.clone());
    assert!(forged.machine(MACHINE).impounded.is_some(), "nor without asking");
    device.put("p-owner", NOW, lifting).unwrap();
    assert!(device.machine(MACHINE).impounded.is_none());
}

#[test]
fn an_impounding_carries_what_was_known() {
    let mut device = Device::of_the_yard(2);
    stood(&mut device);
    let judged = device.known(MACHINE, NOW).judged.unwrap().to_kept().unwrap();
    impound(&mut device);
    let (_, impounded) = device.machine(MACHINE).impounded.unwrap();
    assert_eq!(impounded.rests_on.judgement, judged);
    assert_ne!(impounded.rests_on, rests_on());
}

#[test]
fn a_machine_impounded_by_its_file_is_impounded_till_the_owner_lifts_it() {
    let mut device = Device::of_the_yard(2);
    let file = device.yard().files["machines/H-20.toml"].clone();
    let changed = MachineChanged { machine: "H-20".into(), text: file.0, replaces: file.1 };
    let mounted = PartMounted {
        machine: "H-20".into(),
        place: "wheel.front".into(),
        marking: None,
        odometer: None,
        on: None,
        ended: Vec::new(),
        replaces: None,
    };
    let impounded = Refusal::Impounded("H-20".into());
    let known = device.known("H-20", NOW);
    for payload in [Payload::from(mounted.clone()), changed.into()] {
        assert_eq!(known.decide("p-owner", NOW, Command::Write(payload)), Err(impounded.clone()));
    }
    let lifting = ServiceChanged { machine: "H-20".into(), ..service(Service::InService, None) };
    assert_eq!(device.put("d-fenwick", NOW, lifting.clone()), Err(impounded));
    device.put("p-owner", NOW, lifting).unwrap();
    assert!(device.put("d-fenwick", NOW, mounted).is_ok());
}
