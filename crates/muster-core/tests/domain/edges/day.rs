//! Dates: the day a limit is met, what rests on law, and where a paper's class comes from.

use muster_core::{form::Said, judge::Verdict, words::Use};

use super::{
    super::{NOW, yard::Texts},
    texts, told, told_for, whole,
};

const AGE: &str = "tyre.front.age";

/// A tyre of week 47 of 2018, which begins on Sunday 25 November, judged at eight in the morning of a day.
fn tyre(sheet: &str, day: &str) -> (Texts, String) {
    let form = format!("opened = {day}T07:30:00+00:00\n[[answer]]\ncheck = \"{AGE}\"\nread = \"4718\"");
    (texts(AGE, sheet, &form), format!("{day}T08:00:00+00:00"))
}

fn most(years: u32) -> String {
    format!("[[limit]]\ncheck = \"{AGE}\"\nat_most = \"{years} years\"\n")
}

#[test]
fn an_age_that_meets_its_limit_on_the_last_day_its_answer_counts_is_no_watch() {
    // The answer counts 365 days: till 25 November 2026, when the tyre is eight years old to the day.
    let verdict = |day: &str| {
        let (texts, now) = tyre(&most(8), day);
        told(&texts, AGE, &now).verdict
    };
    assert_eq!(verdict("2025-11-25"), Verdict::Fit);
    assert_eq!(verdict("2025-11-26"), Verdict::Watch);
}

#[test]
fn a_part_made_on_the_day_it_is_judged_is_new() {
    let (texts, now) = tyre(&most(8), "2018-11-25");
    let outcome = told(&texts, AGE, &now);
    assert_eq!((outcome.verdict, outcome.share), (Verdict::Fit, Some(1.0)), "{outcome:?}");
}

#[test]
fn a_hold_by_the_sheet_rests_on_law_only_where_the_laws_age_is_past_too() {
    for (day, law) in [("2026-11-25", false), ("2026-11-26", true)] {
        let (texts, now) = tyre(&most(7), day);
        let mut small = whole(&Texts { law: true, ..texts });
        let of_house = whole(&Texts { house: most(8), checks: vec![AGE.into()], ..Texts::default() }).yard.house;
        let statute = small.catalogue.laws.get_mut("STATUTE").expect("the small law pack");
        statute.limits.extend(
            of_house.into_iter().map(|row| muster_core::limit::Limit { layer: muster_core::words::Layer::Law, ..row }),
        );
        let outcome = told_for(&small, Use::Road, AGE, &now);
        assert_eq!((outcome.verdict, outcome.rests_on_law), (Verdict::Hold, law), "{day}: {outcome:?}");
    }
}

#[test]
fn only_a_week_of_making_is_told_as_a_span_of_days() {
    let (texts, now) = tyre(&most(10), "2026-11-25");
    let mut small = whole(&texts);
    let week = told_for(&small, Use::Road, AGE, &now);
    assert!(week.working.iter().any(|line| line == "made in the 7 days from 2018-11-25; the first of them counts"));
    let answer = &mut small.forms.first_mut().expect("a form").answers.first_mut().expect("an answer");
    let Said::Day(day, _) = answer.said else { panic!("a date was answered") };
    answer.said = Said::Day(day, 0);
    let day = told_for(&small, Use::Road, AGE, &now);
    assert!(day.working.is_empty(), "{:?}", day.working);
}

#[test]
fn a_paper_names_the_law_its_class_comes_from_and_rests_on_it_only_when_it_has_run_out() {
    let paper = |law: bool, until: &str| {
        let form = format!("[[answer]]\ncheck = \"papers.insurance\"\nread = {until}");
        let outcome = told(&Texts { law, ..texts("papers.insurance", "", &form) }, "papers.insurance", NOW);
        (outcome.verdict, outcome.source, outcome.rests_on_law)
    };
    let statute = Some("Statute of the proving ground, s. 3 (invented for the demonstration)".to_string());
    assert_eq!(paper(true, "2026-11-23"), (Verdict::Hold, statute.clone(), true));
    assert_eq!(paper(true, "2026-11-24"), (Verdict::Fit, statute, false));
    assert_eq!(paper(false, "2026-11-23"), (Verdict::Hold, None, false));
}
