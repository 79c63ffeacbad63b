//! What a form says that cannot be: said where it is so, and nowhere else.

use super::super::{NOW, yard::Texts};

fn said(checks: &[&str], machine: &str, forms: &[&str]) -> Vec<String> {
    let texts = Texts {
        checks: checks.iter().map(ToString::to_string).collect(),
        machine: machine.into(),
        forms: forms.iter().map(ToString::to_string).collect(),
        ..Texts::default()
    };
    texts.read().problems(NOW)
}

/// Says it once, or not at all.
fn once(said: &[String], text: &str, expected: bool) {
    let expected = usize::from(expected);
    assert!(said.len() == expected && said.iter().all(|line| line.contains(text)), "{text}, {expected}: {said:?}");
}

fn levers(more: &str) -> String {
    format!("[[answer]]\ncheck = \"controls.levers\"\n{more}\n")
}

#[test]
fn a_form_of_this_very_moment_is_none_of_the_future() {
    for (opened, future) in [("08:00:00", false), ("08:00:01", true)] {
        let form = format!("opened = 2026-11-24T{opened}+00:00");
        once(&said(&["seat"], "", &[&form]), "look at the clock it was written by", future);
    }
    for (at, future) in [("08:00:00", false), ("08:00:01", true)] {
        let form = levers(&format!("saw = \"sound\"\nat = 2026-11-24T{at}+00:00"));
        once(&said(&["controls.levers"], "", &[&form]), "it does not count", future);
    }
}

#[test]
fn only_an_odometer_below_an_earlier_one_is_said() {
    let forms = |earlier: &str, then: &str, now: &str| {
        let a = format!("opened = 2026-11-24T{earlier}:00+00:00\nodometer = \"{then} km\"");
        said(&["seat"], "", &[&a, &format!("odometer = \"{now} km\"")])
    };
    let below = "read it again";
    once(&forms("07:00", "1000", "1000"), below, false);
    once(&forms("07:00", "1000", "1001"), below, false);
    once(&forms("07:00", "1000", "999"), below, true);
    // Of two opened at one moment neither is the earlier.
    once(&forms("07:30", "1000", "999"), below, false);
}

#[test]
fn only_a_class_below_the_checks_own_is_said() {
    for (class, lowered) in [("minor", true), ("major", false), ("dangerous", false)] {
        let form = levers(&format!("saw = \"doubtful\"\nclass = \"{class}\""));
        once(&said(&["controls.levers"], "", &[&form]), "a class is only raised here; major stays", lowered);
    }
}

#[test]
fn could_not_see_asks_why_once() {
    let say_why = "could not see: say why";
    once(&said(&["controls.levers"], "", &[&levers("saw = \"could not see\"")]), say_why, true);
    once(&said(&["controls.levers"], "", &[&levers("saw = \"could not see\"\nwhy = \"dark\"")]), say_why, false);
    once(&said(&["controls.levers"], "", &[&levers("saw = \"sound\"")]), say_why, false);
}

#[test]
fn two_answers_that_differ_with_nothing_between_are_said_once() {
    let twice =
        |second: &str| said(&["controls.levers", "seat"], "", &[&(levers("saw = \"sound\"") + &levers(second))]);
    let text = "answered twice with no act between";
    once(&twice("saw = \"doubtful\""), text, true);
    once(&twice("saw = \"sound\""), text, false);
    once(&twice("saw = \"doubtful\"\nafter = \"lever bent straight\""), text, false);
    once(&twice("saw = \"doubtful\"\nslip = true"), text, false);
    once(&twice("saw = \"doubtful\"\nby = \"B. Second\""), text, false);
    let seat = "[[answer]]\ncheck = \"seat\"\nsaw = \"doubtful\"\n";
    once(&said(&["controls.levers", "seat"], "", &[&(levers("saw = \"sound\"") + seat)]), text, false);
}

#[test]
fn an_answer_to_what_the_machine_has_not_is_said() {
    let form = "[[answer]]\ncheck = \"chain.slack\"\nread = \"28 mm\"\nwith = \"R\"";
    for (drive, lacks) in [("belt", true), ("chain", false)] {
        let machine = format!("equipment = {{ final_drive = \"{drive}\" }}");
        once(&said(&["chain.slack"], &machine, &[form]), "does not apply to M-1", lacks);
    }
}
