//! A day through the doors: walked round, tagged, mended, proven, let out, taken back; and by two installations apart.

use muster::keeper::{Device, Keeper, sync};
use muster_core::record::payload::{DeviceAdded, Payload, Role};
use serde_json::{Value, json};

use super::kit::{Place, added, now};

const H07: &str = "/api/v1/machines/H-07";

fn open(machine: &str) -> Value {
    json!({
        "machine": machine, "depth": "before-ride", "no_hold_tag": true, "key_on_hook": true,
        "found": { "heat": "cold", "power": "off", "stance": "side-stand" }, "odometer": null, "air": "9 °C",
        "barometer": null, "ridden": null, "planned": null, "comma": false,
    })
}

fn saw(machine: &str, walk_round: &str, check: &str) -> Value {
    json!({
        "machine": machine, "walk_round": walk_round, "check": check, "saw": "sound", "class": null, "why": null,
        "note": null, "corrects": null,
    })
}

fn read(machine: &str, walk_round: &str, check: &str, figure: &Value, with: &str) -> Value {
    json!({
        "machine": machine, "walk_round": walk_round, "check": check, "read": figure, "with": with, "tyre": null,
        "air": null, "odometer": null, "why": null, "note": null, "corrects": null,
    })
}

#[test]
fn the_yard_is_shown_with_every_machine_and_what_is_missing() {
    let place = Place::of_the_yard();
    let yard = place.client("p-auditor").get("/api/v1/yard");
    assert_eq!(yard["name"], "Harrow Lane Riding School");
    assert_eq!(yard["problems"], json!([]));
    let machines = yard["machines"].as_array().unwrap();
    assert_eq!(machines.len(), 24);
    // Nobody has walked round any: every one in service is unseen, and says what to look at.
    let seven = machines.iter().find(|machine| machine["machine"] == "H-07").unwrap();
    assert_eq!(seven["verdicts"][0]["verdict"], "unseen");
    assert!(!seven["reasons"].as_array().unwrap().is_empty());
}

#[test]
fn a_job_closes_only_by_its_readings_and_lifts_only_the_tag_it_names() {
    let place = Place::of_the_yard();
    let (workshop, instructor) = (place.client("p-workshop"), place.client("p-instructor"));
    let tag = instructor.does(&json!({ "do": "tag", "machine": "H-07", "why": "front brake spongy", "number": "14" }));
    let other = instructor.does(&json!({ "do": "tag", "machine": "H-07", "why": "mirror loose", "number": "15" }));
    let job = workshop.writes(
        "job-opened",
        &json!({ "machine": "H-07", "job": "puncture-front", "why": "slow leak", "findings": [], "tags": [tag] }),
    );
    // Not done, so nothing can prove it.
    let prove = json!({ "do": "prove", "machine": "H-07", "job": job });
    assert_eq!(workshop.refused(&prove).0, 422);
    let moved = |from: &str, to: &str| json!({ "machine": "H-07", "job": job, "from": from, "to": to, "note": null, "ended": [] });
    let in_hand = workshop.writes("job-moved", &moved(&job, "in hand"));
    workshop.writes("job-moved", &moved(&in_hand, "done"));
    let (status, detail) = workshop.refused(&prove);
    assert_eq!(status, 422);
    assert!(detail.contains("tyre.front.pressure not answered since it was done"), "{detail}");

    // Lifting its tag by hand is refused: the job lifts it.
    let lift = json!({ "do": "untag", "machine": "H-07", "lifts": [tag], "reason": "looks good" });
    assert!(workshop.refused(&lift).1.contains("prove the job"));

    let walk = workshop.writes("walk-round-opened", &open("H-07"));
    let low = read("H-07", &walk, "tyre.front.pressure", &json!("20.0 psi"), "G-2");
    workshop.writes("reading-taken", &low);
    workshop.writes("observation-made", &saw("H-07", &walk, "tyre.front.damage"));
    let (_, detail) = workshop.refused(&prove);
    // Off is a step, no hold: it is to be set and read again, and proves nothing till then.
    assert!(detail.contains("tyre.front.pressure is unseen"), "{detail}");
    workshop.writes(
        "set",
        &json!({ "machine": "H-07", "walk_round": walk, "check": "tyre.front.pressure", "act": "pumped" }),
    );
    workshop.writes("reading-taken", &read("H-07", &walk, "tyre.front.pressure", &json!("25.5 psi"), "G-2"));
    workshop.does(&prove);

    let view = workshop.get(H07);
    let state =
        |id: &str| view["tags"].as_array().unwrap().iter().find(|tag| tag["id"] == id).unwrap()["lifted"].clone();
    assert_ne!(state(&tag), Value::Null, "the tag the job names is lifted");
    assert_eq!(state(&other), Value::Null, "the other still hangs");
    assert_eq!(view["jobs"][0]["state"], "proven");
    // Proven is proven: a second proof is refused.
    assert_eq!(workshop.refused(&prove).0, 422);
}

