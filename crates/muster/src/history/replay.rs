//! The demonstration's forms, acted again: the same answers by the same people at the same minutes, as events.

use muster_core::{
    calendar::Moment,
    record::{
        decide::Command,
        id::{EventId, PersonId},
        payload::{
            CallNoted, FallNoted, FindingClosed, FindingRaised, ObservationMade, Planned, ReadingTaken, Returned,
            ThingSet, Typed, WalkRoundClosed, WalkRoundOpened,
        },
    },
    words::{Depth, Service},
};

use super::{
    forms::{Answer, Sheet},
    gauge::KPA_PER_PSI,
    story::{OFFICE, PHONE, Story, Task, WORKSHOP},
};

impl Story<'_> {
    /// Puts each form on its minute.
    pub(super) fn plans_forms(&mut self) {
        for index in 0..self.sheets.len() {
            let Some(sheet) = self.sheets.get(index).cloned() else { continue };
            self.due(sheet.opened, Task::Form(index));
            for (what, at) in &sheet.events {
                // A fall nobody noted that day is noted before the walk-round of the next.
                let at = if at.date() < sheet.day() { sheet.opened.later_by(-60) } else { *at };
                if what == "fall" {
                    self.due(at, Task::FormFall(index));
                }
            }
            if let Some(close) = sheet.closes.first() {
                self.due(close.at, Task::FormClose(index));
            }
        }
    }

    /// Whether a machine's form of today tells of a fall of today.
    pub(super) fn form_falls(&self, index: usize) -> bool {
        self.form_of_fall(index).is_some()
    }

    fn form_of_fall(&self, index: usize) -> Option<&Sheet> {
        let real = self.reals.get(index)?;
        let its =
            |sheet: &&Sheet| sheet.machine == real.id && sheet.day() == self.day && sheet.depth == Depth::AfterAFall;
        self.sheets.iter().find(its)
    }

    /// After a form of today's fall: the kilometres to the next form; none are left where none follows.
    pub(super) fn kept_km(&self, index: usize) -> Option<f64> {
        let fell = self.form_of_fall(index)?;
        let real = self.reals.get(index)?;
        let next = self.sheets.iter().filter(|sheet| sheet.machine == fell.machine && sheet.opened > fell.opened);
        let next = next.min_by_key(|sheet| sheet.opened);
        Some(next.map_or(0.0, |sheet| (sheet.odometer_km - real.km).max(0.0)))
    }

    pub(super) fn form_fall(&mut self, sheet: usize, at: Moment) {
        let Some(sheet) = self.sheets.get(sheet).cloned() else { return };
        let person = self.named_person(&sheet.by);
        let noted = at.date() == sheet.day() && sheet.depth == Depth::AfterAFall;
        let how = if noted {
            "dropped to its side"
        } else {
            "fell over at the end of yesterday's class, parked without a look"
        };
        let fall = FallNoted {
            machine: sheet.machine.clone(),
            how: how.into(),
            rider: None,
            about_rider: None,
            odometer: None,
        };
        self.write(pen_of(&sheet), fall, &person, at);
        if sheet.machine == "H-20" {
            let why = "crash, front wheel bent: do not move".to_string();
            let tag = Command::Tag { machine: sheet.machine.clone(), why, number: Some("7".into()) };
            let tag = self.act(PHONE, tag, &person, at.later_by(600));
            let state = self.book.machine(PHONE, &sheet.machine);
            let release = state.and_then(|state| state.out().next().map(|(id, _)| id));
            if let Some((tag, release)) = tag.zip(release) {
                let (machine, answer) = (sheet.machine, "stands beside it, not hurt".to_string());
                self.write(PHONE, CallNoted { machine, tag, release, answer }, &person, at.later_by(660));
            }
        }
    }

    pub(super) fn form_closes(&mut self, sheet: usize) {
        let Some(sheet) = self.sheets.get(sheet).cloned() else { return };
        for close in &sheet.closes {
            let Some(finding) = self.named.get(&close.finding).copied() else { continue };
            let person = self.named_person(&close.by);
            let closed = FindingClosed { machine: sheet.machine.clone(), finding, how: close.how.clone() };
            self.write(WORKSHOP, closed, &person, close.at);
        }
    }

    /// Fills a form in again.
    pub(super) fn fills(&mut self, index: usize) {
        let Some(sheet) = self.sheets.get(index).cloned() else { return };
        let machine = self.index_of(&sheet.machine);
        if let Some(machine) = machine.filter(|_| sheet.depth == Depth::Intake) {
            self.registers(machine, sheet.opened.later_by(-900));
        }
        let (pen, person) = (pen_of(&sheet), self.named_person(&sheet.by));
        let opened = WalkRoundOpened {
            machine: sheet.machine.clone(),
            depth: sheet.depth,
            found: sheet.found,
            no_hold_tag: sheet.first.0,
            key_on_hook: sheet.first.1,
            odometer: Some(sheet.odometer.clone()),
            air: sheet.air.clone(),
            barometer: sheet.barometer.clone(),
            ridden: sheet.ridden,
            planned: sheet.outing.clone().map(|(one, back, distance)| Planned { one, back, distance }),
            comma: false,
        };
        let Some(opening) = self.write(pen, opened, &person, sheet.opened) else { return };
        let step = sheet.closed.seconds_since(sheet.opened) / (sheet.answers.len() as i64 + 2);
        let mut now = sheet.opened;
        for (number, answer) in sheet.answers.iter().enumerate() {
            let next = sheet.answers.iter().skip(number).find_map(|answer| answer.at).unwrap_or(sheet.closed);
            now = answer.at.unwrap_or_else(|| now.later_by(step.max(1)).min(next));
            let by = answer.by.as_ref().map_or_else(|| person.clone(), |name| self.named_person(name));
            self.fills_answer(&sheet, opening, answer, (&by, now));
        }
        self.raises_findings(&sheet, opening, &person, now);
        self.write(pen, WalkRoundClosed { machine: sheet.machine.clone(), walk_round: opening }, &person, sheet.closed);
        if let Some(machine) = machine {
            self.agrees(machine, &sheet);
            self.follows(machine, &sheet, &person);
        }
    }

    fn fills_answer(&mut self, sheet: &Sheet, walk_round: EventId, answer: &Answer, (by, now): (&PersonId, Moment)) {
        let (pen, machine, check) = (pen_of(sheet), sheet.machine.clone(), answer.check.clone());
        if let Some(act) = &answer.after {
            let set = ThingSet { machine: machine.clone(), walk_round, check: check.clone(), act: act.clone() };
            self.write(pen, set, by, now);
        }
        if let Some(saw) = answer.saw.clone() {
            let (class, why, note) = (answer.class, answer.why.clone(), answer.note.clone());
            let defect = answer.defect.clone();
            let observation =
                ObservationMade { machine, walk_round, check, saw, class, defect, why, note, corrects: None };
            self.write(pen, observation, by, now);
        } else if let Some(read) = answer.read.clone() {
            let reading = ReadingTaken {
                machine,
                walk_round,
                check,
                read,
                with: answer.with.clone(),
                tyre: answer.tyre.clone(),
                air: None,
                odometer: None,
                why: answer.why.clone(),
                note: answer.note.clone(),
                corrects: None,
            };
            self.write(pen, reading, by, now);
        }
    }

    fn raises_findings(&mut self, sheet: &Sheet, walk_round: EventId, person: &PersonId, now: Moment) {
        for found in &sheet.findings {
            let finding = FindingRaised {
                machine: sheet.machine.clone(),
                walk_round: Some(walk_round),
                check: found.check.clone(),
                what: found.what.clone(),
                class: found.class,
                defect: found.defect.clone(),
                uses: found.uses.clone(),
                feedback: false,
            };
            if let Some(id) = self.write(pen_of(sheet), finding, person, now) {
                self.named.insert(found.name.clone(), id);
            }
        }
    }

    /// The truth goes on from what the form reads.
    fn agrees(&mut self, machine: usize, sheet: &Sheet) {
        let air = sheet.air.as_ref().and_then(|air| air.split(' ').next()?.parse::<f64>().ok()).unwrap_or(8.0);
        let last = |check: &str| {
            let answer = sheet.answers.iter().rfind(|answer| answer.check == check)?;
            match answer.read.as_ref()? {
                Typed::One(text) => text.split(' ').next()?.parse::<f64>().ok(),
                _ => None,
            }
        };
        let Some(real) = self.reals.get_mut(machine) else { return };
        (real.km, real.carried_km) = (real.km.max(sheet.odometer_km), 0.0);
        for (wheel, check) in ["tyre.front.pressure", "tyre.rear.pressure"].into_iter().enumerate() {
            if let Some(psi) = last(check) {
                real.pump(wheel, psi * KPA_PER_PSI, air);
            }
        }
        last("chain.slack").into_iter().for_each(|slack| real.slack_mm = slack);
        last("oil.level").into_iter().for_each(|oil| real.oil_percent = oil);
    }

    /// What follows a form: it is lent, laid up, impounded, or waits for its part.
    fn follows(&mut self, machine: usize, sheet: &Sheet, person: &PersonId) {
        match (sheet.machine.as_str(), sheet.depth) {
            (_, Depth::Handover) => self.serves(
                machine,
                Service::OnLoan,
                Some("with the sister school until 18 December"),
                sheet.closed.later_by(300),
            ),
            ("H-20", Depth::AfterAFall) => {
                let why = "crash of 21 November, kept for the insurer".to_string();
                self.act(
                    WORKSHOP,
                    Command::Impound { machine: sheet.machine.clone(), why },
                    person,
                    sheet.closed.later_by(120),
                );
                let Some(real) = self.reals.get_mut(machine) else { return };
                (real.busy, real.riding) = (Some(self.settings.to), None);
                if let Some(release) = real.out.take() {
                    let damage = Some("front wheel and right fork leg bent".to_string());
                    let (machine, odometer) = (sheet.machine.clone(), Some(sheet.odometer.clone()));
                    let back = Returned { machine, release, odometer, fuel: None, damage, key_back: true };
                    self.write(WORKSHOP, back, person, sheet.closed.later_by(180));
                }
            }
            _ => {
                if let Some((_, at)) = sheet.events.iter().find(|(what, _)| what == "storage") {
                    self.serves(machine, Service::LaidUp, Some("for the winter"), *at);
                    self.reals.get_mut(machine).into_iter().for_each(|real| real.laid_up = true);
                }
            }
        }
    }
}

/// The workshop's people write on the workshop's phone.
fn pen_of(sheet: &Sheet) -> usize {
    match sheet.by.as_str() {
        "D. Fenwick" => WORKSHOP,
        "R. Whitlock" if sheet.depth == Depth::Handover => OFFICE,
        _ => PHONE,
    }
}
