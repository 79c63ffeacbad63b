//! Papers at the doors: known again by the hash of their file, and said plainly where this build prints none.

use muster::printed::PRINTS;
use muster_core::record::{
    decide::Command,
    payload::{Document, PaperIssued, PaperSize},
};
use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};

use super::kit::{Place, now, person};

/// Bytes that stand for a file; what is in them is nobody's business but the printer's.
const FILE: &[u8] = b"%PDF-1.7 a dossier";

fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// A yard in which that file was printed of H-07.
fn printed() -> (Place, String) {
    let place = Place::of_the_yard();
    let keeper = &place.opened.keeper;
    let paper = PaperIssued {
        machine: Some("H-07".into()),
        document: Document::Dossier,
        sha256: hash(FILE),
        bytes: FILE.len() as u64,
        size: PaperSize::Letter,
        rests_on: Some(keeper.known().yard.hash.clone()),
        event: None,
        tags: Vec::new(),
    };
    let event = keeper.act(Command::Issue(paper), &person("p-auditor"), now()).unwrap()[0].to_string();
    (place, event)
}

#[test]
fn a_paper_is_known_again_by_its_bytes_and_by_their_hash() {
    let (place, event) = printed();
    let client = place.client("p-instructor");
    let by_hash = client.get(&format!("/api/v1/paper/issued/{}", hash(FILE)));
    let (status, _, body) = client.posts("/api/v1/paper/verify", "application/pdf", FILE);
    assert_eq!((status, &serde_json::from_slice::<Value>(&body).unwrap()), (200, &by_hash));
    assert_eq!(by_hash["genuine"], true);
    let one = &by_hash["issued"][0];
    let told = ["event", "document", "machine", "person", "size", "device"].map(|name| one[name].as_str().unwrap());
    assert_eq!(told, [&event, "dossier", "H-07", "p-auditor", "letter", "office"]);
    assert_eq!(one["since"], json!([]));
    assert_eq!(by_hash["proves_not"].as_array().unwrap().len(), 3, "what it does not prove stands beside");
}

#[test]
fn one_changed_byte_is_found_out() {
    let (place, _) = printed();
    let client = place.client("p-instructor");
    for at in 0..FILE.len() {
        let mut changed = FILE.to_vec();
        changed[at] ^= 1;
        let verdict = client.get(&format!("/api/v1/paper/issued/{}", hash(&changed)));
        assert_eq!((&verdict["genuine"], &verdict["issued"]), (&json!(false), &json!([])), "byte {at}");
    }
}

#[test]
fn what_came_after_a_paper_is_told_with_it() {
    let (place, _) = printed();
    let client = place.client("p-owner");
    let path = format!("/api/v1/paper/issued/{}", hash(FILE));
    client.does(&json!({ "do": "tag", "machine": "H-07", "why": "clutch drags" }));
    assert_eq!(client.get(&path)["issued"][0]["since"], json!(["H-07 has gone on by one event"]));
    client.writes("law-attached", &json!({ "pack": null }));
    let since = client.get(&path)["issued"][0]["since"].to_string();
    assert!(since.contains("the yard's files (machines, sheets, house rules) have changed"), "{since}");
}

#[test]
fn a_code_leads_to_the_papers_that_rest_on_it() {
    let (place, _) = printed();
    let client = place.client("p-owner");
    let hash = place.opened.keeper.known().yard.hash.clone();
    let found = client.get(&format!("/api/v1/paper/resting-on/{}", hash.to_uppercase()));
    assert_eq!((&found["is_the_yard_now"], found["issued"].as_array().unwrap().len()), (&json!(true), 1));
    let other = client.get(&format!("/api/v1/paper/resting-on/{}", "0".repeat(64)));
    assert_eq!((&other["is_the_yard_now"], &other["issued"]), (&json!(false), &json!([])));
    assert_eq!(client.ask("GET", "/api/v1/paper/resting-on/7", None).0, 400);
    assert_eq!(client.posts("/api/v1/paper/verify", "application/pdf", b"").0, 400, "nothing was sent");
}

#[test]
fn nobody_writes_down_a_paper_that_was_not_printed_here() {
    let (place, _) = printed();
    let payload = json!({ "machine": "H-07", "document": "dossier", "sha256": "0".repeat(64), "bytes": 1, "size": "a4",
        "rests_on": null, "event": null, "tags": [] });
    let asked = json!({ "do": "write", "kind": "paper-issued", "payload": payload });
    let (status, why) = place.client("p-owner").refused(&asked);
    assert_eq!(status, 422, "{why}");
    assert!(why.contains("not written by hand"), "{why}");
}

#[test]
fn a_server_says_whether_it_prints() {
    let place = Place::of_the_yard();
    let client = place.client("p-owner");
    assert_eq!(client.get("/health")["prints"], PRINTS);
    assert_eq!(client.get("/api/v1/me")["prints"], PRINTS);
    if !PRINTS {
        let (status, problem) = client.ask("POST", "/api/v1/paper/form", Some(&json!({ "machine": "H-07" })));
        assert_eq!((status, &problem["type"]), (501, &json!("/api/v1/problems#not-built")), "{problem}");
        assert!(problem["detail"].as_str().unwrap().contains("built without paper"), "{problem}");
    }
}

#[test]
fn a_number_hangs_on_one_machine_at_a_time() {
    let place = Place::of_the_yard();
    let client = place.client("p-owner");
    let tag = |machine: &str, number: &str| json!({ "do": "tag", "machine": machine, "why": "clutch drags", "number": number });
    let hung = client.does(&tag("H-07", "0087"));
    let (status, why) = client.refused(&tag("H-08", "87"));
    assert_eq!(status, 409);
    assert!(why.contains("hangs on H-07"), "{why}");
    client.does(&tag("H-08", "88"));
    let known = client.get("/api/v1/tags/87");
    assert_eq!((&known["hangs"]["machine"], &known["lifted"]), (&json!("H-07"), &json!([])));
    client.does(&json!({ "do": "untag", "machine": "H-07", "lifts": [hung], "reason": "mended" }));
    let known = client.get("/api/v1/tags/0087");
    assert_eq!((&known["hangs"], &known["lifted"][0]["event"]), (&Value::Null, &json!(hung)), "used and lifted");
    client.does(&tag("H-09", "87"));
    assert_eq!(client.get("/api/v1/tags/0087")["hangs"]["machine"], "H-09");
    assert_eq!(client.get("/api/v1/tags/4711")["lifted"], json!([]));
    assert_eq!(client.ask("GET", "/api/v1/tags/%20", None).0, 400);
}
