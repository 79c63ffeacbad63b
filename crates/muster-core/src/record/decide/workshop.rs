//! Workshop work: jobs, parts, photos, and what was written in error.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use super::{Asked, Refusal, looks, said};
use crate::{
    calendar, hash,
    quantity::text::DecimalSign,
    record::{
        id::EventId,
        job::{self, JobKind},
        machine_state::Job,
        payload::{
            JobMoved, JobOpened, JobProven, JobState, PartMounted, PartRemoved, Payload, PhotoAttached, PhotoRemoved,
            ThingSet, Withdrawn,
        },
    },
    words::Ending,
};

pub(super) fn opened(asked: &Asked<'_>, of: &JobOpened) -> Result<(), Refusal> {
    said("why", &of.why)?;
    planned(of.planned.as_deref())?;
    let kind = kind(asked, &of.job)?;
    if job::asked(kind, &asked.context(&of.machine)?).next().is_none() {
        return Err(none_applies());
    }
    let state = asked.machine(&of.machine)?;
    let open = |id: &EventId| state.findings.get(id).is_some_and(|finding| finding.closed.is_none());
    if let Some(id) = of.findings.iter().find(|id| !open(id)) {
        return Err(Refusal::NotHere { what: "open finding", name: id.to_string(), remedy: "name one that is open" });
    }
    let hangs = |id: &EventId| state.tags.get(id).is_some_and(|tag| tag.lifted.is_none());
    if let Some(id) = of.tags.iter().find(|id| !hangs(id)) {
        return Err(Refusal::NotHere { what: "hanging tag", name: id.to_string(), remedy: "name one that hangs" });
    }
    Ok(())
}

/// Work that is done has ended what its kind ends, whether or not its author said so.
pub(super) fn moved(asked: &Asked<'_>, mut of: JobMoved) -> Result<Payload, Refusal> {
    let job = job(asked, &of.machine, of.job)?;
    let (from, now) = job.state;
    if now != of.from {
        return Err(Refusal::Stale { what: "the job", now: Some(now) });
    }
    planned(of.planned.as_deref())?;
    // A new day alone moves nothing; once the work is done there is nothing left to plan.
    let is_planned =
        of.planned.is_some() && of.to == from && matches!(from, JobState::Open | JobState::Waiting | JobState::InHand);
    if !from.moves_to(of.to) && !is_planned {
        return Err(Refusal::NoSuchMove { from, to: of.to });
    }
    if of.to == JobState::Done {
        let ends = kind(asked, &job.opened.job)?.ends.iter().filter(|ends| !of.ended.contains(ends));
        let ends: Vec<Ending> = ends.copied().collect();
        of.ended.extend(ends);
    }
    Ok(of.into())
}

fn planned(day: Option<&str>) -> Result<(), Refusal> {
    match day.filter(|day| calendar::date(day).is_none()) {
        None => Ok(()),
        Some(day) => {
            Err(Refusal::Field { field: "planned", what: format!("`{day}` is no day: write it like 2026-11-24") })
        }
    }
}

/// The act between two answers that work is: what a check was found as before the work is no repeat of what is found after
/// it. None where the check was answered since, or never before.
pub(super) fn done_before(asked: &Asked<'_>, payload: &Payload) -> Option<ThingSet> {
    let (machine, walk_round, check) = match payload {
        Payload::ReadingTaken(of) => (&of.machine, of.walk_round, &of.check),
        Payload::ObservationMade(of) => (&of.machine, of.walk_round, &of.check),
        _ => return None,
    };
    let state = asked.world.machine?;
    let was_answered = state.walk_rounds.values().flat_map(|of| &of.form.answers).any(|answer| answer.check == *check);
    let done = state.jobs.values().filter(|job| job.state.0 == JobState::Done && was_answered).find_map(|job| {
        let kind = asked.world.jobs.iter().find(|kind| kind.id == job.opened.job)?;
        let proves = kind.proves.contains(check) && job::last_answer(job, state, check).is_none();
        proves.then_some(&kind.name)
    })?;
    Some(ThingSet { machine: machine.clone(), walk_round, check: check.clone(), act: format!("{done}: done") })
}

/// A job closes by its readings alone; it lifts the tags it names, and no other.
pub(super) fn prove(asked: &Asked<'_>, machine: String, id: EventId) -> Result<Payload, Refusal> {
    let opened = job(asked, &machine, id)?;
    let (state, from) = opened.state;
    if state != JobState::Done {
        return Err(Refusal::NoSuchMove { from: state, to: JobState::Proven });
    }
    let kind = kind(asked, &opened.opened.job)?;
    let (context, judged) = (asked.context(&machine)?, asked.judged(&machine)?);
    let known = asked.machine(&machine)?;
    if job::asked(kind, &context).next().is_none() {
        return Err(none_applies());
    }
    let answers = job::proof(opened, kind, known, &context, judged).map_err(Refusal::NotProven)?;
    let knew = known.last_tagging().filter(|_| !opened.opened.tags.is_empty());
    Ok(JobProven { machine, job: id, from, answers, knew }.into())
}

