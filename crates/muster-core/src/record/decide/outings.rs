//! Outings worked out: what binds a release, and the plan that carries one to whoever may sign it.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use super::{Asked, Refusal, ReleaseAsked, out, said};
use crate::{
    outing::{
        Kept, Outing,
        bound::{self, Asks, Bound, Prepared},
    },
    record::{
        id::{EventId, PersonId},
        judged,
        payload::{OutingPlanned, Payload, WorkedOut},
    },
    release::{self, Request},
    sorted,
};

/// Most riders of one machine's session.
const MAX_RIDERS: usize = 40;

/// An outing that binds: what is kept of it, and what it asks now.
pub(super) struct Binding {
    pub(super) kept: Kept,
    asks: Asks,
}

impl Binding {
    /// What it is signed against, and what a release keeps of it.
    pub(super) fn bound(
        self,
        (done, signer_rides): (Vec<String>, bool),
        request: &Request,
    ) -> Result<(Vec<String>, WorkedOut), Refusal> {
        let outing = json(&self.kept)?;
        let Bound { verdict, against, done, left, next } =
            bound::bind(&Prepared { asks: self.asks, done, signer_rides }, request)?;
        Ok((against, WorkedOut { verdict, done, left, next, outing }))
    }
}

/// The outing a release is for: told here and worked out here, whatever the asker made of it; or one planned that somebody
/// worked out before. None where neither is.
pub(super) fn of(asked: &Asked<'_>, of: &ReleaseAsked) -> Result<Option<Binding>, Refusal> {
    if !of.outings.is_empty() {
        return told_here(asked, of).map(Some);
    }
    if let Some(planned) = of.planned
        && let Some(plan) = asked.world.state.outings.get(&planned)
        && let Some(worked) = &plan.worked_out
    {
        return planned_before(asked, of, (planned, plan, worked)).map(Some);
    }
    match of.done.is_empty() {
        true => Ok(None),
        false => Err(Refusal::Field { field: "done", what: "tell the outing it is done for".into() }),
    }
}

fn told_here(asked: &Asked<'_>, of: &ReleaseAsked) -> Result<Binding, Refusal> {
    told(&of.outings, &of.riders)?;
    let none = || Refusal::NoMachine(of.machine.clone());
    let rules = (asked.world.catalogue, asked.world.yard);
    let (state, judgement) = (asked.machine(&of.machine)?, asked.judged(&of.machine)?);
    let assessed = judged::outings(rules, state, asked.actor.now, judgement, &of.outings).ok_or_else(none)?;
    bound::told(&assessed)?;
    let kept = of.outings.first().and_then(|told| Kept::of(&assessed, told)).ok_or_else(none)?;
    Ok(Binding { kept, asks: Asks::of(&assessed, |_| true) })
}

/// What rests on who rides was worked out by whoever planned it, who was told the masses; what rests on the machine is
/// judged anew.
fn planned_before(
    asked: &Asked<'_>,
    of: &ReleaseAsked,
    (id, plan, worked): (EventId, &OutingPlanned, &WorkedOut),
) -> Result<Binding, Refusal> {
    let refused = |what: String| Err(Refusal::Field { field: "planned", what });
    if plan.machine.as_ref() != Some(&of.machine) {
        let machine = plan.machine.as_deref().unwrap_or("no machine");
        return refused(format!("{id} was worked out for {machine}, not for {}", of.machine));
    }
    if sorted::set(plan.riders.iter()) != sorted::set(of.riders.iter()) || plan.to != of.to {
        return refused(format!("{id} was worked out for its own riders and for a return at {}", plan.to));
    }
    let kept =
        Kept::read(&worked.outing).map_err(|fault| Refusal::Field { field: "planned", what: fault.to_string() })?;
    let judgement = asked.judged(&of.machine)?;
    if kept.catalogue != judgement.catalogue || kept.yard != judgement.yard {
        return refused("sheets or rules have changed since it was worked out: work the outing out again".into());
    }
    let rules = (asked.world.catalogue, asked.world.yard);
    let asks = judged::kept(rules, asked.machine(&of.machine)?, asked.actor.now, judgement, &kept)
        .ok_or_else(|| Refusal::NoMachine(of.machine.clone()))?;
    Ok(Binding { kept, asks })
}

/// Plans an outing for somebody else to sign: what it comes to goes with it, and nobody's mass.
pub(super) fn plan(asked: &Asked<'_>, of: ReleaseAsked) -> Result<Payload, Refusal> {
    said("outing", &of.outing)?;
    if asked.impounded(asked.machine(&of.machine)?) {
        return Err(Refusal::Impounded(of.machine));
    }
    if of.to <= of.from {
        return Err(Refusal::Field { field: "to", what: format!("must be after {}", of.from) });
    }
    out::people(asked, &of.riders)?;
    if of.outings.is_empty() {
        return Err(Refusal::Field { field: "told", what: "tell the outing that is to be worked out".into() });
    }
    if let Some(what) = of.done.first() {
        let what = format!("`{}` is ticked by whoever lets it out", crate::load::clip(what));
        return Err(Refusal::Field { field: "done", what });
    }
    let Binding { kept, asks } = told_here(asked, &of)?;
    Ok(OutingPlanned {
        name: of.outing,
        uses: kept.uses.clone(),
        riders: of.riders,
        from: of.from,
        to: of.to,
        distance: None,
        machine: Some(of.machine),
        worked_out: Some(WorkedOut {
            verdict: kept.verdict,
            done: Vec::new(),
            left: asks.before.into_iter().map(|ask| ask.what).collect(),
            next: asks.next,
            outing: json(&kept)?,
        }),
    }
    .into())
}

fn json(kept: &Kept) -> Result<String, Refusal> {
    kept.to_json().map_err(|_| release::Refusal::NoBytes.into())
}

/// Several riders are told by their ids, so that the record holds no name.
fn told(outings: &[Outing], riders: &[PersonId]) -> Result<(), Refusal> {
    let refused = |what: String| Err(Refusal::Field { field: "told", what });
    if outings.len() > MAX_RIDERS {
        return refused(format!("at most {MAX_RIDERS} riders on one machine, got {}", outings.len()));
    }
    let is_known = |name: &str| riders.iter().any(|rider| rider.as_str() == name);
    for (index, of) in outings.iter().enumerate() {
        match &of.rider.name {
            Some(name) if !is_known(name) => {
                return refused("name each by the id that stands in riders".to_string());
            }
            None if outings.len() > 1 => {
                return refused("of several, name each by the id that stands in riders".to_string());
            }
            Some(name) if outings.iter().take(index).any(|other| other.rider.name.as_ref() == Some(name)) => {
                return refused(format!("{name} is told twice"));
            }
            _ => {}
        }
    }
    Ok(())
}
