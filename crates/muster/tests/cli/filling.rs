//! From a blank form over the terminal to a verdict.

use std::{
    fs,
    io::{BufRead, BufReader, Write},
    process::Stdio,
};

use super::program::{Folder, Ran, fed, fixture, in_demo, in_yard, program};

/// A blank form of the little yard's machine.
fn blank(folder: &Folder) -> String {
    let form = folder.path("m-01.toml").display().to_string();
    let ran = in_yard(&["walk-round", "M-01", "--form", &form]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    form
}

fn fill(form: &str, typed: &str) -> Ran {
    fed(&["fill", form], Some(&fixture("yard")), typed.as_bytes())
}

/// What to type for each question left in a form, all of it sound.
fn all_sound(form: &str) -> String {
    let text = fs::read_to_string(form).expect("the form");
    let mut typed = String::new();
    // The gauge is named once; empty is the same again.
    let mut gauge = "G-2";
    for line in text.lines() {
        match line.split_once(" = ") {
            // One answer for each place; what has none is answered once.
            Some(("saw", _)) => typed.push_str(&"s\n".repeat(line.matches("\"\"").count())),
            Some(("check", pressure @ ("\"tyre.front.pressure\"" | "\"tyre.rear.pressure\""))) => {
                let figure = if pressure.contains("front") { 180 } else { 205 };
                typed.push_str(&format!("{figure}\n{gauge}\n"));
                gauge = "";
            }
            // Left, centre and right; the one gauge there is need not be named.
            Some(("check", "\"tyre.front.tread\"" | "\"tyre.rear.tread\"")) => typed.push_str("4.1\n4.0 mm\n4.2\n"),
            _ => {}
        }
    }
    typed
}

#[test]
fn a_blank_form_is_read_without_fault_and_nothing_in_it_is_seen() {
    let folder = Folder::new();
    let form = blank(&folder);
    let text = fs::read_to_string(&form).expect("the form");
    for part in ["First: no hold tag", "Caution", "p. 66", "# no_hold_tag = true", "saw = \"\""] {
        assert!(text.contains(part), "{part}");
    }
    let ran = in_yard(&["judge", &form]);
    // Nobody walked round it yet: that is the one fault, and everything is unseen.
    assert_eq!(ran.code, 2, "{}", ran.out);
    assert!(ran.out.contains("1 fault") && ran.out.contains("`by` is empty"), "{}", ran.out);
    assert!(ran.out.contains("? UNSEEN for range"), "{}", ran.out);
}

/// One machine of each model, every depth that asks for something else: the one fault of its blank form is that nobody walked.
#[test]
fn every_blank_form_is_read_without_fault() {
    let folder = Folder::new();
    for machine in ["H-01", "H-09", "H-15", "H-19", "H-24"] {
        for depth in ["before-ride", "full", "handover", "after-a-fall"] {
            let form = folder.path("form.toml").display().to_string();
            let ran = in_demo(&["walk-round", machine, "--depth", depth, "--use", "road", "--form", &form, "--force"]);
            assert_eq!(ran.code, 0, "{}", ran.err);
            let ran = in_demo(&["data", &form]);
            assert!(ran.out.starts_with(&format!("{form}: `by` is empty")), "{machine} {depth}: {}", ran.out);
            assert!(ran.out.ends_with("\n1 fault\n"), "{machine} {depth}: {}", ran.out);
        }
    }
}

#[test]
fn a_form_is_never_written_over_unasked() {
    let folder = Folder::new();
    let form = blank(&folder);
    let before = fs::read(&form).expect("the form");
    let again = in_yard(&["walk-round", "M-01", "--form", &form]);
    assert_eq!(again.code, 2);
    assert!(again.err.contains("is there already"), "{}", again.err);
    assert_eq!(fs::read(&form).expect("the form"), before);
    assert_eq!(in_yard(&["walk-round", "M-01", "--form", &form, "--force"]).code, 0);
}

#[test]
fn form_to_fill_to_judge() {
    let folder = Folder::new();
    let form = blank(&folder);
    let typed = format!("y\ny\nR. Whitlock\n12480\n8\n{}y\n", all_sound(&form));
    let ran = fill(&form, &typed);
    assert_eq!(ran.code, 0, "{}", ran.out);
    assert!(ran.out.contains(", nothing left.") && ran.out.contains("+ FIT for range"), "{}", ran.out);
    let text = fs::read_to_string(&form).expect("the form");
    for part in ["no_hold_tag = true", "by = \"R. Whitlock\"", "read = \"180 kPa\"", "closed = 2026", "Caution", "# "] {
        assert!(text.contains(part), "{part} is not in\n{text}");
    }
    let judged = in_yard(&["judge", &form]);
    assert_eq!(judged.code, 0, "{}", judged.out);
    assert!(judged.out.contains("+ FIT for range"), "{}", judged.out);
    // Nothing is left beside it.
    assert_eq!(folder.names(), ["m-01.toml"]);
}

#[test]
fn a_tyre_is_pumped_a_slip_corrected_and_comments_stay() {
    let folder = Folder::new();
    let form = blank(&folder);
    let before = fs::read_to_string(&form).expect("the form");
    let comments = |text: &str| text.lines().filter(|line| line.starts_with('#')).count();
    let checks: Vec<&str> = before.lines().filter(|line| line.starts_with("check = ")).collect();
    let ahead = checks.iter().position(|line| line.contains("tyre.front.pressure")).expect("it is asked");
    let later = "\n".repeat(ahead);
    let typed = format!("y\ny\nR. Whitlock\n12480\n8\n{later}18\nG-2\nback\n150\n\n180\n\nquit\n");
    let ran = fill(&form, &typed);
    assert!(ran.out.contains("Far off"), "{}", ran.out);
    let text = fs::read_to_string(&form).expect("the form");
    assert!(text.contains("after = \"pumped\""), "{text}\n{}", ran.out);
    assert_eq!(comments(&text), comments(&before));
}

#[test]
fn what_was_answered_is_kept_and_the_rest_asked_again() {
    let folder = Folder::new();
    let form = blank(&folder);
    let first = fill(&form, &format!("{HEAD}{FIRST}"));
    assert!(first.out.contains(": 1 of "), "{}", first.out);
    // As a run killed in the middle of writing leaves it: half a file beside the whole one.
    folder.write(".m-01.toml.part", "schema = 1\nmach");
    let second = fill(&form, SECOND);
    assert!(second.out.contains(": 2 of "), "{}", second.out);
    assert!(!second.out.contains("Who walks round it"), "{}", second.out);
    assert_eq!(folder.names(), ["m-01.toml"]);
}

#[test]
fn nonsense_is_asked_again_and_never_written() {
    let folder = Folder::new();
    let form = blank(&folder);
    let ran = fill(&form, "maybe\ny\ny\nR. Whitlock\nfar\n12480\nwarm\n8\nperhaps\nc\nc too dark\nquit\n");
    assert_eq!(ran.code, 0, "{}", ran.out);
    let text = fs::read_to_string(&form).expect("the form");
    assert!(text.contains("why = \"too dark\""), "{text}");
    for word in ["maybe", "perhaps", "\"far", "\"warm"] {
        assert!(!text.contains(word), "{word}");
    }
}

#[test]
fn input_that_is_no_text_does_no_harm() {
    let folder = Folder::new();
    let form = blank(&folder);
    let mut typed = b"y\ny\nR. Whitlock\n12480\n8\n".to_vec();
    typed.extend([0xFF, 0xFE, b'\n']);
    typed.extend(vec![b'z'; 100_000]);
    typed.extend(b"\ns\nquit\n");
    let ran = fed(&["fill", &form], Some(&fixture("yard")), &typed);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains(": 1 of "), "{}", ran.out);
}

