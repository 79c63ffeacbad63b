//! A walk-round as people do it: what is asked is answered in order, with slips, forgotten checks and a handing over.

use jiff::civil::Date;
use muster_core::{
    calendar::Moment,
    check::{Check, Yields},
    form::{Event, Form},
    judge::{Context, asked},
    record::{
        id::{EventId, PersonId},
        payload::{
            FindingRaised, ObservationMade, Planned, ReadingTaken, Role, Saw, ThingSet, Typed, WalkRoundClosed,
            WalkRoundOpened,
        },
    },
    state::{Heat, Power, Stance, State},
    words::{Class, Depth, Seen, Use},
};

use super::{
    gauge::{self, Figures, Here, Line, fixed},
    story::Story,
};

/// What counts for so long is not looked at anew each month.
const QUARTER_DAYS: u16 = 90;

/// A walk-round somebody sets out on.
#[derive(Clone, Debug)]
pub(super) struct Stroll {
    pub(super) index: usize,
    pub(super) depth: Depth,
    pub(super) one: Use,
    pub(super) pen: usize,
    pub(super) person: PersonId,
    pub(super) at: Moment,
    pub(super) planned: Option<Planned>,
    pub(super) heat: Heat,
    /// These checks and no others.
    pub(super) only: Option<Vec<String>>,
    /// What was mended since it was last looked at.
    pub(super) mended: Option<String>,
}

/// What came of it.
#[derive(Clone, Debug)]
pub(super) struct Walked {
    pub(super) end: Moment,
    /// Findings raised: the fault's kind and the event.
    pub(super) raised: Vec<(usize, EventId)>,
    /// Every check asked for was answered, and nothing that stops the use was seen.
    pub(super) clean: bool,
}

