//! `muster figure`: the example of each figure's help is worked out, for people and for programs.

use std::fmt::Write as _;

use super::program::{Folder, Ran, ran};

/// The program in a folder.
fn run_in(folder: &Folder, words: &[&str]) -> Ran {
    let mut command = super::program::program(words, None);
    command.current_dir(folder.path("."));
    ran(command, b"")
}

/// The names of the figures, as the help lists them.
fn figures(folder: &Folder) -> Vec<String> {
    let help = run_in(folder, &["figure", "--help"]).out;
    let list = help.split("Commands:").nth(1).and_then(|rest| rest.split("Arguments:").next()).expect("a list");
    let list = list.split("Options:").next().expect("a list");
    let names = list.lines().filter_map(|line| line.strip_prefix("  ")).filter(|line| !line.starts_with(' '));
    let names = names.filter_map(|line| line.split_whitespace().next());
    names.filter(|name| *name != "help").map(str::to_owned).collect()
}

/// A command line as a shell parts it: words, and texts in quotes.
fn words(line: &str) -> Vec<String> {
    let parted = line.split('"').enumerate();
    parted
        .flat_map(|(number, piece)| match number % 2 {
            0 => piece.split_whitespace().map(str::to_owned).collect(),
            _ => vec![piece.to_owned()],
        })
        .collect()
}

/// The example of a figure's help.
fn example(folder: &Folder, figure: &str) -> Vec<String> {
    let help = run_in(folder, &["figure", figure, "--help"]).out;
    // What is wrapped to the width of the help is one line.
    let line = help.split("Example: muster ").nth(1).map(|rest| rest.replace('\n', " "));
    words(&line.unwrap_or_else(|| panic!("the help of {figure} has an example:\n{help}")))
}

/// A stop from 60 km/h at 7 m/s² after a ramp of 0.4 s, read every 20 ms.
fn stop() -> String {
    let mut out = String::new();
    let (mut speed, mut at) = (60.0 / 3.6, 0.0_f64);
    while speed > 0.05 {
        writeln!(out, "{at:.3} s, {:.4} km/h", speed * 3.6).expect("a text takes it");
        speed -= 0.02 * 7.0 * ((at + 0.01) / 0.4).min(1.0);
        at += 0.02;
    }
    writeln!(out, "{at:.3} s, 0 km/h").expect("a text takes it");
    out
}

#[test]
fn each_figure_is_worked_out_as_its_help_shows() {
    let folder = Folder::new();
    folder.write("stop.csv", stop());
    let mut all = String::new();
    let names = figures(&folder);
    assert!(names.len() >= 24, "{names:?}");
    for name in names {
        let example = example(&folder, &name);
        let words: Vec<&str> = example.iter().map(String::as_str).collect();
        let ran = run_in(&folder, &words);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{name}");
        assert!(ran.out.contains("  source: "), "{name} says no source:\n{}", ran.out);
        let line = example.iter().map(|word| if word.contains(' ') { format!("{word:?}") } else { word.clone() });
        writeln!(all, "$ muster {}\n{}", line.collect::<Vec<_>>().join(" "), ran.out).expect("a text takes it");
        let json = run_in(&folder, &[&["figure", "--json"], words.get(1..).unwrap_or_default()].concat()).out;
        let json: serde_json::Value = serde_json::from_str(&json).unwrap_or_else(|error| panic!("{name}: {error}"));
        let says = json["says"].as_array().expect("what it means");
        assert!(
            json["values"].as_array().is_some_and(|values| !values.is_empty() || !says.is_empty()),
            "{name}: {json}"
        );
        assert!(json["working"].is_string() && json["source"].is_string(), "{name}: {json}");
    }
    insta::assert_snapshot!(all);
}

