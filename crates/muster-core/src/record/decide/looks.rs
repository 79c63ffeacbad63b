//! Walking round: opened, answered, set, closed; findings, falls, the odometer.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use super::{Asked, Refusal, said};
use crate::{
    catalogue::ClassRow,
    judge::Context,
    load::Problem,
    quantity::{Distance, Kind as Quantity, Unit, show, text, text::DecimalSign},
    record::{
        event::Place,
        id::{DeviceId, EventId},
        payload::{
            FallNoted, FindingClassed, FindingClosed, FindingRaised, ObservationMade, OdometerNoted, Payload,
            ReadingTaken, Right, Role, Saw, ThingSet, WalkRoundClosed, WalkRoundOpened,
        },
        walk_rounds::{WalkRound, Written},
    },
    words::{Class, Seen},
};

/// A walk-round begins; when the machine last came back is known here.
pub(super) fn opened(asked: &Asked<'_>, of: WalkRoundOpened) -> Result<Payload, Refusal> {
    let sign = if of.comma { DecimalSign::Comma } else { DecimalSign::Point };
    figure("air", of.air.as_deref(), Quantity::Temperature, sign)?;
    figure("barometer", of.barometer.as_deref(), Quantity::AbsolutePressure, sign)?;
    if let Some(planned) = &of.planned {
        figure("planned distance", planned.distance.as_deref(), Quantity::Distance, sign)?;
    }
    let state = asked.machine(&of.machine)?;
    if let Some(odometer) = &of.odometer {
        not_backwards(asked, &of.machine, odometer, sign)?;
    }
    let ridden = of.ridden.max(state.last_return());
    Ok(WalkRoundOpened { ridden, ..of }.into())
}

pub(super) fn reading(asked: &Asked<'_>, of: &ReadingTaken) -> Result<(), Refusal> {
    let mut tried = open(asked, &of.machine, of.walk_round)?.clone();
    corrects(asked, &tried, &of.check, of.corrects)?;
    if let Some(with) = of.with.as_ref().filter(|with| !asked.world.yard.instruments.contains_key(*with)) {
        return Err(Refusal::NotHere { what: "instrument", name: with.clone(), remedy: "list it in the yard first" });
    }
    tried.read(of, written(asked), asked.world.catalogue).map_err(|problems| faults(&problems))
}

pub(super) fn observation(asked: &Asked<'_>, of: &ObservationMade) -> Result<(), Refusal> {
    let mut tried = open(asked, &of.machine, of.walk_round)?.clone();
    corrects(asked, &tried, &of.check, of.corrects)?;
    let context = asked.context(&of.machine)?;
    let row = defect(&context, Some(&of.check), of.defect.as_deref())?;
    let seen = match &of.saw {
        Saw::One(seen) => Some(*seen),
        Saw::Places(places) => places.values().copied().max(),
    };
    if row.is_some() && !matches!(seen, Some(Seen::Doubtful | Seen::Defective)) {
        return Err(Refusal::Field { field: "defect", what: "nothing is doubtful or defective: leave it out".into() });
    }
    let least = row.map(|row| row.class).or_else(|| context.check(&of.check).map(|check| check.class));
    if let Some(least) = least.filter(|least| of.class.is_some_and(|class| class < *least)) {
        let what = format!("a class is only raised here, {least} stays");
        return Err(Refusal::Field { field: "class", what });
    }
    tried.saw(of, written(asked), asked.world.catalogue).map_err(|problems| faults(&problems))
}

pub(super) fn act(asked: &Asked<'_>, of: &ThingSet) -> Result<(), Refusal> {
    open(asked, &of.machine, of.walk_round)?;
    check(asked, Some(&of.check))?;
    said("act", &of.act)
}

pub(super) fn closed(asked: &Asked<'_>, of: &WalkRoundClosed) -> Result<(), Refusal> {
    open(asked, &of.machine, of.walk_round).map(|_| ())
}

