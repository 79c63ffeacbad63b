//! How long names and photos are kept: what goes by the house rule, what stays, and that nothing impounded is touched.

use std::collections::{BTreeMap, BTreeSet};

use muster_core::{
    calendar::Moment,
    record::{
        decide::{Command, Refusal},
        fold::Aside,
        id::{EventId, PersonId},
        machine_state::MachineState,
        payload::{
            FallNoted, FindingClosed, HouseRuleAttached, Impounded, OdometerNoted, OutingPlanned, Payload,
            PhotoAttached, PhotoRemoved, Subject, Withdrawn,
        },
        retention::{Decided, Traces, Why, World, decide},
    },
    words::{Class, Use},
};
use proptest::prelude::*;

use super::{
    kit::{CATALOGUE, Device, NOW, PEOPLE, moment, person},
    story::{raised, rests_on},
};

/// When the kit put the yard in is 1 September 2026; three years of 365.25 days end on 31 August 2029.
const BEFORE: &str = "2029-08-31T00:00:00+00:00";
const AFTER: &str = "2029-09-02T00:00:00+00:00";

fn rule(device: &mut Device, text: &str) {
    let replaces = device.yard().files.get("house.toml").map(|(_, event)| *event);
    let text = format!("schema = 1\n{text}");
    device.write("p-plain-owner", "2026-09-01T08:00:00+00:00", HouseRuleAttached { text, replaces });
}

fn with_rule(text: &str) -> Device {
    let mut device = Device::of_the_yard(1);
    rule(&mut device, text);
    device
}

fn decided(device: &Device, at: Moment, staying: &BTreeMap<PersonId, Why>) -> Decided {
    let state = device.yard();
    let (yard, problems) = state.yard(&CATALOGUE);
    assert!(problems.is_empty(), "{problems:#?}");
    let states: Vec<MachineState> = yard.machines.keys().map(|id| device.machine(id)).collect();
    let machines = states.iter().map(|state| (state.machine.clone(), state)).collect();
    let mut traces = Traces::default();
    device.events().for_each(|event| traces.note(event));
    decide(&World { state: &state, yard: &yard, machines: &machines, traces: &traces, staying }, at)
}

fn at(device: &Device, now: &str) -> Decided {
    decided(device, moment(now), &BTreeMap::new())
}

fn goes(decided: &Decided) -> BTreeSet<&str> {
    decided.names.iter().map(|(person, _)| person.as_str()).collect()
}

fn why<'d>(decided: &'d Decided, who: &str) -> Option<&'d Why> {
    decided.names_kept.iter().find(|(person, _)| person.as_str() == who).map(|(_, why)| why)
}

fn odometer(device: &mut Device, by: &str, at: &str, machine: &str) -> EventId {
    device.write(by, at, OdometerNoted { machine: machine.into(), odometer: "1 km".into() })
}

fn photo(device: &mut Device, at: &str, machine: &str, of: Option<EventId>, digit: &str) -> EventId {
    let photo = PhotoAttached { machine: machine.into(), of, sha256: digit.repeat(64), bytes: 9 };
    device.put("m-okafor", at, photo).unwrap()
}

#[test]
fn a_house_rule_is_read_and_a_slip_in_it_is_said() {
    let mut device = Device::of_the_yard(1);
    rule(&mut device, "[retention]\nnames = \"3 years\"\nphotos = \"400 days\"\n");
    let retention = device.yard().yard(&CATALOGUE).0.retention;
    let says: Vec<&str> = [&retention.names, &retention.photos].into_iter().flatten().map(|of| &*of.says).collect();
    assert_eq!(says, ["3 years", "400 days"]);
    for (text, said) in [
        ("names = \"3 days\"", "names: at least 30 days are needed"),
        ("names = \"3 psi\"", "`psi` does not measure a time"),
        ("names = 3", "a text is needed"),
        ("photo = \"3 years\"", "unknown key `photo`"),
    ] {
        let (_, event) = device.yard().files["house.toml"].clone();
        let text = format!("schema = 1\n[retention]\n{text}\n");
        let refused = device.put("p-owner", NOW, HouseRuleAttached { text, replaces: Some(event) }).unwrap_err();
        assert!(refused.to_string().contains(said), "{refused}");
    }
}