/// What the first answers of every form are.
const HEAD: &str = "y\ny\nR. Whitlock\n12480\n8\n";
/// The first check, and the second: both footrests.
const FIRST: &str = "s\n";
const SECOND: &str = "s\ns\n";

#[test]
fn a_run_that_is_killed_keeps_every_answer() {
    let folder = Folder::new();
    let form = blank(&folder);
    let mut child = program(&["fill", &form], Some(&fixture("yard")))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let mut typed = child.stdin.take().expect("its input is ours");
    typed.write_all(format!("{HEAD}{FIRST}").as_bytes()).expect("it listens");
    let mut said = BufReader::new(child.stdout.take().expect("its output is ours")).lines();
    // The verdict is told after the answer is on the disk.
    assert!(said.any(|line| line.expect("UTF-8").contains("+ fit")));
    child.kill().expect("it runs");
    child.wait().expect("it ends");
    let again = fill(&form, SECOND);
    assert!(again.out.contains(": 2 of "), "{}", again.out);
}

#[test]
fn what_somebody_else_wrote_meanwhile_is_not_written_over() {
    let folder = Folder::new();
    let form = blank(&folder);
    let mut child = program(&["fill", &form], Some(&fixture("yard")))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let mut typed = child.stdin.take().expect("its input is ours");
    typed.write_all(format!("{HEAD}{FIRST}").as_bytes()).expect("it listens");
    let mut said = BufReader::new(child.stdout.take().expect("its output is ours")).lines();
    assert!(said.any(|line| line.expect("UTF-8").contains("+ fit")));
    let theirs = fs::read_to_string(&form).expect("the form") + "# seen by the workshop\n";
    fs::write(&form, &theirs).expect("it can be written");
    typed.write_all(SECOND.as_bytes()).expect("it listens");
    drop(typed);
    said.by_ref().for_each(drop);
    let ended = child.wait_with_output().expect("it ends");
    assert_eq!(ended.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&ended.stderr).contains("changed by somebody else"));
    assert_eq!(fs::read_to_string(&form).expect("the form"), theirs);
}

