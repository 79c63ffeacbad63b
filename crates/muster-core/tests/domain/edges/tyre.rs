//! Tyres: when one is cold, to the minute and the kelvin.

use muster_core::judge::Outcome;

use super::{super::NOW, plain, texts, told};

/// A reading of 228 kPa, where 215 to 240 kPa is allowed; what else the form and the answer say.
fn read(form: &str, answer: &str) -> Outcome {
    let sheet = "[[limit]]\ncheck = \"tyre.front.pressure\"\nwithin = [\"215 kPa\", \"240 kPa\"]";
    let form = format!(
        "air = \"8 °C\"\n{form}\n[[answer]]\ncheck = \"tyre.front.pressure\"\nread = \"228 kPa\"\nwith = \"P\"\n{answer}"
    );
    told(&texts("tyre.front.pressure", sheet, &form), "tyre.front.pressure", NOW)
}

/// Taken as cold, without a correction.
fn is_cold(form: &str, answer: &str) -> bool {
    let outcome = read(form, answer);
    let corrected = outcome.working.iter().any(|line| line.contains("gas law"));
    !corrected && !outcome.reason.contains("read warm")
}

#[test]
fn a_tyre_is_cold_from_three_hours_after_it_came_back() {
    // Read at 07:30.
    assert!(is_cold("ridden = 2026-11-24T04:30:00+00:00", ""));
    assert!(!is_cold("ridden = 2026-11-24T04:30:01+00:00", ""));
}

#[test]
fn a_tyre_is_cold_within_three_kelvin_of_the_air() {
    for (tyre, cold) in [("4.99", false), ("5.01", true), ("8", true), ("10.99", true), ("11.01", false)] {
        assert_eq!(is_cold("", &format!("tyre = \"{tyre} °C\"")), cold, "{tyre}");
    }
}

#[test]
fn a_machine_found_warm_is_cold_once_its_rest_is_over_within_the_walk_round() {
    let warm = |ridden: &str, at: &str| {
        let form = format!(
            "found = {{ heat = \"warm\" }}\nridden = 2026-11-24T{ridden}:00+00:00\nopened = 2026-11-24T07:00:00+00:00"
        );
        is_cold(&form, &format!("at = 2026-11-24T07:{at}:00+00:00"))
    };
    // Ridden till 04:20: cold from 07:20.
    assert!(!warm("04:20", "19"));
    assert!(warm("04:20", "20"));
    // Rested long before it was found warm: then something else warmed it.
    assert!(!warm("03:00", "20"));
    assert!(!warm("04:00", "20"));
}

#[test]
fn a_tyre_warm_by_an_unknown_amount_says_when_it_will_be_cold() {
    let outcome = read("found = { heat = \"warm\" }\nridden = 2026-11-24T06:00:00+00:00", "");
    assert_eq!(outcome.todo.as_deref(), Some("Read the tyre's temperature too, or read again cold after 09:00"));
    let outcome = read("found = { heat = \"warm\" }", "");
    assert_eq!(outcome.todo.as_deref(), Some("Read the tyre's temperature too, or read again when it is cold"));
}

#[test]
fn the_working_of_a_warm_tyre_shows_the_equation_with_its_figures() {
    let working = plain(&read("barometer = \"95 kPa\"", "tyre = \"28 °C\"").working.join("\n"));
    // (228 + 95.0) 281.15/301.15 − 95.0 = 206.55, by hand.
    let equation = "(p + 95.0 kPa) × 281.15 K / 301.15 K − 95.0 kPa = 206.5 kPa: gas law, tyre 28 °C, u of the gas 5 K";
    assert!(working.contains(equation), "{working}");
}

#[test]
fn a_warm_tyre_is_known_as_well_whatever_unit_its_limit_is_in() {
    let u = |window: &str| {
        let sheet = format!("[[limit]]\ncheck = \"tyre.front.pressure\"\nwithin = [{window}]");
        let form = "air = \"8 °C\"\n[[answer]]\ncheck = \"tyre.front.pressure\"\nread = \"228 kPa\"\nwith = \"P\"\ntyre = \"28 °C\"";
        told(&texts("tyre.front.pressure", &sheet, form), "tyre.front.pressure", NOW)
            .figure
            .expect("it is read")
            .expanded_u
    };
    let (kpa, psi) = (u("\"150 kPa\", \"290 kPa\""), u("\"22 psi\", \"42 psi\""));
    assert!((kpa - psi).abs() < 1e-9, "{kpa} {psi}");
}

#[test]
fn a_warm_tyre_with_too_much_air_is_off_and_waits_for_the_cold() {
    let sheet = "[[limit]]\ncheck = \"tyre.front.pressure\"\nwithin = [\"215 kPa\", \"240 kPa\"]";
    let form = "air = \"8 °C\"\n[[answer]]\ncheck = \"tyre.front.pressure\"\nread = \"290 kPa\"\nwith = \"P\"\ntyre = \"28 °C\"";
    let outcome = told(&texts("tyre.front.pressure", sheet, form), "tyre.front.pressure", NOW);
    assert!(outcome.reason.starts_with("to set: 264 ± "), "{outcome:?}");
    assert_eq!(outcome.todo.as_deref(), Some("Wait till the tyre is cold, then read again"));
}
