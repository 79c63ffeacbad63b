//! What stands beside a verdict, and what happens exactly on a bound: each test ended a change of the code that no other
//! test had noticed (docs/mutants.md).

mod day;
mod defect;
mod forecast;
mod limit;
mod living;
mod look;
mod machine;
mod oil;
mod plausible;
mod reading;
mod tyre;

use muster_core::{
    judge::{Outcome, Verdict},
    words::Use,
};

use super::{
    NOW,
    yard::{Small, Texts},
};

/// Reads a yard that has nothing wrong and returns what one check comes to on the road.
fn told(texts: &Texts, check: &str, now: &str) -> Outcome {
    told_for(&whole(texts), Use::Road, check, now)
}

/// Reads a yard that has nothing wrong.
fn whole(texts: &Texts) -> Small {
    let small = texts.read();
    assert!(small.problems.is_empty(), "{:#?}", small.problems);
    small
}

/// What one check comes to for a use.
fn told_for(small: &Small, one: Use, check: &str, now: &str) -> Outcome {
    let judgement = small.judged(now);
    let of_use = judgement.uses.iter().find(|of| of.one == one).expect("every use is judged");
    let outcome = of_use.outcomes.iter().find(|outcome| outcome.check == check);
    outcome.unwrap_or_else(|| panic!("no outcome of {check}: {:#?}", of_use.outcomes)).clone()
}

/// With breaking spaces.
fn plain(text: &str) -> String {
    text.replace(['\u{a0}', '\u{202f}'], " ")
}

fn texts(check: &str, sheet: &str, form: &str) -> Texts {
    Texts { checks: vec![check.into()], sheet: sheet.into(), forms: vec![form.into()], ..Texts::default() }
}

fn tread(read: &str) -> Texts {
    let sheet = "[[limit]]\ncheck = \"tyre.front.tread\"\nat_least = \"1.5 mm\"\nnew = \"5.0 mm\"";
    texts(
        "tyre.front.tread",
        sheet,
        &format!("[[answer]]\ncheck = \"tyre.front.tread\"\nread = \"{read}\"\nwith = \"D\""),
    )
}

#[test]
fn the_share_left_is_of_what_lies_between_new_and_the_limit() {
    let share = told(&tread("3.25 mm"), "tyre.front.tread", NOW).share.expect("the sheet says what is new");
    assert!((share - 0.5).abs() < 1e-12, "{share}");
}

#[test]
fn a_figure_shown_in_inches_is_the_same_figure() {
    let si = told(&tread("1.8 mm"), "tyre.front.tread", NOW).figure.expect("it is read");
    let us = told(&Texts { us: true, ..tread("1.8 mm") }, "tyre.front.tread", NOW).figure.expect("it is read");
    assert_eq!((si.unit, us.unit), ("mm", "in"));
    // An inch is 25.4 mm exactly.
    let pairs = [(si.value, us.value), (si.margin, us.margin), (si.expanded_u, us.expanded_u)];
    for (mm, inch) in pairs.into_iter().chain(si.at_least.zip(us.at_least)).chain(si.new.zip(us.new)) {
        assert!((mm - 25.4 * inch).abs() < 1e-12, "{mm} mm, {inch} in");
    }
}

#[test]
fn the_working_names_each_part_of_the_uncertainty() {
    let working = told(&tread("3.25 mm"), "tyre.front.tread", NOW).working.join("\n").replace('\u{a0}', " ");
    // 0.15 mm once; 0.01/√12 and 0.02/√3 are below what is shown, but are named.
    assert!(working.contains("u = 0.15 mm: scatter of the readings 0.15"), "{working}");
    assert!(
        working.contains("resolution of the instrument") && working.contains("accuracy of the instrument"),
        "{working}"
    );
}

#[test]
fn a_probability_is_never_told_as_a_round_hundred_or_naught() {
    let mut seen = [0; 4];
    for hundredths in 90..230 {
        let outcome = told(&tread(&format!("{:.2} mm", f64::from(hundredths) / 100.0)), "tyre.front.tread", NOW);
        let p = outcome.probability.expect("it is read");
        let line = outcome.working.iter().find(|line| line.starts_with("P = ")).expect("it is told");
        let text = line.trim_start_matches("P = ").split('\u{a0}').next().expect("a figure").to_string();
        let (band, expected) = match p {
            p if p > 0.999 => (3, "over 99.9".into()),
            p if p > 0.99 => (2, format!("{:.1}", (p * 1000.0).floor() / 10.0)),
            p if p < 0.001 => (0, "under 0.1".into()),
            p if p < 0.01 => (0, format!("{:.1}", (p * 1000.0).floor() / 10.0)),
            p => (1, format!("{:.0}", (p * 100.0).floor())),
        };
        assert_eq!(text, expected, "{p}");
        seen[band] += 1;
    }
    assert!(seen.iter().all(|count| *count > 0), "{seen:?}");
}

