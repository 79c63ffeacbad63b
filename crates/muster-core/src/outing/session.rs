//! A session: one release for a class, one machine and a list of named riders till a time.

use alloc::{
    string::{String, ToString},
    vec::Vec,
};

use serde::Serialize;

use super::assess::{Assessment, assess};
use super::input::{Outing, Rider};
use super::{Case, When};
use crate::judge::Verdict;

/// What a session comes to.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Session {
    /// Fleet number.
    pub machine: String,
    /// Till when.
    pub till: Option<String>,
    /// The gravest verdict over all riders: one release is for all of them.
    pub verdict: Verdict,
    /// Each rider with what the outing comes to for that rider.
    pub riders: Vec<(String, Verdict)>,
    /// With the heaviest rider: loads, pressures and springs are set for this one.
    pub heaviest: Assessment,
    /// With the lightest: what to turn back to, who reaches the ground least surely.
    pub lightest: Assessment,
    /// What to do before the first goes out, for any of them.
    pub before_leaving: Vec<String>,
    /// Riders left out, and why: named twice, or with no name.
    pub faults: Vec<String>,
}

/// Works a session out: the outing of each rider in turn, alone as told. None without a rider that has a name.
#[must_use]
pub fn session(case: &Case<'_>, outing: &Outing, riders: &[Rider]) -> Option<Session> {
    let mut faults = outing.faults.clone();
    let mut told: Vec<(f64, String, Assessment)> = Vec::new();
    for rider in riders {
        let Some(name) = rider.name.clone().filter(|name| !name.trim().is_empty()) else {
            faults.push("a rider without a name: a session is for named riders".to_string());
            continue;
        };
        if told.iter().any(|(_, other, _)| *other == name) {
            faults.push(alloc::format!("{name} is named twice"));
            continue;
        }
        let of = Outing { rider: rider.clone(), ..outing.clone() };
        let kg = rider.mass.map_or(f64::NAN, |mass| mass.get().kg());
        told.push((kg, name, assess(case, &of)));
    }
    let known = || told.iter().filter(|(kg, _, _)| kg.is_finite());
    // Where no mass is known the first stands for all: its loads are unseen as every other's.
    let heaviest = known().max_by(|a, b| a.0.total_cmp(&b.0)).or(told.first())?.2.clone();
    let lightest = known().min_by(|a, b| a.0.total_cmp(&b.0)).or(told.first())?.2.clone();
    let verdict = told.iter().map(|(_, _, of)| of.verdict).max().unwrap_or(Verdict::Unseen);
    let mut before_leaving = heaviest.before_leaving.clone();
    for (_, name, of) in &told {
        let own = of.items.iter().filter(|item| matches!(item.id.as_str(), "reach" | "licence" | "level"));
        for todo in own.flat_map(|item| &item.todo).filter(|todo| todo.when == When::BeforeLeaving) {
            before_leaving.retain(|other| *other != todo.what);
            before_leaving.push(alloc::format!("{name}: {}", todo.what));
        }
    }
    Some(Session {
        machine: case.context.machine.id.clone(),
        till: outing.back.map(|back| back.to_string()),
        verdict,
        riders: told.iter().map(|(_, name, of)| (name.clone(), of.verdict)).collect(),
        heaviest,
        lightest,
        before_leaving,
        faults,
    })
}
