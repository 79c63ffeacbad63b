//! Letting out and keeping in, as the record has it: service states, releases, what they rest on.

use muster_core::{
    hash,
    judge::Verdict,
    record::{
        decide::{Command, Refusal, ReleaseAsked},
        payload::{Payload, ServiceChanged},
    },
    release,
    words::{Class, Seen, Service, Use, Uses},
};

use super::{
    kit::{Device, NOW, moment},
    story::{opened, raised, saw},
};

fn asked(machine: &str, one: Use) -> ReleaseAsked {
    ReleaseAsked {
        machine: machine.into(),
        outing: "Module one, group B".into(),
        planned: None,
        uses: Uses::NONE.with(one),
        riders: Vec::new(),
        from: moment("2026-11-24T08:10:00+00:00"),
        to: moment("2026-11-24T12:00:00+00:00"),
        reason: None,
    }
}

#[test]
fn a_service_state_set_by_an_event_stands_over_the_file_and_nobody_signs_over_it() {
    let mut device = Device::of_the_yard(2);
    let why = Some("at the painter's".to_string());
    let away = ServiceChanged { machine: "H-02".into(), state: Service::Away, why, replaces: None };
    device.put("p-owner", NOW, away).unwrap();
    let mut known = device.known("H-02", NOW);
    let range = &known.judged.as_ref().unwrap().uses[0];
    assert!(range.outcomes.iter().any(|of| of.check == "service" && of.verdict == Verdict::Unseen), "{range:?}");
    let refusal = known.decide("p-owner", NOW, Command::Release(asked("H-02", Use::Range))).unwrap_err();
    assert!(matches!(refusal, Refusal::Release(release::Refusal::NotInService { .. })), "{refusal}");
    // Nor where the judge was not told.
    known.judged = Device::of_the_yard(2).known("H-02", NOW).judged;
    let refusal = known.decide("p-owner", NOW, Command::Release(asked("H-02", Use::Range))).unwrap_err();
    assert!(matches!(refusal, Refusal::Release(release::Refusal::NotInService { .. })), "{refusal}");
}
