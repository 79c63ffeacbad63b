//! Workshop work: what it moves to, what proves it, what it lifts and closes.

use muster_core::{
    judge::Verdict,
    record::{
        decide::{Command, Refusal},
        event::Entry,
        fold::Aside,
        id::EventId,
        job::{Lack, Lacking},
        machine_state::Contradiction,
        payload::{JobMoved, JobOpened, JobProven, JobState, ObservationMade, Payload, ThingSet, WalkRoundOpened},
    },
    state::{Heat, Power, Stance, State},
    words::{Class, Seen},
};

use super::{
    kit::{CATALOGUE, Device, JOBS, NOW, gather},
    story::{opened, raised, read, saw},
};

const MACHINE: &str = "H-02";
const DONE: &str = "2026-11-24T08:10:00+00:00";
const AFTER: &str = "2026-11-24T08:20:00+00:00";
const LATER: &str = "2026-11-24T08:30:00+00:00";

fn tag(device: &mut Device) -> EventId {
    let command = Command::Tag { machine: MACHINE.into(), why: "lever bent".into(), number: None };
    device.ask("m-okafor", NOW, MACHINE, command).unwrap()
}

fn open_job(device: &mut Device, kind: &str, findings: Vec<EventId>, tags: Vec<EventId>) -> EventId {
    device.put("d-fenwick", NOW, JobOpened { findings, tags, ..job_of(kind) }).unwrap()
}

fn job_of(kind: &str) -> JobOpened {
    let (findings, tags) = (Vec::new(), Vec::new());
    JobOpened { machine: MACHINE.into(), job: kind.into(), why: "lever bent".into(), findings, tags, planned: None }
}

fn moved(job: EventId, from: EventId, to: JobState) -> JobMoved {
    JobMoved { machine: MACHINE.into(), job, from, to, note: None, ended: Vec::new(), planned: None }
}

fn prove(device: &mut Device, at: &str, job: EventId) -> Result<EventId, Refusal> {
    device.ask("d-fenwick", at, MACHINE, Command::Prove { machine: MACHINE.into(), job })
}

/// Answers to checks, all sound, in a walk-round of their own.
fn answer(device: &mut Device, at: &str, checks: &[(&str, Seen)]) -> Vec<EventId> {
    let walk_round = device.put("d-fenwick", at, opened(MACHINE)).unwrap();
    let mut one = |check: &str, seen| device.put("d-fenwick", at, saw(MACHINE, walk_round, check, seen)).unwrap();
    checks.iter().map(|(check, seen)| one(check, *seen)).collect()
}

const LEVERS: [(&str, Seen); 3] =
    [("controls.levers", Seen::Sound), ("brake.front.action", Seen::Sound), ("brake.rear.action", Seen::Sound)];

#[test]
fn work_moves_as_the_table_says() {
    use JobState::{Done, InHand, Open, Proven, Waiting};
    let table = [
        // to: open, waiting, in hand, done, proven
        (Open, [false, true, true, true, false]),
        (Waiting, [true, false, true, true, false]),
        (InHand, [false, true, false, true, false]),
        (Done, [false, false, true, false, false]),
        (Proven, [false, false, false, false, false]),
    ];
    assert_eq!(table.map(|(from, _)| from).as_slice(), JobState::ALL);
    for (from, row) in table {
        for (to, expected) in JobState::ALL.iter().zip(row) {
            assert_eq!(from.moves_to(*to), expected, "{from} to {to}");
        }
    }
}