pub(super) fn mounted(asked: &Asked<'_>, of: &PartMounted) -> Result<(), Refusal> {
    said("place", &of.place)?;
    let state = asked.machine(&of.machine)?;
    let mut there = state.parts.iter().filter(|(_, part)| part.removed.is_none() && part.mounted.place == of.place);
    let now = there.next().map(|(id, _)| *id);
    if now != of.replaces {
        return Err(Refusal::Stale { what: "what is mounted there", now });
    }
    if let Some(on) = of.on.as_ref().filter(|on| calendar::date(on).is_none_or(|day| day > asked.actor.now.date())) {
        let what = alloc::format!("`{on}` is no day up to now: write it like 2026-11-24");
        return Err(Refusal::Field { field: "on", what });
    }
    match &of.odometer {
        // A part that was there before may have been mounted at any lower figure.
        Some(odometer) if of.on.as_deref() == Some(asked.actor.now.date().to_string().as_str()) => {
            looks::not_backwards(asked, &of.machine, odometer, DecimalSign::Point)
        }
        _ => Ok(()),
    }
}

pub(super) fn removed(asked: &Asked<'_>, of: &PartRemoved) -> Result<(), Refusal> {
    said("why", &of.why)?;
    let part = asked.machine(&of.machine)?.parts.get(&of.mounted);
    match part {
        Some(part) if part.removed.is_none() => Ok(()),
        Some(_) => Err(Refusal::Over { what: "the part's life", remedy: "it was taken off already" }),
        None => Err(Refusal::NotHere { what: "part", name: of.mounted.to_string(), remedy: "look at what is mounted" }),
    }
}

pub(super) fn photo(_: &Asked<'_>, of: &PhotoAttached) -> Result<(), Refusal> {
    if hash::unhex::<32>(&of.sha256).is_none() {
        return Err(Refusal::Field { field: "sha256", what: "write 64 lower-case hexadecimal digits".into() });
    }
    Ok(())
}

/// Which photo may go the house rule says (`record/retention.rs`); here only that there is one, and that it is recorded.
pub(super) fn remove_photo(
    asked: &Asked<'_>,
    machine: String,
    photo: EventId,
    why: String,
) -> Result<Payload, Refusal> {
    said("why", &why)?;
    let state = asked.machine(&machine)?;
    if state.photos_removed.contains_key(&photo) {
        return Err(Refusal::Over { what: "the photo's life", remedy: "it was removed already" });
    }
    if !state.photos.contains_key(&photo) && !state.is_withdrawn(photo) {
        return Err(Refusal::NotHere {
            what: "photo",
            name: photo.to_string(),
            remedy: "look at the machine's photos",
        });
    }
    Ok(PhotoRemoved { machine, photo, why }.into())
}

/// Only what no decision rests on is taken back.
pub(super) fn withdrawn(asked: &Asked<'_>, of: &Withdrawn) -> Result<(), Refusal> {
    said("why", &of.why)?;
    let state = asked.machine(&of.machine)?;
    let here = state.odometers.contains(&of.event)
        || state.parts.contains_key(&of.event)
        || state.photos.contains_key(&of.event)
        || state.jobs.get(&of.event).is_some_and(|job| job.state.0 == JobState::Open);
    if here {
        return Ok(());
    }
    let remedy = "odometer figures, parts, photos and jobs not begun can be taken back; answer others by another act";
    Err(Refusal::NotHere { what: "event to take back", name: of.event.to_string(), remedy })
}

/// A job is proven by its answers: one that asks for none would be proven by nothing.
fn none_applies() -> Refusal {
    Refusal::Field { field: "job", what: "none of its checks applies to this machine: choose another kind".into() }
}

fn job<'a>(asked: &'a Asked<'_>, machine: &str, id: EventId) -> Result<&'a Job, Refusal> {
    let job = asked.machine(machine)?.jobs.get(&id);
    job.ok_or_else(|| Refusal::NotHere { what: "job", name: id.to_string(), remedy: "look at the machine's jobs" })
}

fn kind<'a>(asked: &'a Asked<'_>, id: &str) -> Result<&'a JobKind, Refusal> {
    let kind = asked.world.jobs.iter().find(|kind| kind.id == id);
    kind.ok_or_else(|| Refusal::NotHere {
        what: "kind of job",
        name: id.to_string(),
        remedy: "choose one of data/jobs.toml",
    })
}