#[test]
fn each_figure_is_told_in_us_units_where_they_are_asked_for() {
    let folder = Folder::new();
    folder.write("stop.csv", stop());
    let mut all = String::new();
    for name in figures(&folder) {
        let example = example(&folder, &name);
        let words: Vec<&str> = example.iter().map(String::as_str).chain(["--units", "us"]).collect();
        let ran = run_in(&folder, &words);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{name}");
        // A tyre is named in millimetres everywhere; a source is not translated.
        let told = ran.out.replace('\u{a0}', " ").replace("width: 120 mm", "").replace("1 g/m", "");
        let lines = told.lines().filter(|line| !line.contains("source:"));
        for pair in
            lines.flat_map(|line| line.split(' ').collect::<Vec<_>>().windows(2).map(<[_]>::to_vec).collect::<Vec<_>>())
        {
            let (figure, unit) = (pair[0], pair[1].trim_matches([',', ';', ')', ':']));
            let is_si = ["mm", "m", "kPa", "°C", "K", "km/h", "kg", "m/s²", "N", "L"].contains(&unit);
            assert!(
                !is_si || !figure.ends_with(|last: char| last.is_ascii_digit()),
                "{name} says {figure} {unit}:\n{told}"
            );
        }
        writeln!(all, "$ muster figure {name} … --units us\n{}", ran.out).expect("a text takes it");
    }
    insta::assert_snapshot!(all);
}

#[test]
fn figures_are_taken_in_us_units_too_and_the_yard_s_own_are_told() {
    let folder = Folder::new();
    let said = |words: &[&str]| {
        let ran = run_in(&folder, &[&["figure"], words].concat());
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{words:?}");
        ran.out.replace('\u{a0}', " ")
    };
    // 30 mph, a second, 23 ft/s²: 44 ft + 44²/46 ft = 86.1 ft (kinematics by hand; 30 mph is 44 ft/s exactly).
    let way = ["stopping-distance", "--speed", "30 mph", "--reaction", "1 s", "--slowing", "23 ft/s2", "--units", "us"];
    assert!(said(&way).contains("way to standing: 86.1 ft"), "{}", said(&way));
    // Two quarts with four tenths missing at 40 %, wanted 45 %: (2 × 45 − 1.6 × 40) / 0.4 = 65 %, whatever the unit.
    let mix = |litres: [&str; 2]| {
        said(&["coolant-top-up", "--system", litres[0], "--missing", litres[1], "--now", "40 %", "--wanted", "45 %"])
    };
    assert!(mix(["2 qt", "0.4 qt"]).contains("65 %") && mix(["2 L", "0.4"]).contains("65 %"));
    let start = run_in(&folder, &["start", "my-yard"]);
    assert_eq!(start.code, 0, "{}", start.err);
    let file = folder.path("my-yard/yard.toml");
    let text = std::fs::read_to_string(&file).expect("a yard").replace("units = \"si\"", "units = \"us\"");
    std::fs::write(&file, text).expect("it can be written");
    let height = ["axle-height", "120/70-17", "--yard", "my-yard"];
    assert!(said(&height).contains(" in"), "{}", said(&height));
}

#[test]
fn a_dial_s_readings_and_switches_stand_in_any_order() {
    let folder = Folder::new();
    let readings = ["0.10 mm", "0.32 mm", "-0.08 mm", "0.05 mm"];
    let first = run_in(&folder, &[&["figure", "--json", "run-out"], &readings[..]].concat());
    let last = run_in(&folder, &[&["figure", "run-out"], &readings[..], &["--json"]].concat());
    let between = run_in(&folder, &["figure", "run-out", "0.10 mm", "--json", "0.32 mm", "-0.08 mm", "0.05 mm"]);
    assert_eq!((first.code, last.code, between.code), (0, 0, 0), "{}{}", last.err, between.err);
    assert_eq!((&first.out, &first.out), (&last.out, &between.out));
    // Highest less lowest: 0.32 − (−0.08) = 0.40 mm (definition, ISO 1101).
    let json: serde_json::Value = serde_json::from_str(&last.out).expect("it is JSON");
    assert!((json["values"][0]["value"].as_f64().expect("a figure") - 0.40).abs() < 1e-9, "{json}");
}