#[test]
fn a_job_has_a_day_and_is_moved_to_another() {
    let mut device = Device::of_the_yard(2);
    let job = JobOpened { planned: Some("2026-11-30".into()), ..job_of("levers") };
    let bad = JobOpened { planned: Some("30 November".into()), ..job.clone() };
    let refusal = device.put("d-fenwick", NOW, bad).unwrap_err();
    assert!(refusal.to_string().contains("is no day: write it like"), "{refusal}");
    let job = device.put("d-fenwick", NOW, job).unwrap();
    let day = |device: &Device| device.machine(MACHINE).jobs[&job].planned.clone();
    assert_eq!(day(&device).as_deref(), Some("2026-11-30"));
    let on = |from, to, day: &str| JobMoved { planned: Some(day.into()), ..moved(job, from, to) };
    let later = device.put("d-fenwick", NOW, on(job, JobState::Open, "2026-12-02")).unwrap();
    assert_eq!(device.machine(MACHINE).jobs[&job].state, (JobState::Open, later));
    let waits = device.put("d-fenwick", NOW, on(later, JobState::Waiting, "2026-12-04")).unwrap();
    let in_hand = device.put("d-fenwick", NOW, moved(job, waits, JobState::InHand)).unwrap();
    assert_eq!(day(&device).as_deref(), Some("2026-12-04"), "what says no day leaves it");
    let stale = device.put("d-fenwick", NOW, on(waits, JobState::InHand, "2026-12-05")).unwrap_err();
    assert_eq!(stale, Refusal::Stale { what: "the job", now: Some(in_hand) });
    let done = device.put("d-fenwick", NOW, moved(job, in_hand, JobState::Done)).unwrap();
    let again = device.put("d-fenwick", NOW, on(done, JobState::Done, "2026-12-05")).unwrap_err();
    assert_eq!(again, Refusal::NoSuchMove { from: JobState::Done, to: JobState::Done });
}

#[test]
fn a_walk_round_from_before_the_wheels_were_told_apart_was_found_with_the_rear_one_raised() {
    let mut device = Device::of_the_yard(2);
    let found = State { heat: Heat::Cold, power: Power::Off, stance: Stance::RearRaised };
    let walk = device.put("d-fenwick", NOW, WalkRoundOpened { found, ..opened(MACHINE) }).unwrap();
    let now = device.log[&walk].0.clone();
    assert!(now.contains("\"stance\":\"rear-raised\"") && now.ends_with("\"version\":7}"), "{now}");
    let before = now.replace("rear-raised", "raised").replace("\"version\":7}", "\"version\":1}");
    assert_eq!(Entry::read(&before).unwrap().event, Entry::read(&now).unwrap().event);
    assert!(Entry::read(&now.replace("rear-raised", "raised")).is_err(), "version 7 names the wheel");
}

#[test]
fn a_job_from_before_jobs_had_days_is_read_without_one() {
    let mut device = Device::of_the_yard(2);
    let job = open_job(&mut device, "levers", Vec::new(), Vec::new());
    let now = device.log[&job].0.clone();
    assert!(now.contains("\"planned\":null,") && now.ends_with("\"version\":2}"), "{now}");
    let before = now.replace("\"planned\":null,", "").replace("\"version\":2}", "\"version\":1}");
    let read = Entry::read(&before).unwrap();
    assert_eq!(read.event, Entry::read(&now).unwrap().event);
    assert_ne!(read.hash, Entry::read(&now).unwrap().hash, "its bytes stay as they were signed");
    // What version 1 could not say is no version 1, and version 2 says it always.
    assert!(Entry::read(&now.replace("\"version\":2}", "\"version\":1}")).is_err());
    assert!(Entry::read(&now.replace("\"planned\":null,", "")).is_err());
}

#[test]
fn a_command_moves_work_as_the_table_says_and_from_where_it_stands() {
    let mut device = Device::of_the_yard(2);
    let job = open_job(&mut device, "levers", Vec::new(), Vec::new());
    let refusal = device.put("d-fenwick", NOW, moved(job, job, JobState::Proven)).unwrap_err();
    assert_eq!(refusal, Refusal::NoSuchMove { from: JobState::Open, to: JobState::Proven });
    let in_hand = device.put("d-fenwick", NOW, moved(job, job, JobState::InHand)).unwrap();
    let refusal = device.put("d-fenwick", NOW, moved(job, job, JobState::Done)).unwrap_err();
    assert_eq!(refusal, Refusal::Stale { what: "the job", now: Some(in_hand) });
    let refusal = prove(&mut device, AFTER, job).unwrap_err();
    assert_eq!(refusal, Refusal::NoSuchMove { from: JobState::InHand, to: JobState::Proven });
}

