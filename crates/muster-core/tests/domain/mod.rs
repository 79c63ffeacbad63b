//! The rules of judging, sentence by sentence: every case of `golden/domain/*.toml` on a small yard of its own.

pub(crate) mod demo;
mod edges;
mod gauges;
mod kinds;
mod kinds_in_packs;
mod kinds_in_texts;
mod release;
mod stances;
mod walk;
pub(crate) mod yard;

use muster_core::{
    judge::{Outcome, Verdict},
    words::Use,
};
use serde::Deserialize;

use yard::{Small, Texts};

/// The morning every case is judged on unless it says otherwise.
pub(crate) const NOW: &str = "2026-11-24T08:00:00+00:00";

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    /// The rules it is about.
    about: String,
    case: Vec<Case>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    /// The rule as a sentence.
    rule: String,
    #[serde(default)]
    checks: Vec<String>,
    #[serde(default)]
    law: bool,
    #[serde(default)]
    us: bool,
    #[serde(default)]
    yard: String,
    #[serde(default)]
    house: String,
    #[serde(default)]
    sheet: String,
    #[serde(default)]
    machine: String,
    #[serde(default)]
    forms: Vec<String>,
    now: Option<String>,
    /// Texts the problems must hold; none: there must be no problem.
    #[serde(default)]
    problems: Vec<String>,
    expect: Vec<Expect>,
}

/// What must come of a check, of a finding, or of the machine where neither is named.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Expect {
    check: Option<String>,
    #[serde(rename = "use", default)]
    one: Option<String>,
    /// A verdict, or `none`: the check is not among the outcomes.
    verdict: String,
    #[serde(default)]
    reason: String,
    #[serde(default)]
    todo: String,
    #[serde(default)]
    not_todo: String,
    #[serde(default)]
    source: String,
    /// Each must stand in one line of the working.
    #[serde(default)]
    working: Vec<String>,
    class: Option<String>,
    rests_on_law: Option<bool>,
    /// The ids of the reasons, worst first.
    order: Option<Vec<String>>,
    conditions: Option<Vec<String>>,
    set: Option<[String; 3]>,
    known_at: Option<String>,
    probability: Option<f64>,
    expanded_u: Option<f64>,
}

#[test]
fn every_rule_of_judging_holds() {
    let mut files: Vec<_> = std::fs::read_dir(yard::folder())
        .unwrap_or_else(|error| panic!("{error}"))
        .filter_map(|entry| entry.ok().map(|entry| entry.path()))
        .filter(|path| path.extension().is_some_and(|extension| extension == "toml"))
        .collect();
    files.sort();
    let mut wrong = Vec::new();
    let mut count = 0;
    for path in &files {
        let text = std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{error}"));
        let file: File = toml::from_str(&text).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        for case in &file.case {
            count += 1;
            for fault in faults(case) {
                wrong.push(format!("{}: {}\n    {fault}", file.about, case.rule));
            }
        }
    }
    assert!(wrong.is_empty(), "{} of {count} cases:\n{}", wrong.len(), wrong.join("\n"));
    assert!(count >= 100, "{count} cases");
}

fn faults(case: &Case) -> Vec<String> {
    let texts = Texts {
        checks: case.checks.clone(),
        law: case.law,
        us: case.us,
        yard: case.yard.clone(),
        house: case.house.clone(),
        sheet: case.sheet.clone(),
        machine: case.machine.clone(),
        forms: case.forms.clone(),
    };
    let small = texts.read();
    let now = case.now.as_deref().unwrap_or(NOW);
    let said = small.problems(now);
    let mut wrong: Vec<String> = Vec::new();
    for text in &case.problems {
        if !said.iter().any(|problem| plain(problem).contains(text)) {
            wrong.push(format!("no problem says `{text}`: {said:?}"));
        }
    }
    if case.problems.is_empty() {
        wrong.extend(said.iter().map(|problem| format!("a problem nobody expects: {problem}")));
    }
    for expect in &case.expect {
        wrong.extend(unmet(expect, &small, now));
    }
    wrong
}

