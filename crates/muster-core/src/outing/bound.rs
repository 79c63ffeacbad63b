//! What an outing worked out asks of a release: what stops it, what was not done, and what goes into the record.

use alloc::{
    string::{String, ToString},
    vec::Vec,
};

use serde::Serialize;

use super::assess::Assessment;
use super::item::{Item, When};
use super::machine::MACHINE;
use super::session::{asks, heaviest, lightest};
use crate::judge::Verdict;
use crate::release::{Refusal, Request};
use crate::sorted::sort;
use crate::words::{Class, Use};

/// An outing worked out for each of its riders, and what was done of what it asks before leaving.
#[derive(Clone, Debug, PartialEq)]
pub struct Prepared {
    /// What it comes to, one a rider.
    pub assessed: Vec<Assessment>,
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
    /// What was worked out, as JSON: the outing, or the heaviest's and the lightest's.
    pub outing: String,
}

/// What stands in a record: the gravest verdict, each rider's, and the outings that settings rest on.
#[derive(Serialize)]
struct Kept {
    schema: u32,
    verdict: Verdict,
    riders: Vec<(Option<String>, Verdict)>,
    outings: Vec<Assessment>,
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
    let Prepared { assessed, done, signer_rides } = prepared;
    if let Some(fault) = assessed.iter().flat_map(|of| &of.faults).next() {
        return Err(Refusal::Told { fault: fault.clone() });
    }
    let asked = asks(assessed);
    if let Some(other) = done.iter().find(|what| !asked.iter().any(|(own, _)| own == *what)) {
        return Err(Refusal::NotAsked { what: crate::load::clip(other).to_string() });
    }
    let (done, left): (Vec<_>, Vec<_>) = asked.into_iter().partition(|(what, _)| done.contains(what));
    let stops: Vec<&Item> = assessed.iter().flat_map(|of| &of.items).filter(stops).collect();
    if request.uses.iter().any(|one| one != Use::Range) {
        on_the_road(&stops, &left)?;
    }
    let grave: Vec<String> =
        left.iter().filter(|(_, class)| *class > Class::Minor).map(|(what, _)| what.clone()).collect();
    let verdict = stops.iter().map(|item| item.verdict).max();
    signed(verdict, &grave, request)?;
    if verdict == Some(Verdict::Hold) && *signer_rides {
        return Err(Refusal::OwnRide { by: request.by.clone() });
    }
    let mut against: Vec<String> = stops.iter().map(|item| alloc::format!("outing.{}", item.id)).collect();
    sort(&mut against);
    against.dedup();
    let words = |of: Vec<(String, Class)>| of.into_iter().map(|(what, _)| what).collect();
    Ok(Bound {
        verdict: assessed.iter().map(|of| of.verdict).max().unwrap_or(Verdict::Unseen),
        against,
        done: words(done),
        left: words(left),
        next: next(assessed),
        outing: kept(assessed)?,
    })
}

/// What an outing asks for before leaving, to be ticked when made: of one rider's, or of several riders' together.
#[must_use]
pub fn asked(assessed: &[Assessment]) -> Vec<String> {
    asks(assessed).into_iter().map(|(what, _)| what).collect()
}

/// What stops a release: the machine's own judgement is not told twice.
fn stops(item: &&Item) -> bool {
    item.verdict >= Verdict::Unseen && item.id != MACHINE
}

fn on_the_road(stops: &[&Item], left: &[(String, Class)]) -> Result<(), Refusal> {
    for item in stops {
        let (name, says) = (item.name.clone(), item.says.clone());
        let todo = item.todo.iter().find(|todo| todo.when == When::BeforeLeaving);
        let remedy = todo.map_or_else(|| "ride on the range only".into(), |todo| small(&todo.what));
        if item.verdict == Verdict::Hold && item.rests_on_law {
            return Err(Refusal::OutingByLaw { name, says, remedy });
        }
        if item.class == Class::Dangerous {
            return Err(Refusal::OutingDangerous { name, verdict: item.verdict, says, remedy });
        }
    }
    let grave: Vec<String> =
        left.iter().filter(|(_, class)| *class == Class::Dangerous).map(|(what, _)| what.clone()).collect();
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

fn next(assessed: &[Assessment]) -> Vec<String> {
    heaviest(assessed).map(|of| of.at_the_next_stop.clone()).unwrap_or_default()
}

fn kept(assessed: &[Assessment]) -> Result<String, Refusal> {
    let of = |of: &Assessment| of.clone().without_working();
    let outings = match assessed {
        [_, _, ..] => heaviest(assessed).into_iter().chain(lightest(assessed)).map(of).collect(),
        _ => assessed.iter().map(of).collect(),
    };
    let kept = Kept {
        schema: 1,
        verdict: assessed.iter().map(|of| of.verdict).max().unwrap_or(Verdict::Unseen),
        riders: assessed.iter().map(|of| (of.rider.clone(), of.verdict)).collect(),
        outings,
    };
    serde_json::to_string(&kept).map_err(|_| Refusal::NoBytes)
}

/// A sentence's beginning inside another.
fn small(text: &str) -> String {
    let mut characters = text.chars();
    characters
        .next()
        .map_or_else(String::new, |first| core::iter::once(first.to_ascii_lowercase()).chain(characters).collect())
}
