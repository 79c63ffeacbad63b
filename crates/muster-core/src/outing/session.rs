//! A session: one release for a class, one machine and a list of named riders till a time.

use alloc::{
    string::{String, ToString},
    vec::Vec,
};

use serde::Serialize;

use super::assess::{Assessment, assess};
use super::bound::{Ask, add};
use super::input::{Outing, Rider};
use super::{Case, Item};
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
    let mut told: Vec<Assessment> = Vec::new();
    for rider in riders {
        let Some(name) = rider.name.clone().filter(|name| !name.trim().is_empty()) else {
            faults.push("a rider without a name: a session is for named riders".to_string());
            continue;
        };
        if told.iter().any(|of| of.rider.as_ref() == Some(&name)) {
            faults.push(alloc::format!("{name} is named twice"));
            continue;
        }
        told.push(assess(case, &Outing { rider: rider.clone(), ..outing.clone() }));
    }
    let till = outing.back.map(|back| back.to_string());
    let session = Session::of(&told)?;
    Some(Session { machine: case.context.machine.id.clone(), till, faults, ..session })
}

impl Session {
    /// What the outings of several riders come to together; none without one.
    #[must_use]
    pub fn of(told: &[Assessment]) -> Option<Self> {
        let name = |of: &Assessment| of.rider.clone().unwrap_or_default();
        let (heaviest, lightest) = (heaviest(told)?, lightest(told)?);
        Some(Self {
            machine: heaviest.machine.clone(),
            till: heaviest.back.clone(),
            verdict: told.iter().map(|of| of.verdict).max()?,
            riders: told.iter().map(|of| (name(of), of.verdict)).collect(),
            heaviest: heaviest.clone(),
            lightest: lightest.clone(),
            before_leaving: asks(told, |_| true).into_iter().map(|ask| ask.what).collect(),
            faults: Vec::new(),
        })
    }
}

/// The one with the most on it: what is set is set for this one. Where no load is known the first stands for all.
pub(super) fn heaviest(told: &[Assessment]) -> Option<&Assessment> {
    let heavier = known(told).max_by(|a, b| a.0.total_cmp(&b.0));
    heavier.map(|(_, of)| of).or(told.first())
}

/// The one with the least on it.
pub(super) fn lightest(told: &[Assessment]) -> Option<&Assessment> {
    let lighter = known(told).min_by(|a, b| a.0.total_cmp(&b.0));
    lighter.map(|(_, of)| of).or(told.first())
}

fn known(told: &[Assessment]) -> impl Iterator<Item = (f64, &Assessment)> {
    told.iter().filter_map(|of| Some((of.figures.loads?.whole_kg, of)))
}

/// What is to be done before leaving, each with the gravest class of the items that ask for it. Of several riders: what
/// the heaviest's machine needs, and with its rider's name what one alone has to do.
pub(super) fn asks(told: &[Assessment], wanted: impl Fn(&Item) -> bool) -> Vec<Ask> {
    let mut out: Vec<Ask> = Vec::new();
    let is_one = told.len() == 1;
    let is_asked = |item: &&Item| wanted(item) && item.asks_to_be_done();
    let of_all = heaviest(told).into_iter().flat_map(|of| &of.items);
    for item in of_all.filter(is_asked).filter(|item| is_one || !item.is_of_one_rider()) {
        item.before_leaving().for_each(|what| add(&mut out, what, item.class));
    }
    for of in told.iter().filter(|_| !is_one) {
        let name = of.rider.as_deref().unwrap_or_default();
        for item in of.items.iter().filter(is_asked).filter(|item| item.is_of_one_rider()) {
            item.before_leaving().for_each(|what| add(&mut out, &alloc::format!("{name}: {what}"), item.class));
        }
    }
    out
}
