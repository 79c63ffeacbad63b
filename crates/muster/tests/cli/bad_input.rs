//! What cannot be used is refused in words, with where it stands, and nothing is half written.

use std::fs::File;

use super::program::{Folder, Ran, fed, fixture, in_demo, in_yard};

fn check(ran: &Ran, says: &[&str]) {
    assert_eq!(ran.code, 2, "{}\n{}", ran.out, ran.err);
    let all = format!("{}{}", ran.out, ran.err);
    for text in says {
        assert!(all.contains(text), "`{text}` is not in:\n{all}");
    }
    assert!(!all.contains("panicked"), "{all}");
}

#[test]
fn an_unknown_machine_or_check_names_the_nearest() {
    check(&in_demo(&["machine", "H-077"]), &["no machine `H-077`", "did you mean H-07?"]);
    check(&in_demo(&["explain", "tyre.front.presure"]), &["did you mean tyre.front.pressure?"]);
    check(&in_demo(&["walk-round", "tractor"]), &["there are: H-01"]);
    check(&in_demo(&["yard", "--law", "XX"]), &["no law pack `XX`", "GB", "none"]);
    check(&in_demo(&["judge", "-", "--use", "moon"]), &["moon", "range, road, passenger, dark"]);
}

#[test]
fn files_that_are_no_form_are_refused_by_name() {
    let folder = Folder::new();
    check(&in_yard(&["judge", &folder.path("none.toml").display().to_string()]), &["none.toml", "no such file"]);
    check(&in_yard(&["judge", &folder.path("").display().to_string()]), &["is a directory"]);
    check(&in_yard(&["fill", &folder.path("").display().to_string()]), &["is a directory"]);
    let empty = folder.write("empty.toml", "");
    check(&in_yard(&["judge", &empty.display().to_string()]), &["has no `machine`", "nothing can be judged"]);
}

#[test]
fn what_is_not_utf_8_is_told_by_byte_and_line() {
    let folder = Folder::new();
    let latin = folder.write("latin.toml", b"schema = 1\nair = \"8 \xB0C\"\n");
    for command in ["judge", "fill", "data"] {
        check(&in_yard(&[command, &latin.display().to_string()]), &["latin.toml:2: byte 0xB0 is not UTF-8"]);
    }
    check(&fed(&["judge", "-"], Some(&fixture("yard")), b"\xFF\xFE"), &["standard input:1: byte 0xFF"]);
}

#[test]
fn a_huge_file_is_refused_without_being_read() {
    let folder = Folder::new();
    let path = folder.path("huge.toml");
    // A hole of a gigabyte: reading it would take seconds and memory.
    File::create(&path).and_then(|file| file.set_len(1 << 30)).expect("a file with a hole");
    let begun = std::time::Instant::now();
    for command in ["judge", "fill", "data"] {
        check(&in_yard(&[command, &path.display().to_string()]), &["larger than 1048 kB"]);
    }
    assert!(begun.elapsed().as_secs() < 5);
    check(&fed(&["judge", "-"], Some(&fixture("yard")), &vec![b'a'; 100_000_000]), &["standard input: larger"]);
}

#[test]
fn deep_nesting_and_broken_toml_end_in_words() {
    let folder = Folder::new();
    let deep = folder.write("deep.toml", format!("a = {}", "[".repeat(100_000)));
    let dots = folder.write("dots.toml", format!("a{} = 1\n", ".a".repeat(100_000)));
    let broken = folder.write("broken.toml", "schema = 1\nmachine = \"M-01\nby = 3\n");
    for command in ["judge", "fill", "data"] {
        check(&in_yard(&[command, &deep.display().to_string()]), &["deep.toml"]);
        check(&in_yard(&[command, &dots.display().to_string()]), &["dots.toml"]);
        check(&in_yard(&[command, &broken.display().to_string()]), &["broken.toml"]);
    }
    check(&in_yard(&["data", &broken.display().to_string()]), &["broken.toml:2:"]);
}

#[test]
fn a_form_from_the_future_does_not_count() {
    let folder = Folder::new();
    let text = std::fs::read_to_string(fixture("forms/short.toml")).expect("the form");
    let later = folder.write("later.toml", text.replace("2026-11-24", "2031-11-24"));
    check(
        &in_yard(&["judge", &later.display().to_string()]),
        &["later.toml: opened 2031-11-24", "does not count", "? UNSEEN for range"],
    );
}

#[test]
fn a_fault_is_told_with_file_and_line_and_the_rest_still_judged() {
    let ran = in_yard(&["judge", &fixture("forms/faulty.toml")]);
    check(&ran, &["faulty.toml:14:", "did you mean tyre.front.pressure?", "faulty.toml:19:", "X HOLD for road"]);
}

#[test]
fn a_folder_that_is_no_yard_is_said() {
    let folder = Folder::new();
    let here = folder.path("").display().to_string();
    check(&in_demo(&["yard", "--yard", &here]), &["holds no yard.toml", "muster start"]);
    check(&in_demo(&["yard", "--yard", &folder.path("gone").display().to_string()]), &["no yard at"]);
    check(&in_demo(&["data", &here]), &["holds no yard.toml"]);
    check(&in_demo(&["start", &folder.write("file", "x").display().to_string()]), &["cannot be a yard"]);
}

#[test]
fn a_broken_yard_is_judged_as_far_as_it_goes_and_ends_with_two() {
    let folder = Folder::new();
    let yard = folder.path("mine").display().to_string();
    assert_eq!(in_demo(&["start", &yard]).code, 0);
    folder.write("mine/machines/second.toml", "schema = 1\nmachine = \"M-02\"\nsheet = \"no-such\"\n");
    folder.write("mine/sheets/latin.toml", b"\xB0");
    let ran = in_demo(&["yard", "--yard", &yard]);
    check(&ran, &["M-01", "no sheet `no-such`", "byte 0xB0 is not UTF-8"]);
    check(&in_demo(&["data", &yard]), &["second.toml:3:", "latin.toml:1:", "2 faults"]);
}

#[test]
fn a_wrong_time_or_state_is_refused_before_anything_is_done() {
    check(&in_demo(&["yard", "--on", "yesterday"]), &["2026-11-24T07:52:00+00:00"]);
    check(&in_demo(&["walk-round", "H-07", "--found", "heat=boiling"]), &["cold, warm, hot"]);
    check(&in_demo(&["walk-round", "H-07", "--depth", "deep"]), &["before-ride"]);
    check(&in_demo(&["correct", "35 mm", "--tyre", "20 °C", "--air", "20 °C"]), &["`mm` does not measure"]);
    check(&in_demo(&["correct", "35 psi", "--tyre", "20", "--air", "20 °C"]), &["--tyre", "has no unit"]);
}
