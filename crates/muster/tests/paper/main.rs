//! Papers printed at the doors of a build that prints: each is known again, and nothing else is.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

#[path = "../server/kit.rs"]
#[allow(dead_code, reason = "shared with the tests of the other doors")]
mod kit;

mod command;
mod morning;

use axum::{body::Body, http::Request};
use muster_core::record::payload::Document;
use serde_json::{Value, json};

use kit::{Client, Place};

/// A document with what it needs.
fn asked(document: Document) -> Value {
    match document {
        Document::Yard | Document::Sheet | Document::Stickers => json!({}),
        Document::Tag => json!({ "number": 87, "count": 2 }),
        _ => json!({ "machine": "H-02" }),
    }
}

/// A yard in which H-02 was walked round, let out and hangs a tag.
fn yard() -> (Place, Client) {
    let place = Place::of_the_yard();
    let client = place.client("p-owner");
    let opened = json!({ "machine": "H-02", "depth": "before-ride",
        "found": { "heat": "cold", "power": "off", "stance": "side-stand" }, "no_hold_tag": true, "key_on_hook": true,
        "odometer": "12480 km", "air": "12 °C", "barometer": null, "ridden": null,
        "planned": { "use": "range", "back": "2026-11-24T12:00:00+00:00", "distance": null }, "comma": false });
    let walk_round = client.writes("walk-round-opened", &opened);
    client.writes("walk-round-closed", &json!({ "machine": "H-02", "walk_round": walk_round }));
    client.does(&json!({ "do": "release", "machine": "H-02", "outing": "to the wash bay", "uses": ["range"],
        "from": "2026-11-24T08:00:00+00:00", "to": "2026-11-24T12:00:00+00:00", "reason": "pushed there and back" }));
    (place, client)
}

fn print(client: &Client, document: Document, asked: &Value) -> (String, Vec<u8>) {
    let path = format!("/api/v1/paper/{document}");
    let (status, headers, body) = client.posts(&path, "application/json", asked.to_string().as_bytes());
    assert_eq!(status, 200, "{document}: {}", String::from_utf8_lossy(&body));
    assert_eq!(headers["content-type"], "application/pdf");
    assert!(body.starts_with(b"%PDF-"), "{document}");
    (headers.get("muster-issued").cloned().unwrap_or_default(), body)
}

fn verdict(client: &Client, file: &[u8]) -> Value {
    let (status, _, body) = client.posts("/api/v1/paper/verify", "application/pdf", file);
    assert_eq!(status, 200);
    serde_json::from_slice(&body).unwrap()
}

#[test]
fn what_is_printed_is_known_again_rests_on_what_its_code_says_and_one_changed_byte_is_found_out() {
    let (place, client) = yard();
    let yard = json!(place.opened.keeper.known().yard.hash);
    // The morning's paper is a form a machine: minutes, where typesetting is not optimised. It is made of the others.
    for document in Document::ALL.iter().filter(|document| **document != Document::Yard) {
        let (event, file) = print(&client, *document, &asked(*document));
        let known = verdict(&client, &file);
        let one = &known["issued"][0];
        assert_eq!((&known["genuine"], &one["event"]), (&json!(true), &json!(event)), "{document}");
        assert_eq!((one["document"].as_str(), &one["since"]), (Some(document.as_str()), &json!([])));
        match (document, one["rests_on_event"].as_str()) {
            (Document::WalkRound | Document::Slip, event) => {
                let record = client.get(&format!("/api/v1/record/{}", event.unwrap()));
                assert_eq!(record["hash"], one["rests_on"], "{document}: the event its code names");
            }
            (Document::Tag, None) => {
                assert_eq!((&one["rests_on"], one["tags"].to_string().as_str()), (&Value::Null, "[\"0087\",\"0088\"]"));
            }
            (Document::Stickers, None) => assert_eq!(one["rests_on"], Value::Null),
            (_, event) => assert_eq!((&one["rests_on"], event), (&yard, None), "{document}: the yard's files"),
        }
        let mut changed = file.clone();
        let middle = changed.len() / 2;
        changed[middle] ^= 1;
        assert_eq!(verdict(&client, &changed)["genuine"], false, "{document}");
    }
    let code = place.opened.keeper.store().setting("feedback code of H-02").unwrap();
    assert!(code.is_some(), "the slip's code for riders leads somewhere");
}

#[test]
fn sizes_are_as_asked_a_draft_is_not_known_and_nonsense_is_refused() {
    let (place, client) = yard();
    let tag =
        |size: &str, draft: bool| print(&client, Document::Tag, &json!({ "number": 7, "size": size, "draft": draft }));
    let ((_, a4), (event, letter)) = (tag("a4", false), tag("letter", true));
    assert_ne!(a4, letter);
    assert_eq!((event.as_str(), &verdict(&client, &letter)["genuine"]), ("", &json!(false)), "a draft");
    let refused = |by: &str, document: &str, asked: Value| {
        place.client(by).ask("POST", &format!("/api/v1/paper/{document}"), Some(&asked)).0
    };
    assert_eq!(refused("p-owner", "form", json!({})), 400, "no machine");
    assert_eq!(refused("p-owner", "form", json!({ "machine": "H-99" })), 404);
    assert_eq!(refused("p-owner", "form", json!({ "machine": "H-02", "size": "a3" })), 400);
    assert_eq!(refused("p-owner", "form", json!({ "machine": "H-02", "units": "cubits" })), 400);
    assert_eq!(refused("p-owner", "tag", json!({ "number": 1, "count": 201 })), 400);
    assert_eq!(refused("p-owner", "walk-round", json!({ "machine": "H-07" })), 422, "none was closed");
    assert_eq!(refused("p-rider", "form", json!({ "machine": "H-02" })), 403);
}

/// A square in a square.
const MARK: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" width="40" height="40"><path d="M2 2h36v36h-36z" fill="none" stroke="#000" stroke-width="4"/><path d="M14 14h12v12h-12z"/></svg>"##;

#[test]
fn the_schools_mark_stands_on_what_a_server_prints_once_its_owner_has_set_it() {
    let (place, client) = yard();
    let put = |by: &Client, file: &[u8]| {
        let request = Request::builder().method("PUT").uri("/api/v1/settings/mark");
        let request = request.header("content-type", "application/octet-stream").body(Body::from(file.to_vec()));
        by.send(request.unwrap()).0
    };
    let sheet = || print(&client, Document::Sheet, &json!({ "draft": true })).1;
    let without = sheet();
    assert_eq!(put(&place.client("m-okafor"), MARK.as_bytes()), 403, "the owner's alone");
    for wrong in [&b"no picture"[..], b"\x89PNG, not", b"<svg", b"<svg xmlns=\"http://www.w3.org/2000/svg\"><g></svg>"]
    {
        assert_eq!(put(&client, wrong), 422, "{wrong:?}");
    }
    assert_eq!(put(&client, &vec![b' '; (256 << 10) + 1]), 413);
    assert_eq!(client.get("/api/v1/settings")["mark"], Value::Null);
    assert_eq!(put(&client, MARK.as_bytes()), 200);
    let known = client.get("/api/v1/settings")["mark"].clone();
    assert_eq!(known, json!({ "sha256": muster_core::hash::of_text(MARK), "bytes": MARK.len() }));
    assert!(sheet().len() > without.len());
    assert_eq!(client.ask("DELETE", "/api/v1/settings/mark", None).0, 200);
    assert_eq!(sheet(), without);
}