fn unmet(expect: &Expect, small: &Small, now: &str) -> Vec<String> {
    let one = expect.one.as_deref().unwrap_or("range");
    let one = Use::ALL.iter().copied().find(|known| known.as_str() == one).unwrap_or_else(|| panic!("no use {one}"));
    let judgement = small.judged(now);
    let of_use = judgement.uses.iter().find(|verdict| verdict.one == one).unwrap_or_else(|| panic!("no {one}"));
    let mut wrong = Vec::new();
    if let Some(at) = &expect.known_at {
        demand(&mut wrong, "known at", at, judgement.known_at.as_deref().unwrap_or("nothing"));
    }
    if let Some(order) = &expect.order {
        let got: Vec<&str> = of_use.reasons().map(|outcome| outcome.check.as_str()).collect();
        demand(&mut wrong, "order", &order.join(" "), &got.join(" "));
    }
    if let Some(conditions) = &expect.conditions {
        demand(&mut wrong, "conditions", &conditions.join(" | "), &of_use.conditions.join(" | "));
    }
    let Some(check) = &expect.check else {
        demand(&mut wrong, "verdict of the machine", &expect.verdict, of_use.verdict.as_str());
        return wrong
            .into_iter()
            .map(|what| {
                format!("{one}: {what}; {:?}", of_use.reasons().map(|o| (&o.check, &o.reason)).collect::<Vec<_>>())
            })
            .collect();
    };
    let Some(outcome) = of_use.outcomes.iter().find(|outcome| outcome.check == *check) else {
        demand(&mut wrong, check, &expect.verdict, "none");
        return wrong;
    };
    demand(&mut wrong, check, &expect.verdict, outcome.verdict.as_str());
    wrong.extend(untold(expect, outcome));
    wrong
        .into_iter()
        .map(|what| {
            format!(
                "{one}, {check}: {what}; {} [{}] {:?}",
                outcome.reason,
                outcome.todo.as_deref().unwrap_or(""),
                outcome.working
            )
        })
        .collect()
}

fn untold(expect: &Expect, outcome: &Outcome) -> Vec<String> {
    let mut wrong = Vec::new();
    let todo = outcome.todo.as_deref().unwrap_or("");
    let source = outcome.source.as_deref().unwrap_or("");
    for (name, text, got) in [
        ("reason", &expect.reason, outcome.reason.as_str()),
        ("todo", &expect.todo, todo),
        ("source", &expect.source, source),
    ] {
        if !plain(got).contains(text.as_str()) {
            wrong.push(format!("{name} lacks `{text}`: {got}"));
        }
    }
    if !expect.not_todo.is_empty() && todo.contains(&expect.not_todo) {
        wrong.push(format!("todo must not say `{}`: {todo}", expect.not_todo));
    }
    for text in &expect.working {
        if !outcome.working.iter().any(|line| plain(line).contains(text.as_str())) {
            wrong.push(format!("working lacks `{text}`"));
        }
    }
    if let Some(class) = &expect.class {
        demand(&mut wrong, "class", class, outcome.class.as_str());
    }
    if let Some(law) = expect.rests_on_law {
        demand(&mut wrong, "rests on law", &law.to_string(), &outcome.rests_on_law.to_string());
    }
    if let Some(set) = &expect.set {
        let got = outcome.set.as_ref().map(|set| [plain(&set.found), set.act.clone(), plain(&set.now)]);
        demand(&mut wrong, "set", &format!("{:?}", Some(set)), &format!("{:?}", got.as_ref()));
    }
    if let Some(p) = expect.probability
        && outcome.probability.is_none_or(|got| (got - p).abs() > 0.005)
    {
        wrong.push(format!("probability {:?}, not {p}", outcome.probability));
    }
    let expanded = outcome.figure.as_ref().map(|figure| figure.expanded_u);
    if let Some(u) = expect.expanded_u
        && expanded.is_none_or(|got| (got - u).abs() > 0.005 * u)
    {
        wrong.push(format!("expanded u {expanded:?}, not {u}"));
    }
    if outcome.verdict != Verdict::Fit && outcome.reason.is_empty() {
        wrong.push("no reason".to_string());
    }
    wrong
}

fn demand(wrong: &mut Vec<String>, what: &str, asked: &str, got: &str) {
    if asked != got {
        wrong.push(format!("{what} should be {asked}, is {got}"));
    }
}

/// With breaking spaces, so that a case can be typed.
fn plain(text: &str) -> String {
    text.replace(['\u{a0}', '\u{202f}'], " ")
}
