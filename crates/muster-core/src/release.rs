//! Letting a machine out, moving it under a hold tag, lifting a tag: who may, on what it rests, and why not.
//!
//! A signature never changes a verdict: a release carries the verdict it was signed on, as it was known then.

use alloc::{
    string::{String, ToString},
    vec::Vec,
};

use serde::Serialize;

use crate::sorted::sort;
use crate::{
    calendar::Moment,
    hash,
    judge::{Judgement, Outcome, UseVerdict, Verdict},
    words::{Class, Use, Uses},
};

/// What somebody asks to sign.
#[derive(Clone, Debug, PartialEq)]
pub struct Request {
    /// Who signs.
    pub by: String,
    /// Whether this person holds the right to release against a hold or an unseen.
    pub may_override: bool,
    /// Why, where it goes against the verdict.
    pub reason: Option<String>,
    /// The uses it is let out for.
    pub uses: Uses,
    /// The outing, by its name.
    pub outing: String,
    /// From when.
    pub from: Moment,
    /// Till when.
    pub to: Moment,
    /// Hold tags that hang, by their ids.
    pub tags: Vec<String>,
}

/// A signed decision to let a machine out for an outing.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Release {
    /// The machine.
    pub machine: String,
    /// Who signed.
    pub by: String,
    /// The outing.
    pub outing: String,
    /// From when, ISO 8601.
    pub from: String,
    /// Till when, ISO 8601.
    pub to: String,
    /// Each use with its verdict, as it was judged.
    pub verdicts: Vec<(Use, Verdict)>,
    /// Conditions it goes out on.
    pub conditions: Vec<String>,
    /// The checks it is signed against: on hold or unseen.
    pub against: Vec<String>,
    /// Why, where there are any.
    pub reason: Option<String>,
    /// `as known at 07:52`.
    pub as_known: String,
    /// SHA-256 of the catalogue the verdict rests on.
    pub catalogue: String,
    /// SHA-256 of the yard's files the verdict rests on.
    pub yard: String,
    /// SHA-256 of the judgement's bytes.
    pub judgement: String,
}

/// A reason in brackets, where there is one.
fn aside(says: Option<&str>) -> String {
    says.map(|says| alloc::format!(" ({says})")).unwrap_or_default()
}