#[test]
fn a_job_closes_by_its_readings_and_lifts_and_closes_what_it_names_alone() {
    let mut device = Device::of_the_yard(2);
    let [named, other] = [tag(&mut device), tag(&mut device)];
    let finding = device.put("m-okafor", NOW, raised(MACHINE, "lever bent", Class::Major)).unwrap();
    let left = device.put("m-okafor", NOW, raised(MACHINE, "seat torn", Class::Minor)).unwrap();
    let job = open_job(&mut device, "levers", vec![finding], vec![named]);
    answer(&mut device, NOW, &LEVERS);
    device.put("d-fenwick", DONE, moved(job, job, JobState::Done)).unwrap();
    let lacking = |check: &str, why| Lacking { check: check.into(), why };
    let all = LEVERS.map(|(check, _)| lacking(check, Lack::NotAnswered));
    assert_eq!(
        prove(&mut device, AFTER, job),
        Err(Refusal::NotProven(all.to_vec())),
        "answers before the work prove nothing"
    );
    answer(&mut device, AFTER, &[LEVERS[0], ("brake.front.action", Seen::Defective)]);
    let expected = vec![
        lacking("brake.front.action", Lack::Stops(Verdict::Hold)),
        lacking("brake.rear.action", Lack::NotAnswered),
    ];
    assert_eq!(prove(&mut device, AFTER, job), Err(Refusal::NotProven(expected)));
    let walk_round = device.put("d-fenwick", LATER, opened(MACHINE)).unwrap();
    let set = ThingSet { machine: MACHINE.into(), walk_round, check: "brake.front.action".into(), act: "bled".into() };
    device.put("d-fenwick", LATER, set).unwrap();
    device.put("d-fenwick", LATER, saw(MACHINE, walk_round, "brake.front.action", Seen::Sound)).unwrap();
    device.put("d-fenwick", LATER, saw(MACHINE, walk_round, "brake.rear.action", Seen::Sound)).unwrap();
    let proven = prove(&mut device, LATER, job).unwrap();
    let state = device.machine(MACHINE);
    assert_eq!(state.jobs[&job].state, (JobState::Proven, proven));
    assert_eq!(state.hanging().map(|(id, _)| id).collect::<Vec<_>>(), [other]);
    assert_eq!(state.tags[&named].lifted, Some(proven));
    assert_eq!(state.open_findings().map(|(id, _)| id).collect::<Vec<_>>(), [left]);
    assert_eq!(state.findings[&finding].closed, Some(proven));
    let judged = device.known(MACHINE, LATER).judged.unwrap();
    let closed = format!("finding.{finding}");
    assert!(judged.uses[0].outcomes.iter().all(|of| of.check != closed), "the judge knows it is closed");
}

#[test]
fn a_check_that_could_not_be_seen_proves_nothing() {
    let mut device = Device::of_the_yard(2);
    let job = open_job(&mut device, "mirrors", Vec::new(), Vec::new());
    device.put("d-fenwick", DONE, moved(job, job, JobState::Done)).unwrap();
    let walk_round = device.put("d-fenwick", AFTER, opened(MACHINE)).unwrap();
    let dark = ObservationMade { why: Some("dark".into()), ..saw(MACHINE, walk_round, "mirrors", Seen::CouldNotSee) };
    device.put("d-fenwick", AFTER, dark).unwrap();
    let lacking = vec![Lacking { check: "mirrors".into(), why: Lack::Stops(Verdict::Unseen) }];
    assert_eq!(prove(&mut device, AFTER, job), Err(Refusal::NotProven(lacking)));
}

