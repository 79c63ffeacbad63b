//! Every door for every role, as one table.

use std::{collections::BTreeSet, fs, path::Path};

use muster_core::record::{id::PersonId, payload::Role};
use serde_json::{Value, json};

use super::kit::{Ask, Yard, person, spare};

/// Every door with something it would take, in an order in which none takes from another what it needs.
fn doors(role: Option<Role>) -> Vec<(&'static str, String, Value)> {
    let own: PersonId = role.map_or_else(spare, person);
    let (gone, photo) = ("0".repeat(32), "0".repeat(64));
    let enrol = json!({ "code": gone, "key": "00", "label": "phone", "signature": "00" });
    let pins = json!({ "device": "0123456789abcdef", "at": "2026-11-24T08:00:00+00:00", "signature": "00" });
    let person_added = json!({ "name": "Nora Newcomer", "role": "rider" });
    let tag = json!({ "do": "tag", "machine": "H-07", "why": "clutch drags" });
    let door = |method, path: &str, body| (method, path.to_string(), body);
    let mut doors = of_lists(&gone);
    doors.extend([
        door("GET", "/health", Value::Null),
        door("GET", "/metrics", Value::Null),
        door("GET", "/api/v1/me", Value::Null),
        door("GET", "/api/v1/yard", Value::Null),
    ]);
    doors.extend(of_a_machine());
    doors.extend([
        door("GET", "/api/v1/settings", Value::Null),
        door("PATCH", "/api/v1/settings", json!({ "proxies": 0 })),
        door("PUT", "/api/v1/settings/mark", json!("no picture")),
        door("DELETE", "/api/v1/settings/mark", Value::Null),
        door("GET", "/api/v1/record", Value::Null),
        door("GET", "/api/v1/retention", Value::Null),
        door("POST", "/api/v1/retention", Value::Null),
        door("GET", "/api/v1/record/0123456789abcdef.17", Value::Null),
        door("POST", "/api/v1/commands", tag),
        door("GET", "/api/v1/sync", Value::Null),
        door("GET", "/api/v1/sync/carried", Value::Null),
        door("GET", "/api/v1/sync/glance", Value::Null),
        door("POST", "/api/v1/sync/missing", json!({ "heads": {} })),
        door("POST", "/api/v1/sync", json!({ "events": [] })),
        door("POST", "/api/v1/sync/pins", pins),
        door("GET", "/api/v1/news", Value::Null),
        door("GET", &format!("/api/v1/photos/{photo}"), Value::Null),
        door("GET", &format!("/api/v1/photos/uploads/{photo}"), Value::Null),
        door("PUT", &format!("/api/v1/photos/uploads/{photo}?offset=7"), json!("a piece")),
        door("POST", &format!("/api/v1/photos/uploads/{photo}"), Value::Null),
        door("GET", "/api/v1/people", Value::Null),
        door("POST", "/api/v1/people", person_added),
        door("PATCH", "/api/v1/people/p-spare", json!({ "role": "workshop" })),
        door("POST", "/api/v1/people/p-spare/password", json!({})),
        door("POST", &format!("/api/v1/people/{own}/pin"), json!({ "pin": "12" })),
        door("POST", "/api/v1/people/p-spare/pin", json!({ "pin": "1234" })),
        door("POST", "/api/v1/people/p-spare/pin/check", json!({ "pin": "1234" })),
        door("DELETE", "/api/v1/people/p-spare?why=asked", Value::Null),
        door("GET", "/api/v1/devices", Value::Null),
        door("POST", "/api/v1/devices/codes", json!({ "person": own })),
        door("POST", "/api/v1/devices/codes", json!({})),
        door("POST", "/api/v1/devices", enrol),
        door("DELETE", "/api/v1/devices/0123456789abcdef?why=lost", Value::Null),
        door("GET", &format!("/api/v1/feedback/{gone}"), Value::Null),
        door("POST", &format!("/api/v1/feedback/{gone}"), json!({ "text": "the chain rattles" })),
        door("POST", "/api/v1/sign-in", json!({ "person": "Nobody Known", "password": "a wrong phrase" })),
        door("POST", "/api/v1/first", json!({ "code": gone, "name": "Finn First", "password": "a long phrase" })),
        door("POST", "/api/v1/password", json!({ "code": gone, "password": "a long phrase" })),
        door("DELETE", "/api/v1/sign-in", Value::Null),
    ]);
    doors
}

/// What is told of one machine, and said of it.
fn of_a_machine() -> Vec<(&'static str, String, Value)> {
    let door = |method, path: &str, body| (method, path.to_string(), body);
    vec![
        door("GET", "/api/v1/machines/H-07", Value::Null),
        door("GET", "/api/v1/machines/H-07/walk-round", Value::Null),
        door("GET", "/api/v1/machines/H-07/readings", Value::Null),
        door("GET", "/api/v1/machines/H-07/readings/latest", Value::Null),
        door("GET", "/api/v1/machines/H-07/history", Value::Null),
        door("POST", "/api/v1/machines/H-07/outing", json!({ "rider": "82 kg", "road": "range" })),
        door("GET", "/api/v1/machines/H-07/feedback", Value::Null),
        door("POST", "/api/v1/machines/H-07/feedback", Value::Null),
    ]
}

