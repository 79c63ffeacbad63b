//! Each command once: it answers, and its exit code says what for.

use super::program::{Folder, Ran, fed, fixture, in_demo, in_yard};

fn check(ran: &Ran, code: i32, says: &[&str]) {
    assert_eq!(ran.code, code, "{}\n{}", ran.out, ran.err);
    for text in says {
        assert!(ran.out.contains(text), "`{text}` is not in:\n{}", ran.out);
    }
}

#[test]
fn the_demonstration_says_that_it_is_one_and_a_yard_of_ones_own_does_not() {
    let demo = in_demo(&["yard"]);
    check(&demo, 0, &["Harrow Lane Riding School", "x hold", "may go out as planned"]);
    assert_eq!(demo.err, "demo yard: Harrow Lane Riding School; use --yard DIR for your own\n");
    assert_eq!(in_yard(&["yard"]).err, "");
}

#[test]
fn piped_output_has_no_escape_codes_and_fits_eighty_columns() {
    for arguments in [&["yard"][..], &["machine"], &["machine", "H-07"], &["walk-round", "H-09"], &["explain"]] {
        let out = in_demo(arguments).out;
        assert!(!out.contains('\u{1b}'), "{arguments:?}");
        let long = out.lines().find(|line| line.chars().count() > 80);
        assert_eq!(long, None, "{arguments:?}");
    }
    assert!(in_demo(&["yard", "--color", "always"]).out.contains('\u{1b}'));
}

#[test]
fn the_worst_stands_first() {
    let out = in_demo(&["yard"]).out;
    let at = |head: &str| out.find(head).unwrap_or(usize::MAX);
    assert!(at("\nx hold (") < at("\n? unseen ("), "{out}");
    assert!(at("\n? unseen (") < at("\n! watch ("));
    assert!(at("\n! watch (") < at("\n+ fit ("));
}

#[test]
fn json_is_one_judgement_a_line_with_every_machine() {
    let ran = in_demo(&["yard", "--json"]);
    assert_eq!(ran.code, 0);
    let machines: Vec<String> = ran
        .out
        .lines()
        .map(|line| serde_json::from_str::<serde_json::Value>(line).expect("each line is JSON"))
        .map(|value| value["machine"].as_str().expect("it names its machine").to_string())
        .collect();
    assert_eq!(machines.len(), 24);
    let form = fixture("forms/short.toml");
    let ran = in_yard(&["judge", &form, "--json"]);
    let value: serde_json::Value = serde_json::from_str(&ran.out).expect("it is JSON");
    assert_eq!(value["planned"], "range");
    assert_eq!(value["judged_at"], "2026-11-24T09:00:00+01:00");
}

/// Every demonstration machine judged from a form of its own ends with the code of its planned use.
#[test]
fn the_exit_code_is_the_verdicts() {
    let ran = in_demo(&["yard", "--json"]);
    for line in ran.out.lines() {
        let value: serde_json::Value = serde_json::from_str(line).expect("each line is JSON");
        let machine = value["machine"].as_str().expect("its number");
        let planned = value["planned"].as_str().unwrap_or("range");
        let uses = value["uses"].as_array().expect("its uses");
        let verdict = uses.iter().find(|one| one["use"] == planned).map(|one| one["verdict"].clone());
        let expect = match verdict.as_ref().and_then(|verdict| verdict.as_str()) {
            Some("hold") => 1,
            Some("unseen") => 3,
            Some("fit" | "watch") => 0,
            other => panic!("{machine}: {other:?}"),
        };
        let demo = format!("{}/../../data/demo/harrow-lane/forms", env!("CARGO_MANIFEST_DIR"));
        let mut forms: Vec<_> = std::fs::read_dir(demo)
            .expect("the demonstration's forms")
            .map(|entry| entry.expect("a form").path())
            .filter(|path| path.to_string_lossy().contains(&format!("/{}-", machine.to_lowercase())))
            .collect();
        forms.sort();
        let newest = forms.last().expect("each machine has a form").display().to_string();
        assert_eq!(in_demo(&["judge", &newest]).code, expect, "{machine}");
    }
}

