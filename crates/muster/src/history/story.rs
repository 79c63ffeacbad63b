//! A story being told: what is due at which minute, and who does it.

use std::collections::BTreeMap;

use jiff::civil::Date;
use muster_core::{
    calendar::{Moment, days_later},
    forecast::lives::Seen,
    form::Outing,
    record::{
        decide::{Actor, Command},
        id::{EventId, PersonId},
        payload::{ForecastEstimated, Payload, Role},
    },
    words::Use,
};

use crate::keeper;

use super::{book::Book, forms::Sheet, random::Random, real::Real, scenes::Scene, settings::Settings, workshop::Work};

/// The devices, in the order of the settings.
pub(super) const OFFICE: usize = 0;
pub(super) const OLD_PHONE: usize = 1;
pub(super) const WORKSHOP: usize = 2;
pub(super) const PHONE: usize = 3;

/// What is due.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Task {
    Roster,
    Leaves(usize),
    Returns(usize),
    BeforeRide(usize),
    Release(usize),
    Fall(usize),
    AfterFall(usize),
    Return(usize),
    Full(usize),
    LayUp(usize),
    BackInService(usize),
    Wears(usize, usize),
    Begin(usize),
    Done(usize),
    Compare(usize),
    Cover(usize),
    Inspection(usize),
    Join(usize),
    Erase(usize),
    ChangeFile(usize),
    Form(usize),
    FormFall(usize),
    FormClose(usize),
    Estimate,
    Scene(Scene),
}

pub(super) struct Story<'s> {
    pub(super) settings: &'s Settings,
    pub(super) book: Book,
    pub(super) reals: Vec<Real>,
    pub(super) sheets: Vec<Sheet>,
    pub(super) files: BTreeMap<String, String>,
    pub(super) random: Random,
    /// Air at eight, and how much warmer the afternoon gets.
    pub(super) air: (f64, f64),
    pub(super) day: Date,
    tasks: BTreeMap<(Moment, u32), Task>,
    count: u32,
    pub(super) works: Vec<Work>,
    /// Outings planned for today.
    pub(super) outings: BTreeMap<Use, EventId>,
    /// Findings of the forms by their names.
    pub(super) named: BTreeMap<String, EventId>,
    /// What was true where something was read.
    pub(super) truths: Vec<(EventId, f64)>,
    /// Commands the core refused, with its reason.
    pub(super) refused: Vec<String>,
    /// The phone at the range is lost, and the next not there yet.
    pub(super) lost: bool,
    /// A tag that waits for the end of its scene.
    pub(super) scene_tag: Option<EventId>,
}

impl<'s> Story<'s> {
    pub(super) fn new(settings: &'s Settings, book: Book, sheets: Vec<Sheet>, files: BTreeMap<String, String>) -> Self {
        Self {
            settings,
            book,
            reals: Vec::new(),
            sheets,
            files,
            random: Random::of(settings.seed, "story"),
            air: (10.0, 4.0),
            day: settings.from,
            tasks: BTreeMap::new(),
            count: 0,
            works: Vec::new(),
            outings: BTreeMap::new(),
            named: BTreeMap::new(),
            truths: Vec::new(),
            refused: Vec::new(),
            lost: false,
            scene_tag: None,
        }
    }

    /// Tells it to the end.
    pub(super) fn tell(&mut self) {
        let mut weather = Random::of(self.settings.seed, "weather");
        let mut departure = 0.0;
        let mut day = self.settings.from;
        while day <= self.settings.to {
            self.day = day;
            self.weather(&mut weather, &mut departure);
            self.reals.iter_mut().for_each(|real| real.wakes(day));
            if day == self.settings.to {
                self.due(self.at(5, 0), Task::Estimate);
            }
            self.plans_day();
            while let Some((key, task)) = self.tasks.pop_first() {
                if key.0.date() > day {
                    self.tasks.insert(key, task);
                    break;
                }
                self.does(task, key.0);
            }
            day = days_later(day, 1);
        }
    }

    fn weather(&mut self, random: &mut Random, departure: &mut f64) {
        let rules = &self.settings.weather;
        let month = self.day.month() as usize - 1;
        let of = |row: &[f64]| row.get(month).copied().unwrap_or(10.0);
        let fresh = libm::sqrt(1.0 - rules.keeps * rules.keeps);
        *departure = rules.keeps * *departure + fresh * random.normal(0.0, 1.0);
        let mean = of(&rules.mean_c);
        self.air = (mean + *departure * of(&rules.spread_k), 1.5 + mean * 0.3);
    }

    /// Puts a task on its minute.
    pub(super) fn due(&mut self, at: Moment, task: Task) {
        self.count += 1;
        self.tasks.insert((at, self.count), task);
    }

    /// A minute of today.
    pub(super) fn at(&self, hour: i64, minute: i64) -> Moment {
        self.settings.at(self.day, hour, minute)
    }

    pub(super) fn air_c(&self, now: Moment) -> f64 {
        super::gauge::air_at(self.air.0, now, self.air.1)
    }