/// What is taken away, brought along, shown on a calendar, printed.
fn of_lists(gone: &str) -> Vec<(&'static str, String, Value)> {
    let door = |method, path: &str, body| (method, path.to_string(), body);
    vec![
        door("GET", "/api/v1/lists/yard?format=csv", Value::Null),
        door("GET", "/api/v1/lists/findings", Value::Null),
        door("GET", "/api/v1/lists/people", Value::Null),
        door("GET", "/api/v1/lists/record", Value::Null),
        door("POST", "/api/v1/import/machines?dry-run=true", json!("a table")),
        door("POST", "/api/v1/import/readings?dry-run=true", json!("a table")),
        door("POST", "/api/v1/forecast", Value::Null),
        door("GET", "/api/v1/calendar", Value::Null),
        door("GET", &format!("/calendar/{gone}.ics"), Value::Null),
        door("GET", "/api/v1/calendars", Value::Null),
        door("POST", "/api/v1/calendars", json!({ "label": "office wall" })),
        door("DELETE", "/api/v1/calendars/0123456789abcdef", Value::Null),
        door("GET", "/api/v1/tags/0087", Value::Null),
        door("POST", "/api/v1/paper/poster", json!({})),
        door("POST", "/api/v1/paper/verify", json!("a file")),
        door("GET", &format!("/api/v1/paper/issued/{}", "0".repeat(64)), Value::Null),
        door("GET", &format!("/api/v1/paper/resting-on/{}", "0".repeat(64)), Value::Null),
    ]
}

#[test]
fn each_door_opens_to_those_it_is_for() {
    let mut table = String::from(
        "# What each door answers each role: rights are the core's (record/rights.rs). 4xx with a right means that what\n\
         # was asked is not there. Written by the test: MUSTER_BLESS=1 writes it anew.\n",
    );
    for role in
        [None, Some(Role::Rider), Some(Role::Instructor), Some(Role::Workshop), Some(Role::Auditor), Some(Role::Owner)]
    {
        let yard = Yard::new();
        table += "\n";
        let name = role.map_or("nobody", Role::as_str);
        for (method, path, body) in doors(role) {
            let token = role.map(|role| yard.token(&person(role)));
            let body = (!body.is_null()).then_some(&body);
            let answer = yard.ask(Ask { token: token.as_deref(), ..Ask::default() }, method, &path, body);
            assert!(answer.status < 500, "{method} {path}: {}", answer.text);
            let shown = path.replace(&"0".repeat(64), "{sha256}").replace(&"0".repeat(32), "{code}");
            let about = body
                .filter(|_| path.ends_with("/codes"))
                .map(|of| if of["person"].is_null() { " (shared)" } else { " (own)" });
            table += &format!("{name:<10} {method:<6} {shown}{} {}\n", about.unwrap_or_default(), answer.status);
        }
    }
    golden("doors.txt", &table);
}

/// A door that is added and not asked here would be open to nobody's notice.
#[test]
fn every_door_is_in_the_table() {
    let yard = Yard::new();
    let api = yard.stranger_asks("GET", "/api/v1/openapi.json", &Value::Null, 200);
    let of = |method: &str, path: &str| {
        let path = path.split('?').next().unwrap_or_default();
        (method.to_lowercase(), path.split('/').map(ToString::to_string).collect::<Vec<_>>())
    };
    let asked: BTreeSet<_> = doors(None).iter().map(|(method, path, _)| of(method, path)).collect();
    for (path, methods) in api["paths"].as_object().unwrap() {
        for method in methods.as_object().unwrap().keys() {
            let (method, pattern) = of(method, path);
            let fits = |parts: &[String]| {
                parts.len() == pattern.len()
                    && parts.iter().zip(&pattern).all(|(part, of)| of.starts_with('{') || part == of)
            };
            assert!(asked.iter().any(|(one, parts)| *one == method && fits(parts)), "{method} {path} is not asked");
        }
    }
}

fn golden(name: &str, text: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden").join(name);
    if std::env::var_os("MUSTER_BLESS").is_some() {
        fs::write(&path, text).unwrap();
    }
    let kept = fs::read_to_string(&path).unwrap_or_default();
    let differs = |(now, then): &(&str, &str)| now != then;
    let first = text.lines().zip(kept.lines()).find(differs);
    assert!(kept == text, "{name} differs, first at {first:?}; if that is meant, MUSTER_BLESS=1 writes it anew");
}
