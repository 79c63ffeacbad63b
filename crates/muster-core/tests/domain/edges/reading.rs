//! Readings: snapping, repeats, shares, which of several limits is the worst, and how sure one has to be.

use muster_core::{check::Yields, form::Said, judge::Verdict, statistics::uncertainty::Probability, words::Use};

use super::{
    super::{NOW, yard::Texts},
    plain, texts, told, told_for, whole,
};

fn answer(check: &str, read: &str, with: &str) -> String {
    format!("[[answer]]\ncheck = \"{check}\"\nread = {read}\nwith = \"{with}\"\n")
}

fn floor(check: &str, least: &str, more: &str) -> String {
    format!("[[limit]]\ncheck = \"{check}\"\nat_least = \"{least}\"\n{more}\n")
}

fn treads(read: &str) -> Texts {
    texts("tyre.front.tread", "", &answer("tyre.front.tread", read, "D"))
}

#[test]
fn repeats_at_one_place_are_no_unevenness_between_places() {
    let one = |read: &str| answer("tyre.front.tread", read, "D");
    let places = |value: &str| format!("{{ left = \"3.0 mm\", centre = \"{value} mm\", right = \"3.0 mm\" }}");
    let again = "by = \"B. Second\"\nopened = 2026-11-24T07:40:00+00:00\n".to_string() + &one("{ left = \"3.0 mm\" }");
    for (centre, verdict) in [("3.0", Verdict::Fit), ("4.0", Verdict::Fit), ("4.1", Verdict::Watch)] {
        let texts = Texts { forms: vec![one(&places(centre)), again.clone()], ..treads("\"3.0 mm\"") };
        let outcome = told(&texts, "tyre.front.tread", NOW);
        assert_eq!(outcome.verdict, verdict, "{centre}: {outcome:?}");
    }
}

#[test]
fn an_instrument_of_the_right_kind_that_reads_something_else_is_not_trusted() {
    let yard = "[[instrument]]\nid = \"L\"\nname = \"Depth gauge in volts\"\nkind = \"depth-gauge\"\nreads = \"voltage\"\n\
        resolution = \"0.01 V\"\naccuracy = \"0.02 V\"";
    let form = answer("tyre.front.tread", "\"3.0 mm\"", "L");
    let texts = Texts { yard: yard.into(), ..texts("tyre.front.tread", "", &form) };
    let outcome = told(&texts, "tyre.front.tread", NOW);
    assert_eq!(outcome.verdict, Verdict::Unseen);
    assert!(outcome.reason.contains("cannot read this"), "{outcome:?}");
}

#[test]
fn an_instrument_of_another_kind_that_reads_the_same_quantity_is_not_trusted() {
    let sheet = floor("brake.front.disc", "4.5 mm", "");
    let form = answer("brake.front.disc", "\"5 mm\"", "R");
    let outcome = told(&texts("brake.front.disc", &sheet, &form), "brake.front.disc", NOW);
    assert_eq!((outcome.verdict, outcome.todo.as_deref()), (Verdict::Unseen, Some("Read it with a vernier")));
}

#[test]
fn what_is_not_corrected_is_repeated_whatever_the_conditions() {
    let second = "by = \"B. Second\"\nopened = 2026-11-24T07:40:00+00:00\nfound = { heat = \"warm\" }\n".to_string()
        + &answer("tyre.front.tread", "\"3.4 mm\"", "D");
    let forms = vec![answer("tyre.front.tread", "\"3.0 mm\"", "D"), second];
    let outcome = told(&Texts { forms, ..treads("\"3.0 mm\"") }, "tyre.front.tread", NOW);
    let figure = outcome.figure.expect("it is read");
    assert!((figure.value - 3.2).abs() < 1e-12, "{figure:?}");
}

