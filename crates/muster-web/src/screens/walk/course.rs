//! The course of a walk-round: its checks in order as they were when it was opened, so that none moves while one walks.

use std::{cell::RefCell, rc::Rc};

use muster_core::{
    form::Form,
    judge::Verdict,
    record::id::EventId,
    state::{State, Station},
    walk_round::{Ask, plan},
};
use muster_draw::{merge, plan::Stop};

use super::about::{About, planned};

/// One check of the course.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Step {
    /// Its id.
    pub(super) check: String,
    /// Its name.
    pub(super) name: String,
    /// Where.
    pub(super) station: Station,
    /// The state it is done in.
    pub(super) state: State,
    /// What to change first.
    pub(super) changes: Vec<String>,
    /// How.
    pub(super) method: Vec<String>,
    /// What can hurt someone.
    pub(super) caution: Option<String>,
    /// Limits and target with their sources.
    pub(super) limits: Vec<String>,
    /// Instruments that cannot decide it.
    pub(super) cannot: Vec<String>,
}

/// The course.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Course {
    /// What was prepared the evening before, then the rest in the order it is walked.
    pub(super) steps: Vec<Step>,
    /// What the state found does not allow: name, and till when.
    pub(super) deferred: Vec<(String, String)>,
    /// How long it takes.
    pub(super) seconds: u32,
}

/// How a check stands in a walk-round.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Standing {
    /// Not answered in it.
    ToCome,
    /// To be set and read again.
    ToSet,
    /// Answered.
    Answered(Verdict),
}

impl Standing {
    /// Its class among the ticks.
    pub(super) const fn class(self) -> &'static str {
        match self {
            Self::ToCome => "",
            Self::ToSet => "set",
            Self::Answered(verdict) => verdict.as_str(),
        }
    }
}

impl Course {
    /// The course of a walk-round, from the state it was found in. What was answered in it since changes nothing.
    pub(super) fn of(about: &About, opening: EventId) -> Option<Rc<Self>> {
        let key = Key::of(about, opening);
        if let Some(course) =
            KEPT.with_borrow(|kept| kept.as_ref().filter(|(of, _)| *of == key).map(|(_, of)| of.clone()))
        {
            return Some(course);
        }
        let own = &about.walk(opening)?.form;
        let bare = Form { answers: Vec::new(), ..own.clone() };
        let others = about.state.forms().into_iter().filter(|form| !core::ptr::eq(*form, own));
        let forms: Vec<&Form> = others.chain([&bare]).collect();
        let context = about.context(own.opened)?;
        let walk = plan(&context, &forms, own.depth, planned(about.walk(opening)?), own.found).ok()?;
        let steps = walk.evening.into_iter().chain(walk.steps).map(step).collect();
        let deferred = walk.deferred.into_iter().map(|(check, why)| (check.name.clone(), why)).collect();
        let course = Rc::new(Self { steps, deferred, seconds: walk.seconds });
        KEPT.set(Some((key, course.clone())));
        Some(course)
    }

    /// A check by its id, with its place.
    pub(super) fn find(&self, check: &str) -> Option<(usize, &Step)> {
        self.steps.iter().enumerate().find(|(_, step)| step.check == check)
    }

    /// The first check still to come behind a place, else the first before it; none once all are answered.
    pub(super) fn next(&self, from: usize, standing: impl Fn(&str) -> Standing) -> Option<&Step> {
        // What waits to be set is come back to by the list, not by going on: it may have to wait till it is cold.
        let open = |step: &&Step| standing(&step.check) == Standing::ToCome;
        let (before, behind) = self.steps.split_at(from.min(self.steps.len()));
        behind.iter().find(open).or_else(|| before.iter().find(open))
    }

    /// The stations of the course, with how far each is looked at.
    pub(super) fn stops(&self, standing: impl Fn(&str) -> Standing) -> Vec<(Station, Stop)> {
        let stop = |station: &Station| {
            let own: Vec<Standing> =
                self.steps.iter().filter(|step| step.station == *station).map(|step| standing(&step.check)).collect();
            let verdicts = own.iter().map(|one| match one {
                Standing::Answered(verdict) => Some(*verdict),
                Standing::ToCome | Standing::ToSet => None,
            });
            match verdicts.collect::<Option<Vec<Verdict>>>() {
                _ if own.is_empty() => Stop::NotAsked,
                Some(verdicts) => verdicts.into_iter().max().map_or(Stop::NotAsked, Stop::Done),
                None => Stop::ToCome,
            }
        };
        Station::ALL.iter().map(|station| (*station, stop(station))).collect()
    }
}

/// How a check stands in a walk-round.
pub(super) fn standing(about: &About, opening: EventId, check: &str) -> Standing {
    if about.answers(opening, check).next().is_none() {
        return Standing::ToCome;
    }
    match about.outcome(check) {
        Some(outcome) if merge::is_to_set(outcome) => Standing::ToSet,
        // Asked for by the depth alone, it has no verdict for any use.
        outcome => Standing::Answered(outcome.map_or(Verdict::Fit, |outcome| outcome.verdict)),
    }
}

/// What a course rests on; the search for the order is too long to be repeated at each answer.
#[derive(PartialEq)]
struct Key {
    opening: EventId,
    books: String,
    others: usize,
}

impl Key {
    fn of(about: &About, opening: EventId) -> Self {
        let others = about.state.walk_rounds.iter().filter(|(id, _)| **id != opening);
        let others = others.map(|(_, of)| 1 + of.answers.len()).sum();
        Self { opening, books: about.books.hash.clone(), others }
    }
}

thread_local! {
    static KEPT: RefCell<Option<(Key, Rc<Course>)>> = const { RefCell::new(None) };
}

fn step(ask: Ask<'_>) -> Step {
    Step {
        check: ask.check.id.clone(),
        name: ask.check.name.clone(),
        station: ask.station,
        state: ask.state,
        changes: ask.changes,
        method: ask.method,
        caution: ask.caution,
        limits: ask.limits,
        cannot: ask.cannot,
    }
}
