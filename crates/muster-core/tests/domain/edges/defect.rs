//! Which defect it is: the law pack's row that fits, and the gravest where nobody says.

use muster_core::{
    judge::{Outcome, Verdict},
    words::{Class, Use},
};

use super::{
    super::{NOW, yard::Texts},
    texts, told_for, whole,
};

const LEVERS: &str = "controls.levers";

/// Answers about the levers under the small law pack, by one person after another.
fn levers(answers: &[(&str, &str)]) -> Texts {
    let forms = answers.iter().enumerate().map(|(minute, (by, says))| {
        format!("by = \"{by}\"\nopened = 2026-11-24T07:{minute:02}:00+00:00\n[[answer]]\ncheck = \"{LEVERS}\"\n{says}")
    });
    Texts { law: true, forms: forms.collect(), ..texts(LEVERS, "", "") }
}

fn on_the_road(answers: &[(&str, &str)]) -> Outcome {
    told_for(&whole(&levers(answers)), Use::Road, LEVERS, NOW)
}

fn came_to(outcome: &Outcome) -> (Verdict, Class) {
    (outcome.verdict, outcome.class)
}

#[test]
fn what_is_not_named_counts_as_the_gravest_and_that_is_said() {
    let outcome = on_the_road(&[("A", "saw = \"defective\"")]);
    assert_eq!(came_to(&outcome), (Verdict::Hold, Class::Dangerous));
    let said = "which of the law pack's 3 defects is not said, so the gravest counts";
    assert!(outcome.working.iter().any(|line| line == said), "{:?}", outcome.working);
    let sound = on_the_road(&[("A", "saw = \"sound\"")]);
    assert!(sound.working.is_empty(), "{:?}", sound.working);
}

#[test]
fn what_is_named_takes_its_rows_class_words_and_clause() {
    let stiff = on_the_road(&[("A", "saw = \"defective\"\ndefect = \"lever-stiff\"")]);
    assert_eq!(came_to(&stiff), (Verdict::Watch, Class::Minor));
    assert_eq!(stiff.reason, "defective: stiff");
    assert!(stiff.source.as_ref().is_some_and(|source| source.contains("s. 6")) && stiff.rests_on_law, "{stiff:?}");
    assert!(stiff.working.is_empty(), "{:?}", stiff.working);
    let bent = on_the_road(&[("A", "saw = \"defective\"\ndefect = \"lever-bent\"")]);
    assert_eq!(came_to(&bent), (Verdict::Hold, Class::Major));
}

#[test]
fn a_finder_raises_a_named_class_and_never_lowers_it() {
    let class = |class: &str, defect: &str| {
        let says = format!("saw = \"defective\"\nclass = \"{class}\"\ndefect = \"{defect}\"");
        on_the_road(&[("A", &says)]).class
    };
    assert_eq!(class("dangerous", "lever-stiff"), Class::Dangerous);
    assert_eq!(class("minor", "lever-bent"), Class::Major);
}

#[test]
fn a_doubt_waits_for_a_second_person_only_where_the_defect_is_dangerous() {
    let unnamed = on_the_road(&[("A", "saw = \"doubtful\"")]);
    assert_eq!(came_to(&unnamed), (Verdict::Hold, Class::Dangerous));
    let bent = on_the_road(&[("A", "saw = \"doubtful\"\ndefect = \"lever-bent\"")]);
    assert_eq!(came_to(&bent), (Verdict::Watch, Class::Major));
    assert_eq!(bent.reason, "doubtful: bent, but it can be worked");
}

#[test]
fn a_milder_defect_does_not_settle_ones_own_doubt_but_a_second_persons_does() {
    let doubt = ("A", "saw = \"doubtful\"");
    let own = on_the_road(&[doubt, ("A", "saw = \"defective\"\ndefect = \"lever-stiff\"")]);
    assert_eq!(came_to(&own), (Verdict::Hold, Class::Dangerous));
    assert!(own.reason.starts_with("defective: stiff; a doubt of A waits"), "{}", own.reason);
    assert_eq!(own.todo.as_deref(), Some("Let a second person look, not A"));
    let second = on_the_road(&[doubt, ("B", "saw = \"defective\"\ndefect = \"lever-stiff\"")]);
    assert_eq!(came_to(&second), (Verdict::Watch, Class::Minor));
}

#[test]
fn of_two_who_name_it_otherwise_the_graver_counts() {
    let stiff = ("A", "saw = \"defective\"\ndefect = \"lever-stiff\"");
    let bent = ("B", "saw = \"defective\"\ndefect = \"lever-bent\"");
    assert_eq!(on_the_road(&[stiff, bent]).class, Class::Major);
    assert_eq!(on_the_road(&[bent, stiff]).class, Class::Major);
    assert_eq!(on_the_road(&[stiff, ("B", "saw = \"defective\"")]).class, Class::Dangerous);
}

#[test]
fn where_the_law_does_not_bind_the_check_keeps_its_own_class() {
    let small = whole(&levers(&[("A", "saw = \"defective\"\ndefect = \"lever-stiff\"")]));
    let range = told_for(&small, Use::Range, LEVERS, NOW);
    assert_eq!(range.class, small.catalogue.check(LEVERS).expect("it is there").class);
    assert!(!range.rests_on_law && range.working.is_empty(), "{range:?}");
}

#[test]
fn a_defect_the_pack_does_not_have_is_said_with_those_it_has() {
    let says = |says: &str| levers(&[("A", says)]).read().problems.join("\n");
    let unknown = says("saw = \"defective\"\ndefect = \"lever-blue\"");
    assert!(unknown.contains("no defect `lever-blue`"), "{unknown}");
    assert!(unknown.contains("lever-broken, lever-bent, lever-stiff"), "{unknown}");
    assert_eq!(says("saw = \"defective\"\ndefect = \"\""), "", "left empty it is not named");
    let lawless = Texts { law: false, ..levers(&[("A", "saw = \"defective\"\ndefect = \"lever-bent\"")]) };
    assert!(lawless.read().problems.join("\n").contains("none here: leave it out"));
}

#[test]
fn a_finding_names_its_defect_too() {
    let found = |defect: &str| {
        let finding =
            format!("[[finding]]\nid = \"F-1\"\ncheck = \"{LEVERS}\"\nwhat = \"x\"\nclass = \"minor\"\n{defect}");
        let small = whole(&Texts { law: true, forms: vec![finding], ..texts(LEVERS, "", "") });
        told_for(&small, Use::Road, "finding.F-1", NOW)
    };
    let unnamed = found("");
    assert_eq!(came_to(&unnamed), (Verdict::Hold, Class::Dangerous));
    assert_eq!(unnamed.working.len(), 2, "{:?}", unnamed.working);
    assert_eq!(came_to(&found("defect = \"lever-stiff\"")), (Verdict::Watch, Class::Minor));
    let bent = found("defect = \"lever-bent\"");
    assert_eq!(came_to(&bent), (Verdict::Hold, Class::Major));
    assert_eq!(bent.working, ["raised as minor; the law pack's class for this defect is major"]);
}
