//! `muster outing`: a passenger and luggage, a session, what cannot be.

use std::{collections::BTreeMap, fs, path::Path};

use muster::{
    keeper::{Opened, hex, taken},
    people::names,
};
use muster_core::{
    calendar::Moment,
    record::{
        id::PersonId,
        payload::{DeviceAdded, Payload, PersonAdded, Right, Role},
    },
};

use super::{
    program::{Folder, Ran, fed, in_demo},
    record::says,
};

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

/// What cannot be is said in words, with what is allowed; what rests on nothing of it is worked out all the same.
#[test]
fn a_rider_too_heavy_a_seat_or_a_place_too_few_are_said_and_the_rest_stands() {
    let barn = concat!(env!("CARGO_MANIFEST_DIR"), "/../../data/demo/north-barn");
    let told = |arguments: &[&str], code: i32, texts: &[&str]| {
        let ran = in_demo(&[&["outing"], arguments].concat());
        assert_eq!(ran.code, code, "{}\n{}", ran.out, ran.err);
        texts.iter().for_each(|text| assert!(ran.out.contains(text), "`{text}` is not in:\n{}", ran.out));
    };
    let heavy = ["H-24", "--rider", "900 kg", "--back", "17:30"];
    told(
        &heavy,
        2,
        &["must be 20 to 250 kg, got 900\u{a0}kg", "The machine itself: road: fit", "Insurance: good until"],
    );
    let roof = ["H-24", "--rider", "82", "--luggage", "roof=5", "--distance", "50", "--back", "17:30"];
    told(&roof, 1, &["its sheet names no place `roof`; worked out", "Front axle: 151\u{a0}kg", "Range: "]);
    let rack = ["H-24", "--rider", "82", "--luggage", "rack=5", "--distance", "50", "--back", "17:30"];
    told(&rack, 1, &["no rack mounted on this machine; worked out", "Front axle: 151\u{a0}kg"]);
    let wren = ["N-02", "--yard", barn, "--rider", "70", "--passenger", "60", "--distance", "20", "--back", "17:30"];
    told(&wren, 1, &["it has no seat for a passenger; worked out without", "All up: 148\u{a0}kg", "Range: "]);
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
    let page = fs::read_to_string(page).expect("the page is there");
    let told = page.split("```text\n").nth(1).and_then(|rest| rest.split("\n```").next()).unwrap_or_default();
    assert_eq!(told, ran.out.trim_end(), "docs/outing.md is stale: print the command's answer into it");
}

/// The demonstration's yard in a record of its own, nothing walked round: an owner who may release against a verdict, an
/// instructor who may not, a rider.
pub(super) fn school(folder: &Folder) -> String {
    let path = folder.path("record");
    let opened = Opened::made(&path).expect("a record is made");
    let keeper = &opened.keeper;
    let id = |who: &str| -> PersonId { who.parse().expect("an id") };
    let added = |who: &str, role, rights: &[Right]| -> Payload {
        let name = names::sealed_anew(keeper, &id(who), who).expect("a name is sealed");
        PersonAdded { person: id(who), name, role, rights: rights.to_vec() }.into()
    };
    let (device, key) = (keeper.here(), hex(&keeper.public_key()));
    let mut payloads = vec![
        added("p-owner", Role::Owner, &[Right::Override, Right::LowerClass]),
        DeviceAdded { device, key, label: "the server".into(), person: None }.into(),
        added("p-instructor", Role::Instructor, &[]),
        added("p-rider", Role::Rider, &[]),
    ];
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../data/demo/harrow-lane");
    let mut files = BTreeMap::new();
    for part in ["", "sheets", "machines"] {
        for file in fs::read_dir(root.join(part)).expect("the demonstration is there") {
            let path = file.expect("a file").path();
            if path.extension().is_some_and(|extension| extension == "toml") {
                let name = path.strip_prefix(&root).expect("it lies below").display().to_string();
                files.insert(name, fs::read_to_string(&path).expect("a text"));
            }
        }
    }
    let files: Vec<(String, String)> = files.into_iter().collect();
    payloads.extend(taken(&files).expect("the yard has no fault"));
    keeper.begin(payloads, &id("p-owner"), Moment::parse(LEAVES).expect("a moment")).expect("it is written");
    path.display().to_string()
}

