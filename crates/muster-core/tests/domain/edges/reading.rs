//! Readings: snapping, repeats, shares, which of several limits is the worst, and how sure one has to be.

use muster_core::{judge::Verdict, statistics::uncertainty::Probability, words::Use};

use super::{
    super::{NOW, yard::Texts},
    plain, texts, told, told_for, tread, whole,
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
fn the_uncertainty_is_the_same_whatever_unit_the_limit_is_in() {
    let read = |least: &str| {
        let sheet = floor("tyre.front.tread", least, "");
        let form = answer("tyre.front.tread", "\"3.0 mm\"", "D");
        let outcome = told(&texts("tyre.front.tread", &sheet, &form), "tyre.front.tread", NOW);
        (outcome.figure.expect("it is read").expanded_u, outcome.probability.expect("it is read"))
    };
    // 0.1 in is 2.54 mm exactly.
    let ((mm, p), (inch, q)) = (read("2.54 mm"), read("0.1 in"));
    assert!((mm - inch).abs() < 1e-12 && (p - q).abs() < 1e-12, "{mm} {inch}, {p} {q}");
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
