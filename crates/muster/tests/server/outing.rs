//! An outing worked out by the server, and a release that it binds.

use serde_json::{Value, json};

use super::kit::{Client, Place};

fn told() -> Value {
    json!({
        "rider": "82 kg", "passenger": "64 kg", "luggage": ["cases=12 kg"], "distance": "180 km", "speed": "110 km/h",
        "air": "8", "rain": true, "back": "17:30",
    })
}

fn worked(client: &Client, told: &Value) -> (u16, Value) {
    client.ask("POST", "/api/v1/machines/H-24/outing?on=2026-11-24T08:00:00%2B00:00", Some(told))
}

/// The loads of docs/outing.md, by hand there.
#[test]
fn an_outing_is_worked_out_and_what_cannot_be_is_said_beside_the_rest() {
    let place = Place::of_the_yard();
    let client = place.client("p-workshop");
    let (status, of) = worked(&client, &told());
    assert_eq!(status, 200, "{of}");
    assert_eq!(of["figures"]["loads"]["whole_kg"], 396.0);
    let item = |id: &str| of["items"].as_array().unwrap().iter().find(|item| item["id"] == id).unwrap().clone();
    let rear = item("axle.rear")["says"].as_str().unwrap().replace('\u{a0}', " ");
    assert_eq!(rear, "237 kg ± 6, at most 275 kg: 38 kg left");
    assert!(of["before_leaving"].to_string().contains("Rear preload up by 12 clicks, to click 16"), "{of}");
    for (field, value, says) in [
        ("rider", json!("900 kg"), "must be 20 to 250 kg"),
        ("back", json!("teatime"), "write a clock like 17:30"),
        ("luggage", json!(["twelve"]), "write place and mass"),
    ] {
        let mut wrong = told();
        wrong[field] = value;
        let (status, of) = worked(&client, &wrong);
        assert_eq!((status, of["verdict"].as_str()), (200, Some("unseen")), "{of}");
        assert!(of["faults"][0].as_str().unwrap().contains(says), "{of}");
        assert!(of["items"].as_array().unwrap().len() > 1, "the rest stands: {of}");
    }
    assert_eq!(worked(&client, &json!({ "riders": 3 })).0, 400);
    assert_eq!(client.ask("POST", "/api/v1/machines/H-99/outing", Some(&told())).0, 404);
}