#[test]
fn without_a_rule_nothing_goes() {
    let mut device = with_rule("");
    photo(&mut device, NOW, "H-02", None, "a");
    let decided = at(&device, "2099-01-01T00:00:00+00:00");
    assert_eq!((decided.names.len(), decided.photos.len()), (0, 0));
    assert!(decided.names_kept.iter().all(|(_, why)| *why == Why::NoRule) && decided.names_kept.len() == PEOPLE.len());
    assert_eq!(decided.photos_kept, [("a".repeat(64), Why::NoRule)]);
}

#[test]
fn a_name_goes_when_its_last_event_is_older_than_the_rule_and_an_owner_stays() {
    let mut device = with_rule("[retention]\nnames = \"3 years\"\n");
    assert_eq!(goes(&at(&device, BEFORE)), BTreeSet::new());
    let decided = at(&device, AFTER);
    assert_eq!(decided.names.len(), PEOPLE.len() - 1);
    assert_eq!(decided.names_kept.len(), 1, "of the owners one stays");
    // Who wrote since, whom an event names, and whom a plan names till its end.
    odometer(&mut device, "m-okafor", "2028-01-01T00:00:00+00:00", "H-02");
    let fall = FallNoted {
        machine: "H-02".into(),
        how: "slid".into(),
        rider: Some(person("p-rider")),
        about_rider: None,
        odometer: None,
    };
    device.write("m-okafor", "2028-01-01T00:00:00+00:00", fall);
    let plan = OutingPlanned {
        name: "tour".into(),
        uses: vec![Use::Road],
        riders: vec![person("p-auditor")],
        from: moment("2028-01-02T00:00:00+00:00"),
        to: moment("2030-01-01T00:00:00+00:00"),
        distance: None,
        machine: None,
        worked_out: None,
    };
    device.write("m-okafor", "2028-01-01T00:00:00+00:00", plan);
    let decided = at(&device, AFTER);
    for who in ["m-okafor", "p-rider", "p-auditor"] {
        assert!(matches!(why(&decided, who), Some(Why::Till(_))), "{who}");
    }
    let decided = at(&device, "2031-02-01T00:00:00+00:00");
    assert!(goes(&decided).is_superset(&["m-okafor", "p-rider"].into()) && !goes(&decided).contains("p-auditor"));
    let staying = [(person("t-abara"), Why::SignedIn)].into();
    let decided = self::decided(&device, moment(AFTER), &staying);
    assert_eq!(why(&decided, "t-abara"), Some(&Why::SignedIn));
}

#[test]
fn a_clock_that_is_behind_makes_nobody_old_and_one_ahead_keeps_nobody_for_good() {
    let mut device = with_rule("[retention]\nnames = \"3 years\"\n");
    odometer(&mut device, "p-owner", "2029-01-01T00:00:00+00:00", "H-02");
    odometer(&mut device, "m-okafor", "1970-01-01T00:00:00+00:00", "H-02");
    let decided = at(&device, AFTER);
    assert!(!goes(&decided).contains("m-okafor"), "written after an event of 2029, whatever its clock said");
    let mut device = with_rule("[retention]\nnames = \"3 years\"\n");
    odometer(&mut device, "e-castellan", "2099-01-01T00:00:00+00:00", "H-02");
    odometer(&mut device, "m-okafor", "2026-10-01T00:00:00+00:00", "H-02");
    assert!(goes(&at(&device, "2029-10-15T00:00:00+00:00")).is_superset(&["e-castellan", "m-okafor"].into()));
}

