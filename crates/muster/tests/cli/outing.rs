//! `muster outing`: a passenger and luggage, a session, what cannot be.

use super::program::in_demo;

const TWO_UP: [&str; 14] = [
    "outing",
    "H-24",
    "--rider",
    "82kg",
    "--passenger",
    "64kg",
    "--luggage",
    "cases=12kg",
    "--distance",
    "180 km",
    "--speed",
    "110 km/h",
    "--back",
    "17:30",
];

fn with<'a>(more: &[&'a str]) -> Vec<&'a str> {
    TWO_UP.iter().copied().chain(more.iter().copied()).collect()
}

#[test]
fn an_outing_says_what_to_set_and_how_it_was_worked_out() {
    let ran = in_demo(&with(&["--air", "-3", "--air-there", "12", "--rain"]));
    // Its tyres were read for a rider alone: for a passenger they are to be set, so that it is unseen till then.
    assert_eq!(ran.code, 3, "{}\n{}", ran.out, ran.err);
    for text in [
        "Outing, road and passenger, from 2026-11-24 08:00, back 2026-11-24 17:30",
        "? UNSEEN.",
        "Rear preload up by 12 clicks, to click 16",
        "Rear tyre to 290\u{a0}kPa cold, then read it again",
        "Σ m x/L",
        "At the next stop",
    ] {
        assert!(ran.out.contains(text), "`{text}` is not in:\n{}", ran.out);
    }
    let long = ran.out.lines().find(|line| line.chars().count() > 80);
    assert_eq!(long, None);
}

#[test]
fn an_outing_as_json_has_its_figures() {
    let ran = in_demo(&with(&["--json"]));
    let value: serde_json::Value = serde_json::from_str(&ran.out).expect("it is JSON");
    assert_eq!(value["machine"], "H-24");
    assert_eq!(value["verdict"], "unseen");
    assert_eq!(value["figures"]["settings"][1]["click"], 16);
    let rear = value["figures"]["loads"]["axles"][1]["load_kg"].as_f64().expect("a number");
    assert!((rear - 237.287_285).abs() < 1e-5, "{rear}");
}

#[test]
fn in_the_other_units_it_says_the_same() {
    let ran = in_demo(&with(&["--units", "us"]));
    for text in ["873\u{a0}lb", "42.1\u{a0}psi", "68\u{a0}mph"] {
        assert!(ran.out.contains(text), "`{text}` is not in:\n{}", ran.out);
    }
}

#[test]
fn what_cannot_be_ends_with_two_and_the_rest_stands() {
    let ran = in_demo(&["outing", "H-24", "--rider", "82", "--distance", "-5 km", "--back", "07:00"]);
    assert_eq!(ran.code, 2, "{}\n{}", ran.out, ran.err);
    for text in ["Told and cannot be: 2 things", "got −5\u{a0}km", "back after it leaves", "Front axle"] {
        assert!(ran.out.contains(text), "`{text}` is not in:\n{}", ran.out);
    }
    let ran = in_demo(&["outing", "H-99", "--rider", "82"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("no machine `H-99`"), "{}", ran.err);
}

#[test]
fn a_session_is_for_named_riders() {
    let riders = ["--rider", "Ann=62 kg", "--rider", "Ben=98 kg", "--inseam", "Ann=690", "--road", "range"];
    let ran = in_demo(&[&["outing", "H-24", "--back", "12:00"], &riders[..]].concat());
    assert_eq!(ran.code, 0, "{}\n{}", ran.out, ran.err);
    for text in ["Session of 2 riders till 2026-11-24 12:00", "The heaviest, Ben", "The lightest, Ann", "Ann: Try it"] {
        assert!(ran.out.contains(text), "`{text}` is not in:\n{}", ran.out);
    }
    let ran = in_demo(&["outing", "H-24", "--rider", "62", "--rider", "98"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("a session is for named riders"), "{}", ran.err);
}

#[test]
fn the_worked_example_of_the_documents_is_what_the_command_prints() {
    let ran = in_demo(&with(&["--air", "8", "--rain"]));
    let page = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/outing.md");
    let page = std::fs::read_to_string(page).expect("the page is there");
    let told = page.split("```text\n").nth(1).and_then(|rest| rest.split("\n```").next()).unwrap_or_default();
    assert_eq!(told, ran.out.trim_end(), "docs/outing.md is stale: print the command's answer into it");
}
