//! Letting out and keeping in, as the record has it: service states, releases, what they rest on.

use std::{collections::BTreeMap, sync::Arc};

use muster_core::{
    forecast::{estimate::Estimate, riding::Season},
    hash,
    judge::{NotKept, Verdict, whole},
    record::{
        decide::{Command, Refusal, ReleaseAsked},
        id::EventId,
        payload::{Kind, Payload, Released, Returned, ServiceChanged},
    },
    release,
    words::{Class, Seen, Service, Use, Uses},
};

use serde_json::Value;

use super::{
    forms::MORNING,
    kit::{Device, NOW, moment},
    story::{opened, saw},
};

/// A request to sign, with a reason where one is given.
pub(crate) fn asked(machine: &str, one: Use, reason: Option<&str>) -> ReleaseAsked {
    ReleaseAsked {
        machine: machine.into(),
        outing: "Module one, group B".into(),
        planned: None,
        uses: Uses::NONE.with(one),
        riders: Vec::new(),
        from: moment("2026-11-24T08:10:00+00:00"),
        to: moment("2026-11-24T12:00:00+00:00"),
        reason: reason.map(String::from),
        outings: Vec::new(),
        done: Vec::new(),
    }
}

fn payload(device: &Device, id: EventId) -> Payload {
    device.log[&id].1.event.clone().unwrap().payload
}

fn sign(device: &mut Device, by: &str, of: ReleaseAsked) -> Result<Released, Refusal> {
    let machine = of.machine.clone();
    let id = device.ask(by, NOW, &machine, Command::Release(of))?;
    let Payload::Released(released) = payload(device, id) else { panic!("{id}") };
    Ok(*released)
}

#[test]
fn a_release_and_a_tag_carry_the_bytes_and_hashes_they_rest_on() {
    let mut device = MORNING.clone();
    let mut known = device.known("H-01", NOW);
    let judged = known.judged.clone().unwrap();
    let released = sign(&mut device, "m-okafor", asked("H-01", Use::Range, None)).unwrap();
    assert_eq!(released.rests_on.judgement, judged.to_kept().unwrap());
    assert_eq!(released.rests_on.catalogue, super::kit::CATALOGUE.hash);
    assert_eq!(released.rests_on.yard, known.yard.hash);
    assert_eq!(released.rests_on.forecast, None);
    assert_eq!(released.verdicts.into_iter().collect::<Vec<_>>(), [(Use::Range, Verdict::Fit)]);
    let tag = Command::Tag { machine: "H-01".into(), why: "oil below it".into(), number: Some("7".into()) };
    let estimate = |hash| Estimate {
        hash,
        at: moment(NOW),
        season: Season { months: [1.0; 12], day_km: 0.0 },
        ridings: BTreeMap::new(),
        gauges: Vec::new(),
        kinds: Vec::new(),
    };
    let hash = hash::of_text("forecast");
    known.yard.forecast = Some(Arc::new(estimate(hash.clone())));
    for (command, kind) in
        [(tag.clone(), Kind::Tagged), (Command::Release(asked("H-01", Use::Range, None)), Kind::Released)]
    {
        let payloads = known.decide("m-okafor", NOW, command).unwrap();
        let rests_on = match &payloads[0] {
            Payload::Tagged(of) => of.rests_on.clone().unwrap(),
            Payload::Released(of) => of.rests_on.clone(),
            other => panic!("{other:?}"),
        };
        assert_eq!(payloads[0].kind(), kind);
        assert_eq!(rests_on.judgement, judged.to_kept().unwrap());
        assert_eq!(rests_on.forecast.as_ref(), Some(&hash));
    }
    known.judged = None;
    let Payload::Tagged(bare) = known.decide("m-okafor", NOW, tag).unwrap().remove(0) else { panic!("a tag") };
    assert_eq!(bare.rests_on, None, "a tag waits for no judgement");
}

