//! A payload of every kind, from texts, figures and names drawn at random, or plain ones.

use std::collections::BTreeMap;

use muster_core::{
    judge::Verdict,
    record::{
        id::{DeviceId, EventId, PersonId},
        payload::*,
        private::Private,
    },
    state::{Heat, Power, Stance, State},
    words::{Class, Depth, Ending, Seen, Service, Use},
};
use proptest::prelude::*;

use super::kit::{moment, person, person_key};

/// What payloads are made of.
#[derive(Clone, Debug)]
pub(crate) struct Parts {
    machine: String,
    text: String,
    other: String,
    maybe: Option<String>,
    id: EventId,
    maybe_id: Option<EventId>,
    ids: Vec<EventId>,
    person: PersonId,
    pick: usize,
    truth: bool,
    number: u64,
    at: String,
}

impl Parts {
    pub(crate) fn plain() -> Self {
        let id = EventId { device: DeviceId::of_key(&[9; 32]), seq: 1 };
        Self {
            machine: "H-02".into(),
            text: "plain".into(),
            other: "other".into(),
            maybe: None,
            id,
            maybe_id: None,
            ids: vec![id],
            person: person("m-okafor"),
            pick: 0,
            truth: false,
            number: 1,
            at: "2026-11-24T08:00:00+00:00".into(),
        }
    }
}

pub(crate) fn id() -> impl Strategy<Value = EventId> {
    (any::<u8>(), 1_u64..=u64::MAX).prop_map(|(n, seq)| EventId { device: DeviceId::of_key(&[n; 32]), seq })
}

pub(crate) fn at() -> impl Strategy<Value = String> {
    (1970_u32..2200, 1_u32..=12, 1_u32..=28, 0_u32..86_400, -14_i32..=14, 0_u32..2).prop_map(
        |(year, month, day, second, offset, half)| {
            let (hour, minute, second) = (second / 3600, second / 60 % 60, second % 60);
            let (sign, zone) = (if offset < 0 { '-' } else { '+' }, offset.unsigned_abs());
            let half = if zone < 14 { half * 30 } else { 0 };
            let half = if zone == 0 && sign == '-' { 0 } else { half };
            format!("{year}-{month:02}-{day:02}T{hour:02}:{minute:02}:{second:02}{sign}{zone:02}:{half:02}")
        },
    )
}

pub(crate) fn parts() -> impl Strategy<Value = Parts> {
    let texts = (".{0,12}", any::<String>(), ".*", prop::option::of(".*"));
    let ids = (id(), prop::option::of(id()), prop::collection::vec(id(), 0..4));
    let rest = ("[a-z0-9-]{1,32}", any::<usize>(), any::<bool>(), 0_u64..1 << 53, at());
    (texts, ids, rest).prop_map(|(texts, ids, rest)| Parts {
        machine: texts.0,
        text: texts.1,
        other: texts.2,
        maybe: texts.3,
        id: ids.0,
        maybe_id: ids.1,
        ids: ids.2,
        person: rest.0.parse().unwrap(),
        pick: rest.1,
        truth: rest.2,
        number: rest.3,
        at: rest.4,
    })
}

impl Parts {
    fn one<T: Copy>(&self, all: &[T]) -> T {
        all[self.pick % all.len()]
    }

    fn some<T: Copy>(&self, all: &[T]) -> Vec<T> {
        all.iter().copied().take(self.pick % (all.len() + 1)).collect()
    }

    fn maybe<T>(&self, value: T) -> Option<T> {
        self.truth.then_some(value)
    }

    fn sealed(&self) -> Private {
        let text: String = self.text.chars().take(100).collect();
        Private::seal(&text, &self.person, "name", &person_key("p"), [9; 24]).unwrap()
    }

    fn rests_on(&self) -> RestsOn {
        RestsOn {
            judgement: self.text.clone(),
            catalogue: self.other.clone(),
            yard: self.machine.clone(),
            forecast: self.maybe.clone(),
        }
    }

    fn worked_out(&self) -> WorkedOut {
        WorkedOut {
            verdict: self.one(Verdict::ALL),
            done: vec![self.other.clone()],
            left: vec![self.text.clone()],
            next: Vec::new(),
            outing: self.other.clone(),
        }
    }

    fn typed(&self) -> Typed {
        let several = || vec![self.text.clone(), self.other.clone()];
        match self.pick % 3 {
            0 => Typed::One(self.text.clone()),
            1 => Typed::Several(several()),
            _ => Typed::Places([(self.other.clone(), several())].into()),
        }
    }

    fn saw(&self) -> Saw {
        let seen = self.one(Seen::ALL);
        if self.truth { Saw::One(seen) } else { Saw::Places([(self.other.clone(), seen)].into()) }
    }

    fn found(&self) -> State {
        State { heat: self.one(Heat::ALL), power: self.one(Power::ALL), stance: self.one(Stance::ALL) }
    }

    fn planned(&self) -> Planned {
        Planned { one: self.one(Use::ALL), back: moment(&self.at), distance: self.maybe.clone() }
    }

