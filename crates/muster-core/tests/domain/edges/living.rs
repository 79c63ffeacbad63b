//! Which answers still count: what ended them, what came after, and what lapses when.

use muster_core::judge::{Outcome, Verdict};

use super::{
    super::{NOW, yard::Texts},
    texts, told,
};

fn forms(check: &str, forms: &[&str]) -> Outcome {
    let forms = forms.iter().map(ToString::to_string).collect();
    told(&Texts { forms, ..texts(check, "", "") }, check, NOW)
}

#[test]
fn a_newer_look_that_could_not_see_says_more_than_an_older_that_has_lapsed() {
    let old = "opened = 2026-11-20T07:30:00+00:00\n[[answer]]\ncheck = \"controls.levers\"\nsaw = \"sound\"";
    let blind = "[[answer]]\ncheck = \"controls.levers\"\nsaw = \"could not see\"\nwhy = \"a cover on it\"";
    let outcome = forms("controls.levers", &[old, blind]);
    assert_eq!((outcome.verdict, outcome.reason.as_str()), (Verdict::Unseen, "could not see: a cover on it"));
    let outcome = forms("controls.levers", &[old]);
    assert_eq!(outcome.reason, "answered 2026-11-20, counts that day");
}

#[test]
fn what_was_answered_at_the_moment_of_an_event_is_ended_by_it() {
    let fallen = "opened = 2026-11-24T07:10:00+00:00\n[[answer]]\ncheck = \"controls.levers\"\nsaw = \"defective\"\n\
        [[event]]\nwhat = \"fall\"\nat = 2026-11-24T07:10:00+00:00";
    let again = "[[answer]]\ncheck = \"controls.levers\"\nsaw = \"sound\"";
    assert_eq!(forms("controls.levers", &[fallen]).reason, "ended by fall on 2026-11-24");
    assert_eq!(forms("controls.levers", &[fallen, again]).verdict, Verdict::Fit);
    let before = fallen.replace("at = 2026-11-24T07:10", "at = 2026-11-24T07:09");
    assert_eq!(forms("controls.levers", &[&before, again]).verdict, Verdict::Hold);
}

#[test]
fn a_life_of_this_outing_ends_with_the_next_walk_round() {
    let mirrors = "opened = 2026-11-24T07:00:00+00:00\n[[answer]]\ncheck = \"mirrors\"\nsaw = \"sound\"";
    assert_eq!(forms("mirrors", &[mirrors]).verdict, Verdict::Fit);
    let outcome = forms("mirrors", &[mirrors, "opened = 2026-11-24T07:30:00+00:00"]);
    assert_eq!((outcome.verdict, outcome.reason.as_str()), (Verdict::Unseen, "answered 2026-11-24 for another outing"));
}
