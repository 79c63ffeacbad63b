//! What lies behind a machine's page: its readings over the distance, and one event of the log.

use serde_json::{Value, json};

use super::kit::{Client, Place};

fn walked(client: &Client, odometer: &str) -> String {
    client.writes(
        "walk-round-opened",
        &json!({
            "machine": "H-07", "depth": "before-ride", "no_hold_tag": true, "key_on_hook": true,
            "found": { "heat": "cold", "power": "off", "stance": "side-stand" }, "odometer": odometer, "air": "9 °C",
            "barometer": null, "ridden": null, "planned": null, "comma": false,
        }),
    )
}

fn read(client: &Client, walk_round: &str, check: &str, figure: &Value, with: &str) -> String {
    client.writes(
        "reading-taken",
        &json!({
            "machine": "H-07", "walk_round": walk_round, "check": check, "read": figure, "with": with, "tyre": null,
            "air": null, "odometer": null, "why": null, "note": null, "corrects": null,
        }),
    )
}

/// One psi is 6.894 757 kPa (NIST SP 811, appendix B.9).
#[test]
fn readings_come_with_their_distance_oldest_first_and_as_they_were_read() {
    let place = Place::of_the_yard();
    let workshop = place.client("p-workshop");
    let walk = walked(&workshop, "12 480 km");
    read(&workshop, &walk, "tyre.front.pressure", &json!("20.0 psi"), "G-2");
    workshop.writes(
        "set",
        &json!({ "machine": "H-07", "walk_round": walk, "check": "tyre.front.pressure", "act": "pumped" }),
    );
    read(&workshop, &walk, "tyre.front.pressure", &json!("25.5 psi"), "G-2");

    let view = place.client("p-auditor").get("/api/v1/machines/H-07/readings");
    let checks = view["checks"].as_array().unwrap();
    assert_eq!(checks.len(), 1, "only what was read: {view}");
    assert_eq!((&checks[0]["check"], &checks[0]["unit"]), (&json!("tyre.front.pressure"), &json!("kPa")));
    let readings = checks[0]["readings"].as_array().unwrap();
    let values: Vec<f64> = readings.iter().map(|of| of["value"].as_f64().unwrap()).collect();
    for (value, psi) in values.iter().zip([20.0, 25.5]) {
        assert!((value - psi * 6.894_757).abs() < 1e-3, "{psi} psi is {value} kPa");
    }
    assert_eq!((values.len(), &readings[0]["after"], &readings[1]["after"]), (2, &Value::Null, &json!("pumped")));
    assert_eq!(readings[0]["odometer_km"], 12_480.0);
    let one = workshop.get("/api/v1/machines/H-07/readings?check=tyre.front.pressure");
    assert_eq!(one, view, "of the one check that was read the same is told");
    let other = workshop.get("/api/v1/machines/H-07/readings?check=oil.level");
    assert_eq!(other["checks"], json!([]), "nobody read it: {other}");
    for path in ["H-99/readings", "H-07/readings?check=oil.colour", "H-99/readings/latest", "H-99/history"] {
        let (status, answer) = workshop.ask("GET", &format!("/api/v1/machines/{path}"), None);
        assert_eq!(status, 404, "{path}: {answer}");
    }
}

#[test]
fn the_latest_readings_say_how_many_there_are_and_are_the_newest_of_the_whole() {
    let place = Place::of_the_yard();
    let workshop = place.client("p-workshop");
    // One more than is told.
    for psi in 20..29 {
        let walk = walked(&workshop, &format!("12 4{} km", psi + 60));
        read(&workshop, &walk, "tyre.front.pressure", &json!(format!("{psi}.0 psi")), "G-2");
    }
    let whole = workshop.get("/api/v1/machines/H-07/readings");
    let latest = workshop.get("/api/v1/machines/H-07/readings/latest");
    let (check, own) = (&whole["checks"][0], &latest["checks"][0]);
    assert_eq!((&own["check"], &own["unit"], &own["over_distance"]), (&check["check"], &check["unit"], &json!(9)));
    let readings = check["readings"].as_array().unwrap();
    let all = |name: &str| readings.iter().skip(1).map(|of| of[name].clone()).collect::<Value>();
    assert_eq!(own["places"], json!([{ "place": null, "at": all("at"), "values": all("value") }]), "{whole}");
}

