//! Letting out and keeping in: release, return, tags, calls, service states, impounding, what a person settles.

use alloc::{
    string::{String, ToString},
    vec::Vec,
};

use super::{Asked, Refusal, ReleaseAsked, looks, outings, said};
use crate::{
    quantity::text::DecimalSign,
    record::{
        id::{EventId, PersonId},
        machine_state::Contradiction,
        payload::{
            CallNoted, FindingRaised, Impounded, Payload, Released, Returned, Right, Role, ServiceChanged, Settled,
            Tagged, Untagged,
        },
    },
    release::{self, Request},
    sorted,
    words::{Class, Service, Use},
};

/// A release rests on the judgement, and carries its bytes.
pub(super) fn release(asked: &Asked<'_>, of: ReleaseAsked) -> Result<Payload, Refusal> {
    let state = asked.machine(&of.machine)?;
    if let Some((out, _)) = state.out().next() {
        return Err(Refusal::Out { machine: of.machine, release: out });
    }
    if let Some((service, _)) = state.service.filter(|(service, _)| *service != Service::InService) {
        let (state, remedy) = (service.to_string(), "bring it back into service first".to_string());
        return Err(release::Refusal::NotInService { state, remedy }.into());
    }
    people(asked, &of.riders)?;
    let outing = outings::of(asked, &of)?;
    let request = Request {
        by: asked.actor.person.to_string(),
        may_override: asked.standing.rights.contains(&Right::Override),
        reason: of.reason,
        uses: outing.iter().flat_map(|of| &of.kept.uses).fold(of.uses, |uses, one| uses.with(*one)),
        outing: of.outing,
        from: of.from,
        to: of.to,
        tags: state.hanging().map(|(id, tag)| tag.hung.number.clone().unwrap_or_else(|| id.to_string())).collect(),
    };
    let judged = asked.judged(&of.machine)?;
    let release = release::release(judged, &request)?;
    let signer_rides = of.riders.contains(asked.actor.person);
    let bound = outing.map(|outing| outing.bound((of.done, signer_rides), &request)).transpose()?;
    let (mut conditions, mut against) = (release.conditions, release.against);
    if let Some((own, bound)) = &bound {
        against.extend(own.iter().cloned());
        let asks = bound.done.iter().chain(&bound.left).filter(|what| !conditions.contains(what)).cloned();
        conditions.extend(asks.collect::<Vec<_>>());
    }
    let signed_over = !against.is_empty() || bound.as_ref().is_some_and(|(_, bound)| !bound.left.is_empty());
    Ok(Released {
        rests_on: asked.rests_on(&of.machine)?,
        machine: of.machine,
        outing: release.outing,
        planned: of.planned,
        riders: of.riders,
        from: of.from,
        to: of.to,
        verdicts: sorted::map(release.verdicts),
        conditions,
        against,
        reason: request.reason.filter(|_| signed_over),
        worked_out: bound.map(|(_, bound)| bound),
        replaces: state.last_release,
    }
    .into())
}

/// Anyone who walks round hangs a tag; it carries the judgement, where there is one.
pub(super) fn tag(asked: &Asked<'_>, machine: String, why: String, number: Option<String>) -> Result<Payload, Refusal> {
    said("why", &why)?;
    let state = asked.machine(&machine)?;
    if let (Some(number), Some(hung_on)) = (&number, asked.world.hung_on) {
        return Err(Refusal::NumberHangs { number: number.clone(), machine: hung_on.to_string() });
    }
    let rests_on = asked.world.judged.map(|_| asked.rests_on(&machine)).transpose()?;
    Ok(Tagged { knew: state.last_tagging(), rests_on, machine, why, number }.into())
}

/// Lifts the tags named and no other.
pub(super) fn untag(
    asked: &Asked<'_>,
    machine: String,
    lifts: Vec<EventId>,
    reason: String,
) -> Result<Payload, Refusal> {
    let state = asked.machine(&machine)?;
    let hanging: Vec<String> = state.hanging().map(|(id, _)| id.to_string()).collect();
    let names: Vec<String> = lifts.iter().map(ToString::to_string).collect();
    release::untag(&hanging, &names, asked.actor.person.as_str(), &reason)?;
    let of_others = lifts.iter().any(|id| state.tags.get(id).is_none_or(|tag| tag.by.0 != *asked.actor.person));
    if asked.standing.role == Role::Instructor && of_others {
        let what = "an instructor lifts the own tags; ask the workshop or the owner for others".to_string();
        return Err(Refusal::Field { field: "lifts", what });
    }
    let by_job = state.jobs.values().flat_map(|job| &job.opened.tags).any(|tag| lifts.contains(tag));
    if by_job && asked.standing.role != Role::Owner {
        return Err(Refusal::Field { field: "lifts", what: "a job lifts it: prove the job".into() });
    }
    Ok(Untagged { knew: state.last_tagging(), machine, lifts, reason }.into())
}