pub(super) fn raised(asked: &Asked<'_>, of: &FindingRaised) -> Result<(), Refusal> {
    said("what", &of.what)?;
    check(asked, of.check.as_ref())?;
    if of.defect.is_some() {
        defect(&asked.context(&of.machine)?, of.check.as_ref(), of.defect.as_deref())?;
    }
    if of.uses.is_empty() {
        return Err(Refusal::Field { field: "uses", what: "name at least one: range, road, passenger or dark".into() });
    }
    if asked.standing.role == Role::Rider && !of.feedback {
        return Err(Refusal::Field {
            field: "feedback",
            what: "what a rider noticed is feedback until somebody looks".into(),
        });
    }
    if let Some(walk_round) = of.walk_round {
        open(asked, &of.machine, walk_round)?;
    }
    Ok(())
}

/// Anyone who walks round raises a class; lowering it below what was found, or below the law pack's, needs the right and a
/// reason, and so does naming afterwards which of the pack's defects it is. What a rider said has no class until somebody
/// looks.
pub(super) fn classed(asked: &Asked<'_>, of: &FindingClassed) -> Result<(), Refusal> {
    said("why", &of.why)?;
    let state = asked.machine(&of.machine)?;
    let finding = state.findings.get(&of.finding).ok_or_else(|| no_finding(of.finding))?;
    if finding.closed.is_some() {
        return Err(Refusal::Over { what: "the finding", remedy: "raise a new one" });
    }
    let context = asked.context(&of.machine)?;
    let check = finding.raised.check.as_ref().and_then(|id| context.check(id));
    let anew = of.defect.as_deref().filter(|of| finding.defect.as_deref() != Some(of));
    let anew = defect(&context, finding.raised.check.as_ref(), anew)?;
    let rows = check.map(|check| context.defects(check)).unwrap_or_default();
    let named = rows.iter().find(|row| finding.defect.as_deref() == Some(row.key.as_str()));
    let law = named.or(rows.first()).map_or(Class::Minor, |row| row.class);
    if of.class < finding.class.max(law) || anew.is_some() { asked.needs(Right::LowerClass) } else { Ok(()) }
}

pub(super) fn finding_closed(asked: &Asked<'_>, of: &FindingClosed) -> Result<(), Refusal> {
    said("how", &of.how)?;
    let state = asked.machine(&of.machine)?;
    let finding = state.findings.get(&of.finding).ok_or_else(|| no_finding(of.finding))?;
    if finding.closed.is_some() {
        return Err(Refusal::Over { what: "the finding", remedy: "nothing is left to close" });
    }
    let by = state.jobs.values().any(|job| job.opened.findings.contains(&of.finding));
    if by && !asked.standing.role.eq(&Role::Owner) {
        return Err(Refusal::Field { field: "finding", what: "a job puts it right: prove the job".into() });
    }
    Ok(())
}

pub(super) fn fall(asked: &Asked<'_>, of: &FallNoted) -> Result<(), Refusal> {
    said("how", &of.how)?;
    if let Some(rider) = of.rider.as_ref().filter(|rider| !asked.world.state.people.contains_key(*rider)) {
        return Err(Refusal::NotHere { what: "person", name: rider.to_string(), remedy: "add the person first" });
    }
    if of.about_rider.as_ref().is_some_and(|about| Some(&about.person) != of.rider.as_ref()) {
        return Err(Refusal::Field { field: "about_rider", what: "seal it under the rider's own key".into() });
    }
    figure("odometer", of.odometer.as_deref(), Quantity::Distance, DecimalSign::Point)
}

pub(super) fn odometer(asked: &Asked<'_>, of: &OdometerNoted) -> Result<(), Refusal> {
    not_backwards(asked, &of.machine, &of.odometer, DecimalSign::Point)
}

