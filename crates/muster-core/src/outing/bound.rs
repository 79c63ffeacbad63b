//! What an outing worked out asks of a release: what stops it, what was not done, and what goes into the record.

use alloc::{
    string::{String, ToString},
    vec::Vec,
};

use serde::{Deserialize, Serialize};

use super::assess::Assessment;
use super::item::{Item, When};
use super::machine::MACHINE;
use super::session::{asks, heaviest};
use crate::judge::Verdict;
use crate::release::{Refusal, Request};
use crate::sorted::sort;
use crate::words::{Class, Use};

/// What an outing asks, and what was done of what it asks before leaving.
#[derive(Clone, Debug, PartialEq)]
pub struct Prepared {
    /// What it asks.
    pub asks: Asks,
    /// What was done, in the words it was asked in.
    pub done: Vec<String>,
    /// Whether who signs rides too.
    pub signer_rides: bool,
}

/// What a release keeps of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bound {
    /// The gravest of its riders' outings.
    pub verdict: Verdict,
    /// What it is signed against, as `outing.` and the item's name.
    pub against: Vec<String>,
    /// What was to be done before leaving and is.
    pub done: Vec<String>,
    /// What was to be done before leaving and is not.
    pub left: Vec<String>,
    /// What is to be done at the next stop.
    pub next: Vec<String>,
}

/// What an outing asks of whoever lets the machine out.
#[derive(Clone, Debug, Deserialize, PartialEq, Eq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Asks {
    /// The gravest verdict of what it asks for.
    pub verdict: Verdict,
    /// What is to be done before leaving.
    pub before: Vec<Ask>,
    /// What stops it: on hold or unseen.
    pub stops: Vec<Stop>,
    /// What is to be done at the next stop.
    pub next: Vec<String>,
}

/// Something to be done before leaving.
#[derive(Clone, Debug, Deserialize, PartialEq, Eq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Ask {
    /// What, in the words it is ticked in.
    pub what: String,
    /// How grave it is to leave it undone.
    pub class: Class,
}

/// An item on hold or unseen.
#[derive(Clone, Debug, Deserialize, PartialEq, Eq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Stop {
    /// The item's name in files.
    pub id: String,
    /// Its name for people.
    pub name: String,
    /// Hold or unseen.
    pub verdict: Verdict,
    /// How grave.
    pub class: Class,
    /// Whether it rests on law.
    pub rests_on_law: bool,
    /// Why; none in a record, where it would tell of loads.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub says: Option<String>,
    /// What clears it.
    pub remedy: String,
}

/// Decides whether a machine may be let out for an outing that was worked out; the machine's own judgement is decided on
/// by [`crate::release::release`].
///
/// Fit and watch need what they ask for done. Hold and unseen need the right, a reason and somebody who does not ride. What
/// was not done is taken for what it is part of: in class dangerous nobody signs it on the road, in class major it needs
/// the right and a reason, in class minor the release says it. On the road nobody signs over law or class dangerous.
///
/// # Errors
/// [`Refusal`] with the remedy.
pub fn bind(prepared: &Prepared, request: &Request) -> Result<Bound, Refusal> {
    let Prepared { asks, done, signer_rides } = prepared;
    if let Some(other) = done.iter().find(|what| !asks.before.iter().any(|ask| ask.what == **what)) {
        return Err(Refusal::NotAsked { what: crate::load::clip(other).to_string() });
    }
    let (done, left): (Vec<&Ask>, Vec<&Ask>) = asks.before.iter().partition(|ask| done.contains(&ask.what));
    if request.uses.iter().any(|one| one != Use::Range) {
        on_the_road(&asks.stops, &left)?;
    }
    let grave = words(left.iter().copied().filter(|ask| ask.class > Class::Minor));
    let verdict = asks.stops.iter().map(|stop| stop.verdict).max();
    signed(verdict, &grave, request)?;
    if verdict == Some(Verdict::Hold) && *signer_rides {
        return Err(Refusal::OwnRide { by: request.by.clone() });
    }
    let mut against: Vec<String> = asks.stops.iter().map(|stop| alloc::format!("outing.{}", stop.id)).collect();
    sort(&mut against);
    against.dedup();
    Ok(Bound {
        verdict: asks.verdict,
        against,
        done: words(done.into_iter()),
        left: words(left.into_iter()),
        next: asks.next.clone(),
    })
}

/// What was told of the outings and cannot be: then nothing binds.
///
/// # Errors
/// [`Refusal::Told`] with the first of it.
pub fn told(assessed: &[Assessment]) -> Result<(), Refusal> {
    let fault = assessed.iter().flat_map(|of| &of.faults).next();
    fault.map_or(Ok(()), |fault| Err(Refusal::Told { fault: fault.clone() }))
}

