//! One machine in full: judgement, answers, findings, jobs, parts, tags, releases.

use std::collections::BTreeMap;

use muster_core::record::{
    id::EventId,
    machine_state::{FindingState, Job, MachineState, Part, ReleaseState, Tag},
    waiting::Waiting,
};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::yard::in_words;

/// One machine.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct MachineView {
    /// Fleet number.
    pub machine: String,
    /// Its judgement, byte for byte as the phone computes it.
    #[cfg_attr(feature = "schema", schema(value_type = Object))]
    pub judgement: Value,
    /// Service state.
    pub service: String,
    /// Event that set the service state: the one to replace.
    pub service_set_by: Option<String>,
    /// Why it is impounded, if it is.
    pub impounded: Option<String>,
    /// Event that set its file: the one to replace.
    pub file_set_by: Option<String>,
    /// The greatest odometer figure known, in km.
    pub odometer_km: Option<f64>,
    /// Walk-rounds, newest first.
    pub walk_rounds: Vec<WalkRoundView>,
    /// Findings, newest first.
    pub findings: Vec<FindingView>,
    /// Jobs, newest first.
    pub jobs: Vec<JobView>,
    /// Parts, newest first.
    pub parts: Vec<PartView>,
    /// Outings worked out that wait for somebody to let the machine out, newest first.
    #[serde(default)]
    pub plans: Vec<PlanView>,
    /// Hold tags, newest first.
    pub tags: Vec<TagView>,
    /// Releases, newest first.
    pub releases: Vec<ReleaseView>,
    /// Contradictions a person has to look at.
    pub contradictions: Vec<ContradictionView>,
    /// Events kept and set aside, with why.
    pub set_aside: Vec<AsideView>,
}

/// A walk-round.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct WalkRoundView {
    /// Its opening.
    pub id: String,
    /// How far it went.
    pub depth: String,
    /// Who.
    pub by: String,
    /// When it was opened.
    pub opened: String,
    /// When it was closed.
    pub closed: Option<String>,
    /// How many checks were answered.
    pub answers: usize,
}

/// A finding.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct FindingView {
    /// Its event.
    pub id: String,
    /// The check.
    pub check: Option<String>,
    /// What.
    pub what: String,
    /// How grave.
    pub class: String,
    /// Which defect it is: key of a class row of the law pack.
    pub defect: Option<String>,
    /// Who.
    pub by: String,
    /// When.
    pub at: String,
    /// From a rider who is not signed in.
    pub feedback: bool,
    /// What closed it.
    pub closed: Option<String>,
}

/// A job.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct JobView {
    /// Its opening.
    pub id: String,
    /// Its kind.
    pub job: String,
    /// What for.
    pub why: String,
    /// Its state.
    pub state: String,
    /// Event that set the state: the one to name when it moves.
    pub state_set_by: String,
    /// The day it is planned for, ISO 8601.
    pub planned: Option<String>,
    /// Findings it puts right.
    pub findings: Vec<String>,
    /// Tags it lifts.
    pub tags: Vec<String>,
}

/// A part.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PartView {
    /// Its mounting.
    pub id: String,
    /// Where.
    pub place: String,
    /// The day; none: before, unknown.
    pub on: Option<String>,
    /// The odometer then, as typed.
    pub odometer: Option<String>,
    /// What took it off.
    pub removed: Option<String>,
}

/// A hold tag.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct TagView {
    /// Its event.
    pub id: String,
    /// Why.
    pub why: String,
    /// Number printed on it.
    pub number: Option<String>,
    /// Who.
    pub by: String,
    /// When.
    pub at: String,
    /// What lifted it.
    pub lifted: Option<String>,
}

/// A release.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ReleaseView {
    /// Its event.
    pub id: String,
    /// The outing.
    pub outing: String,
    /// Who signed.
    pub by: String,
    /// From when.
    pub from: String,
    /// Till when.
    pub to: String,
    /// Verdict of each use, as it was signed.
    pub verdicts: BTreeMap<String, String>,
    /// Conditions.
    pub conditions: Vec<String>,
    /// What its outing asked for before leaving and was not done; such a release says so.
    #[serde(default)]
    pub left: Vec<String>,
    /// Checks it was signed against.
    pub against: Vec<String>,
    /// Why.
    pub reason: Option<String>,
    /// Its return.
    pub returned: Option<String>,
}

/// An outing worked out that waits to be signed: nobody's mass is in it.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PlanView {
    /// Its planning: what the release names as `planned`.
    pub id: String,
    /// The outing.
    pub outing: String,
    /// Who worked it out.
    pub by: String,
    /// When.
    pub at: String,
    /// Who rides: the release names the same.
    pub riders: Vec<String>,
    /// The uses.
    pub uses: Vec<String>,
    /// From when.
    pub from: String,
    /// Till when: the release ends then.
    pub to: String,
    /// What it comes to now.
    pub verdict: String,
    /// What stops it: names of items on hold or unseen.
    pub stops: Vec<String>,
    /// What is to be done before leaving, in the words it is ticked in.
    pub before: Vec<String>,
    /// What is to be done at the next stop.
    pub next: Vec<String>,
}

/// A contradiction.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ContradictionView {
    /// What, and what to do.
    pub what: String,
    /// The events.
    pub events: Vec<String>,
}

/// An event set aside.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct AsideView {
    /// Which.
    pub event: String,
    /// Its kind.
    pub kind: String,
    /// Why.
    pub why: String,
}

