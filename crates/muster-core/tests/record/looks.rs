//! Walking round on two devices: slips, closing, findings, and clocks that are wrong.

use muster_core::{
    judge::Verdict,
    record::{
        event::Entry,
        fold::Aside,
        id::EventId,
        payload::{
            FallNoted, FindingClassed, FindingClosed, FindingRaised, ObservationMade, ReadingTaken, ThingSet,
            WalkRoundClosed,
        },
    },
    words::{Class, Seen, Use},
};

use super::{
    forms::MORNING,
    kit::{Device, NOW, gather},
    story::{opened, raised, read, saw},
};

const MACHINE: &str = "H-01";
const AHEAD: &str = "2026-11-25T08:00:00+00:00";

fn pressure(walk_round: EventId, figure: &str) -> ReadingTaken {
    read(MACHINE, walk_round, "tyre.front.pressure", figure, "G-2")
}

fn range(device: &Device) -> Verdict {
    device.known(MACHINE, NOW).judged.unwrap().uses[0].verdict
}

#[test]
fn a_slip_is_corrected_by_its_author_before_closing_and_stays_visible() {
    let mut device = MORNING.clone();
    let walk_round = device.put("m-okafor", NOW, opened(MACHINE)).unwrap();
    let slip = device.put("m-okafor", NOW, pressure(walk_round, "12.0 psi")).unwrap();
    let corrected = ReadingTaken { corrects: Some(slip), ..pressure(walk_round, "26.0 psi") };
    let corrected = device.put("m-okafor", NOW, corrected).unwrap();
    let state = device.machine(MACHINE);
    let walked = &state.walk_rounds[&walk_round];
    assert_eq!(walked.answers, [slip, corrected], "both stay");
    assert_eq!(walked.form.answers.iter().map(|answer| answer.slip).collect::<Vec<_>>(), [false, true]);
    assert_eq!(range(&device), Verdict::Fit);
    device.put("m-okafor", NOW, WalkRoundClosed { machine: MACHINE.into(), walk_round }).unwrap();
    let late = ReadingTaken { corrects: Some(corrected), ..pressure(walk_round, "27.0 psi") };
    assert!(device.put("m-okafor", NOW, late).is_err());
}

#[test]
fn a_correction_of_anothers_answer_stands_beside_it() {
    let mut device = MORNING.clone();
    let walk_round = device.put("m-okafor", NOW, opened(MACHINE)).unwrap();
    let bad = device.put("m-okafor", NOW, saw(MACHINE, walk_round, "controls.levers", Seen::Defective)).unwrap();
    device.put("t-abara", NOW, saw(MACHINE, walk_round, "controls.levers", Seen::Doubtful)).unwrap();
    let mended = saw(MACHINE, walk_round, "controls.levers", Seen::Sound);
    let mended = ObservationMade { corrects: Some(bad), ..mended };
    let mended = device.write("t-abara", NOW, mended);
    let state = device.machine(MACHINE);
    assert_eq!(
        state.flags.iter().map(|flag| (flag.event, flag.why)).collect::<Vec<_>>(),
        [(mended, Aside::NamesNothing)]
    );
    assert!(state.walk_rounds[&walk_round].form.answers.iter().all(|answer| !answer.slip));
    let judged = device.known(MACHINE, NOW).judged.unwrap();
    let levers = judged.uses[0].outcomes.iter().find(|of| of.check == "controls.levers").unwrap();
    assert_eq!(levers.verdict, Verdict::Hold, "the graver counts");
}

#[test]
fn two_devices_walk_round_together() {
    let (mut one, mut other) = (MORNING.clone(), Device::of_the_yard(3));
    one.exchange(&mut other);
    let walk_round = one.put("m-okafor", NOW, opened(MACHINE)).unwrap();
    other.pull(&one);
    one.put("m-okafor", NOW, pressure(walk_round, "26.0 psi")).unwrap();
    other.put("t-abara", NOW, saw(MACHINE, walk_round, "controls.levers", Seen::Defective)).unwrap();
    gather(&mut [&mut one, &mut other]);
    assert_eq!(one.machine(MACHINE), other.machine(MACHINE));
    let by: Vec<_> =
        one.machine(MACHINE).walk_rounds[&walk_round].form.answers.iter().map(|of| of.by.clone()).collect();
    assert_eq!(by.len(), 2);
    assert!(by.contains(&"t-abara".to_string()));
    assert_eq!(range(&one), Verdict::Hold);
}