#[test]
fn an_age_exactly_at_its_limit_is_no_miss() {
    // 25 November 2018 is the Sunday week 47 begins on, eight years before the day it is judged on.
    let sheet = "[[limit]]\ncheck = \"tyre.front.age\"\nat_most = \"8 years\"";
    let form = "opened = 2026-11-25T07:30:00+00:00\n[[answer]]\ncheck = \"tyre.front.age\"\nread = \"4718\"";
    let outcome = told(&texts("tyre.front.age", sheet, form), "tyre.front.age", "2026-11-25T08:00:00+00:00");
    assert_eq!(outcome.verdict, Verdict::Watch, "{outcome:?}");
    let later = told(
        &texts("tyre.front.age", sheet, &form.replace("11-25T", "11-26T")),
        "tyre.front.age",
        "2026-11-26T08:00:00+00:00",
    );
    assert_eq!(later.verdict, Verdict::Hold, "{later:?}");
    let young = told(
        &texts("tyre.front.age", sheet, &form.replace("4718", "4722")),
        "tyre.front.age",
        "2026-11-25T08:00:00+00:00",
    );
    // Week 47 of 2022 begins on 20 November: four years and five days of the running year's 365.
    let share = young.share.expect("an age has a share");
    assert!((share - (8.0 - 4.0 - 5.0 / 365.0) / 8.0).abs() < 1e-12, "{share}");
}

#[test]
fn what_could_not_be_seen_without_a_reason_is_told_without_one() {
    let form = "[[answer]]\ncheck = \"controls.levers\"\nsaw = \"could not see\"";
    let outcome = told(&texts("controls.levers", "", form), "controls.levers", NOW);
    assert_eq!((outcome.verdict, outcome.reason.as_str()), (Verdict::Unseen, "could not see"));
}

#[test]
fn a_finding_says_that_the_pack_raised_its_class_only_where_it_did() {
    let form = |class: &str| {
        format!("[[finding]]\nid = \"F-1\"\ncheck = \"controls.levers\"\nwhat = \"Bent\"\nclass = \"{class}\"")
    };
    for (class, raised) in [("minor", true), ("dangerous", false)] {
        let yard = Texts { law: true, ..texts("controls.levers", "", &form(class)) };
        let outcome = told(&yard, "finding.F-1", NOW);
        let said = outcome.working.iter().any(|line| line.starts_with("raised as "));
        assert_eq!((outcome.class.to_string().as_str(), said), ("dangerous", raised), "{class}: {outcome:?}");
    }
}

#[test]
fn found_far_off_is_further_than_the_figure_says() {
    let sheet = "[[limit]]\ncheck = \"tyre.front.pressure\"\nwithin = [\"215 kPa\", \"240 kPa\"]";
    let found = |kpa: &str| {
        let one = |read: &str, more: &str| {
            format!("[[answer]]\ncheck = \"tyre.front.pressure\"\nread = \"{read} kPa\"\nwith = \"P\"\n{more}")
        };
        let form = format!(
            "air = \"8 °C\"\nridden = 2026-11-23T16:00:00+00:00\n{}{}",
            one(kpa, ""),
            one("228", "after = \"pumped\"")
        );
        told(&texts("tyre.front.pressure", sheet, &form), "tyre.front.pressure", NOW).verdict
    };
    // `far_off` is 40 kPa: 175 kPa is exactly so far below.
    assert_eq!(found("175"), Verdict::Fit);
    assert_eq!(found("174"), Verdict::Watch);
}

#[test]
fn a_limit_that_tightens_needs_no_word_about_approval() {
    let yard = Texts {
        machine:
            "[[limit]]\ncheck = \"tyre.front.tread\"\nat_least = \"2.0 mm\"\nknown = \"owner\"\nsource = \"statute\""
                .into(),
        ..tread("3.25 mm")
    };
    let outcome = told(&yard, "tyre.front.tread", NOW);
    assert_eq!(outcome.figure.as_ref().and_then(|figure| figure.at_least), Some(2.0));
    assert!(outcome.working.iter().all(|line| !line.contains("loosen")), "{outcome:?}");
}