#[test]
fn a_photo_goes_when_all_it_belongs_to_is_old_and_over() {
    let mut device = with_rule("[retention]\nphotos = \"2 years\"\n");
    let finding = device.put("m-okafor", NOW, raised("H-02", "lever bent", Class::Major)).unwrap();
    let first = photo(&mut device, NOW, "H-02", Some(finding), "a");
    photo(&mut device, NOW, "H-03", None, "a");
    let slip = photo(&mut device, NOW, "H-03", None, "b");
    device.put("m-okafor", NOW, Withdrawn { machine: "H-03".into(), event: slip, why: "wrong one".into() }).unwrap();
    let (early, late) = ("2028-11-23T00:00:00+00:00", "2028-11-25T00:00:00+00:00");
    assert!(at(&device, early).photos.is_empty());
    let decided = at(&device, late);
    assert_eq!(decided.photos_kept, [("a".repeat(64), Why::Open(finding))]);
    assert_eq!(decided.photos.len(), 1, "one whose attaching was taken back goes too");
    let closed = FindingClosed { machine: "H-02".into(), finding, how: "straight again".into() };
    device.put("d-fenwick", "2026-12-24T08:00:00+00:00", closed).unwrap();
    assert_eq!(at(&device, late).photos.len(), 1, "its age counts from the closing");
    let later = "2028-12-25T00:00:00+00:00";
    let decided = at(&device, later);
    assert_eq!(decided.photos.iter().map(|of| of.attached.len()).collect::<Vec<_>>(), [2, 1]);

    // Removed at each attaching, by the owner alone, and once; then its bytes are not to come back.
    let remove = |photo| Command::RemovePhoto { machine: "H-02".into(), photo, why: "photos = 2 years".into() };
    let refused = device.ask("m-okafor", later, "H-02", remove(first)).unwrap_err();
    assert!(matches!(refused, Refusal::NoRight { .. }), "{refused}");
    for of in decided.photos.iter().flat_map(|of| &of.attached) {
        let command =
            Command::RemovePhoto { machine: of.machine.clone(), photo: of.event, why: "photos = 2 years".into() };
        device.ask("p-owner", later, &of.machine, command).unwrap();
    }
    let refused = device.ask("p-owner", later, "H-02", remove(first)).unwrap_err();
    assert!(matches!(refused, Refusal::Over { .. }), "{refused}");
    assert_eq!(at(&device, later).removed, ["a".repeat(64), "b".repeat(64)]);
    // Attached anew it is one more to keep.
    photo(&mut device, later, "H-02", None, "a");
    let decided = at(&device, later);
    assert_eq!((decided.removed.len(), decided.photos.len(), decided.photos_kept.len()), (1, 0, 1));
}

#[test]
fn what_touches_an_impounded_machine_stays_by_event_and_by_file() {
    let mut device = with_rule("[retention]\nnames = \"3 years\"\nphotos = \"2 years\"\n");
    odometer(&mut device, "e-castellan", NOW, "H-02");
    let attached = photo(&mut device, NOW, "H-02", None, "a");
    photo(&mut device, NOW, "H-03", None, "a");
    let impound = Command::Impound { machine: "H-02".into(), why: "crash".into() };
    device.ask("t-abara", NOW, "H-02", impound).unwrap();
    let decided = at(&device, "2040-01-01T00:00:00+00:00");
    for who in ["e-castellan", "m-okafor", "t-abara", "p-owner"] {
        assert_eq!(why(&decided, who), Some(&Why::Impounded("H-02".into())), "{who}");
    }
    assert_eq!(decided.photos_kept, [("a".repeat(64), Why::Impounded("H-02".into()))]);
    // Nor by the command, nor by an event that comes late.
    let remove = Command::RemovePhoto { machine: "H-02".into(), photo: attached, why: "old".into() };
    assert_eq!(device.ask("p-owner", NOW, "H-02", remove), Err(Refusal::Impounded("H-02".into())));
    device.write("p-owner", NOW, PhotoRemoved { machine: "H-02".into(), photo: attached, why: "old".into() });
    let state = device.machine("H-02");
    assert_eq!((state.photos_removed.len(), state.flags.last().map(|of| of.why)), (0, Some(Aside::Impounded)));
}

/// What happens to people and photos in a law's story: who, at which machine, what, after how many days.
fn acts() -> impl Strategy<Value = Vec<(usize, usize, u8, i64)>> {
    prop::collection::vec((0..PEOPLE.len(), 1..4_usize, 0..6_u8, 0..200_i64), 1..24)
}