/// Why nobody may let it out so; each with the remedy.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// Nobody signs.
    #[error("a release is signed by name: say who signs")]
    NoSigner,
    /// No use named.
    #[error("a release names its uses: range, road, passenger or dark")]
    NoUse,
    /// No outing named.
    #[error("a release names its outing: say which")]
    NoOuting,
    /// It ends before it begins.
    #[error("a release must end after it begins, got {from} to {to}: write both times again")]
    NoTime {
        /// Its beginning.
        from: String,
        /// Its end.
        to: String,
    },
    /// The verdict was judged for an earlier return; papers are judged at the return.
    #[error("judged for a return at {judged_for}, asked till {to}: plan the outing till then and judge again")]
    JudgedForAnEarlierReturn {
        /// The return it was judged for.
        judged_for: String,
        /// The end asked for.
        to: String,
    },
    /// The judgement does not speak of a use.
    #[error("not judged for {0}: judge again")]
    NotJudged(Use),
    /// A hold tag hangs.
    #[error("a hold tag hangs ({}): have it lifted by name first", .tags.join(", "))]
    Tagged {
        /// The tags; empty where one was seen and none is recorded.
        tags: Vec<String>,
    },
    /// Its service state lets it out for nobody.
    #[error("the machine is {state}: {remedy}")]
    NotInService {
        /// The state.
        state: String,
        /// What brings it back.
        remedy: String,
    },
    /// On the road nobody signs over law.
    #[error("{check} is on hold by law for {one}: have it put right, or ride on the range only")]
    ByLaw {
        /// The check.
        check: String,
        /// The use.
        one: Use,
    },
    /// On the road nobody signs over class dangerous.
    #[error("{check} is {verdict} in class dangerous for {one}: have it put right or seen, or ride on the range only")]
    Dangerous {
        /// The check.
        check: String,
        /// The use.
        one: Use,
        /// Hold or unseen.
        verdict: Verdict,
    },
    /// Without the right.
    #[error("the verdict is {verdict}: ask somebody with the right to release against it")]
    NoRight {
        /// The worst verdict.
        verdict: Verdict,
    },
    /// Without a reason.
    #[error("the verdict is {verdict}: write the reason it goes out all the same")]
    NoReason {
        /// The worst verdict.
        verdict: Verdict,
    },
    /// The finder signs against the own finding.
    #[error("{by} found {check} on hold: let somebody else decide")]
    OwnFinding {
        /// Who.
        by: String,
        /// The check.
        check: String,
    },
    /// Something told of the outing cannot be.
    #[error("told of the outing and cannot be: {fault}; tell it anew")]
    Told {
        /// What.
        fault: String,
    },
    /// Done, but not asked for: the outing was worked out otherwise.
    #[error("the outing does not ask for `{what}`: work it out again and tick what it asks for")]
    NotAsked {
        /// What was ticked.
        what: String,
    },
    /// On the road nobody signs over law.
    #[error("{name} is on hold by law{}: {remedy}", aside(.says.as_deref()))]
    OutingByLaw {
        /// The item of the outing.
        name: String,
        /// Why, where that is known here.
        says: Option<String>,
        /// What lifts it.
        remedy: String,
    },
    /// On the road nobody signs over class dangerous.
    #[error("{name} is {verdict} in class dangerous{}: {remedy}", aside(.says.as_deref()))]
    OutingDangerous {
        /// The item of the outing.
        name: String,
        /// Hold or unseen.
        verdict: Verdict,
        /// Why, where that is known here.
        says: Option<String>,
        /// What lifts it.
        remedy: String,
    },
    /// Asked for before leaving and not done.
    #[error("not done: {}; do it and tick it", .what.join("; "))]
    LeftUndone {
        /// What.
        what: Vec<String>,
    },
    /// Not done, and no word why it goes out all the same.
    #[error("not done: {}; do it and tick it, or write the reason it goes out all the same", .what.join("; "))]
    UndoneWithoutReason {
        /// What.
        what: Vec<String>,
    },
    /// Who rides does not sign over the hold of the own outing.
    #[error("{by} rides on this outing, which is on hold: let somebody else decide")]
    OwnRide {
        /// Who.
        by: String,
    },
    /// The bytes cannot be written.
    #[error("the judgement cannot be written down: judge again")]
    NoBytes,
}

/// Decides whether a machine may be let out as asked.
///
/// Fit and watch need a signature; a watch's conditions go with it. Hold and unseen need the right, a reason and somebody
/// who did not find the hold. On the road (road, passenger, dark) a hold by law or of class dangerous lets nobody sign,
/// and no more does an unseen of class dangerous, which may be one. A hold tag and a service state are not signed over.
///
/// # Errors
/// [`Refusal`] with the remedy.
pub fn release(judgement: &Judgement, request: &Request) -> Result<Release, Refusal> {
    named(request)?;
    within_judged(judgement, request)?;
    let verdicts = request.uses.iter().map(|one| of_use(judgement, one)).collect::<Result<Vec<_>, _>>()?;
    in_hand(&verdicts, request)?;
    let against: Vec<&Outcome> = verdicts.iter().flat_map(|of| of.reasons()).filter(|of| stops(of)).collect();
    against_verdict(&verdicts, &against, request)?;
    let mut conditions: Vec<String> = verdicts.iter().flat_map(|of| of.conditions.iter().cloned()).collect();
    sort(&mut conditions);
    conditions.dedup();
    let mut checks: Vec<String> = against.iter().map(|of| of.check.clone()).collect();
    sort(&mut checks);
    checks.dedup();
    let bytes = judgement.to_json().map_err(|_| Refusal::NoBytes)?;
    let known = judgement.known_at.as_deref().unwrap_or(&judgement.judged_at);
    let clock = Moment::parse(known).map_or_else(|_| known.to_string(), Moment::clock);
    Ok(Release {
        machine: judgement.machine.clone(),
        by: request.by.clone(),
        outing: request.outing.clone(),
        from: request.from.to_string(),
        to: request.to.to_string(),
        verdicts: verdicts.iter().map(|of| (of.one, of.verdict)).collect(),
        conditions,
        reason: request.reason.clone().filter(|_| !checks.is_empty()),
        against: checks,
        as_known: alloc::format!("as known at {clock}"),
        catalogue: judgement.catalogue.clone(),
        yard: judgement.yard.clone(),
        judgement: hash::of_text(&bytes),
    })
}