/// From here on nothing is repaired or corrected; what is known now goes with it.
pub(super) fn impound(asked: &Asked<'_>, machine: String, why: String) -> Result<Payload, Refusal> {
    said("why", &why)?;
    if asked.impounded(asked.machine(&machine)?) {
        return Err(Refusal::Impounded(machine));
    }
    Ok(Impounded { rests_on: asked.rests_on(&machine)?, machine, why }.into())
}

pub(super) fn service(asked: &Asked<'_>, of: &ServiceChanged) -> Result<(), Refusal> {
    let state = asked.machine(&of.machine)?;
    let now = state.service.map(|(_, id)| id);
    if now != of.replaces {
        return Err(Refusal::Stale { what: "the service state", now });
    }
    if of.state == Service::Impounded {
        return Err(Refusal::Field {
            field: "state",
            what: "impound it: a command of its own, with what is known".into(),
        });
    }
    if asked.impounded(state) {
        if asked.standing.role != Role::Owner {
            return Err(Refusal::Impounded(of.machine.clone()));
        }
        said("why", of.why.as_deref().unwrap_or_default())?;
    }
    Ok(())
}

pub(super) fn returned(asked: &Asked<'_>, of: &Returned) -> Result<(), Refusal> {
    let state = asked.machine(&of.machine)?;
    let Some(release) = state.releases.get(&of.release) else {
        let name = of.release.to_string();
        return Err(Refusal::NotHere { what: "release", name, remedy: "look at what is out" });
    };
    if release.returned.is_some() {
        return Err(Refusal::Over { what: "the release", remedy: "it came back already" });
    }
    match &of.odometer {
        Some(odometer) => looks::not_backwards(asked, &of.machine, odometer, DecimalSign::Point),
        None => Ok(()),
    }
}

/// The return, and a finding of its damage for every use: both are decided before either is written, so that a return
/// refused and asked for again raises no damage twice.
pub(super) fn take_back(asked: &Asked<'_>, of: Returned, class: Option<Class>) -> Result<Vec<Payload>, Refusal> {
    returned(asked, &of)?;
    let Some(what) = of.damage.clone() else { return Ok([of.into()].into()) };
    let class = class.ok_or_else(|| Refusal::Field {
        field: "class",
        what: "say how grave the damage is: minor, major or dangerous".into(),
    })?;
    let raised = FindingRaised {
        machine: of.machine.clone(),
        walk_round: None,
        check: None,
        what,
        class,
        defect: None,
        uses: Use::ALL.to_vec(),
        feedback: false,
    };
    looks::raised(asked, &raised)?;
    Ok([of.into(), raised.into()].into())
}

pub(super) fn call(asked: &Asked<'_>, of: &CallNoted) -> Result<(), Refusal> {
    said("answer", &of.answer)?;
    let about = Contradiction::OutAgainstTag { tag: of.tag, release: of.release };
    if asked.machine(&of.machine)?.contradictions().contains(&about) {
        return Ok(());
    }
    Err(Refusal::NotHere {
        what: "machine out against tag",
        name: of.tag.to_string(),
        remedy: "look at what contradicts",
    })
}

pub(super) fn settled(asked: &Asked<'_>, of: &Settled) -> Result<(), Refusal> {
    said("how", &of.how)?;
    let events = sorted::set(of.events.iter().copied());
    let about = |contradiction: &Contradiction| matches!(contradiction, Contradiction::ChangedApart { events: these } if *these == events);
    if asked.machine(&of.machine)?.contradictions().iter().any(about) {
        return Ok(());
    }
    let name = of.events.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
    Err(Refusal::NotHere { what: "contradiction of", name, remedy: "look at what contradicts now" })
}

pub(super) fn people(asked: &Asked<'_>, riders: &[PersonId]) -> Result<(), Refusal> {
    match riders.iter().find(|rider| !asked.world.state.people.contains_key(*rider)) {
        Some(rider) => {
            Err(Refusal::NotHere { what: "person", name: rider.to_string(), remedy: "add the person first" })
        }
        None => Ok(()),
    }
}