/// Refuses an odometer figure below one that is known.
pub(super) fn not_backwards(asked: &Asked<'_>, machine: &str, typed: &str, sign: DecimalSign) -> Result<(), Refusal> {
    figure("odometer", Some(typed), Quantity::Distance, sign)?;
    let read = text::read(Quantity::Distance, typed, sign).ok().and_then(|amount| Distance::try_from(amount).ok());
    let (Some(read), Some(known)) = (read, asked.machine(machine)?.odometer()) else { return Ok(()) };
    if read.km() >= known.km() {
        return Ok(());
    }
    let km = |way: Distance| show::rounded(way.km(), 0, Unit::Kilometre);
    let what = format!("{} is below {} noted earlier: read it again, or withdraw the earlier one", km(read), km(known));
    Err(Refusal::Field { field: "odometer", what })
}

fn figure(field: &'static str, typed: Option<&str>, kind: Quantity, sign: DecimalSign) -> Result<(), Refusal> {
    let Some(typed) = typed else { return Ok(()) };
    text::read(kind, typed, sign).map(|_| ()).map_err(|error| Refusal::Field { field, what: error.to_string() })
}

fn check(asked: &Asked<'_>, id: Option<&String>) -> Result<(), Refusal> {
    match id.filter(|id| asked.world.catalogue.check(id).is_none()) {
        Some(id) => Err(Refusal::NotHere { what: "check", name: id.clone(), remedy: "look in the catalogue" }),
        None => Ok(()),
    }
}

/// The row of the law pack that a finder named; one that is not there is refused, with those that are.
fn defect<'c>(
    context: &Context<'c>,
    check: Option<&String>,
    named: Option<&str>,
) -> Result<Option<&'c ClassRow>, Refusal> {
    let Some(named) = named else { return Ok(None) };
    let check = check.and_then(|id| context.check(id));
    let rows = check.map(|check| context.defects(check)).unwrap_or_default();
    let keys = || rows.iter().map(|row| row.key.as_str()).collect::<Vec<_>>().join(", ");
    let found = rows.iter().find(|row| row.key == named).copied();
    let what = || match rows.is_empty() {
        true => "the law pack names no defect here: leave it out".to_string(),
        false => format!("the law pack names here: {}", keys()),
    };
    found.map(Some).ok_or_else(|| Refusal::Field { field: "defect", what: what() })
}

fn open<'a>(asked: &'a Asked<'_>, machine: &str, opening: EventId) -> Result<&'a WalkRound, Refusal> {
    let walk_round = asked.machine(machine)?.walk_rounds.get(&opening).ok_or_else(|| Refusal::NotHere {
        what: "walk-round",
        name: opening.to_string(),
        remedy: "open one first",
    })?;
    match walk_round.form.closed {
        Some(_) => Err(Refusal::Over {
            what: "the walk-round",
            remedy: "open another: a second reading stands beside the first",
        }),
        None => Ok(walk_round),
    }
}

/// A slip is corrected by its author, in the last answer to that check, before the walk-round is closed.
fn corrects(asked: &Asked<'_>, walk_round: &WalkRound, check: &str, corrects: Option<EventId>) -> Result<(), Refusal> {
    let Some(named) = corrects else { return Ok(()) };
    if walk_round.is_last_own(check, asked.actor.person, named) {
        return Ok(());
    }
    Err(Refusal::Field {
        field: "corrects",
        what: "a slip is corrected by its author, in the last answer to the check".into(),
    })
}

fn no_finding(id: EventId) -> Refusal {
    Refusal::NotHere { what: "finding", name: id.to_string(), remedy: "look at the machine's findings" }
}

/// What is wrong with an answer: the first fault says it, those behind it follow from it.
fn faults(problems: &[Problem]) -> Refusal {
    let nothing = "nothing was said: write the figure or what was seen, or that it could not be seen and why";
    let what = problems.first().map_or_else(|| nothing.to_string(), |problem| problem.what.clone());
    Refusal::Field { field: "answer", what }
}

/// Who is about to write: the event has no number yet.
fn written<'a>(asked: &'a Asked<'_>) -> Written<'a> {
    let id = EventId { device: DeviceId::of_key(&[0; 32]), seq: 1 };
    Written { id, place: Place { height: 0, id }, author: asked.actor.person, at: asked.actor.now }
}
