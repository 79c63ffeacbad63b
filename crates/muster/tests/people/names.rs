//! Names: seen by those who may, unreadable for good once erased, with every event as it was.

use muster::people::names;
use muster_core::record::{id::PersonId, payload::Role};
use serde_json::{Value, json};

use super::kit::{Yard, now, person, spare};

fn shown(yard: &Yard, id: &PersonId) -> Value {
    let people = yard.asks(&person(Role::Instructor), "GET", "/api/v1/people", &Value::Null, 200);
    people.as_array().unwrap().iter().find(|of| of["person"] == json!(id)).unwrap().clone()
}

/// Every event's bytes as they are held.
fn events(yard: &Yard) -> Vec<String> {
    let held = yard.keeper().store().since(0, 10_000).unwrap();
    held.into_iter().map(|stored| stored.signed.event).collect()
}

#[test]
fn an_erased_name_is_unreadable_and_no_event_changes() {
    let yard = Yard::new();
    let owner = person(Role::Owner);
    yard.gives_password(&spare(), super::kit::PHRASE);
    let token = yard.token(&spare());
    assert_eq!(shown(&yard, &spare())["name"], "Sam Spareman");
    let before = events(&yard);
    assert!(before.iter().all(|event| !event.contains("Spareman")), "no name stands in the record");
    yard.asks(&owner, "DELETE", "/api/v1/people/p-spare?why=on%20their%20wish", &Value::Null, 204);

    let view = shown(&yard, &spare());
    assert_eq!(
        (view["name"].as_str(), view["erased"].as_bool(), view["active"].as_bool()),
        (Some(names::ERASED), Some(true), Some(false))
    );
    let after = events(&yard);
    assert_eq!(after.get(..before.len()), Some(before.as_slice()), "every byte before is as it was");
    assert_eq!(after.len(), before.len() + 1);
    let store = yard.keeper().store();
    assert!(store.key(&spare()).unwrap().is_none() && store.account(&spare()).unwrap().is_none());
    let asks = super::kit::Ask { token: Some(&token), ..Default::default() };
    assert_eq!(yard.ask(asks, "GET", "/api/v1/me", None).status, 401);
    // Not again, not named anew, and the last owner stays.
    yard.asks(&owner, "PATCH", "/api/v1/people/p-spare", &json!({ "name": "Sam Spareman" }), 400);
    yard.asks(&owner, "PATCH", "/api/v1/people/p-spare", &json!({ "active": true }), 409);
    yard.asks(&owner, "DELETE", "/api/v1/people/p-owner?why=asked", &Value::Null, 422);
}

#[test]
fn an_erasure_that_was_interrupted_is_ended_later() {
    let yard = Yard::new();
    let erase = muster_core::record::decide::Command::Erase { person: spare(), why: "on their wish".into() };
    yard.keeper().act(erase, &person(Role::Owner), now()).unwrap();
    assert!(yard.keeper().store().key(&spare()).unwrap().is_some());
    muster::people::tidy(yard.keeper(), now()).unwrap();
    assert!(yard.keeper().store().key(&spare()).unwrap().is_none());
    assert!(yard.keeper().store().key(&person(Role::Owner)).unwrap().is_some());
}

#[test]
fn people_are_added_under_ids_that_say_nothing_and_names_that_tell_them_apart() {
    let yard = Yard::new();
    let owner = person(Role::Owner);
    let keys = yard.keeper().store().keys().unwrap().len();
    let added =
        yard.asks(&owner, "POST", "/api/v1/people", &json!({ "name": " Nora Newcomer ", "role": "rider" }), 201);
    let id: PersonId = added["person"].as_str().unwrap().parse().unwrap();
    assert!(id.as_str().len() == 12 && id.as_str().starts_with("p-"), "{id}");
    assert_eq!(shown(&yard, &id)["name"], "Nora Newcomer");
    for wrong in [
        json!({ "name": "nora newcomer", "role": "rider" }),
        json!({ "name": " ", "role": "rider" }),
        json!({ "name": "Nora\nNewcomer", "role": "rider" }),
        json!({ "name": "Ned Newcomer", "role": "king" }),
        json!({ "name": "Ned Newcomer", "role": "rider", "rights": ["everything"] }),
    ] {
        yard.asks(&owner, "POST", "/api/v1/people", &wrong, 400);
    }
    yard.asks(
        &person(Role::Workshop),
        "POST",
        "/api/v1/people",
        &json!({ "name": "Ned Newcomer", "role": "rider" }),
        403,
    );
    assert_eq!(yard.keeper().store().keys().unwrap().len(), keys + 1, "no key is left of what was refused");

    let path = format!("/api/v1/people/{id}");
    let change = json!({ "name": "Nora Oldhand", "role": "instructor", "rights": ["release against the verdict"] });
    yard.asks(&owner, "PATCH", &path, &change, 204);
    let view = shown(&yard, &id);
    assert_eq!((view["name"].as_str(), view["role"].as_str()), (Some("Nora Oldhand"), Some("instructor")));
    assert_eq!(view["rights"], json!(["release against the verdict"]));
    yard.asks(&owner, "PATCH", "/api/v1/people/p-nobody", &change, 404);
    yard.asks(&owner, "PATCH", "/api/v1/people/p-owner", &json!({ "role": "rider" }), 422);
}
