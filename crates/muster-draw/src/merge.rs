//! Brings the outcomes of every use into one list: what is the same for several uses is said once.

use muster_core::{
    judge::{Judgement, Outcome, UseVerdict, Verdict},
    sorted,
    words::Use,
};

/// An outcome and the uses it is the same for.
#[derive(Clone, Debug)]
pub struct Merged<'j> {
    /// The outcome of the first of them, the planned one first.
    pub outcome: &'j Outcome,
    /// The uses, the planned one first.
    pub uses: Vec<Use>,
}

impl Merged<'_> {
    /// What to do now. Where it names one use it names all it stands for.
    #[must_use]
    pub fn todo(&self) -> Option<String> {
        let todo = self.outcome.todo.as_deref()?;
        let all = self.uses.iter().map(|one| one.as_str()).collect::<Vec<_>>().join(", ");
        Some(todo.replacen(&format!("for use: {},", self.outcome.one), &format!("for use: {all},"), 1))
    }

    /// Nobody has looked, and there is nothing to show but the name: such ones are told together.
    #[must_use]
    pub fn is_bare(&self) -> bool {
        let outcome = self.outcome;
        outcome.verdict == Verdict::Unseen
            && outcome.figure.is_none()
            && outcome.set.is_none()
            && outcome.working.is_empty()
            && outcome.source.is_none()
    }
}

/// Whether a reading is to be set and read again, which is a step and not a verdict.
#[must_use]
pub fn is_to_set(outcome: &Outcome) -> bool {
    outcome.verdict == Verdict::Unseen && outcome.reason.starts_with("to set:")
}

/// What is not fit for any use, worst first.
#[must_use]
pub fn unfit(judgement: &Judgement, planned: Use) -> Vec<Merged<'_>> {
    let first = judgement.uses.iter().filter(|verdict| verdict.one == planned);
    let others = judgement.uses.iter().filter(|verdict| verdict.one != planned);
    let mut out: Vec<Merged<'_>> = Vec::new();
    for outcome in first.chain(others).flat_map(UseVerdict::reasons) {
        let same = |merged: &&mut Merged<'_>| {
            let other = merged.outcome;
            other.check == outcome.check && other.verdict == outcome.verdict && other.reason == outcome.reason
        };
        match out.iter_mut().find(same) {
            Some(merged) if merged.uses.contains(&outcome.one) => out.push(Merged { outcome, uses: vec![outcome.one] }),
            Some(merged) => merged.uses.push(outcome.one),
            None => out.push(Merged { outcome, uses: vec![outcome.one] }),
        }
    }
    sorted::sort_by(&mut out, |a, b| a.outcome.gravity(b.outcome));
    out
}
