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
}

/// A walk-round of a machine.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct WalkQuestion {
    about: Question,
    walk_round: WalkAsked,
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
    problems: Vec<String>,
}

#[derive(Default, Serialize)]
struct WalkAnswer {
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
            station: ask.station,
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
    let mut problems: Vec<Problem> = Vec::new();
    let answer = match serde_json::from_str::<Question>(question) {
        Ok(question) => {
            let judgement = asked(&question, &mut problems, |context, forms, _| Some(judge(context, forms)));
            Answer { judgement, problems: texts(&problems) }
        }
        Err(error) => Answer { problems: [error.to_string()].into(), ..Answer::default() },
    };
    // A judgement holds texts and finite numbers alone, so writing it cannot fail.
    serde_json::to_string(&answer).unwrap_or_default()
}

/// Builds the walk-round a JSON question asks for. Always answers JSON, as [`answer_json`] does; a door of its own, so that
/// who only judges does not carry the search for the order.
#[must_use]
pub fn walk_round_json(question: &str) -> String {
    let mut problems: Vec<Problem> = Vec::new();
    let answer = match serde_json::from_str::<WalkQuestion>(question) {
        Ok(WalkQuestion { about, walk_round: wanted }) => {
            let walk_round = asked(&about, &mut problems, |context, forms, problems| {
                let walk = plan(context, forms, wanted.depth, wanted.one, wanted.found);
                walk.map(Walk::from).map_err(|error| problems.push(wrong("walk_round", error.to_string()))).ok()
            });
            WalkAnswer { walk_round, problems: texts(&problems) }
        }
        Err(error) => WalkAnswer { problems: [error.to_string()].into(), ..WalkAnswer::default() },
    };
    serde_json::to_string(&answer).unwrap_or_default()
}

fn texts(problems: &[Problem]) -> Vec<String> {
    problems.iter().map(ToString::to_string).collect()
}

fn wrong(file: &str, what: String) -> Problem {
    Problem { file: file.into(), line: 0, what }
}

/// Loads what a question names and hands it on.
fn asked<T>(
    question: &Question,
    problems: &mut Vec<Problem>,
    then: impl FnOnce(&Context<'_>, &[&Form], &mut Vec<Problem>) -> Option<T>,
) -> Option<T> {
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
    then(&context, &forms.iter().collect::<Vec<_>>(), problems)
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::{Value, json};

    fn question() -> Value {
        json!({
            "machine": "M-01",
            "on": "2026-11-24T08:00:00+00:00",
            "yard": {
                "yard.toml": "schema = 1\nname = \"Yard\"\ntime_zone = \"Europe/London\"\n",
                "sheets/a.toml": "schema = 1\nsheet = \"a\"\nmodel = \"A\"\nhandbook = { title = \"A handbook\" }\n",
                "machines/m-01.toml": "schema = 1\nmachine = \"M-01\"\nsheet = \"a\"\n",
            },
            "forms": {},
        })
    }

    #[test]
    fn a_machine_nobody_looked_at_is_unseen_for_every_use() {
        let answer: Value = serde_json::from_str(&answer_json(&question().to_string())).unwrap();
        assert_eq!(answer["problems"], json!([]));
        for one in answer["judgement"]["uses"].as_array().unwrap() {
            assert_eq!(one["verdict"], "unseen");
        }
    }

    #[test]
    fn its_walk_round_asks_for_everything_the_range_needs() {
        let found = json!({ "heat": "cold", "power": "off", "stance": "side-stand" });
        let asked = json!({ "depth": "before-ride", "use": "range", "found": found });
        let question = json!({ "about": question(), "walk_round": asked });
        let answer: Value = serde_json::from_str(&walk_round_json(&question.to_string())).unwrap();
        assert_eq!(answer["problems"], json!([]));
        assert!(answer["walk_round"]["steps"].as_array().unwrap().len() > 20, "{answer}");
    }

    #[test]
    fn what_cannot_be_asked_is_answered_in_words() {
        for wrong in ["", "{}", "[1]", r#"{"machine":"M-09","on":"","yard":{},"forms":{}}"#] {
            for answer in [answer_json(wrong), walk_round_json(wrong)] {
                let answer: Value = serde_json::from_str(&answer).unwrap();
                assert!(!answer["problems"].as_array().unwrap().is_empty(), "{wrong}");
            }
        }
    }
}