fn told(acts: &[(usize, usize, u8, i64)]) -> Device {
    let mut device = with_rule("[retention]\nnames = \"3 years\"\nphotos = \"2 years\"\n");
    let mut now = moment(NOW);
    for (who, machine, what, days) in acts {
        now = now.later_by(days * 86_400);
        let (by, machine) = (PEOPLE[*who].0, format!("H-0{machine}"));
        let sha256 = format!("{:x}", days % 5).repeat(64);
        let payload: Payload = match what {
            0 => PhotoAttached { machine, of: None, sha256, bytes: 1 }.into(),
            1 => Impounded { machine, why: "crash".into(), rests_on: rests_on() }.into(),
            2 => FallNoted {
                machine,
                how: "slid".into(),
                rider: Some(person("p-rider")),
                about_rider: None,
                odometer: None,
            }
            .into(),
            _ => OdometerNoted { machine, odometer: "1 km".into() }.into(),
        };
        device.write(by, &now.to_string(), payload);
    }
    device
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn everything_goes_or_stays_once_and_nothing_of_an_impounded_machine_goes(acts in acts(), years in 0..8_i64) {
        let device = told(&acts);
        let now = moment(NOW).later_by(years * 31_557_600);
        let decided = decided(&device, now, &BTreeMap::new());
        let mut all: Vec<&PersonId> = decided.names.iter().map(|(person, _)| person).collect();
        all.extend(decided.names_kept.iter().map(|(person, _)| person));
        all.sort();
        let people = device.yard().people;
        prop_assert_eq!(all, people.keys().collect::<Vec<_>>());
        // Counted here from the events alone: whatever was written about a machine that stands impounded.
        let held: BTreeSet<String> =
            (1..4).map(|n| format!("H-0{n}")).filter(|id| device.machine(id).impounded.is_some()).collect();
        for event in device.events() {
            let touches = matches!(event.payload.subject(), Subject::Machine(id) if held.contains(&id));
            if touches {
                prop_assert!(decided.names.iter().all(|(person, _)| *person != event.author));
                if let Payload::PhotoAttached(of) = &event.payload {
                    prop_assert!(decided.photos.iter().all(|photo| photo.sha256 != of.sha256));
                }
            }
            // Nobody who wrote within three years goes, and no photo attached within two.
            let days = now.seconds_since(event.at) / 86_400;
            if (0..1095).contains(&days) {
                prop_assert!(decided.names.iter().all(|(person, _)| *person != event.author));
            }
            if let Payload::PhotoAttached(of) = &event.payload && (0..730).contains(&days) {
                prop_assert!(decided.photos.iter().all(|photo| photo.sha256 != of.sha256));
            }
        }
    }

    #[test]
    fn what_goes_is_of_the_set_of_events_and_a_longer_rule_lets_less_go(acts in acts(), years in 0..8_i64) {
        let mut device = told(&acts);
        let now = moment(NOW).later_by(years * 31_557_600);
        let first = decided(&device, now, &BTreeMap::new());
        let (mut forth, mut back) = (Traces::default(), Traces::default());
        let events: Vec<_> = device.events().collect();
        events.iter().for_each(|event| forth.note(event));
        events.iter().rev().chain(&events).for_each(|event| back.note(event));
        let state = device.yard();
        let (yard, _) = state.yard(&CATALOGUE);
        let states: Vec<MachineState> = (1..4).map(|n| device.machine(&format!("H-0{n}"))).collect();
        let machines = states.iter().map(|of| (of.machine.clone(), of)).collect();
        let staying = BTreeMap::new();
        let of = |traces: &Traces| {
            let world = World { state: &state, yard: &yard, machines: &machines, traces, staying: &staying };
            decide(&world, now)
        };
        prop_assert_eq!(of(&forth), of(&back));
        rule(&mut device, "[retention]\nnames = \"5 years\"\nphotos = \"4 years\"\n");
        let longer = decided(&device, now, &BTreeMap::new());
        // Which of the owners stays is another question.
        let names = |of| goes(of).into_iter().filter(|who| !who.contains("owner")).collect::<BTreeSet<_>>();
        prop_assert!(names(&longer).is_subset(&names(&first)));
        let hashes = |of: &Decided| of.photos.iter().map(|photo| photo.sha256.clone()).collect::<BTreeSet<_>>();
        prop_assert!(hashes(&longer).is_subset(&hashes(&first)));
    }
}