impl MachineView {
    /// A machine's view.
    #[must_use]
    pub fn of(state: &MachineState, judgement: Value, service: &str, file_set_by: Option<EventId>) -> Self {
        Self {
            machine: state.machine.clone(),
            judgement,
            service: service.to_string(),
            service_set_by: state.service.map(|(_, id)| id.to_string()),
            impounded: state.impounded.as_ref().map(|(_, of)| of.why.clone()),
            file_set_by: file_set_by.map(|id| id.to_string()),
            odometer_km: state.odometer().map(muster_core::quantity::Distance::km),
            walk_rounds: walk_rounds(state),
            findings: newest_first(state.findings.iter().map(|(id, of)| (of.by.1, finding(*id, of)))),
            jobs: state.jobs.iter().rev().map(|(id, of)| job(*id, of)).collect(),
            parts: state.parts.iter().rev().map(|(id, of)| part(*id, of)).collect(),
            plans: Vec::new(),
            tags: newest_first(state.tags.iter().map(|(id, of)| (of.by.1, tag(*id, of)))),
            releases: newest_first(state.releases.iter().map(|(id, of)| (of.by.1, release(*id, of)))),
            contradictions: state.contradictions().iter().map(contradiction).collect(),
            set_aside: state.flags.iter().map(aside).collect(),
        }
    }
}

impl PlanView {
    /// What waits, for the wire.
    #[must_use]
    pub fn of(of: &Waiting) -> Self {
        Self {
            id: of.id.to_string(),
            outing: of.planned.name.clone(),
            by: of.by.0.to_string(),
            at: of.by.1.to_string(),
            riders: of.planned.riders.iter().map(ToString::to_string).collect(),
            uses: of.planned.uses.iter().map(ToString::to_string).collect(),
            from: of.planned.from.to_string(),
            to: of.planned.to.to_string(),
            verdict: of.asks.verdict.to_string(),
            stops: of.asks.stops.iter().map(|stop| format!("{}: {}", stop.name, stop.verdict)).collect(),
            before: of.asks.before.iter().map(|ask| ask.what.clone()).collect(),
            next: of.asks.next.clone(),
        }
    }
}

fn newest_first<T>(items: impl Iterator<Item = (muster_core::calendar::Moment, T)>) -> Vec<T> {
    let mut items: Vec<_> = items.collect();
    items.sort_by_key(|(at, _)| std::cmp::Reverse(*at));
    items.into_iter().map(|(_, item)| item).collect()
}

fn walk_rounds(state: &MachineState) -> Vec<WalkRoundView> {
    newest_first(state.walk_rounds.iter().map(|(id, of)| {
        let view = WalkRoundView {
            id: id.to_string(),
            depth: of.form.depth.to_string(),
            by: of.form.by.clone(),
            opened: of.form.opened.to_string(),
            closed: of.form.closed.map(|at| at.to_string()),
            answers: of.form.answers.len(),
        };
        (of.form.opened, view)
    }))
}

fn finding(id: EventId, of: &FindingState) -> FindingView {
    FindingView {
        id: id.to_string(),
        check: of.raised.check.clone(),
        what: of.raised.what.clone(),
        class: of.class.to_string(),
        defect: of.defect.clone(),
        by: of.by.0.to_string(),
        at: of.by.1.to_string(),
        feedback: of.raised.feedback,
        closed: of.closed.map(|id| id.to_string()),
    }
}

fn job(id: EventId, of: &Job) -> JobView {
    JobView {
        id: id.to_string(),
        job: of.opened.job.clone(),
        why: of.opened.why.clone(),
        state: of.state.0.to_string(),
        state_set_by: of.state.1.to_string(),
        planned: of.planned.clone(),
        findings: of.opened.findings.iter().map(ToString::to_string).collect(),
        tags: of.opened.tags.iter().map(ToString::to_string).collect(),
    }
}

fn part(id: EventId, of: &Part) -> PartView {
    PartView {
        id: id.to_string(),
        place: of.mounted.place.clone(),
        on: of.mounted.on.clone(),
        odometer: of.mounted.odometer.clone(),
        removed: of.removed.map(|id| id.to_string()),
    }
}

fn tag(id: EventId, of: &Tag) -> TagView {
    TagView {
        id: id.to_string(),
        why: of.hung.why.clone(),
        number: of.hung.number.clone(),
        by: of.by.0.to_string(),
        at: of.by.1.to_string(),
        lifted: of.lifted.map(|id| id.to_string()),
    }
}

fn release(id: EventId, of: &ReleaseState) -> ReleaseView {
    ReleaseView {
        id: id.to_string(),
        outing: of.released.outing.clone(),
        by: of.by.0.to_string(),
        from: of.released.from.to_string(),
        to: of.released.to.to_string(),
        verdicts: of.released.verdicts.iter().map(|(one, verdict)| (one.to_string(), verdict.to_string())).collect(),
        conditions: of.released.conditions.clone(),
        left: of.released.worked_out.as_ref().map(|worked| worked.left.clone()).unwrap_or_default(),
        against: of.released.against.clone(),
        reason: of.released.reason.clone(),
        returned: of.returned.as_ref().map(|(id, _)| id.to_string()),
    }
}

fn contradiction(of: &muster_core::record::machine_state::Contradiction) -> ContradictionView {
    ContradictionView { what: in_words(of), events: of.events().iter().map(ToString::to_string).collect() }
}

fn aside(of: &muster_core::record::fold::Flag) -> AsideView {
    AsideView { event: of.event.to_string(), kind: of.kind.to_string(), why: of.why.to_string() }
}
