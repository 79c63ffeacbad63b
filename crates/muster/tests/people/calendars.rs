//! The calendar at the doors: secret addresses drawn and taken back, what stands in it, and whom it does not name.

use muster::{calendar::unfold, people::names};
use muster_core::record::payload::Role;
use serde_json::{Value, json};

use super::kit::{Yard, person, spare};

/// The path of an address newly drawn, and its id.
fn drawn(yard: &Yard, who: &muster_core::record::id::PersonId) -> (String, String) {
    let body = yard.asks(who, "POST", "/api/v1/calendars", &json!({ "label": "office wall" }), 201);
    let link = body["link"].as_str().unwrap();
    let path = link.strip_prefix("https://localhost").unwrap();
    (path.to_string(), body["id"].as_str().unwrap().to_string())
}

fn text(yard: &Yard, path: &str, status: u16) -> String {
    let answer = yard.ask(super::kit::Ask::default(), "GET", path, None);
    assert_eq!(answer.status, status, "{}", answer.text);
    answer.text
}

#[test]
fn an_address_opens_till_it_is_taken_back() {
    let yard = Yard::new();
    let (instructor, owner) = (person(Role::Instructor), person(Role::Owner));
    let (path, id) = drawn(&yard, &instructor);
    assert!(path.starts_with("/calendar/") && path.len() == "/calendar/".len() + 32 + ".ics".len(), "{path}");
    assert!(text(&yard, &path, 200).starts_with("BEGIN:VCALENDAR\r\n"));
    // Kept as its hash alone.
    let secret = path.trim_start_matches("/calendar/").trim_end_matches(".ics");
    let kept = yard.keeper().store().settings().unwrap();
    assert!(kept.iter().all(|(name, value)| !name.contains(secret) && !value.contains(secret)));
    assert_eq!(yard.asks(&owner, "GET", "/api/v1/calendars", &Value::Null, 200)[0]["label"], "office wall");
    let own = yard.asks(&person(Role::Workshop), "GET", "/api/v1/calendars", &Value::Null, 200);
    assert_eq!(own, json!([]));
    let one = format!("/api/v1/calendars/{id}");
    yard.asks(&person(Role::Workshop), "DELETE", &one, &Value::Null, 404);
    yard.asks(&instructor, "DELETE", &one, &Value::Null, 204);
    let said = text(&yard, &path, 404);
    assert!(!said.contains(secret), "{said}");
    yard.asks(&instructor, "DELETE", &one, &Value::Null, 404);
    let (other, other_id) = drawn(&yard, &instructor);
    yard.asks(&owner, "DELETE", &format!("/api/v1/calendars/{other_id}"), &Value::Null, 204);
    text(&yard, &other, 404);
    text(&yard, "/calendar/0123.ics", 404);
    text(&yard, "/calendar/", 404);
    for role in [Role::Auditor, Role::Rider] {
        yard.asks(&person(role), "POST", "/api/v1/calendars", &json!({}), 403);
    }
}

#[test]
fn an_address_closes_with_the_right_of_whoever_drew_it() {
    let yard = Yard::new();
    let (path, _) = drawn(&yard, &spare());
    text(&yard, &path, 200);
    yard.asks(&person(Role::Owner), "PATCH", "/api/v1/people/p-spare", &json!({ "role": "rider" }), 204);
    text(&yard, &path, 404);
    yard.asks(&person(Role::Owner), "PATCH", "/api/v1/people/p-spare", &json!({ "role": "workshop" }), 204);
    text(&yard, &path, 200);
    yard.asks(&person(Role::Owner), "PATCH", "/api/v1/people/p-spare", &json!({ "active": false }), 204);
    text(&yard, &path, 404);
}

#[test]
fn what_is_due_stands_on_its_day_and_nobody_is_named() {
    let yard = Yard::new();
    let owner = person(Role::Owner);
    let table = "machine,check,value,at,odometer_km\n\
        H-07,papers.insurance,2026-12-31,2026-11-20 09:00,\n\
        H-07,tyre.front.tread,3.1 mm,2026-11-20 09:00,12400\n\
        H-07,tyre.front.age,3219,2026-11-20 09:00,\n";
    let report = yard.takes(&owner, "/api/v1/import/readings", table).body;
    assert_eq!(report["written"], 3, "{report:#}");
    let planned = json!({ "do": "write", "kind": "outing-planned", "payload": { "name": "Module 1; morning",
        "uses": ["range"], "riders": ["p-rider"], "from": "2026-11-25T09:00:00+01:00", "to": "2026-11-25T12:00:00+01:00" } });
    yard.asks(&owner, "POST", "/api/v1/commands", &planned, 201);
    let job = json!({ "do": "write", "kind": "job-opened", "payload": { "machine": "H-07", "job": "levers",
        "why": "bent, says R. Ashby", "findings": [], "tags": [], "planned": "2026-12-02" } });
    yard.asks(&owner, "POST", "/api/v1/commands", &job, 201);
    let (path, _) = drawn(&yard, &owner);
    let text = text(&yard, &path, 200);
    assert!(text.split("\r\n").all(|line| line.len() <= 75), "{text}");
    let lines = unfold(&text);
    let event = |uid: &str| -> Vec<&String> {
        let at = lines
            .iter()
            .position(|line| line.starts_with(&format!("UID:{uid}")))
            .unwrap_or_else(|| panic!("{uid} is not in {text}"));
        lines[at..].iter().take_while(|line| *line != "END:VEVENT").collect()
    };
    let has = |uid: &str, line: &str| assert!(event(uid).iter().any(|one| *one == line), "{uid}: {:#?}", event(uid));
    // Good through its last day: common practice of insurers and of RFC 5545, whose end is the day after.
    has("runs-out.papers.insurance.H-07", "DTSTART;VALUE=DATE:20261231");
    has("runs-out.papers.insurance.H-07", "DTEND;VALUE=DATE:20270101");
    // 49 CFR 574.5: week 1 is the first full week from Sunday on, so week 32 of 2019 begins on 11 August.
    has("too-old.tyre.front.age.H-07", "DTSTART;VALUE=DATE:20270811");
    has("job.", "DTSTART;VALUE=DATE:20261202");
    assert!(!text.contains("Ashby"), "what a job is for is free text");
    has("outing.", "SUMMARY:Module 1\\; morning");
    has("outing.", "DTSTART:20261125T080000Z");
    // By hand: read on 20 November; 14 days on the road, before the 30 on the range.
    has("lapses.tyre.front.tread.H-07", "DTSTART;VALUE=DATE:20261204");
    assert!(event("lapses.tyre.front.tread.H-07").iter().any(|line| line.ends_with("For: road\\, passenger\\, dark.")));
    for name in names::all(yard.keeper()).unwrap().values() {
        assert!(!text.contains(name.as_str()), "{name} is named");
    }
    let signed_in = yard.ask(
        super::kit::Ask { token: Some(&yard.token(&owner)), ..super::kit::Ask::default() },
        "GET",
        "/api/v1/calendar",
        None,
    );
    assert_eq!((signed_in.text, signed_in.headers["content-type"].as_str()), (text, "text/calendar; charset=utf-8"));
}