    /// A payload of the kind.
    pub(crate) fn payload(&self, kind: Kind) -> Payload {
        use Kind as K;
        match kind {
            K::YardDescribed
            | K::SheetAttached
            | K::LawAttached
            | K::HouseRuleAttached
            | K::MachineRegistered
            | K::MachineChanged
            | K::InstrumentRegistered
            | K::InstrumentCompared
            | K::OutingPlanned
            | K::RosterSet
            | K::YardSettled
            | K::ForecastEstimated => self.books(kind),
            K::PersonAdded | K::PersonChanged | K::PersonErased | K::DeviceAdded | K::DeviceRevoked => {
                self.people(kind)
            }
            K::WalkRoundOpened
            | K::WalkRoundClosed
            | K::ReadingTaken
            | K::ObservationMade
            | K::ThingSet
            | K::FindingRaised
            | K::FindingClassed
            | K::FindingClosed
            | K::FallNoted
            | K::OdometerNoted => self.looks(kind),
            K::PartMounted
            | K::PartRemoved
            | K::JobOpened
            | K::JobMoved
            | K::JobProven
            | K::PhotoAttached
            | K::PhotoRemoved
            | K::PaperIssued
            | K::Withdrawn => self.workshop(kind),
            K::ServiceChanged
            | K::Released
            | K::Returned
            | K::Tagged
            | K::Untagged
            | K::CallNoted
            | K::Impounded
            | K::Settled => self.out(kind),
        }
    }

    fn books(&self, kind: Kind) -> Payload {
        let (machine, text, other) = (self.machine.clone(), self.text.clone(), self.other.clone());
        let replaces = self.maybe_id;
        match kind {
            Kind::YardDescribed => YardDescribed { text }.into(),
            Kind::SheetAttached => SheetAttached { sheet: other, text, replaces }.into(),
            Kind::LawAttached => LawAttached { pack: self.maybe.clone() }.into(),
            Kind::HouseRuleAttached => HouseRuleAttached { text, replaces }.into(),
            Kind::MachineRegistered => MachineRegistered { machine, text }.into(),
            Kind::MachineChanged => MachineChanged { machine, text, replaces: self.id }.into(),
            Kind::InstrumentRegistered => InstrumentRegistered { instrument: other, text }.into(),
            Kind::InstrumentCompared => {
                InstrumentCompared { instrument: other, on: text, good: self.truth, note: self.maybe.clone() }.into()
            }
            Kind::OutingPlanned => OutingPlanned {
                name: text,
                uses: self.some(Use::ALL),
                riders: vec![self.person.clone()],
                from: moment(&self.at),
                to: moment(&self.at),
                distance: self.maybe.clone(),
                machine: self.maybe(machine),
                worked_out: self.maybe(self.worked_out()),
            }
            .into(),
            Kind::RosterSet => {
                let (from, to) = (moment(&self.at), moment(&self.at));
                let row = RosterRow { machine, rider: self.maybe(self.person.clone()), from, to };
                RosterSet { day: text, rows: vec![row], replaces }.into()
            }
            Kind::YardSettled => YardSettled { events: self.ids.clone(), how: text }.into(),
            _ => ForecastEstimated { parameters: text, hash: other }.into(),
        }
    }

    fn people(&self, kind: Kind) -> Payload {
        let (person, text, device) = (self.person.clone(), self.text.clone(), self.id.device);
        let (role, rights) = (self.one(Role::ALL), self.some(Right::ALL));
        match kind {
            Kind::PersonAdded => PersonAdded { person, name: self.sealed(), role, rights }.into(),
            Kind::PersonChanged => {
                PersonChanged { person, name: self.maybe(self.sealed()), role, rights, active: self.truth }.into()
            }
            Kind::PersonErased => PersonErased { person, why: text }.into(),
            Kind::DeviceAdded => {
                DeviceAdded { device, key: text, label: self.other.clone(), person: self.maybe(person) }.into()
            }
            _ => DeviceRevoked { device, last: self.number, why: text }.into(),
        }
    }

