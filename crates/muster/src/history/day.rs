//! A day at the school: who rides what, the walk-rounds before it, signing out, falls, coming back.

use std::collections::BTreeMap;

use jiff::civil::Date;
use muster_core::{
    calendar::{Moment, days_between, days_later},
    record::{
        id::PersonId,
        payload::{OutingPlanned, Planned, Role, RosterRow, RosterSet, ServiceChanged},
    },
    state::Heat,
    words::{Depth, Service, Use},
};

use super::{
    gauge::fixed,
    story::{OFFICE, Story, Task, WORKSHOP},
    walk::Stroll,
};

impl Story<'_> {
    /// Puts what happens once on its day.
    pub(super) fn plans_once(&mut self) {
        let settings = self.settings;
        for (row, compared) in settings.compared.iter().enumerate() {
            let bad = compared.bad.iter().map(|(on, _)| (*on, 16));
            let days = compared.on.iter().skip(1).map(|on| (*on, 8)).chain(bad);
            for (on, hour) in days.filter(|(on, _)| (settings.from..=settings.to).contains(on)) {
                self.due(settings.at(on, hour, 20), Task::Compare(row));
            }
        }
        for (row, person) in settings.people.iter().enumerate() {
            person.from.into_iter().for_each(|on| self.due(settings.at(on, 8, 40), Task::Join(row)));
            person.erased.into_iter().for_each(|on| self.due(settings.at(on, 11, 5), Task::Erase(row)));
        }
        for (row, (_, on)) in settings.changed.iter().enumerate() {
            self.due(settings.at(*on, 8, 5), Task::ChangeFile(row));
        }
        self.plans_forms();
        self.plans_scenes();
        for index in 0..self.reals.len() {
            self.plans_machine(index);
        }
    }

    fn plans_machine(&mut self, index: usize) {
        let settings = self.settings;
        let Some(real) = self.reals.get(index).cloned() else { return };
        if let Some((out, back)) = real.bike.laid_up {
            self.due(settings.at(out, 15, 30), Task::LayUp(index));
            self.due(settings.at(back, 9, 30), Task::BackInService(index));
        }
        for (day, lives) in &real.changes {
            lives.iter().for_each(|life| self.due(settings.at(*day, 9, 10), Task::Wears(index, *life)));
        }
        if !real.plate || real.bike.from.is_some() {
            return;
        }
        let first = real.form_days.first().copied().unwrap_or(settings.to);
        let renewals: Vec<Date> = settings.covers.iter().map(|cover| cover.from).collect();
        for on in renewals.into_iter().filter(|on| *on > settings.from && *on < first) {
            let new = settings.cover(&real.id, on) != settings.cover(&real.id, days_later(on, -1));
            if new {
                self.due(settings.at(on, 17, 5), Task::Cover(index));
            }
        }
        let renewed = real.inspection.and_then(|last| last.checked_sub(jiff::Span::new().years(1)).ok());
        let renewed = renewed.map(|on| days_later(on, -7)).filter(|on| *on > settings.from && *on < first);
        renewed.into_iter().for_each(|on| self.due(settings.at(on, 17, 20), Task::Inspection(index)));
    }

    /// Plans the day's riding and walk-rounds.
    pub(super) fn plans_day(&mut self) {
        self.outings.clear();
        if !self.settings.is_open(self.day) {
            return;
        }
        let pen = self.range_pen();
        if self.random.chance(self.settings.habits.offline) && self.day > days_later(self.settings.from, 10) {
            let leaves = self.at(7, 5);
            let returns = self.at(13, 0);
            self.due(leaves, Task::Leaves(pen));
            self.due(returns, Task::Returns(pen));
        }
        let riding: Vec<usize> = (0..self.reals.len()).filter(|index| self.rides_today(*index)).collect();
        let day = self.day;
        for (index, real) in self.reals.iter_mut().enumerate() {
            let kept_in = !riding.contains(&index) && !real.form_days.contains(&day);
            real.carried_km += real.course.rides.get(&day).filter(|_| kept_in).map_or(0.0, |ride| ride.km);
        }
        if !riding.is_empty() {
            let at = self.at(6, 50);
            self.due(at, Task::Roster);
        }
        for (number, index) in riding.iter().enumerate() {
            let at = self.at(7, 10).later_by(number as i64 * 390);
            self.due(at, Task::BeforeRide(*index));
        }
        let resting = |index: &usize| !riding.contains(index) && self.is_due_full(*index);
        let full: Vec<usize> = (0..self.reals.len()).filter(resting).take(3).collect();
        for (number, index) in full.into_iter().enumerate() {
            let at = self.at(10, 15).later_by(number as i64 * 3000);
            self.due(at, Task::Full(index));
        }
    }

    fn rides_today(&self, index: usize) -> bool {
        let Some(real) = self.reals.get(index) else { return false };
        let falls = self
            .sheets
            .iter()
            .any(|sheet| sheet.machine == real.id && sheet.day() == self.day && sheet.depth == Depth::AfterAFall);
        let form = real.form_days.contains(&self.day) && !falls;
        let changed = real.changes.contains_key(&self.day);
        real.course.rides.contains_key(&self.day) && real.is_there(self.day) && !form && !changed
    }

    fn is_due_full(&self, index: usize) -> bool {
        let Some(real) = self.reals.get(index) else { return false };
        let near = real.form_days.first().is_none_or(|first| self.day >= days_later(*first, -3));
        let last = days_between(real.full_on, self.day);
        real.is_there(self.day)
            && !near
            && !real.changes.contains_key(&self.day)
            && last >= self.settings.habits.full_every_days
    }

    /// The office writes who has which machine, and plans the outings.
    pub(super) fn sets_roster(&mut self, at: Moment) {
        let owner = self.owner();
        let riders = self.people(Role::Rider);
        let (from, to) = (self.at(9, 0), self.at(16, 5));
        let mut rows = Vec::new();
        let mut uses: BTreeMap<Use, Vec<PersonId>> = BTreeMap::new();
        for index in 0..self.reals.len() {
            if !self.rides_today(index) {
                continue;
            }
            let rider = self.pick(&riders);
            let Some(real) = self.reals.get(index) else { continue };
            let one = real.course.rides.get(&self.day).map_or(Use::Range, |ride| ride.one);
            rows.push(RosterRow { machine: real.id.clone(), rider: Some(rider.clone()), from, to });
            uses.entry(one).or_default().push(rider);
        }
        self.write(OFFICE, RosterSet { day: self.day.to_string(), rows, replaces: None }, &owner, at);
        for (one, mut riders) in uses {
            riders.sort();
            riders.dedup();
            let to = self.back(one);
            let name = outing_name(one, self.day);
            let uses = vec![one];
            let planned =
                OutingPlanned { name, uses, riders, from, to, distance: None, machine: None, worked_out: None };
            let id = self.write(OFFICE, planned, &owner, at.later_by(60));
            id.into_iter().for_each(|id| _ = self.outings.insert(one, id));
        }
    }

    /// When an outing of a use is back.
    pub(super) fn back(&self, one: Use) -> Moment {
        match one {
            Use::Range => self.at(16, 5),
            Use::Road | Use::Passenger => self.at(16, 30),
            Use::Dark => self.at(20, 30),
        }
    }

    pub(super) fn looks_before_ride(&mut self, index: usize, at: Moment) {
        if !self.rides_today(index) {
            return;
        }
        let instructors = self.people(Role::Instructor);
        let person = self.pick(&instructors);
        let Some(ride) = self.reals.get(index).and_then(|real| real.course.rides.get(&self.day).copied()) else {
            return;
        };
        self.punctures(index);
        let pen = self.range_pen();
        let warm = ride.one != Use::Range && self.random.chance(self.settings.habits.warm * 2.0);
        let warm = warm && !self.needs_cold(index, pen, ride.one, at);
        let planned = Planned { one: ride.one, back: self.back(ride.one), distance: Some(fixed(ride.km, 0, "km")) };
        let stroll = Stroll {
            index,
            depth: Depth::BeforeRide,
            one: ride.one,
            pen,
            person,
            at,
            planned: Some(planned),
            heat: if warm { Heat::Warm } else { Heat::Cold },
            only: None,
            mended: None,
        };
        let Some(walked) = self.walks(&stroll) else { return };
        self.hears(&stroll, &walked);
        if let Some(real) = self.reals.get_mut(index) {
            real.riding = Some(ride.one);
        }
        let ready = walked.end.max(self.at(8, 40)).later_by(index as i64 * 20);
        if !walked.clean && walked.raised.is_empty() {
            // Somebody sees that a check was left out, or that the fault is still there.
            let again = Stroll { at: walked.end.later_by(600), ..stroll };
            let walked = self.walks(&again);
            if walked.is_none_or(|walked| !walked.clean) {
                return self.stays(index);
            }
        } else if walked.raised.iter().any(|(kind, _)| self.stops(*kind, ride.one)) {
            return self.stays(index);
        }
        self.due(ready, Task::Release(index));
    }

    /// A nail in the night.
    fn punctures(&mut self, index: usize) {
        let quiet = self.reals.get(index).is_none_or(|real| real.is_quiet(self.day));
        if quiet || !self.random.chance(self.settings.habits.puncture) {
            return;
        }
        let rear = self.random.chance(0.75);
        let check = if rear { "tyre.rear.damage" } else { "tyre.front.damage" };
        let kind = self.settings.faults.iter().position(|kind| kind.check == check);
        let (sunk, air) = (self.random.between(60.0, 120.0), self.air.0);
        if let (Some(kind), Some(real)) = (kind, self.reals.get_mut(index)) {
            real.faults.push(kind);
            real.pump(usize::from(rear), sunk, air);
        }
    }

    /// It does not go out today; its kilometres are ridden another day.
    pub(super) fn stays(&mut self, index: usize) {
        if let Some(real) = self.reals.get_mut(index) {
            real.carried_km += real.course.rides.get(&self.day).map_or(0.0, |ride| ride.km);
            real.riding = None;
        }
    }

    /// The workshop looks a machine over.
    pub(super) fn looks_over(&mut self, index: usize, at: Moment) {
        let Some(real) = self.reals.get(index) else { return };
        if !real.is_there(self.day) || real.riding.is_some() {
            return;
        }
        let one = real.main_use;
        let workers = self.people(Role::Workshop);
        let person = self.pick(&workers);
        let stroll = Stroll {
            index,
            depth: Depth::Full,
            one,
            pen: WORKSHOP,
            person,
            at,
            planned: None,
            heat: Heat::Cold,
            only: None,
            mended: None,
        };
        if let Some(walked) = self.walks(&stroll) {
            self.hears(&stroll, &walked);
            let day = self.day;
            self.reals.get_mut(index).into_iter().for_each(|real| real.full_on = day);
        }
    }

    pub(super) fn lays_up(&mut self, index: usize, at: Moment) {
        self.serves(index, Service::LaidUp, Some("for the winter"), at);
        self.reals.get_mut(index).into_iter().for_each(|real| real.laid_up = true);
    }

    pub(super) fn brings_back(&mut self, index: usize, at: Moment) {
        self.serves(index, Service::InService, Some("spring"), at);
        let Some(real) = self.reals.get_mut(index) else { return };
        real.laid_up = false;
        let one = real.main_use;
        let person = self.mechanic();
        let at = at.later_by(600);
        let stroll = Stroll {
            index,
            depth: Depth::BackInService,
            one,
            pen: WORKSHOP,
            person,
            at,
            planned: None,
            heat: Heat::Cold,
            only: None,
            mended: None,
        };
        if let Some(walked) = self.walks(&stroll) {
            self.hears(&stroll, &walked);
        }
    }

    /// Sets a service state, by the workshop.
    pub(super) fn serves(&mut self, index: usize, state: Service, why: Option<&str>, at: Moment) {
        let Some(machine) = self.reals.get(index).map(|real| real.id.clone()) else { return };
        let replaces = self.book.machine(WORKSHOP, &machine).and_then(|state| state.service).map(|(_, id)| id);
        let owner = self.owner();
        let changed = ServiceChanged { machine, state, why: why.map(str::to_string), replaces };
        self.write(OFFICE, changed, &owner, at);
    }
}

/// What people call an outing.
pub(super) fn outing_name(one: Use, day: Date) -> String {
    let what = match one {
        Use::Range => "Range session",
        Use::Road => "Road lesson",
        Use::Passenger => "Road lesson, two up",
        Use::Dark => "Night lesson",
    };
    format!("{what} {day}")
}
