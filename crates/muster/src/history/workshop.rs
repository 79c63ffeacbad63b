//! The workshop: what was found or has worn out becomes a job, is done, and is proven by its readings.

use jiff::civil::Date;
use muster_core::{
    calendar::{Moment, days_later},
    record::{
        decide::Command,
        id::EventId,
        payload::{
            FindingClosed, JobMoved, JobOpened, JobState, PartMounted, ReadingTaken, Typed, WalkRoundClosed,
            WalkRoundOpened,
        },
    },
    state::{Heat, Power, Stance, State},
    words::{Depth, Use},
};

use super::{
    story::{OFFICE, Story, Task, WORKSHOP},
    walk::{Stroll, Walked},
};

/// Work on its way.
#[derive(Clone, Debug)]
pub(super) struct Work {
    index: usize,
    job: String,
    opened: EventId,
    findings: Vec<EventId>,
    tags: Vec<EventId>,
    fault: Option<usize>,
    life: Option<usize>,
    /// When it is done, if a part is waited for.
    waits_till: Option<Date>,
}

impl Story<'_> {
    /// What a walk-round raised is tagged where it keeps the machine in, and becomes a job.
    pub(super) fn hears(&mut self, stroll: &Stroll, walked: &Walked) {
        for (kind, finding) in &walked.raised {
            let Some(row) = self.settings.faults.get(*kind) else { continue };
            let Some(real) = self.reals.get(stroll.index) else { continue };
            let (machine, main_use) = (real.id.clone(), real.main_use);
            let days = libm::floor(self.random.between(row.days.0, row.days.1 + 1.0)) as i32;
            let keeps_in = self.stops(*kind, Use::Range);
            let at = walked.end.later_by(60);
            let tag = keeps_in.then(|| {
                let why = row.what.clone();
                self.act(stroll.pen, Command::Tag { machine: machine.clone(), why, number: None }, &stroll.person, at)
            });
            let (findings, tags): (Vec<EventId>, Vec<EventId>) =
                ([*finding].into(), tag.flatten().into_iter().collect());
            let due = self.next_open(days);
            let first = if days >= 2 { self.next_open(1) } else { due };
            let opening = JobOpened {
                machine,
                job: row.job.clone(),
                why: row.what.clone(),
                findings: findings.clone(),
                tags: tags.clone(),
                planned: Some(first.to_string()),
            };
            let Some(opened) = self.write(stroll.pen, opening, &stroll.person, at.later_by(60)) else { continue };
            if keeps_in || self.stops(*kind, main_use) {
                self.reals.get_mut(stroll.index).into_iter().for_each(|real| real.busy = real.busy.max(Some(due)));
            }
            let waits_till = (days >= 2).then_some(due);
            let job = row.job.clone();
            self.works.push(Work {
                index: stroll.index,
                job,
                opened,
                findings,
                tags,
                fault: Some(*kind),
                life: None,
                waits_till,
            });
            self.starts(first);
        }
    }

    /// Puts the last work on its day; a phone out of reach is waited for.
    fn starts(&mut self, day: Date) {
        let work = self.works.len() - 1;
        let at = self.settings.at(day, 14, 10).later_by((work % 7) as i64 * 420);
        self.due(at, Task::Begin(work));
    }

    /// The open day so many days on, or the next after it.
    fn next_open(&self, days: i32) -> Date {
        let from = days_later(self.day, days);
        (0..14).map(|n| days_later(from, n)).find(|day| self.settings.is_open(*day)).unwrap_or(from)
    }

    /// A part has worn to where it is taken off.
    pub(super) fn wears_out(&mut self, index: usize, life: usize, at: Moment) {
        let Some(real) = self.reals.get(index) else { return };
        let Some(new) = real.lives.get(life) else { return };
        let Some(row) = self.settings.wear.iter().find(|row| row.check == new.check) else { return };
        let (machine, place) = (real.id.clone(), new.place.clone());
        let mechanic = self.mechanic();
        let why = format!("{place} worn, changed before its limit");
        let opening =
            JobOpened { machine, job: row.job.clone(), why, findings: Vec::new(), tags: Vec::new(), planned: None };
        let Some(opened) = self.write(WORKSHOP, opening, &mechanic, at) else { return };
        self.works.push(Work {
            index,
            job: row.job.clone(),
            opened,
            findings: Vec::new(),
            tags: Vec::new(),
            fault: None,
            life: Some(life),
            waits_till: None,
        });
        let work = self.works.len() - 1;
        self.due(at.later_by(900), Task::Begin(work));
    }

    /// Work is taken in hand, or waits for its part.
    pub(super) fn begins(&mut self, work: usize, at: Moment) {
        let Some(waits_till) = self.works.get_mut(work).map(|work| work.waits_till.take()) else { return };
        match waits_till {
            Some(due) => {
                self.moves(work, JobState::Waiting, Some(due), at);
                let due = self.settings.at(due, 14, 10);
                self.due(due.max(at.later_by(60)), Task::Begin(work));
            }
            None => {
                self.moves(work, JobState::InHand, None, at);
                self.due(at.later_by(2400), Task::Done(work));
            }
        }
    }

    /// Moves work on; what waits for its part is planned for the day it comes.
    fn moves(&mut self, work: usize, to: JobState, waits_till: Option<Date>, at: Moment) {
        let Some(work) = self.works.get(work).cloned() else { return };
        let Some(machine) = self.reals.get(work.index).map(|real| real.id.clone()) else { return };
        let state = self.book.machine(WORKSHOP, &machine).and_then(|state| state.jobs.get(&work.opened));
        let Some(from) = state.map(|job| job.state.1) else { return };
        let ended = match to {
            JobState::Done => self.book.job_kind(&work.job).map(|kind| kind.ends.clone()).unwrap_or_default(),
            _ => Vec::new(),
        };
        let mechanic = self.mechanic();
        let (note, planned) = (waits_till.map(|_| "part ordered".into()), waits_till.map(|day| day.to_string()));
        let moved = JobMoved { machine, job: work.opened, from, to, note, ended, planned };
        self.write(WORKSHOP, moved, &mechanic, at);
    }

    /// Work is done: the part mounted, looked at and read, then proven.
    pub(super) fn finishes(&mut self, number: usize, at: Moment) {
        let Some(work) = self.works.get(number).cloned() else { return };
        if let Some(life) = work.life {
            self.mounts(work.index, life, at);
        }
        if let Some(real) = self.reals.get_mut(work.index) {
            real.faults.retain(|kind| Some(*kind) != work.fault);
            real.raised.retain(|kind| Some(*kind) != work.fault);
        }
        self.moves(number, JobState::Done, None, at.later_by(60));
        let Some(proves) = self.book.job_kind(&work.job).map(|kind| kind.proves.clone()) else { return };
        let Some(one) = self.reals.get(work.index).map(|real| real.main_use) else { return };
        let workers = self.people(muster_core::record::payload::Role::Workshop);
        let person = self.pick(&workers);
        let stroll = Stroll {
            index: work.index,
            depth: Depth::BeforeRide,
            one,
            pen: WORKSHOP,
            person,
            at: at.later_by(120),
            planned: None,
            heat: Heat::Cold,
            only: Some(proves),
            mended: work.fault.and_then(|kind| self.settings.faults.get(kind)).map(|row| row.check.clone()),
        };
        let Some(walked) = self.walks(&stroll) else { return };
        self.proves(&work, walked.end.later_by(120));
    }

    fn proves(&mut self, work: &Work, at: Moment) {
        let Some(machine) = self.reals.get(work.index).map(|real| real.id.clone()) else { return };
        let (mechanic, owner) = (self.mechanic(), self.owner());
        let prove = Command::Prove { machine: machine.clone(), job: work.opened };
        if self.act(WORKSHOP, prove, &mechanic, at).is_some() {
            return;
        }
        // What the readings do not prove for every use, the owner answers for: the machine goes out again, the job stays.
        let at = at.later_by(900);
        if !work.tags.is_empty() {
            let reason = "looked at and ridden by the workshop; the job stays till its readings prove it".to_string();
            let untag = Command::Untag { machine: machine.clone(), lifts: work.tags.clone(), reason };
            self.act(OFFICE, untag, &owner, at);
        }
        for finding in &work.findings {
            let how = "mended, looked at by the workshop".to_string();
            let closed = FindingClosed { machine: machine.clone(), finding: *finding, how };
            self.write(OFFICE, closed, &owner, at.later_by(30));
        }
    }

    /// A part is mounted, and its life begins.
    fn mounts(&mut self, index: usize, life: usize, at: Moment) {
        let day = self.day;
        let Some(real) = self.reals.get_mut(index) else { return };
        let Some(new) = real.lives.get(life).cloned() else { return };
        let (km, turned) = (real.km, real.turned(&new));
        let its =
            |old: &&mut super::wear::Life| old.check == new.check && old.removed.is_none() && old.start < new.start;
        let before = |old: &&mut super::wear::Life| old.mounted.is_some() || old.start <= 0.0;
        real.lives.iter_mut().filter(its).filter(before).for_each(|old| old.removed = Some((day, km)));
        if let Some(life) = real.lives.get_mut(life) {
            (life.mounted, life.start) = (Some((day, km)), turned);
        }
        if new.check == "chain.elongation" {
            real.slack_mm = 28.0;
        }
        let (machine, odometer) = (real.id.clone(), real.odometer());
        let row = self.settings.wear.iter().find(|row| row.check == new.check);
        let state = self.book.machine(WORKSHOP, &machine);
        let there = state.and_then(|state| {
            state.parts.iter().find(|(_, part)| part.removed.is_none() && part.mounted.place == new.place)
        });
        let mounted = PartMounted {
            machine,
            place: new.place,
            marking: None,
            odometer: Some(odometer),
            on: Some(day.to_string()),
            ended: row.map(|row| row.ends.clone()).unwrap_or_default(),
            replaces: there.map(|(id, _)| *id),
        };
        let mechanic = self.mechanic();
        self.write(WORKSHOP, mounted, &mechanic, at);
    }

    /// New cover: the office writes its last day down.
    pub(super) fn covers(&mut self, index: usize, at: Moment) {
        self.paper(index, "papers.insurance", at);
    }

    /// A new inspection paper.
    pub(super) fn inspected(&mut self, index: usize, at: Moment) {
        self.paper(index, "papers.inspection", at);
    }

    fn paper(&mut self, index: usize, check: &str, at: Moment) {
        let Some(real) = self.reals.get(index) else { return };
        let (machine, last) = (real.id.clone(), real.inspection);
        let until = if check == "papers.insurance" { self.settings.cover(&machine, self.day) } else { last };
        let Some(until) = until else { return };
        let owner = self.owner();
        let at = at.later_by(index as i64 * 60);
        let opened = WalkRoundOpened {
            machine: machine.clone(),
            depth: Depth::BeforeRide,
            found: State { heat: Heat::Warm, power: Power::Off, stance: Stance::SideStand },
            no_hold_tag: Some(true),
            key_on_hook: Some(true),
            odometer: None,
            air: None,
            barometer: None,
            ridden: None,
            planned: None,
            comma: false,
        };
        let Some(walk_round) = self.write(OFFICE, opened, &owner, at) else { return };
        let read = ReadingTaken {
            machine: machine.clone(),
            walk_round,
            check: check.into(),
            read: Typed::One(until.to_string()),
            with: None,
            tyre: None,
            air: None,
            odometer: None,
            why: None,
            note: Some("new paper, filed in the office".into()),
            corrects: None,
        };
        self.write(OFFICE, read, &owner, at.later_by(20));
        self.write(OFFICE, WalkRoundClosed { machine, walk_round }, &owner, at.later_by(30));
    }
}