const LEAVES: &str = "2026-11-24T08:00:00+00:00";
const BACK: &str = "2099-11-24T17:30:00+00:00";

/// One command in the school's record, as somebody.
pub(super) fn does(record: &str, who: &str, arguments: &[&str]) -> Ran {
    let (head, rest) = arguments.split_first().expect("a command");
    fed(&[&[*head, "--record", record, "--as", who], rest].concat(), None, b"")
}

const FOR: [&str; 18] = [
    "H-24",
    "--for",
    "To the weighbridge",
    "--rider",
    "p-rider=82 kg",
    "--luggage",
    "cases=12 kg",
    "--distance",
    "60 km",
    "--speed",
    "50 km/h",
    "--road",
    "range",
    "--rear-click",
    "4",
    "--rain",
    "--to",
    BACK,
];

/// What the record says of the machine's releases and of what waits.
fn seen(record: &str) -> String {
    does(record, "p-owner", &["api", "GET", "/api/v1/machines/H-24"]).out
}

#[test]
fn a_release_is_told_an_outing_as_it_is_worked_out_and_ticks_what_that_asks() {
    let folder = Folder::new();
    let record = school(&folder);
    let released = |more: &[&str]| does(&record, "p-owner", &[&["do", "release"], &FOR[..], more].concat());
    let why = ["--reason", "to weigh it"];
    // Nothing is ticked by itself; what stops it is said with what to do.
    let ran = released(&[]);
    says(&ran, 2, &["the verdict is unseen: write the reason"]);
    let ran = released(&[&["--done", "Rear tyre to 300 kPa"], &why[..]].concat());
    says(&ran, 2, &["the outing does not ask for `Rear tyre to 300 kPa`"]);
    let ran = released(&[&["--done", "all"], &why[..]].concat());
    says(&ran, 0, &["done: Rear tyre to 260\u{a0}kPa cold, then read it again", "H-24 is out"]);
    let seen = seen(&record);
    assert!(seen.contains("To the weighbridge") && !seen.contains("82 kg"), "{seen}");
}

#[test]
fn what_a_release_lacks_is_said_before_anything_is_asked() {
    let folder = Folder::new();
    let record = school(&folder);
    let with = |arguments: &[&str]| does(&record, "p-owner", &[&["do", "release", "H-24"], arguments].concat());
    says(&with(&["--use", "range", "--to", BACK]), 2, &["say which outing it is for"]);
    says(&with(&["--for", "Tour", "--use", "range"]), 2, &["say till when"]);
    says(&with(&["--for", "Tour", "--to", BACK]), 2, &["say its uses"]);
    says(&with(&["--for", "Tour", "--to", BACK, "--rider", "p-rider", "--rain"]), 2, &["say the mass in kit"]);
    let heavy = with(&["--for", "Tour", "--to", BACK, "--rider", "p-rider=900 kg"]);
    says(&heavy, 2, &["a person's mass in kit must be 20 to 250 kg"]);
    says(&with(&["--planned", "66687aadf862bd77.17"]), 2, &["no outing waits for H-24"]);
}

#[test]
fn an_outing_is_planned_by_one_and_signed_by_another() {
    let folder = Folder::new();
    let record = school(&folder);
    let ran = does(&record, "p-instructor", &[&["do", "release"], &FOR[..], &["--done", "all"]].concat());
    says(&ran, 2, &["ask somebody with the right to release against it"]);
    let ran = does(&record, "p-instructor", &[&["do", "plan"], &FOR[..]].concat());
    says(&ran, 0, &["planned for H-24"]);
    let event = ran.out.trim().to_string();
    let waits = seen(&record);
    assert!(waits.contains(&event) && waits.contains("Rear tyre to 260"), "{waits}");
    assert!(!waits.contains("82 kg") && !waits.contains("82\u{a0}kg"), "{waits}");
    let sign =
        |more: &[&str]| does(&record, "p-owner", &[&["do", "release", "H-24", "--planned", &event], more].concat());
    says(&sign(&["--rider", "p-owner"]), 2, &["the plan says riders"]);
    let ran = sign(&["--done", "all", "--reason", "to weigh it"]);
    says(&ran, 0, &["worked out by p-instructor: unseen", "done: Front tyre to 235\u{a0}kPa", "H-24 is out"]);
    says(&sign(&["--done", "all"]), 2, &["no outing waits for H-24"]);
}