/// The drum brake of one model has no pads; the other's rear brake has no drum. A kind of job asks only what applies.
#[test]
fn a_check_that_does_not_apply_to_the_machine_is_not_asked() {
    let mut device = Device::of_the_yard(2);
    let known = device.known(MACHINE, NOW);
    let equipment = &known.yard.machines[MACHINE].traits.equipment;
    let applies = |id: &String| {
        let check = CATALOGUE.check(id).unwrap();
        check.applies.holds(equipment) != muster_core::equipment::Holds::No
            && check.requires.lacking(equipment).is_empty()
    };
    let kind = JOBS.iter().find(|kind| {
        let asked = kind.proves.iter().filter(|id| applies(id)).count();
        asked > 0
            && asked < kind.proves.len()
            && kind
                .proves
                .iter()
                .filter(|id| applies(id))
                .all(|id| matches!(CATALOGUE.check(id).unwrap().yields, muster_core::check::Yields::Look(_)))
    });
    let kind = kind.expect("a kind of job asks what not every machine has");
    let job = open_job(&mut device, &kind.id, Vec::new(), Vec::new());
    device.put("d-fenwick", DONE, moved(job, job, JobState::Done)).unwrap();
    let asked: Vec<(&str, Seen)> =
        kind.proves.iter().filter(|id| applies(id)).map(|id| (id.as_str(), Seen::Sound)).collect();
    let answers = answer(&mut device, AFTER, &asked);
    let proven = prove(&mut device, AFTER, job).unwrap();
    let Payload::JobProven(of) = device.log[&proven].1.event.clone().unwrap().payload else { panic!("{proven}") };
    assert_eq!(of.answers, answers);
}

#[test]
fn a_reading_still_to_set_proves_nothing_and_one_within_does() {
    let mut device = Device::of_the_yard(2);
    let job = open_job(&mut device, "chain-slack", Vec::new(), Vec::new());
    device.put("d-fenwick", DONE, moved(job, job, JobState::Done)).unwrap();
    let walk_round = WalkRoundOpened { odometer: Some("30000 km".into()), ..opened(MACHINE) };
    let walk_round = device.put("d-fenwick", AFTER, walk_round).unwrap();
    device.put("d-fenwick", AFTER, read(MACHINE, walk_round, "chain.slack", "45 mm", "R-1")).unwrap();
    let lacking = vec![Lacking { check: "chain.slack".into(), why: Lack::Stops(Verdict::Unseen) }];
    assert_eq!(prove(&mut device, AFTER, job), Err(Refusal::NotProven(lacking)));
    let act = ThingSet { machine: MACHINE.into(), walk_round, check: "chain.slack".into(), act: "adjusted".into() };
    device.put("d-fenwick", LATER, act).unwrap();
    device.put("d-fenwick", LATER, read(MACHINE, walk_round, "chain.slack", "28 mm", "R-1")).unwrap();
    assert!(prove(&mut device, LATER, job).is_ok());
}

/// The sheet's windows for one up and two up share 5 kPa: a tyre set for one rider proves the mended puncture.
#[test]
fn a_tyre_set_for_one_rider_need_not_be_right_for_two() {
    let mut device = Device::of_the_yard(2);
    let job = open_job(&mut device, "puncture-rear", Vec::new(), Vec::new());
    device.put("d-fenwick", DONE, moved(job, job, JobState::Done)).unwrap();
    let walk_round = device.put("d-fenwick", AFTER, opened(MACHINE)).unwrap();
    device.put("d-fenwick", AFTER, saw(MACHINE, walk_round, "tyre.rear.damage", Seen::Sound)).unwrap();
    device.put("d-fenwick", AFTER, read(MACHINE, walk_round, "tyre.rear.pressure", "200 kPa", "G-2")).unwrap();
    let judged = device.known(MACHINE, LATER).judged.unwrap();
    let verdicts: Vec<Verdict> = judged
        .uses
        .iter()
        .flat_map(|of| &of.outcomes)
        .filter(|of| of.check == "tyre.rear.pressure")
        .map(|of| of.verdict)
        .collect();
    assert!(verdicts.contains(&Verdict::Fit) && verdicts.iter().any(|of| *of >= Verdict::Unseen), "{verdicts:?}");
    prove(&mut device, LATER, job).unwrap();
}