#[test]
fn which_of_the_laws_defects_it_is_is_asked_and_written() {
    let folder = Folder::new();
    let head = "schema = 1\nmachine = \"H-15\"\nby = \"A\"\nopened = 2026-11-24T07:30:00+00:00\nno_hold_tag = true\n\
                key_on_hook = true\nodometer = \"60 000 km\"\nair = \"8 °C\"\n[[answer]]\ncheck = \"controls.levers\"\nsaw = \"\"\n";
    let form = folder.write("form.toml", head).display().to_string();
    let ran = fed(&["fill", &form], None, "x wobbles\n9\n2\n".as_bytes());
    assert!(ran.out.contains("1 dangerous: A brake's lever or pedal so loose"), "{}\n{}", ran.out, ran.err);
    assert!(ran.out.contains("a number from 1 to 2"), "{}", ran.out);
    let text = fs::read_to_string(&form).expect("the form");
    assert!(text.contains("defect = \"lever-loose\"") && text.contains("note = \"wobbles\""), "{text}");
    let judged = in_demo(&["judge", &form, "--use", "road", "--working"]);
    assert!(judged.out.contains("a brake's lever or pedal loose"), "{}", judged.out);
    // Where nobody is sure, nothing is written and the gravest counts.
    let form = folder.write("unsure.toml", head).display().to_string();
    fed(&["fill", &form], None, "x\n\n".as_bytes());
    assert!(!fs::read_to_string(&form).expect("the form").contains("defect ="));
    let explained = in_demo(&["explain", "controls.levers"]);
    assert!(explained.out.contains("`lever-loose`"), "{}", explained.out);
    let blank = folder.path("blank.toml").display().to_string();
    in_demo(&["walk-round", "H-15", "--depth", "full", "--use", "road", "--form", &blank]);
    let text = fs::read_to_string(&blank).expect("the blank form");
    assert!(text.contains("# defect = \"\"   # by law, if not sound: lever-not-applied, lever-loose"), "{text}");
}