#[test]
fn an_act_is_of_the_next_answer_to_its_check_alone() {
    let mut device = MORNING.clone();
    let walk_round = device.put("m-okafor", NOW, opened(MACHINE)).unwrap();
    let act =
        ThingSet { machine: MACHINE.into(), walk_round, check: "tyre.front.pressure".into(), act: "pumped".into() };
    device.put("m-okafor", NOW, pressure(walk_round, "21.0 psi")).unwrap();
    device.put("m-okafor", NOW, act).unwrap();
    device.put("m-okafor", NOW, saw(MACHINE, walk_round, "controls.levers", Seen::Sound)).unwrap();
    device.put("m-okafor", NOW, pressure(walk_round, "26.0 psi")).unwrap();
    device.put("m-okafor", NOW, pressure(walk_round, "26.1 psi")).unwrap();
    let state = device.machine(MACHINE);
    let acts: Vec<_> = state.walk_rounds[&walk_round].form.answers.iter().map(|of| of.after.as_deref()).collect();
    assert_eq!(acts, [None, None, Some("pumped"), None]);
}

#[test]
fn a_finding_and_a_fall_count_though_their_clock_is_a_day_ahead() {
    assert_eq!(range(&MORNING), Verdict::Fit);
    let mut device = MORNING.clone();
    let finding = device.put("m-okafor", AHEAD, raised(MACHINE, "lever bent", Class::Major)).unwrap();
    assert_eq!(range(&device), Verdict::Hold);
    device.put("t-abara", NOW, FindingClosed { machine: MACHINE.into(), finding, how: "bent back".into() }).unwrap();
    assert_eq!(range(&device), Verdict::Fit, "closed, whatever its clock said");
    let fall =
        FallNoted { machine: MACHINE.into(), how: "slid".into(), rider: None, about_rider: None, odometer: None };
    device.put("m-okafor", AHEAD, fall).unwrap();
    assert_eq!(range(&device), Verdict::Unseen, "a fall has ended answers");
}

#[test]
fn what_a_rider_says_unasked_is_a_reason_to_look_and_no_hold() {
    let mut device = MORNING.clone();
    let said = FindingRaised { feedback: true, ..raised(MACHINE, "brake feels long", Class::Dangerous) };
    let finding = device.put("p-rider", NOW, said).unwrap();
    assert_eq!(device.machine(MACHINE).findings[&finding].class, Class::Minor);
    assert!(range(&device) > Verdict::Fit);
}

/// What a check or a finding comes to on the road.
fn on_the_road(device: &Device, of: &str) -> (Verdict, Class) {
    let judged = device.known(MACHINE, NOW).judged.unwrap();
    let road = judged.uses.iter().find(|verdict| verdict.one == Use::Road).unwrap();
    let outcome = road.outcomes.iter().find(|outcome| outcome.check == of).unwrap();
    (outcome.verdict, outcome.class)
}

#[test]
fn a_defect_named_in_the_record_is_judged_by_its_row() {
    let mut device = MORNING.clone();
    let walk_round = device.put("m-okafor", NOW, opened(MACHINE)).unwrap();
    let levers = saw(MACHINE, walk_round, "controls.levers", Seen::Defective);
    let unnamed = device.put("m-okafor", NOW, levers.clone()).unwrap();
    assert_eq!(on_the_road(&device, "controls.levers"), (Verdict::Hold, Class::Dangerous));
    let loose = ObservationMade { defect: Some("lever-loose".into()), corrects: Some(unnamed), ..levers };
    device.put("m-okafor", NOW, loose).unwrap();
    assert_eq!(on_the_road(&device, "controls.levers"), (Verdict::Hold, Class::Major));
    let found = FindingRaised { defect: Some("lever-loose".into()), ..raised(MACHINE, "loose", Class::Minor) };
    let finding = device.put("m-okafor", NOW, found).unwrap();
    assert_eq!(on_the_road(&device, &format!("finding.{finding}")), (Verdict::Hold, Class::Major));
}

