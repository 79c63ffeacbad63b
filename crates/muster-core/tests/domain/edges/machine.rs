//! The machine: what is planned, in which order forms stand, what is open and what is asked.

use muster_core::{
    form::Form,
    judge::{Judgement, asked, judge},
    words::{Depth, Use},
};

use super::{
    super::{NOW, yard::Texts},
    texts, told_for, whole,
};

fn judged(checks: &[&str], forms: &[&str]) -> Judgement {
    let checks = checks.iter().map(ToString::to_string).collect();
    let forms = forms.iter().map(ToString::to_string).collect();
    whole(&Texts { checks, forms, ..Texts::default() }).judged(NOW)
}

#[test]
fn the_use_planned_is_the_outings_and_else_the_range() {
    let road = "[outing]\nuse = \"road\"\nback = 2026-11-24T12:30:00+00:00";
    let planned = |form: &str| judged(&["seat"], &[form]).planned().map(|of| of.one);
    assert_eq!(planned(road), Some(Use::Road));
    assert_eq!(planned(""), Some(Use::Range));
}

/// The judgement's bytes with the forms in one order and in the other.
fn both_ways(a: &str, b: &str) -> [String; 2] {
    let texts = Texts {
        checks: vec!["seat".into(), "tyre.front.pressure".into()],
        sheet: "[[limit]]\ncheck = \"tyre.front.pressure\"\nwithin = [\"215 kPa\", \"240 kPa\"]".into(),
        forms: vec![a.into(), b.into()],
        ..Texts::default()
    };
    let small = whole(&texts);
    let mut forms: Vec<&Form> = small.forms.iter().collect();
    let context = small.context(NOW);
    let one = judge(&context, &forms).to_json().expect("texts and finite numbers");
    forms.reverse();
    [one, judge(&context, &forms).to_json().expect("texts and finite numbers")]
}

#[test]
fn two_forms_of_one_person_and_moment_judge_to_the_same_bytes_in_either_order() {
    let seat = |more: &str| format!("[[answer]]\ncheck = \"seat\"\nsaw = \"sound\"\n{more}");
    let outing = |at: &str| format!("[outing]\nuse = \"road\"\nback = 2026-11-24T{at}:00+00:00");
    let pressure = |head: &str, read: &str, more: &str| {
        format!("{head}\n[[answer]]\ncheck = \"tyre.front.pressure\"\nread = \"{read} kPa\"\nwith = \"P\"\n{more}")
    };
    for (a, b) in [
        (seat("note = \"wiped\""), seat("note = \"dusted\"")),
        (outing("12:30"), outing("13:30")),
        (outing("12:30"), String::new()),
        (seat(""), seat("class = \"major\"")),
        ("no_hold_tag = false".into(), "key_on_hook = false".into()),
        (
            pressure("", "228", "tyre = \"30 °C\"\nair = \"8 °C\""),
            pressure("", "228", "tyre = \"31 °C\"\nair = \"8 °C\""),
        ),
        (pressure("air = \"8 °C\"", "228", "tyre = \"30 °C\""), pressure("air = \"9 °C\"", "228", "tyre = \"30 °C\"")),
        (pressure("closed = 2026-11-24T07:30:00+00:00", "228", "slip = true"), pressure("", "228", "slip = true")),
        (pressure("found = { heat = \"warm\" }", "228", ""), pressure("", "228", "")),
        (pressure("", "228", "after = \"pumped\""), pressure("", "228", "")),
    ] {
        let [one, other] = both_ways(&a, &b);
        assert_eq!(one, other, "{a} | {b}");
    }
}

#[test]
fn a_finding_rests_on_law_only_where_the_pack_speaks_of_its_check() {
    let finding = |check: &str| {
        let form = format!("[[finding]]\nid = \"F-1\"\n{check}what = \"Bent\"\nclass = \"major\"");
        let checks = vec!["controls.levers".into(), "throttle.return".into()];
        let small = whole(&Texts { law: true, checks, ..texts("", "", &form) });
        told_for(&small, Use::Road, "finding.F-1", NOW).rests_on_law
    };
    assert!(finding("check = \"controls.levers\"\n"));
    assert!(!finding("check = \"throttle.return\"\n"));
    assert!(!finding(""));
}

#[test]
fn what_the_machine_has_not_is_not_asked_for_in_full_either() {
    let asks = |equipment: &str| {
        let checks = vec!["chain.slack".into(), "mirrors".into(), "seat".into()];
        let small = whole(&Texts { checks, machine: format!("equipment = {{ {equipment} }}"), ..Texts::default() });
        let asked = asked(&small.context(NOW), &[], Depth::Full, Use::Road);
        asked.iter().map(|check| check.id.clone()).collect::<Vec<_>>()
    };
    assert_eq!(asks(""), ["mirrors", "seat", "chain.slack"]);
    assert_eq!(asks("final_drive = \"belt\""), ["mirrors", "seat"]);
    assert_eq!(asks("mirrors = [\"right\"]"), ["seat", "chain.slack"]);
}