impl Story<'_> {
    /// Walks round.
    pub(super) fn walks(&mut self, stroll: &Stroll) -> Option<Walked> {
        let machine = self.reals.get(stroll.index)?.id.clone();
        let air = self.air_c(stroll.at);
        let warm = stroll.heat != Heat::Cold;
        let mut checks = self.asked_for(stroll, &machine);
        let (odometer, ridden) = self.reals.get(stroll.index).map(|real| (real.odometer(), real.ridden))?;
        let opened = WalkRoundOpened {
            machine: machine.clone(),
            depth: stroll.depth,
            found: State { heat: stroll.heat, power: Power::Off, stance: Stance::SideStand },
            no_hold_tag: Some(
                self.book.machine(stroll.pen, &machine).is_none_or(|state| state.hanging().next().is_none()),
            ),
            key_on_hook: Some(true),
            odometer: Some(odometer),
            air: Some(fixed(air, 0, "°C")),
            barometer: None,
            ridden: if warm { Some(stroll.at.later_by(-1200)) } else { ridden },
            planned: stroll.planned.clone(),
            comma: false,
        };
        let opening = self.write(stroll.pen, opened, &stroll.person, stroll.at)?;
        let mut clean = true;
        if stroll.only.is_none() && checks.len() > 6 && self.random.chance(self.settings.habits.forgets) {
            checks.remove(self.random.index(checks.len()));
            clean = false;
        }
        let gives = stroll.only.is_none() && checks.len() > 10 && self.random.chance(self.settings.habits.handed_over);
        let mut person = stroll.person.clone();
        let (mut now, half) = (stroll.at, checks.len() / 2);
        let gauge = self.gauge();
        let tyre_c = warm.then_some(air + 22.0);
        let mut raised = Vec::new();
        for (number, check) in checks.iter().enumerate() {
            if gives && number == half {
                let people = self.people(Role::Instructor);
                person = self.pick(&people);
                now = now.later_by(240);
            }
            now = now.later_by(i64::from(check.seconds.max(4)));
            let looking = Looking { stroll, machine: &machine, opening, person: &person, now, gauge, tyre_c, air };
            let found = self.answers(&looking, check);
            clean &= found.is_none_or(|kind| !self.stops(kind, stroll.one));
            raised.extend(found.and_then(|kind| Some((kind, self.raises(&looking, check, kind)?))));
        }
        let end = now.later_by(20);
        self.write(stroll.pen, WalkRoundClosed { machine, walk_round: opening }, &person, end);
        Some(Walked { end, raised, clean })
    }

    /// The checks of a walk-round: what the core asks for, less what nobody can answer there.
    fn asked_for(&self, stroll: &Stroll, machine: &str) -> Vec<Check> {
        let (catalogue, known) = (&self.book.catalogue, self.book.known(stroll.pen));
        let Some(context) = Context::of(catalogue, &known.yard, machine, stroll.at) else { return Vec::new() };
        if let Some(only) = &stroll.only {
            let equipment = &context.machine.traits.equipment;
            let applies = |check: &&Check| {
                check.applies.holds(equipment) != muster_core::equipment::Holds::No
                    && check.requires.lacking(equipment).is_empty()
            };
            return only.iter().filter_map(|id| catalogue.check(id)).filter(applies).cloned().collect();
        }
        let forms = self.book.machine(stroll.pen, machine).map(|state| state.forms()).unwrap_or_default();
        let plate = self.reals.get(stroll.index).is_some_and(|real| real.plate);
        let can = |check: &&&Check| {
            let cold_only = context.needs(check).is_cold_only();
            let left_out = |row: &super::settings::LeftOut| {
                row.machine == machine && row.check == check.id && self.day >= row.from && stroll.depth == Depth::Full
            };
            (plate || !check.id.starts_with("papers."))
                && (stroll.heat == Heat::Cold || !cold_only)
                && !self.settings.left_out.iter().any(left_out)
                && !(stroll.depth == Depth::Full && !self.wears(&check.id) && is_kept(check, &forms, stroll.at))
        };
        asked(&context, &forms, stroll.depth, stroll.one).iter().filter(can).map(|check| (*check).clone()).collect()
    }

    /// Whether a check reads something that wears: what is forecast is read each time.
    fn wears(&self, check: &str) -> bool {
        self.settings.wear.iter().any(|row| row.check == check)
    }

    /// Whether a cold-only check would be left open by a walk-round round a warm machine.
    pub(super) fn needs_cold(&self, index: usize, pen: usize, one: Use, at: Moment) -> bool {
        let Some(real) = self.reals.get(index) else { return true };
        let known = self.book.known(pen);
        let Some(context) = Context::of(&self.book.catalogue, &known.yard, &real.id, at) else { return true };
        let forms = self.book.machine(pen, &real.id).map(|state| state.forms()).unwrap_or_default();
        asked(&context, &forms, Depth::BeforeRide, one).iter().any(|check| context.needs(check).is_cold_only())
    }

    /// Answers one check; the kind of fault seen, if somebody has to hear of it.
    fn answers(&mut self, looking: &Looking<'_>, check: &Check) -> Option<usize> {
        match &check.yields {
            Yields::Look(_) => self.sees(looking, check),
            Yields::Date(_) => {
                if let Some(text) = self.date(looking, &check.id) {
                    self.notes(
                        looking,
                        check,
                        &Figures { read: Typed::One(text), with: None, tyre: None, why: None, truth: None },
                        None,
                    );
                }
                None
            }
            Yields::Read(_) => {
                self.measures(looking, check);
                None
            }
        }
    }

    fn sees(&mut self, looking: &Looking<'_>, check: &Check) -> Option<usize> {
        let index = looking.stroll.index;
        let kinds = &self.settings.faults;
        let there = |kind: &usize| kinds.get(*kind).is_some_and(|kind| kind.check == check.id);
        let known = self.reals.get(index)?.faults.iter().copied().find(there);
        let proving = looking.stroll.only.is_some();
        let fresh = || {
            let drawn = kinds.iter().enumerate().filter(|(_, kind)| kind.check == check.id && kind.per_1000 > 0.0);
            drawn.map(|(kind, row)| (kind, row.per_1000 / 1000.0)).collect::<Vec<_>>()
        };
        let mut found = known;
        let quiet = self.reals.get(index)?.is_quiet(self.day);
        if found.is_none() && !proving && !quiet {
            for (kind, share) in fresh() {
                if self.random.chance(share) {
                    found = Some(kind);
                }
            }
        }
        if looking.stroll.mended.as_ref() == Some(&check.id) {
            self.sets(looking, check, "mended");
        }
        let row = found.and_then(|kind| kinds.get(kind));
        let seen = row.map_or(Seen::Sound, |row| row.seen);
        let observation = ObservationMade {
            machine: looking.machine.into(),
            walk_round: looking.opening,
            check: check.id.clone(),
            saw: Saw::One(seen),
            class: row.map(|row| row.class).filter(|class| *class >= check.class && *class > Class::Minor),
            defect: None,
            why: None,
            note: row.map(|row| row.what.clone()),
            corrects: None,
        };
        self.write(looking.stroll.pen, observation, looking.person, looking.now);
        let real = self.reals.get_mut(index)?;
        let kind = found?;
        if !real.faults.contains(&kind) {
            real.faults.push(kind);
        }
        (!real.raised.contains(&kind)).then_some(kind)
    }

    /// Raises a finding for a fault that was seen.
    fn raises(&mut self, looking: &Looking<'_>, check: &Check, kind: usize) -> Option<EventId> {
        let row = self.settings.faults.get(kind)?;
        let uses: Vec<Use> = Use::ALL.iter().copied().filter(|one| check.uses.contains(*one)).collect();
        let finding = FindingRaised {
            machine: looking.machine.into(),
            walk_round: Some(looking.opening),
            check: Some(check.id.clone()),
            what: row.what.clone(),
            class: row.class,
            defect: None,
            uses: if uses.is_empty() { Use::ALL.to_vec() } else { uses },
            feedback: false,
        };
        let id = self.write(looking.stroll.pen, finding, looking.person, looking.now.later_by(2))?;
        self.reals.get_mut(looking.stroll.index)?.raised.push(kind);
        Some(id)
    }

    /// Whether a kind of fault keeps a machine from a use.
    pub(super) fn stops(&self, kind: usize, one: Use) -> bool {
        let Some(row) = self.settings.faults.get(kind) else { return false };
        let binds = self.book.catalogue.check(&row.check).is_some_and(|check| check.uses.contains(one));
        binds && row.class > Class::Minor
    }

    fn measures(&mut self, looking: &Looking<'_>, check: &Check) {
        let (index, pen) = (looking.stroll.index, looking.stroll.pen);
        let (catalogue, yard) = (self.book.catalogue.clone(), self.book.known(pen).yard.clone());
        let Some(context) = Context::of(&catalogue, &yard, looking.machine, looking.now) else { return };
        let counting = context.limits(check, looking.stroll.one);
        let flat = ["tyre.front.damage", "tyre.rear.damage"];
        let wheel = usize::from(check.id == "tyre.rear.pressure");
        let faults = &self.settings.faults;
        let Some(real) = self.reals.get_mut(index) else { return };
        let pressure = check.id.ends_with(".pressure");
        let punctured = pressure
            && real
                .faults
                .iter()
                .any(|kind| faults.get(*kind).is_some_and(|kind| flat.get(wheel) == Some(&kind.check.as_str())));
        let here = Here {
            settings: self.settings,
            now: looking.now,
            air_c: looking.air,
            tyre_c: looking.tyre_c.filter(|_| pressure),
            counting: &counting,
            gauge: looking.gauge,
            punctured,
        };
        let lines = gauge::read(real, &check.id, &here);
        let slip = pressure && self.random.chance(self.settings.habits.slip * 6.0);
        for (number, line) in lines.into_iter().enumerate() {
            match line {
                Line::Read(figures) => {
                    let corrects = (slip && number == 0).then(|| self.slips(looking, check, &figures)).flatten();
                    self.notes(looking, check, &figures, corrects);
                }
                Line::Set(act) => self.sets(looking, check, act),
            }
        }
    }

    /// Notes an act: what is read or seen next comes after it.
    fn sets(&mut self, looking: &Looking<'_>, check: &Check, act: &str) {
        let set = ThingSet {
            machine: looking.machine.into(),
            walk_round: looking.opening,
            check: check.id.clone(),
            act: act.into(),
        };
        self.write(looking.stroll.pen, set, looking.person, looking.now);
    }

    /// A slip of the keys: ten too many, written before the right figure.
    fn slips(&mut self, looking: &Looking<'_>, check: &Check, figures: &Figures) -> Option<EventId> {
        let Typed::One(text) = &figures.read else { return None };
        let value: f64 = text.split(' ').next()?.parse().ok()?;
        let wrong = Figures { read: Typed::One(fixed(value + 10.0, 1, "psi")), truth: None, ..figures.clone() };
        self.notes(looking, check, &wrong, None)
    }

    fn notes(
        &mut self,
        looking: &Looking<'_>,
        check: &Check,
        figures: &Figures,
        corrects: Option<EventId>,
    ) -> Option<EventId> {
        let reading = ReadingTaken {
            machine: looking.machine.into(),
            walk_round: looking.opening,
            check: check.id.clone(),
            read: figures.read.clone(),
            with: figures.with.clone(),
            tyre: figures.tyre.clone(),
            air: None,
            odometer: None,
            why: figures.why.clone(),
            note: None,
            corrects,
        };
        let id = self.write(looking.stroll.pen, reading, looking.person, looking.now)?;
        self.truths.extend(figures.truth.map(|truth| (id, truth)));
        Some(id)
    }

    fn date(&self, looking: &Looking<'_>, check: &str) -> Option<String> {
        let real = self.reals.get(looking.stroll.index)?;
        match check {
            "papers.insurance" => self.settings.cover(&real.id, self.day).map(|until| until.to_string()),
            "papers.inspection" => {
                let last = real.inspection?;
                let year_before = last.checked_sub(jiff::Span::new().years(1)).ok()?;
                // It is renewed a week before it ends.
                let renewed = muster_core::calendar::days_later(year_before, -7) <= self.day;
                Some(if renewed { last } else { year_before }.to_string())
            }
            "brake.front.fluid-age" | "brake.rear.fluid-age" => Some(filled(self.day).to_string()),
            "tyre.front.age" => real.tyres.first().cloned(),
            "tyre.rear.age" => real.tyres.get(1).cloned(),
            _ => None,
        }
    }

    /// The pressure gauge at hand; the black one is put away once it is found bad.
    fn gauge(&mut self) -> &'static str {
        let bad = self.settings.compared.iter().find(|row| row.instrument == "G-3").and_then(|row| row.bad.as_ref());
        let away = bad.is_some_and(|(on, _)| self.day >= *on);
        match self.random.share() {
            share if share < 0.58 => "G-2",
            share if share < 0.86 || away => "G-1",
            _ => "G-3",
        }
    }
}

