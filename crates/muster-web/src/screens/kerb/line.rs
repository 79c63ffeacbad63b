//! A machine of a round as its row says it.

use muster_core::{
    check::{Check, Correction, Yields},
    judge::{Outcome, Verdict},
    state::Heat,
    words::{Service, Use},
};

use super::{
    asked::{applies, in_context},
    round::Once,
    walk::cold_at,
};
use crate::{words::t, yard::Yard};

/// How a machine stands in a round.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Stand {
    /// Answered, and the answers live.
    Done,
    /// To be answered.
    Open,
    /// Passed over; its row says why.
    Passed,
}

/// One row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Line {
    /// The machine.
    pub(super) id: String,
    /// Its model.
    pub(super) model: String,
    /// How it stands.
    pub(super) stand: Stand,
    /// What its row says.
    pub(super) says: String,
    /// What to set it to.
    pub(super) set: String,
    /// What its answers come to.
    pub(super) verdict: Option<Verdict>,
}

/// The machines the checks apply to, in row order.
pub(super) fn lines(yard: Yard, once: &Once) -> Vec<Line> {
    yard.machines().into_iter().filter_map(|id| line(yard, &id, once)).collect()
}

fn line(yard: Yard, id: &str, once: &Once) -> Option<Line> {
    let rules = yard.rules();
    let checks: Vec<&Check> = once.checks.iter().filter_map(|check| rules.catalogue.check(check)).collect();
    let seen = yard.machine(id)?;
    let planned = seen.judgement.planned()?;
    let outcomes: Vec<&Outcome> = planned.outcomes.iter().filter(|of| once.checks.contains(&of.check)).collect();
    let (passed, set) = in_context(yard, id, |context, state| {
        let asked: Vec<&&Check> = checks.iter().filter(|check| applies(context, check)).collect();
        if asked.is_empty() {
            return None;
        }
        let warm = asked.iter().any(|check| {
            let gas = matches!(&check.yields, Yields::Read(of) if of.correction == Some(Correction::TyreGas));
            gas || context.needs(check).is_cold_only()
        });
        let cold = cold_at(context, state.last_return()).filter(|_| warm && once.heat == Heat::Cold);
        Some((cold, targets(context, &asked, planned.one)))
    })??;
    let state = &seen.state;
    let service = yard.with(|held| held.known().yard.machines.get(id).map(|of| of.service)).flatten();
    let service = state.service.map(|(service, _)| service).or(service).filter(|of| *of != Service::InService);
    let out = state.out().next().map(|(_, of)| of.released.to.clock());
    let why = match (service, out) {
        _ if state.impounded.is_some() => Some((t!("impounded"), Some(Verdict::Hold))),
        (Some(service), _) => Some((service.to_string(), None)),
        (None, Some(till)) => Some((t!("kerb-out-till", at = till), None)),
        _ if state.hanging().next().is_some() => Some((t!("tag-on-bar"), Some(Verdict::Hold))),
        _ => passed.map(|at| (t!("warm-after", at = at), None)),
    };
    let verdict = outcomes.iter().map(|of| of.verdict).max();
    let (stand, says, verdict) = match (why, verdict) {
        (Some((why, verdict)), _) => (Stand::Passed, why, verdict),
        (None, Some(verdict)) if verdict != Verdict::Unseen => (Stand::Done, told(&outcomes), Some(verdict)),
        (None, verdict) => (Stand::Open, last(&outcomes), verdict),
    };
    Some(Line { id: id.to_owned(), model: seen.judgement.model.clone(), stand, says, set, verdict })
}

fn targets(context: &muster_core::judge::Context<'_>, asked: &[&&Check], one: Use) -> String {
    let each: Vec<String> = asked
        .iter()
        .filter_map(|check| {
            let Yields::Read(measure) = &check.yields else { return None };
            let target = context.limits(check, one).target?.target?;
            Some(context.shown(measure).text(target.value(), target.unit()))
        })
        .collect();
    if each.is_empty() { String::new() } else { t!("set-to", figures = each.join(" · ")) }
}

/// What was read or seen.
fn told(outcomes: &[&Outcome]) -> String {
    let each = outcomes.iter().map(|of| match (&of.set, &of.figure) {
        (Some(set), _) => t!("set-found", found = set.found.as_str(), now = set.now.as_str()),
        (None, Some(figure)) => muster_draw::number::with_unit(
            &muster_draw::number::figure_text(figure.value, figure.decimals),
            figure.unit,
        ),
        (None, None) => of.reason.clone(),
    });
    each.collect::<Vec<_>>().join(" · ")
}

fn last(outcomes: &[&Outcome]) -> String {
    outcomes.iter().find(|of| of.verdict == Verdict::Unseen).map(|of| of.reason.clone()).unwrap_or_default()
}
