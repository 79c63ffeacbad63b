//! What happens once: a lost phone, a tag against an untagging, a machine called in, a crash, a withdrawn figure.

use muster_core::{
    calendar::{Moment, date},
    record::{
        decide::Command,
        payload::{CallNoted, DeviceRevoked, FallNoted, FindingClosed, FindingRaised, OdometerNoted, Role, Withdrawn},
    },
    state::Heat,
    words::{Class, Depth, Service, Use},
};

use super::{
    real::grouped_km,
    story::{OFFICE, OLD_PHONE, PHONE, Story, Task, WORKSHOP},
    walk::Stroll,
};

/// One of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Scene {
    /// An odometer typed with a figure too many is withdrawn.
    Mistyped,
    /// A rider says something.
    Feedback,
    /// The workshop has looked.
    Answered,
    /// The old phone slides out of a pocket; what it holds is not sent.
    PhoneLost,
    PhoneRevoked,
    PhoneFound,
    /// A tag is hung in the evening.
    Tagged,
    /// The range phone is out of reach, and the workshop lifts the tag.
    Untagged,
    /// The range phone, not knowing, hangs another.
    TaggedUnknowing,
    /// A person has looked.
    TagSettled,
    /// Crashed, impounded, lifted ten days later.
    Crashed,
    Lifted,
    /// Out on the range while the office learns of something.
    TaggedWhileOut,
    Called,
    Untagging,
}

const SCENES: &[(&str, i64, i64, Scene)] = &[
    ("2025-11-05", 17, 2, Scene::Mistyped),
    ("2026-04-22", 16, 20, Scene::Feedback),
    ("2026-04-23", 9, 40, Scene::Answered),
    ("2026-05-16", 16, 50, Scene::PhoneLost),
    ("2026-05-18", 7, 0, Scene::PhoneRevoked),
    ("2026-05-29", 17, 30, Scene::PhoneFound),
    ("2026-06-09", 16, 45, Scene::Tagged),
    ("2026-06-10", 9, 10, Scene::Untagged),
    ("2026-06-10", 9, 42, Scene::TaggedUnknowing),
    ("2026-06-10", 15, 15, Scene::TagSettled),
    ("2026-06-20", 11, 10, Scene::Crashed),
    ("2026-06-30", 10, 30, Scene::Lifted),
    ("2026-10-07", 10, 40, Scene::TaggedWhileOut),
    ("2026-10-07", 10, 46, Scene::Called),
    ("2026-10-07", 15, 30, Scene::Untagging),
];

/// Machines that ride on a day because a scene needs them.
pub(super) const FORCED: &[(&str, &str)] = &[("H-17", "2026-06-20"), ("H-02", "2026-10-07")];