/// The day brake fluid was last changed: each March, before the season.
fn filled(day: Date) -> Date {
    let in_march = |year: i16| Date::new(year, 3, 10).unwrap_or(day);
    if in_march(day.year()) <= day { in_march(day.year()) } else { in_march(day.year() - 1) }
}

/// Whether a monthly walk-round leaves a check out: its answer counts for a quarter of a year or longer, and still lives.
fn is_kept(check: &Check, forms: &[&Form], now: Moment) -> bool {
    let lives = check.life.by_use.values().chain([&check.life.other]);
    let Some(shortest) = lives.map(|life| life.days.unwrap_or(0)).min().filter(|days| *days >= QUARTER_DAYS) else {
        return false;
    };
    let answers = forms.iter().flat_map(|form| &form.answers).filter(|answer| answer.check == check.id);
    let Some(last) = answers.map(|answer| answer.at).filter(|at| *at <= now).max() else { return false };
    let ended = |event: &Event| event.at > last && check.ends_with.contains(&event.what);
    last.later_by(i64::from(shortest) * 86_400) > now && !forms.iter().flat_map(|form| &form.events).any(ended)
}

/// Somebody at a check.
struct Looking<'l> {
    stroll: &'l Stroll,
    machine: &'l str,
    opening: EventId,
    person: &'l PersonId,
    now: Moment,
    gauge: &'static str,
    tyre_c: Option<f64>,
    air: f64,
}