#[test]
fn proven_from_a_stale_state_is_set_aside_and_contradicts() {
    for (one, other) in [(2, 3), (3, 2)] {
        let (mut phone, mut office) = (Device::of_the_yard(one), Device::of_the_yard(other));
        let hung = tag(&mut phone);
        let job = open_job(&mut phone, "levers", Vec::new(), vec![hung]);
        let done = phone.put("d-fenwick", DONE, moved(job, job, JobState::Done)).unwrap();
        phone.exchange(&mut office);
        let again = office.put("p-owner", AFTER, moved(job, done, JobState::InHand)).unwrap();
        answer(&mut phone, AFTER, &LEVERS);
        let proven = prove(&mut phone, AFTER, job).unwrap();
        gather(&mut [&mut phone, &mut office]);
        let state = office.machine(MACHINE);
        assert_eq!(state.jobs[&job].state, (JobState::InHand, again));
        assert_eq!(state.hanging().map(|(id, _)| id).collect::<Vec<_>>(), [hung], "the tag stays");
        assert_eq!(
            state.flags.iter().map(|flag| (flag.event, flag.why)).collect::<Vec<_>>(),
            [(proven, Aside::Overtaken)]
        );
        let events = [again, proven].into_iter().collect();
        assert_eq!(state.contradictions(), [Contradiction::ChangedApart { events }]);
    }
}

#[test]
fn proven_without_its_answers_is_set_aside() {
    let mut device = Device::of_the_yard(2);
    let hung = tag(&mut device);
    let job = open_job(&mut device, "levers", Vec::new(), vec![hung]);
    let done = device.put("d-fenwick", DONE, moved(job, job, JobState::Done)).unwrap();
    let empty = JobProven { machine: MACHINE.into(), job, from: done, answers: Vec::new(), knew: Some(hung) };
    let empty = device.write("d-fenwick", AFTER, empty);
    let invented = JobProven { machine: MACHINE.into(), job, from: done, answers: vec![hung], knew: Some(hung) };
    let invented = device.write("d-fenwick", AFTER, invented);
    let state = device.machine(MACHINE);
    assert_eq!(state.jobs[&job].state.0, JobState::Done);
    assert_eq!(state.hanging().count(), 1);
    let flags: Vec<_> = state.flags.iter().map(|flag| (flag.event, flag.why)).collect();
    assert_eq!(flags, [(empty, Aside::NamesNothing), (invented, Aside::NamesNothing)]);
}

#[test]
fn what_a_job_is_to_lift_is_lifted_and_closed_by_the_job_or_the_owner() {
    let mut device = Device::of_the_yard(2);
    let hung = tag(&mut device);
    let finding = device.put("m-okafor", NOW, raised(MACHINE, "lever bent", Class::Major)).unwrap();
    open_job(&mut device, "levers", vec![finding], vec![hung]);
    let untag = || Command::Untag { machine: MACHINE.into(), lifts: vec![hung], reason: "mended".into() };
    let refusal = device.ask("d-fenwick", NOW, MACHINE, untag()).unwrap_err();
    assert!(refusal.to_string().contains("prove the job"), "{refusal}");
    let close =
        || muster_core::record::payload::FindingClosed { machine: MACHINE.into(), finding, how: "mended".into() };
    let refusal = device.put("d-fenwick", NOW, close()).unwrap_err();
    assert!(refusal.to_string().contains("prove the job"), "{refusal}");
    device.put("p-owner", NOW, close()).unwrap();
    device.ask("p-owner", NOW, MACHINE, untag()).unwrap();
    assert_eq!(device.machine(MACHINE).hanging().count(), 0);
}