#[test]
fn read_warm_by_an_unknown_amount_exactly_at_the_least_allowed_it_says_nothing_yet() {
    let sheet = "[[limit]]\ncheck = \"tyre.front.pressure\"\nwithin = [\"215 kPa\", \"240 kPa\"]";
    let read = |kpa: &str| {
        let form = "found = { heat = \"warm\" }\n".to_string()
            + &answer("tyre.front.pressure", &format!("\"{kpa} kPa\""), "P");
        told(&texts("tyre.front.pressure", sheet, &form), "tyre.front.pressure", NOW).reason
    };
    assert!(read("215").contains("read warm"), "{}", read("215"));
    assert!(read("214").contains("to set"), "{}", read("214"));
}

#[test]
fn figures_shown_are_the_same_whatever_unit_the_limit_is_in() {
    let read = |least: &str| {
        let sheet = floor("tyre.front.tread", least, "");
        let form = answer("tyre.front.tread", "\"3.0 mm\"", "D");
        let outcome = told(&texts("tyre.front.tread", &sheet, &form), "tyre.front.tread", NOW);
        let figure = outcome.figure.expect("it is read");
        [figure.expanded_u, figure.margin, outcome.probability.expect("it is read")]
    };
    // 0.1 in is 2.54 mm exactly.
    for (mm, inch) in read("2.54 mm").into_iter().zip(read("0.1 in")) {
        assert!((mm - inch).abs() < 1e-12, "{mm} {inch}");
    }
}

#[test]
fn a_part_of_the_uncertainty_that_is_nought_is_not_named() {
    let yard = "[[instrument]]\nid = \"N\"\nname = \"Gauge without a step\"\nkind = \"depth-gauge\"\nreads = \"length\"\n\
        resolution = \"0.01 mm\"\naccuracy = \"0 mm\"";
    let form = answer("tyre.front.tread", "\"3.0 mm\"", "N");
    let small = Texts { yard: yard.into(), ..texts("tyre.front.tread", "", &form) };
    let working = told(&small, "tyre.front.tread", NOW).working.join("\n");
    assert!(working.contains("resolution of the instrument"), "{working}");
    assert!(!working.contains("accuracy of the instrument"), "{working}");
}

#[test]
fn what_misses_by_more_than_a_rounding_is_past_its_limit() {
    // 0.17 in is 4.318 mm; a ten-millionth of a millimetre is far more than the rounding of the factor.
    let sheet = floor("tyre.front.tread", "0.17 in", "");
    for (read, past) in [("4.318", false), ("4.3179999", true)] {
        let form = answer("tyre.front.tread", &format!("\"{read} mm\""), "D");
        let outcome = told(&texts("tyre.front.tread", &sheet, &form), "tyre.front.tread", NOW);
        assert_eq!(outcome.reason.contains("past its limit"), past, "{outcome:?}");
    }
}

#[test]
fn a_reading_in_the_limits_own_unit_is_never_snapped() {
    let texts = |read: &str| {
        let form = answer("tyre.front.tread", &format!("\"{read} mm\""), "D");
        texts("tyre.front.tread", &floor("tyre.front.tread", "2.0 mm", ""), &form)
    };
    assert!(!told(&texts("2.0"), "tyre.front.tread", NOW).reason.contains("past its limit"));
    let outcome = told(&texts("1.9999999999"), "tyre.front.tread", NOW);
    assert!(outcome.reason.contains("past its limit"), "{outcome:?}");
}

#[test]
fn between_two_bounds_the_margin_is_to_the_nearer_and_its_share_is_of_half_the_window() {
    let sheet = "[[limit]]\ncheck = \"tyre.front.pressure\"\nwithin = [\"210 kPa\", \"250 kPa\"]";
    for (read, margin, share) in [("220", 10.0, 0.5), ("235", 15.0, 0.75)] {
        let form = answer("tyre.front.pressure", &format!("\"{read} kPa\""), "P");
        let outcome = told(&texts("tyre.front.pressure", sheet, &form), "tyre.front.pressure", NOW);
        let got = (outcome.figure.expect("it is read").margin, outcome.share.expect("two bounds"));
        assert!((got.0 - margin).abs() < 1e-9 && (got.1 - share).abs() < 1e-9, "{read}: {got:?}");
    }
}

