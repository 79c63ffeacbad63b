//! Riding: signing out, falls, the look after one, coming back.

use muster_core::{
    calendar::Moment,
    form::Outing,
    quantity::Distance,
    record::{
        decide::{Actor, Command, ReleaseAsked},
        payload::{FallNoted, OdometerNoted, Returned, Role},
    },
    state::Heat,
    words::{Depth, Use, Uses},
};

use super::{
    day::outing_name,
    story::{OFFICE, Story, Task},
    walk::Stroll,
};

impl Story<'_> {
    /// It goes out: signed in the record, or on paper.
    pub(super) fn releases(&mut self, index: usize, at: Moment) {
        let Some(real) = self.reals.get(index) else { return };
        let Some(one) = real.riding else { return };
        let machine = real.id.clone();
        let (from, to) = (at.max(self.at(9, 0)), self.back(one));
        let signed = one != Use::Range || self.day >= self.settings.releases_from;
        if signed {
            let riders = self.people(Role::Rider);
            let rider = self.pick(&riders);
            let instructors = self.people(Role::Instructor);
            let person = self.pick(&instructors);
            let release = ReleaseAsked {
                machine,
                outing: outing_name(one, self.day),
                planned: self.outings.get(&one).copied(),
                uses: Uses::NONE.with(one),
                riders: vec![rider],
                from,
                to,
                reason: None,
                outings: Vec::new(),
                done: Vec::new(),
            };
            let outing = Outing { planned: one, back: to, distance: None::<Distance> };
            let out = self.act_for(
                self.range_pen(),
                Command::Release(release),
                Actor { person: &person, now: at },
                Some(outing),
            );
            let Some(out) = out else { return self.stays(index) };
            if let Some(real) = self.reals.get_mut(index) {
                real.out = Some(out);
            }
        }
        let form = self.form_falls(index);
        let quiet = self.reals.get(index).is_none_or(|real| real.is_quiet(self.day));
        if one == Use::Range && !quiet && self.random.chance(self.settings.habits.falls) {
            let minutes = self.random.index(300) as i64;
            let falls = self.at(9, 40).later_by(minutes * 60);
            self.due(falls, Task::Fall(index));
        }
        if !form || self.reals.get(index).is_some_and(|real| real.id == "H-10") {
            self.due(to.later_by(index as i64 * 25), Task::Return(index));
        }
    }

    /// It fell.
    pub(super) fn falls(&mut self, index: usize, at: Moment) {
        let Some(real) = self.reals.get(index) else { return };
        if real.riding.is_none() {
            return;
        }
        let machine = real.id.clone();
        let how = [
            "dropped in the slow slalom",
            "slipped on wet paint while braking",
            "fell over at a standstill",
            "ran wide onto the grass and fell",
        ];
        let how = self.random.pick(&how).copied().unwrap_or("fell over");
        let instructors = self.people(Role::Instructor);
        let person = self.pick(&instructors);
        let fall = FallNoted { machine, how: how.into(), rider: None, about_rider: None, odometer: None };
        self.write(self.range_pen(), fall, &person, at);
        if self.random.chance(self.settings.habits.damage) {
            let weights: Vec<f64> = self.settings.faults.iter().map(|kind| kind.fall).collect();
            let mut left = self.random.between(0.0, weights.iter().sum());
            let broken = weights.iter().position(|weight| {
                left -= weight;
                left < 0.0
            });
            let applies = broken.filter(|kind| self.can_have(index, *kind));
            if let (Some(kind), Some(real)) = (applies, self.reals.get_mut(index)) {
                real.faults.push(kind);
            }
        }
        self.due(at.later_by(720), Task::AfterFall(index));
    }

    /// Whether a machine has what a kind of fault breaks.
    fn can_have(&self, index: usize, kind: usize) -> bool {
        let (Some(real), Some(kind)) = (self.reals.get(index), self.settings.faults.get(kind)) else { return false };
        let Some(machine) = self.book.known(OFFICE).yard.machines.get(&real.id) else { return false };
        let Some(check) = self.book.catalogue.check(&kind.check) else { return false };
        let equipment = &machine.traits.equipment;
        check.applies.holds(equipment) != muster_core::equipment::Holds::No
            && check.requires.lacking(equipment).is_empty()
    }

    pub(super) fn looks_after_fall(&mut self, index: usize, at: Moment) {
        let instructors = self.people(Role::Instructor);
        let person = self.pick(&instructors);
        let one = self.reals.get(index).map_or(Use::Range, |real| real.main_use);
        let pen = self.range_pen();
        let stroll = Stroll {
            index,
            depth: Depth::AfterAFall,
            one,
            pen,
            person,
            at,
            planned: None,
            heat: Heat::Warm,
            only: None,
            mended: None,
        };
        let Some(walked) = self.walks(&stroll) else { return };
        self.hears(&stroll, &walked);
        if walked.raised.iter().any(|(kind, _)| self.stops(*kind, Use::Range)) {
            let back = walked.end.later_by(300);
            self.due(back, Task::Return(index));
        }
    }

    /// It comes back.
    pub(super) fn comes_back(&mut self, index: usize, at: Moment) {
        let kept = self.kept_km(index);
        let day = self.day;
        let Some(real) = self.reals.get_mut(index) else { return };
        let Some(one) = real.riding.take() else { return };
        let km = kept.unwrap_or_else(|| {
            let ride = real.course.rides.get(&day).map_or(0.0, |ride| ride.km);
            let extra = real.carried_km.min(libm::round(ride * 0.4));
            real.carried_km -= extra;
            ride + extra
        });
        real.rides(one, km);
        real.ridden = Some(at);
        let (machine, odometer, out) = (real.id.clone(), real.odometer(), real.out.take());
        let instructors = self.people(Role::Instructor);
        let person = self.pick(&instructors);
        let fuel = if self.random.chance(0.3) { "filled up" } else { "half and more" };
        let pen = self.range_pen();
        match out {
            Some(release) => {
                let back = Returned {
                    machine,
                    release,
                    odometer: Some(odometer),
                    fuel: Some(fuel.into()),
                    damage: None,
                    key_back: true,
                };
                self.write(pen, back, &person, at)
            }
            None => self.write(pen, OdometerNoted { machine, odometer }, &person, at),
        };
    }
}