#[test]
fn a_judgement_kept_is_the_whole_judgement() {
    let yard = MORNING.known("H-01", NOW).yard;
    let (mut kept_bytes, mut all_bytes) = (0, 0);
    for machine in yard.machines.keys() {
        let judged = MORNING.known(machine, NOW).judged.unwrap();
        let (kept, all) = (judged.to_kept().unwrap(), judged.to_json().unwrap());
        let as_judged: Value = serde_json::from_str(&all).unwrap();
        assert_eq!(whole(&kept).unwrap(), as_judged, "{machine}");
        // Releases from before carry that itself.
        assert_eq!(whole(&all).unwrap(), as_judged, "{machine}");
        (kept_bytes, all_bytes) = (kept_bytes + kept.len(), all_bytes + all.len());
    }
    println!("{} machines: kept in {kept_bytes} of {all_bytes} bytes", yard.machines.len());
    assert!(2 * kept_bytes < all_bytes, "{kept_bytes} of {all_bytes} bytes");
    assert!(matches!(whole("fit"), Err(NotKept::Json(_))));
    let other = |text: &str| whole(text).unwrap_err().to_string();
    assert!(other(r#"{"schema":3}"#).contains("`schema` is missing or not as it should be"));
    assert!(other(r#"{"schema":2,"uses":[]}"#).contains("`outcomes`"));
    assert!(other(r#"{"schema":2,"outcomes":[],"uses":[{"use":"range","outcomes":[0]}]}"#).contains("`outcomes`"));
}

#[test]
fn what_is_learnt_later_changes_no_release() {
    let mut device = MORNING.clone();
    sign(&mut device, "m-okafor", asked("H-01", Use::Range, None)).unwrap();
    let before = device.machine("H-01").releases;
    let walk_round = device.put("m-okafor", NOW, opened("H-01")).unwrap();
    device.put("m-okafor", NOW, saw("H-01", walk_round, "controls.levers", Seen::Defective)).unwrap();
    assert_eq!(device.machine("H-01").releases, before);
    let now = device.known("H-01", NOW).judged.unwrap();
    assert_eq!(now.uses[0].verdict, Verdict::Hold, "judged again it is shown beside");
}

#[test]
fn a_hold_is_signed_by_somebody_else_with_right_and_reason_and_never_on_the_road_over_law() {
    let mut device = MORNING.clone();
    let walk_round = device.put("t-abara", NOW, opened("H-01")).unwrap();
    device.put("t-abara", NOW, saw("H-01", walk_round, "controls.levers", Seen::Defective)).unwrap();
    let reason = Some("to the wash bay and back, walking pace");
    let refused = |by: &str, one, reason| {
        let decided = sign(&mut device.clone(), by, asked("H-01", one, reason));
        match decided.unwrap_err() {
            Refusal::Release(refusal) => refusal,
            other => panic!("{other}"),
        }
    };
    let verdict = Verdict::Hold;
    assert_eq!(refused("m-okafor", Use::Range, reason), release::Refusal::NoRight { verdict });
    assert_eq!(refused("p-owner", Use::Range, None), release::Refusal::NoReason { verdict });
    let own = release::Refusal::OwnFinding { by: "t-abara".into(), check: "controls.levers".into() };
    assert_eq!(refused("t-abara", Use::Range, reason), own);
    let road = refused("p-owner", Use::Road, reason);
    assert!(matches!(road, release::Refusal::ByLaw { .. } | release::Refusal::Dangerous { .. }), "{road}");
    let released = sign(&mut device, "p-owner", asked("H-01", Use::Range, reason)).unwrap();
    assert_eq!(released.verdicts.into_iter().collect::<Vec<_>>(), [(Use::Range, Verdict::Hold)]);
    assert!(released.against.contains(&"controls.levers".to_string()));
    assert_eq!(released.reason.as_deref(), reason);
}

#[test]
fn a_release_rests_on_the_judgement_of_its_machine() {
    let mut known = MORNING.known("H-01", NOW);
    let release = || Command::Release(asked("H-01", Use::Range, None));
    assert!(known.decide("m-okafor", NOW, release()).is_ok());
    known.judged = MORNING.known("H-06", NOW).judged;
    assert_eq!(known.decide("m-okafor", NOW, release()), Err(Refusal::NotJudged));
    known.judged = None;
    assert_eq!(known.decide("m-okafor", NOW, release()), Err(Refusal::NotJudged));
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
    let refusal = known.decide("p-owner", NOW, Command::Release(asked("H-02", Use::Range, None))).unwrap_err();
    assert!(matches!(refusal, Refusal::Release(release::Refusal::NotInService { .. })), "{refusal}");
    // Nor where the judge was not told.
    known.judged = Device::of_the_yard(2).known("H-02", NOW).judged;
    let refusal = known.decide("p-owner", NOW, Command::Release(asked("H-02", Use::Range, None))).unwrap_err();
    assert!(matches!(refusal, Refusal::Release(release::Refusal::NotInService { .. })), "{refusal}");
}

#[test]
fn a_return_and_the_finding_of_its_damage_are_one_act() {
    let mut device = MORNING.clone();
    let release = device.ask("m-okafor", NOW, "H-01", Command::Release(asked("H-01", Use::Range, None))).unwrap();
    let back = |class| {
        let damage = Some("left mirror cracked".to_owned());
        let returned = Returned { machine: "H-01".into(), release, odometer: None, fuel: None, damage, key_back: true };
        Command::TakeBack { returned, class }
    };
    let ungraded = device.known("H-01", NOW).decide("m-okafor", NOW, back(None));
    assert!(matches!(ungraded, Err(Refusal::Field { field: "class", .. })), "{ungraded:?}");
    let decided = device.known("H-01", NOW).decide("m-okafor", NOW, back(Some(Class::Major))).unwrap();
    assert_eq!(decided.iter().map(Payload::kind).collect::<Vec<_>>(), [Kind::Returned, Kind::FindingRaised]);
    device.ask("m-okafor", NOW, "H-01", back(Some(Class::Major))).unwrap();
    // Asked for again it is refused, and raises nothing.
    assert!(matches!(device.ask("m-okafor", NOW, "H-01", back(Some(Class::Major))), Err(Refusal::Over { .. })));
    let known = device.known("H-01", NOW);
    let found: Vec<_> =
        known.machine.as_ref().unwrap().open_findings().map(|(_, of)| (of.class, of.raised.uses.len())).collect();
    assert_eq!(found, [(Class::Major, Use::ALL.len())]);
}