#[test]
fn where_a_new_part_is_at_its_limit_there_is_no_share() {
    let texts = |new: &str| {
        let sheet = floor("tyre.front.tread", "2.0 mm", &format!("new = \"{new} mm\""));
        told(&Texts { sheet, ..treads("\"3.0 mm\"") }, "tyre.front.tread", NOW).share
    };
    assert_eq!(texts("2.0"), None);
    assert_eq!(texts("4.0").map(|share| (share * 1e9).round() / 1e9), Some(0.5));
}

#[test]
fn of_two_limits_met_for_certain_the_nearer_is_told_whatever_their_units() {
    // 10 mm against 3 mm (7 mm left), 0.1 in (7.46 mm left) and 0.13 in (6.698 mm left).
    let source = |sheet: &str, house: &str| {
        let texts = Texts {
            sheet: floor("tyre.front.tread", sheet, ""),
            house: floor("tyre.front.tread", house, ""),
            ..treads("\"10.0 mm\"")
        };
        told(&texts, "tyre.front.tread", NOW).source.unwrap_or_default()
    };
    for (sheet, house, nearer) in [
        ("3 mm", "0.13 in", "house"),
        ("0.13 in", "3 mm", "sheet"),
        ("0.1 in", "3 mm", "house"),
        ("3 mm", "0.1 in", "sheet"),
    ] {
        assert!(source(sheet, house).starts_with(nearer), "{sheet}, {house}: {}", source(sheet, house));
    }
}

#[test]
fn too_close_to_call_names_the_probability_its_class_asks_for() {
    // 3.25 mm read, u 0.15 mm.
    let p = |value: f64| Probability::new(value).expect("a share of one");
    let reason = |least: &str, class: &str| {
        let form = answer("tyre.front.tread", "\"3.25 mm\"", "D");
        let sheet = floor("tyre.front.tread", least, &format!("class = \"{class}\""));
        let mut small = whole(&texts("tyre.front.tread", &sheet, &form));
        let thresholds = &mut small.catalogue.rule.verdict;
        (thresholds.fit, thresholds.dangerous, thresholds.major) = (p(0.98), p(0.99), p(0.9));
        let outcome = told_for(&small, Use::Road, "tyre.front.tread", NOW);
        (outcome.verdict, plain(&outcome.reason))
    };
    for (least, class, verdict, asked) in [
        ("3.2 mm", "dangerous", Verdict::Hold, "99 % asked"),
        ("3.2 mm", "major", Verdict::Hold, "90 % asked"),
        ("3.0 mm", "major", Verdict::Watch, "98 % asked"),
        ("3.2 mm", "minor", Verdict::Watch, "98 % asked"),
    ] {
        let (got, text) = reason(least, class);
        assert_eq!(got, verdict, "{text}");
        assert!(text.contains(asked), "{least}, {class}: {text}");
    }
}

#[test]
fn a_check_that_may_be_read_hot_counts_when_read_hot() {
    let form = "found = { heat = \"hot\" }\n".to_string() + &answer("tyre.front.tread", "\"3.0 mm\"", "D");
    let outcome = told(&texts("tyre.front.tread", "", &form), "tyre.front.tread", NOW);
    assert_eq!(outcome.verdict, Verdict::Fit, "{outcome:?}");
}

fn pads(read: &str, with: &str) -> (Verdict, String) {
    let sheet = "[[limit]]\ncheck = \"brake.front.pads\"\nwithin = [\"3.0 mm\", \"3.4 mm\"]";
    let form = answer("brake.front.pads", &format!("\"{read}\""), with);
    let outcome = told(&texts("brake.front.pads", sheet, &form), "brake.front.pads", NOW);
    (outcome.verdict, outcome.todo.unwrap_or_default())
}

