//! Stories nobody thought of: devices that write what they please on what they know, and meet now and then.

use std::collections::BTreeMap;

use muster_core::{
    judge::Verdict,
    record::{
        id::{DeviceId, EventId},
        machine_state::{Contradiction, MachineState},
        payload::{
            CallNoted, DeviceRevoked, FallNoted, FindingClassed, FindingClosed, FindingRaised, Impounded, JobMoved,
            JobOpened, JobProven, JobState, ObservationMade, OdometerNoted, PartMounted, PartRemoved, Payload,
            PersonChanged, ReadingTaken, Released, RestsOn, Returned, Role, RosterSet, Saw, ServiceChanged, Settled,
            Tagged, ThingSet, Typed, Untagged, WalkRoundClosed, WalkRoundOpened, Withdrawn,
        },
    },
    state::{Heat, Power, Stance, State},
    words::{Class, Depth, Seen, Service, Use},
};
use proptest::prelude::*;

use super::kit::{Device, key, moment, person};

/// The machine every story is about.
pub(crate) const MACHINE: &str = "H-02";

/// One turn: who, on which device, does what, with which of the things known.
#[derive(Clone, Debug)]
pub(crate) struct Turn {
    device: usize,
    by: usize,
    what: u8,
    which: usize,
}

const AUTHORS: [&str; 6] = ["p-owner", "d-fenwick", "m-okafor", "p-workshop", "p-rider", "nobody"];

pub(crate) fn turns() -> impl Strategy<Value = Vec<Turn>> {
    let turn = (0_usize..3, 0_usize..12, 0_u8..32, 0_usize..8);
    // The owner and the workshop write most: a story of set-aside events alone would show little.
    let turn =
        turn.prop_map(|(device, by, what, which)| Turn { device, by: if by < 6 { by } else { by % 2 }, what, which });
    prop::collection::vec(turn, 4..40)
}

/// Three devices after a story, not yet brought together.
pub(crate) fn told(turns: &[Turn]) -> Vec<Device> {
    let mut devices: Vec<Device> = (2..=4).map(Device::of_the_yard).collect();
    for (minute, turn) in turns.iter().enumerate() {
        // The last device's clock is a day behind.
        let day = if turn.device == 2 { 23 } else { 24 };
        let at = format!("2026-11-{day}T{:02}:{:02}:00+00:00", 6 + minute / 60, minute % 60);
        if turn.what >= 29 {
            let other = (turn.device + 1) % devices.len();
            let mut met = devices[other].clone();
            devices[turn.device].exchange(&mut met);
            devices[other] = met;
            continue;
        }
        let device = &mut devices[turn.device];
        if let Some(payload) = payload(device, turn) {
            device.write(AUTHORS[turn.by], &at, payload);
        }
    }
    devices
}

/// A judgement nobody made.
pub(crate) fn rests_on() -> RestsOn {
    RestsOn { judgement: "{}".into(), catalogue: "c".into(), yard: "y".into(), forecast: None }
}

pub(crate) fn opened(machine: &str) -> WalkRoundOpened {
    WalkRoundOpened {
        machine: machine.into(),
        depth: Depth::BeforeRide,
        found: State { heat: Heat::Cold, power: Power::Off, stance: Stance::SideStand },
        no_hold_tag: Some(true),
        key_on_hook: Some(true),
        odometer: None,
        air: Some("7 °C".into()),
        barometer: None,
        ridden: None,
        planned: None,
        comma: false,
    }
}

pub(crate) fn saw(machine: &str, walk_round: EventId, check: &str, seen: Seen) -> ObservationMade {
    let (machine, check) = (machine.into(), check.into());
    ObservationMade {
        machine,
        walk_round,
        check,
        saw: Saw::One(seen),
        class: None,
        defect: None,
        why: None,
        note: None,
        corrects: None,
    }
}

pub(crate) fn read(machine: &str, walk_round: EventId, check: &str, figure: &str, with: &str) -> ReadingTaken {
    ReadingTaken {
        machine: machine.into(),
        walk_round,
        check: check.into(),
        read: Typed::One(figure.into()),
        with: Some(with.into()),
        tyre: None,
        air: None,
        odometer: None,
        why: None,
        note: None,
        corrects: None,
    }
}

pub(crate) fn raised(machine: &str, what: &str, class: Class) -> FindingRaised {
    FindingRaised {
        machine: machine.into(),
        walk_round: None,
        check: Some("controls.levers".into()),
        what: what.into(),
        class,
        defect: None,
        uses: Use::ALL.to_vec(),
        feedback: false,
    }
}

pub(crate) fn released(machine: &str, replaces: Option<EventId>) -> Released {
    Released {
        machine: machine.into(),
        outing: "Module one".into(),
        planned: None,
        riders: Vec::new(),
        from: moment("2026-11-24T08:00:00+00:00"),
        to: moment("2026-11-24T12:00:00+00:00"),
        verdicts: BTreeMap::from([(Use::Range, Verdict::Fit)]),
        conditions: Vec::new(),
        against: Vec::new(),
        reason: None,
        rests_on: rests_on(),
        worked_out: None,
        replaces,
    }
}

fn nth<T>(mut all: impl Iterator<Item = T> + Clone, which: usize) -> Option<T> {
    let count = all.clone().count();
    all.nth(which.checked_rem(count)?)
}

