//! The verdict itself: its plate, what the other uses come to, its conditions, what clears it.

use muster_core::{
    judge::{Judgement, Outcome, UseVerdict, Verdict},
    words::Use,
};

use muster_draw::{
    glyph,
    merge::is_to_set,
    number::{capital, counted, escaped, moment, sentence, small},
};

/// The planned use's verdict: glyph, word and sentence, and the uses where they differ.
pub(super) fn plate(judgement: &Judgement) -> String {
    let planned = judgement.planned();
    let verdict = planned.map_or(Verdict::Unseen, |planned| planned.verdict);
    let is_for_all = judgement.uses.iter().all(|one| one.verdict == verdict);
    format!(
        "<section class=\"plate {verdict}\" aria-label=\"Verdict\">{}<div><p class=\"word\">{}</p>\
         <p class=\"say\">{}</p></div>{}</section>\n<p class=\"plan\">{}</p>\n",
        glyph(verdict.as_str(), 64),
        capital(verdict.as_str()),
        planned.map_or_else(|| "Nothing is known of it.".to_owned(), |planned| said(planned, is_for_all)),
        uses(judgement, verdict, is_for_all),
        plan(judgement),
    )
}

/// May it go out, in one sentence.
fn said(planned: &UseVerdict, is_for_all: bool) -> String {
    let place = place(planned.one);
    let checks = planned.outcomes.len();
    let count = |verdict| planned.outcomes.iter().filter(|one| one.verdict == verdict && !is_to_set(one)).count();
    let to_set = planned.outcomes.iter().filter(|one| is_to_set(one)).count();
    let also = |many: usize, what: &str| if many > 0 { vec![format!("{} {what}", number(many))] } else { Vec::new() };
    let open = [also(to_set, "to set"), also(count(Verdict::Unseen), "unseen")].concat();
    match planned.verdict {
        Verdict::Fit => format!("May go out {place}. {} fit.", capital(&counted(checks, "check", "checks"))),
        Verdict::Watch if planned.conditions.is_empty() => {
            format!("May go out {place}. {} to watch.", capital(&counted(count(Verdict::Watch), "check", "checks")))
        }
        Verdict::Watch => {
            format!("May go out {place}, {}.", counted(planned.conditions.len(), "condition", "conditions"))
        }
        Verdict::Unseen => format!("Must not go out {place} yet: {}.", open.join(", ")),
        Verdict::Hold => {
            let place = if is_for_all { String::new() } else { format!(" {place}") };
            let all = [also(count(Verdict::Hold), "on hold"), open].concat();
            format!("Must not go out{place}: {}.", all.join(", "))
        }
    }
}

fn number(count: usize) -> String {
    let text = counted(count, "", "");
    text.trim().to_owned()
}

const fn place(one: Use) -> &'static str {
    match one {
        Use::Range => "on the range",
        Use::Road => "on the road",
        Use::Passenger => "with a passenger",
        Use::Dark => "in the dark",
    }
}

/// Each use with its verdict and its gravest reason, the planned one first; one line where all are the same.
fn uses(judgement: &Judgement, verdict: Verdict, is_for_all: bool) -> String {
    let badge = |verdict: Verdict, text: &str| {
        format!("<li class=\"verdict\">{}<span>{}</span></li>", glyph(verdict.as_str(), 18), escaped(text))
    };
    let badges = if is_for_all {
        badge(verdict, &format!("{verdict} for every use"))
    } else {
        let planned = judgement.planned();
        let first = judgement.uses.iter().filter(|one| planned.is_some_and(|planned| planned.one == one.one));
        let others = judgement.uses.iter().filter(|one| planned.is_none_or(|planned| planned.one != one.one));
        let told = |one: &UseVerdict| badge(one.verdict, &format!("{} {}{}", one.one, one.verdict, why(one, planned)));
        first.chain(others).map(told).collect()
    };
    format!("<ul class=\"uses\" aria-label=\"Verdict by use\">{badges}</ul>")
}

/// What makes a use graver than the planned one, in two words: `, mirrors`.
fn why(one: &UseVerdict, planned: Option<&UseVerdict>) -> String {
    let Some(planned) = planned.filter(|planned| planned.one != one.one && one.verdict > planned.verdict) else {
        return String::new();
    };
    let is_known = |outcome: &&Outcome| {
        planned.outcomes.iter().any(|other| other.check == outcome.check && other.verdict >= outcome.verdict)
    };
    let gravest = one.outcomes.iter().filter(|outcome| outcome.verdict == one.verdict).find(|one| !is_known(one));
    gravest.map(|outcome| format!(", {}", small(&outcome.name))).unwrap_or_default()
}

fn plan(judgement: &Judgement) -> String {
    let planned = judgement.planned.map_or_else(
        || "No outing planned: judged for the range.".to_owned(),
        |one| {
            let back = judgement.back.as_deref().map(|back| format!(", back {}", moment(back))).unwrap_or_default();
            format!("Planned: {one}{back}.")
        },
    );
    let known = judgement
        .known_at
        .as_deref()
        .map_or_else(|| "Nothing is known of it yet".to_owned(), |known| format!("As known at {}", moment(known)));
    format!("<b>{}</b>. {}", escaped(&known), escaped(&planned))
}

/// What to do, said of several checks.
pub(super) fn for_several(todo: &str) -> String {
    todo.replacen("this check", "these checks", 1)
}

/// What it may go out on, with a box to tick on paper.
pub(super) fn conditions(judgement: &Judgement) -> String {
    let Some(planned) = judgement.planned().filter(|planned| planned.verdict == Verdict::Watch) else {
        return String::new();
    };
    if planned.conditions.is_empty() {
        return String::new();
    }
    let rows: String = planned.conditions.iter().map(|says| format!("<li>{}</li>", escaped(&sentence(says)))).collect();
    format!("<section class=\"sec\"><h2>Conditions</h2><ul class=\"ticks\">{rows}</ul></section>\n")
}

/// What has to be done before it may go out: each thing once, with the checks it is for.
pub(super) fn clears(judgement: &Judgement) -> String {
    let Some(planned) = judgement.planned() else { return String::new() };
    let mut steps: Vec<(String, Vec<String>)> = Vec::new();
    for outcome in planned.outcomes.iter().filter(|outcome| outcome.verdict >= Verdict::Unseen) {
        let todo = outcome.todo.clone().unwrap_or_else(|| "Look again".to_owned());
        let name = small(&outcome.name);
        match steps.iter_mut().find(|(known, _)| *known == todo) {
            Some((_, names)) => names.push(name),
            None => steps.push((todo, vec![name])),
        }
    }
    if steps.is_empty() {
        return String::new();
    }
    let row = |(todo, names): &(String, Vec<String>)| {
        let (several, names) = (names.len() > 1, names.join(", "));
        let todo = if several { for_several(todo) } else { todo.clone() };
        let todo = sentence(&todo);
        format!("<li><span><b>{}:</b> {}</span></li>", escaped(todo.trim_end_matches('.')), escaped(&names))
    };
    let rows: String = steps.iter().map(row).collect();
    format!("<section class=\"sec\"><h2>What clears it</h2><ol class=\"clear\">{rows}</ol></section>\n")
}