#[test]
fn a_kind_of_work_that_asks_nothing_of_a_machine_is_not_opened_for_it() {
    let mut device = Device::of_the_yard(2);
    let (known, mut refused) = (device.known(MACHINE, NOW), 0);
    let context = muster_core::judge::Context::of(&CATALOGUE, &known.yard, MACHINE, super::kit::moment(NOW)).unwrap();
    for kind in JOBS.iter() {
        let (findings, tags) = (Vec::new(), Vec::new());
        let job = JobOpened {
            machine: MACHINE.into(),
            job: kind.id.clone(),
            why: "due".into(),
            findings,
            tags,
            planned: None,
        };
        let asks = muster_core::record::job::asked(kind, &context).count();
        let decided = device.put("d-fenwick", NOW, job);
        assert_eq!(decided.is_ok(), asks > 0, "{}: {decided:?}", kind.id);
        refused += usize::from(asks == 0);
    }
    assert!(refused > 0, "a chain machine has no belt");
}

#[test]
fn an_answer_given_before_the_work_proves_nothing_whatever_its_clock_says() {
    let mut device = Device::of_the_yard(2);
    let job = open_job(&mut device, "mirrors", Vec::new(), Vec::new());
    // A phone a day ahead looks, then the work is done.
    let ahead = "2026-11-25T08:00:00+00:00";
    answer(&mut device, ahead, &[("mirrors", Seen::Sound)]);
    device.put("d-fenwick", DONE, moved(job, job, JobState::Done)).unwrap();
    let lacking = vec![Lacking { check: "mirrors".into(), why: Lack::NotAnswered }];
    assert_eq!(prove(&mut device, "2026-11-25T08:30:00+00:00", job), Err(Refusal::NotProven(lacking)));
    answer(&mut device, AFTER, &[("mirrors", Seen::Sound)]);
    assert!(prove(&mut device, AFTER, job).is_ok());
}

#[test]
fn work_that_is_done_has_ended_what_its_kind_ends() {
    let mut device = super::forms::MORNING.clone();
    let machine = || "H-01".to_string();
    let verdict = |device: &Device, check: &str| {
        let judged = device.known("H-01", AFTER).judged.unwrap();
        judged.uses[0].outcomes.iter().find(|of| of.check == check).map(|of| of.verdict)
    };
    assert_eq!(verdict(&device, "brake.front.action"), Some(Verdict::Fit));
    let (findings, tags) = (Vec::new(), Vec::new());
    let job =
        JobOpened { machine: machine(), job: "tyre-front".into(), why: "worn".into(), findings, tags, planned: None };
    let job = device.put("d-fenwick", NOW, job).unwrap();
    let done = JobMoved { machine: machine(), ..moved(job, job, JobState::Done) };
    device.put("d-fenwick", DONE, done).unwrap();
    assert_eq!(verdict(&device, "brake.front.action"), Some(Verdict::Unseen), "the front wheel was out");
    assert_eq!(verdict(&device, "brake.rear.action"), Some(Verdict::Fit), "the rear one was not");
}

/// What was found before the work is as found: looked at again the same day, the work is proven.
#[test]
fn a_defect_found_in_the_morning_is_proven_mended_the_same_day() {
    let mut device = Device::of_the_yard(2);
    answer(&mut device, NOW, &[("throttle.return", Seen::Defective)]);
    let job = open_job(&mut device, "throttle", Vec::new(), Vec::new());
    device.put("d-fenwick", DONE, moved(job, job, JobState::Done)).unwrap();
    let answers = answer(&mut device, AFTER, &[("throttle.return", Seen::Sound)]);
    let proven = prove(&mut device, AFTER, job).unwrap();
    let Payload::JobProven(of) = device.log[&proven].1.event.clone().unwrap().payload else { panic!("{proven}") };
    assert_eq!(of.answers, answers);
    // Work is between the two answers once: who looks again and finds it defective has found it defective.
    answer(&mut device, LATER, &[("throttle.return", Seen::Defective)]);
    let acts = device.log.values().filter_map(|(_, entry)| entry.event.as_ref());
    assert_eq!(acts.filter(|event| matches!(event.payload, Payload::ThingSet(_))).count(), 1);
}