#[test]
fn a_gauge_too_coarse_for_its_window_is_said_to_decide_nothing() {
    // The rule reads to 1 mm, the window is 0.4 mm wide: in its middle P is 0.4.
    let (verdict, todo) = pads("3.2 mm", "R");
    assert_eq!(verdict, Verdict::Hold);
    assert!(todo.starts_with("R cannot decide this"), "{todo}");
}

#[test]
fn a_gauge_however_coarse_that_shows_a_miss_shows_it() {
    let (verdict, todo) = pads("1 mm", "R");
    assert_eq!(verdict, Verdict::Hold);
    assert!(todo.starts_with("Hang a hold tag"), "{todo}");
}

#[test]
fn a_gauge_fine_enough_is_not_blamed() {
    let sheet = floor("tyre.front.tread", "3.0 mm", "");
    let todo = |read: &str| {
        let form = answer("tyre.front.tread", read, "D");
        told(&texts("tyre.front.tread", &sheet, &form), "tyre.front.tread", NOW).todo.unwrap_or_default()
    };
    // One bound: read high enough, any gauge can be sure.
    assert_eq!(todo("\"3.05 mm\""), "Measure it better, or have it put right");
    assert_eq!(todo("\"3.2 mm\""), "Plan the work; read again before the next outing");
}

#[test]
fn each_place_is_shown_once_however_many_limits_there_are() {
    let house = floor("tyre.front.tread", "1.2 mm", "") + &floor("tyre.front.tread", "1.4 mm", "");
    let read = "{ left = \"3.0 mm\", centre = \"3.1 mm\", right = \"3.2 mm\" }";
    let outcome = told(&Texts { house, ..treads(read) }, "tyre.front.tread", NOW);
    let places = outcome.figure.expect("it is read").places;
    let places: Vec<(&str, f64)> = places.iter().map(|place| (place.place.as_str(), place.value)).collect();
    assert_eq!(places, [("centre", 3.1), ("left", 3.0), ("right", 3.2)]);
}

fn slack(found: &str, left: &str) -> (Verdict, String, String) {
    let sheet = "[[limit]]\ncheck = \"chain.slack\"\nwithin = [\"20 mm\", \"35 mm\"]";
    let form =
        answer("chain.slack", &format!("\"{found}\""), "R") + &answer("chain.slack", &format!("\"{left}\""), "R");
    let outcome = told(&texts("chain.slack", sheet, &(form + "after = \"adjusted\"")), "chain.slack", NOW);
    (outcome.verdict, outcome.reason, outcome.todo.unwrap_or_default())
}

#[test]
fn only_what_is_still_off_after_the_act_is_told_as_set_in_vain() {
    let (verdict, reason, _) = slack("40 mm", "28 mm");
    assert!(verdict == Verdict::Fit && !reason.contains("though"), "{reason}");
    let (verdict, reason, todo) = slack("40 mm", "34.8 mm");
    assert!(verdict == Verdict::Hold && !reason.contains("though"), "{reason}");
    assert_eq!(todo, "Measure it better, or have it put right");
    let (verdict, reason, todo) = slack("40 mm", "36 mm");
    assert!(verdict == Verdict::Hold && reason.contains("though it was adjusted"), "{reason}");
    assert_eq!(todo, "It cannot be set or does not stay: Look for worn sprockets.");
}

fn pressure(window: &str, read: &str, with: &str) -> (Verdict, String, String) {
    let sheet = format!("[[limit]]\ncheck = \"tyre.front.pressure\"\n{window}");
    let form = answer("tyre.front.pressure", &format!("\"{read}\""), with);
    let outcome = told(&texts("tyre.front.pressure", &sheet, &form), "tyre.front.pressure", NOW);
    (outcome.verdict, plain(&outcome.reason), plain(&outcome.todo.unwrap_or_default()))
}