/// How a machine is moved while a hold tag hangs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Move {
    /// Pushed, engine off.
    Pushed,
    /// To the workshop.
    Workshop,
    /// Ridden to prove a job that is done.
    TestRide {
        /// The job; none: none is done.
        job_done: Option<String>,
        /// Who rides.
        rider: String,
    },
}

/// Why a tagged machine stays where it is.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoMove {
    /// A test ride before the job.
    #[error("a test ride proves a job that is done: finish the job first")]
    NoJob,
    /// A test ride by nobody.
    #[error("a test ride is ridden by name: say who rides")]
    NoRider,
    /// Impounded: no repair, no correction.
    #[error("the machine is impounded: no repair and no ride, it is pushed aside at most")]
    Impounded,
}

/// Decides whether a machine may be moved under a hold tag: pushed, to the workshop, or on a test ride after the job, by
/// name. One that is impounded is pushed at most.
///
/// # Errors
/// [`NoMove`] with the remedy.
pub fn may_move(asked: &Move, impounded: bool) -> Result<(), NoMove> {
    match asked {
        Move::Pushed => Ok(()),
        _ if impounded => Err(NoMove::Impounded),
        Move::TestRide { job_done: None, .. } => Err(NoMove::NoJob),
        Move::TestRide { rider, .. } if rider.trim().is_empty() => Err(NoMove::NoRider),
        Move::Workshop | Move::TestRide { .. } => Ok(()),
    }
}

/// Tags lifted, and what still hangs.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Untagging {
    /// Who lifted them.
    pub by: String,
    /// Why.
    pub reason: String,
    /// The tags named.
    pub lifts: Vec<String>,
    /// Those that still hang.
    pub left: Vec<String>,
}

/// Why a tag stays.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoUntagging {
    /// No tag named.
    #[error("an untagging names the tags it lifts: hanging are {}", .hanging.join(", "))]
    NoTag {
        /// What hangs.
        hanging: Vec<String>,
    },
    /// A tag that does not hang.
    #[error("no tag {tag} hangs: hanging are {}", .hanging.join(", "))]
    NotHanging {
        /// The tag named.
        tag: String,
        /// What hangs.
        hanging: Vec<String>,
    },
    /// Nobody signs, or without a reason.
    #[error("an untagging is signed by name, with its reason: write both")]
    Unsigned,
}

/// Lifts the tags named, and no other: one hung meanwhile, unseen by whoever lifts, stays.
///
/// # Errors
/// [`NoUntagging`] with the remedy.
pub fn untag(hanging: &[String], lifts: &[String], by: &str, reason: &str) -> Result<Untagging, NoUntagging> {
    if lifts.is_empty() {
        return Err(NoUntagging::NoTag { hanging: hanging.to_vec() });
    }
    if let Some(tag) = lifts.iter().find(|tag| !hanging.contains(tag)) {
        return Err(NoUntagging::NotHanging { tag: tag.clone(), hanging: hanging.to_vec() });
    }
    if by.trim().is_empty() || reason.trim().is_empty() {
        return Err(NoUntagging::Unsigned);
    }
    let left = hanging.iter().filter(|tag| !lifts.contains(tag)).cloned().collect();
    Ok(Untagging { by: by.to_string(), reason: reason.to_string(), lifts: lifts.to_vec(), left })
}