fn payload(device: &Device, turn: &Turn) -> Option<Payload> {
    if turn.what >= 25 {
        return of_the_yard(device, turn);
    }
    let state = device.machine(MACHINE);
    let (machine, which) = (MACHINE.to_string(), turn.which);
    Some(match turn.what {
        0 | 1 => {
            Tagged { machine, why: "bent".into(), number: None, rests_on: None, knew: state.last_tagging() }.into()
        }
        2 => {
            let lifts = vec![nth(state.tags.keys().copied(), which)?];
            Untagged { machine, lifts, reason: "looked".into(), knew: state.last_tagging() }.into()
        }
        3 => opened(MACHINE).into(),
        4..=7 => return looked(&state, turn),
        8 => raised(MACHINE, "scuffed", Class::Major).into(),
        9 => {
            let finding = nth(state.findings.keys().copied(), which)?;
            FindingClassed { machine, finding, class: Class::Minor, defect: None, why: "light".into() }.into()
        }
        10 => {
            let finding = nth(state.findings.keys().copied(), which)?;
            FindingClosed { machine, finding, how: "polished".into() }.into()
        }
        11..=13 => return job(&state, turn),
        14 | 15 => return part(&state, turn),
        16 => OdometerNoted { machine, odometer: format!("{} km", 30_000 + which) }.into(),
        17 => {
            let event = nth(state.odometers.iter().copied().chain(state.parts.keys().copied()), which)?;
            Withdrawn { machine, event, why: "misread".into() }.into()
        }
        18 => ServiceChanged {
            machine,
            state: [Service::Away, Service::InService, Service::LaidUp][which % 3],
            why: None,
            replaces: state.service.map(|(_, id)| id),
        }
        .into(),
        19 if which == 0 => Impounded { machine, why: "crash".into(), rests_on: rests_on() }.into(),
        20 => released(MACHINE, state.last_release).into(),
        21 => {
            let release = nth(state.releases.keys().copied(), which)?;
            Returned { machine, release, odometer: None, fuel: None, damage: None, key_back: true }.into()
        }
        22 => FallNoted { machine, how: "dropped".into(), rider: None, about_rider: None, odometer: None }.into(),
        23 | 24 => return answered(&state, turn),
        _ => return None,
    })
}

fn looked(state: &MachineState, turn: &Turn) -> Option<Payload> {
    let walk_round = nth(state.walk_rounds.keys().copied(), turn.which)?;
    let machine = MACHINE.to_string();
    Some(match turn.what {
        4 => read(MACHINE, walk_round, "tyre.front.pressure", &format!("2{}.5 psi", turn.which), "G-2").into(),
        5 => saw(MACHINE, walk_round, "controls.levers", [Seen::Sound, Seen::Defective][turn.which % 2]).into(),
        6 => ThingSet { machine, walk_round, check: "tyre.front.pressure".into(), act: "pumped".into() }.into(),
        _ => WalkRoundClosed { machine, walk_round }.into(),
    })
}

fn job(state: &MachineState, turn: &Turn) -> Option<Payload> {
    let machine = MACHINE.to_string();
    if turn.what == 11 {
        let findings = state.findings.keys().copied().collect();
        let tags = state.tags.keys().copied().take(1).collect();
        return Some(
            JobOpened { machine, job: "levers".into(), why: "bent".into(), findings, tags, planned: None }.into(),
        );
    }
    let (job, of) = nth(state.jobs.iter(), turn.which)?;
    let (job, from) = (*job, of.state.1);
    if turn.what == 12 {
        let to = [JobState::Done, JobState::InHand][turn.which % 2];
        return Some(JobMoved { machine, job, from, to, note: None, ended: Vec::new(), planned: None }.into());
    }
    let answers = state.walk_rounds.values().flat_map(|of| of.answers.iter().copied()).last();
    let answers = answers.into_iter().collect();
    Some(JobProven { machine, job, from, answers, knew: state.last_tagging() }.into())
}

fn part(state: &MachineState, turn: &Turn) -> Option<Payload> {
    let machine = MACHINE.to_string();
    let there = state.parts.iter().filter(|(_, part)| part.removed.is_none()).map(|(id, _)| *id).next();
    if turn.what == 14 {
        let place = "tyre.front".to_string();
        let (marking, odometer, on, ended) = (None, None, None, Vec::new());
        return Some(PartMounted { machine, place, marking, odometer, on, ended, replaces: there }.into());
    }
    Some(PartRemoved { machine, mounted: there?, odometer: None, why: "worn".into() }.into())
}

fn answered(state: &MachineState, turn: &Turn) -> Option<Payload> {
    let machine = MACHINE.to_string();
    let contradictions = state.contradictions();
    Some(match nth(contradictions.iter(), turn.which)? {
        Contradiction::OutAgainstTag { tag, release } => {
            CallNoted { machine, tag: *tag, release: *release, answer: "comes back".into() }.into()
        }
        Contradiction::ChangedApart { events } => {
            Settled { machine, events: events.iter().copied().collect(), how: "asked both".into() }.into()
        }
        _ => return None,
    })
}

fn of_the_yard(device: &Device, turn: &Turn) -> Option<Payload> {
    let state = device.yard();
    Some(match turn.what {
        25 => {
            let day = "2026-11-25".to_string();
            let replaces = state.rosters.get(&day).map(|(_, id)| *id);
            RosterSet { day, rows: Vec::new(), replaces }.into()
        }
        26 if turn.which < 2 => {
            let lost = DeviceId::of_key(&key(4));
            DeviceRevoked { device: lost, last: 1 + turn.which as u64, why: "lost".into() }.into()
        }
        27 | 28 => PersonChanged {
            person: person("p-workshop"),
            name: None,
            role: [Role::Workshop, Role::Instructor][turn.which % 2],
            rights: Vec::new(),
            active: !turn.which.is_multiple_of(3),
        }
        .into(),
        _ => return None,
    })
}