impl Story<'_> {
    pub(super) fn plans_scenes(&mut self) {
        for (on, hour, minute, scene) in SCENES {
            let Some(on) = date(on).filter(|on| *on >= self.settings.from && *on <= self.settings.to) else { continue };
            let at = self.settings.at(on, *hour, *minute);
            self.due(at, Task::Scene(*scene));
        }
    }

    pub(super) fn plays(&mut self, scene: Scene, at: Moment) {
        match scene {
            Scene::Mistyped => self.mistypes(at),
            Scene::Feedback => self.feeds_back(at),
            Scene::Answered => self.answers_feedback(at),
            Scene::PhoneLost => self.loses_phone(at),
            Scene::PhoneRevoked => self.revokes_phone(at),
            Scene::PhoneFound => self.book.returns(OLD_PHONE),
            Scene::Tagged => {
                let mechanic = self.mechanic();
                self.tags(WORKSHOP, "H-08", "chain guard loose, to be bolted tomorrow", (&mechanic, at));
                self.busy_today("H-08", 1);
            }
            Scene::Untagged => {
                let mechanic = self.mechanic();
                self.book.leaves(PHONE);
                self.lifts(WORKSHOP, "H-08", "chain guard bolted", (&mechanic, at));
            }
            Scene::TaggedUnknowing => {
                let instructors = self.people(Role::Instructor);
                let person = self.pick(&instructors);
                self.tags(PHONE, "H-08", "still waits for its chain guard", (&person, at));
                let back = self.at(13, 0);
                self.due(back, Task::Returns(PHONE));
            }
            Scene::TagSettled => {
                let mechanic = self.mechanic();
                self.lifts(WORKSHOP, "H-08", "looked: the guard is bolted, the tag had not seen it", (&mechanic, at));
            }
            Scene::Crashed => self.crashes(at),
            Scene::Lifted => self.lifts_impounding(at),
            Scene::TaggedWhileOut => {
                let owner = self.owner();
                self.tags(OFFICE, "H-02", "its front tyre may be of a batch called back", (&owner, at));
            }
            Scene::Called => self.calls(at),
            Scene::Untagging => {
                let owner = self.owner();
                self.lifts(OFFICE, "H-02", "number on the wall is of another batch", (&owner, at));
            }
        }
    }

    fn mistypes(&mut self, at: Moment) {
        let Some(index) = self.index_of("H-24") else { return };
        let Some(real) = self.reals.get(index) else { return };
        let (machine, wrong) = (real.id.clone(), grouped_km(real.km * 10.0));
        let owner = self.owner();
        let noted = self.write(OFFICE, OdometerNoted { machine: machine.clone(), odometer: wrong }, &owner, at);
        if let Some(event) = noted {
            let why = "a figure too many".into();
            self.write(OFFICE, Withdrawn { machine, event, why }, &owner, at.later_by(95));
        }
    }

    fn feeds_back(&mut self, at: Moment) {
        let riders = self.people(Role::Rider);
        let person = self.pick(&riders);
        let finding = FindingRaised {
            machine: "H-01".into(),
            walk_round: None,
            check: None,
            what: "pulls to the left under braking".into(),
            class: Class::Major,
            defect: None,
            uses: [Use::Range].into(),
            feedback: true,
        };
        self.scene_tag = self.write(OLD_PHONE, finding, &person, at);
    }

    fn answers_feedback(&mut self, at: Moment) {
        let (mechanic, finding) = (self.mechanic(), self.scene_tag.take());
        if let Some(finding) = finding {
            let how = "ridden and looked at: a low front tyre, pumped; nothing else".into();
            self.write(WORKSHOP, FindingClosed { machine: "H-01".into(), finding, how }, &mechanic, at);
        }
    }

    /// The phone goes out of reach with figures nobody else has.
    fn loses_phone(&mut self, at: Moment) {
        let instructors = self.people(Role::Instructor);
        let person = self.pick(&instructors);
        self.book.leaves(OLD_PHONE);
        for (number, machine) in ["H-04", "H-10", "H-15"].into_iter().enumerate() {
            let Some(real) = self.index_of(machine).and_then(|index| self.reals.get(index)) else { continue };
            let noted = OdometerNoted { machine: machine.into(), odometer: real.odometer() };
            self.write(OLD_PHONE, noted, &person, at.later_by(number as i64 * 70));
        }
        self.lost = true;
    }

    fn revokes_phone(&mut self, at: Moment) {
        let owner = self.owner();
        let Some((device, _)) = self.book.device(OLD_PHONE) else { return };
        let last = self.book.last_of(OLD_PHONE);
        let revoked = DeviceRevoked { device, last, why: "lost on the way home on Saturday".into() };
        self.write(OFFICE, revoked, &owner, at);
        self.adds_phone(at.later_by(600));
        self.lost = false;
    }

    fn tags(
        &mut self,
        pen: usize,
        machine: &str,
        why: &str,
        (person, at): (&muster_core::record::id::PersonId, Moment),
    ) {
        self.act(pen, Command::Tag { machine: machine.into(), why: why.into(), number: None }, person, at);
    }

    /// Lifts every tag that hangs there, by name.
    fn lifts(
        &mut self,
        pen: usize,
        machine: &str,
        reason: &str,
        (person, at): (&muster_core::record::id::PersonId, Moment),
    ) {
        let state = self.book.machine(pen, machine);
        let lifts = state.map(|state| state.hanging().map(|(id, _)| id).collect()).unwrap_or_default();
        self.act(pen, Command::Untag { machine: machine.into(), lifts, reason: reason.into() }, person, at);
    }

    fn busy_today(&mut self, machine: &str, days: i32) {
        let till = muster_core::calendar::days_later(self.day, days);
        let index = self.index_of(machine);
        let real = index.and_then(|index| self.reals.get_mut(index));
        real.into_iter().for_each(|real| real.busy = real.busy.max(Some(till)));
    }

    fn crashes(&mut self, at: Moment) {
        let Some(index) = self.index_of("H-17") else { return };
        let person = self.named_person("M. Okafor");
        let machine = String::from("H-17");
        let how = "ran into the barrier of the range at walking pace".into();
        let fall = FallNoted { machine: machine.clone(), how, rider: None, about_rider: None, odometer: None };
        self.write(PHONE, fall, &person, at);
        self.tags(PHONE, "H-17", "struck the barrier", (&person, at.later_by(240)));
        let stroll = Stroll {
            index,
            depth: Depth::AfterAFall,
            one: Use::Range,
            pen: PHONE,
            person: person.clone(),
            at: at.later_by(900),
            planned: None,
            heat: Heat::Warm,
            only: None,
            mended: None,
        };
        self.walks(&stroll);
        let why = "the barrier's owner claims; kept till the insurer has seen it".into();
        self.act(PHONE, Command::Impound { machine, why }, &person, at.later_by(2700));
        self.busy_today("H-17", 10);
        self.comes_back(index, at.later_by(3000));
    }

    fn lifts_impounding(&mut self, at: Moment) {
        let Some(index) = self.index_of("H-17") else { return };
        self.serves(index, Service::InService, Some("the insurer has seen it, nothing is claimed"), at);
        let mechanic = self.mechanic();
        let stroll = Stroll {
            index,
            depth: Depth::BackInService,
            one: Use::Range,
            pen: WORKSHOP,
            person: mechanic.clone(),
            at: at.later_by(1200),
            planned: None,
            heat: Heat::Cold,
            only: None,
            mended: None,
        };
        if let Some(walked) = self.walks(&stroll) {
            self.hears(&stroll, &walked);
            self.lifts(
                WORKSHOP,
                "H-17",
                "looked over whole, bars and fork true",
                (&mechanic, walked.end.later_by(300)),
            );
        }
    }

    fn calls(&mut self, at: Moment) {
        let machine = String::from("H-02");
        let Some(index) = self.index_of(&machine) else { return };
        let state = self.book.machine(OFFICE, &machine);
        let tag = state.and_then(|state| state.hanging().next().map(|(id, _)| id));
        let release = state.and_then(|state| state.out().next().map(|(id, _)| id));
        let owner = self.owner();
        if let (Some(tag), Some(release)) = (tag, release) {
            let answer = "stopped at the gate, pushed in".into();
            self.write(OFFICE, CallNoted { machine, tag, release, answer }, &owner, at);
            self.due(at.later_by(1140), Task::Return(index));
        }
    }

    /// A person's key is destroyed on their wish.
    pub(super) fn erases(&mut self, row: usize, at: Moment) {
        let owner = self.owner();
        let Some(person) = self.settings.people.get(row).map(|row| row.id.clone()) else { return };
        let why = "asked for it by letter, course finished in January".into();
        self.act(OFFICE, Command::Erase { person, why }, &owner, at);
    }
}