#[test]
fn worked_examples_from_outside() {
    let folder = Folder::new();
    folder.write("stop.csv", stop());
    let line = |words: &[&str]| {
        let out = run_in(&folder, &[&["figure"], words].concat()).out;
        out.lines().next().unwrap_or_default().replace('\u{a0}', " ")
    };
    // A dip of 120 mm over 10 m is 1.2 % by the definition of inclination (UN R53, from memory).
    let aim = ["lamp-aim", "--lamp", "950 mm", "--cut-off", "830 mm", "--distance", "10 m"];
    assert_eq!(line(&aim), "1.20 ± 0.30 %");
    // 20 pitches of 15.875 mm measured at 321 mm: 1.102 % (computed from the definition with Python 3.11).
    let chain = ["chain-elongation", "--length", "321 mm", "--pitches", "20", "--pitch", "15.875 mm"];
    assert!(line(&chain).starts_with("1.10 ±"), "{}", line(&chain));
    // A public tension page: 0.11 kg/m, 170 mm, 220 Hz is 610 N there, 615.45 N unrounded.
    let belt = ["belt-note", "--mass", "0.11 kg/m", "--span", "170 mm", "--frequency", "220 Hz"];
    assert!(line(&belt).starts_with("tension: 615 ±"), "{}", line(&belt));
    // The record was made with 7 m/s²: the formula must give it back.
    let brake = ["brake-test", "--record", "stop.csv", "--brake", "motorcycle-front"];
    assert_eq!(line(&brake), "mean fully developed deceleration: 7.00 m/s²");
}

#[test]
fn what_no_figure_can_be_worked_out_of_is_refused_with_its_reason() {
    let folder = Folder::new();
    folder.write("mixed.csv", "0 s, 60 km/h\n1 m, 50 km/h\n");
    folder.write("torn.csv", "0 s 60 km/h\n");
    let refused = |words: &[&str]| {
        let ran = run_in(&folder, &[&["figure"], words].concat());
        assert_ne!(ran.code, 0, "{words:?}: {}", ran.out);
        ran.err
    };
    let charge =
        ["charge", "--volts", "13.2 V", "--chemistry", "lithium-iron", "--temperature", "20 C", "--rested", "12 h"];
    assert!(refused(&charge).contains("rest voltage must lie outside 13.0 to 13.3 V"));
    let scale = ["refractometer", "--scale", "ethylene", "--coolant", "propylene", "--reading", "-20 C"];
    assert!(refused(&scale).contains("the coolant's own glycol"));
    let record = |file| ["brake-test", "--record", file, "--brake", "sidecar"];
    assert!(refused(&record("mixed.csv")).contains("mixes times and ways"));
    assert!(refused(&record("torn.csv")).contains("line 1"));
    assert!(refused(&record("none.csv")).contains("none.csv"));
    assert!(refused(&["tyre-load", "--row", "200 kPa", "--pressure", "210 kPa"]).contains("200 kPa = 198 kg"));
    assert!(refused(&["brake-fluid", "--cap", "LHM"]).contains("is no grade"));
    assert!(refused(&["axle-height", "4.10-18"]).contains("names no aspect"));
}

#[test]
fn silicone_and_glycol_ether_never_meet_and_a_warning_says_so() {
    let folder = Folder::new();
    let ran = run_in(&folder, &["figure", "brake-fluid", "--cap", "DOT 4", "--bottle", "DOT 5"]);
    assert!(ran.out.contains("never be mixed"), "{}", ran.out);
    let ran = run_in(&folder, &["figure", "tyre-marking", "4.10-18 60P", "--asked", "120/70 R 17 M/C 58V TL"]);
    assert!(ran.out.contains("does not fit: width must be 120 mm"), "{}", ran.out);
}
