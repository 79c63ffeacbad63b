//! Judges an observation: the graver of several counts, and a second person settles a doubt of class dangerous.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use super::{
    Graded, Outcome, Question, Verdict,
    living::{Given, Living},
};
use crate::{
    check::Look,
    form::{Answer, Said},
    words::{Class, Seen},
};

/// The verdict of an observation for a use.
pub(super) fn judge(asked: &Question<'_>, look: &Look, living: &Living<'_>) -> Outcome {
    let &Question { context, check, one, .. } = asked;
    let group: &[Given<'_>] = living.groups.last().map_or(&[], Vec::as_slice);
    let raised = group.iter().filter_map(|given| given.answer.class).max().unwrap_or(Class::Minor);
    let worst = group.iter().flat_map(seen).max_by_key(|(_, seen, _)| *seen);
    let Some((place, seen, answer)) = worst else {
        return asked.outcome(Verdict::Unseen, "not answered").classed(context.class(check, one).0.max(raised));
    };
    let Graded { class: lawful, row, named } = graded(asked, group, seen);
    let class = lawful.max(raised);
    // What is defective and stops it does so by itself: a doubt waits only where nothing graver was seen.
    let stops = seen == Seen::Defective && class != Class::Minor;
    let doubt = if stops { None } else { unsettled(asked, raised) };
    let milder = milder(group, (place, seen));
    let place = place.map(|place| format!(", {place}")).unwrap_or_default();
    let defective = match row {
        Some(row) if named => &row.when,
        _ => &look.defective,
    };
    let sentence = if seen == Seen::Defective || named { defective } else { &look.doubtful };
    let mut outcome = match (&doubt, seen, class) {
        (Some(by), ..) => {
            let told = decapitalised(sentence);
            let reason = match seen {
                Seen::Defective => format!("defective{place}: {}; a doubt of {by} waits", told.trim_end_matches('.')),
                _ => format!("doubtful{place}: {told}"),
            };
            asked.outcome(Verdict::Hold, reason).todo(format!("Let a second person look, not {by}"))
        }
        (None, Seen::Sound | Seen::CouldNotSee, _) => asked.outcome(Verdict::Fit, "sound"),
        (None, Seen::Defective, Class::Major | Class::Dangerous) => asked
            .outcome(Verdict::Hold, format!("defective{place}: {}", decapitalised(defective)))
            .todo("Hang a hold tag; have it put right, then look again"),
        (None, Seen::Defective | Seen::Doubtful, _) => asked
            .outcome(Verdict::Watch, format!("{seen}{place}: {}", decapitalised(sentence)))
            .todo("Raise a finding; have it put right"),
    };
    if let Some((by, milder)) = milder {
        let told = outcome.reason.trim_end_matches('.');
        outcome.reason = format!("{told}; {by} saw it {milder}, and the graver counts");
    }
    let missing = look.places.iter().find(|place| !answered(group, place));
    if let Some(missing) = missing.filter(|_| outcome.verdict != Verdict::Hold) {
        outcome.verdict = Verdict::Unseen;
        outcome.reason = format!("{missing} not seen; {}", outcome.reason);
        outcome.todo = Some("Look there too".to_string());
    }
    // A doubt that waits is of class dangerous, whatever the defect beside it.
    outcome.class = if doubt.is_some() { Class::Dangerous } else { class };
    outcome.by = doubt.or_else(|| Some(answer.by.clone()));
    outcome.at = Some(answer.at.to_string());
    outcome.rests_on_law = seen == Seen::Defective && row.is_some();
    outcome.source = row.map(|row| row.provenance.to_string()).or_else(|| {
        check.item.as_ref().map(|item| format!("model class, 2014/45/EU Annex I {item}, not law for motorcycles"))
    });
    if seen != Seen::Sound && !named {
        outcome.working.extend(context.unnamed(check, answer.defect.as_deref(), one));
    }
    for note in group.iter().filter_map(|given| given.answer.note.as_ref()) {
        outcome.working.push(format!("note: {note}"));
    }
    outcome
}

fn seen<'g>(given: &Given<'g>) -> impl Iterator<Item = (Option<&'g str>, Seen, &'g Answer)> {
    let answers: &[(Option<String>, Seen)] = match &given.answer.said {
        Said::Saw(seen) => seen,
        _ => &[],
    };
    let answer = given.answer;
    answers
        .iter()
        .filter(|(_, seen)| *seen != Seen::CouldNotSee)
        .map(move |(place, seen)| (place.as_deref(), *seen, answer))
}

/// Who saw the same place milder, where what was seen contradicts itself.
fn milder(group: &[Given<'_>], (place, worst): (Option<&str>, Seen)) -> Option<(String, Seen)> {
    let same = |of: &Option<&str>| of.is_none() || place.is_none() || *of == place;
    let all = group.iter().flat_map(seen);
    all.filter(|(of, seen, _)| same(of) && *seen < worst).map(|(_, seen, answer)| (answer.by.clone(), seen)).last()
}

/// Whether a place was looked at, by itself or with all the others.
fn answered(group: &[Given<'_>], place: &str) -> bool {
    group.iter().flat_map(seen).any(|(seen, _, _)| seen.is_none_or(|seen| seen == place))
}

/// How grave what was seen is: the gravest of what those who saw the worst named.
fn graded<'q>(asked: &Question<'q>, group: &[Given<'_>], worst: Seen) -> Graded<'q> {
    let Question { context, check, one, .. } = *asked;
    let by = group.iter().filter(|given| seen(given).any(|(_, seen, _)| seen == worst));
    let all = by.map(|given| context.graded(check, given.answer.defect.as_deref(), one));
    all.max_by_key(|graded| graded.class).unwrap_or_else(|| context.graded(check, None, one))
}

/// Who had a doubt of class dangerous that nobody else has looked at since and no act has removed.
fn unsettled(asked: &Question<'_>, raised: Class) -> Option<String> {
    let Question { context, check, one, .. } = *asked;
    let grave = |answer: &Answer| context.graded(check, answer.defect.as_deref(), one).class.max(raised);
    let mut doubt: Option<String> = None;
    for given in asked.given {
        if given.answer.after.is_some() {
            doubt = None;
        }
        for (_, seen, answer) in seen(given) {
            match &doubt {
                // A second person who doubts too settles nothing.
                Some(first) if *first != answer.by && seen != Seen::Doubtful => doubt = None,
                None if seen == Seen::Doubtful && grave(answer) == Class::Dangerous => doubt = Some(answer.by.clone()),
                _ => {}
            }
        }
    }
    doubt
}

/// The sentence as it stands behind a colon.
fn decapitalised(sentence: &str) -> String {
    let mut chars = sentence.chars();
    match chars.next() {
        Some(first) => core::iter::once(first.to_ascii_lowercase()).chain(chars).collect(),
        None => String::new(),
    }
}