#[test]
fn a_modelled_level_well_within_its_marks_stays_fit() {
    let sheet = "[sump]\ndipstick_offset = \"45 mm\"\nlean = \"10 °\"\nfoot_offset = \"260 mm\"\nwidth = \"200 mm\"\ndepth = \"60 mm\"\nmarks = \"20 mm\"\n[[limit]]\ncheck = \"oil.level\"\nwithin = [\"0 %\", \"100 %\"]";
    let machine = "[[modification]]\nwhat = \"Lowered\"\nride_height = \"-5 mm\"";
    let form = "[[answer]]\ncheck = \"oil.level\"\nread = \"50 %\"\nwith = \"E\"";
    let outcome = told(&Texts { machine: machine.into(), ..texts("oil.level", sheet, form) }, "oil.level", NOW);
    assert_eq!(outcome.verdict, Verdict::Fit, "{outcome:?}");
    assert!(outcome.working.iter().any(|line| line.contains("(modelled)")), "{outcome:?}");
}

#[test]
fn a_judgement_has_one_byte_form() {
    let judgement = tread("3.25 mm").read().judged(NOW);
    let json = judgement.to_json().expect("texts and finite numbers");
    assert!(json.starts_with("{\"schema\":1,\"machine\":\"M-1\",\"model\":\"Corvane Pebble\""), "{json}");
    assert_eq!(json, serde_json::to_string(&judgement).expect("texts and finite numbers"));
}

#[test]
fn a_figure_typed_in_another_unit_conforms_exactly_at_the_limit() {
    // 4.318 mm is 0.17 in and 30.48 mm is 1.2 in, but not in binary: converted they miss by the last bit, one either way.
    let thin = "[[limit]]\ncheck = \"tyre.front.tread\"\nat_least = \"0.17 in\"";
    let form = "[[answer]]\ncheck = \"tyre.front.tread\"\nread = \"4.318 mm\"\nwith = \"D\"";
    let outcome = told(&texts("tyre.front.tread", thin, form), "tyre.front.tread", NOW);
    assert!(outcome.reason.contains("too close to call") && outcome.probability == Some(0.5), "{outcome:?}");
    let slack = "[[limit]]\ncheck = \"chain.slack\"\nat_most = \"1.2 in\"";
    let form = "[[answer]]\ncheck = \"chain.slack\"\nread = \"30.48 mm\"\nwith = \"R\"";
    let outcome = told(&texts("chain.slack", slack, form), "chain.slack", NOW);
    assert!(!outcome.reason.contains("past its limit") && outcome.probability == Some(0.5), "{outcome:?}");
}

#[test]
fn a_row_for_machines_first_used_from_a_day_binds_from_that_day() {
    let sheet = "[[limit]]\ncheck = \"tyre.front.tread\"\nat_least = \"1.0 mm\"\n";
    let house =
        "[[limit]]\ncheck = \"tyre.front.tread\"\nat_least = \"3.0 mm\"\nwhere = { first_use_from = 2020-01-01 }";
    for (first_use, least) in [("2019-12-31", 1.0), ("2020-01-01", 3.0), ("2024-05-05", 3.0)] {
        let form = "[[answer]]\ncheck = \"tyre.front.tread\"\nread = \"3.25 mm\"\nwith = \"D\"";
        let machine = format!("first_use = {first_use}");
        let yard = Texts { house: house.into(), machine, ..texts("tyre.front.tread", sheet, form) };
        let figure = told(&yard, "tyre.front.tread", NOW).figure.expect("it is read");
        assert_eq!(figure.at_least, Some(least), "{first_use}");
    }
}

#[test]
fn limits_that_leave_nothing_between_them_are_found_whichever_row_is_strictest() {
    let house = "[[limit]]\ncheck = \"tyre.front.tread\"\nat_least = \"3.0 mm\"\n[[limit]]\ncheck = \"tyre.front.tread\"\nat_most = \"2.0 mm\"";
    let outcome = told(&Texts { house: house.into(), ..tread("2.5 mm") }, "tyre.front.tread", NOW);
    assert_eq!(outcome.verdict, Verdict::Unseen, "{outcome:?}");
    assert!(outcome.reason.replace('\u{a0}', " ").contains("at least 3 mm"), "{outcome:?}");
}
