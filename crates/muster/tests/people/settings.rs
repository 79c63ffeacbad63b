//! What only the owner sets: how many servers stand before this one, and the code riders give feedback by.

use muster::{people::feedback, serve::guard::PROXIES};
use muster_core::record::payload::Role;
use serde_json::{Value, json};

use super::kit::{Ask, Yard, now, person};

#[test]
fn the_servers_before_this_one_are_set_at_once_and_for_good() {
    let yard = Yard::new();
    let owner = person(Role::Owner);
    let set = |body: Value, status| yard.asks(&owner, "PATCH", "/api/v1/settings", &body, status);
    assert_eq!(yard.asks(&owner, "GET", "/api/v1/settings", &Value::Null, 200), json!({ "proxies": 0, "mark": null }));
    assert_eq!(set(json!({ "proxies": 1 }), 200), json!({ "proxies": 1, "mark": null }));
    assert_eq!(yard.keeper().store().setting(PROXIES).unwrap().as_deref(), Some("1"));
    // What is counted by address is counted by the one the nearest server names, without a restart.
    let code = feedback::code_of(yard.keeper(), "H-07", &owner, now()).unwrap();
    let says = |named: &str, text: String| {
        let headers = [("x-forwarded-for", named)];
        let asks = Ask { from: Some("192.0.2.1"), headers: &headers, ..Ask::default() };
        yard.ask(asks, "POST", &format!("/api/v1/feedback/{code}"), Some(&json!({ "text": text }))).status
    };
    let statuses: Vec<u16> = (0..4).map(|n| says(&format!("203.0.113.{n}"), format!("rattle {n}"))).collect();
    assert_eq!(statuses, [202; 4]);
    let counted = |who: &str| yard.keeper().store().count_act(who, now().timestamp(), now().later_by(-60).timestamp());
    assert_eq!(counted("feedback from 203.0.113.2").unwrap(), 2);
    for wrong in
        [json!({ "proxies": 9 }), json!({ "proxies": -1 }), json!({ "proxy": 1 }), json!(1), json!([]), json!([1])]
    {
        set(wrong, 400);
    }
    assert_eq!(set(json!({}), 200), json!({ "proxies": 1, "mark": null }));
    for role in [Role::Workshop, Role::Instructor, Role::Auditor, Role::Rider] {
        yard.asks(&person(role), "PATCH", "/api/v1/settings", &json!({ "proxies": 2 }), 403);
    }
}

#[test]
fn a_new_code_leads_to_the_machine_and_the_old_one_nowhere() {
    let yard = Yard::new();
    let owner = person(Role::Owner);
    let old = feedback::code_of(yard.keeper(), "H-07", &owner, now()).unwrap();
    let other = feedback::code_of(yard.keeper(), "H-08", &owner, now()).unwrap();
    yard.asks(&person(Role::Instructor), "POST", "/api/v1/machines/H-07/feedback", &Value::Null, 403);
    let drawn = yard.asks(&owner, "POST", "/api/v1/machines/H-07/feedback", &Value::Null, 201);
    let code = drawn["code"].as_str().unwrap();
    assert_ne!(code, old);
    assert_eq!(drawn["link"], json!(format!("https://localhost/feedback#{code}")));
    assert!(drawn["svg"].as_str().unwrap().contains("<svg"));
    assert_eq!(feedback::machine_of(yard.keeper(), code).unwrap(), "H-07");
    yard.stranger_asks("GET", &format!("/api/v1/feedback/{old}"), &Value::Null, 403);
    assert_eq!(feedback::machine_of(yard.keeper(), &other).unwrap(), "H-08", "other machines keep theirs");
    assert_eq!(feedback::code_of(yard.keeper(), "H-07", &owner, now()).unwrap(), code);
    // As a kill between taking back and drawing leaves it: the next who asks draws.
    yard.keeper().store().put_setting(&format!("feedback {code}"), None).unwrap();
    assert_ne!(feedback::code_of(yard.keeper(), "H-07", &owner, now()).unwrap(), code);
    yard.asks(&owner, "POST", "/api/v1/machines/X-99/feedback", &Value::Null, 404);
}
