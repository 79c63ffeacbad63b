//! One thing an outing comes to: its verdict, why, what to do and when, and its working.

use alloc::{string::String, vec::Vec};

use serde::{Deserialize, Serialize};

use crate::judge::Verdict;
use crate::named::named;
use crate::words::Class;

named! {
    /// The parts of an outing, in the order they are told.
    Part, "part of an outing", "loads, settings, ride, rider":
    /// Axles, tyres and their pressures.
    Loads = "loads",
    /// Springs and lamp.
    Settings = "settings",
    /// Braking, stand, range.
    Ride = "ride",
    /// Reach, licence, rules, the machine itself.
    Rider = "rider",
}

named! {
    /// When something is to be done.
    When, "time", "before leaving, at the next stop":
    /// Before it leaves.
    BeforeLeaving = "before leaving",
    /// At the next stop, or where the way changes.
    NextStop = "at the next stop",
}

impl Part {
    /// How grave its items are unless they say otherwise: an overloaded or soft tyre throws its rider, springs that are
    /// wrong make a machine hard to steer, what is told of a ride is for the rider to heed.
    const fn class(self) -> Class {
        match self {
            Self::Loads => Class::Dangerous,
            Self::Settings | Self::Rider => Class::Major,
            Self::Ride => Class::Minor,
        }
    }
}

/// What one thing comes to.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Item {
    /// Its name in files and for screens: `axle.rear`.
    pub id: String,
    /// Its part.
    pub part: Part,
    /// Its name for people.
    pub name: String,
    /// Its verdict.
    pub verdict: Verdict,
    /// How grave it is to go out with it as it is: what a release asks for rests on it.
    pub class: Class,
    /// Whether it rests on law: nobody signs over a hold of it on the road.
    pub rests_on_law: bool,
    /// Why, in a sentence.
    pub says: String,
    /// What to do, and when.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub todo: Vec<Todo>,
    /// How it was worked out.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub working: Vec<String>,
    /// What it rests on.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
}

/// Something to do.
#[derive(Clone, Debug, Deserialize, PartialEq, Eq, Serialize)]
pub struct Todo {
    /// When.
    pub when: When,
    /// What.
    pub what: String,
}

impl Item {
    /// Whether it speaks of one rider alone: reach, licence, level.
    pub(super) fn is_of_one_rider(&self) -> bool {
        matches!(self.id.as_str(), "reach" | "licence" | "level")
    }

    /// Whether it rests on who rides and what is carried, not on the machine alone.
    pub(super) fn rests_on_people(&self) -> bool {
        self.part != Part::Rider || self.is_of_one_rider()
    }

    /// Whether what it asks for is ticked when made. What the machine itself lacks is looked at, in a walk-round.
    pub(super) fn asks_to_be_done(&self) -> bool {
        !(self.id == super::machine::MACHINE && self.verdict >= Verdict::Unseen)
    }

    /// What to do before it leaves.
    pub(super) fn before_leaving(&self) -> impl Iterator<Item = &str> {
        self.todo.iter().filter(|todo| todo.when == When::BeforeLeaving).map(|todo| todo.what.as_str())
    }

    /// An item that is fit unless more is said.
    pub(super) fn new(part: Part, id: impl Into<String>, name: impl Into<String>, says: impl Into<String>) -> Self {
        Self {
            id: id.into(),
            part,
            name: name.into(),
            verdict: Verdict::Fit,
            class: part.class(),
            rests_on_law: false,
            says: says.into(),
            todo: Vec::new(),
            working: Vec::new(),
            source: None,
        }
    }

    /// An item that cannot be worked out, and what is missing.
    pub(super) fn unseen(part: Part, id: &str, name: &str, missing: &str) -> Self {
        Self::new(part, id, name, missing).verdict(Verdict::Unseen)
    }

    /// With a verdict.
    pub(super) fn verdict(self, verdict: Verdict) -> Self {
        Self { verdict, ..self }
    }

    /// With another class than its part's.
    pub(super) fn class(self, class: Class) -> Self {
        Self { class, ..self }
    }

    /// Resting on law.
    pub(super) fn by_law(self) -> Self {
        Self { rests_on_law: true, ..self }
    }

    /// With something to do before it leaves.
    pub(super) fn before(mut self, what: impl Into<String>) -> Self {
        self.todo.push(Todo { when: When::BeforeLeaving, what: what.into() });
        self
    }

    /// With something to do at the next stop.
    pub(super) fn next(mut self, what: impl Into<String>) -> Self {
        self.todo.push(Todo { when: When::NextStop, what: what.into() });
        self
    }

    /// With a line of working.
    pub(super) fn work(mut self, line: impl Into<String>) -> Self {
        self.working.push(line.into());
        self
    }

    /// With what it rests on.
    pub(super) fn from(self, source: Option<String>) -> Self {
        Self { source: source.or(self.source), ..self }
    }
}
