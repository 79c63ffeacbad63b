//! One question as JSON to one answer as JSON: what the phone and the server both call, byte for byte the same.

use alloc::{
    collections::BTreeMap,
    string::{String, ToString},
    vec::Vec,
};

use serde::{Deserialize, Serialize};

use crate::{
    calendar::Moment,
    data,
    form::Form,
    judge::{Context, Judgement, implausible, judge},
    load::{File, Problem},
    state::{State, Station},
    walk_round::{Ask, WalkRound, plan},
    words::{Depth, Use},
    yard::Yard,
};

/// A machine of a yard to judge, with every text it rests on.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Question {
    /// Fleet number.
    machine: String,
    /// The moment it is judged for, ISO 8601 with offset.
    on: String,
    /// The yard's files by name.
    yard: BTreeMap<String, String>,
    /// Filled forms by name.
    forms: BTreeMap<String, String>,
    /// Ask for the next walk-round too.
    #[serde(default)]
    walk_round: Option<WalkAsked>,
}

/// Which walk-round is asked for.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct WalkAsked {
    depth: Depth,
    #[serde(rename = "use")]
    one: Use,
    found: State,
}

#[derive(Default, Serialize)]
struct Answer {
    judgement: Option<Judgement>,
    #[serde(skip_serializing_if = "Option::is_none")]
    walk_round: Option<Walk>,
    problems: Vec<String>,
}

/// A walk-round as the other side shows it.
#[derive(Serialize)]
struct Walk {
    seconds: u32,
    evening: Vec<StepAsked>,
    steps: Vec<StepAsked>,
    deferred: Vec<(String, String)>,
}

#[derive(Serialize)]
struct StepAsked {
    check: String,
    station: Station,
    state: State,
    changes: Vec<String>,
    method: Vec<String>,
    limits: Vec<String>,
    cannot: Vec<String>,
}

impl From<WalkRound<'_>> for Walk {
    fn from(walk: WalkRound<'_>) -> Self {
        let step = |ask: Ask<'_>| StepAsked {
            check: ask.check.id.clone(),
            station: ask.check.station,
            state: ask.state,
            changes: ask.changes,
            method: ask.method,
            limits: ask.limits,
            cannot: ask.cannot,
        };
        Self {
            seconds: walk.seconds,
            evening: walk.evening.into_iter().map(step).collect(),
            steps: walk.steps.into_iter().map(step).collect(),
            deferred: walk.deferred.into_iter().map(|(check, why)| (check.id.clone(), why)).collect(),
        }
    }
}

/// Judges what a JSON question asks. Always answers JSON: what is wrong stands under `problems`.
#[must_use]
pub fn answer_json(question: &str) -> String {
    let answer = match serde_json::from_str::<Question>(question) {
        Ok(question) => answer(&question),
        Err(error) => Answer { problems: [error.to_string()].into(), ..Answer::default() },
    };
    // A judgement holds texts and finite numbers alone, so writing it cannot fail.
    serde_json::to_string(&answer).unwrap_or_default()
}

fn answer(question: &Question) -> Answer {
    let mut problems: Vec<Problem> = Vec::new();
    let (judgement, walk_round) = answered(question, &mut problems).unzip();
    Answer { judgement, walk_round: walk_round.flatten(), problems: problems.iter().map(ToString::to_string).collect() }
}

fn answered(question: &Question, problems: &mut Vec<Problem>) -> Option<(Judgement, Option<Walk>)> {
    let wrong = |file: &str, what: String| Problem { file: file.into(), line: 0, what };
    let catalogue = data::catalogue().map_err(|faults| problems.extend(faults)).ok()?;
    let now = Moment::parse(&question.on).map_err(|error| problems.push(wrong("on", error.to_string()))).ok()?;
    let files: Vec<File<'_>> = question.yard.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let (yard, faults) = Yard::load(&files, &catalogue);
    problems.extend(faults);
    let Some(context) = Context::of(&catalogue, &yard, &question.machine, now) else {
        problems.push(wrong("machine", alloc::format!("no machine {} in the yard", question.machine)));
        return None;
    };
    let mut forms: Vec<Form> = Vec::new();
    for (name, text) in &question.forms {
        let (form, faults) = Form::load(name, text, &catalogue, &yard);
        problems.extend(faults);
        let Some(form) = form.filter(|form| form.machine == question.machine) else { continue };
        let earlier: Vec<&Form> = forms.iter().collect();
        problems.extend(implausible(&context, name, &form, &earlier));
        forms.push(form);
    }
    let forms: Vec<&Form> = forms.iter().collect();
    let walk = question.walk_round.as_ref().and_then(|asked| {
        let walk = plan(&context, &forms, asked.depth, asked.one, asked.found);
        walk.map_err(|error| problems.push(wrong("walk_round", error.to_string()))).ok()
    });
    Some((judge(&context, &forms), walk.map(Walk::from)))
}
