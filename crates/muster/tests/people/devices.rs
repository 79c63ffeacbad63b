//! Devices: codes, keys proven to be held, revocation, phones that are one person's and phones people share, PINs.

use muster::people::{enrol, pin};
use muster_core::record::{
    event::Signed,
    id::PersonId,
    payload::{DeviceAdded, OdometerNoted, Payload, PersonChanged, Right, Role},
};
use serde_json::{Value, json};

use super::kit::{Phone, Yard, now, pass, person, spare};

fn code(yard: &Yard, of: &Value) -> String {
    let link = yard.asks(&person(Role::Owner), "POST", "/api/v1/devices/codes", of, 201);
    assert_eq!(link["lasts_s"], 600);
    link["link"].as_str().unwrap().rsplit_once("/enrol#").unwrap().1.to_string()
}

fn enrolment(phone: &Phone, code: &str, label: &str) -> Value {
    let text = enrol::stated(code, &phone.key(), label);
    json!({ "code": code, "key": phone.key(), "label": label, "signature": phone.device.sign(text).signature })
}

fn enrolled(yard: &Yard, person: Option<&PersonId>, seed: u8) -> Phone {
    let phone = Phone::beside(yard.keeper(), seed);
    let code = code(yard, &json!({ "person": person }));
    let answer = yard.stranger_asks("POST", "/api/v1/devices", &enrolment(&phone, &code, "yard phone"), 201);
    assert_eq!(answer["device"], json!(phone.device.id()));
    Phone::beside(yard.keeper(), seed)
}

fn odometer(figure: &str) -> Payload {
    OdometerNoted { machine: "H-07".into(), odometer: figure.into() }.into()
}

#[test]
fn a_code_enrols_one_device_once_within_ten_minutes() {
    let yard = Yard::new();
    let (phone, other) = (Phone::beside(yard.keeper(), 7), Phone::beside(yard.keeper(), 8));
    let first = code(&yard, &json!({ "person": "p-instructor" }));
    assert_eq!(first.len(), 32);
    // Nobody enrols a key they do not hold: signed by another, over another label, or with another code.
    let proper = enrolment(&phone, &first, "Ida's");
    let with = |field: &str, value: &Value| {
        let mut changed = proper.clone();
        changed[field] = value.clone();
        changed
    };
    for wrong in [
        with("key", &json!(other.key())),
        with("label", &json!("another")),
        with("signature", &enrolment(&other, &first, "Ida's")["signature"]),
        with("signature", &json!("00")),
        with("key", &json!("zz")),
    ] {
        yard.stranger_asks("POST", "/api/v1/devices", &wrong, 403);
    }
    // The code is not used up by those.
    yard.stranger_asks("POST", "/api/v1/devices", &proper, 201);
    yard.stranger_asks("POST", "/api/v1/devices", &enrolment(&other, &first, "Ida's"), 403);
    let late = code(&yard, &json!({}));
    pass(600);
    yard.stranger_asks("POST", "/api/v1/devices", &enrolment(&other, &late, "shared"), 403);
    // A code for something else is none.
    let link = yard.asks(&person(Role::Owner), "POST", "/api/v1/people/p-spare/password", &json!({}), 201);
    let password = link["link"].as_str().unwrap().rsplit_once('#').unwrap().1.to_string();
    yard.stranger_asks("POST", "/api/v1/devices", &enrolment(&other, &password, "shared"), 403);

    let devices = yard.asks(&person(Role::Auditor), "GET", "/api/v1/devices", &Value::Null, 200);
    let row = devices.as_array().unwrap().iter().find(|row| row["device"] == json!(phone.device.id())).unwrap().clone();
    let expected = json!({
        "device": phone.device.id(), "label": "Ida's", "person": "p-instructor", "held": 0, "revoked": null, "own": false,
    });
    assert_eq!(row, expected);
    assert_eq!(yard.keeper().known().state.flags, []);
}

#[test]
fn what_a_revoked_device_writes_later_is_kept_flagged_and_not_trusted() {
    let yard = Yard::new();
    let instructor = person(Role::Instructor);
    let mut phone = enrolled(&yard, Some(&instructor), 7);
    let token = yard.token(&instructor);
    let send = |event, status| {
        let fates = yard.asks(&person(Role::Owner), "POST", "/api/v1/sync", &json!({ "events": [event] }), status);
        fates["events"][0]["fate"].as_str().unwrap().to_string()
    };
    assert_eq!(send(json!(phone.writes(&instructor, odometer("98000 km"))), 200), "kept");
    let path = format!("/api/v1/devices/{}?why=lost", phone.device.id());
    yard.asks(&person(Role::Owner), "DELETE", &path, &Value::Null, 204);
    // The cookie that is on it is worth nothing any more.
    let me = yard.ask(super::kit::Ask { token: Some(&token), ..Default::default() }, "GET", "/api/v1/me", None);
    assert_eq!(me.status, 401);

    let late = phone.writes(&instructor, odometer("99000 km"));
    assert_eq!(send(json!(late), 200), "kept");
    let machine = yard.asks(&person(Role::Owner), "GET", "/api/v1/machines/H-07", &Value::Null, 200);
    assert_eq!(machine["odometer_km"], 98000.0, "what came before counts, what came after does not");
    assert_eq!(machine["set_aside"][0]["event"], json!(format!("{}.2", phone.device.id())));
    assert_eq!(machine["set_aside"][0]["why"], "written by a device after it was revoked");
    let log = yard.asks(&person(Role::Owner), "GET", "/api/v1/record?after=0&limit=1000", &Value::Null, 200);
    assert!(log["events"].as_array().unwrap().iter().any(|event| event["event"] == json!(late.event)), "it is kept");

    // The server does not cut off its own hand.
    let own = format!("/api/v1/devices/{}?why=lost", yard.keeper().here());
    yard.asks(&person(Role::Owner), "DELETE", &own, &Value::Null, 422);
}

