//! A judgement as paper tells it: each use's verdict, and the reasons worst first with their rulers.

use muster_core::{
    judge::{Judgement, Outcome},
    words::Use,
};
use muster_draw::{
    gauge::{authority, margin_words},
    merge::{Merged, is_to_set, unfit},
    number::sentence,
};
use serde_json::{Value, json};

use crate::draw::Drawings;

/// Width of a reason's ruler, in px.
const RULER_PX: u32 = 300;

/// The name of a person a record or a form writes by some other text.
pub(crate) type Name<'n> = &'n dyn Fn(&str) -> String;

/// A reason or what to do about it, with the name of whom it rests on in place of what the record writes.
#[must_use]
pub fn by_name(text: &str, outcome: &Outcome, name: &dyn Fn(&str) -> String) -> String {
    let Some(by) = &outcome.by else { return text.to_string() };
    text.replace(&format!("({by}, "), &format!("({}, ", name(by)))
        .replace(&format!("not {by}"), &format!("not {}", name(by)))
}

/// What an outcome is called: a finding of a record by its number alone, not its device's.
pub(crate) fn titled(outcome: &Outcome) -> String {
    match outcome.name.strip_prefix("Finding ").and_then(|id| id.split_once('.')) {
        Some((_, number)) => format!("Finding {number}"),
        None => outcome.name.clone(),
    }
}

/// Every use with its verdict, the planned one marked.
pub(crate) fn uses(judgement: &Judgement) -> Vec<Value> {
    let planned = judgement.planned.unwrap_or(Use::Range);
    let one = |of: &muster_core::judge::UseVerdict| {
        json!({
            "use": of.one.as_str(), "verdict": of.verdict.as_str(), "planned": of.one == planned,
            "conditions": of.conditions,
        })
    };
    judgement.uses.iter().map(one).collect()
}

/// What is not fit for any use, worst first, each said once; what nobody has looked at, told together.
pub(crate) fn told(judgement: &Judgement, drawings: &mut Drawings, name: Name<'_>) -> Vec<Value> {
    let planned = judgement.planned.unwrap_or(Use::Range);
    let all = unfit(judgement, planned);
    let alike = |a: &Merged<'_>, b: &Merged<'_>| {
        a.is_bare() && b.is_bare() && a.uses == b.uses && a.todo() == b.todo() && a.outcome.reason == b.outcome.reason
    };
    let mut out: Vec<(&Merged<'_>, Vec<&str>)> = Vec::new();
    for merged in &all {
        match out.iter_mut().find(|(first, _)| alike(first, merged)) {
            Some((_, names)) => names.push(&merged.outcome.name),
            None => out.push((merged, vec![&merged.outcome.name])),
        }
    }
    out.into_iter().map(|(merged, names)| one(merged, &names, drawings, name)).collect()
}

fn one(merged: &Merged<'_>, names: &[&str], drawings: &mut Drawings, name: Name<'_>) -> Value {
    let outcome = merged.outcome;
    let said = |text: &str| sentence(&by_name(text, outcome, name));
    let ruler = outcome.figure.as_ref().and_then(|figure| drawings.ruler(outcome, figure, RULER_PX));
    let (word, _, rest) = authority(outcome);
    json!({
        "verdict": outcome.verdict.as_str(),
        "set": is_to_set(outcome),
        "name": titled(outcome),
        "names": names,
        "uses": merged.uses.iter().map(|one| one.as_str()).collect::<Vec<_>>().join(", "),
        "class": outcome.class.as_str(),
        "reason": said(&outcome.reason),
        "todo": merged.todo().map(|todo| said(&todo)),
        "layer": word,
        "source": rest,
        "law": outcome.rests_on_law,
        "margin": outcome.figure.as_ref().filter(|figure| figure.margin.is_finite()).map(margin_words),
        "working": outcome.working,
        "ruler": ruler,
    })
}

/// What a check came to: of the planned use, else of the first that asked for it.
pub(crate) fn outcome<'j>(judgement: &'j Judgement, check: &str) -> Option<&'j Outcome> {
    let planned = judgement.planned();
    let all = planned.into_iter().chain(&judgement.uses).flat_map(|of| &of.outcomes);
    all.into_iter().find(|outcome| outcome.check == check)
}
