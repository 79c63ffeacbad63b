//! Observations: whose doubt waits for a second person, and who is named.

use muster_core::{
    catalogue::ClassRow,
    judge::{Outcome, Verdict},
    words::{Class, Use},
};

use super::{
    super::{NOW, yard::Texts},
    texts, told, told_for, whole,
};

/// Looks at the throttle, a check of class dangerous, by one person after another.
fn looks(seen: &[(&str, &str)]) -> Outcome {
    let forms = seen.iter().enumerate().map(|(minute, (by, saw))| {
        format!(
            "by = \"{by}\"\nopened = 2026-11-24T07:{minute:02}:00+00:00\n[[answer]]\ncheck = \"throttle.return\"\nsaw = \"{saw}\""
        )
    });
    told(&Texts { forms: forms.collect(), ..texts("throttle.return", "", "") }, "throttle.return", NOW)
}

#[test]
fn a_doubt_that_waits_is_told_with_the_first_to_have_it() {
    let outcome = looks(&[("A. Finder", "doubtful"), ("B. Second", "doubtful")]);
    assert_eq!((outcome.verdict, outcome.by.as_deref()), (Verdict::Hold, Some("A. Finder")));
    assert_eq!(outcome.todo.as_deref(), Some("Let a second person look, not A. Finder"));
}

#[test]
fn a_defect_beside_a_doubt_is_told_with_who_found_the_defect() {
    let outcome = looks(&[("A. Finder", "doubtful"), ("B. Second", "defective")]);
    assert_eq!((outcome.verdict, outcome.by.as_deref()), (Verdict::Hold, Some("B. Second")));
    // Both are told: whoever saw it milder is asked.
    assert_eq!(outcome.reason, "defective: stays open; A. Finder saw it doubtful, and the graver counts");
}

#[test]
fn a_doubt_a_second_person_settled_leaves_who_saw_the_worst() {
    let outcome = looks(&[("A. Finder", "doubtful"), ("B. Second", "sound")]);
    assert_eq!((outcome.verdict, outcome.by.as_deref()), (Verdict::Watch, Some("A. Finder")));
}

#[test]
fn what_was_seen_is_told_in_the_checks_own_words() {
    let seat = |saw: &str| {
        let form = format!("[[answer]]\ncheck = \"seat\"\nsaw = \"{saw}\"");
        let outcome = told(&texts("seat", "", &form), "seat", NOW);
        (outcome.verdict, outcome.reason)
    };
    assert_eq!(seat("defective"), (Verdict::Watch, "defective: split.".to_string()));
    assert_eq!(seat("doubtful"), (Verdict::Watch, "doubtful: worn.".to_string()));
    assert_eq!(seat("sound"), (Verdict::Fit, "sound".to_string()));
}

#[test]
fn a_lesser_class_in_the_law_pack_leaves_the_check_its_own() {
    let form = "[[answer]]\ncheck = \"throttle.return\"\nsaw = \"defective\"";
    let mut small = whole(&Texts { law: true, ..texts("throttle.return", "", form) });
    let statute = small.catalogue.laws.get_mut("STATUTE").expect("the small law pack");
    let levers = statute.classes.iter().find(|row| row.checks.contains(&"controls.levers".into())).cloned();
    let levers = levers.expect("the pack speaks of levers");
    statute.classes.push(ClassRow { checks: vec!["throttle.return".into()], class: Class::Minor, ..levers });
    let outcome = told_for(&small, Use::Road, "throttle.return", NOW);
    assert_eq!((outcome.class, outcome.source, outcome.rests_on_law), (Class::Dangerous, None, false));
}
