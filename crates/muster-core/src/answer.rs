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

#[derive(Serialize)]
struct Answer {
    judgement: Option<Judgement>,
    problems: Vec<String>,
}

/// Judges what a JSON question asks. Always answers JSON: what is wrong stands under `problems`.
#[must_use]
pub fn answer_json(question: &str) -> String {
    let answer = match serde_json::from_str::<Question>(question) {
        Ok(question) => answer(&question),
        Err(error) => Answer { judgement: None, problems: [error.to_string()].into() },
    };
    // A judgement holds texts and finite numbers alone, so writing it cannot fail.
    serde_json::to_string(&answer).unwrap_or_default()
}

fn answer(question: &Question) -> Answer {
    let mut problems: Vec<Problem> = Vec::new();
    let judgement = judged(question, &mut problems);
    Answer { judgement, problems: problems.iter().map(ToString::to_string).collect() }
}

fn judged(question: &Question, problems: &mut Vec<Problem>) -> Option<Judgement> {
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
    Some(judge(&context, &forms.iter().collect::<Vec<_>>()))
}