#[test]
fn of_several_files_the_gravest_counts() {
    let short = fixture("forms/short.toml");
    let faulty = fixture("forms/faulty.toml");
    // The doubt about the throttle is of class dangerous: a hold until a second person looks.
    assert_eq!(in_yard(&["judge", &short]).code, 1);
    assert_eq!(in_yard(&["judge", &faulty]).code, 2);
    let both = in_yard(&["judge", &short, &faulty]);
    check(&both, 2, &["M-01", "hold tag hangs on the bar"]);
}

#[test]
fn standard_input_is_judged_and_a_use_can_be_named() {
    let text = std::fs::read(fixture("forms/short.toml")).expect("the form");
    let ran = fed(&["judge", "-", "--use", "dark"], Some(&fixture("yard")), &text);
    check(&ran, 1, &["for dark"]);
}

#[test]
fn a_page_is_written_and_the_verdict_stands_in_it() {
    let folder = Folder::new();
    let page = folder.path("m-01.html").display().to_string();
    assert_eq!(in_yard(&["judge", &fixture("forms/short.toml"), "--html", &page]).code, 1);
    let text = std::fs::read_to_string(&page).expect("the page");
    assert!(text.to_lowercase().starts_with("<!doctype html>") && text.contains("M-01"), "{text}");
}

#[test]
fn a_check_is_explained_and_a_machine_told() {
    check(
        &in_demo(&["explain", "tyre.front.pressure", "--machine", "H-07"]),
        0,
        &["CAUTION", "gas law", "For H-07", "set 175\u{a0}kPa"],
    );
    check(
        &in_demo(&["machine", "h-07"]),
        0,
        &["Lowered", "Corvane Pebble handbook", "Open findings", "Answers for range"],
    );
    check(&in_demo(&["explain"]), 0, &["Front wheel", "tyre.front.pressure", "Under"]);
}

#[test]
fn a_walk_round_begins_with_tag_and_key_and_warns_of_a_coarse_gauge() {
    let ran = in_demo(&["walk-round", "H-09"]);
    check(&ran, 0, &["G-4 (Stick gauge, van) cannot decide this", "Caution", "p. 47", "Take along", "evening before"]);
    assert_eq!(ran.err, "demo yard: Harrow Lane Riding School; use --yard DIR for your own\n");
    assert_eq!(ran.out.lines().nth(1), Some("First: no hold tag on the bar, key on its hook."));
}

#[test]
fn the_law_can_be_put_aside_and_the_units_changed() {
    let with = in_demo(&["explain", "tyre.front.tread", "--machine", "H-07"]).out;
    let without = in_demo(&["explain", "tyre.front.tread", "--machine", "H-07", "--law", "none"]).out;
    assert!(with.contains("(law: ") && !without.contains("(law: "));
    assert!(in_demo(&["explain", "tyre.front.pressure", "--machine", "H-07", "--units", "us"]).out.contains("psi"));
}

#[test]
fn markings_are_read() {
    // 49 CFR 565.15(c)(3): the seventeen ones check.
    check(&in_demo(&["decode", "vin", "11111111111111111"]), 0, &["check digit  right", "North America"]);
    check(&in_demo(&["decode", "tyre-date", "DOT", "A1B2", "3219"]), 0, &["week 32 of 2019: 2019-08-11 to 2019-08-17"]);
    assert_eq!(in_demo(&["decode", "vin", "123"]).code, 2);
}

#[test]
fn a_warm_reading_is_taken_to_the_air_and_says_how_far_to_pump() {
    // Gay-Lussac by hand: (35.8 + 14.696) × 293.15 / 307.15 − 14.696 = 33.50; (36 + 14.696) × 307.15 / 293.15 − 14.696
    // = 38.42.
    let ran = in_demo(&["correct", "35.8 psi", "--tyre", "34 °C", "--air", "20 °C", "--target", "36 psi"]);
    check(&ran, 0, &["is 33.5\u{a0}psi", "pump to 38.4\u{a0}psi"]);
    let ran = in_demo(&["correct", "40 psi", "--tyre", "34 °C", "--air", "20 °C", "--target", "36 psi"]);
    check(&ran, 0, &["let no air out"]);
    check(&in_demo(&["correct", "2.2 bar", "--tyre", "-2 °C", "--air", "-3 °C"]), 0, &["counts as cold"]);
}

