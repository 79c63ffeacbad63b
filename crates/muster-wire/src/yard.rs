//! The whole yard at a glance.

use std::sync::Arc;

use muster_core::{
    judge::Judgement,
    record::machine_state::{Contradiction, MachineState},
};
use serde::{Deserialize, Serialize};

/// Every machine, worst first.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct YardView {
    /// The yard's name.
    pub name: String,
    /// The minute it is judged at, so that a yard in which nothing happened is not sent again.
    pub judged_at: String,
    /// SHA-256 of the catalogue.
    pub catalogue: String,
    /// SHA-256 of the yard's files.
    pub yard: String,
    /// Its machines.
    #[cfg_attr(feature = "schema", schema(value_type = Vec<MachineRow>))]
    pub machines: Vec<Arc<MachineRow>>,
    /// What is wrong in its files.
    pub problems: Vec<String>,
}

/// One machine of the yard.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct MachineRow {
    /// Fleet number.
    pub machine: String,
    /// Its model.
    pub model: String,
    /// Its place in the yard.
    pub row: u16,
    /// Service state.
    pub service: String,
    /// The use planned, else range.
    #[serde(rename = "use")]
    pub one: String,
    /// Verdict of each use.
    pub verdicts: Vec<UseVerdict>,
    /// Why it is not fit for the use planned, worst first, at most three.
    pub reasons: Vec<Reason>,
    /// Hold tags that hang.
    pub tags: usize,
    /// Whether it is out.
    pub out: bool,
    /// Jobs not proven.
    pub jobs: usize,
    /// Contradictions a person has to look at.
    pub contradictions: Vec<String>,
}

/// A verdict.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct UseVerdict {
    /// The use.
    #[serde(rename = "use")]
    pub one: String,
    /// fit, watch, hold or unseen.
    pub verdict: String,
    /// Conditions it may go out on.
    pub conditions: Vec<String>,
}

/// Why a machine is not fit.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Reason {
    /// The check.
    pub check: String,
    /// Its name.
    pub name: String,
    /// watch, hold or unseen.
    pub verdict: String,
    /// Why.
    pub reason: String,
    /// What to do now.
    pub todo: Option<String>,
}

impl MachineRow {
    /// A machine's row.
    #[must_use]
    pub fn of(row: u16, judgement: &Judgement, service: &str, state: &MachineState) -> Self {
        let planned = judgement.planned();
        let reason = |of: &muster_core::judge::Outcome| Reason {
            check: of.check.clone(),
            name: of.name.clone(),
            verdict: of.verdict.to_string(),
            reason: of.reason.clone(),
            todo: of.todo.clone(),
        };
        Self {
            machine: judgement.machine.clone(),
            model: judgement.model.clone(),
            row,
            service: service.to_string(),
            one: planned.map_or_else(String::new, |of| of.one.to_string()),
            verdicts: verdicts(judgement),
            reasons: planned.into_iter().flat_map(|of| of.reasons().take(3)).map(reason).collect(),
            tags: state.hanging().count(),
            out: state.out().next().is_some(),
            jobs: state.unproven().count(),
            contradictions: state.contradictions().iter().map(in_words).collect(),
        }
    }
}

/// The verdict of each use.
#[must_use]
pub fn verdicts(judgement: &Judgement) -> Vec<UseVerdict> {
    let verdict = |of: &muster_core::judge::UseVerdict| UseVerdict {
        one: of.one.to_string(),
        verdict: of.verdict.to_string(),
        conditions: of.conditions.clone(),
    };
    judgement.uses.iter().map(verdict).collect()
}

/// What contradicts itself, and what to do.
#[must_use]
pub fn in_words(contradiction: &Contradiction) -> String {
    match contradiction {
        Contradiction::OutAgainstTag { tag, release } => {
            format!("out on {release} against the hold tag {tag}: call the rider and note the answer")
        }
        Contradiction::OutTwice { releases } => {
            format!("let out {} times at once: find who has it, note the return of the other", releases.len())
        }
        Contradiction::TagUnseen { tag, untagging } => {
            format!("the tag {tag} was hung without knowing of the untagging {untagging}: look, then lift it by name")
        }
        Contradiction::ChangedApart { events } => {
            let events: Vec<String> = events.iter().map(ToString::to_string).collect();
            format!("changed apart by {}: the last counts till somebody settles it", events.join(" and "))
        }
    }
}