#[test]
fn a_gauge_that_cannot_decide_is_said_so_though_the_pressure_can_be_set() {
    let (verdict, reason, todo) = pressure("within = [\"215 kPa\", \"225 kPa\"]", "220 kPa", "P-coarse");
    assert!(verdict == Verdict::Unseen && reason.starts_with("220 ± 17 kPa: too close to call"), "{reason}");
    assert_eq!(todo, "P-coarse cannot decide this: use a finer instrument, or better conditions");
    let (_, reason, todo) = pressure("within = [\"215 kPa\", \"225 kPa\"]", "200 kPa", "P-coarse");
    assert!(reason.starts_with("to set: ") && todo == "Pump to 220 kPa, read again", "{reason}: {todo}");
}

#[test]
fn far_off_is_as_far_whatever_unit_the_limit_is_in() {
    let window = "within = [\"31 psi\", \"35 psi\"]";
    // 40 kPa is 5.80 psi, so that it begins at 25.20 psi.
    for (read, far) in [("25.3 psi", false), ("25.1 psi", true)] {
        let (_, _, todo) = pressure(window, read, "P");
        assert_eq!(todo.starts_with("Look for a nail."), far, "{read}: {todo}");
    }
}

#[test]
fn a_tyre_that_shows_its_target_already_is_set_to_it_not_pumped() {
    let window = "within = [\"215 kPa\", \"240 kPa\"]\ntarget = \"215 kPa\"";
    assert_eq!(pressure(window, "215 kPa", "P").2, "Set to 215 kPa, read again");
    assert_eq!(pressure(window, "214 kPa", "P").2, "Pump to 215 kPa, read again");
}

#[test]
fn a_place_not_read_is_not_told_over_what_is_to_be_set_first() {
    let sheet = "[[limit]]\ncheck = \"chain.slack\"\nwithin = [\"20 mm\", \"35 mm\"]";
    let form = answer("chain.slack", "\"40 mm\"", "R");
    let mut small = whole(&texts("chain.slack", sheet, &form));
    for check in &mut small.catalogue.checks {
        let Yields::Read(measure) = &mut check.yields else { panic!("slack is read") };
        measure.places = vec!["tight".into(), "slack".into()];
    }
    for answer in small.forms.iter_mut().flat_map(|form| &mut form.answers) {
        let Said::Read(figures) = &mut answer.said else { panic!("slack is read") };
        figures.iter_mut().for_each(|(place, _)| *place = Some("tight".into()));
    }
    let outcome = told_for(&small, Use::Road, "chain.slack", NOW);
    assert!(outcome.reason.starts_with("to set: "), "{outcome:?}");
}

#[test]
fn a_gauge_that_can_just_decide_is_not_blamed() {
    let sheet = "[[limit]]\ncheck = \"tyre.front.tread\"\nwithin = [\"3.0 mm\", \"3.5 mm\"]\nclass = \"minor\"";
    let outcome = |read: &str, fit: Option<f64>| {
        let mut small = whole(&texts("tyre.front.tread", sheet, &answer("tyre.front.tread", read, "D")));
        if let Some(fit) = fit {
            small.catalogue.rule.verdict.fit = Probability::new(fit).expect("a share of one");
        }
        told_for(&small, Use::Road, "tyre.front.tread", NOW)
    };
    let best = outcome("\"3.25 mm\"", None).probability.expect("it is read");
    assert_eq!(outcome("\"3.25 mm\"", Some(best)).verdict, Verdict::Fit);
    let off = outcome("\"3.3 mm\"", Some(best));
    assert_eq!(off.todo.as_deref(), Some("Plan the work; read again before the next outing"));
    let off = outcome("\"3.3 mm\"", Some(best + 1e-9));
    assert!(off.todo.as_deref().is_some_and(|todo| todo.contains("cannot decide this")), "{off:?}");
}