#[test]
fn a_started_yard_has_no_fault_and_is_never_written_over() {
    let folder = Folder::new();
    let yard = folder.path("mine").display().to_string();
    check(&in_demo(&["start", &yard]), 0, &["yard.toml"]);
    check(&in_demo(&["data", &yard]), 0, &["My yard: 1 machine, 1 sheet"]);
    check(&in_demo(&["data", &format!("{yard}/machines/my-machine.toml")]), 0, &["read as a file of My yard"]);
    check(&in_demo(&["yard", "--yard", &yard]), 0, &["? unseen (1)"]);
    let again = in_demo(&["start", &yard]);
    assert_eq!(again.code, 2);
    assert!(again.err.contains("is not empty"), "{}", again.err);
}

/// What the comments of the started yard offer can be taken up: every line with its # away is read without fault.
#[test]
fn what_the_started_yard_offers_is_read_without_fault() {
    let folder = Folder::new();
    let yard = folder.path("mine");
    assert_eq!(in_demo(&["start", &yard.display().to_string()]).code, 0);
    let offers = |line: &str| {
        let rest = line.strip_prefix("# ")?;
        let key = rest.split([' ', '=']).next().unwrap_or_default();
        let is_key = !key.is_empty() && key.chars().all(|c| c.is_ascii_lowercase() || c == '_') && rest.contains(" = ");
        (rest.starts_with('[') || is_key).then(|| rest.to_string())
    };
    for name in ["yard.toml", "house.toml", "sheets/my-model.toml", "machines/my-machine.toml"] {
        let path = yard.join(name);
        let text = std::fs::read_to_string(&path).expect("a file of the yard");
        let taken: String = text.lines().map(|line| offers(line).unwrap_or_else(|| line.to_string()) + "\n").collect();
        assert_ne!(text, taken, "{name} offers nothing");
        std::fs::write(&path, taken.replace("vin = \"\"", "")).expect("it can be written");
    }
    check(&in_demo(&["data", &yard.display().to_string()]), 0, &["My yard"]);
}

#[test]
fn the_data_is_read_without_fault() {
    check(&in_demo(&["data"]), 0, &["catalogue: ", "Harrow Lane Riding School: 24 machines"]);
    let data = format!("{}/../../data", env!("CARGO_MANIFEST_DIR"));
    check(&in_demo(&["data", &data, &fixture("yard")]), 0, &["catalogue: ", "Little yard: 1 machine"]);
}

#[test]
fn completions_and_the_manual_name_every_command() {
    let manual = in_demo(&["man"]);
    let shell = in_demo(&["completions", "bash"]);
    let commands = ["yard", "machine", "walk-round", "fill", "judge", "explain", "data", "decode", "correct", "start"];
    for command in commands.into_iter().chain(["list", "import", "calendar"]) {
        assert!(shell.out.contains(command), "{command}");
        assert!(manual.out.contains(&command.to_uppercase()), "{command}");
        check(&in_demo(&[command, "--help"]), 0, &["Example"]);
    }
}

#[test]
fn a_forecast_says_what_runs_out_first_and_what_to_order() {
    let yard = format!("{}/../../data/demo/harrow-lane", env!("CARGO_MANIFEST_DIR"));
    let asked = |more: &[&str]| in_demo(&[&["forecast", "--yard", &yard][..], more].concat());
    let told = asked(&["H-07"]);
    check(&told, 0, &["what runs out first", "H-07  Rear tyre", "km left", "A forecast only adds a watch"]);
    assert!(told.out.lines().all(|line| line.chars().count() <= 80), "{}", told.out);
    check(&asked(&["--order", "--weeks", "52"]), 0, &["parts for 52 weeks", "Rear tyre"]);
    let json: serde_json::Value = serde_json::from_str(&asked(&["H-07", "--json"]).out).expect("it is JSON");
    let parts = json["parts"].as_array().expect("parts");
    assert!(parts.len() >= 8 && parts.iter().all(|part| part["machine"] == "H-07"));
    assert!(json["fit"].as_str().is_some_and(|hash| hash.len() == 64));
    let nobody = asked(&["H-99"]);
    assert!(nobody.code != 0 && nobody.err.contains("no machine `H-99`"), "{}", nobody.err);
}