/// Two installations of one yard, apart for a day, end in the same state; and so they do when synced ten times more.
#[test]
fn two_devices_work_apart_and_come_to_hold_the_same() {
    let (office, phone) = (Place::of_the_yard(), Place::empty());
    let owner = office.client("p-owner");
    let key = phone.opened.keeper.public_key();
    let device = DeviceAdded {
        device: phone.opened.keeper.here(),
        key: muster::keeper::hex(&key),
        label: "range phone".into(),
        person: None,
    };
    owner.writes("device-added", &Payload::from(device).to_value());
    let ask = |method: &str, path: &str, body: Option<&Value>| {
        let (status, answer) = owner.ask(method, path, body);
        anyhow::ensure!(status < 400, "{answer}");
        Ok(answer)
    };
    let first = sync(&phone.opened.keeper, &ask).unwrap();
    assert!(first.got > 30 && first.sent == 0 && first.refused.is_empty(), "{first:?}");

    // Apart: the phone tags H-07 while the office lets it be tagged too, and both look at H-08.
    let on_phone = phone.client("p-instructor");
    on_phone.does(&json!({ "do": "tag", "machine": "H-07", "why": "clutch drags" }));
    let walk = on_phone.writes("walk-round-opened", &open("H-08"));
    on_phone.writes("observation-made", &saw("H-08", &walk, "tyre.front.damage"));
    owner.does(&json!({ "do": "tag", "machine": "H-07", "why": "oil on the tyre" }));
    let walk = owner.writes("walk-round-opened", &open("H-08"));
    owner.writes("reading-taken", &read("H-08", &walk, "tyre.front.pressure", &json!("32 psi"), "G-2"));
    owner
        .does(&json!({ "do": "write", "kind": "person-added", "payload": payload(&added("p-new", Role::Rider, &[])) }));

    let second = sync(&phone.opened.keeper, &ask).unwrap();
    assert_eq!((second.sent, second.refused.len()), (3, 0), "{second:?}");
    for _ in 0..10 {
        let again = sync(&phone.opened.keeper, &ask).unwrap();
        assert_eq!((again.sent, again.got), (0, 0));
    }
    same(&office.opened.keeper, &phone.opened.keeper);
    // What the office came to know event by event is what its events fold to.
    let (store, catalogue) = (office.opened.store.clone(), office.opened.keeper.catalogue().clone());
    let jobs = office.opened.keeper.jobs().to_vec();
    let again = Keeper::open(store, catalogue, jobs, Device::of_seed(&[9; 32])).unwrap();
    same(&office.opened.keeper, &again);
    let hanging = phone.client("p-owner").get(H07);
    assert_eq!(hanging["tags"].as_array().unwrap().len(), 2, "both tags hang on both");
}

fn payload(payload: &Payload) -> Value {
    payload.to_value()
}

/// Both hold the same events, the same states and the same verdict bytes.
fn same(a: &Keeper, b: &Keeper) {
    assert_eq!(a.store().heads().unwrap(), b.store().heads().unwrap());
    assert_eq!(a.known().state, b.known().state);
    for id in a.known().yard.machines.keys() {
        assert_eq!(a.machine(id).unwrap(), b.machine(id).unwrap(), "{id}");
        let bytes = |keeper: &Keeper| keeper.judge(id, now(), None).unwrap().unwrap().to_json().unwrap();
        assert_eq!(bytes(a), bytes(b), "{id}");
    }
}

#[test]
fn a_release_goes_by_the_rules_and_comes_back() {
    let place = Place::of_the_yard();
    let (owner, instructor) = (place.client("p-owner"), place.client("p-instructor"));
    let ask = |reason: Option<&str>| {
        json!({
            "do": "release", "machine": "H-07", "outing": "Module 1", "uses": ["range"], "riders": ["p-rider"],
            "from": "2026-11-24T08:05:00+00:00", "to": "2026-11-24T10:00:00+00:00", "reason": reason,
        })
    };
    // Nobody has walked round it: unseen, and an instructor has no right to sign against that.
    assert_eq!(instructor.refused(&ask(Some("short of machines"))).0, 422);
    // The owner has, with a reason; unseen of class dangerous goes on the range at most.
    assert!(owner.refused(&ask(None)).1.contains("write the reason"));
    let release = owner.does(&ask(Some("rolled round the yard at walking pace")));
    let view = owner.get(H07);
    assert_eq!(view["releases"][0]["id"], json!(release));
    assert_eq!(view["releases"][0]["verdicts"]["range"], "unseen");
    // It is out: a second release is refused, and a tag hung now makes a contradiction till the call is noted.
    assert_eq!(owner.refused(&ask(Some("again"))).0, 409);
    let tag = instructor.does(&json!({ "do": "tag", "machine": "H-07", "why": "heard the chain" }));
    let told = owner.get("/api/v1/yard");
    let row = told["machines"].as_array().unwrap().iter().find(|row| row["machine"] == "H-07").unwrap().clone();
    assert_eq!(row["out"], true);
    assert!(row["contradictions"][0].as_str().unwrap().contains("call the rider"), "{row}");
    instructor.writes(
        "call-noted",
        &json!({ "machine": "H-07", "tag": tag, "release": release, "answer": "stopped, pushing it back" }),
    );
    assert_eq!(owner.get(H07)["contradictions"], json!([]));
    instructor.writes("returned", &json!({
        "machine": "H-07", "release": release, "odometer": "12 990 km", "fuel": null, "damage": null, "key_back": true,
    }));
    assert_ne!(owner.get(H07)["releases"][0]["returned"], Value::Null);
}

