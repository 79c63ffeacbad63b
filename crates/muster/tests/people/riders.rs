//! What riders say by the QR code on a machine: a finding to look at, never a verdict by itself, and not too often.

use muster_core::record::payload::Role;
use serde_json::{Value, json};

use super::kit::{Ask, Yard, pass, person};

fn code(yard: &Yard, machine: &str) -> String {
    let token = yard.token(&person(Role::Instructor));
    let asks = Ask { token: Some(&token), headers: &[("host", "yard.example")], ..Ask::default() };
    let drawn = yard.ask(asks, "GET", &format!("/api/v1/machines/{machine}/feedback"), None);
    assert_eq!((drawn.status, drawn.headers["content-type"].as_str()), (200, "image/svg+xml"), "{}", drawn.text);
    assert!(drawn.text.contains("<svg"));
    yard.keeper().store().setting(&format!("feedback code of {machine}")).unwrap().unwrap()
}

fn findings(yard: &Yard, machine: &str) -> Vec<Value> {
    let view = yard.asks(&person(Role::Owner), "GET", &format!("/api/v1/machines/{machine}"), &Value::Null, 200);
    view["findings"].as_array().unwrap().clone()
}

fn says(yard: &Yard, code: &str, from: &str, text: &str) -> (u16, String) {
    let asks = Ask { from: Some(from), ..Ask::default() };
    let answer = yard.ask(asks, "POST", &format!("/api/v1/feedback/{code}"), Some(&json!({ "text": text })));
    (answer.status, answer.text)
}

#[test]
fn feedback_is_a_minor_finding_until_somebody_has_looked() {
    let yard = Yard::new();
    let code = code(&yard, "H-07");
    assert_eq!(self::code(&yard, "H-07"), code, "a printed code stays");
    let about = yard.stranger_asks("GET", &format!("/api/v1/feedback/{code}"), &Value::Null, 200);
    assert_eq!((about["machine"].as_str(), about["most_characters"].as_u64()), (Some("H-07"), Some(500)));

    let first = says(&yard, &code, "192.0.2.7", "the front brake\n feels  soft");
    assert_eq!(first, (202, String::new()));
    let found = findings(&yard, "H-07");
    assert_eq!(found.len(), 1);
    let expected = ("the front brake feels soft", "minor", "rider-feedback", true);
    let of = &found[0];
    let got = (of["what"].as_str(), of["class"].as_str(), of["by"].as_str(), of["feedback"].as_bool());
    assert_eq!(got, (Some(expected.0), Some(expected.1), Some(expected.2), Some(expected.3)));
    // Said again it is not written again, and the answer does not tell.
    assert_eq!(says(&yard, &code, "192.0.2.8", "the front brake feels soft"), first);
    assert_eq!(findings(&yard, "H-07").len(), 1);

    let classed = json!({ "do": "write", "kind": "finding-classed", "payload": {
        "machine": "H-07", "finding": of["id"], "class": "dangerous", "why": "looked: lever comes to the bar" } });
    yard.asks(&person(Role::Instructor), "POST", "/api/v1/commands", &classed, 201);
    assert_eq!(findings(&yard, "H-07")[0]["class"], "dangerous");
    assert_eq!(yard.keeper().known().state.flags, []);
}

#[test]
fn feedback_is_short_and_not_too_often() {
    let yard = Yard::new();
    let codes: Vec<String> = (1..=8).map(|number| code(&yard, &format!("H-0{number}"))).collect();
    for wrong in ["", " \n ", &"a".repeat(501), "a\u{7}b"] {
        assert_eq!(says(&yard, &codes[0], "192.0.2.7", wrong).0, 400, "{wrong:?}");
    }
    assert_eq!(says(&yard, &codes[0], "192.0.2.7", &"ä".repeat(500)).0, 202);
    assert_eq!(says(&yard, &"0".repeat(32), "192.0.2.7", "x").0, 403);
    // Six of one machine in an hour, from wherever.
    let statuses: Vec<u16> =
        (0..7).map(|n| says(&yard, &codes[1], &format!("198.51.100.{n}"), &format!("rattle {n}")).0).collect();
    assert_eq!(statuses, [202, 202, 202, 202, 202, 202, 429]);
    // Thirty from one address in an hour, about whatever machine.
    let mut taken = 0;
    for n in 0..40 {
        taken += usize::from(says(&yard, &codes[2 + n % 6], "203.0.113.9", &format!("noise {n}")).0 == 202);
    }
    assert_eq!(taken, 30);
    pass(3601);
    assert_eq!(says(&yard, &codes[1], "203.0.113.9", "rattle again").0, 202);
}