#[test]
fn a_class_below_the_law_packs_needs_the_right_and_a_reason_and_then_counts() {
    let mut device = MORNING.clone();
    let finding = device.put("m-okafor", NOW, raised(MACHINE, "loose", Class::Minor)).unwrap();
    let of = format!("finding.{finding}");
    assert_eq!(on_the_road(&device, &of), (Verdict::Hold, Class::Dangerous));
    let classed =
        |class, why: &str| FindingClassed { machine: MACHINE.into(), finding, class, defect: None, why: why.into() };
    assert!(device.put("m-okafor", NOW, classed(Class::Minor, "a scuff")).is_err());
    assert!(device.put("p-owner", NOW, classed(Class::Minor, " ")).is_err());
    device.put("p-owner", NOW, classed(Class::Minor, "a scuff")).unwrap();
    assert_eq!(on_the_road(&device, &of), (Verdict::Watch, Class::Minor));
    // Whoever raises it again, without the right, is back under the law's.
    device.put("m-okafor", NOW, classed(Class::Dangerous, "it moves")).unwrap();
    assert_eq!(on_the_road(&device, &of), (Verdict::Hold, Class::Dangerous));
}

#[test]
fn whoever_may_lower_a_class_may_name_the_defect_afterwards_and_the_laws_row_counts() {
    let mut device = MORNING.clone();
    let finding = device.put("m-okafor", NOW, raised(MACHINE, "loose", Class::Minor)).unwrap();
    let of = format!("finding.{finding}");
    assert_eq!(on_the_road(&device, &of), (Verdict::Hold, Class::Dangerous), "the gravest, for nobody named it");
    let named = |class, defect: &str| {
        let (machine, defect, why) = (MACHINE.into(), Some(defect.into()), "only loose".into());
        FindingClassed { machine, finding, class, defect, why }
    };
    assert!(device.put("m-okafor", NOW, named(Class::Major, "lever-loose")).is_err(), "that lowers what counts");
    let strange = device.put("p-owner", NOW, named(Class::Major, "no-such")).unwrap_err();
    assert!(strange.to_string().contains("lever-loose"), "{strange}");
    device.put("p-owner", NOW, named(Class::Major, "lever-loose")).unwrap();
    assert_eq!(on_the_road(&device, &of), (Verdict::Hold, Class::Major));
    // Raised by somebody without the right, it keeps its name.
    let (machine, why) = (MACHINE.into(), "worse".into());
    let worse = FindingClassed { machine, finding, class: Class::Dangerous, defect: None, why };
    device.put("m-okafor", NOW, worse).unwrap();
    assert_eq!(on_the_road(&device, &of), (Verdict::Hold, Class::Dangerous));
    assert_eq!(device.machine(MACHINE).findings[&finding].defect.as_deref(), Some("lever-loose"));
}

#[test]
fn what_was_classed_before_it_could_name_a_defect_is_read_without_one() {
    let mut device = MORNING.clone();
    let finding = device.put("m-okafor", NOW, raised(MACHINE, "loose", Class::Minor)).unwrap();
    let (machine, why) = (MACHINE.into(), "worse".into());
    let classed = FindingClassed { machine, finding, class: Class::Dangerous, defect: None, why };
    let id = device.put("m-okafor", NOW, classed).unwrap();
    let now = device.log[&id].0.clone();
    assert!(now.contains("\"defect\":null,") && now.ends_with("\"version\":6}"), "{now}");
    let before = now.replace("\"defect\":null,", "").replace("\"version\":6}", "\"version\":1}");
    assert_eq!(Entry::read(&before).unwrap().event, Entry::read(&now).unwrap().event);
    assert!(Entry::read(&now.replace("\"version\":6}", "\"version\":5}")).is_err(), "no build wrote that");
}

#[test]
fn what_was_seen_and_found_before_defects_had_names_is_read_without_one() {
    let mut device = MORNING.clone();
    let walk_round = device.put("m-okafor", NOW, opened(MACHINE)).unwrap();
    let seen = device.put("m-okafor", NOW, saw(MACHINE, walk_round, "controls.levers", Seen::Sound)).unwrap();
    let found = device.put("m-okafor", NOW, raised(MACHINE, "loose", Class::Minor)).unwrap();
    for id in [seen, found] {
        let now = device.log[&id].0.clone();
        assert!(now.contains("\"defect\":null,") && now.ends_with("\"version\":3}"), "{now}");
        let before = now.replace("\"defect\":null,", "").replace("\"version\":3}", "\"version\":1}");
        assert_eq!(Entry::read(&before).unwrap().event, Entry::read(&now).unwrap().event);
        assert!(Entry::read(&now.replace("\"version\":3}", "\"version\":1}")).is_err());
        assert!(Entry::read(&now.replace("\"version\":3}", "\"version\":2}")).is_err(), "no build wrote that");
    }
}
