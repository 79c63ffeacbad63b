//! The house rule on names and photos, through the doors: said first, then done, and never of what is impounded.

use std::fs;

use muster::{
    people::{names, retention, session},
    store::photos::Photos,
};
use muster_core::record::{
    payload::{HouseRuleAttached, Role},
    retention::Why,
};
use serde_json::{Value, json};

use super::kit::{Yard, now, pass, person, spare};
use crate::store::pictures;

const YEAR: i64 = 31_557_600;
const DOOR: &str = "/api/v1/retention";

fn with_rule(text: &str) -> Yard {
    let yard = Yard::new();
    let file = yard.keeper().known().state.files.get("house.toml").cloned();
    let (house, event) = file.unwrap();
    let house = house.split("[retention]").next().unwrap_or_default();
    let attached = HouseRuleAttached { text: format!("{house}\n{text}"), replaces: Some(event) };
    yard.keeper().begin(vec![attached.into()], &person(Role::Owner), now()).unwrap();
    yard
}

/// Keeps a photo and attaches it to a machine: its name.
fn photo(yard: &Yard, machine: &str, orientation: u8) -> String {
    let kept = yard.opened.photos.keep(&pictures::jpeg(&pictures::corners(orientation))).unwrap();
    let payload = json!({ "machine": machine, "of": null, "sha256": kept.id.as_str(), "bytes": kept.bytes });
    let command = json!({ "do": "write", "kind": "photo-attached", "payload": payload });
    yard.asks(&person(Role::Instructor), "POST", "/api/v1/commands", &command, 201);
    kept.id.to_string()
}

fn list<'v>(view: &'v Value, key: &str, field: &str) -> Vec<&'v str> {
    view[key].as_array().unwrap().iter().map(|row| row[field].as_str().unwrap()).collect()
}

#[test]
fn names_and_photos_go_by_the_rule_and_no_event_changes() {
    let yard = with_rule("[retention]\nnames = \"3 years\"\nphotos = \"2 years\"\n");
    let (old, owner) = (photo(&yard, "H-07", 1), person(Role::Owner));
    pass(2 * YEAR + 86_400);
    let young = photo(&yard, "H-08", 3);
    let view = yard.asks(&owner, "GET", DOOR, &Value::Null, 200);
    assert_eq!((list(&view, "photos_go", "sha256"), list(&view, "names_go", "person").len()), (vec![old.as_str()], 0));
    assert_eq!(yard.opened.photos.list().unwrap().len(), 2, "asking changes nothing");
    let before: Vec<String> = held(&yard);

    let done = yard.asks(&owner, "POST", DOOR, &Value::Null, 200);
    assert_eq!(
        (list(&done, "photos_go", "sha256"), done["refused"].as_array().unwrap().len()),
        (vec![old.as_str()], 0)
    );
    assert_eq!(yard.opened.photos.list().unwrap().iter().map(ToString::to_string).collect::<Vec<_>>(), [young]);
    let gone = yard.asks(&owner, "GET", &format!("/api/v1/photos/{old}"), &Value::Null, 404);
    let detail = gone["detail"].as_str().unwrap();
    assert!(detail.contains("was removed on 2028-11-24 (house rule: photos are kept for 2 years)"), "{detail}");
    let after = held(&yard);
    assert_eq!(after.get(..before.len()), Some(before.as_slice()), "every byte before is as it was");
    assert_eq!(after.len(), before.len() + 1);

    // A year later the names of all who did nothing since; the instructor attached a photo, the owner asks just now.
    pass(YEAR);
    let done = yard.asks(&owner, "POST", DOOR, &Value::Null, 200);
    let mut went = list(&done, "names_go", "person");
    went.sort_unstable();
    assert_eq!(went, ["p-auditor", "p-rider", "p-spare", "p-workshop"]);
    let names = names::all(yard.keeper()).unwrap();
    assert_eq!(names[&spare()], names::ERASED);
    assert_eq!(
        (names[&owner].as_str(), names[&person(Role::Instructor)].as_str()),
        ("Olive Gatehouse", "Ida Coneslalom")
    );
    assert!(yard.keeper().store().key(&spare()).unwrap().is_none());
    let again = yard.asks(&owner, "POST", DOOR, &Value::Null, 200);
    assert!(list(&again, "names_go", "person").is_empty() && list(&again, "photos_go", "sha256").is_empty());
    // Nobody but the owner, not even to look.
    yard.asks(&person(Role::Instructor), "GET", DOOR, &Value::Null, 403);
    yard.asks(&person(Role::Instructor), "POST", DOOR, &Value::Null, 403);
}

fn held(yard: &Yard) -> Vec<String> {
    let held = yard.keeper().store().since(0, 10_000).unwrap();
    held.into_iter().map(|stored| stored.signed.event).collect()
}

#[test]
fn what_an_interrupted_removal_left_goes_the_next_time() {
    let yard = with_rule("[retention]\nphotos = \"2 years\"\n");
    let name = photo(&yard, "H-07", 1);
    let path = yard.opened.photos.path(&name.parse().unwrap());
    let bytes = fs::read(&path).unwrap();
    pass(3 * YEAR);
    retention::retain(yard.keeper(), &yard.opened.photos, &person(Role::Owner), now()).unwrap();
    assert!(!path.exists());
    // As a kill between event and file leaves it, or an import of an older export.
    fs::write(&path, bytes).unwrap();
    let done = retention::retain(yard.keeper(), &yard.opened.photos, &person(Role::Owner), now()).unwrap();
    assert_eq!(done.decided.removed, [name]);
    assert!(!path.exists());
}

#[test]
fn who_is_signed_in_stays_and_riders_feedback_is_no_person() {
    let yard = with_rule("[retention]\nnames = \"3 years\"\n");
    pass(4 * YEAR);
    let _token = session::begin(&**yard.keeper().store(), &spare(), now()).unwrap();
    let decided = retention::look(yard.keeper(), now()).unwrap();
    let why = |who: &str| decided.names_kept.iter().find(|(person, _)| person.as_str() == who).map(|(_, why)| why);
    assert_eq!(why("p-spare"), Some(&Why::SignedIn));
    assert_eq!(why("rider-feedback"), Some(&Why::NoPerson));
    assert_eq!(why("p-owner"), Some(&Why::Impounded("H-20".into())), "put into the books by the owner");
}

#[test]
fn nothing_of_an_impounded_machine_goes() {
    let yard = with_rule("[retention]\nnames = \"3 years\"\nphotos = \"2 years\"\n");
    let name = photo(&yard, "H-07", 1);
    let impound = json!({ "do": "impound", "machine": "H-07", "why": "crash on the ring road" });
    yard.asks(&person(Role::Workshop), "POST", "/api/v1/commands", &impound, 201);
    pass(9 * YEAR);
    let done = retention::retain(yard.keeper(), &yard.opened.photos, &person(Role::Owner), now()).unwrap();
    assert_eq!(done.decided.photos_kept, [(name.clone(), Why::Impounded("H-07".into()))]);
    let photos: &Photos = &yard.opened.photos;
    assert!(photos.read(&name.parse().unwrap()).unwrap().is_some());
    for role in [Role::Instructor, Role::Workshop, Role::Owner] {
        assert!(yard.keeper().store().key(&person(role)).unwrap().is_some(), "{role}");
    }
    assert!(yard.keeper().store().key(&person(Role::Rider)).unwrap().is_none());
}