#[test]
fn a_history_tells_each_thing_that_happened_and_whether_it_is_over() {
    let place = Place::of_the_yard();
    let workshop = place.client("p-workshop");
    let walk = walked(&workshop, "12 480 km");
    read(&workshop, &walk, "tyre.front.pressure", &json!("25.5 psi"), "G-2");
    let tag = workshop.does(&json!({ "do": "tag", "machine": "H-07", "why": "clutch drags" }));
    let lines = |what: &str| -> Vec<Value> {
        let view = workshop.get("/api/v1/machines/H-07/history");
        view["lines"].as_array().unwrap().iter().filter(|of| of["kind"] == what).cloned().collect()
    };
    let [walk_round] = lines("walk-round").try_into().unwrap();
    assert_eq!((&walk_round["what"], &walk_round["answers"]), (&json!("before-ride"), &json!(1)));
    let [hung] = lines("tag").try_into().unwrap();
    assert_eq!(
        (&hung["what"], &hung["by"], &hung["is_over"]),
        (&json!("clutch drags"), &json!("p-workshop"), &Value::Null)
    );
    workshop.does(&json!({ "do": "untag", "machine": "H-07", "lifts": [tag], "reason": "freed and tried" }));
    assert_eq!(lines("tag")[0]["is_over"], true);
}

#[test]
fn what_was_noted_on_paper_is_kept_as_of_then_and_nothing_is_decided_in_the_past_or_to_come() {
    let place = Place::of_the_yard();
    let workshop = place.client("p-workshop");
    let walk = walked(&workshop, "12 480 km");
    let read = json!({ "do": "write", "kind": "reading-taken", "payload": {
        "machine": "H-07", "walk_round": walk, "check": "tyre.front.pressure", "read": "25.5 psi", "with": "G-2",
        "tyre": null, "air": null, "odometer": null, "why": null, "note": "from the paper form", "corrects": null,
    } });
    let ask = |at: &str, command: &Value| workshop.ask("POST", &format!("/api/v1/commands?at={at}"), Some(command));
    let (status, answer) = ask("2026-11-24T07:05:00%2B00:00", &read);
    assert_eq!(status, 201, "{answer}");
    let view = workshop.get("/api/v1/machines/H-07/readings");
    assert_eq!(view["checks"][0]["readings"][0]["at"], "2026-11-24T07:05:00+00:00", "{view}");

    let tag = json!({ "do": "tag", "machine": "H-07", "why": "front brake spongy" });
    for (at, command) in
        [("2999-01-01T00:00:00%2B00:00", &read), ("yesterday", &read), ("2026-11-24T07:05:00%2B00:00", &tag)]
    {
        let (status, answer) = ask(at, command);
        assert!(status == 400 && answer["detail"].as_str().unwrap().starts_with("at: "), "{at}: {answer}");
    }
}

/// The hash shown is that of the bytes shown (SHA-256, FIPS 180-4, by the reference crate `sha2`).
#[test]
fn an_event_comes_as_it_was_signed() {
    use sha2::Digest as _;
    let place = Place::of_the_yard();
    let tag = place.client("p-instructor").does(&json!({ "do": "tag", "machine": "H-07", "why": "clutch drags" }));
    let view = place.client("p-owner").get(&format!("/api/v1/record/{tag}"));
    let bytes = view["signed"]["event"].as_str().unwrap();
    let event: Value = serde_json::from_str(bytes).unwrap();
    assert_eq!((&event["kind"], &event["payload"]["why"]), (&json!("tagged"), &json!("clutch drags")));
    let hash: String = sha2::Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect();
    assert_eq!(view["hash"], hash);
    assert_eq!(view["set_aside"], json!([]));
    let owner = place.client("p-owner");
    assert_eq!(owner.ask("GET", "/api/v1/record/0123456789abcdef.17", None).0, 404);
    assert_eq!(owner.ask("GET", "/api/v1/record/nonsense", None).0, 400);
}