    fn looks(&self, kind: Kind) -> Payload {
        let (machine, text, maybe) = (self.machine.clone(), self.text.clone(), self.maybe.clone());
        let (check, walk_round, finding, class) = (self.other.clone(), self.id, self.id, self.one(Class::ALL));
        let (why, note, odometer, air) = (maybe.clone(), maybe.clone(), maybe.clone(), maybe.clone());
        let corrects = self.maybe_id;
        match kind {
            Kind::WalkRoundOpened => WalkRoundOpened {
                machine,
                depth: self.one(Depth::ALL),
                found: self.found(),
                no_hold_tag: self.maybe(self.pick.is_multiple_of(2)),
                key_on_hook: self.maybe(self.truth),
                odometer,
                air,
                barometer: maybe,
                ridden: self.maybe(moment(&self.at)),
                planned: self.maybe(self.planned()),
                comma: self.truth,
            }
            .into(),
            Kind::WalkRoundClosed => WalkRoundClosed { machine, walk_round }.into(),
            Kind::ReadingTaken => {
                let (read, with, tyre) = (self.typed(), maybe.clone(), maybe);
                ReadingTaken { machine, walk_round, check, read, with, tyre, air, odometer, why, note, corrects }.into()
            }
            Kind::ObservationMade => {
                let (saw, class, defect) = (self.saw(), self.maybe(class), maybe);
                ObservationMade { machine, walk_round, check, saw, class, defect, why, note, corrects }.into()
            }
            Kind::ThingSet => ThingSet { machine, walk_round, check, act: text }.into(),
            Kind::FindingRaised => {
                let (walk_round, check, uses) = (self.maybe_id, maybe.clone(), self.some(Use::ALL));
                let (what, defect, feedback) = (text, maybe, self.truth);
                FindingRaised { machine, walk_round, check, what, class, defect, uses, feedback }.into()
            }
            Kind::FindingClassed => FindingClassed { machine, finding, class, defect: maybe, why: text }.into(),
            Kind::FindingClosed => FindingClosed { machine, finding, how: text }.into(),
            Kind::FallNoted => {
                let (rider, about_rider) = (self.maybe(self.person.clone()), self.maybe(self.sealed()));
                FallNoted { machine, how: text, rider, about_rider, odometer }.into()
            }
            _ => OdometerNoted { machine, odometer: text }.into(),
        }
    }

    fn workshop(&self, kind: Kind) -> Payload {
        let (machine, text, maybe) = (self.machine.clone(), self.text.clone(), self.maybe.clone());
        let (job, from, ended) = (self.id, self.id, self.some(Ending::ALL));
        match kind {
            Kind::PartMounted => {
                let (place, marking, odometer, on) = (text, maybe.clone(), maybe.clone(), maybe);
                PartMounted { machine, place, marking, odometer, on, ended, replaces: self.maybe_id }.into()
            }
            Kind::PartRemoved => PartRemoved { machine, mounted: self.id, odometer: maybe, why: text }.into(),
            Kind::JobOpened => {
                let (findings, tags) = (self.ids.clone(), self.ids.clone());
                JobOpened { machine, job: self.other.clone(), why: text, findings, tags, planned: None }.into()
            }
            Kind::JobMoved => {
                JobMoved { machine, job, from, to: self.one(JobState::ALL), note: maybe, ended, planned: None }.into()
            }
            Kind::JobProven => JobProven { machine, job, from, answers: self.ids.clone(), knew: self.maybe_id }.into(),
            Kind::PhotoAttached => {
                PhotoAttached { machine, of: self.maybe_id, sha256: text, bytes: self.number }.into()
            }
            Kind::PaperIssued => PaperIssued {
                machine: self.maybe(machine),
                document: self.one(Document::ALL),
                sha256: text,
                bytes: self.number,
                size: self.one(PaperSize::ALL),
                rests_on: maybe,
                event: self.maybe_id,
                tags: vec![self.other.clone()],
            }
            .into(),
            Kind::PhotoRemoved => PhotoRemoved { machine, photo: self.id, why: text }.into(),
            _ => Withdrawn { machine, event: self.id, why: text }.into(),
        }
    }

    fn out(&self, kind: Kind) -> Payload {
        let (machine, text, maybe) = (self.machine.clone(), self.text.clone(), self.maybe.clone());
        match kind {
            Kind::ServiceChanged => {
                ServiceChanged { machine, state: self.one(Service::ALL), why: maybe, replaces: self.maybe_id }.into()
            }
            Kind::Released => Released {
                machine,
                outing: text,
                planned: self.maybe_id,
                riders: vec![self.person.clone()],
                from: moment(&self.at),
                to: moment(&self.at),
                verdicts: BTreeMap::from([(self.one(Use::ALL), self.one(Verdict::ALL))]),
                conditions: vec![self.other.clone()],
                against: vec![self.other.clone()],
                reason: maybe,
                rests_on: self.rests_on(),
                worked_out: self.maybe(self.worked_out()),
                replaces: self.maybe_id,
            }
            .into(),
            Kind::Returned => {
                let (odometer, fuel, damage) = (maybe.clone(), maybe.clone(), maybe);
                Returned { machine, release: self.id, odometer, fuel, damage, key_back: self.truth }.into()
            }
            Kind::Tagged => {
                let rests_on = self.maybe(self.rests_on());
                Tagged { machine, why: text, number: maybe, rests_on, knew: self.maybe_id }.into()
            }
            Kind::Untagged => Untagged { machine, lifts: self.ids.clone(), reason: text, knew: self.maybe_id }.into(),
            Kind::CallNoted => CallNoted { machine, tag: self.id, release: self.id, answer: text }.into(),
            Kind::Impounded => Impounded { machine, why: text, rests_on: self.rests_on() }.into(),
            _ => Settled { machine, events: self.ids.clone(), how: text }.into(),
        }
    }
}
