//! Walking round: figures, answers, findings, falls.

use muster_core::{
    record::{decide::Command, payload::*},
    words::{Class, Seen},
};

use super::{
    super::{
        kit::{NOW, person, sealed},
        story::{opened, raised, read, saw},
    },
    Cases, MACHINE, Met, machine, strange,
};

pub(super) fn of_figures(cases: &mut Cases<'_>) {
    let Met { walk_round, .. } = *cases.met;
    let pressure = |figure: &str| read(MACHINE, walk_round, "tyre.front.pressure", figure, "G-2");
    cases.of(
        "an odometer that runs backwards",
        "m-okafor",
        OdometerNoted { machine: machine(), odometer: "40 km".into() },
    );
    cases.of(
        "an odometer in another unit",
        "m-okafor",
        OdometerNoted { machine: machine(), odometer: "40 psi".into() },
    );
    let backwards = WalkRoundOpened { odometer: Some("41 km".into()), ..opened(MACHINE) };
    cases.of("a walk-round whose odometer runs backwards", "m-okafor", backwards);
    cases.of("air in no unit", "m-okafor", WalkRoundOpened { air: Some("7".into()), ..opened(MACHINE) });
    cases.of("a pressure in millimetres", "m-okafor", pressure("2.5 mm"));
    cases.of("a pressure of no tyre", "m-okafor", pressure("2500 psi"));
    cases.of("no figure", "m-okafor", pressure("low"));
    cases.of("nothing read", "m-okafor", pressure(" "));
}

pub(super) fn of_answers(cases: &mut Cases<'_>) {
    let Met { walk_round, closed, answer, finding, .. } = *cases.met;
    let pressure = |figure: &str| read(MACHINE, walk_round, "tyre.front.pressure", figure, "G-2");
    let saw_levers = |walk_round, seen| saw(MACHINE, walk_round, "controls.levers", seen);
    cases.of("an unknown check", "m-okafor", read(MACHINE, walk_round, "tyre.middle.pressure", "26 psi", "G-2"));
    cases.of("a check looked at, not read", "m-okafor", read(MACHINE, walk_round, "controls.levers", "26 psi", "G-2"));
    cases.of("an unknown instrument", "m-okafor", read(MACHINE, walk_round, "tyre.front.pressure", "26 psi", "G-77"));
    let places = Saw::Places([("behind".to_string(), Seen::Sound)].into());
    cases.of("an unknown place", "m-okafor", ObservationMade { saw: places, ..saw_levers(walk_round, Seen::Sound) });
    cases.of("an unknown walk-round", "m-okafor", saw_levers(strange(), Seen::Sound));
    cases.of("a reading after closing", "m-okafor", read(MACHINE, closed, "tyre.front.pressure", "26 psi", "G-2"));
    cases.of("a look after closing", "m-okafor", saw_levers(closed, Seen::Sound));
    cases.of(
        "an act after closing",
        "m-okafor",
        ThingSet { machine: machine(), walk_round: closed, check: "chain.slack".into(), act: "adjusted".into() },
    );
    cases.of("closing twice", "m-okafor", WalkRoundClosed { machine: machine(), walk_round: closed });
    let slip = ReadingTaken { corrects: Some(answer), ..pressure("27.0 psi") };
    cases.of("a slip corrected by another person", "t-abara", slip);
    let slip = ReadingTaken { corrects: Some(finding), ..pressure("27.0 psi") };
    cases.of("a correction of no answer", "m-okafor", slip);
    let lowered =
        ObservationMade { class: Some(Class::Minor), ..saw(MACHINE, walk_round, "throttle.return", Seen::Defective) };
    cases.of("a class lowered by the finder", "m-okafor", lowered);
    let levers = |seen, defect: &str| ObservationMade { defect: Some(defect.into()), ..saw_levers(walk_round, seen) };
    cases.of("a defect the law pack does not have", "m-okafor", levers(Seen::Defective, "blue"));
    cases.of("a defect of what is sound", "m-okafor", levers(Seen::Sound, "lever-loose"));
    let lowered = ObservationMade { class: Some(Class::Minor), ..levers(Seen::Defective, "lever-loose") };
    cases.of("a class below the defect's", "m-okafor", lowered);
    cases.of(
        "an act that says nothing",
        "m-okafor",
        ThingSet { machine: machine(), walk_round, check: "chain.slack".into(), act: " ".into() },
    );
}

pub(super) fn of_findings(cases: &mut Cases<'_>) {
    let finding = cases.met.finding;
    cases.of("a finding that says nothing", "m-okafor", raised(MACHINE, "", Class::Minor));
    cases.of(
        "a finding at no check",
        "m-okafor",
        FindingRaised { check: Some("no.check".into()), ..raised(MACHINE, "bent", Class::Minor) },
    );
    let nowhere = FindingRaised { check: None, defect: Some("blue".into()), ..raised(MACHINE, "bent", Class::Minor) };
    cases.of("a defect at no check", "m-okafor", nowhere);
    cases.of(
        "a finding for no use",
        "m-okafor",
        FindingRaised { uses: Vec::new(), ..raised(MACHINE, "bent", Class::Minor) },
    );
    cases.of("a rider's finding that is no feedback", "p-rider", raised(MACHINE, "bent", Class::Minor));
    let long = raised(MACHINE, &"x".repeat(4001), Class::Minor);
    cases.of("a text too long", "m-okafor", long);
    cases.of(
        "a class lowered without the right",
        "m-okafor",
        FindingClassed { machine: machine(), finding, class: Class::Minor, defect: None, why: "light".into() },
    );
    cases.of(
        "an unknown finding",
        "m-okafor",
        FindingClosed { machine: machine(), finding: strange(), how: "looked".into() },
    );
    let close = || FindingClosed { machine: machine(), finding, how: "looked".into() };
    cases.after(
        "a finding closed twice",
        "m-okafor",
        |device| _ = device.put("m-okafor", NOW, close()).unwrap(),
        Command::Write(close().into()),
    );
    let classed =
        FindingClassed { machine: machine(), finding, class: Class::Dangerous, defect: None, why: "worse".into() };
    cases.after(
        "a finding classed after closing",
        "m-okafor",
        |device| _ = device.put("m-okafor", NOW, close()).unwrap(),
        Command::Write(classed.into()),
    );
    let fall = || FallNoted {
        machine: machine(),
        how: "slid".into(),
        rider: Some(person("p-rider")),
        about_rider: None,
        odometer: None,
    };
    cases.of("a fall of nobody known", "m-okafor", FallNoted { rider: Some(person("p-nobody")), ..fall() });
    cases.of(
        "a rider's matter under another's key",
        "m-okafor",
        FallNoted { about_rider: Some(sealed("p-owner", "x")), ..fall() },
    );
}