/// A release names who, what for, which outing and when.
fn named(request: &Request) -> Result<(), Refusal> {
    if request.by.trim().is_empty() {
        return Err(Refusal::NoSigner);
    }
    if request.uses == Uses::NONE {
        return Err(Refusal::NoUse);
    }
    if request.outing.trim().is_empty() {
        return Err(Refusal::NoOuting);
    }
    if request.to <= request.from {
        return Err(Refusal::NoTime { from: request.from.to_string(), to: request.to.to_string() });
    }
    Ok(())
}

/// Papers are judged at the planned return; without one, on the day of the judgement.
fn within_judged(judgement: &Judgement, request: &Request) -> Result<(), Refusal> {
    let parsed = |text: &str| Moment::parse(text).ok();
    let within = match &judgement.back {
        Some(back) => parsed(back).is_some_and(|back| request.to <= back),
        None => parsed(&judgement.judged_at).is_some_and(|on| request.to.date() <= on.date()),
    };
    if within {
        return Ok(());
    }
    let judged_for = judgement.back.clone().unwrap_or_else(|| judgement.judged_at.clone());
    Err(Refusal::JudgedForAnEarlierReturn { judged_for, to: request.to.to_string() })
}

fn of_use(judgement: &Judgement, one: Use) -> Result<&UseVerdict, Refusal> {
    judgement.uses.iter().find(|of| of.one == one).ok_or(Refusal::NotJudged(one))
}

/// Neither a tag nor a service state is a matter of signing.
fn in_hand(verdicts: &[&UseVerdict], request: &Request) -> Result<(), Refusal> {
    let reasons = || verdicts.iter().flat_map(|of| of.reasons());
    let seen = reasons().any(|of| of.check == "first-line" && of.verdict == Verdict::Hold);
    if seen || !request.tags.is_empty() {
        return Err(Refusal::Tagged { tags: request.tags.clone() });
    }
    match reasons().find(|of| of.check == "service") {
        Some(of) => Err(Refusal::NotInService {
            state: of.reason.clone(),
            remedy: of.todo.clone().unwrap_or_default().to_ascii_lowercase(),
        }),
        None => Ok(()),
    }
}

fn stops(outcome: &Outcome) -> bool {
    outcome.verdict >= Verdict::Unseen
}

fn against_verdict(verdicts: &[&UseVerdict], against: &[&Outcome], request: &Request) -> Result<(), Refusal> {
    for of in against.iter().filter(|of| Uses::ON_THE_ROAD.contains(of.one)) {
        let (check, one, verdict) = (of.check.clone(), of.one, of.verdict);
        if verdict == Verdict::Hold && of.rests_on_law {
            return Err(Refusal::ByLaw { check, one });
        }
        if of.class == Class::Dangerous {
            return Err(Refusal::Dangerous { check, one, verdict });
        }
    }
    let verdict = verdicts.iter().map(|of| of.verdict).max().unwrap_or(Verdict::Unseen);
    if verdict < Verdict::Unseen {
        return Ok(());
    }
    if !request.may_override {
        return Err(Refusal::NoRight { verdict });
    }
    if request.reason.as_ref().is_none_or(|reason| reason.trim().is_empty()) {
        return Err(Refusal::NoReason { verdict });
    }
    let own = |of: &&&Outcome| of.verdict == Verdict::Hold && of.by.as_ref() == Some(&request.by);
    match against.iter().find(own) {
        Some(of) => Err(Refusal::OwnFinding { by: request.by.clone(), check: of.check.clone() }),
        None => Ok(()),
    }
}