    /// Carries out a command; a refusal is noted and the story goes on, as people do.
    pub(super) fn act(&mut self, pen: usize, command: Command, person: &PersonId, at: Moment) -> Option<EventId> {
        self.act_for(pen, command, Actor { person, now: at }, None)
    }

    pub(super) fn act_for(
        &mut self,
        pen: usize,
        command: Command,
        actor: Actor<'_>,
        outing: Option<Outing>,
    ) -> Option<EventId> {
        let machine = command.machine().map(|id| format!("{id} ")).unwrap_or_default();
        let what = command.kind();
        match self.book.act(pen, command, actor, outing) {
            Ok(ids) => ids.last().copied(),
            Err(error) => {
                self.refused.push(format!("{} {machine}{what}: {error}", actor.now));
                None
            }
        }
    }

    /// Writes an event that rests on nothing but what it says.
    pub(super) fn write(
        &mut self,
        pen: usize,
        payload: impl Into<Payload>,
        person: &PersonId,
        at: Moment,
    ) -> Option<EventId> {
        self.act(pen, Command::Write(payload.into()), person, at)
    }

    /// The device in hand at the range today.
    pub(super) fn range_pen(&self) -> usize {
        let new = self.settings.devices.get(PHONE).and_then(|device| device.from);
        match new {
            _ if self.lost => OFFICE,
            Some(from) if self.day < from => OLD_PHONE,
            _ => PHONE,
        }
    }

    /// People of a role who are here today.
    pub(super) fn people(&self, role: Role) -> Vec<PersonId> {
        let here = |from: Option<Date>| from.is_none_or(|from| from < self.day);
        let rows = self.settings.people.iter().filter(|row| row.role == role && here(row.from));
        rows.filter(|row| row.erased.is_none_or(|on| self.day < on)).map(|row| row.id.clone()).collect()
    }

    /// The person of a name.
    pub(super) fn named_person(&self, name: &str) -> PersonId {
        let row = self.settings.people.iter().find(|row| row.name == name);
        row.map_or_else(|| self.owner(), |row| row.id.clone())
    }

    pub(super) fn owner(&self) -> PersonId {
        self.first(Role::Owner)
    }

    pub(super) fn mechanic(&self) -> PersonId {
        self.first(Role::Workshop)
    }

    fn first(&self, role: Role) -> PersonId {
        let row = self.settings.people.iter().find(|row| row.role == role).or(self.settings.people.first());
        // Settings without people tell no story: founding has refused them.
        row.map(|row| row.id.clone()).unwrap_or_else(super::founding::nobody)
    }

    pub(super) fn pick(&mut self, from: &[PersonId]) -> PersonId {
        let index = self.random.index(from.len());
        from.get(index).cloned().unwrap_or_else(|| self.owner())
    }

    pub(super) fn index_of(&self, machine: &str) -> Option<usize> {
        self.reals.iter().position(|real| real.id == machine)
    }

    /// The office's computer estimates wear, as it does each night; the record keeps the last one.
    fn estimates(&mut self, at: Moment) {
        let parameters = {
            let known = self.book.known(OFFICE);
            let seen: Vec<Seen<'_>> = known.machines().map(Seen::of).collect();
            keeper::estimate(&self.book.catalogue, &known.yard, &seen, at)
        };
        let (estimate, parameters) = parameters;
        let owner = self.owner();
        self.write(OFFICE, ForecastEstimated { parameters, hash: estimate.hash }, &owner, at);
    }

    fn does(&mut self, task: Task, at: Moment) {
        match task {
            Task::Roster => self.sets_roster(at),
            Task::Leaves(pen) => self.book.leaves(pen),
            Task::Returns(pen) => self.book.returns(pen),
            Task::BeforeRide(index) => self.looks_before_ride(index, at),
            Task::Release(index) => self.releases(index, at),
            Task::Fall(index) => self.falls(index, at),
            Task::AfterFall(index) => self.looks_after_fall(index, at),
            Task::Return(index) => self.comes_back(index, at),
            Task::Full(index) => self.looks_over(index, at),
            Task::LayUp(index) => self.lays_up(index, at),
            Task::BackInService(index) => self.brings_back(index, at),
            Task::Wears(index, life) => self.wears_out(index, life, at),
            Task::Begin(work) => self.begins(work, at),
            Task::Done(work) => self.finishes(work, at),
            Task::Compare(row) => self.compares(row, at),
            Task::Cover(index) => self.covers(index, at),
            Task::Inspection(index) => self.inspected(index, at),
            Task::Join(row) => self.joins(row, at),
            Task::Erase(row) => self.erases(row, at),
            Task::ChangeFile(row) => self.changes_file(row, at),
            Task::Form(sheet) => self.fills(sheet),
            Task::FormFall(sheet) => self.form_fall(sheet, at),
            Task::FormClose(sheet) => self.form_closes(sheet),
            Task::Estimate => self.estimates(at),
            Task::Scene(scene) => self.plays(scene, at),
        }
    }
}
