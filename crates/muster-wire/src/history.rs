//! What happened to a machine, newest first: what its page shows of it, and no more.

use std::cmp::Reverse;

use muster_core::{
    calendar::Moment,
    judge::Verdict,
    record::{
        machine_state::{FindingState, MachineState, Part, ReleaseState, Tag},
        walk_rounds::WalkRound,
    },
};
use serde::{Deserialize, Serialize};

/// A machine's history.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct HistoryView {
    /// Fleet number.
    pub machine: String,
    /// What happened, newest first.
    pub lines: Vec<HappenedView>,
}

/// One thing that happened.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct HappenedView {
    /// When, ISO 8601; of a part noon of its day.
    pub at: String,
    /// What kind of thing.
    pub kind: Happened,
    /// A walk-round's depth, a release's outing, a finding or a tag in words, a part's place.
    pub what: String,
    /// Who; none of a part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// A release's worst verdict as it was signed, a finding's class.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grave: Option<String>,
    /// The machine is back, the finding is closed, the tag is lifted.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub is_over: bool,
    /// How many checks a walk-round answered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub answers: Option<usize>,
    /// The odometer as typed when a part was mounted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub odometer: Option<String>,
}

/// Kinds of what happens to a machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Happened {
    /// It was walked round.
    WalkRound,
    /// It was let out.
    Release,
    /// A defect was found.
    Finding,
    /// A hold tag was hung.
    Tag,
    /// A part was mounted.
    Part,
}

impl HistoryView {
    /// What is known to have happened to a machine.
    #[must_use]
    pub fn of(state: &MachineState) -> Self {
        let walked = state.walk_rounds.values().map(|of| walked(of));
        let released = state.releases.values().map(released);
        let found = state.findings.values().map(found);
        let tagged = state.tags.values().map(tagged);
        let mounted = state.parts.values().filter_map(mounted);
        let mut lines: Vec<(Moment, HappenedView)> =
            walked.chain(released).chain(found).chain(tagged).chain(mounted).collect();
        lines.sort_by_key(|(at, _)| Reverse(*at));
        Self { machine: state.machine.clone(), lines: lines.into_iter().map(|(_, line)| line).collect() }
    }
}

fn line(at: Moment, kind: Happened, what: &str) -> HappenedView {
    HappenedView {
        at: at.to_string(),
        kind,
        what: what.to_owned(),
        by: None,
        grave: None,
        is_over: false,
        answers: None,
        odometer: None,
    }
}

fn walked(of: &WalkRound) -> (Moment, HappenedView) {
    let (by, answers) = (Some(of.form.by.clone()), Some(of.form.answers.len()));
    let at = of.form.opened;
    (at, HappenedView { by, answers, ..line(at, Happened::WalkRound, of.form.depth.as_str()) })
}

fn released(of: &ReleaseState) -> (Moment, HappenedView) {
    let gravest = [Verdict::Hold, Verdict::Unseen, Verdict::Watch, Verdict::Fit];
    let worst = gravest.into_iter().find(|verdict| of.released.verdicts.values().any(|own| own == verdict));
    let at = of.released.from;
    let line = HappenedView {
        by: Some(of.by.0.to_string()),
        grave: worst.map(|verdict| verdict.to_string()),
        is_over: of.returned.is_some(),
        ..line(at, Happened::Release, &of.released.outing)
    };
    (at, line)
}

fn found(of: &FindingState) -> (Moment, HappenedView) {
    let (by, grave) = (Some(of.by.0.to_string()), Some(of.class.to_string()));
    let line =
        HappenedView { by, grave, is_over: of.closed.is_some(), ..line(of.by.1, Happened::Finding, &of.raised.what) };
    (of.by.1, line)
}

fn tagged(of: &Tag) -> (Moment, HappenedView) {
    let by = Some(of.by.0.to_string());
    (of.by.1, HappenedView { by, is_over: of.lifted.is_some(), ..line(of.by.1, Happened::Tag, &of.hung.why) })
}

/// None where nobody knows the day.
fn mounted(of: &Part) -> Option<(Moment, HappenedView)> {
    let at = Moment::parse(&format!("{}T12:00:00+00:00", of.mounted.on.as_deref()?)).ok()?;
    Some((at, HappenedView { odometer: of.mounted.odometer.clone(), ..line(at, Happened::Part, &of.mounted.place) }))
}