#[test]
fn a_phone_speaks_for_its_person_and_a_shared_one_for_nobodys_rights() {
    let yard = Yard::new();
    let (owner, instructor) = (person(Role::Owner), person(Role::Instructor));
    let (mut own, mut shared) = (enrolled(&yard, Some(&instructor), 7), enrolled(&yard, None, 8));
    let makes_owner = || -> Payload {
        PersonChanged {
            person: instructor.clone(),
            name: None,
            role: Role::Owner,
            rights: Right::ALL.to_vec(),
            active: true,
        }
        .into()
    };
    let key = Phone::beside(yard.keeper(), 9);
    let adds_device = || -> Payload {
        DeviceAdded { device: key.device.id(), key: key.key(), label: "mine".into(), person: None }.into()
    };
    let sends = |events: Vec<Signed>| -> Vec<String> {
        let sent = yard.asks(&instructor, "POST", "/api/v1/sync", &json!({ "events": events }), 200);
        let fates = sent["events"].as_array().unwrap();
        fates
            .iter()
            .map(|of| format!("{}: {}", of["fate"].as_str().unwrap(), of["why"].as_str().unwrap_or("")))
            .collect()
    };
    let written = vec![
        own.writes(&owner, makes_owner()),
        own.writes(&owner, odometer("97000 km")),
        own.writes(&instructor, odometer("96000 km")),
        shared.writes(&instructor, odometer("96500 km")),
    ];
    // What an own phone writes in another's name is kept and set aside.
    assert_eq!(sends(written), ["kept: "; 4]);
    // What a shared one says of who may do what does not come in, and its series waits till a person looks.
    let mut another = Phone::beside(yard.keeper(), 8);
    let refused = sends(vec![shared.writes(&owner, makes_owner()), shared.writes(&instructor, odometer("96900 km"))]);
    assert!(refused[0].starts_with("refused: people and devices are changed at the server"), "{refused:?}");
    assert!(refused[1].starts_with("refused: "), "{refused:?}");
    assert!(sends(vec![another.writes(&owner, adds_device())])[0].starts_with("refused: "));
    let state = yard.keeper().known().state;
    assert_eq!(state.standing(&instructor).unwrap().role, Role::Instructor);
    assert!(!state.devices.contains_key(&key.device.id()));
    let why: Vec<String> = state.flags.iter().map(|flag| flag.why.to_string()).collect();
    assert_eq!(why, ["written on a device that is another person's"]);
    let machine = yard.asks(&owner, "GET", "/api/v1/machines/H-07", &Value::Null, 200);
    assert_eq!(machine["odometer_km"], 96500.0, "its own person's, and anybody's on a shared one");
}

#[test]
fn a_pin_is_given_to_shared_phones_as_its_hash_and_guesses_here_are_throttled() {
    let yard = Yard::new();
    let instructor = person(Role::Instructor);
    let path = "/api/v1/people/p-instructor/pin";
    for wrong in ["123", "123456789", "12a4", "١٢٣٤", ""] {
        yard.asks(&instructor, "POST", path, &json!({ "pin": wrong }), 400);
    }
    yard.asks(&person(Role::Owner), "POST", path, &json!({ "pin": "4711" }), 403);
    let has_pin = || yard.asks(&instructor, "GET", "/api/v1/me", &Value::Null, 200)["has_pin"].clone();
    assert_eq!(has_pin(), false, "one that was never set is told from a wrong one");
    yard.asks(&instructor, "POST", path, &json!({ "pin": "4711" }), 204);
    assert_eq!(has_pin(), true);
    let check = |guess: &str, status| {
        yard.asks(&spare(), "POST", "/api/v1/people/p-instructor/pin/check", &json!({ "pin": guess }), status);
    };
    check("4711", 204);
    for _ in 0..5 {
        check("0000", 403);
    }
    check("4711", 429);
    pass(15);
    check("4711", 204);

    let (own, shared) = (enrolled(&yard, Some(&instructor), 7), enrolled(&yard, None, 8));
    let asks = |phone: &Phone, at: &str| {
        let moment = muster_core::calendar::Moment::parse(at).unwrap();
        let signature = phone.device.sign(pin::stated(phone.device.id(), moment)).signature;
        json!({ "device": phone.device.id(), "at": at, "signature": signature })
    };
    let at = now().to_string();
    let hashes = yard.asks(&instructor, "POST", "/api/v1/sync/pins", &asks(&shared, &at), 200);
    let phc = hashes["people"]["p-instructor"].as_str().unwrap();
    assert!(phc.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"), "{phc}");
    assert!(muster::people::password::is_right(phc, "4711"));
    yard.asks(&instructor, "POST", "/api/v1/sync/pins", &asks(&own, &at), 403);
    yard.asks(&instructor, "POST", "/api/v1/sync/pins", &asks(&shared, "2026-11-24T07:00:00+00:00"), 403);
    let mut unsigned = asks(&shared, &at);
    unsigned["signature"] = asks(&own, &at)["signature"].clone();
    yard.asks(&instructor, "POST", "/api/v1/sync/pins", &unsigned, 403);
}