/// What an outing asks for before leaving, to be ticked when made: of one rider's, or of several riders' together.
#[must_use]
pub fn asked(assessed: &[Assessment]) -> Vec<String> {
    asks(assessed, |_| true).into_iter().map(|ask| ask.what).collect()
}

impl Asks {
    /// What outings ask, one a rider, by those of their items that are wanted.
    #[must_use]
    pub fn of(assessed: &[Assessment], wanted: impl Fn(&Item) -> bool) -> Self {
        let items = || assessed.iter().flat_map(|of| &of.items).filter(|item| wanted(item));
        let at_next = |item: &&Item| wanted(item);
        let next = heaviest(assessed).into_iter().flat_map(|of| &of.items).filter(at_next);
        let mut asks = Self {
            verdict: items().map(|item| item.verdict).max().unwrap_or(Verdict::Fit),
            before: asks(assessed, &wanted),
            stops: Vec::new(),
            next: Vec::new(),
        };
        items().for_each(|item| asks.stop(item));
        next.for_each(|item| asks.at_next(item));
        asks
    }

    /// The same for a record: without the reasons, which tell loads.
    #[must_use]
    pub(super) fn without_reasons(mut self) -> Self {
        self.stops.iter_mut().for_each(|stop| stop.says = None);
        self
    }

    /// With what the machine itself asks.
    #[must_use]
    pub(super) fn with(mut self, items: &[Item]) -> Self {
        for item in items {
            self.verdict = self.verdict.max(item.verdict);
            self.stop(item);
            self.at_next(item);
            if item.asks_to_be_done() {
                item.before_leaving().for_each(|what| add(&mut self.before, what, item.class));
            }
        }
        self
    }

    /// What stops a release: the machine's own judgement is not told twice, nor what several riders have alike.
    fn stop(&mut self, item: &Item) {
        if item.verdict < Verdict::Unseen || item.id == MACHINE {
            return;
        }
        let remedy = item.before_leaving().next().map_or_else(|| "ride on the range only".into(), small);
        let stop = Stop {
            id: item.id.clone(),
            name: item.name.clone(),
            verdict: item.verdict,
            class: item.class,
            rests_on_law: item.rests_on_law,
            says: Some(item.says.clone()),
            remedy,
        };
        if !self.stops.contains(&stop) {
            self.stops.push(stop);
        }
    }

    fn at_next(&mut self, item: &Item) {
        for todo in item.todo.iter().filter(|todo| todo.when == When::NextStop) {
            if !self.next.contains(&todo.what) {
                self.next.push(todo.what.clone());
            }
        }
    }
}

/// Asks for something once, with the gravest class of what asks for it.
pub(super) fn add(asks: &mut Vec<Ask>, what: &str, class: Class) {
    match asks.iter_mut().find(|ask| ask.what == what) {
        Some(ask) => ask.class = class.max(ask.class),
        None => asks.push(Ask { what: what.to_string(), class }),
    }
}

fn words<'a>(asks: impl Iterator<Item = &'a Ask>) -> Vec<String> {
    asks.map(|ask| ask.what.clone()).collect()
}

fn on_the_road(stops: &[Stop], left: &[&Ask]) -> Result<(), Refusal> {
    for stop in stops {
        let (name, says, remedy) = (stop.name.clone(), stop.says.clone(), stop.remedy.clone());
        if stop.verdict == Verdict::Hold && stop.rests_on_law {
            return Err(Refusal::OutingByLaw { name, says, remedy });
        }
        if stop.class == Class::Dangerous {
            return Err(Refusal::OutingDangerous { name, verdict: stop.verdict, says, remedy });
        }
    }
    let grave = words(left.iter().copied().filter(|ask| ask.class == Class::Dangerous));
    if grave.is_empty() { Ok(()) } else { Err(Refusal::LeftUndone { what: grave }) }
}

fn signed(verdict: Option<Verdict>, left: &[String], request: &Request) -> Result<(), Refusal> {
    let Some(verdict) = verdict.or((!left.is_empty()).then_some(Verdict::Unseen)) else { return Ok(()) };
    if !request.may_override {
        return Err(match left {
            [] => Refusal::NoRight { verdict },
            _ => Refusal::LeftUndone { what: left.to_vec() },
        });
    }
    if request.reason.as_ref().is_none_or(|reason| reason.trim().is_empty()) {
        return Err(match left {
            [] => Refusal::NoReason { verdict },
            _ => Refusal::UndoneWithoutReason { what: left.to_vec() },
        });
    }
    Ok(())
}

/// A sentence's beginning inside another.
fn small(text: &str) -> String {
    let mut characters = text.chars();
    characters
        .next()
        .map_or_else(String::new, |first| core::iter::once(first.to_ascii_lowercase()).chain(characters).collect())
}