#[test]
fn what_the_doors_say_of_themselves_is_openapi_and_every_refusal_a_problem() {
    let place = Place::of_the_yard();
    let client = place.client("p-auditor");
    let described = client.get("/api/v1/openapi.json");
    assert_eq!(described["openapi"], "3.1.0");
    for path in ["/api/v1/yard", "/api/v1/machines/{machine}", "/api/v1/commands", "/api/v1/sync", "/health"] {
        assert!(described["paths"][path].is_object(), "{path}");
    }
    for (path, methods) in described["paths"].as_object().unwrap() {
        for (method, door) in methods.as_object().unwrap() {
            for (status, answer) in door["responses"].as_object().unwrap() {
                let kinds = answer["content"].as_object().into_iter().flat_map(|content| content.keys());
                let problems = kinds.filter(|kind| *kind == "application/problem+json").count();
                assert_eq!(problems, usize::from(status.starts_with(['4', '5'])), "{method} {path} {status}");
            }
        }
    }
    let photo = &described["paths"]["/api/v1/photos/{photo}"]["get"]["parameters"][0];
    assert_eq!(photo["schema"]["pattern"], "^[0-9a-f]{64}$");
    for (method, path, body, expected) in [
        ("GET", "/api/v1/record?after=9223372036854775808", None, 400),
        ("GET", "/api/v1/nothing", None, 404),
        ("DELETE", "/api/v1/yard", None, 405),
        ("GET", "/api/v1/machines/X-99", None, 404),
        ("GET", "/api/v1/yard?on=yesterday", None, 400),
        ("GET", "/api/v1/yard?colour=blue", None, 400),
        ("POST", "/api/v1/commands", Some(json!({ "do": "dance" })), 400),
        ("POST", "/api/v1/commands", Some(json!(["tag", "H-07", "x"])), 400),
        ("POST", "/api/v1/commands", Some(json!({ "do": "tag", "machine": "H-07", "why": "x" })), 403),
        ("POST", "/api/v1/sync", Some(json!({ "events": [{ "event": "{}", "signature": "" }] })), 200),
    ] {
        let (status, answer) = client.ask(method, path, body.as_ref());
        assert_eq!(status, expected, "{method} {path}: {answer}");
        if status >= 400 {
            assert!(answer["type"].as_str().is_some_and(|kind| kind.starts_with("/api/v1/problems#")), "{answer}");
            assert!(!answer["detail"].as_str().unwrap().is_empty(), "{answer}");
        }
    }
}

#[test]
fn an_unchanged_yard_is_not_sent_again_and_the_log_is_paged() {
    use axum::{
        body::Body,
        http::{Request, header},
    };
    let place = Place::of_the_yard();
    let client = place.client("p-owner");
    let get = |etag: Option<&str>| {
        let mut request = Request::builder().uri("/api/v1/yard?on=2026-11-24T08:00:00%2B00:00");
        if let Some(etag) = etag {
            request = request.header(header::IF_NONE_MATCH, etag);
        }
        client.send(request.body(Body::empty()).unwrap())
    };
    let (status, headers, body) = get(None);
    assert!(status == 200 && !body.is_empty());
    assert!(headers["content-security-policy"].contains("default-src 'none'"));
    assert!(headers.contains_key("x-request-id"));
    let (status, _, body) = get(Some(&headers["etag"]));
    assert_eq!((status, body.len()), (304, 0));
    client.does(&json!({ "do": "tag", "machine": "H-07", "why": "x" }));
    assert_eq!(get(Some(&headers["etag"])).0, 200, "a tag changes the yard");

    let (mut after, mut events) = (0, 0);
    loop {
        let page = client.get(&format!("/api/v1/record?after={after}&limit=7"));
        let here = page["events"].as_array().unwrap().len();
        if here == 0 {
            break;
        }
        assert!(here <= 7);
        events += here;
        after = page["next"].as_u64().unwrap();
    }
    assert_eq!(events as u64, place.opened.keeper.store().count().unwrap());
}
